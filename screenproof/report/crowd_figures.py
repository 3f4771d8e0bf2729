"""What many people see, drawn as a bar on a common scale: a place for every mark, in percent of its breadth.

The bars are shapes of the page itself and no drawings, so that their words stay legible on a small screen and a
job of hundreds of samples costs nothing to draw.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.report.words import far, fixed

if TYPE_CHECKING:
    from screenproof.proof.result import AgeRecord, CrowdRecord

MOST_TICKS = 6
_QUANTILE_STEP = 5  # percent between the quantiles of a record


@dataclass(frozen=True)
class Scale:
    """Differences from 0 to ``top``; ``ticks`` are marks as (place [percent], words), ``step`` [percent] apart."""

    top: float
    step: float
    ticks: tuple[tuple[float, str], ...]

    def at(self, value: float) -> float:
        """The place of ``value`` [percent of the breadth]; what lies beyond the top stands at its end."""
        return round(100.0 * min(max(value, 0.0), self.top) / self.top, 2)


@dataclass(frozen=True)
class Bar:
    """A bar on a scale, all places in percent of its breadth.

    low, high: its ends. over: where the part above the limit begins, None when nothing of it does. middle: the
    median. eye: the viewing observer's own figure, None where it does not belong. limit: the limit. cut: it
    goes on beyond the scale. said: all of it in words, for who cannot see it.
    """

    low: float
    high: float
    over: float | None
    middle: float
    eye: float | None
    limit: float | None
    said: str
    cut: bool = False


def scale_for(values: Iterable[float], most: int = MOST_TICKS) -> Scale:
    """A scale from 0 that holds all of ``values``, with about ``most`` round ticks (1, 2 or 5 times 10**n)."""
    largest = max((value for value in values if math.isfinite(value)), default=0.0)
    largest = max(largest, 0.5)  # below it, differences of nothing would fill the breadth
    power = 10.0 ** math.floor(math.log10(largest / most))
    step = next((factor * power for factor in (1.0, 2.0, 5.0) if largest / (factor * power) <= most), 10.0 * power)
    top = 1.03 * largest
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    marks = [index * step for index in range(int(top / step + 1e-9) + 1)]
    return Scale(
        top,
        round(100.0 * step / top, 3),
        tuple((round(100.0 * mark / top, 2), fixed(mark, digits)) for mark in marks),
    )


def ends(crowd: CrowdRecord) -> tuple[float, float]:
    """Between what figures 9 in 10 of the people lie: the 5th and the 95th percentile."""
    steps = crowd.quantiles
    low = steps[1] if len(steps) == 100 // _QUANTILE_STEP + 1 else min(crowd.median, crowd.p95)
    return min(low, crowd.median), crowd.p95


def crowd_bar(crowd: CrowdRecord, scale: Scale, eye: str) -> Bar:
    """The bar of a crowd: from the 5th to the 95th percentile; ``eye`` names the viewing observer."""
    low, high = ends(crowd)
    said = f"9 in 10 people see {far(low)} to {far(high)}, half less than {far(crowd.median)}"
    said += f"; for {eye} {far(crowd.standard)}"
    return _bar(low, high, crowd.median, crowd.limit, scale, said, crowd.standard)


def age_bar(age: AgeRecord, limit: float | None, scale: Scale) -> Bar:
    """The bar of a decade of ages: from its median to its 95th percentile."""
    said = f"half of them see less than {far(age.median)}, 19 in 20 less than {far(age.p95)}"
    return _bar(age.median, age.p95, age.median, limit, scale, said, None)


def _bar(
    low: float, high: float, middle: float, limit: float | None, scale: Scale, said: str, eye: float | None
) -> Bar:
    if limit is not None:
        said += f"; limit {limit:g}"
    return Bar(
        scale.at(low),
        scale.at(high),
        scale.at(max(low, limit)) if limit is not None and high > limit else None,
        scale.at(middle),
        None if eye is None else scale.at(eye),
        None if limit is None or limit > scale.top else scale.at(limit),
        said,
        high > scale.top,
    )
