"""Samples against the colours that were approved on a screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.english import page_colour
from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import Answer
from screenproof.questions.telling import (
    ScreenSaid,
    called,
    doubt_lines,
    doubt_record,
    limit_line,
    scene_said,
    scene_words,
)
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.additive import Display
    from screenproof.proof import Approvals, Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.approve.question import AskApprove
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array, Samples


@dataclass(frozen=True, eq=False, repr=False)
class ApprovalAnswer(Answer):
    """Samples against approved colours, one row each, in Lab relative to the viewing light's white."""

    schema: ClassVar[str] = "screenproof-approve/1"

    file: str
    display: ScreenSaid
    light: str
    observer: str
    basis: str
    adaptation: str | None
    bits: int
    limit: float | None
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    code: NDArray[np.int64] = row(default=())
    approved_lab: Array = row(default=())
    lab: Array = row(default=())
    de00: Array = row(default=())
    deab: Array = row(default=())
    words: tuple[str, ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[Judged, ...] = row("judged", ())
    notes: tuple[Note, ...] = ()
    viewing: Viewing | None = hidden()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every difference against the limit."""
        return self.figures

    def heading(self) -> str:
        """Approved on which screen, seen how."""
        return scene_words("Approved", self.display, self.light, self.observer, self.basis, self.adaptation)

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, the farthest first."""
        limited = self.limit is not None
        columns = [
            Column("sample", left=True),
            *(
                Column(head, key=f"code_{c}")
                for head, c in zip((f"R {self.bits} bit", "G", "B"), "rgb", strict=True)
            ),
            Column("CIEDE2000", 2, key="de00"),
            Column("CIE 1976", 2, key="deab"),
            Column("it is", left=True, key="words"),
            *([Column("verdict")] if limited else []),
        ]
        order = sorted(range(len(self.names)), key=lambda i: (self.statuses[i] != "fail", -self.de00[i]))
        rows: list[list[Cell]] = [
            [
                self.names[i],
                *(int(value) for value in self.code[i]),
                self.figures[i],
                float(self.deab[i]),
                self.words[i],
                *([self.statuses[i]] if limited else []),
            ]
            for i in order
        ]
        return (Table.of(columns, rows, patches=self._patches(order)),)

    def _patches(self, order: Sequence[int]) -> tuple[tuple[str, str], ...]:
        """The page colours of what was approved beside the sample."""
        from screenproof.proof import page_srgb_of_lab

        if self.viewing is None:
            return ()
        approved, own = (page_srgb_of_lab(lab, self.viewing) for lab in (self.approved_lab, self.lab))
        return tuple((page_colour(approved[i]), page_colour(own[i])) for i in order)

    def text(self) -> str:
        """The approvals for a terminal."""
        lines = [self.heading()]
        lines += [limit_line("Limit", self.limit, self.statuses)] if self.limit is not None else []
        lines += ["", self.tables()[0].text()]
        rows = zip(self.names, ([one] for one in self.figures), strict=True)
        return "\n".join([*lines, *doubt_lines(self.doubt, rows), *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What is not the approved colour."""
        from screenproof.questions.approve.findings import findings

        return findings(self)


def approval_answer(asked: AskApprove, open: Open) -> ApprovalAnswer:
    """How far each sample is from the colour of its code. Raises InputError for codes that are not one, or one
    each."""
    from screenproof.proof import approve

    every = open.read(asked.samples, asked.doubt)
    viewing = open.viewing(asked.scene, every)
    samples = open.samples(every, asked.only)
    display = open.display(asked.screen, asked.doubt)
    codes = list(asked.code) * (len(samples) if len(asked.code) == 1 else 1)
    if len(codes) != len(samples):
        raise bad(
            f"{len(codes)} codes for {len(samples)} samples",
            field="code",
            expected="one code, or one for each sample",
            mend="choose the samples with {only}",
        )
    found = approve(samples, display, codes, asked.bits, viewing)
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_approvals(judge, samples, samples.names, found, display, viewing)
    file = called(asked.samples)
    return ApprovalAnswer(
        file=file,
        **scene_said(display, viewing),
        bits=asked.bits,
        limit=asked.limit,
        doubt=doubt_record(judge, [(file, samples)], display),
        names=found.names,
        code=found.code,
        approved_lab=found.approved_lab,
        lab=found.sample_lab,
        de00=found.de00,
        deab=found.deab,
        words=found.words,
        statuses=tuple(one.status for one in judged),
        figures=judged,
        notes=notes_of(open.notes, samples.notes, display.notes, found.notes),
        viewing=viewing,
    )


def judged_approvals(
    judge: Judge, samples: Samples, names: Sequence[str], found: Approvals, display: Display, viewing: Viewing
) -> tuple[Judged, ...]:
    """Every sample against its approved colour, with the doubt of both readings."""
    from screenproof.proof.covariance import screen_spread

    drive = found.code / (2.0**found.bits - 1.0)
    return tuple(
        judge.rows(
            "approval",
            found.approved_lab,
            found.sample_lab,
            (viewing.white, viewing.conditions()),
            lambda: screen_spread(samples, drive, display, viewing),
            (viewing.light.name, viewing.observer.name),
            {"sample": names, "screen": [display.label] * len(samples)},
        )
    )
