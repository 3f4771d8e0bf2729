"""What a press makes of colours: of samples, or of codes that were approved on a display."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.errors import InputError, Note
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.groups import ScreenOptions
from screenproof.questions.presses import (
    LimitsSaid,
    codes_spread,
    judged_prints,
    press_source,
    samples_spread,
    tint_limits,
)
from screenproof.questions.telling import ScreenSaid, called, doubt_lines, doubt_record
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.additive import Display
    from screenproof.proof import InkReach, Viewing
    from screenproof.proof.covariance import Spread
    from screenproof.questions.opening import Open
    from screenproof.questions.printable.question import AskPrintable
    from screenproof.spectra import Array, Samples
    from screenproof.subtractive import Press


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class PrintableAnswer(AnswerInRows):
    """What a press makes of colours, one row each. See :class:`screenproof.proof.InkReach` for the arrays.

    code: of each, None for samples. screen: the display, where there is one. found: the answer of the press
    itself.
    """

    schema: ClassVar[str] = "screenproof-printable/2"

    press: str
    file: str | None
    display: str | None
    bits: int | None
    channels: tuple[str, ...]
    light: str
    observer: str
    basis: str
    limits: LimitsSaid
    limit: float | None
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name")
    code: tuple[tuple[int, int, int] | None, ...] = row()
    printable: NDArray[np.bool_] = row()
    excess: Array = row()
    lab: Array = row()
    nearest_lab: Array = row()
    tints: tuple[Mapping[str, float], ...] = row()
    coverage: Array = row()
    words: tuple[str, ...] = row()
    obstacles: tuple[tuple[str, ...], ...] = row()
    sentence: tuple[str, ...] = row()
    statuses: tuple[str, ...] = row("status")
    figures: tuple[tuple[Judged, ...], ...] = row("judged")
    notes: tuple[Note, ...]
    screen: ScreenSaid | None = hidden()
    found: InkReach = hidden()

    def heading(self) -> str:
        """Which colours of which press, within which limits."""
        of = "" if self.screen is None else f" of {self.screen.words()}"
        where = f"light {self.light}, observer {self.observer}, basis {self.basis}"
        return f"Printable by {self.press}{of}: {where}, {self.limits.words(self.channels)}"

    def _order(self) -> list[int]:
        """What cannot be printed first, the farthest in front."""
        return sorted(range(len(self.names)), key=lambda i: (bool(self.printable[i]), -self.excess[i]))

    def tables(self) -> tuple[Table, ...]:
        """A row a colour, what cannot be printed first."""
        judged = self.limit is not None
        columns = [
            Column("colour", left=True),
            *(Column(head, 2, key=key) for head, key in (("L*", "lab_l"), ("a*", "lab_a"), ("b*", "lab_b"))),
            Column("printed", key="printable"),
            Column("excess", 2, key="excess_de00"),
            *(Column(name, 0) for name in self.channels),
            Column("total", 0),
            *([Column("verdict")] if judged else []),
        ]
        rows: list[list[Cell]] = [
            [
                self.names[i],
                *(float(value) for value in self.lab[i]),
                bool(self.printable[i]),
                self.figures[i][0],
                *(100.0 * tint for tint in self.tints[i].values()),
                100.0 * float(self.coverage[i]),
                *([self.statuses[i]] if judged else []),
            ]
            for i in self._order()
        ]
        legend = "excess in CIEDE2000; tints, which give the nearest colour, in percent"
        return (Table.of(columns, rows, legend=legend),)

    def text(self) -> str:
        """The answer for a terminal, with a sentence for what cannot be printed."""
        outside = [i for i in self._order() if not self.printable[i]]
        (table,) = self.tables()
        count = len(self.names)
        said = f"{len(outside)} of {count} cannot be printed." if outside else f"All {count} can be printed."
        lines = [self.heading(), said, "", table.text(), "", table.legend]
        if outside:
            lines += ["", *(self.sentence[i] for i in outside)]
        lines += doubt_lines(self.doubt, [(self.names[i], self.figures[i]) for i in self._order()])
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What cannot be printed, and what is undecided."""
        from screenproof.questions.printable.findings import findings

        return findings(self)


