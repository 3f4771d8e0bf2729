"""The numbers behind a search: the best shares of very many sets of components, all sets side by side.

A set's shares are sought as logarithms of their ratios to a filler (the base, or the set's last component), so
that every step keeps them above 0 and their sum at 1; where nothing fills up, as logarithms of the amounts.
Levenberg-Marquardt with exact derivatives, a small system of linear equations for each set. The sum of squares
that is made small is that of :class:`screenproof.subtractive.target.Aim`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance.large import spread
from screenproof.spectra import Array
from screenproof.subtractive.mixing import MixingModel
from screenproof.subtractive.target import Aim

Indices = NDArray[np.intp]

PIECE = 192
"""Sets in one piece of work: its arrays stay in the processor's cache, and its matrix products are too small for
the linear algebra library to put threads of its own beside ours."""

LINEAR_PIECE = 4096
"""The same for the linearised problem, whose arrays are small."""

STEP = 2.0
"""The longest step of a logarithm: a factor of seven."""

FARTHEST = 16.0
"""Logarithms are held within this: shares of a ten-millionth are nothing."""


@dataclass(eq=False)
class Sets:
    """Sets of components of one size: ``members`` (m, k), all their indices but that of the base; ``z`` (m, f)
    logarithms.

    filler: (m,) the index of the component that fills up to 1, or None where amounts are free.
    """

    members: Indices
    free: Indices
    filler: Indices | None
    z: Array
    value: Array

    @classmethod
    def of(cls, model: MixingModel, members: Indices) -> Sets:
        m = len(members)
        free, filler = members, None
        if model.closed and model.base is not None:
            filler = np.full(m, model.base, dtype=np.intp)
        elif model.closed:
            free, filler = members[:, :-1], members[:, -1]
        return cls(members, free, filler, np.zeros(free.shape), np.full(m, np.inf))

    def __len__(self) -> int:
        return len(self.members)

    def select(self, chosen: NDArray[np.intp]) -> Sets:
        """Some of the sets."""
        filler = None if self.filler is None else self.filler[chosen]
        return Sets(self.members[chosen], self.free[chosen], filler, self.z[chosen], self.value[chosen])

    def set_shares(self, x: Array) -> None:
        """Start from shares (m, f) of the free components, the filler taking what is left."""
        x = np.clip(x, 1e-3 if self.filler is not None else 1e-4, None)
        if self.filler is None:
            self.z = np.log(x)
            return
        total = x.sum(axis=1, keepdims=True)
        x = np.where(total > 0.98, 0.98 * x / np.maximum(total, 1e-9), x)
        self.z = np.log(x) - np.log(1.0 - x.sum(axis=1, keepdims=True))

    def shares(self, n: int) -> Array:
        """Shares (m, n) of all n components."""
        out = np.zeros((len(self), n))
        y, rest = _ratios(self.z, self.filler is not None)
        np.put_along_axis(out, self.free, y, axis=1)
        if self.filler is not None:
            out[np.arange(len(self)), self.filler] = rest
        return out


def _ratios(z: Array, closed: bool) -> tuple[Array, Array]:
    """Shares of the free components, and what the filler has."""
    if not closed:
        return np.exp(z), np.zeros(len(z))
    highest = np.maximum(z.max(axis=1, keepdims=True, initial=0.0), 0.0)
    y, one = np.exp(z - highest), np.exp(-highest)
    total = y.sum(axis=1, keepdims=True) + one
    return y / total, (one / total)[:, 0]


def _evaluated(model: MixingModel, aim: Aim, sets: Sets, z: Array) -> tuple[Array, Array, Array]:
    """The sum of squares (m,), J J^T (m, f, f) and J r (m, f) of sets at logarithms z."""
    closed = sets.filler is not None
    c, rest = _ratios(z, closed)
    own_k, own_s = model.k[sets.free], model.s[sets.free]
    k = model.ground_k + np.matmul(c[:, np.newaxis], own_k)[:, 0]
    s = model.ground_s + np.matmul(c[:, np.newaxis], own_s)[:, 0]
    if sets.filler is not None:
        k += rest[:, np.newaxis] * model.k[sets.filler]
        s += rest[:, np.newaxis] * model.s[sets.filler]
    curve, by_k, by_s = model.slopes(k, s)
    if closed:
        # d share_i / d z_j = share_j (1 if i = j else 0) - share_i share_j: the mixture gives way.
        slope = by_k[:, np.newaxis] * (own_k - (k - model.ground_k)[:, np.newaxis])
        slope += by_s[:, np.newaxis] * (own_s - (s - model.ground_s)[:, np.newaxis])
    else:
        slope = by_k[:, np.newaxis] * own_k + by_s[:, np.newaxis] * own_s
    slope *= c[..., np.newaxis]
    residual, by = aim.with_slopes(curve, slope)
    value = (residual**2).sum(axis=1)
    square = by @ np.swapaxes(by, 1, 2)
    gradient = np.matmul(by, residual[..., np.newaxis])[..., 0]
    if aim.curve_weight and aim.target.curve is not None:
        gap = curve - aim.target.curve
        w2 = aim.curve_weight**2
        value += w2 * (gap**2).sum(axis=1)
        square += w2 * (slope @ np.swapaxes(slope, 1, 2))
        gradient += w2 * np.matmul(slope, gap[..., np.newaxis])[..., 0]
    return value, square, gradient


def _refine_piece(model: MixingModel, aim: Aim, sets: Sets, iterations: int) -> None:
    m, f = sets.z.shape
    value, square, gradient = _evaluated(model, aim, sets, sets.z)
    damping = np.full(m, 1e-2)
    corner = np.arange(f)
    for _ in range(iterations if f else 0):
        system = square.copy()
        diagonal = square[:, corner, corner]
        system[:, corner, corner] += damping[:, np.newaxis] * (
            diagonal + 1e-3 * diagonal.max(axis=1, keepdims=True)
        )
        system[:, corner, corner] += 1e-12
        step = -np.linalg.solve(system, gradient[..., np.newaxis])[..., 0]
        longest = np.abs(step).max(axis=1, keepdims=True)
        step *= np.minimum(1.0, STEP / np.maximum(longest, 1e-12))
        tried = np.clip(sets.z + step, -FARTHEST, FARTHEST)
        new = _evaluated(model, aim, sets, tried)
        better = new[0] < value
        sets.z = np.where(better[:, np.newaxis], tried, sets.z)
        value = np.where(better, new[0], value)
        square = np.where(better[:, np.newaxis, np.newaxis], new[1], square)
        gradient = np.where(better[:, np.newaxis], new[2], gradient)
        damping = np.clip(np.where(better, damping * 0.2, damping * 8.0), 1e-9, 1e6)
    sets.value = value


def refine(model: MixingModel, aim: Aim, sets: Sets, iterations: int) -> None:
    """Better the shares of all sets in place, each by so many steps; ``value`` then holds their sums of
    squares."""
    z, value = np.empty_like(sets.z), np.empty(len(sets))

    def work(start: int, stop: int) -> None:
        part = sets.select(np.arange(start, stop))
        _refine_piece(model, aim, part, iterations)
        z[start:stop], value[start:stop] = part.z, part.value

    spread(work, len(sets), 1, PIECE)
    sets.z, sets.value = z, value


def mixture_near(model: MixingModel, aim: Aim, rounds: int = 12) -> Array:
    """Shares (n,) of *all* components that come nearest to the aim: where the sets of few are linearised.

    Gauss-Newton on shares of 0 or above (a non-negative least squares problem in each round), with steps halved
    until they help. What it finds is a start for searches, not a recipe.
    """
    from scipy.optimize import nnls

    n = len(model.names)
    c = np.full(n, 1.0 / n) if model.closed else np.full(n, 0.3 / n)
    if model.base is not None:
        c = np.full(n, 0.3 / max(1, n - 1))
        c[model.base] = 0.7

    def value_at(shares: Array) -> float:
        curve = model.reflect(shares[np.newaxis])
        gap = 0.0 if aim.target.curve is None else float(((curve - aim.target.curve) ** 2).sum())
        return float((aim.residuals(curve) ** 2).sum()) + aim.curve_weight**2 * gap

    best = value_at(c)
    for _ in range(rounds):
        rows, offset = linearised(model, aim, c)
        left, right = rows.T, -offset
        if model.closed:
            heavy = 1e3 * np.abs(left).max()
            left, right = np.vstack([left, np.full((1, n), heavy)]), np.append(right, heavy)
        wanted = nnls(left, right, maxiter=50 * n)[0]
        for part in (1.0, 0.5, 0.25, 0.1, 0.03):
            tried = c + part * (wanted - c)
            found = value_at(tried)
            if found < best:
                break
        else:
            break
        settled = best - found < 1e-4 * best
        c, best = tried, found
        if settled:
            break
    return c


def linearised(model: MixingModel, aim: Aim, shares: Array) -> tuple[Array, Array]:
    """Rows (n, q) and offset (q,) with residuals near offset + shares @ rows about a mixture (n,)."""
    k, s = model.ground_k + shares @ model.k, model.ground_s + shares @ model.s
    curve, by_k, by_s = model.slopes(k[np.newaxis], s[np.newaxis])
    slopes = by_k * model.k + by_s * model.s
    residual, rows = aim.with_slopes(curve, slopes[np.newaxis])
    rows, residual = rows[0], residual[0]
    if aim.curve_weight and aim.target.curve is not None:
        rows = np.hstack([rows, aim.curve_weight * slopes])
        residual = np.append(residual, aim.curve_weight * (curve[0] - aim.target.curve))
    return rows, residual - shares @ rows


def linear_start(sets: Sets, rows: Array, offset: Array) -> None:
    """Shares of all sets by the linearised problem: one small system each, values below 0 taken as 0."""
    together = np.vstack([rows, offset])
    gram = together @ together.T
    last = len(rows)
    m, f = sets.free.shape
    x, value = np.zeros((m, f)), np.empty(m)

    def work(start: int, stop: int) -> None:
        part = slice(start, stop)
        free = sets.free[part]
        square = gram[free[:, :, np.newaxis], free[:, np.newaxis, :]]
        right = -gram[free, last]
        constant = np.full(len(free), gram[last, last])
        if sets.filler is not None:
            fill = sets.filler[part]
            cross = gram[free, fill[:, np.newaxis]]
            own = gram[fill, fill]
            square = square - cross[:, :, np.newaxis] - cross[:, np.newaxis, :] + own[:, np.newaxis, np.newaxis]
            right = right - cross + (gram[fill, last] + own)[:, np.newaxis]
            constant = constant + 2.0 * gram[fill, last] + own
        if f:
            system = square + 1e-9 * (
                np.trace(square, axis1=1, axis2=2)[:, np.newaxis, np.newaxis] + 1e-12
            ) * np.eye(f)
            found = np.maximum(np.linalg.solve(system, right[..., np.newaxis])[..., 0], 0.0)
            if sets.filler is not None:
                total = found.sum(axis=1, keepdims=True)
                found = np.where(total > 1.0, found / np.maximum(total, 1.0), found)
            x[part] = found
            constant = constant - 2.0 * (right * found).sum(axis=1)
            constant = constant + (found * np.matmul(square, found[..., np.newaxis])[..., 0]).sum(axis=1)
        value[part] = constant

    spread(work, m, 1, LINEAR_PIECE)
    sets.set_shares(x)
    sets.value = value
