"""A finding: one thing that a person should know, with what to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from screenproof.proof.judged import Judged


@dataclass(frozen=True)
class Finding:
    """One thing that a person should know.

    kind: what it is about ('match', 'excess', 'light_shift' ...). subject: the name of the colour, or of whatever
    it is true of. place: where it shows ('' for everywhere): a display, a press. judged: its figure. says: a
    sentence. do: what to do about it, without a capital and a full stop; '' where nothing is to be done.
    """

    kind: str
    subject: str
    place: str = ""
    judged: Judged | None = None
    says: str = ""
    do: str = ""

    @property
    def rank(self) -> tuple[bool, float]:
        """For sorting the worst first."""
        return (False, 0.0) if self.judged is None else self.judged.severity


Found = TypeVar("Found", bound=Finding)


def trouble_first(findings: Iterable[Found]) -> tuple[Found, ...]:
    """Findings with the worst in front; those alike stay in their order."""
    return tuple(sorted(findings, key=lambda one: one.rank, reverse=True))
