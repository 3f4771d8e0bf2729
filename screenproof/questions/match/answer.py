"""The match of samples on one display: drive values, codes, and what is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.eye_records import CrowdRecord, PopulationRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.telling import (
    GamutSaid,
    ScreenSaid,
    called,
    crowd_legend,
    crowd_table,
    doubt_lines,
    doubt_record,
    limit_line,
    notes_on_people,
    people_line,
    population_record,
    scene_said,
    scene_words,
    status_word,
    whites_lines,
)
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from screenproof.additive import Display
    from screenproof.proof import Match, RobustMatch, Viewing
    from screenproof.proof.judging import Judge
    from screenproof.proof.tolerance import What
    from screenproof.questions.match.question import AskMatch
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array, Population, Samples

MEASURE = (
    "take samples with reflectance curves, and a display with spectra: readings of spectra, or a technology "
    "such as rgb-oled"
)
"""What to do where it cannot be known what people see."""


@dataclass(frozen=True, eq=False, repr=False)
class MatchAnswer(AnswerInRows):
    """Samples matched on a display, one row each. See :class:`screenproof.proof.Match` for the arrays.

    gamut: the display's chromaticities. crowd: what people see of each sample beside the screen, where that was
    asked. found: the match itself, with which other questions go on.
    """

    schema: ClassVar[str] = "screenproof-match/2"

    file: str
    display: ScreenSaid
    light: str
    observer: str
    basis: str
    adaptation: str | None
    gamut: GamutSaid
    bits: int
    limit: float | None
    population: PopulationRecord | None = maybe()
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    drive: Array = row(default=())
    code: NDArray[np.int64] = row(default=())
    in_gamut: NDArray[np.bool_] = row(default=())
    excess: Array = row(default=())
    residual: Array = row(default=())
    xyz: Array = row(default=())
    lab: Array = row(default=())
    uv: Array = row(default=())
    shown_lab: Array = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    crowd: tuple[CrowdRecord, ...] = row(default=())
    notes: tuple[Note, ...] = ()
    found: Match | None = hidden()
    viewing: Viewing | None = hidden()

    def heading(self) -> str:
        """Where the samples were matched."""
        return scene_words("Match", self.display, self.light, self.observer, self.basis, self.adaptation)

    def _order(self) -> list[int]:
        """What cannot be shown first, then what fails, then what is undecided."""
        trouble = {"fail": 0, "undecided": 1}
        return sorted(
            range(len(self.names)),
            key=lambda i: (bool(self.in_gamut[i]), trouble.get(self.statuses[i], 2), -self.excess[i]),
        )

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, trouble first."""
        judged = [Column("verdict")] if self.limit is not None else []
        columns = [
            Column("sample", left=True),
            *(
                Column(head, key=f"code_{c}")
                for head, c in zip((f"R {self.bits} bit", "G", "B"), "rgb", strict=True)
            ),
            *(Column(head, 4, key=f"drive_{c}") for head, c in zip(("drive R", "G", "B"), "rgb", strict=True)),
            *(Column(head, 2, key=key) for head, key in (("L*", "lab_l"), ("a*", "lab_a"), ("b*", "lab_b"))),
            Column("shown", key="in_gamut"),
            Column("excess", 2, key="excess_de00"),
            Column("residual", 2, key="residual_de00"),
            *judged,
        ]
        rows: list[list[Cell]] = [
            [
                self.names[i],
                *(int(value) for value in self.code[i]),
                *(float(value) for value in self.drive[i]),
                *(float(value) for value in self.lab[i]),
                bool(self.in_gamut[i]),
                float(self.excess[i]),
                self.figures[i][0],
                *([self.statuses[i]] if judged else []),
            ]
            for i in self._order()
        ]
        legend = "excess and residual in CIEDE2000; drive 0 to 1"
        return (Table.of(columns, rows, legend=legend, patches=self._patches()),)

    def _patches(self) -> tuple[tuple[str, str], ...]:
        """The page colours of each object beside what its code shows."""
        from screenproof.english import page_colour
        from screenproof.proof import page_srgb_of_lab

        if self.viewing is None:
            return ()
        pairs = [page_srgb_of_lab(lab, self.viewing) for lab in (self.lab, self.shown_lab)]
        return tuple((page_colour(pairs[0][i]), page_colour(pairs[1][i])) for i in self._order())

    def text(self) -> str:
        """The match for a terminal."""
        count, outside = len(self.names), len(self.names) - int(sum(self.in_gamut))
        lines = [self.heading(), shown_line(count, outside)]
        if self.limit is not None:
            lines.append(limit_line("Limit for the residual", self.limit, self.statuses))
        (table,) = self.tables()
        lines += ["", table.text(), "", table.legend]
        lines += doubt_lines(self.doubt, [(self.names[i], self.figures[i]) for i in self._order()])
        return "\n".join([*lines, *self._people_lines(), *self.ending()])

    def _people_lines(self) -> list[str]:
        who = self.population
        if who is None:
            return []
        lines = ["", people_line(who)]
        if who.aim == "population":
            lower = sum(crowd.p95 < (crowd.p95_before or 0.0) for crowd in self.crowd)
            lines.append(
                f"The drive values are made for these people: the 95 % is lower for {lower} of {len(self.crowd)} "
                f"samples, and observer {self.observer} sees {who.cost:g} more at most."
            )
        rows = zip(self.names, self.crowd, strict=True)
        lines += ["", crowd_table(rows, self.observer, "sample", lit=False), ""]
        lines += crowd_legend("the sample beside the screen", self.limit)
        return [*lines, *whites_lines(self.observer, self.basis)]

    def findings(self) -> Iterator[Finding]:
        """What cannot be shown, and what fails or is undecided."""
        from screenproof.questions.match.findings import findings

        return findings(self)

    def figure(self) -> Figure:
        """Chromaticities with the display's gamut, or what people see."""
        from screenproof.questions.match.figure import draw

        return draw(self)


