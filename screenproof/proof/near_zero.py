"""What a reading with normal errors says of the length of a vector, at zero, near it and far from it.

Near zero the difference of two colours is not normal: it cannot be below 0, and errors across its direction make
it longer. In coordinates in which the colour difference is the length of a vector (the local quadratic form of
the metric), along the axes of its doubt, a reading y is the truth m plus independent normal errors of standard
deviations u.

A true length D leaves the direction open. It is taken where the reading makes it most likely, the foot:
m_i = y_i / (1 + t u_i^2) with t such that |m| = D (a nuisance parameter, plugged in under the hypothesis). Chances
are those of quadratic forms in normal variables, by the saddlepoint approximation.

verdicts
    go by the length itself: the chance that a truth of the limit's length gives so short (so long) a reading.
    It is the larger of two, for the foot and for a truth of that length moved from it by 1.5 standard deviations
    along the axis of largest doubt: where errors differ much by direction, the foot alone gives up to 9 % wrong
    passes at a risk of 5 %.
intervals
    go by the multiplier t of the foot, which depends less on the direction than the length does: the readings with
    one t lie on the ellipsoid sum (y_i / (D (1 + t u_i^2)))^2 = 1, which touches the surface of equal likelihood
    at the reading. That has no sense at D = 0, where readings are as far out as they are in standard deviations;
    between the two the half axes are blended, by exp(-D^2 / (4 sum u^2)). With errors alike in all directions both
    are the length, and the interval is exact. Otherwise its 95 % are 93.5 to 97 % in all that was tried, down to
    standard deviations of 1:1:0.1 and 1:0.1:0.1.

Sources: Lugannani and Rice (1980) for the tail, with the second-order term of Daniels (1987); Kuonen (1999,
Biometrika 86, 929) for quadratic forms; Puza and O'Neill (2006) for intervals by tail functions. From memory.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array

Rows = NDArray[np.intp]

_FLOOR = 1e-3
"""Of the largest standard deviation: the least of a direction, so that nothing is known without any error."""

_HAIR = 1e-3
"""How far, in standard deviations, a reading is off the axis of largest doubt, so that every length has a foot."""

_TOWARD = 1.5
"""Standard deviations by which the second truth of a verdict is off the foot."""

_THIN = 1e-4
_ROUNDS = 40
_FAR_OUT = 9.0
_CLOSE = 1e-3


def floored(deviations: Array) -> Array:
    """Standard deviations (n, 3), none of them below a thousandth of the row's largest."""
    return np.asarray(np.maximum(deviations, _FLOOR * deviations.max(axis=1, keepdims=True)))


def upper_tail(square: Array, mean: Array, variances: Array) -> Array:
    """P(Q >= square) (n,) for Q = sum of (m_i + sqrt(v_i) z_i)^2, mean (n, 3), variances (n, 3) above 0.

    The error is below 0.005 where the chance or its complement is at most 0.05, and below 0.02 between (held
    against draws in the tests).
    """
    return _upper_tail(square, np.asarray(mean.T**2), variances.T)


def _upper_tail(square: Array, m2: Array, variances: Array) -> Array:
    """The same with squared means (3, n) and variances (3, n)."""
    largest = variances.max(axis=0)
    lam, m2 = variances / largest, m2 / largest
    q = np.maximum(square / largest, 1e-12)
    s = _saddle(q, lam, m2)
    b = lam / (1.0 - 2.0 * s * lam)
    c = m2 / lam * b / lam
    k0 = (0.5 * np.log(b / lam) + s * c * lam).sum(axis=0)
    k2 = (b * (2.0 * b + 4.0 * c * b)).sum(axis=0)
    k3 = (b**3 * (8.0 + 24.0 * c)).sum(axis=0)
    k4 = (b**4 * (48.0 + 192.0 * c)).sum(axis=0)
    w = np.sign(s) * np.sqrt(np.maximum(2.0 * (s * q - k0), 0.0))
    u = s * np.sqrt(k2)
    skew, kurt = k3 / k2**1.5, k4 / k2**2
    middle = np.abs(w) < 0.02
    w1, u1 = np.where(middle, 1.0, w), np.where(middle, 1.0, u)
    first = 1.0 / u1 - 1.0 / w1
    second = (kurt / 8.0 - 5.0 * skew**2 / 24.0) / u1 - skew / (2.0 * u1**2) - 1.0 / u1**3 + 1.0 / w1**3
    tail = _above(w) + _density(w) * (first + second)
    # At the mean both terms are differences of two infinite ones: their limit there, to the first order.
    at_mean = 0.5 - skew / (6.0 * np.sqrt(2.0 * np.pi)) - 0.3989422804 * w
    return np.asarray(np.clip(np.where(middle, at_mean, tail), 0.0, 1.0))


