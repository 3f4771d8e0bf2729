"""A job that has been read whole: its inputs as types of the rooms below, and what the job says of them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs import schema
from screenproof.jobs.ink_side import InkSide, Place
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.schema import PopulationTable
from screenproof.questions.tables import DisplayTable, DoubtTable

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.asking import Asked
    from screenproof.proof import Viewing
    from screenproof.proof.result import InputRecord
    from screenproof.proof.tolerance import ToleranceSet
    from screenproof.spectra import Light, Observer, Population, Samples


@dataclass(frozen=True, eq=False)
class SampleGroup:
    """The samples of one file: those that the job wants, and its stock if one is named.

    ``source`` is the path as the job names it; ``stock_samples`` holds the stock alone, which need not be
    among the samples that the job wants. ``uv_excluded`` (M2) and ``incandescent`` (M0) are readings of the same
    samples, as far as their files have them.
    """

    samples: Samples
    group: str
    source: str
    stock: str | None = None
    stock_samples: Samples | None = None
    uv_excluded: Samples | None = None
    incandescent: Samples | None = None

    def reference(self, name: str) -> str:
        """A sample's name with its group, for jobs in which two groups use the same name."""
        return f"{self.group}/{name}"


@dataclass(frozen=True, eq=False)
class PairEntry:
    """A ``[[pairs]]`` table: the samples of each of its pairs; several where whole groups are paired by name.

    ``alone``: the samples of these groups that have no partner, as the job refers to them.
    """

    table: schema.PairTable
    sides: tuple[tuple[Place, Place], ...]
    alone: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether whole groups are paired."""
        return self.table.groups is not None


@dataclass(frozen=True, eq=False)
class People:
    """The population of a job. ``limit``: the table's, else ``observer_shift`` of the default tolerance set."""

    table: PopulationTable
    population: Population
    limit: float | None


@dataclass(frozen=True, eq=False)
class Job:
    """A job whose file and inputs have all been read and agree with each other.

    ``lights`` begins with the viewing light and ``observers`` with the viewing observer. ``viewings`` has one
    situation per group, since each group may have a white of its own. ``display_tables`` are the job's own
    words for ``displays``, in the same order. ``files`` are the inputs as opened, by the path as the job names it.
    ``without_uv``: the lights that are stated to have no ultraviolet. ``standards``: the standard light that a
    light of the job is, by the name that the job gives it. ``questions``: those that stand in it by their names.
    ``lines``: where its keys stand.
    """

    path: Path
    title: str
    note: str
    viewing: schema.ViewingTable
    groups: tuple[SampleGroup, ...]
    viewings: tuple[Viewing, ...]
    displays: tuple[Display, ...]
    display_tables: tuple[DisplayTable, ...]
    lights: tuple[Light, ...]
    observers: tuple[Observer, ...]
    approvals: tuple[schema.ApprovalTable, ...]
    pairs: tuple[PairEntry, ...]
    tolerances: dict[str, ToleranceSet]
    default_tolerance: str | None
    output: schema.OutputTable
    inputs: tuple[InputRecord, ...]
    files: dict[str, Path]
    notes: tuple[Note, ...] = ()
    ink: InkSide = InkSide()
    people: People | None = None
    doubt: DoubtTable = DoubtTable()
    without_uv: tuple[str, ...] = ()
    standards: dict[str, str] = field(default_factory=dict)
    questions: tuple[Asked, ...] = ()
    lines: dict[KeyPath, int] = field(default_factory=dict)

    @property
    def folder(self) -> Path:
        """The folder of the job file, from which its paths count."""
        return self.path.parent

    @property
    def output_folder(self) -> Path:
        """The folder that the run writes."""
        return self.folder / self.output.folder

    def as_named(self, text: str) -> str:
        """A text in which every input stands as the job names it, whatever folder the job was run from."""
        for named, path in sorted(self.files.items(), key=lambda item: -len(str(item[1]))):
            for shown in {str(path), path.as_posix()}:
                text = text.replace(shown, named)
        return text

    def name_of(self, group: int, index: int) -> str:
        """A sample's name in the result: with its group only where another group uses the same name."""
        own = self.groups[group].samples.names[index]
        return own if self._uses[own] == 1 else self.groups[group].reference(own)

    @cached_property
    def _uses(self) -> Counter[str]:
        """How often each name stands in the job."""
        return Counter(name for group in self.groups for name in group.samples.names)

    def find(self, name: str) -> tuple[int, int]:
        """Group and index of the sample called ``name`` or ``group/name``. KeyError: none, or several."""
        found = find_samples(self.groups, name)
        if len(found) != 1:
            raise KeyError(name)
        return found[0]


def find_samples(groups: tuple[SampleGroup, ...], name: str) -> list[tuple[int, int]]:
    """Every (group, index) whose sample is called ``name`` or ``group/name``."""
    return [
        (g, i)
        for g, group in enumerate(groups)
        for i, own in enumerate(group.samples.names)
        if name in (own, group.reference(own))
    ]
