"""The additive display that explains readings best: matrix, black and three monotone tone curves at once.

Model: XYZ = M g(d) + K. Each tone curve is a cubic B-spline u(d) on the scale of CIELAB's lightness,
g = (the CIE lightness function)^-1 (u): on that scale the curves of displays are smooth and nearly straight, and
black is as well told as white. Coefficients that never fall make a curve that never falls, so readings that do
are pooled as in isotonic regression. The least squares are on the scale of CIELAB's f(t) (CIE 15:2018, 8.2.1),
where a given percentage of error counts alike in X, Y and Z. Roughness of u is penalised; how much is told by
generalised cross-validation (Golub, Heath and Wahba 1979, Technometrics 21, 215-223).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import BSpline

from screenproof.additive.patches import LEAST_LEVELS, Mask, Patches
from screenproof.additive.sampled import SampledCurve, sampled
from screenproof.additive.transfer import ChannelCurves
from screenproof.spectra import Array

_MOST_INTERVALS = 24
# By this share of all levels of a channel some part of its range may have more, or fewer, than even ones.
_UNEVEN = 0.15
_CURVE_POINTS = 1025
_SMOOTHINGS = (1e-4, 1e-3, 1e-2, 1e-1, 1.0)
# The slope of a curve never falls below this share of its mean, so that it stays invertible.
_LEAST_RISE = 1e-6
_GAUGE = 1e3
DIM = 0.2

_BREAK = 216.0 / 24389.0
_SLOPE = 841.0 / 108.0


def lightness(ratio: Array) -> Array:
    """CIELAB's f(t) without its offset and scaled so that 0 and 1 give 0 and 1: L*/100. Odd below zero."""
    t = np.abs(ratio)
    low = 1.16 * _SLOPE * t
    result: Array = np.copysign(np.where(t > _BREAK, 1.16 * np.cbrt(t) - 0.16, low), ratio)
    return result


def lightness_slope(ratio: Array) -> Array:
    """Derivative of :func:`lightness`."""
    t = np.maximum(np.abs(ratio), _BREAK)
    result: Array = 1.16 / 3.0 * t ** (-2.0 / 3.0)
    return result


# The curves' own scale: a cube root that sets in softly. CIELAB's f(t) bends sharply where its straight part
# ends, and a spline between two steps of a ramp would follow that bend.
_SOFT = 0.01
_FOOT = _SOFT ** (1.0 / 3.0)
_SPAN = (1.0 + _SOFT) ** (1.0 / 3.0) - _FOOT


def channel_lightness(linear: Array) -> Array:
    """Linear light of a channel, 0..1, on the scale of its tone curve's spline, 0..1."""
    result: Array = (np.cbrt(linear + _SOFT) - _FOOT) / _SPAN
    return result


def _uncurved(u: Array) -> Array:
    result: Array = (u * _SPAN + _FOOT) ** 3 - _SOFT
    return result


def _uncurved_slope(u: Array) -> Array:
    result: Array = 3.0 * _SPAN * (u * _SPAN + _FOOT) ** 2
    return result


def _knots(levels: Array) -> Array:
    """Knots (k,) from 0 to 1 for readings at some levels (n,), ascending: even, unless the levels are uneven.

    Even knots leave too few splines where levels are dense, and too many where they are sparse: the curve, which
    must go through the ones, swings between the others. There the knots are the levels themselves, thinned when
    they are many.
    """
    within = levels[(levels > 0.0) & (levels < 1.0)]
    ends = np.concatenate([[0.0], within, [1.0]])
    uneven = np.ptp(np.linspace(0.0, 1.0, len(ends)) - ends)
    if len(ends) <= LEAST_LEVELS or uneven <= _UNEVEN:
        return np.linspace(0.0, 1.0, int(np.clip(len(levels) - 1, 3, _MOST_INTERVALS)) + 1)
    places = np.linspace(0.0, len(ends) - 1.0, min(len(ends), _MOST_INTERVALS + 1))
    return np.asarray(ends[np.round(places).astype(np.intp)])


class _Basis:
    """Cubic B-splines on 0..1, as many intervals as the levels (n,) of a channel can tell."""

    def __init__(self, levels: Array) -> None:
        inner = _knots(levels)
        self.knots = np.concatenate([np.zeros(3), inner, np.ones(3)])
        self.size = len(inner) + 2
        # Greville's abscissae: where each coefficient acts.
        self.places = np.array([self.knots[j + 1 : j + 4].mean() for j in range(self.size)])

    def at(self, drive: Array) -> Array:
        """Values (n, size) of the splines."""
        return np.asarray(BSpline.design_matrix(np.clip(drive, 0.0, 1.0), self.knots, 3).toarray())

    @cached_property
    def roughness(self) -> Array:
        """Rows whose squares sum to the integral of u''^2, as nearly as second differences tell it."""
        gaps = np.diff(self.places)
        rows = np.zeros((self.size - 2, self.size))
        for j in range(self.size - 2):
            a, b = gaps[j], gaps[j + 1]
            scale = np.sqrt((a + b) / 2.0) * 2.0 / (a + b)
            rows[j, j : j + 3] = scale * np.array([1.0 / a, -1.0 / a - 1.0 / b, 1.0 / b])
        return rows


