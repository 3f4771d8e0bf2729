"""A job while it is read: the places of its keys, the problems so far, and the files that it uses."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from screenproof.errors import InputError, Note, Problem
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.positions import line_of, spelled
from screenproof.questions.sources import without_selector

if TYPE_CHECKING:
    from screenproof.proof.result import InputRecord

V = TypeVar("V")


@dataclass
class Reading:
    """The state of reading one job file.

    ``inputs`` are its files, by the path as the job names it; ``notes`` what is odd about lights, which do not
    carry their own, and what was assumed of a name.
    """

    file: str
    folder: Path
    lines: dict[KeyPath, int]
    say: Callable[[str], None]
    problems: list[Problem] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    inputs: dict[str, Path] = field(default_factory=dict)

    def problem(self, what: str, path: KeyPath, expected: str | None = None, mend: str | None = None) -> None:
        """Write down a mistake of the job file at ``path``."""
        line = line_of(self.lines, path)
        self.problems.append(Problem(what, self.file, line, spelled(path), expected, mend))

    def attempt(self, path: KeyPath, make: Callable[[], V]) -> V | None:
        """What ``make`` gives. None when it raises InputError: its problems are kept, with the place of
        ``path`` where they name no file of their own."""
        try:
            return make()
        except InputError as error:
            line, own = line_of(self.lines, path), spelled(path)
            self.problems += [
                problem if problem.file is not None else replace(problem, file=self.file, line=line, field=own)
                for problem in error.problems
            ]
            return None

    def within(self, path: KeyPath, make: Callable[[], V]) -> V | None:
        """As :meth:`attempt`, for what reads the table at ``path``: the field of a problem is a key in it."""
        try:
            return make()
        except InputError as error:
            for problem in error.problems:
                key = (*path, problem.field) if problem.field else path
                at = key if key in self.lines or problem.field != "kind" else path
                self.problem(problem.what, at, problem.expected, problem.mend)
            return None

    def uses(self, named: str | None) -> None:
        """Write down that a file goes into the job, if it is there."""
        if named is None:
            return
        plain = without_selector(named)
        if (self.folder / plain).is_file():
            self.inputs.setdefault(plain, self.folder / plain)

    def records(self) -> tuple[InputRecord, ...]:
        """SHA-256 and size of every file that goes into the job."""
        return tuple(file_record(named, path) for named, path in self.inputs.items())


def file_record(named: str, path: Path) -> InputRecord:
    """SHA-256 and size of a file, under the name that the job gives it."""
    from screenproof.proof.result import InputRecord

    data = path.read_bytes()
    return InputRecord(named, hashlib.sha256(data).hexdigest(), len(data))
