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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from screenproof.appearance import CamConditions
from screenproof.errors import InputError, Problem
from screenproof.proof.covariance import Spread
from screenproof.proof.difference import figure
from screenproof.proof.doubt_records import Status
from screenproof.proof.near_zero import Lengths, floored
from screenproof.proof.remedy import remedies
from screenproof.proof.tolerance import ToleranceSet, Verdict, What, judge
from screenproof.spectra import Array

FAR = 0.02
"""A difference is far from zero where errors across it lengthen it by less than this share of its standard
uncertainty: a chance of 5 % is then right to 0.2 %."""

CLEAR = 5.0
"""And where it is longer than this many standard deviations of the most doubtful direction."""

KEPT = 0.9
"""The share of the risk that is spent where the direction of the truth is not known: the rest covers that what is
taken for it is only likely."""

HIGHEST_COVERAGE = 0.9999
"""No interval is stated beyond: the errors are normal only so far out."""

_WINDOW = 2.0
_CERTAIN = 1e-6
"""A standard uncertainty below this, in units of the metric, is none."""

_CHUNK = 400_000


Moved = Literal["lab", "reference"]


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


@dataclass(frozen=True, eq=False)
class Local:
    """Differences (n, 3) in coordinates in which the metric is the length, along the axes of the doubt.

    y: (n, 3) with standard deviations u (n, 3). forth: (n, 3, 3) from Lab to there. known: (n,) rows with doubt.
    bend: (n,), by which power of the length the metric grows at the figure: 1 for a metric that is a length, below
    it where differences in chroma count ever less.
    """

    figures: Array
    y: Array
    u: Array
    forth: Array
    known: np.ndarray
    bend: Array

    def length_of(self, difference: float) -> Array:
        """(n,) the length in these coordinates of a difference in the metric, and the same at the figure."""
        least = np.maximum(self.figures, 1e-12)
        return np.asarray(self.figures * (difference / least) ** (1.0 / self.bend))

    def difference_of(self, length: Array) -> Array:
        """(n,) the difference in the metric of lengths (n,)."""
        least = np.maximum(self.figures, 1e-12)
        return np.asarray(np.where(self.bend == 1.0, length, self.figures * (length / least) ** self.bend))

    @property
    def along(self) -> Array:
        """(n,) standard uncertainty along the difference; where that is no longer than its doubt, of all."""
        square = (self.y**2).sum(axis=1)
        variances = self.u**2
        along = (variances * self.y**2).sum(axis=1) / np.maximum(square, 1e-30)
        near = square < variances.sum(axis=1)
        return np.asarray(self.bend * np.sqrt(np.where(near, variances.mean(axis=1), along)))

    def far(self, length: Array) -> np.ndarray:
        """(n,) whether the linear calculation holds at this length (n,)."""
        s, least = self.along, np.minimum(length, self.figures)
        across = np.maximum((self.u**2).sum(axis=1) - s**2, 0.0)
        return np.asarray((across < FAR * 2.0 * least * s) & (least > CLEAR * self.u.max(axis=1)))

    def lengths(self, rows: np.ndarray) -> Lengths:
        """The readings of some rows."""
        return Lengths(self.y[rows], self.u[rows])


class LabMetric:
    """A tolerance's colour difference under one white, for rows of Lab.

    moved: which side the errors are on. Far from zero it matters: chroma counts ever less, so that a side that is
    nearer to grey moves the difference more.
    """

    def __init__(
        self, tolerance: ToleranceSet, white: Array, conditions: CamConditions, moved: Moved = "lab"
    ) -> None:
        self.tolerance, self.white, self.conditions, self.moved = tolerance, white, conditions, moved

    def __call__(self, reference: Array, lab: Array) -> Array:
        return figure(self.tolerance, reference, lab, self.white, self.conditions)

    def quadratic(self, reference: Array, lab: Array) -> tuple[Array, Array]:
        """M (n, 3, 3) with d^2 near x M x for the Lab difference x, with the value of d and the direction of its
        slope at x; and (n,) the power of the length by which d grows there."""
        form = self._form(reference, lab)
        x, d = lab - reference, self(reference, lab)
        length = np.linalg.norm(x, axis=1)
        step = np.clip(0.01 * length, 1e-6, 0.05)[:, None]
        rise = [self._at(reference, lab, step * e) - self._at(reference, lab, -step * e) for e in np.eye(3)]
        slope = np.stack(rise, axis=1) / (2.0 * step)
        along = (slope * x).sum(axis=1)
        good = (length > 1e-3) & (along > 0.1 * d)
        safe = np.where(good, along, 1.0)
        v = slope * (d**2 / safe)[:, None]
        mx = np.einsum("nij,nj->ni", form, x)
        xmx = np.where(good, (mx * x).sum(axis=1), 1.0)
        bent = form - mx[:, :, None] * mx[:, None, :] / xmx[:, None, None]
        bent += v[:, :, None] * v[:, None, :] / np.where(good, d**2, 1.0)[:, None, None]
        power = np.where(good, np.clip(along / np.maximum(d, 1e-12), 0.25, 4.0), 1.0)
        return np.asarray(np.where(good[:, None, None], bent, form)), power

    def _at(self, reference: Array, lab: Array, longer: Array) -> Array:
        """The metric where the difference is longer by ``longer`` (n, 3) on the side of the errors."""
        return self(reference, lab + longer) if self.moved == "lab" else self(reference - longer, lab)

    def _form(self, reference: Array, lab: Array) -> Array:
        """The form without the bend: CMC is about its reference, the others about the middle of both."""
        of_reference = self.tolerance.metric == "cmc"
        centre, step = (reference if of_reference else 0.5 * (reference + lab)), 0.05
        basis = np.eye(3) * step

        def square(move: Array) -> Array:
            if of_reference:
                return np.asarray(0.5 * (self(centre, centre + move) ** 2 + self(centre, centre - move) ** 2))
            return np.asarray(self(centre - 0.5 * move, centre + 0.5 * move) ** 2)

        single = [square(axis) for axis in basis]
        form = np.empty((len(lab), 3, 3))
        for i in range(3):
            form[:, i, i] = single[i]
            for j in range(i):
                form[:, i, j] = (square(basis[i] + basis[j]) - single[i] - single[j]) / 2.0
                form[:, j, i] = form[:, i, j]
        values, vectors = np.linalg.eigh(form / step**2)
        kept = np.maximum(values, 1e-4 * values[:, -1:])
        return np.asarray(np.einsum("nik,nk,njk->nij", vectors, kept, vectors))


