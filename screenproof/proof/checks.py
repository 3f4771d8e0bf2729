"""The lines of a check held against their limits, with what would decide those that are undecided.

The verdict keeps a guard band (JCGM 106:2012, 8.3): with a standard uncertainty u and a chosen risk it is *pass*
when the figure lies so far inside the limit that a true value at the limit would seldom give it, *fail* when it
lies so far outside, else *undecided*. Without a known uncertainty the figure is compared as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import NormalDist

from screenproof.proof.judged import Bounded, Status
from screenproof.proof.judging import Judge
from screenproof.spectra.checks import CheckLine, Limit

_GOOD_CHANCE = 0.84  # the normal quantile of 0.8: an advised number of readings decides four times in five
_MOST_READINGS = 100


@dataclass(frozen=True)
class CheckRow:
    """A line of a check with its verdict. See :class:`~screenproof.spectra.checks.CheckLine` for what it has.

    uncertainty: standard, both parts together. mend: what to do next. remark: whether the words of a row that
    passes are worth saying.
    """

    key: str
    group: str
    what: str
    unit: str
    figure: float | None
    limit: Limit | None
    status: Status
    random: float | None
    fixed: float | None
    uncertainty: float | None
    words: str
    mend: str
    remark: bool
    judged: Bounded


def judged_lines(lines: Iterable[CheckLine], judge: Judge) -> tuple[CheckRow, ...]:
    """Every line with its verdict, in their order."""
    return tuple(judged_line(line, judge) for line in lines)


def judged_line(line: CheckLine, judge: Judge) -> CheckRow:
    """A line with its verdict, and with what would decide it when it is undecided.

    Where something is missing for a pass, a fail stays a fail, and a pass becomes undecided.
    """
    limit = line.limit or Limit()
    parts = [part for part in (line.random, line.fixed) if part is not None]
    doubt = math.hypot(*parts) if parts else None
    judged = judge.bound(
        line.key,
        math.nan if line.figure is None else line.figure,
        line.unit,
        at_least=limit.low,
        at_most=limit.high,
        doubt=doubt,
        among=line.among,
    )
    said, mend, remark = [line.words] if line.words else [], "", line.remark
    if line.figure is None or judged.status == "fail":
        mend = line.mend
    elif judged.status == "undecided":
        mend = _advice(line, limit, judge)
    elif judged.status == "pass" and not _recommended(line.figure, limit, judge):
        remark = True
        bounds = [f"{bound:g}" for bound in (limit.better_low, limit.better_high) if bound is not None]
        said.append(f"allowed, but the source recommends {' to '.join(bounds)}")
    if line.incomplete:
        said.append(line.incomplete)
        if judged.status == "pass":
            judged, mend = replace(judged, status="undecided"), line.mend
    return CheckRow(
        line.key,
        line.group,
        line.what,
        line.unit,
        line.figure,
        line.limit,
        judged.status,
        line.random,
        line.fixed,
        doubt,
        "; ".join(said),
        mend,
        remark,
        judged,
    )


def _recommended(figure: float, limit: Limit, judge: Judge) -> bool:
    """Whether a figure is within what is recommended; True where nothing is."""
    return judge.bound("", figure, at_least=limit.better_low, at_most=limit.better_high).status != "fail"


def _distance(figure: float, limit: Limit) -> float:
    """From a figure to the nearest bound."""
    return min(abs(figure - bound) for bound in (limit.low, limit.high) if bound is not None)


def readings_to_decide(line: CheckLine, judge: Judge) -> int | None:
    """How many times as many readings would decide a line four times in five; None when up to 100 would not.

    Random error falls with the root of the number of readings, fixed error does not. The figure is taken to stay.
    """
    limit, random, fixed, risk = line.limit or Limit(), line.random or 0.0, line.fixed or 0.0, judge.decision.risk
    if line.figure is None:
        return None
    inside = judge.bound("", line.figure, at_least=limit.low, at_most=limit.high).status == "pass"
    quantile = NormalDist().inv_cdf(1.0 - (risk if inside else risk / line.among))
    for times in range(2, _MOST_READINGS + 1):
        moved = random / math.sqrt(times)
        if _distance(line.figure, limit) >= quantile * math.hypot(moved, fixed) + _GOOD_CHANCE * moved:
            return times
    return None


def _advice(line: CheckLine, limit: Limit, judge: Judge) -> str:
    """What would decide an undecided line."""
    times = readings_to_decide(line, judge)
    if times is not None:
        return f"read these colours {times} times as often"
    quantile = NormalDist().inv_cdf(1.0 - judge.decision.risk)
    if _distance(line.figure or 0.0, limit) <= quantile * (line.fixed or 0.0):
        return "no number of readings would decide: take an instrument of a better class"
    return f"it lies at the limit: {_MOST_READINGS} times as many readings would not decide; take it for a fail"
