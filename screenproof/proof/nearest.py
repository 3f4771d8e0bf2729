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

from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import de2000, large
from screenproof.proof.reach import Reach
from screenproof.spectra import Array

Distance = Callable[[Array, Array], Array]

_PER_EDGE = 9
_STARTS = 4
_CHUNK, _FAR_CHUNK = 1024, 128
_MANY = 1500
_STENCILS = (1e-3, 1e-4, 1e-5)
_LONGEST = 0.25
_ROUNDS = 30
_SWEEPS = 12
_FAR = 12.0
_GREYS = 41
_TINGES = (0.004, 0.012, 0.025, 0.05, 0.1)
_GREY_STARTS = 12
_GREY_LEAD = 10.0
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
    distance that is small but not exactly 0: ask the display first. Works in pieces, on all cores.
    """
    search = _Search(reach, _distance_for(len(lab)))
    found, length = np.empty(lab.shape), np.empty(len(lab))

    def work(start: int, stop: int) -> None:
        found[start:stop], length[start:stop] = search.nearest(lab[start:stop])

    large.spread(work, len(lab), 1, _CHUNK)
    far = np.flatnonzero(length > _FAR)

    def work_far(start: int, stop: int) -> None:
        some = far[start:stop]
        found[some], length[some] = search.near_grey(lab[some], found[some], length[some])

    large.spread(work_far, len(far), 1, _FAR_CHUNK)
    return reach.drive(found), length


def _distance_for(samples: int) -> Distance:
    """CIEDE2000 of Lab (m, k, 3) that broadcast; compiled where so many samples make the loading worth it."""
    if samples < _MANY or not large.can_compile():
        return lambda wanted, shown: np.asarray(de2000(wanted, shown))
    from screenproof.appearance.kernels import de2000_kernel

    kernel = de2000_kernel()

    def distance(wanted: Array, shown: Array) -> Array:
        shape = np.broadcast_shapes(wanted.shape, shown.shape)
        out = np.empty(shape[:-1])
        kernel(np.broadcast_to(wanted, shape), np.broadcast_to(shown, shape), 1.0, 1.0, 1.0, out)
        return out

    return distance


class _Search:
    """The search on one display. Lab and positions are (m, 3), lengths (CIEDE2000) (m,)."""

    def __init__(self, reach: Reach, distance: Distance) -> None:
        self.reach, self.distance = reach, distance
        self.lattice, _, _ = _lattice()
        self.lattice_lab = reach.lab(self.lattice)[None]
        self.greys = _near_greys()
        self.greys_lab = reach.lab(self.greys)[None]

    def nearest(self, lab: Array) -> tuple[Array, Array]:
        """Positions that are nearest, from starts on the faces, and how far they are."""
        owner, node = _starts(self.distance(lab[:, None], self.lattice_lab))
        ends, lengths = self.lowest(lab, owner, self.lattice[node])
        if not self.reach.smooth:
            ends, lengths = self.polish(lab, ends, lengths, _SHORT_POLISH)
        return ends, lengths

    def near_grey(self, lab: Array, position: Array, length: Array) -> tuple[Array, Array]:
        """The same from starts round the grey axis, where that is nearer than what is known."""
        to_grey = self.distance(lab[:, None], self.greys_lab)
        some = np.flatnonzero(to_grey.min(axis=1) < length + _GREY_LEAD)
        start = np.argpartition(to_grey[some], _GREY_STARTS, axis=1)[:, :_GREY_STARTS]
        owner = np.repeat(np.arange(some.size), _GREY_STARTS)
        ends, lengths = self.lowest(lab[some], owner, self.greys[start.ravel()])
        ends, lengths = self.polish(lab[some], ends, lengths, _LONG_POLISH)
        nearer = lengths < length[some]
        position[some[nearer]], length[some[nearer]] = ends[nearer], lengths[nearer]
        return position, length

    def lowest(self, lab: Array, owner: NDArray[np.intp], start: Array) -> tuple[Array, Array]:
        """The best end of all descents of each sample; ``owner`` tells whose each start is."""
        ends, squares = self.descend(lab[owner], start, _STENCILS[0])
        # Sorted by sample, then by length, the first descent of each sample is its best.
        order = np.lexsort((squares, owner))
        best = order[np.unique(owner[order], return_index=True)[1]]
        ends, squares = ends[best], squares[best]
        # Where a channel is nearly dark on a very bright display the valley is too sharp for the wide stencil.
        for stencil in _STENCILS[1:]:
            ends, squares = self.descend(lab, ends, stencil, squares)
        return ends, np.sqrt(squares)

    def square(self, wanted: Array, position: Array) -> Array:
        """Squared CIEDE2000 (m, k) of Lab (m, 1, 3) to what positions (m, k, 3) show."""
        length = self.distance(wanted, self.reach.lab(position))
        return length * length

    def descend(self, lab: Array, start: Array, stencil: float, value: Array | None = None) -> tuple[Array, Array]:
        """Follow each start down; the positions reached and their squared CIEDE2000."""
        position = start.copy()
        value = self.square(lab[:, None], position[:, None])[:, 0] if value is None else value.copy()
        active = np.arange(len(start))
        for _ in range(_ROUNDS):
            here, wanted = position[active], lab[active][:, None]
            middle = np.clip(here, stencil, 1.0 - stencil)
            around = self.square(wanted, middle[:, None] + stencil * _POINTS)
            target = middle + _box_minimum(*_quadratic(around, stencil), middle, here)
            trials = np.clip(here[:, None] + _FRACTIONS[:, None] * (target - here)[:, None], 0.0, 1.0)
            values = self.square(wanted, trials)
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

    def polish(self, lab: Array, position: Array, length: Array, steps: Sequence[float]) -> tuple[Array, Array]:
        """Try the 26 neighbours at shrinking steps: at an edge of the colours or of CIEDE2000 Newton may stop."""
        around = np.array([step for step in product((-1.0, 0.0, 1.0), repeat=3) if any(step)])
        rows = np.arange(len(lab))
        for step in steps:
            tried = np.clip(position[:, None] + step * around, 0.0, 1.0)
            lengths = self.distance(lab[:, None], self.reach.lab(tried))
            best = lengths.argmin(axis=1)
            better = lengths[rows, best] < length
            position = np.where(better[:, None], tried[rows, best], position)
            length = np.where(better, lengths[rows, best], length)
        return position, length


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
