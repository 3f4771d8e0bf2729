"""A figure held against a limit, and what its status can be."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Status = Literal["pass", "fail", "undecided", "not known", "not judged"]
"""pass, fail: decided. undecided: too near the limit for what is known of the figure. not known: there is a limit,
and the figure could not be calculated. not judged: there is no limit."""

WORST_FIRST: tuple[Status, ...] = ("fail", "undecided", "not known", "pass", "not judged")

TROUBLE = ("fail", "undecided", "not known")
"""Statuses that need somebody's attention."""


@dataclass(frozen=True)
class Remedy:
    """The cheapest way to decide what is undecided.

    words: the whole advice as one sentence. extra: how many more readings of which thing ((name, count), ...);
    empty when no number of readings would decide, and ``words`` says what would.
    """

    words: str
    extra: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Judged:
    """A figure against a limit, both in ``metric``, in one light and for one observer (None: does not apply).

    what: what the figure is of. metric: the short name of a colour difference, or a unit. figure, limit: NaN where
    not known, or where there is none. ``uncertainty`` is the expanded uncertainty of the figure in the same units,
    ``low`` and ``high`` its coverage interval (below 0 never; near a difference of 0 it is not centred on the
    figure); None says that none is known. ``tolerance`` is the name of the set. ``remedy`` says what would decide
    an undecided figure, or make known what is not.
    """

    what: str
    figure: float = math.nan
    limit: float = math.nan
    metric: str = "de00"
    status: Status = "not judged"
    light: str | None = None
    observer: str | None = None
    uncertainty: float | None = None
    tolerance: str = ""
    low: float | None = None
    high: float | None = None
    remedy: Remedy | None = None

    @property
    def limited(self) -> bool:
        """Whether there is a limit."""
        return self.status != "not judged"

    @property
    def trouble(self) -> bool:
        """Whether it needs somebody's attention."""
        return self.status in TROUBLE

    @property
    def severity(self) -> tuple[bool, float]:
        """For sorting the worst first: a failure before a doubt, then by how often the limit goes into the
        figure."""
        if math.isnan(self.figure):
            return False, 0.0
        return self.status == "fail", self.figure / self.limit if self.limit > 0 else self.figure


@dataclass(frozen=True)
class Bounded(Judged):
    """A figure against bounds of its own, both included; None for none. ``limit`` is the bound that it is nearest
    to, or the one that it breaks."""

    at_least: float | None = None
    at_most: float | None = None

    @property
    def severity(self) -> tuple[bool, float]:
        """As that of other figures; below a least value it is how often the figure goes into that."""
        fails = self.status == "fail"
        if self.limit != self.at_least or not self.limit > 0:
            return super().severity
        return fails, self.limit / self.figure if self.figure > 0 else math.inf


def decided(figure: float, limit: float, low: float | None = None, high: float | None = None) -> Status:
    """The status of a figure against a limit: at the limit it passes. With an interval: pass where all of it is at
    or below the limit, fail where all is above, else undecided (the guard band of JCGM 106:2012, 8.3)."""
    if low is None or high is None:
        low = high = figure
    return "pass" if high <= limit else "fail" if low > limit else "undecided"


def worst(statuses: Iterable[Status]) -> Status:
    """The status of the whole: the worst of all that was judged; 'not judged' where nothing was."""
    seen = set(statuses)
    return next((status for status in WORST_FIRST if status in seen), "not judged")
