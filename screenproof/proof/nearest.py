"""The displayable colour that looks nearest: the smallest CIEDE2000 over the whole drive cube.

CIEDE2000 is not convex: the chroma and hue of a colour trade against each other, and near blue its rotation
term bends the valleys, so that the nearest colour by any simpler measure, or the end of one descent, can be
wrong. The search has two steps.

1. The sample is compared with a lattice on the six faces of the cube, even in L* of each channel. The nearest
   node of each face is a start if it is nearer than all its neighbours, those round the edge too.
2. From each start, Newton steps on the square of CIEDE2000, in the three positions, kept in the cube: a
   quadratic from ten values around the point, its smallest value in the box by coordinate descent, and the
   best of a few fractions of that step. A step that does not improve ends the descent.

The cube's inside is open to step 2, but has no start of its own: for a colour outside, moving outwards from
an inner point along one of lightness, chroma and hue brings CIEDE2000 down.

Round the grey axis it need not, for samples that are far outside. CIEDE2000 was fitted to differences of up to
about 5. Between a strong colour and an almost grey one of the opposed hue its mean hue, and with it the
rotation term, mean little, and from some 14 units on it can rate a greenish grey as nearest to a red. The
smallest CIEDE2000 is what is asked for, so samples farther out than 12 units get starts there too. Where the
excess is that large, no colour on the display resembles the sample.
"""

from __future__ import annotations

from collections.abc import Sequence
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
_STENCILS = (1e-3, 1e-4, 1e-5)
_LONGEST = 0.25
_ROUNDS = 30
_SWEEPS = 12
_FAR = 12.0
_GREYS = 41
_TINGES = (0.004, 0.012, 0.025, 0.05, 0.1)
_GREY_STARTS = 12
_GREY_LEAD = 3.0
_SHORT_POLISH = tuple(0.5**halvings for halvings in range(4, 12))
_LONG_POLISH = tuple(0.5**halvings for halvings in range(5, 15) for _ in range(3))
_FRACTIONS = np.array([1.0, 0.5, 0.25, 0.1, 0.03])
_GAIN = 1e-8

# The ten values of a quadratic in three variables: the middle, both sides of each axis, each pair of axes.
_AXES = np.eye(3)
_POINTS = np.vstack([np.zeros(3), _AXES, -_AXES, _AXES[[0, 0, 1]] + _AXES[[1, 2, 2]]])
_PAIRS = ((0, 1), (0, 2), (1, 2))


@lru_cache(maxsize=1)
def _lattice() -> tuple[Array, NDArray[np.intp], NDArray[np.intp]]:
    """Positions (k, 3) of the lattice on the faces; nodes of each face (6, p); neighbours (k, m) of each node."""
    last = _PER_EDGE - 1
    nodes = [node for node in product(range(_PER_EDGE), repeat=3) if 0 in node or last in node]
    number = {node: i for i, node in enumerate(nodes)}
    steps = [step for step in product((-1, 0, 1), repeat=3) if any(step)]
    around = []
    for node in nodes:
        near = [number.get((node[0] + a, node[1] + b, node[2] + c)) for a, b, c in steps]
        around.append([other for other in near if other is not None])
    # Round an edge a node also has neighbours on the next face, so their number differs; itself fills up.
    neighbours = np.tile(np.arange(len(nodes))[:, None], (1, max(map(len, around))))
    for i, found in enumerate(around):
        neighbours[i, : len(found)] = found
    grid = np.array(nodes)
    faces = np.array([np.flatnonzero(grid[:, axis] == end) for axis in range(3) for end in (0, last)])
    return grid / float(last), faces, neighbours


@lru_cache(maxsize=1)
def _near_greys() -> Array:
    """Positions (k, 3) round the grey axis: at each level, off it by a little and by more, to 12 sides."""
    angle = np.radians(np.arange(0.0, 360.0, 30.0))[:, None]
    across = np.array([[2.0, -1.0, -1.0], [0.0, 3.0**0.5, -(3.0**0.5)]]) / 6.0**0.5
    sides = np.cos(angle) * across[0] + np.sin(angle) * across[1]
    tinges = np.concatenate([tinge * sides for tinge in _TINGES])
    levels = np.linspace(0.0, 1.0, _GREYS)[:, None, None]
    return np.asarray(np.clip((levels + tinges).reshape(-1, 3), 0.0, 1.0), dtype=np.float64)


