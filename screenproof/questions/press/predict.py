"""What a press prints for tints, and how far measured samples are from that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.english import listed
from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.presses import advice_to_print, misses, press_source, samples_spread, viewing_on
from screenproof.questions.sources import existing_file
from screenproof.questions.telling import called, doubt_lines, doubt_record
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from screenproof.proof import Viewing
    from screenproof.questions.opening import Open
    from screenproof.questions.press.question import AskPressPredict
    from screenproof.spectra import Array, Samples
    from screenproof.subtractive import Press


@dataclass(frozen=True)
class PredictionErrors:
    """Mean, 95th percentile and largest CIEDE2000 from what was measured; worst: the sample of the largest."""

    mean: float
    p95: float
    max: float
    count: int
    worst: str


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class PressPredictAnswer(AnswerInRows):
    """What a press prints, a row of tints each.

    tints: (n, c) 0..1. xyz, lab: (n, 3). astray: (n,) the share 0..1 of each that stands on overprints which were
    never measured. reflectance: (n, w), empty for a press that is known by XYZ. measured_lab, de00, words,
    statuses and figures are of the measured samples, where there are any. samples: the prints as samples.
    """

    schema: ClassVar[str] = "screenproof-press-predict/2"

    press: str
    file: str
    channels: tuple[str, ...]
    light: str
    observer: str
    wavelengths: Array | None
    limit: float | None
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name")
    tints: Array = row()
    xyz: Array = row()
    lab: Array = row()
    astray: Array = row("doubt")
    reflectance: Array = row(default=())
    measured_lab: Array = row(default=())
    de00: Array = row(default=())
    words: tuple[str, ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    differences: PredictionErrors | None
    written: str | None = None
    notes: tuple[Note, ...]
    samples: Samples = hidden()

    def heading(self) -> str:
        """Of which press, in which light, for whom."""
        return f"Printed by {self.press}: light {self.light}, observer {self.observer}"

    def tables(self) -> tuple[Table, ...]:
        """A row for each row of tints."""
        compared, judged = bool(len(self.de00)), self.limit is not None
        columns = [
            Column("sample", left=True),
            *(Column(name, 1) for name in self.channels),
            *(Column(head, 2, key=key) for head, key in (("L*", "lab_l"), ("a*", "lab_a"), ("b*", "lab_b"))),
            *([Column("CIEDE2000", 2, key="de00")] if compared else []),
            *([Column("verdict")] if judged else []),
        ]
        rows: list[list[Cell]] = [
            [
                name,
                *(100.0 * float(tint) for tint in self.tints[i]),
                *(float(value) for value in self.lab[i]),
                *([self.figures[i][0]] if compared else []),
                *([self.statuses[i]] if judged else []),
            ]
            for i, name in enumerate(self.names)
        ]
        return (Table.of(columns, rows, legend="tints in percent"),)

    def text(self) -> str:
        """The prints for a terminal."""
        (table,) = self.tables()
        lines = [self.heading(), "", table.text(), "", table.legend]
        if self.differences is not None:
            found = self.differences
            lines.append(
                f"from what was measured: mean {found.mean:.2f}, 95 % {found.p95:.2f}, "
                f"largest {found.max:.2f} ({found.worst}) CIEDE2000 of {found.count}"
            )
        lines += doubt_lines(self.doubt, list(zip(self.names, self.figures, strict=False)))
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """Measured samples that are farther than the limit, or of which that is undecided."""
        from screenproof.questions.press.findings import of_prediction

        return of_prediction(self)


def predict_answer(asked: AskPressPredict, open: Open) -> PressPredictAnswer:
    """The colours of a list of tints, and how far measured samples of the same names are from them."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.formats import read_tints

    press = open.press(asked.press)
    named = read_tints(existing_file(str(asked.tints), open.folder), press.channels)
    samples = press.samples(named.tints, named.names)
    viewing = viewing_on(press, open, asked.light, asked.observer)
    xyz = press.xyz(named.tints, viewing.light, viewing.observer)
    lab = xyz_to_lab(xyz, press.white(viewing.light, viewing.observer))
    found = PressPredictAnswer(
        press=called(asked.press),
        file=str(asked.tints),
        channels=press.channels,
        light=viewing.light.name,
        observer=viewing.observer.name,
        wavelengths=None if press.grid is None else press.grid.wavelengths,
        limit=asked.limit,
        names=named.names,
        tints=named.tints,
        xyz=xyz,
        lab=lab,
        astray=press.doubt(named.tints),
        reflectance=() if samples.reflectance is None else samples.reflectance,  # type: ignore[arg-type]
        differences=None,
        notes=notes_of(open.notes, named.notes, samples.notes),
        samples=samples,
    )
    return found if asked.against is None else _compared(found, asked, open, press, viewing)


def _compared(
    found: PressPredictAnswer, asked: AskPressPredict, open: Open, press: Press, viewing: Viewing
) -> PressPredictAnswer:
    """The answer with the difference of each print from its measured sample."""
    from dataclasses import replace

    from screenproof.appearance import de2000, difference_words, xyz_to_lab
    from screenproof.spectra import white_point

    assert asked.against is not None
    every = open.read(asked.against, asked.doubt)
    missing = [name for name in found.names if name not in every.names]
    if missing:
        raise bad(
            f"{len(missing)} tints have no measured sample: {listed(missing, 6)}",
            file=every.source or None,
            field="against",
            expected="a sample of the same name for each tint",
            mend="give both the same names",
        )
    measured = every.select([every.names.index(name) for name in found.names])
    lamp, eye = viewing.light, viewing.observer
    own = xyz_to_lab(measured.xyz([lamp], [eye])[:, 0, 0], white_point(lamp, eye))
    apart = np.atleast_1d(np.asarray(de2000(own, found.lab)))
    judge = open.judge(asked.limit, asked.doubt)
    judged = judge.rows(
        "pair",
        found.lab,
        own,
        (viewing.white, viewing.conditions()),
        lambda: samples_spread(measured, viewing),
        (lamp.name, eye.name),
        {"sample": found.names, "model": advice_to_print(press, found.tints)},
        model=misses(press, found.tints),
    )
    worst = int(apart.argmax())
    return replace(
        found,
        doubt=doubt_record(
            judge, [(called(asked.against), measured)], models=[press_source(press, called(asked.press))]
        ),
        measured_lab=own,
        de00=apart,
        words=tuple(difference_words(one, other) for one, other in zip(own, found.lab, strict=True)),
        statuses=tuple(one.status for one in judged),
        figures=tuple((one,) for one in judged),
        differences=PredictionErrors(
            float(apart.mean()),
            float(np.percentile(apart, 95.0)),
            float(apart.max()),
            int(apart.size),
            found.names[worst],
        ),
        notes=notes_of(found.notes, measured.notes),
    )
