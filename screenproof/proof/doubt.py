"""Verdicts in doubt: pass, fail or undecided by the guard band of JCGM 106:2012; intervals that hold the truth.

A figure passes when a truth at the limit would give so small a figure with a chance of at most the risk, and fails
when it would give so large a one with at most that chance; between is the guard band. With a normal figure that is
the acceptance limit T - z u of JCGM 106:2012, 8.3.2, with z = 1.645 at a risk of 5 %. A figure above its limit
never passes, one that is not never fails.

Three calculations, the first where it is right:

linear
    The figure is normal, its standard uncertainty s = sqrt(g C g), with g the slope of the metric. Taken where the
    difference and the limit are above 5 u, u that of the most doubtful direction, and errors across the difference
    lengthen it by less than a fiftieth of s: (sum of all u^2 - s^2) / (2 D s) < 0.02.
quadratic
    Nearer to zero: the length of a vector with normal errors, :mod:`screenproof.proof.near_zero`, by the local
    quadratic form of the metric, bent so that its value and the direction of its slope at the figure are the
    metric's own (the update of Broyden, Fletcher, Goldfarb and Shanno); the length to the power by which the
    metric grows there is the difference. All intervals there are made of it.
Monte Carlo
    And where the quadratic chance is within a factor of 2 of the risk, so that the verdict hangs on it, the chance
    is counted on draws in the metric itself about the truths at the limit. The draws are a scrambled Halton
    sequence, whose error is several times smaller than that of as many independent draws.

Outside the linear calculation nine tenths of the risk are spent: the truth's direction is only likely. Every
calculation is held against the others in the tests. Where nothing is known of the readings the verdict is that of
:func:`screenproof.proof.tolerance.judge`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import CamConditions
from screenproof.errors import InputError, Problem
from screenproof.proof.covariance import Spread
from screenproof.proof.judged import Remedy, Status
from screenproof.proof.lab_lengths import LabMetric, Local, Moved, local_rows
from screenproof.proof.near_zero import length_quantile, upper_tail
from screenproof.proof.remedy import Extra, remedies
from screenproof.proof.tolerance import Judged, ToleranceSet, What, judge
from screenproof.spectra import Array

KEPT = 0.9
"""The share of the risk that is spent where the direction of the truth is not known: the rest covers that what is
taken for it is only likely."""

HIGHEST_COVERAGE = 0.9999
"""No interval is stated beyond: the errors are normal only so far out."""

_WINDOW = 2.0

_CHUNK = 400_000
_AHEAD = 4000
"""Futures that are tried for each number of more readings, over all that is undecided."""


@dataclass(frozen=True)
class Decision:
    """How figures in doubt are decided.

    risk: of a wrong pass, and of a wrong fail, for a truth at the limit. coverage: of the stated intervals and of
    the expanded uncertainty. draws, seed: of the Monte Carlo calculation; the same seed gives the same verdicts.

    Raises InputError for a value out of range.
    """

    risk: float = 0.05
    coverage: float = 0.95
    draws: int = 2000
    seed: int = 1

    def __post_init__(self) -> None:
        problems = [
            Problem(f"{field} = {value!r}", field=field, expected=expected)
            for field, value, good, expected in (
                ("risk", self.risk, 0.0 < self.risk <= 0.25, "above 0, up to 0.25; 0.05 is usual"),
                ("coverage", self.coverage, 0.5 <= self.coverage <= HIGHEST_COVERAGE, "0.5 to 0.9999"),
                ("draws", self.draws, 200 <= self.draws <= 1_000_000, "200 to 1000000"),
                ("seed", self.seed, self.seed >= 0, "a whole number, 0 or more"),
            )
            if not good
        ]
        if problems:
            raise InputError(problems)


@dataclass(frozen=True, eq=False)
class Doubtful:
    """Figures (n,) with their doubt.

    uncertainty: (n,) expanded, coverage factor times the standard uncertainty (near zero, where the direction of
    the difference is not known, that of the mean over directions). low, high: (n,) ends of the interval. far: (n,)
    whether the linear calculation holds.
    """

    figures: Array
    uncertainty: Array
    low: Array
    high: Array
    far: np.ndarray


def doubtful(
    tolerance: ToleranceSet,
    lab_reference: Array,
    lab: Array,
    white: Array,
    conditions: CamConditions,
    spread: Spread,
    decision: Decision,
) -> Doubtful:
    """The figures of Lab (n, 3) against Lab (n, 3) relative to ``white`` (3,), with their doubt.

    The interval holds the truth with the stated coverage at every true difference, zero included.
    """
    metric = LabMetric(tolerance, white, conditions)
    return with_doubt(local_rows(metric, lab_reference, lab, spread.covariance()), decision)


def with_doubt(local: Local, decision: Decision) -> Doubtful:
    """The figures of ``local`` with their expanded uncertainty and interval."""
    from scipy.special import ndtri

    k = float(ndtri(0.5 + 0.5 * decision.coverage))
    wide = np.where(local.known, k * local.along, 0.0)
    low, high = np.maximum(local.figures - wide, 0.0), local.figures + wide
    far = local.far(local.figures)
    near = np.flatnonzero(~far & local.known)
    if near.size:
        raised = local.raised
        ends = (
            (local, local.lengths(near).interval(decision.coverage)[0]),
            (
                raised,
                raised.lengths(near).interval(decision.coverage)[1],
            ),
        )
        for end, (own, found) in zip((low, high), ends, strict=True):
            length = own.figures.copy()
            length[near] = found
            end[near] = own.difference_of(length)[near]
    # A reading shorter than errors alone make it speaks for a truth below it: the interval still holds the figure.
    low, high = np.minimum(low, local.figures), np.maximum(high, local.figures)
    return Doubtful(local.figures, wide, low, high, far)


def followed(local: Local, decision: Decision) -> Doubtful:
    """The figures of matches that were made from the readings themselves, with their doubt.

    Such a figure is small because the match follows the reading, and says nothing of how near the truth is: the
    truth lies about it by the errors, whatever they were. The interval is that of the length of y + e. Where the
    figure is not twice what errors add up to it is from 0, all that the coverage leaves being above: where the
    steps of the codes are wider than the errors, the codes stay, and may meet the truth wholly.
    """
    found = with_doubt(local, decision)
    near = np.flatnonzero(~found.far & local.known)
    if not near.size:
        return found
    close = near[(local.y[near] ** 2).sum(axis=1) < 4.0 * (local.u[near] ** 2).sum(axis=1)]
    tail = 0.5 * (1.0 - decision.coverage)
    low, high = found.low.copy(), found.high.copy()
    for end, rows, share in ((low, near, tail), (high, near, 1.0 - tail), (high, close, decision.coverage)):
        length = local.figures.copy()
        length[rows] = length_quantile(local.y[rows], local.u[rows], share)
        end[rows] = local.difference_of(length)[rows]
    low[close] = 0.0
    return replace(found, low=np.minimum(low, local.figures), high=np.maximum(high, local.figures))


def chances_beyond(local: Local, limit: float) -> Array:
    """(n,) chance that the truth of a match made from its reading lies beyond the limit: see :func:`followed`."""
    from scipy.special import ndtr

    chance = np.asarray(ndtr((local.figures - limit) / local.along))
    near = np.flatnonzero(~local.far(np.full(len(chance), limit)))
    if near.size:
        chance[near] = upper_tail(local.length_of(limit)[near] ** 2, local.y[near], local.u[near] ** 2)
    return chance


def judge_doubted(
    tolerance: ToleranceSet,
    what: What,
    lab_reference: Array,
    lab: Array,
    white: Array,
    conditions: CamConditions,
    spread: Spread | None,
    decision: Decision,
    *,
    light: str | None = None,
    observer: str | None = None,
    names: Sequence[str] | Mapping[str, Sequence[str]] = (),
    moved: Moved = "lab",
    follows: bool = False,
    cures: bool = True,
) -> list[Judged | None]:
    """The verdicts of n figures: Lab (n, 3) against reference Lab (n, 3), both relative to ``white`` (3,).

    spread: the doubt of the Lab differences, None when nothing is known: then exactly as
    :func:`~screenproof.proof.tolerance.judge`. names: of the samples, or of what was read by the spread's parts
    ({'sample': (n,), 'screen': (n,)}), for the words of the remedy. moved: the side on which most of the doubt is.
    follows: whether one side was made from the reading of the other, as a match is: :func:`followed`.
    cures: whether to look for the remedy of what is undecided. None for each where there is no limit.
    """
    limit = tolerance.limit(what)
    if limit is None:
        return [None] * len(lab)
    metric = LabMetric(tolerance, white, conditions, moved)
    if spread is None:
        amounts = metric(lab_reference, lab)
        return [judge(tolerance, what, float(amount), light=light, observer=observer) for amount in amounts]
    local = local_rows(metric, lab_reference, lab, spread.covariance())
    found = followed(local, decision) if follows else with_doubt(local, decision)
    decide = _Decide(metric, limit, decision, follows)
    statuses = decide(lab_reference, local)
    open_ = np.array([i for i, status in enumerate(statuses) if status == "undecided"], dtype=np.intp)
    found_cures: dict[int, Remedy] = {}
    if cures and open_.size:
        some = {key: [own[i] for i in open_] for key, own in names.items()} if isinstance(names, Mapping) else [
            names[i] for i in open_ if i < len(names)
        ]  # fmt: skip
        turned = _along_first(local.forth[open_], local.y[open_])
        ahead = decide.ahead(lab_reference[open_], lab[open_], spread.select(open_))
        advice = remedies(spread.select(open_), turned, local.figures[open_], limit, some, ahead)
        found_cures = dict(zip(open_.tolist(), advice, strict=True))
    return [
        Judged(
            what=what,
            figure=float(found.figures[i]),
            limit=limit,
            metric=tolerance.metric,
            status=status,
            light=light,
            observer=observer,
            uncertainty=float(found.uncertainty[i]),
            tolerance=tolerance.name,
            low=float(found.low[i]),
            high=float(found.high[i]),
            remedy=found_cures.get(i),
        )
        for i, status in enumerate(statuses)
    ]


@dataclass(frozen=True, eq=False)
class _Decide:
    """How the statuses of one judgement are found, now and after more readings."""

    metric: LabMetric
    limit: float
    decision: Decision
    follows: bool

    def __call__(self, reference: Array, local: Local, *, counted: bool = True) -> list[Status]:
        if not self.follows:
            return statuses_of(self.metric, reference, local, self.limit, self.decision, counted=counted)
        beyond, below, risk = chances_beyond(local, self.limit), local.figures <= self.limit, self.decision.risk
        risks = np.where(local.far(np.full(len(below), self.limit)), risk, KEPT * risk)
        decided = (np.where(below, beyond, 1.0 - beyond) <= risks) | ~local.known
        return _named(decided, below)

    def ahead(self, reference: Array, lab: Array, spread: Spread) -> Callable[[NDArray[np.intp], Extra], Array]:
        """A function of rows and more readings {part: (rows,)} to the share of futures in which they are decided.

        The mean of m readings moves, after e more, by a normal amount of variance s^2/m e/(m + e). A match is made
        anew from them: it keeps its figure.
        """
        count = 1 if self.follows else int(np.clip(_AHEAD / max(len(lab), 1), 32, 96))
        draws = _normal_draws(count, self.decision.seed)

        def share(rows: NDArray[np.intp], extra: Extra) -> Array:
            some = spread.select(rows)
            after = some.covariance(extra)
            lost = np.sum([p.random - p.with_extra(extra.get(p.name, 0)) for p in some.parts], axis=0)
            values, vectors = np.linalg.eigh(lost)
            move = np.einsum("nij,kj->nki", vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :], draws)
            base = np.repeat(reference[rows], count, axis=0)
            then = np.repeat(lab[rows], count, axis=0)
            if not self.follows:
                then = then + move.reshape(-1, 3)
            local = local_rows(self.metric, base, then, np.repeat(after, count, axis=0))
            sure = [one != "undecided" for one in self(base, local, counted=False)]
            return np.asarray(np.reshape(sure, (len(rows), count)).mean(axis=1))

        return share


def statuses_of(
    metric: LabMetric, reference: Array, local: Local, limit: float, decision: Decision, *, counted: bool = True
) -> list[Status]:
    """The status of each figure: pass, fail or undecided; ``counted``: by Monte Carlo where that may change it."""
    figures, below = local.figures, local.figures <= limit
    far = local.far(np.full(len(figures), limit))
    chance, risk = chances_at_limit(local, limit), np.where(far, decision.risk, KEPT * decision.risk)
    rows = np.flatnonzero(local.known & ~far & (chance > risk / _WINDOW) & (chance < risk * _WINDOW))
    if counted and rows.size:
        chance[rows] = counted_at_limit(metric, reference, local, limit, decision, rows)
    return _named((chance <= risk) | ~local.known, below)


def _named(decided: NDArray[np.bool_], below: NDArray[np.bool_]) -> list[Status]:
    return [
        "undecided" if not sure else "pass" if good else "fail" for sure, good in zip(decided, below, strict=True)
    ]


def chances_at_limit(local: Local, limit: float) -> Array:
    """(n,) chance that a truth at the limit gives a figure as far from it as this one, on the same side of it."""
    from scipy.special import ndtr

    below = local.figures <= limit
    chance = np.asarray(ndtr(-np.abs(local.figures - limit) / local.along))
    near = np.flatnonzero(~local.far(np.full(len(below), limit)))
    if near.size:
        raised = local.raised
        lengths = raised.lengths(near)
        longer = [lengths.chance_longer(truth) for truth in lengths.truths_at(raised.length_of(limit)[near])]
        chance[near] = np.max([np.where(below[near], 1.0 - p, p) for p in longer], axis=0)
    return chance


def counted_at_limit(
    metric: LabMetric, reference: Array, local: Local, limit: float, decision: Decision, rows: np.ndarray
) -> Array:
    """The chances of some rows, counted on draws in the metric itself."""
    draws, chances = _normal_draws(decision.draws, decision.seed), np.empty(rows.size)
    step = max(1, _CHUNK // decision.draws)
    for first in range(0, rows.size, step):
        part = rows[first : first + step]
        base, own = reference[part], local.raised.figures[part][:, None]
        back = np.linalg.inv(local.forth[part])
        errors = np.einsum("nij,kj->nki", back * local.u[part][:, None, :], draws)
        found = []
        for truth in local.lengths(part).truths_at(local.length_of(limit)[part]):
            move = np.einsum("nij,jn->ni", back, truth)
            # The quadratic form is not the metric: twice put right, the truth is at the limit itself.
            for _ in range(2):
                move = move * (limit / np.maximum(metric(base, base + move), 1e-12))[:, None]
            seen = metric(base[:, None], (base + move)[:, None] + errors)
            below = local.figures[part] <= limit
            found.append(np.where(below, (seen <= own).mean(axis=1), (seen >= own).mean(axis=1)))
        chances[first : first + step] = np.max(found, axis=0)
    return chances


@lru_cache(maxsize=4)
def _normal_draws(count: int, seed: int) -> Array:
    """(count, 3) standard normal draws that fill the space evenly."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    return np.asarray(ndtri(np.clip(qmc.Halton(3, scramble=True, seed=seed).random(count), 1e-12, 1.0 - 1e-12)))


def _along_first(forth: Array, y: Array) -> Array:
    """``forth`` (n, 3, 3) turned so that the first coordinate is along the difference y (n, 3)."""
    length = np.linalg.norm(y, axis=1, keepdims=True)
    along = np.where(length > 0.0, y / np.where(length > 0.0, length, 1.0), np.array([1.0, 0.0, 0.0]))
    # A Householder reflection takes the first axis to the difference; it is its own inverse.
    v = along - np.array([1.0, 0.0, 0.0])
    size = (v**2).sum(axis=1)[:, None, None]
    turn = np.eye(3) - 2.0 * v[:, :, None] * v[:, None, :] / np.where(size > 1e-20, size, 1.0)
    return np.asarray(np.where(size > 1e-20, turn, np.eye(3)) @ forth)