def local_rows(metric: LabMetric, reference: Array, lab: Array, covariance: Array) -> Local:
    form, bend = metric.quadratic(reference, lab)
    root = np.linalg.cholesky(form)
    turned = np.swapaxes(root, 1, 2) @ covariance @ root
    variances, axes = np.linalg.eigh(0.5 * (turned + np.swapaxes(turned, 1, 2)))
    known = variances[:, -1] > _CERTAIN**2
    forth = np.swapaxes(root @ axes, 1, 2)
    y = np.einsum("nij,nj->ni", forth, lab - reference)
    # Rows without doubt get some, so that nothing divides by zero; they are put right by who asks.
    u = np.sqrt(np.where(known[:, None], np.maximum(variances, 0.0), 1.0))
    return Local(metric(reference, lab), y, floored(u), forth, known, bend)


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
        ends = local.lengths(near).interval(decision.coverage)
        for end, found in zip((low, high), ends, strict=True):
            length = local.figures.copy()
            length[near] = found
            end[near] = local.difference_of(length)[near]
    # A reading shorter than errors alone make it speaks for a truth below it: the interval still holds the figure.
    low, high = np.minimum(low, local.figures), np.maximum(high, local.figures)
    return Doubtful(local.figures, wide, low, high, far)


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
) -> list[Verdict | None]:
    """The verdicts of n figures: Lab (n, 3) against reference Lab (n, 3), both relative to ``white`` (3,).

    spread: the doubt of the Lab differences, None when nothing is known: then exactly as
    :func:`~screenproof.proof.tolerance.judge`. names: of the samples, or of what was read by the spread's parts
    ({'sample': (n,), 'screen': (n,)}), for the words of the remedy. moved: the side on which most of the doubt is.
    None for each where there is no limit.
    """
    limit = tolerance.limit(what)
    if limit is None:
        return [None] * len(lab)
    metric = LabMetric(tolerance, white, conditions, moved)
    if spread is None:
        amounts = metric(lab_reference, lab)
        return [judge(tolerance, what, float(amount), light=light, observer=observer) for amount in amounts]
    local = local_rows(metric, lab_reference, lab, spread.covariance())
    found = with_doubt(local, decision)
    statuses = statuses_of(metric, lab_reference, local, limit, decision)
    open_ = np.array([i for i, status in enumerate(statuses) if status == "undecided"], dtype=np.intp)
    cures = {}
    if open_.size:
        some = {key: [own[i] for i in open_] for key, own in names.items()} if isinstance(names, Mapping) else [
            names[i] for i in open_ if i < len(names)
        ]  # fmt: skip
        turned = _along_first(local.forth[open_], local.y[open_])
        advice = remedies(spread.select(open_), turned, local.figures[open_], limit, KEPT * decision.risk, some)
        cures = dict(zip(open_.tolist(), advice, strict=True))
    return [
        Verdict(
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
            remedy=cures.get(i),
        )
        for i, status in enumerate(statuses)
    ]


def statuses_of(
    metric: LabMetric, reference: Array, local: Local, limit: float, decision: Decision
) -> list[Status]:
    """The status of each figure: pass, fail or undecided."""
    figures, below = local.figures, local.figures <= limit
    far = local.far(np.full(len(figures), limit))
    chance, risk = chances_at_limit(local, limit), np.where(far, decision.risk, KEPT * decision.risk)
    rows = np.flatnonzero(local.known & ~far & (chance > risk / _WINDOW) & (chance < risk * _WINDOW))
    if rows.size:
        chance[rows] = counted_at_limit(metric, reference, local, limit, decision, rows)
    decided = (chance <= risk) | ~local.known
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
        lengths = local.lengths(near)
        longer = [lengths.chance_longer(truth) for truth in lengths.truths_at(local.length_of(limit)[near])]
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
        base, own = reference[part], local.figures[part][:, None]
        back = np.linalg.inv(local.forth[part])
        errors = np.einsum("nij,kj->nki", back * local.u[part][:, None, :], draws)
        found = []
        for truth in local.lengths(part).truths_at(local.length_of(limit)[part]):
            move = np.einsum("nij,jn->ni", back, truth)
            # The quadratic form is not the metric: twice put right, the truth is at the limit itself.
            for _ in range(2):
                move = move * (limit / np.maximum(metric(base, base + move), 1e-12))[:, None]
            seen = metric(base[:, None], (base + move)[:, None] + errors)
            found.append(np.where(own[:, 0] <= limit, (seen <= own).mean(axis=1), (seen >= own).mean(axis=1)))
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
