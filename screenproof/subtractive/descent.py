"""Descents through tints, very many side by side: Newton's steps inside the limits of a press.

What is made small is a sum of squares of colour differences, perhaps with a preference among tints. The
curvature is that of the squares, through the slopes of the press (Gauss and Newton), damped where a step fails
(Levenberg 1944, Q. Appl. Math. 2, 164-168; Marquardt 1963, J. SIAM 11, 431-441). Tints at a limit against which
they are pushed stand still for a step (two-metric projection: Bertsekas 1982, SIAM J. Control Optim. 20,
221-246).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array
from screenproof.subtractive.ink_colours import TintBounds

Rows = NDArray[np.intp]

FRACTIONS = np.array([1.0, 0.5, 0.15])
"""Parts of a step that are tried."""

_LEAST_DAMPING, _MOST_DAMPING = 1e-7, 1e4
_AT_LIMIT = 1e-9


class Objective(Protocol):
    """What a descent makes small. ``rows`` (m,) tells which of the aims each tint belongs to."""

    def cost(self, tints: Array, rows: Rows) -> Array:
        """Cost (m, ...) of tints (m, ..., c)."""
        ...

    def model(self, tints: Array, rows: Rows) -> tuple[Array, Array]:
        """Slope (m, c) of the cost at tints (m, c) and a curvature (m, c, c) of it that is not negative."""
        ...


def descend(
    aim: Objective, start: Array, room: TintBounds, *, rounds: int, enough: float, gain: float
) -> tuple[Array, Array]:
    """Follow each start (n, c), which must be allowed, down; the tints reached and their cost (n,).

    A descent ends when its cost is ``enough``, when a step gains less than ``gain`` of the cost, when no step
    helps however damped, or after so many rounds.
    """
    tints = start.copy()
    cost = aim.cost(tints, np.arange(len(start)))
    damping = np.full(len(start), 1e-4)
    active = np.flatnonzero(cost > enough)
    slope, bend = np.empty_like(start), np.empty((*start.shape, start.shape[1]))
    fresh = active
    for _ in range(rounds):
        if active.size == 0:
            break
        if fresh.size:
            slope[fresh], bend[fresh] = aim.model(tints[fresh], fresh)
        here = tints[active]
        step = limited_step(here, slope[active], bend[active], damping[active], room)
        trials = room.kept(here[:, None, :], here[:, None, :] + FRACTIONS[:, None] * step[:, None, :])
        costs = aim.cost(trials, active)
        best = costs.argmin(axis=1)
        rows = np.arange(len(active))
        reached = costs[rows, best]
        won = cost[active] - reached
        better = won > 0.0
        moved = active[better]
        tints[moved] = trials[rows, best][better]
        slow = better & (best == 0) & (won <= gain * cost[active])
        cost[moved] = reached[better]
        # A full step that helps says that the quadratic holds; a short one, that it does not.
        change = np.where(better, np.array([0.1, 1.0, 4.0])[best], 16.0)
        damping[active] = np.maximum(damping[active] * change, _LEAST_DAMPING)
        done = slow | (better & (reached <= enough)) | (~better & (damping[active] > _MOST_DAMPING))
        fresh = active[better & ~done]
        active = active[~done]
    return tints, cost


def limited_step(here: Array, slope: Array, bend: Array, damping: Array, room: TintBounds) -> Array:
    """Newton's step (n, c) from ``here`` for a quadratic of this slope (n, c) and bend (n, c, c), inside the
    limits.

    A tint at its limit that the slope pushes further stands still; when the total is reached and the step would
    raise it, the step keeps it.
    """
    scale = np.einsum("ncc->n", bend) / here.shape[1]
    low, high = here <= room.low + _AT_LIMIT, here >= room.high - _AT_LIMIT
    full = here.sum(axis=1) >= room.total - _AT_LIMIT
    push = np.zeros(len(here))
    step, push = _free_step(slope, bend, damping * scale, low, high, full, push)
    if (push > 0.0).any():
        # What the total pushes back may free a tint that stood still at its limit, or hold one that did not.
        step, _ = _free_step(slope, bend, damping * scale, low, high, full, push)
    return step


def _free_step(
    slope: Array,
    bend: Array,
    lift: Array,
    low: NDArray[np.bool_],
    high: NDArray[np.bool_],
    full: NDArray[np.bool_],
    push: Array,
) -> tuple[Array, Array]:
    """The step (n, c), and how hard (n,) the total pushes against it; ``push`` is what it was thought to be."""
    felt = slope + push[:, None]
    free = ~((low & (felt > 0.0)) | (high & (felt < 0.0)))
    system = np.where(free[:, :, None] & free[:, None, :], bend, 0.0)
    diagonal = np.einsum("ncc->nc", system)
    diagonal += np.where(free, lift[:, None] + 1e-12, 1.0)
    solved = np.linalg.solve(system, np.stack([np.where(free, -slope, 0.0), free.astype(np.float64)], axis=2))
    step, along = solved[:, :, 0], solved[:, :, 1]
    rise, room_of = step.sum(axis=1), along.sum(axis=1)
    held = full & (rise > 0.0) & (room_of > 0.0)
    push = np.where(held, rise / np.where(held, room_of, 1.0), 0.0)
    return np.asarray(step - push[:, None] * along), push
