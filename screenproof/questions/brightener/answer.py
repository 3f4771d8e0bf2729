"""What brightener does to samples in other lights, by readings with and without ultraviolet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from screenproof.english import fixed
from screenproof.errors import InputError, Note, Problem, bad
from screenproof.proof.doubt_records import BrightenerLight
from screenproof.proof.finding import Finding
from screenproof.questions.answer import Answer
from screenproof.questions.brightener.findings import findings, of_lights
from screenproof.questions.telling import called
from screenproof.report.plain import notes_of, row
from screenproof.report.table import Column, Table, aligned
from screenproof.spectra.brightener import Assumed, uv_unknown

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.questions.brightener.question import AskBrightener
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array, Light, Samples


@dataclass(frozen=True, eq=False, repr=False)
class Bands:
    """The wavelengths in nm of the readings with and without ultraviolet."""

    m1: Array
    m2: Array


@dataclass(frozen=True, eq=False, repr=False)
class BrightenerAnswer(Answer):
    """Samples with brightener, one row each. See :class:`screenproof.proof.doubt_records.BrightenerRecord`.

    assumed: what is taken for granted. lights: of each sample what each light does to it. m1, m2: its curves as
    read with and without ultraviolet, at ``wavelengths``. A sample that was not read both ways has no row.
    """

    schema: ClassVar[str] = "screenproof-brightener/2"

    file: str
    uv_excluded: str
    incandescent: str | None
    viewing: str
    observer: str
    assumed: Assumed
    wavelengths: Bands
    names: tuple[str, ...] = row("name")
    emission: tuple[float, ...] = row()
    peak_nm: tuple[float, ...] = row()
    de00: tuple[float, ...] = row()
    lights: tuple[tuple[BrightenerLight, ...], ...] = row()
    words: tuple[str, ...] = row()
    m1: Array = row()
    m2: Array = row()
    notes: tuple[Note, ...] = ()

    @property
    def order(self) -> list[int]:
        """The rows, the strongest brightener first."""
        return sorted(range(len(self.names)), key=lambda i: -self.emission[i])

    def heading(self) -> str:
        """Which readings, for whom."""
        lamp = f" and {self.incandescent} (M0)" if self.incandescent else ""
        read = f"Brightener of {self.file} (M1) against {self.uv_excluded} (M2){lamp}"
        return f"{read}: observer {self.observer}, carried to the white of {self.viewing}"

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, the strongest first; the least and the most in each light."""
        columns = [
            Column("sample", left=True),
            Column("emission", 3),
            Column("at nm", 0, key="peak_nm"),
            Column("M1 to M2", 2, key="de00"),
            *(Column(f"in {at.light}, {end}", 1) for at in self.lights[0] for end in ("least", "most")),
        ]
        rows = [
            [
                self.names[i],
                self.emission[i],
                self.peak_nm[i],
                self.de00[i],
                *(end for at in self.lights[i] for end in (at.low, at.high)),
            ]
            for i in self.order
        ]
        return (Table.of(columns, rows),)

    def text(self) -> str:
        """The samples as a table; then, light by light, what is known in words."""
        header = ["sample", "emission", "at nm", "M1 to M2", *(f"in {at.light}" for at in self.lights[0])]
        rows = [
            [
                self.names[i],
                fixed(self.emission[i], 3),
                fixed(self.peak_nm[i], 0),
                fixed(self.de00[i]),
                *("not known" if at.low is None else f"{at.low:.1f} to {at.high:.1f}" for at in self.lights[i]),
            ]
            for i in self.order
        ]
        taken = self.assumed
        lamp = f", M0's within {taken.m0_uv:.0%} of illuminant A's" if self.incandescent else ""
        lines = [
            self.heading(),
            "",
            aligned(header, rows),
            "",
            "emission: largest part of the curve that is brightener, reflectance factor; the others in CIEDE2000,",
            "from M1 to M2 as read, and at least to at most from the colour as read with M1 to that in the light",
            "",
            *of_lights(self),
            "",
            f"taken for granted: excitation within {taken.low_nm:g} to {taken.high_nm:g} nm, at most "
            f"{taken.near:.0%} of it in D50 above 400 nm; M1's",
            f"ultraviolet within {taken.m1_uv:.0%} of D50's{lamp}; the doubt of the readings comes on top",
        ]
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """Lights in which nothing can be known."""
        return findings(self)

    def figure(self) -> Figure:
        """The curves, and the least and the most in each light."""
        from screenproof.questions.brightener.figure import draw

        return draw(self)


