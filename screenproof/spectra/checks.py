"""One line of a check: what was looked at, its figure, the limit and where that comes from, and the verdict.

The verdict keeps a guard band (JCGM 106:2012, 8.3): with a standard uncertainty u and a chosen risk it is *pass*
when the figure lies so far inside the limit that a true value at the limit would seldom give it, *fail* when it
lies so far outside, else *undecided*. Without a known uncertainty the figure is compared as it is.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from statistics import NormalDist
from typing import Any, Literal

CheckStatus = Literal["pass", "fail", "undecided", "not checked", "told"]

FOUND, MEMORY, PRACTICE, STATED, COMPUTED = (
    "found", "from memory", "common practice, no source", "as asked for", "computed"
)  # fmt: skip
"""How a limit was obtained: read in a public document, recalled, the habit of the trade, or the user's own."""

RISK = 0.05
"""Chance of a wrong pass, and of a wrong fail, unless another is asked for."""

_GOOD_CHANCE = 0.84  # the normal quantile of 0.8: an advised number of readings decides four times in five
_MOST_READINGS = 100


@dataclass(frozen=True)
class Limit:
    """What a figure may be: from ``low`` to ``high``, both included; None for no bound.

    better_low, better_high: what the source recommends beyond what it asks for. source: document and clause.
    obtained: one of :data:`FOUND`, :data:`MEMORY`, :data:`PRACTICE`, :data:`STATED`, :data:`COMPUTED`.
    """

    low: float | None = None
    high: float | None = None
    better_low: float | None = None
    better_high: float | None = None
    source: str = ""
    obtained: str = PRACTICE

    def holds(self, figure: float) -> bool:
        """Whether a figure is within the limit."""
        return _within(figure, self.low, self.high)

    def recommended(self, figure: float) -> bool:
        """Whether a figure is within what is recommended; True where nothing is."""
        return _within(figure, self.better_low, self.better_high)


@dataclass(frozen=True)
class CheckRow:
    """One line of a check.

    key, group: short names for scripts. what: in words. figure: in ``unit``; None where nothing could be
    looked at. limit: None where none is at hand; such a row is 'told'. random, fixed: the parts of the figure's
    standard uncertainty that gets smaller with more readings and that does not; None when not known.
    words: where it is worst, why it was not checked, what it means. mend: what to do next. remark: whether the
    words of a row that passes are worth saying.
    """

    key: str
    group: str
    what: str
    unit: str
    figure: float | None
    limit: Limit | None
    status: CheckStatus
    random: float | None = None
    fixed: float | None = None
    words: str = ""
    mend: str = ""
    remark: bool = False

    @property
    def uncertainty(self) -> float | None:
        """Standard uncertainty of the figure, both parts together."""
        if self.random is None and self.fixed is None:
            return None
        return math.hypot(self.random or 0.0, self.fixed or 0.0)

    def as_dict(self) -> dict[str, Any]:
        """The row as plain data for JSON."""
        return {**asdict(self), "uncertainty": self.uncertainty}


def _within(figure: float, low: float | None, high: float | None) -> bool:
    # A hair of rounding is no failure: 10 % of 160 is not exactly 16.
    slack = 1e-9 * max(abs(figure), 1e-3)
    return (low is None or figure >= low - slack) and (high is None or figure <= high + slack)


def judge_figure(
    figure: float, limit: Limit, uncertainty: float | None, *, risk: float = RISK, among: int = 1
) -> CheckStatus:
    """'pass', 'fail' or 'undecided' for a figure with a standard uncertainty.

    risk: chance of a wrong pass where the truth is at the limit, and of a wrong fail. among: the figure is the
    largest of so many readings; noise makes the largest larger, so a fail asks for risk / among (Bonferroni).
    """
    if not uncertainty:
        return "pass" if limit.holds(figure) else "fail"
    passes = NormalDist().inv_cdf(1.0 - risk) * uncertainty
    fails = NormalDist().inv_cdf(1.0 - risk / among) * uncertainty
    if _within(figure + passes, None, limit.high) and _within(figure - passes, limit.low, None):
        return "pass"
    above = limit.high is not None and not _within(figure - fails, None, limit.high)
    below = limit.low is not None and not _within(figure + fails, limit.low, None)
    return "fail" if above or below else "undecided"


def readings_to_decide(
    figure: float, limit: Limit, random: float, fixed: float, *, risk: float = RISK, among: int = 1
) -> int | None:
    """How many times as many readings would decide a figure four times in five; None when up to 100 would not.

    Random error falls with the root of the number of readings, fixed error does not. The figure is taken to stay.
    """
    bounds = [bound for bound in (limit.low, limit.high) if bound is not None]
    if not bounds:
        return None
    distance = min(abs(figure - bound) for bound in bounds)
    share = risk if limit.holds(figure) else risk / among
    quantile = NormalDist().inv_cdf(1.0 - share)
    for times in range(2, _MOST_READINGS + 1):
        moved = random / math.sqrt(times)
        if distance >= quantile * math.hypot(moved, fixed) + _GOOD_CHANCE * moved:
            return times
    return None


def checked(
    key: str,
    group: str,
    what: str,
    unit: str,
    figure: float,
    limit: Limit | None,
    *,
    random: float | None = None,
    fixed: float | None = None,
    risk: float = RISK,
    among: int = 1,
    words: str = "",
    mend: str = "",
    incomplete: str = "",
) -> CheckRow:
    """A row with its verdict, and with what would decide it when it is undecided.

    incomplete: what is missing for a pass ('' for nothing): a fail then stays a fail, a pass becomes undecided.
    """
    if limit is None:
        told = "; ".join(part for part in (words, incomplete) if part)
        return CheckRow(key, group, what, unit, figure, None, "told", random, fixed, told, "")
    row = CheckRow(key, group, what, unit, figure, limit, "pass", random, fixed)
    status = judge_figure(figure, limit, row.uncertainty, risk=risk, among=among)
    said = [words] if words else []
    advice = mend if status == "fail" else ""
    remark = status == "pass" and not limit.recommended(figure)
    if remark:
        bounds = [f"{b:g}" for b in (limit.better_low, limit.better_high) if b is not None]
        said.append(f"allowed, but the source recommends {' to '.join(bounds)}")
    if status == "undecided":
        times = readings_to_decide(figure, limit, random or 0.0, fixed or 0.0, risk=risk, among=among)
        distance = min(abs(figure - b) for b in (limit.low, limit.high) if b is not None)
        advice = _advice(times, distance <= NormalDist().inv_cdf(1.0 - risk) * (fixed or 0.0))
    if incomplete:
        said.append(incomplete)
        if status == "pass":
            status, advice = "undecided", mend
    return CheckRow(key, group, what, unit, figure, limit, status, random, fixed, "; ".join(said), advice, remark)


def _advice(times: int | None, instrument: bool) -> str:
    if times is not None:
        return f"read these colours {times} times as often"
    if instrument:
        return "no number of readings would decide: take an instrument of a better class"
    return f"it lies at the limit: {_MOST_READINGS} times as many readings would not decide; take it for a fail"


def not_checked(
    key: str, group: str, what: str, unit: str, limit: Limit | None, why: str, mend: str = ""
) -> CheckRow:
    """A row that could not be looked at, with the reason."""
    return CheckRow(key, group, what, unit, None, limit, "not checked", words=why, mend=mend)
