"""The displayable colour that looks nearest: the smallest CIEDE2000 over the whole drive cube.

CIEDE2000 is not convex: the chroma and hue of a colour trade against each other, and near blue its rotation
term bends the valleys, so that the nearest colour by any simpler measure, or the end of one descent, can be
wrong. The search has two steps.

1. The sample is compared with a lattice on the six faces of the cube, even in L* of each channel. Its nodes
   that are nearer than all their neighbours are the starts, the best few of them.
2. From each start, Newton steps on the square of CIEDE2000 in the three positions, kept in the cube: a
   quadratic from ten values around the point, its smallest value in the box by coordinate descent, and the
   best of a few fractions of that step. A step that does not improve ends the descent.

The cube's inside is open to step 2, but has no start of its own: for a colour outside, moving outwards from
an inner point along one of lightness, chroma and hue always brings CIEDE2000 down.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import de2000
from screenproof.proof.reach import Reach
from screenproof.spectra import Array

_PER_EDGE = 9
_STARTS = 4
_CHUNK = 1024
_STENCIL = 1e-3
_LONGEST = 0.25
_ROUNDS = 30
_SWEEPS = 12
_FRACTIONS = np.array([1.0, 0.5, 0.25, 0.1, 0.03])
_GAIN = 1e-10

# The ten values of a quadratic in three variables: the middle, both sides of each axis, each pair of axes.
_AXES = np.eye(3)
_POINTS = np.vstack([np.zeros(3), _AXES, -_AXES, _AXES[[0, 0, 1]] + _AXES[[1, 2, 2]]])
_PAIRS = ((0, 1), (0, 2), (1, 2))


@lru_cache(maxsize=1)
def _lattice() -> tuple[Array, NDArray[np.intp]]:
    """Positions (k, 3) of the lattice on the faces; the neighbours (k, 8) of each node, itself as filler."""
    last = _PER_EDGE - 1
    nodes = [node for node in product(range(_PER_EDGE), repeat=3) if 0 in node or last in node]
    number = {node: i for i, node in enumerate(nodes)}
    steps = [step for step in product((-1, 0, 1), repeat=3) if any(step)]
    neighbours = np.tile(np.arange(len(nodes))[:, None], (1, 8))
    for i, node in enumerate(nodes):
        around = [number.get((node[0] + a, node[1] + b, node[2] + c)) for a, b, c in steps]
        found = [other for other in around if other is not None]
        neighbours[i, : len(found)] = found
    return np.array(nodes, dtype=np.float64) / last, neighbours


def nearest(lab: Array, reach: Reach) -> tuple[Array, Array]:
    """Drives (n, 3) in 0..1 whose colours are nearest to ``lab`` (n, 3), and their CIEDE2000 (n,) to it.

    ``lab`` is relative to the same white as ``reach``. The distance is that of the colour shown, so it is
    small but not exactly 0 for a colour that the display can show: ask the display first.
    """
    positions, neighbours = _lattice()
    node_lab = reach.lab(positions)
    drives = np.empty(lab.shape)
    distances = np.empty(lab.shape[0])
    for first in range(0, lab.shape[0], _CHUNK):
        part = slice(first, first + _CHUNK)
        wanted = lab[part]
        owner, start = _starts(de2000(wanted[:, None, :], node_lab[None, :, :]), neighbours)
        ends, squares = _descend(wanted[owner], positions[start], reach)
        # Of each sample's descents the lowest: sorted by sample, then by value, the first of each is it.
        order = np.lexsort((squares, owner))
        winners = order[np.unique(owner[order], return_index=True)[1]]
        drives[part] = reach.drive(ends[winners])
        distances[part] = np.sqrt(squares[winners])
    return drives, distances


def _starts(distance: Array, neighbours: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Samples and nodes to start from: nodes no farther than their neighbours, at most a few per sample."""
    lowest = np.ones(distance.shape, dtype=bool)
    for column in neighbours.T:
        lowest &= distance <= distance[:, column]
    ranked = np.where(lowest, distance, np.inf)
    best = np.argpartition(ranked, _STARTS, axis=1)[:, :_STARTS]
    sample, place = np.nonzero(np.isfinite(np.take_along_axis(ranked, best, axis=1)))
    return sample, best[sample, place]


def _square(wanted: Array, position: Array, reach: Reach) -> Array:
    """Squared CIEDE2000 (m, k) between Lab (m, 3) and the colours at positions (m, k, 3)."""
    difference = de2000(wanted[:, None, :], reach.lab(position))
    return np.asarray(difference * difference)


def _descend(wanted: Array, start: Array, reach: Reach) -> tuple[Array, Array]:
    """Follow each start (m, 3) down; the positions reached and their squared CIEDE2000."""
    position = start.copy()
    value = _square(wanted, position[:, None, :], reach)[:, 0]
    active = np.arange(len(start))
    for _ in range(_ROUNDS):
        here = position[active]
        middle = np.clip(here, _STENCIL, 1.0 - _STENCIL)
        around = _square(wanted[active], middle[:, None, :] + _STENCIL * _POINTS, reach)
        target = middle + _box_minimum(*_quadratic(around), middle, here)
        trials = here[:, None, :] + _FRACTIONS[:, None] * (target - here)[:, None, :]
        trials = np.clip(trials, 0.0, 1.0)
        values = _square(wanted[active], trials, reach)
        best = np.argmin(values, axis=1)
        rows = np.arange(len(active))
        better = values[rows, best] < value[active] - _GAIN
        moved = active[better]
        position[moved] = trials[rows, best][better]
        value[moved] = values[rows, best][better]
        active = moved
        if active.size == 0:
            break
    return position, value


def _quadratic(values: Array) -> tuple[Array, Array]:
    """Gradient (m, 3) and Hessian (m, 3, 3), made positive, from the ten values (m, 10) of the stencil."""
    middle, plus, minus, pairs = values[:, :1], values[:, 1:4], values[:, 4:7], values[:, 7:]
    gradient = (plus - minus) / (2.0 * _STENCIL)
    hessian = np.empty((len(values), 3, 3))
    for i in range(3):
        hessian[:, i, i] = plus[:, i] - 2.0 * middle[:, 0] + minus[:, i]
    for pair, (i, j) in enumerate(_PAIRS):
        cross = pairs[:, pair] - plus[:, i] - plus[:, j] + middle[:, 0]
        hessian[:, i, j] = hessian[:, j, i] = cross
    hessian /= _STENCIL**2
    # A direction that curves down has no lowest point: lift the whole until all curve up.
    lowest = np.linalg.eigvalsh(hessian)
    lift = np.maximum(0.0, 1e-3 * np.abs(lowest[:, 2]) + 1e-6 - lowest[:, 0])
    hessian[:, range(3), range(3)] += lift[:, None]
    return gradient, hessian


def _box_minimum(gradient: Array, hessian: Array, middle: Array, here: Array) -> Array:
    """The step from ``middle`` to the lowest point of the quadratic inside the cube, near ``here``."""
    low = np.maximum(-middle, here - middle - _LONGEST)
    high = np.minimum(1.0 - middle, here - middle + _LONGEST)
    step = here - middle
    for _ in range(_SWEEPS):
        for i in range(3):
            slope = gradient[:, i] + np.einsum("mj,mj->m", hessian[:, i], step)
            wanted = step[:, i] - slope / hessian[:, i, i]
            step[:, i] = np.clip(wanted, low[:, i], high[:, i])
    return step