def nearest(lab: Array, reach: Reach) -> tuple[Array, Array]:
    """Drives (n, 3) in 0..1 whose colours are nearest to ``lab`` (n, 3), and their CIEDE2000 (n,) to it.

    ``lab`` is relative to the same white as ``reach``. A colour that the display can show comes out at a
    distance that is small but not exactly 0: ask the display first.
    """
    positions, _, _ = _lattice()
    lattice_lab = reach.lab(positions)
    found, distance = np.empty(lab.shape), np.empty(lab.shape[0])
    for first in range(0, lab.shape[0], _CHUNK):
        part = slice(first, first + _CHUNK)
        owner, start = _starts(de2000(lab[part][:, None], lattice_lab))
        ends, lengths = _lowest(lab[part], owner, positions[start], reach)
        if not reach.smooth:
            ends, lengths = _polish(lab[part], ends, lengths, reach, _SHORT_POLISH)
        found[part], distance[part] = ends, lengths
    far = np.flatnonzero(distance > _FAR)
    if far.size:
        greys = _near_greys()
        grey_lab = reach.lab(greys)
    for first in range(0, far.size, _CHUNK // 8):
        some = far[first : first + _CHUNK // 8]
        to_grey = de2000(lab[some][:, None], grey_lab)
        near = to_grey.min(axis=1) < distance[some] + _GREY_LEAD
        some, to_grey = some[near], to_grey[near]
        start = np.argpartition(to_grey, _GREY_STARTS, axis=1)[:, :_GREY_STARTS]
        owner = np.repeat(np.arange(some.size), _GREY_STARTS)
        ends, lengths = _lowest(lab[some], owner, greys[start.ravel()], reach)
        ends, lengths = _polish(lab[some], ends, lengths, reach, _LONG_POLISH)
        nearer = lengths < distance[some]
        found[some[nearer]], distance[some[nearer]] = ends[nearer], lengths[nearer]
    return reach.drive(found), distance


def _lowest(lab: Array, owner: NDArray[np.intp], start: Array, reach: Reach) -> tuple[Array, Array]:
    """The best end (n, 3) of all descents of each sample, and its CIEDE2000 (n,)."""
    ends, squares = _descend(lab[owner], start, reach, _STENCILS[0])
    # Sorted by sample, then by length, the first descent of each sample is its best.
    order = np.lexsort((squares, owner))
    best = order[np.unique(owner[order], return_index=True)[1]]
    ends, squares = ends[best], squares[best]
    # Where a channel is nearly dark on a very bright display the valley is too sharp for the wide stencil.
    for stencil in _STENCILS[1:]:
        ends, squares = _descend(lab, ends, reach, stencil)
    return ends, np.sqrt(squares)


def _polish(
    lab: Array, position: Array, distance: Array, reach: Reach, steps: Sequence[float]
) -> tuple[Array, Array]:
    """Try the 26 neighbours at shrinking steps: where colours or CIEDE2000 have an edge, Newton may stop early."""
    around = np.array([step for step in product((-1.0, 0.0, 1.0), repeat=3) if any(step)])
    rows = np.arange(len(lab))
    for step in steps:
        tried = np.clip(position[:, None] + step * around, 0.0, 1.0)
        lengths = np.asarray(de2000(lab[:, None], reach.lab(tried)))
        best = lengths.argmin(axis=1)
        better = lengths[rows, best] < distance
        position = np.where(better[:, None], tried[rows, best], position)
        distance = np.where(better, lengths[rows, best], distance)
    return position, distance


def _starts(distance: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Samples and nodes to start from: of the nearest node of each face, those nearer than their neighbours."""
    _, faces, neighbours = _lattice()
    rows = np.arange(len(distance))[:, None]
    best = np.stack([face[distance[:, face].argmin(axis=1)] for face in faces], axis=1)
    length = distance[rows, best]
    lowest = (length[..., None] <= distance[rows[..., None], neighbours[best]]).all(axis=2)
    # A node on an edge is the nearest of two faces, and is needed once.
    for later, earlier in ((i, j) for i in range(6) for j in range(i)):
        lowest[:, later] &= best[:, later] != best[:, earlier]
    ranked = np.where(lowest, length, np.inf)
    kept = lowest & (ranked.argsort(axis=1).argsort(axis=1) < _STARTS)
    sample, place = np.nonzero(kept)
    return sample, best[sample, place]


def _square(wanted: Array, shown: Array) -> Array:
    """Squared CIEDE2000 of Lab (..., 3) that broadcast."""
    distance = de2000(wanted, shown)
    return np.asarray(distance * distance)


def _descend(wanted: Array, start: Array, reach: Reach, stencil: float) -> tuple[Array, Array]:
    """Follow each start (m, 3) down; the positions reached and their squared CIEDE2000."""
    position = start.copy()
    value = _square(wanted, reach.lab(position))
    active = np.arange(len(start))
    for _ in range(_ROUNDS):
        here = position[active]
        middle = np.clip(here, stencil, 1.0 - stencil)
        sought = wanted[active][:, None, :]
        around = _square(sought, reach.lab(middle[:, None, :] + stencil * _POINTS))
        target = middle + _box_minimum(*_quadratic(around, stencil), middle, here)
        trials = here[:, None, :] + _FRACTIONS[:, None] * (target - here)[:, None, :]
        trials = np.clip(trials, 0.0, 1.0)
        values = _square(sought, reach.lab(trials))
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


def _quadratic(values: Array, stencil: float) -> tuple[Array, Array]:
    """Gradient (m, 3) and Hessian (m, 3, 3), made positive, from the ten values (m, 10) of the stencil."""
    middle, plus, minus, pairs = values[:, :1], values[:, 1:4], values[:, 4:7], values[:, 7:]
    gradient = (plus - minus) / (2.0 * stencil)
    hessian = np.empty((len(values), 3, 3))
    for i in range(3):
        hessian[:, i, i] = plus[:, i] - 2.0 * middle[:, 0] + minus[:, i]
    for pair, (i, j) in enumerate(_PAIRS):
        cross = pairs[:, pair] - plus[:, i] - plus[:, j] + middle[:, 0]
        hessian[:, i, j] = hessian[:, j, i] = cross
    hessian /= stencil**2
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