def _saddle(q: Array, lam: Array, m2: Array) -> Array:
    """s (n,) with K'(s) = q; K' rises from 0 at minus infinity to infinity at 1/2 (the largest of lam is 1)."""
    low, high = np.full(q.shape, -1e15), np.full(q.shape, 0.5)
    # Start where the largest direction alone, with all of the mean, would have its root.
    s = 0.5 - 0.25 * (1.0 + np.sqrt(1.0 + 4.0 * q * m2.sum(axis=0))) / q
    for _ in range(60):
        d = 1.0 / (1.0 - 2.0 * s * lam)
        c, ld = m2 * d * d, lam * d
        here = (ld + c).sum(axis=0)
        slope = (ld * (2.0 * ld + 4.0 * c)).sum(axis=0)
        below = here < q
        low, high = np.where(below, s, low), np.where(below, high, s)
        # Newton's step on the logarithm of K', which is nearly straight in log(1/2 - s).
        gap = 0.5 - s
        move = np.log(here / q) * here / np.maximum(slope * gap, 1e-300)
        new = 0.5 - gap * np.exp(np.clip(move, -3.0, 3.0))
        bad = ~((new >= low) & (new <= high))
        if bad.any():
            new = np.where(bad, 0.5 - np.sqrt((0.5 - low) * np.maximum(0.5 - high, 1e-14)), new)
        # Of no rows none is open: whoever asks about some of the rows may find that they are none.
        if (np.abs(move) < 1e-7).all():
            return np.asarray(new)
        s = np.asarray(new)
    return np.asarray(s)


class Lengths:
    """Readings y (n, 3) with errors of standard deviations u (n, 3) above 0, along the axes of the errors."""

    def __init__(self, y: Array, deviations: Array) -> None:
        rows, axis = np.arange(len(y)), deviations.argmax(axis=1)
        hair = _HAIR * deviations[rows, axis]
        turned = np.array(y)
        here = turned[rows, axis]
        turned[rows, axis] = np.where(np.abs(here) < hair, np.where(here < 0.0, -hair, hair), here)
        self.y, self.u = turned.T, deviations.T
        self.largest = np.abs(turned[rows, axis])
        self.wide = deviations[rows, axis]
        self.share = (self.u / self.wide) ** 2

    def foot(self, x: Array) -> Array:
        """The most likely truths m (3, n), from 0 at x = 0 over the reading at 1 to infinitely far; |m| rises.

        m_i = y_i / (1 + t u_i^2) makes the sum of (y_i - m_i)^2 / u_i^2 smallest for its length; along the axis of
        largest doubt it is x y_i.
        """
        return np.asarray(self.y * x / (self.share + x * (1.0 - self.share)))

    def chance_beyond(self, foot: Array) -> Array:
        """(n,) chance that a truth at ``foot`` (3, n) gives a reading as far out as this one, for intervals."""
        square = (foot**2).sum(axis=0)
        z, reading = foot / self.u, self.y / self.u
        apart = np.sqrt(((reading - z) ** 2).sum(axis=0))
        length = np.sqrt(square)
        parallel = length / self.u + np.where((self.y**2).sum(axis=0) >= square, apart, -apart)
        touching = length / self.u * np.where(foot == 0.0, 1.0, self.y / np.where(foot == 0.0, 1.0, foot))
        share = np.exp(-0.25 * square / (self.u**2).sum(axis=0))
        half = np.maximum(touching, _THIN) ** (1.0 - share) * np.maximum(parallel, _THIN) ** share
        half = half * np.sqrt(((reading / half) ** 2).sum(axis=0))
        return _upper_tail(np.ones(len(length)), (z / half) ** 2, 1.0 / half**2)

    def chance_longer(self, truth: Array) -> Array:
        """(n,) chance that a truth (3, n) gives a reading as long as this one, or longer, for verdicts."""
        return _upper_tail((self.y**2).sum(axis=0), truth**2, self.u**2)

    def truths_at(self, length: Array) -> tuple[Array, Array]:
        """Two truths (3, n) of length (n,): the foot, and one moved from it along the axis of largest doubt."""
        foot = self.foot_at(length)
        moved = foot.copy()
        rows, axis = np.arange(foot.shape[1]), self.u.argmax(axis=0)
        here = foot[axis, rows]
        moved[axis, rows] = here + _TOWARD * np.where(here < 0.0, -1.0, 1.0) * self.u[axis, rows]
        return foot, np.asarray(moved * (length / _norm(moved)))

    def foot_at(self, length: Array) -> Array:
        """The most likely truths (3, n) of length (n,)."""

        def longer(x: Array, rows: Rows) -> Array:
            return _norm(self.of(rows).foot(x)) - length[rows]

        found = self.foot(_root(longer, np.zeros_like(length), 1.0 + length / self.largest))
        return np.asarray(found * (length / np.maximum(_norm(found), 1e-300)))

    def of(self, rows: Rows) -> Lengths:
        """Some of the readings."""
        part = object.__new__(Lengths)
        part.y, part.u, part.share = self.y[:, rows], self.u[:, rows], self.share[:, rows]
        part.largest, part.wide = self.largest[rows], self.wide[rows]
        return part

    def interval(self, coverage: float) -> tuple[Array, Array]:
        """The ends (n,), (n,) of the interval for the true length.

        It holds every length D at which the chance of a reading as far out is above a(D), and of one as far in
        above 1 - coverage - a(D); a falls from 1 - coverage at D = 0, where no reading is too short, to half of
        that far away. So the truth is held with the coverage at every D; the interval is never empty, and reaches
        down to 0 where 0 is not excluded.
        """
        missed = 1.0 - coverage

        def outside(x: Array, rows: Rows) -> tuple[Array, Array]:
            part = self.of(rows)
            foot = part.foot(x)
            near = np.exp(-0.5 * (foot**2).sum(axis=0) / (part.u**2).sum(axis=0))
            return part.chance_beyond(foot), missed * (0.5 + 0.5 * near)

        def too_short(x: Array, rows: Rows) -> Array:
            beyond, share = outside(x, rows)
            return _quantile(beyond) - _quantile(share)

        def too_long(x: Array, rows: Rows) -> Array:
            beyond, share = outside(x, rows)
            return _quantile(missed - share) - _quantile(1.0 - beyond)

        one = np.ones_like(self.wide)
        x: Array = _root(too_long, one, 1.0 + _FAR_OUT * self.wide / self.largest)
        low, high = np.zeros_like(one), _norm(self.foot(x))
        some = np.flatnonzero(self.chance_beyond(np.zeros_like(self.y)) < missed)
        if some.size:
            part = self.of(some)
            x = _root(lambda x, rows: too_short(x, some[rows]), np.zeros(some.size), np.ones(some.size))
            low[some] = _norm(part.foot(x))
        return low, high


