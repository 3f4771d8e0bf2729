"""A set of figures judged as a whole: their mean, their 95th percentile, the largest.

A print or a proof is accepted by its control strip, not patch by patch: one patch above may be forgiven when the
rest is near, and a hundred that all drift may not. The figures are those of single judgements, in the metric of
the tolerance set: the matches of a group of samples on one display, or the pairs of one entry under the first
light.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.proof.doubt_records import WholeFigure, WholeRecord
from screenproof.proof.judged import Status, decided, worst
from screenproof.proof.tolerance import WHOLE_LIMITS, ToleranceSet
from screenproof.spectra import Array


def statistics(figures: ArrayLike) -> Array:
    """Mean, 95th percentile and largest (..., 3), in the order of ``WHOLE_LIMITS``, of figures (..., n).

    The percentile is linear between the figures in order, the k-th of n standing at (k - 1) / (n - 1): of fewer
    than 20 figures it says little more than the largest.
    """
    values = np.asarray(figures, dtype=np.float64)
    return np.stack([values.mean(axis=-1), np.percentile(values, 95.0, axis=-1), values.max(axis=-1)], axis=-1)


def judge_whole(
    tolerance: ToleranceSet,
    figures: ArrayLike,
    names: Sequence[str],
    name: str,
    what: Literal["match", "pairs"],
    display: str | None = None,
    *,
    intervals: Mapping[str, tuple[float, float]] | None = None,
) -> WholeRecord | None:
    """Figures (n,) of the things called ``names``, in the metric of ``tolerance``, as one; ``name`` is the set's.

    All three statistics are told, each judged where the set has a limit for it: at the limit it passes.
    ``intervals``: by statistic ('mean', 'p95', 'worst') the coverage interval of the figure, where doubt is known.
    A statistic then passes when its whole interval is at or below the limit, fails when it is above, and is
    undecided between (the guard band of JCGM 106:2012, 8.3): with 95 % coverage, 2.5 % on each side, the risk of a
    wrong pass is 2.5 %.

    None when the set has no limit for a whole, or there is nothing to judge. Raises InputError when names and
    figures are not equally many, ValueError for a figure that is not finite.
    """
    values = np.asarray(figures, dtype=np.float64)
    if values.ndim != 1 or len(names) != values.size:
        raise bad(f"{values.size} figures for {len(names)} names", field=name, expected="one figure for each name")
    if not tolerance.judges_wholes or not values.size:
        return None
    if not np.isfinite(values).all():
        raise ValueError(f"a figure of {name} is not finite and cannot be judged")
    told = []
    for statistic, figure in zip(WHOLE_LIMITS, statistics(values).tolist(), strict=True):
        low, high = (None, None) if intervals is None else intervals.get(statistic, (None, None))
        limit = getattr(tolerance, statistic)
        status: Status = "not judged" if limit is None else decided(figure, limit, low, high)
        told.append(WholeFigure(statistic, figure, limit, status, low, high))
    return WholeRecord(
        name=name,
        what=what,
        display=display,
        count=int(values.size),
        metric=tolerance.metric,
        figures=tuple(told),
        worst_name=names[int(np.argmax(values))],
        status=worst(figure.status for figure in told),
        tolerance=tolerance.name,
    )