def shown_line(count: int, outside: int) -> str:
    """How many samples a display can show."""
    if not outside:
        return f"All {count} samples can be shown." if count > 1 else "The sample can be shown."
    return f"{outside} of {count} samples cannot be shown; the nearest colour stands in its place."


def match_answer(asked: AskMatch, open: Open) -> MatchAnswer:
    """Drive values and codes of every sample.

    With people: what they see of each sample beside the screen, and drive values for them if asked. Where
    something is known of the readings, each figure has its interval.
    """
    from screenproof.appearance import xyz_to_uv
    from screenproof.proof import match

    people = open.people(asked.people)
    every = open.read(asked.samples, asked.doubt)
    viewing = open.viewing(asked.scene, every)
    samples = open.samples(every, asked.only)
    display = open.display(asked.screen, asked.doubt)
    found = match(samples, display, viewing, asked.bits)
    crowds: tuple[CrowdRecord, ...] = ()
    who = None
    if people is not None:
        found, crowds, shown = matched_for(asked, people, samples, found, display, viewing)
        who = population_record(people, aim=asked.aim or "observer", cost=asked.cost, displays=shown)
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_match(judge, "match", samples, found, display, viewing)
    file = called(asked.samples)
    return MatchAnswer(
        file=file,
        **scene_said(display, viewing),
        gamut=GamutSaid.of(display, viewing),
        bits=asked.bits,
        limit=asked.limit,
        population=who,
        doubt=doubt_record(judge, [(file, samples)], display),
        names=found.names,
        drive=found.drive,
        code=found.code,
        in_gamut=found.in_gamut,
        excess=found.excess,
        residual=found.residual,
        xyz=found.xyz,
        lab=found.lab,
        uv=xyz_to_uv(found.xyz),
        shown_lab=found.shown_lab,
        statuses=tuple(status_word(own) for own in judged),
        figures=judged,
        crowd=crowds,
        notes=notes_of(
            open.notes,
            samples.notes,
            display.notes,
            found.notes,
            notes_on_people(asked.people, asked.aim, asked.cost, asked.limit),
        ),
        found=found,
        viewing=viewing,
    )


def judged_match(
    judge: Judge, what: What, samples: Samples, matched: Match, display: Display, viewing: Viewing
) -> tuple[tuple[Judged, ...], ...]:
    """The residual (``what`` is 'match') or the excess of every sample against the limit."""
    from screenproof.proof.covariance import excess_spread, match_spread

    spread = excess_spread if what == "excess" else match_spread
    found = judge.rows(
        what,
        matched.lab,
        matched.nearest_lab if what == "excess" else matched.shown_lab,
        (viewing.white, viewing.conditions()),
        lambda: spread(samples, matched, display, viewing),
        (viewing.light.name, viewing.observer.name),
        {"sample": samples.names, "screen": [display.label] * len(samples)},
        "reference",
        follows=what == "match",
    )
    return tuple((one,) for one in found)


def matched_for(
    asked: AskMatch, people: Population, samples: Samples, matched: Match, display: Display, viewing: Viewing
) -> tuple[Match, tuple[CrowdRecord, ...], Sequence[Any]]:
    """The match, made for the people if that is the aim; what they see of each sample, and of the whole display.

    Raises InputError where it cannot be known what people see.
    """
    from screenproof.proof import crowd, crowd_on_display
    from screenproof.questions.tables import DEFAULT_COST

    robust: RobustMatch | None = None
    if asked.aim == "population":
        from screenproof.proof.robust import robust_match

        cost = DEFAULT_COST if asked.cost is None else asked.cost
        robust = robust_match(samples, matched, display, viewing, people, cost=cost)
        matched = robust.match
    found = crowd(samples, matched, display, viewing, people)
    if found.refused is not None:
        raise bad(found.refused.reason, field="population", mend=MEASURE)
    records = [found.record(i, asked.limit) for i in range(len(samples))]
    if robust is not None:
        records = list(robust.records(records))
    on_display = crowd_on_display(display.name, [found], [asked.limit])
    return matched, tuple(records), [] if on_display is None else [on_display]