@dataclass(frozen=True, eq=False, repr=False)
class _Wanted:
    """The colours that are asked for: Lab (n, 3), where they were read, and the doubt of that."""

    names: tuple[str, ...]
    lab: Array
    viewing: Viewing
    read: Mapping[str, Sequence[str]]
    spread: Callable[[], Spread | None]
    notes: tuple[Note, ...]
    samples: Samples | None = None
    display: Display | None = None


def printable_answer(asked: AskPrintable, open: Open) -> PrintableAnswer:
    """Whether a press prints samples, or the colours of codes on a display, and what stands in the way."""
    from screenproof.proof import ink_reach

    press = open.press(asked.press)
    limits = tint_limits(press, asked.tints)
    wanted = _of_samples(asked, open) if asked.samples is not None else _of_codes(asked, open, press)
    viewing = wanted.viewing
    found = ink_reach(press, wanted.lab, viewing, wanted.names, limits=limits, black=asked.tints.black)
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_prints(
        judge,
        press,
        found.tints,
        found.lab,
        found.nearest_lab,
        found.printable,
        viewing,
        wanted.spread,
        wanted.read,
    )
    own = called(asked.press)
    read = [] if wanted.samples is None else [(called(asked.samples), wanted.samples)]
    return PrintableAnswer(
        press=own,
        file=None if asked.samples is None else called(asked.samples),
        display=None if asked.display is None else called(asked.display),
        bits=None if asked.display is None else asked.bits,
        channels=press.channels,
        light=viewing.light.name,
        observer=viewing.observer.name,
        basis=viewing.basis,
        limits=LimitsSaid.of(found.limits),
        limit=asked.limit,
        doubt=doubt_record(judge, read, wanted.display, [press_source(press, own)]),
        names=found.names,
        code=asked.code or (None,) * len(found.names),
        printable=found.printable,
        excess=found.excess,
        lab=found.lab,
        nearest_lab=found.nearest_lab,
        tints=tuple(dict(zip(found.channels, tints, strict=True)) for tints in found.tints.tolist()),
        coverage=found.coverage,
        words=found.words,
        obstacles=found.obstacles,
        sentence=tuple(found.sentence(i) for i in range(len(found.names))),
        statuses=tuple(one.status for one in judged),
        figures=tuple((one,) for one in judged),
        notes=notes_of(open.notes, wanted.notes, press.notes, found.notes),
        screen=None if wanted.display is None else ScreenSaid.of(wanted.display),
        found=found,
    )


def _of_samples(asked: AskPrintable, open: Open) -> _Wanted:
    from screenproof.proof import wanted_of_samples

    assert asked.samples is not None
    every = open.read(asked.samples, asked.doubt)
    viewing = open.viewing(asked.scene, every)
    samples = open.samples(every, asked.only)
    return _Wanted(
        samples.names,
        wanted_of_samples(samples, viewing),
        viewing,
        {"sample": samples.names},
        lambda: samples_spread(samples, viewing),
        samples.notes,
        samples=samples,
    )


def _of_codes(asked: AskPrintable, open: Open, press: Press) -> _Wanted:
    from screenproof.proof import on_stock_of, wanted_of_codes

    display = _display(asked, open)
    viewing = open.viewing(asked.scene, press.samples(np.zeros((1, len(press.channels))), ["bare stock"]))
    viewing = on_stock_of(press, viewing) if asked.own_stock else viewing
    lab, assumed = wanted_of_codes(display, asked.code, asked.bits, viewing)
    return _Wanted(
        tuple(",".join(str(value) for value in code) for code in asked.code),
        lab,
        viewing,
        {"screen": [display.label] * len(lab)},
        lambda: codes_spread(display, asked.code, asked.bits, viewing),
        (*display.notes, *assumed),
        display=display,
    )


def _display(asked: AskPrintable, open: Open) -> Display:
    """The display, in its room; its black has a name of its own here, where 'black' is the black generation."""
    assert asked.display is not None
    screen = ScreenOptions(
        display=asked.display,
        curve=asked.curve,
        luminance=asked.luminance,
        black=asked.display_black,
        room=asked.room,
    )
    try:
        return open.display(screen, asked.doubt)
    except InputError as error:
        raise InputError(
            replace(p, field="display_black") if p.field == "black" else p for p in error.problems
        ) from None
