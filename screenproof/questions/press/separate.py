"""From colours back to tints: the separation of samples within limits."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.presses import (
    LimitsSaid,
    judged_prints,
    press_source,
    samples_spread,
    tint_limits,
    viewing_on,
)
from screenproof.questions.telling import called, doubt_lines, doubt_record
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.proof import Viewing
    from screenproof.questions.opening import Open
    from screenproof.questions.press.question import AskPressSeparate
    from screenproof.spectra import Array, Light, Samples
    from screenproof.subtractive import Press, Separation, TintLimits


@dataclass(frozen=True)
class ShiftSaid:
    """CIEDE2000 of a print from its sample in another light."""

    light: str
    de00: float


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class PressSeparateAnswer(AnswerInRows):
    """The tints of samples, one row each. See :class:`screenproof.subtractive.Separation` for the arrays.

    black: None where the tints are those of least shift. shift: of each in the other lights. found: the separation
    itself.
    """

    schema: ClassVar[str] = "screenproof-press-separate/2"

    press: str
    file: str
    channels: tuple[str, ...]
    light: str
    observer: str
    limits: LimitsSaid
    black: str | None
    limit: float | None
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name")
    tints: tuple[Mapping[str, float], ...] = row()
    coverage: Array = row()
    printable: NDArray[np.bool_] = row()
    de00: Array = row()
    lab: Array = row()
    printed_lab: Array = row()
    shift: tuple[tuple[ShiftSaid, ...], ...] = row()
    statuses: tuple[str, ...] = row("status")
    figures: tuple[tuple[Judged, ...], ...] = row("judged")
    written: str | None = None
    notes: tuple[Note, ...]
    found: Separation = hidden()

    def heading(self) -> str:
        """Of which press, in which light, within which limits."""
        black = "least shift" if self.black is None else f"black {self.black}"
        where = f"light {self.light}, observer {self.observer}"
        return f"Tints of {self.press}: {where}, {self.limits.words(self.channels)}, {black}"

    def _order(self) -> list[int]:
        """What cannot be printed first."""
        return sorted(range(len(self.names)), key=lambda i: (bool(self.printable[i]), -self.de00[i]))

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, what cannot be printed first."""
        judged = self.limit is not None
        columns = [
            Column("sample", left=True),
            *(Column(name, 1) for name in self.channels),
            Column("total", 0),
            Column("printed"),
            Column("CIEDE2000", 2, key="de00"),
            *(Column(f"in {one.light}", 2) for one in self.shift[0]),
            *([Column("verdict")] if judged else []),
        ]
        rows: list[list[Cell]] = [
            [
                self.names[i],
                *(100.0 * tint for tint in self.tints[i].values()),
                100.0 * float(self.coverage[i]),
                bool(self.printable[i]),
                float(self.de00[i]) if self.printable[i] else self.figures[i][0],
                *(one.de00 for one in self.shift[i]),
                *([self.statuses[i]] if judged else []),
            ]
            for i in self._order()
        ]
        return (Table.of(columns, rows, legend="tints and total in percent"),)

    def text(self) -> str:
        """The tints for a terminal."""
        count, outside = len(self.names), len(self.names) - int(sum(self.printable))
        (table,) = self.tables()
        lines = [
            self.heading(),
            f"{outside} of {count} cannot be printed; the nearest stands in its place."
            if outside
            else f"All {count} can be printed.",
            *("", table.text(), "", table.legend),
            *doubt_lines(self.doubt, [(self.names[i], self.figures[i]) for i in self._order()]),
        ]
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What cannot be printed, and what is undecided."""
        from screenproof.questions.press.findings import of_separation

        return of_separation(self)

    def tints_csv(self) -> str:
        """A list of tints in percent that 'press predict' reads back."""
        text = io.StringIO()
        text.write("# kind: tints\n# tints: percent\n")
        rows = csv.writer(text, lineterminator="\n")
        rows.writerow(["name", *self.channels])
        rows.writerows(
            [name, *(f"{100.0 * tint:.4f}" for tint in own.values())]
            for name, own in zip(self.names, self.tints, strict=True)
        )
        return text.getvalue()


def separate_answer(asked: AskPressSeparate, open: Open) -> PressSeparateAnswer:
    """The tints that print each sample, or the colour that is nearest to it within the limits."""
    from screenproof.proof import wanted_of_samples

    press = open.press(asked.press)
    limits = tint_limits(press, asked.within)
    samples = open.samples(open.read(asked.targets, asked.doubt), asked.only)
    viewing = viewing_on(press, open, asked.light, asked.observer)
    others = open.lights(asked.to, "to")
    wanted = wanted_of_samples(samples, viewing)
    found, shifts = _separated(press, samples, wanted, viewing, limits, asked, others)
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_prints(
        judge,
        press,
        found.tints,
        wanted,
        found.lab,
        found.printable,
        viewing,
        lambda: samples_spread(samples, viewing),
        {"sample": samples.names},
    )
    file, own = called(asked.targets), called(asked.press)
    return PressSeparateAnswer(
        press=own,
        file=file,
        channels=press.channels,
        light=viewing.light.name,
        observer=viewing.observer.name,
        limits=LimitsSaid.of(found.limits),
        black=None if others else asked.within.black,
        limit=asked.limit,
        doubt=doubt_record(judge, [(file, samples)], models=[press_source(press, own)]),
        names=samples.names,
        tints=tuple(dict(zip(press.channels, tints, strict=True)) for tints in found.tints.tolist()),
        coverage=found.tints.sum(axis=1),
        printable=found.printable,
        de00=found.de00,
        lab=wanted,
        printed_lab=found.lab,
        shift=tuple(
            tuple(ShiftSaid(one.name, float(apart)) for one, apart in zip(others, row_, strict=True))
            for row_ in shifts
        ),
        statuses=tuple(one.status for one in judged),
        figures=tuple((one,) for one in judged),
        notes=notes_of(open.notes, samples.notes, found.notes),
        found=found,
    )


def _separated(
    press: Press,
    samples: Samples,
    wanted: Array,
    viewing: Viewing,
    limits: TintLimits,
    asked: AskPressSeparate,
    others: Sequence[Light],
) -> tuple[Separation, Array]:
    """The separation, and the shifts (n, L) under the other lights."""
    from screenproof.subtractive import separate, separate_spectra

    lamp, eye = viewing.light, viewing.observer
    if not others:
        made = separate(press, wanted, under=lamp, seen_by=eye, limits=limits, black=asked.within.black)
        return made, np.zeros((len(wanted), 0))
    if samples.reflectance is None or samples.grid is None:
        raise bad(
            "other lights were asked for, and these samples have no curves",
            file=samples.source or None,
            field="to",
            expected="reflectance curves",
            mend="leave {to} out, or give the measured curves",
        )
    found = separate_spectra(
        press, samples.reflectance, samples.grid, under=lamp, others=others, seen_by=eye, limits=limits
    )
    return found.match, np.asarray(found.shift)