@dataclass(frozen=True, eq=False)
class AdditiveFit:
    """A fitted additive display: matrix (3, 3) and black (3,) in cd/m2, curves, the smoothing that was used."""

    matrix: Array
    black: Array
    curves: ChannelCurves
    smoothing: float
    score: float

    def to_xyz(self, drive: Array) -> Array:
        """XYZ (n, 3) in cd/m2."""
        xyz: Array = self.curves.forward(drive) @ self.matrix.T + self.black
        return xyz


def fit_additive(patches: Patches, rows: Mask, smoothing: float | None = None) -> AdditiveFit:
    """The additive display that explains the patches ``rows`` (boolean (m,)) best.

    smoothing: weight of the curves' roughness; None tries several and takes the best by generalised
    cross-validation.
    """
    if smoothing is not None:
        return _Problem(patches, rows, smoothing).solve()
    fits = [_Problem(patches, rows, weight).solve() for weight in _SMOOTHINGS]
    return min(fits, key=lambda fit: fit.score)


class _Problem:
    """One least-squares problem: unknowns, residuals and their derivatives.

    Unknowns: matrix over the white (9, row by row), black over the white (3), then for each channel the rises
    between the spline's coefficients.
    """

    def __init__(self, patches: Patches, rows: Mask, smoothing: float) -> None:
        self.white = patches.white
        self.smoothing = smoothing
        self.drive = patches.drive[rows]
        self.xyz = patches.xyz[rows] / self.white
        self.weight = np.sqrt(patches.count[rows].astype(np.float64))[:, None]
        self.goal = lightness(self.xyz)
        # A reading's error is a share of it, but never less than a share of a dim grey.
        self.weight = self.weight / (np.cbrt(np.maximum(self.xyz, 0.0)) + DIM)
        self.bases = [_Basis(np.unique(self.drive[:, c].round(6))) for c in range(3)]
        self.values = [basis.at(self.drive[:, c]) for c, basis in enumerate(self.bases)]
        # A rise between two coefficients lifts all that follow: sum the splines from the right.
        self.tails = [np.cumsum(v[:, ::-1], axis=1)[:, ::-1][:, 1:] for v in self.values]
        self.rough = [
            np.cumsum(basis.roughness[:, ::-1], axis=1)[:, ::-1][:, 1:] * np.sqrt(smoothing)
            for basis in self.bases
        ]
        self.starts = np.cumsum([12] + [basis.size - 1 for basis in self.bases])
        self.data_rows = 3 * len(self.drive)

    def _split(self, unknown: Array) -> tuple[Array, Array, list[Array]]:
        rises = [unknown[a:b] for a, b in zip(self.starts[:-1], self.starts[1:], strict=True)]
        return unknown[:9].reshape(3, 3), unknown[9:12], rises

    def residuals(self, unknown: Array) -> Array:
        matrix, black, rises = self._split(unknown)
        linear = np.column_stack([_uncurved(t @ r) for t, r in zip(self.tails, rises, strict=True)])
        misses = (lightness(linear @ matrix.T + black) - self.goal) * self.weight * 100.0
        rough = [r @ rise for r, rise in zip(self.rough, rises, strict=True)]
        gauge = [np.array([_GAUGE * (rise.sum() - 1.0)]) for rise in rises]
        return np.concatenate([misses.ravel(), *rough, *gauge])

    def jacobian(self, unknown: Array) -> Array:
        matrix, black, rises = self._split(unknown)
        u = [t @ r for t, r in zip(self.tails, rises, strict=True)]
        linear = np.column_stack([_uncurved(values) for values in u])
        slope = lightness_slope(linear @ matrix.T + black) * self.weight * 100.0
        full = np.zeros((self.data_rows + sum(len(r) for r in self.rough) + 3, unknown.size))
        data = full[: self.data_rows].reshape(len(linear), 3, unknown.size)
        for k in range(3):
            data[:, k, 3 * k : 3 * k + 3] = slope[:, k, None] * linear
            data[:, k, 9 + k] = slope[:, k]
        for c in range(3):
            by_rise = _uncurved_slope(u[c])[:, None] * self.tails[c]
            part = slice(self.starts[c], self.starts[c + 1])
            data[:, :, part] = (slope * matrix[:, c])[:, :, None] * by_rise[:, None, :]
        row = self.data_rows
        for c, rough in enumerate(self.rough):
            full[row : row + len(rough), self.starts[c] : self.starts[c + 1]] = rough
            row += len(rough)
        for c in range(3):
            full[row + c, self.starts[c] : self.starts[c + 1]] = _GAUGE
        return full

    def _start(self) -> Array:
        """Gamma 2.2 for every channel, and the matrix and black that go with it."""
        linear = np.column_stack([self.drive**2.2, np.ones(len(self.drive))])
        balance = self.weight * lightness_slope(self.xyz)
        solved = np.column_stack(
            [
                np.linalg.lstsq(linear * balance[:, k, None], self.xyz[:, k] * balance[:, k], rcond=None)[0]
                for k in range(3)
            ]
        )
        rises = [np.diff(channel_lightness(basis.places**2.2)) for basis in self.bases]
        black = np.maximum(solved[3], 0.0)
        return np.concatenate([solved[:3].T.ravel(), black, *rises])

    def solve(self) -> AdditiveFit:
        start = self._start()
        low = np.full(start.size, -np.inf)
        low[9:12] = 0.0
        for c in range(3):
            low[self.starts[c] : self.starts[c + 1]] = _LEAST_RISE * np.diff(self.bases[c].places)
        start = np.maximum(start, low + 1e-9)
        unknown = _bounded_least_squares(self.residuals, self.jacobian, start, low)
        jacobian = self.jacobian(unknown)
        return self._made(unknown, self.residuals(unknown), jacobian, unknown > low + 1e-8)

    def _made(self, unknown: Array, residual: Array, jacobian: Array, free: Mask) -> AdditiveFit:
        matrix, black, rises = self._split(unknown)
        scale = np.array([rise.sum() for rise in rises])
        curves = [
            self._curve(basis, rise / total) for basis, rise, total in zip(self.bases, rises, scale, strict=True)
        ]
        full = np.array([float(_uncurved(np.array(total))) for total in scale])
        return AdditiveFit(
            matrix * full * self.white[:, None],
            black * self.white,
            ChannelCurves(*curves),
            self.smoothing,
            self._score(residual, jacobian[:, free]),
        )

    def _curve(self, basis: _Basis, rise: Array) -> SampledCurve:
        drive = np.linspace(0.0, 1.0, _CURVE_POINTS)
        u = basis.at(drive) @ np.concatenate([[0.0], np.cumsum(rise)])
        linear = np.maximum.accumulate(_uncurved(u))
        linear[0], linear[-1] = 0.0, 1.0
        return sampled(linear, drive, interpolation="cubic", label="fitted")

    def _score(self, residual: Array, jacobian: Array) -> float:
        """Generalised cross-validation: RSS n / (n - trace H)^2 over the readings' residuals."""
        data = jacobian[: self.data_rows]
        trace = float(np.trace(np.linalg.solve(jacobian.T @ jacobian, data.T @ data)))
        rss = float((residual[: self.data_rows] ** 2).sum())
        return rss * self.data_rows / max(self.data_rows - trace, 1.0) ** 2


