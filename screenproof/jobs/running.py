"""A job on its way: who judges, who looks on, and the notes gathered so far."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs.eyes import Onlooking
from screenproof.jobs.job import Job
from screenproof.jobs.records import renamed_notes
from screenproof.jobs.wholes import Wholes
from screenproof.proof import Decision
from screenproof.proof.judging import Judge
from screenproof.questions.tables import DoubtTable

if TYPE_CHECKING:
    from screenproof.proof.tolerance import ToleranceSet
    from screenproof.spectra import Light, Observer


def decision_of(table: DoubtTable) -> Decision:
    """The rules of a job, by which doubtful figures are decided."""
    return Decision(table.risk, table.coverage, table.draws, table.seed)


@dataclass
class Run:
    """The state of running one job."""

    job: Job
    say: Callable[[str], None]
    notes: dict[Note, None] = field(default_factory=dict)

    @property
    def tolerance(self) -> ToleranceSet | None:
        """The default tolerance set."""
        name = self.job.default_tolerance
        return None if name is None else self.job.tolerances[name]

    @property
    def others(self) -> tuple[Light, ...]:
        """Every light but the viewing light."""
        return self.job.lights[1:]

    @cached_property
    def onlooking(self) -> Onlooking:
        """The people of the job and what they have seen so far."""
        return Onlooking(self.job, self.tolerance, self.keep)

    @cached_property
    def wholes(self) -> Wholes:
        """The sets that are judged as a whole, as far as they have come up."""
        return Wholes()

    @cached_property
    def judge(self) -> Judge:
        """The judge by the default tolerance set."""
        return Judge(self.tolerance, decision_of(self.job.doubt))

    def light(self, name: str) -> Light:
        """The light of the job that is called ``name``."""
        return next(light for light in self.job.lights if light.name == name)

    def observer(self, name: str) -> Observer:
        """The observer of the job that is called ``name``."""
        return next(observer for observer in self.job.observers if observer.name == name)

    def judge_by(self, name: str | None) -> Judge:
        """The judge by the set of that name; the default set for None."""
        return self.judge if name is None else Judge(self.job.tolerances[name], decision_of(self.job.doubt))

    def keep(self, notes: Sequence[Note]) -> None:
        """Gather notes that belong to the whole job."""
        self.notes |= dict.fromkeys(renamed_notes(notes, self.job))