def length_quantile(y: Array, deviations: Array, share: float) -> Array:
    """(n,) the length below which are the share 0..1 of vectors about y (n, 3) with deviations (n, 3) above 0."""
    m2, variances = y.T**2, deviations.T**2

    def rest(length: Array, rows: Rows) -> Array:
        beyond = _upper_tail(length**2, m2[:, rows], variances[:, rows])
        return _quantile(1.0 - beyond) - _quantile(np.full(len(rows), share))

    far = np.sqrt(m2.sum(axis=0)) + _FAR_OUT * deviations.max(axis=1)
    return _root(rest, 1e-3 * deviations.max(axis=1), far)


def raised_to_noise(y: Array, deviations: Array) -> Array:
    """Readings y (n, 3), those shorter than the median of errors alone made as long as that.

    A reading shorter than errors make it is so by luck: the upper end of its interval, and a pass, are not to be
    had below what the errors let expect, or a worse instrument would give the surer verdict (the power constraint
    of Cowan, Cranmer, Gross and Vitells 2011, arXiv 1105.3166, at the median; from memory).
    """
    least = length_quantile(np.zeros_like(y), deviations, 0.5)
    length = np.sqrt((y**2).sum(axis=1))
    direction = np.where(length[:, None] > 1e-3 * least[:, None], y, deviations)
    unit = direction / np.sqrt((direction**2).sum(axis=1))[:, None]
    return np.asarray(np.where((length < least)[:, None], unit * least[:, None], y))


def _root(function: Callable[[Array, Rows], Array], low: Array, high: Array) -> Array:
    """x (n,) between ``low`` and ``high`` at which a rising function is 0 (regula falsi, Anderson and Bjoerck).

    The function is asked for the rows that are still open.
    """
    rows = np.arange(len(low))
    f_low, f_high, found = function(low, rows), function(high, rows), np.array(high)
    for _ in range(_ROUNDS):
        share = np.clip(-f_low / np.where(f_high == f_low, 1.0, f_high - f_low), 0.0, 1.0)
        x = low + share * (high - low)
        f = function(x, rows)
        found[rows] = x
        open_ = (np.abs(f) > _CLOSE) & (high - low > _CLOSE * high)
        if not open_.any():
            break
        rises = f < 0.0
        # The end that stays is weighed down, so that the next step does not stay on one side.
        moved = np.where(rises, f_low, f_high)
        factor = 1.0 - f / np.where(moved == 0.0, 1.0, moved)
        factor = np.where(factor > 0.0, factor, 0.5)
        f_low, f_high = np.where(rises, f, f_low * factor), np.where(rises, f_high * factor, f)
        low, high = np.where(rises, x, low), np.where(rises, high, x)
        rows, low, high = rows[open_], low[open_], high[open_]
        f_low, f_high = f_low[open_], f_high[open_]
    return found


def _norm(m: Array) -> Array:
    return np.asarray(np.sqrt((m**2).sum(axis=0)))


def _density(x: Array) -> Array:
    return np.asarray(np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi))


def _above(x: Array) -> Array:
    from scipy.special import ndtr

    return np.asarray(ndtr(-x))


def _quantile(chance: Array) -> Array:
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(chance, 1e-13, 1.0 - 1e-13)))