def _bounded_least_squares(
    residuals: Callable[[Array], Array],
    jacobian: Callable[[Array], Array],
    start: Array,
    low: Array,
    rounds: int = 100,
) -> Array:
    """Least squares with lower bounds: Levenberg and Marquardt's steps on the unknowns that are free to move.

    Small and dense, with one factor of the normal equations per step: several times faster here than a general
    trust-region solver, which counts, as a fit solves some dozen such problems.
    """
    unknown = np.maximum(start, low)
    miss = residuals(unknown)
    cost = float(miss @ miss)
    damping = 1e-3
    slopes = jacobian(unknown)
    for _ in range(rounds):
        gradient = slopes.T @ miss
        free = (unknown > low) | (gradient < 0.0)
        part = slopes[:, free]
        normal = part.T @ part
        size = np.maximum(np.diag(normal), 1e-12 * float(np.diag(normal).max()))
        for _ in range(12):
            step = np.linalg.solve(normal + np.diag(damping * size), gradient[free])
            trial = unknown.copy()
            trial[free] = np.maximum(unknown[free] - step, low[free])
            missed = residuals(trial)
            new = float(missed @ missed)
            if new < cost:
                break
            damping *= 10.0
        else:
            return unknown
        gain = cost - new
        unknown, miss, cost = trial, missed, new
        damping = max(damping * 0.1, 1e-12)
        if gain <= 1e-9 * cost:
            return unknown
        slopes = jacobian(unknown)
    return unknown


def effective_gamma(curve: SampledCurve, at: Sequence[float] = (0.25, 0.5, 0.75)) -> float:
    """The exponent of the power that is nearest to a tone curve in its middle."""
    drive = np.array(at)
    linear = np.maximum(curve.forward(drive), 1e-12)
    return float(np.mean(np.log(linear) / np.log(drive)))
