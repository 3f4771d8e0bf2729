"""The doubt of a set of figures as a whole: intervals for their mean, their 95th percentile and the largest.

The mean, by Monte Carlo: what one instrument brings moves all figures of a set together, readings scatter them
one by one, and errors across a difference lengthen it. The truths of a trial keep the directions of the readings.
Their lengths are drawn together about the mean until their variance is that of the figures less that of the
readings, and then scaled by one factor. For some factors the whole set is drawn anew, in the local quadratic form
of the metric. An end of the interval is the mean of the truths that give as large (as small) a mean as was read
with half of the chance that the coverage leaves.

The 95th percentile and the largest: those of the ends of the single intervals. Which sample is the worst is
itself in doubt, and a smooth calculation about the readings does not see that: tried, it held the truth 72 to 91 %
of the time instead of 95. The end above is not below that of the sample that is truly the worst, and holds the
truth with that sample's chance. For the end below no single one may be too high: each is taken with its share of
the chance that the coverage leaves (Bonferroni), so that these intervals are wider than they need be.

Errors make differences longer, so that a whole may have read larger than any truth that explains it: the interval
is then widened to hold what was read, and such a whole does not pass by its doubt.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from screenproof.appearance import CamConditions
from screenproof.proof.covariance import Spread
from screenproof.proof.doubt import HIGHEST_COVERAGE, Decision, with_doubt
from screenproof.proof.lab_lengths import LabMetric, Local, local_rows
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.whole import statistics
from screenproof.spectra import Array

_CHUNK = 400_000
_FACTORS = np.array([0.0, 0.25, 0.5, 0.7, 0.85, 1.0, 1.15, 1.35, 1.7, 2.5, 4.0])


def whole_interval(
    tolerance: ToleranceSet,
    lab_reference: Array,
    lab: Array,
    white: Array,
    conditions: CamConditions,
    spread: Spread | None,
    decision: Decision,
    *,
    follows: bool = False,
) -> dict[str, tuple[float, float]] | None:
    """The interval of each statistic ('mean', 'p95', 'worst') of n figures, Lab (n, 3) against Lab (n, 3).

    In the metric of ``tolerance``, at the coverage of ``decision`` (of the percentile and the largest: at least
    that), by its draws and seed; None when nothing is known of the readings. The fixed errors of ``spread`` are
    drawn once for all figures. follows: the figures are those of matches made from the readings themselves: the
    truths lie about them by the errors, and each statistic of n lengths y + e is drawn.
    """
    if spread is None:
        return None
    local = local_rows(LabMetric(tolerance, white, conditions), lab_reference, lab, spread.covariance())
    if follows:
        return _about(local, spread, decision)
    each = replace(decision, coverage=min(1.0 - (1.0 - decision.coverage) / len(lab), HIGHEST_COVERAGE))
    (_, *low), (_, *high) = statistics(with_doubt(local, each).low), statistics(with_doubt(local, decision).high)
    ends = [_mean(local, spread, decision), *zip(low, high, strict=True)]
    read = statistics(local.figures).tolist()
    return {
        key: (min(float(a), own), max(float(b), own))
        for key, (a, b), own in zip(("mean", "p95", "worst"), ends, read, strict=True)
    }


def _about(local: Local, spread: Spread, decision: Decision) -> dict[str, tuple[float, float]]:
    read = statistics(local.figures)
    drawn = []
    step = max(1, _CHUNK // len(local.figures))
    for first in range(0, decision.draws, step):
        errors = spread.draws(min(step, decision.draws - first), decision.seed + first)
        moved = local.y + np.einsum("nij,knj->kni", local.forth, errors)
        lengths = np.where(local.known, np.sqrt((moved**2).sum(axis=2)), local.figures)
        drawn.append(statistics(lengths))
    tail = 0.5 * (1.0 - decision.coverage)
    low, high = np.quantile(np.concatenate(drawn), [tail, 1.0 - tail], axis=0)
    ends = zip(np.minimum(low, read).tolist(), np.maximum(high, read).tolist(), strict=True)
    return dict(zip(("mean", "p95", "worst"), ends, strict=True))


def _mean(local: Local, spread: Spread, decision: Decision) -> tuple[float, float]:
    own = float(local.figures.mean())
    if not local.known.any():
        return own, own
    truth = _truths(local, spread)
    length = np.sqrt((truth**2).sum(axis=1))
    drawn = np.empty((len(_FACTORS), decision.draws))
    step = max(1, _CHUNK // len(truth))
    for first in range(0, decision.draws, step):
        count = min(step, decision.draws - first)
        errors = np.einsum("nij,knj->kni", local.forth, spread.draws(count, decision.seed + first))
        square, along = (errors**2).sum(axis=2), (errors * truth).sum(axis=2)
        for i, factor in enumerate(_FACTORS):
            whole = (factor * length) ** 2 + 2.0 * factor * along + square
            drawn[i, first : first + count] = np.sqrt(np.maximum(whole, 0.0)).mean(axis=1)
    tail = 0.5 * (1.0 - decision.coverage)
    # What is drawn rises with the factor; where the draws make it waver, the running maximum does not.
    below, above = np.maximum.accumulate(np.quantile(drawn, [tail, 1.0 - tail], axis=1), axis=1)
    means = _FACTORS * float(length.mean())
    return (float(np.interp(own, above, means)) if own > above[0] else 0.0), float(np.interp(own, below, means))


def _truths(local: Local, spread: Spread) -> Array:
    """(n, 3) differences along the readings, as scattered in length as the truths are."""
    turned = local.forth @ np.sum([part.random + part.own for part in spread.parts], axis=0)
    scatter = np.einsum("nij,nkj->nik", turned, local.forth)
    square = np.maximum((local.y**2).sum(axis=1), 1e-30)
    noise = float(np.mean(np.einsum("ni,nij,nj->n", local.y, scatter, local.y) / square))
    middle, variance = float(local.figures.mean()), float(local.figures.var())
    kept = np.sqrt(max(variance - noise, 0.0) / variance) if variance > 0.0 else 1.0
    wanted = middle + kept * (local.figures - middle)
    return np.asarray(local.y * (wanted / np.maximum(local.figures, 1e-12))[:, None])
