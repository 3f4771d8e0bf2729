"""The answer of ``light check``: a measured spectrum against ISO 3664, with its colour rendering.

The colour rendering indices of CIE 13.3 and CIE 224 need the reflectances of their samples and a chain of formulae
that colour-science has and keeps. It is imported here, in the function that asks it, and nowhere else at run time:
it costs a second, and changes how NumPy prints numbers for the whole process, which is put back.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct import plain_notes
from screenproof.questions.sources import (
    light_and_notes,
    looks_like_file,
    open_light,
    open_samples,
    without_selector,
)
from screenproof.spectra.checks import MEMORY, CheckRow, Limit, checked, not_checked

if TYPE_CHECKING:
    from screenproof.spectra import Light, Samples

_ISO = "ISO 3664:2009 4.2.2"
GENERAL_RENDERING = Limit(low=90.0, source=_ISO, obtained=MEMORY)
SPECIAL_RENDERING = Limit(low=80.0, source=_ISO, obtained=MEMORY)
VISIBLE_METAMERISM = Limit(
    high=1.0, better_high=0.5, source="ISO 3664:2009 4.2.3: grade C, better B", obtained=MEMORY
)

METAMERISM_GRADES = (("A", 0.25), ("B", 0.5), ("C", 1.0), ("D", 2.0))
"""Grades of the metamerism index in CIELAB, each up to so much, E above. CIE 51.2-1999, CIE S 012; found."""

UV_CAUTION = Note(
    "caution",
    "lamps with ultraviolet can harm eyes and skin: follow the maker's instructions, local codes and licensed "
    "practice",
    about="ultraviolet",
)
FLICKER_CAUTION = Note(
    "caution",
    "a spectrum does not show flicker, which can harm people with photosensitive epilepsy and others: have dimmed "
    "and LED lamps tested, and follow the local code for workplaces",
    about="flicker",
)


@dataclass(frozen=True)
class Rendering:
    """``general`` Ra and ``special`` R1 to R14 of CIE 13.3-1995, ``fidelity`` Rf of CIE 224:2017.

    ``fidelity`` is None for a light so far from white that CIECAM02, which CIE 224 uses, has no answer.
    """

    general: float
    special: tuple[float, ...]
    fidelity: float | None


@contextmanager
def _printing_kept() -> Iterator[None]:
    """NumPy's way of printing, kept from what an import changes."""
    kept = np.get_printoptions()
    try:
        yield
    finally:
        np.set_printoptions(**kept)