def brightener_answer(asked: AskBrightener, open: Open) -> BrightenerAnswer:
    """What the brightener of the samples (M1) does in other lights, by M2 and, if given, M0.

    Raises InputError for readings that do not belong together, and for a camera: what it makes of ultraviolet is
    another question.
    """
    from screenproof.proof.brightener import brightener

    stated = {"near": asked.near, "m1_uv": asked.m1_uv, "m0_uv": asked.m0_uv}
    if asked.excitation is not None:
        stated |= dict(zip(("low_nm", "high_nm"), asked.excitation, strict=True))
    assumed = Assumed(**{key: value for key, value in stated.items() if value is not None})
    lights = open.lights(asked.to, "to")
    dark = [light for light, stated_dark in zip(lights, asked.dark, strict=True) if stated_dark]
    idle = [problem for light in dark if (problem := uv_known(light, assumed)) is not None]
    if idle:
        raise InputError(replace(problem, field="without_uv") for problem in idle)
    eye = open.observer(asked.observer)
    if eye.kind != "eye":
        raise bad(
            f"{asked.observer} is a camera",
            field="observer",
            expected="an eye, such as cie1931",
            mend="a camera sees ultraviolet itself, or not, which its curves here do not say",
        )
    m1, m2 = open.samples(asked.samples, asked.only), open.samples(asked.uv_excluded)
    m0 = None if asked.incandescent is None else open.samples(asked.incandescent)
    home = open.light(asked.viewing)
    without_uv = tuple(light.name for light in dark)
    found = brightener(m1, m2, m0, lights, eye, home, without_uv=without_uv, assumed=assumed)
    assert (
        m1.reflectance is not None and m2.reflectance is not None and m1.grid is not None and m2.grid is not None
    )
    read = [(i, record) for i, record in enumerate(found.records) if record is not None]
    names = tuple(m1.names[i] for i, _ in read)
    return BrightenerAnswer(
        file=called(asked.samples),
        uv_excluded=called(asked.uv_excluded),
        incandescent=None if asked.incandescent is None else called(asked.incandescent),
        viewing=home.name,
        observer=eye.name,
        assumed=assumed,
        wavelengths=Bands(m1.grid.wavelengths, m2.grid.wavelengths),
        names=names,
        emission=tuple(record.emission for _, record in read),
        peak_nm=tuple(record.peak_nm for _, record in read),
        de00=tuple(record.de00 for _, record in read),
        lights=tuple(record.lights for _, record in read),
        words=tuple(record.words for _, record in read),
        m1=m1.reflectance[[i for i, _ in read]],
        m2=m2.reflectance[[m2.index(name) for name in names]],
        notes=notes_of(open.notes, _of_readings(m1), _of_readings(m2), _of_readings(m0), found.notes),
    )


def _of_readings(samples: Samples | None) -> tuple[Note, ...]:
    """What is odd about readings, but for reflectances above 1: here they are expected."""
    notes = () if samples is None else samples.notes
    return tuple(note for note in notes if "no fluorescence declared" not in note.what)


def uv_known(light: Light, assumed: Assumed) -> Problem | None:
    """The problem of a light that is stated to have no ultraviolet, though its own spectrum tells what it has."""
    if uv_unknown(light, assumed):
        return None
    return Problem(
        f"the ultraviolet of {light.name} is known by its own spectrum",
        expected=f"a light whose spectrum begins above {assumed.low_nm:g} nm",
        mend="remove it; for a lamp like it without ultraviolet, give the spectrum of the lamp",
    )
