"""What a display can show of samples, how far it falls short, and which standard display would do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from screenproof.errors import InputError, Note
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.eye_records import PopulationRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.match.answer import MEASURE, judged_match
from screenproof.questions.telling import (
    GamutSaid,
    ScreenSaid,
    called,
    doubt_lines,
    doubt_record,
    notes_on_people,
    people_line,
    percent,
    population_record,
    scene_said,
    scene_words,
    status_word,
)
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from screenproof.proof import Gamut
    from screenproof.questions.gamut.question import AskGamut
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array


@dataclass(frozen=True, eq=False, repr=False)
class GamutAnswer(AnswerInRows):
    """What a display can show, one row a sample. See :class:`screenproof.proof.Gamut` for the arrays.

    share_outside: the share 0..1 of people to whom the display cannot show it, where that was asked.
    """

    schema: ClassVar[str] = "screenproof-gamut/2"

    file: str
    display: ScreenSaid
    light: str
    observer: str
    basis: str
    adaptation: str | None
    gamut: GamutSaid
    limit: float | None
    population: PopulationRecord | None = maybe()
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    in_gamut: NDArray[np.bool_] = row(default=())
    excess: Array = row(default=())
    direction: tuple[str, ...] = row(default=())
    lab: Array = row(default=())
    uv: Array = row(default=())
    nearest_lab: Array = row(default=())
    suffices: tuple[tuple[str, ...], ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    share_outside: tuple[float, ...] = row(default=())
    notes: tuple[Note, ...] = ()
    found: Gamut | None = hidden()

    def heading(self) -> str:
        """What was asked of which display."""
        return scene_words("Gamut", self.display, self.light, self.observer, self.basis, self.adaptation)

    def _order(self) -> list[int]:
        return sorted(range(len(self.names)), key=lambda i: -self.excess[i])

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, the largest excess first."""
        people, limited = self.population is not None, self.limit is not None
        columns = [
            Column("sample", left=True),
            Column("shown", key="in_gamut"),
            *([Column("outside for")] if people else []),
            Column("excess", 2, key="excess_de00"),
            Column("nearest is", left=True),
            Column("suffices", left=True),
            *([Column("verdict")] if limited else []),
        ]
        rows: list[list[Cell]] = [
            [
                self.names[i],
                bool(self.in_gamut[i]),
                *([percent(self.share_outside[i])] if people else []),
                self.figures[i][0],
                self.direction[i] or "-",
                ", ".join(self.suffices[i]) or "none of the standards",
                *([self.statuses[i]] if limited else []),
            ]
            for i in self._order()
        ]
        legend = "excess in CIEDE2000; suffices: the standard displays that can show it"
        return (Table.of(columns, rows, legend=legend),)

    def text(self) -> str:
        """The gamut for a terminal."""
        count, outside = len(self.names), len(self.names) - int(sum(self.in_gamut))
        first = (
            f"{outside} of {count} samples cannot be shown." if outside else f"All {count} samples can be shown."
        )
        (table,) = self.tables()
        lines = [self.heading(), first, "", table.text(), "", table.legend]
        if self.population is not None:
            who = people_line(self.population)
            lines.append(f"{who}; outside for: the share of them to whom the display cannot show it")
        lines += doubt_lines(self.doubt, [(self.names[i], self.figures[i]) for i in self._order()])
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What cannot be shown."""
        from screenproof.questions.gamut.findings import findings

        return findings(self)

    def figure(self) -> Figure:
        """Chromaticities with the display's gamut."""
        from screenproof.questions.match.figure import draw_chromaticity

        return draw_chromaticity(self)


def gamut_answer(asked: AskGamut, open: Open) -> GamutAnswer:
    """Which samples the display can show, how far the others are, and which standard displays would do."""
    from screenproof.appearance import xyz_to_uv
    from screenproof.proof import gamut, gamut_share, match

    people = open.people(asked.people)
    every = open.read(asked.samples, asked.doubt)
    viewing = open.viewing(asked.scene, every)
    samples = open.samples(every, asked.only)
    display = open.display(asked.screen, asked.doubt)
    matched = match(samples, display, viewing)
    found = gamut(samples, display, viewing, matched=matched)
    shares: tuple[float, ...] = ()
    if people is not None:
        try:
            shares = tuple(float(share) for share in gamut_share(samples, display, viewing, people))
        except InputError as error:
            raise InputError(
                replace(p, field="population", mend=p.mend or MEASURE) for p in error.problems
            ) from None
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_match(judge, "excess", samples, matched, display, viewing)
    file = called(asked.samples)
    return GamutAnswer(
        file=file,
        **scene_said(display, viewing),
        gamut=GamutSaid.of(display, viewing),
        limit=asked.limit,
        population=None if people is None else population_record(people),
        doubt=doubt_record(judge, [(file, samples)], display),
        names=found.names,
        in_gamut=found.in_gamut,
        excess=found.excess,
        direction=found.direction,
        lab=matched.lab,
        uv=xyz_to_uv(matched.xyz),
        nearest_lab=found.nearest_lab,
        suffices=found.suffices,
        statuses=tuple(status_word(own) for own in judged),
        figures=judged,
        share_outside=shares,
        notes=notes_of(open.notes, samples.notes, display.notes, found.notes, notes_on_people(asked.people)),
        found=found,
    )