def rendering(light: Light) -> Rendering:
    """Ra, R1 to R14 and Rf of a light, by colour-science.

    Straight between its readings, as lamps are, at 1 nm; for Rf, which CIE 224 sums at 1 or 5 nm, a light that is
    read every 5 nm as it is. Wavelengths of 360 to 830 nm count.
    """
    fives = abs(light.grid.step - 5.0) < 1e-9 and light.grid.start % 5.0 == 0.0
    with _printing_kept(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        def spectrum(step: float) -> Any:
            first = max(360.0, np.ceil(light.grid.start / step) * step)
            nm = np.arange(first, min(830.0, light.grid.stop) + 1e-6, step)
            return colour.SpectralDistribution(dict(zip(nm.tolist(), light.at(nm).tolist(), strict=True)))

        cri = colour.colour_rendering_index(spectrum(1.0), additional_data=True)
        fidelity = float(colour.colour_fidelity_index(spectrum(5.0 if fives else 1.0)))  # type: ignore[arg-type]
        special = tuple(float(cri.Q_as[i].Q_a) for i in sorted(cri.Q_as))
        return Rendering(float(cri.Q_a), special, fidelity if np.isfinite(fidelity) else None)


def rendering_rows(found: Rendering) -> list[CheckRow]:
    """Ra and each of R1 to R8 against ISO 3664; R9 to R14 and Rf are told."""
    first = found.special[:8]
    low = int(np.argmin(first))
    mend = "take lamps of a fuller spectrum: this cannot be set or filtered right"
    return [
        checked("ra", "rendering", "colour rendering, general index (CIE 13.3)", "Ra", found.general,
                GENERAL_RENDERING, mend=mend),
        checked("ri", "rendering", "colour rendering, lowest of R1 to R8", "Ri", first[low], SPECIAL_RENDERING,
                words=f"R{low + 1}", mend=mend),
        _fidelity_row(found.fidelity),
    ]  # fmt: skip


def _fidelity_row(fidelity: float | None) -> CheckRow:
    named = ("rf", "rendering", "colour fidelity (CIE 224)", "Rf")
    if fidelity is None:
        return not_checked(*named, None, "the light is too far from white for CIECAM02, in which it is reckoned")
    return checked(*named, fidelity, None)


def grade_of(index: float) -> str:
    """Grade A to E of a metamerism index in CIELAB units: CIE 51.2-1999, CIE S 012 (ISO/CIE 23603), found."""
    return next((grade for grade, high in METAMERISM_GRADES if index <= high), "E")


def specimen_pairs(file: str, partners: str | None = None) -> tuple[Samples, Samples]:
    """The standards and the samples of pairs: 'NAME a' and 'NAME b' of a file, or the same names in two files.

    Raises InputError for names without a partner, and for samples without curves.
    """
    first = open_samples(file)
    second = first if partners is None else open_samples(partners)
    problems = [
        Problem(
            "the samples have no reflectance curves",
            side.source,
            expected="spectra of both specimens of each pair",
        )
        for side in dict.fromkeys((first, second))
        if not side.is_spectral
    ]
    if partners is None:
        sides: list[dict[str, int]] = [{}, {}]
        for i, name in enumerate(first.names):
            found = re.fullmatch(r"(.*\S)\s*[\s_-]([aAbB])", name)
            if found is None:
                problems.append(
                    Problem(
                        f"{name!r} ends neither in a nor in b",
                        file,
                        expected="pairs called NAME a and NAME b",
                        mend="name them so, or give the partners' file with --partners",
                    )
                )
            else:
                sides["ab".index(found[2].lower())][found[1]] = i
    else:
        sides = [{name: i for i, name in enumerate(side.names)} for side in (first, second)]
    for name in sorted(set(sides[0]) ^ set(sides[1])):
        problems.append(Problem(f"{name!r} has no partner", file, expected="two specimens of each name"))
    if problems:
        raise InputError(problems)
    names = list(sides[0])
    return first.select([sides[0][name] for name in names]), second.select([sides[1][name] for name in names])


def metamerism_rows(light: Light, aim: Light, pairs: tuple[Samples, Samples] | None) -> list[CheckRow]:
    """The visible metamerism index: the mean dE*ab, for 10 degrees, of pairs that match in the aim.

    Pairs that do not quite match are corrected by multiplication (CIE 15:2018, 9.2.2).
    """
    what = f"visible metamerism index of pairs that match in {aim.name}"
    if pairs is None:
        why = "the specimens of ISO/CIE 23603 are not at hand: their tables were not found in public"
        mend = "give measured pairs that match in the aim with --specimens"
        return [not_checked("metamerism", "metamerism", what, "dE*ab", VISIBLE_METAMERISM, why, mend)]
    from screenproof.proof import pair_shift
    from screenproof.spectra import observer

    found = pair_shift(*pairs, aim, [light], [observer("cie1964")])
    each = found.deab[:, 0, 0]
    index = float(each.mean())
    far = float(found.from_deab.max())
    words = (
        f"grade {grade_of(index)} by {len(each)} pairs of your own, which are not the standard's; largest "
        f"{each.max():.2f}, {pairs[0].names[int(np.argmax(each))]}"
    )
    if far > 1.0:
        words += f"; in {aim.name} itself a pair is {far:.2f} apart, and was corrected"
    mend = "take lamps whose spectrum is nearer to the aim's"
    what = f"visible metamerism index by your own pairs, not the standard's, that match in {aim.name}"
    row = checked("metamerism", "metamerism", what, "dE*ab", index, VISIBLE_METAMERISM, words=words, mend=mend)
    # A grade by other pairs than the standard's must say so, also where it passes.
    return [replace(row, remark=True)]


def light_answer(
    named: str,
    *,
    aim: str = "D50",
    illuminance: float | None = None,
    level: str | None = None,
    specimens: str | None = None,
    partners: str | None = None,
) -> dict[str, Any]:
    """The check of a light, by its standard name or from a file, as plain data: rows, rendering, cautions.

    illuminance: in lx; that of the file unless given. Raises InputError as its inputs do.
    """
    from screenproof.spectra.light_check import check_visible, illuminance_row, spectrum_rows, ultraviolet_rows

    if partners is not None and specimens is None:
        raise bad("there are no specimens to pair them with", field="--partners", mend="add --specimens FILE")
    light, notes = opened_light(named)
    wanted = open_light(aim)
    for one in (light, wanted):
        check_visible(one)
    pairs = None if specimens is None else specimen_pairs(specimens, partners)
    falling = light.illuminance if illuminance is None else illuminance
    lit = illuminance_row(falling, level)
    rendered = rendering(light)
    uv = ultraviolet_rows(light)
    rows = [
        *spectrum_rows(light, wanted),
        *rendering_rows(rendered),
        *metamerism_rows(light, wanted, pairs),
        lit,
        *uv,
    ]
    said = [*notes, *_own_notes(light, wanted.name)]
    if uv[0].figure is None or uv[0].figure > 0.1:
        said.append(UV_CAUTION)
    said.append(FLICKER_CAUTION)
    return {
        "schema": "screenproof-light-check/1",
        "light": light.name,
        "label": light.label,
        "aim": wanted.name,
        "range_nm": [light.grid.start, light.grid.stop, light.grid.step],
        "source": light.source,
        "rendering": {"ra": rendered.general, "special": list(rendered.special), "rf": rendered.fidelity},
        "rows": [row.as_dict() for row in rows],
        "notes": plain_notes(said),
    }


def opened_light(named: str) -> tuple[Light, Sequence[Note]]:
    """A light and what is odd about it; a standard name goes before a file, as everywhere."""
    if looks_like_file(without_selector(named)) and Path(without_selector(named)).is_file():
        return light_and_notes(named)
    return open_light(named), ()


def _own_notes(light: Light, aim: str) -> list[Note]:
    alone = "no doubt is known of a single spectrum: figures are compared with their limits as they are"
    notes = [Note("info", alone)]
    if aim != "D50":
        notes.append(Note("assumed", f"the limits of ISO 3664 are for D50; here they are asked of {aim}"))
    if light.grid.start > 380.0 or light.grid.stop < 780.0:
        notes.append(
            Note(
                "assumed",
                f"the spectrum is known from {light.grid.start:g} to {light.grid.stop:g} nm; past its ends the "
                "colour rendering indices take none (CIE 224) or the last value (CIE 13.3)",
                about=light.name,
                mend="measure 380 to 780 nm",
            )
        )
    return notes
