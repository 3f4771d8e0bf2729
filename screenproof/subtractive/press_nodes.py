"""Values of a press at the nodes of its grid: measured where they were, and otherwise worked out from what was.

Three steps, each made better by the next.

1. Stock, solids and overprints of solids. An overprint that was not measured is the product of transmittances;
   where overprints of some of its inks were measured, what they differ from their product by is kept; and where
   tints of the same inks were measured, it is moved towards what they ask for by the Neugebauer equation.
2. The full grid over all channels, if there is one.
3. A finer grid with the levels of all other grids, and of patches that stand in no grid.

A node of a step that was not measured takes the prediction of the step before plus the errors of that
prediction at the measured patches, carried over by a thin-plate spline (Duchon 1977, Lecture Notes in Math.
571, 85-100) in the coverages of the inks. A node that is stronger in some ink than any patch of the same inks
lies beyond what was measured: it takes the prediction of the step before alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array
from screenproof.subtractive.halftone import DARKEST, demichel, raised, root
from screenproof.subtractive.press import BETWEEN, ESTIMATED, MEASURED
from screenproof.subtractive.press_cells import Cells
from screenproof.subtractive.press_curves import CoverageCurve
from screenproof.subtractive.press_grids import STEPS, Codes, codes_of

MOST_NUMBERS = 3_000_000
"""Numbers in the finest table (nodes with their middles, times bands): 24 MB."""

CREDENCE = 0.0025
"""Square of the error of a tint by the Neugebauer equation (some 0.005 of root reflectance) over that of a product
of transmittances (some 0.1): how an overprint is weighed between the two."""

SPREAD = (0.5, 0.25, 0.75, 0.12, 0.38)
"""Coverages at which levels are put for patches that stand in no grid, the most useful first."""

_CLOSE = 0.02
_NEAR_ENOUGH = 0.1
_SCATTERED = 12
_ALL_AT_ONCE = 2000


@dataclass(frozen=True, eq=False)
class ChartPatches:
    """Unlike patches: device (n, c) in 0..1, values (n, w) on the scale where 1 is white."""

    device: Array
    values: Array

    def select(self, chosen: NDArray[np.bool_]) -> ChartPatches:
        return ChartPatches(self.device[chosen], self.values[chosen])

    def rows(self, nodes: Array) -> NDArray[np.intp]:
        """Which patch (m,) stands at each of nodes (m, c), -1 where none does."""
        mine, theirs = codes_of(self.device), codes_of(nodes)
        place = {tuple(code): row for row, code in enumerate(mine.tolist())}
        return np.array([place.get(tuple(code), -1) for code in theirs.tolist()], dtype=np.intp)


def grid_nodes(levels: Sequence[Array]) -> Array:
    """All combinations (m, c) of the levels, the last channel fastest."""
    return np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, len(levels))


def supported(nodes: Array, device: Array) -> NDArray[np.bool_]:
    """Whether a patch of the same inks is at least as strong in each: nodes (m, c), device (n, c); (m,)."""
    slack = 0.5 / STEPS
    answer = np.zeros(len(nodes), dtype=bool)
    used, printed = nodes > slack, device > slack
    for inks in np.unique(used, axis=0):
        mine = (used == inks).all(axis=1)
        theirs = device[(printed == inks).all(axis=1)]
        # Only the strongest patches can say yes.
        stronger = theirs[np.argsort(-theirs.sum(axis=1))]
        for patch in stronger:
            left = mine & ~answer
            if not left.any():
                break
            answer[left] = (nodes[left] <= patch + slack).all(axis=1)
    return answer


def overprints(patches: ChartPatches, channels: int) -> tuple[Array, NDArray[np.bool_]]:
    """Values (2^c, w) of the stock, solids and overprints, and which were measured.

    One that was not is the mean of two estimates, in logarithms. In the first it is the sum over the sets of its
    inks of what each set adds to its parts (Moebius inversion), a set that was not measured adding nothing. In the
    second, one ink on the overprint of the others, whichever that is, as product of transmittances. On nine
    published characterisations, overprints of three and four inks were up to 24 CIEDE2000 off as product of all
    transmittances, up to 18 by either estimate, up to 15 by their mean. Of two inks all are the plain product.
    """
    nodes = grid_nodes([np.array([0.0, 1.0])] * channels)
    rows = patches.rows(nodes)
    measured = rows >= 0
    logs = np.zeros((len(nodes), patches.values.shape[1]))
    logs[measured] = np.log(np.maximum(patches.values[rows[measured]], DARKEST))
    adds = np.zeros_like(logs)
    adds[0] = logs[0]
    weight = [1 << (channels - 1 - k) for k in range(channels)]
    for inks in sorted(range(1, len(nodes)), key=lambda s: s.bit_count()):
        known = adds[_subsets(inks)].sum(axis=0)
        if not measured[inks]:
            on_the_others = [logs[inks ^ one] + logs[one] - logs[0] for one in weight if inks & one]
            logs[inks] = 0.5 * (known + np.mean(on_the_others, axis=0))
        else:
            adds[inks] = logs[inks] - known
    return np.exp(logs), measured


def _subsets(inks: int) -> list[int]:
    """All sets of inks in ``inks`` but itself, as bits, the empty one first."""
    found, part = [], (inks - 1) & inks
    while part:
        found.append(part)
        part = (part - 1) & inks
    return [0, *reversed(found)]


def mended(
    patches: ChartPatches, curves: Sequence[CoverageCurve], n: float, values: Array, measured: NDArray[np.bool_]
) -> Array:
    """Roots (2^c, w) of overprints, those not measured moved towards what measured tints ask for.

    values, measured: of :func:`overprints`. The Neugebauer equation is linear in the roots, so they are found
    by least squares, with the estimates as prior (ridge regression: Hoerl & Kennard 1970, Technometrics 12,
    55-67).
    """
    roots = root(values, n)
    unknown = np.flatnonzero(~measured)
    areas = demichel(np.clip(coverages(curves, patches.device), 0.0, 1.0))
    telling = areas[:, unknown].sum(axis=1) > 0.01
    if not telling.any():
        return roots
    share = areas[telling][:, unknown]
    errors = root(patches.values[telling], n) - areas[telling] @ roots
    normal = share.T @ share + CREDENCE * np.eye(len(unknown))
    lowest = DARKEST ** (1.0 / n)
    roots[unknown] = np.clip(roots[unknown] + np.linalg.solve(normal, share.T @ errors), lowest, roots.max(axis=0))
    return roots


def fill(
    patches: ChartPatches,
    curves: Sequence[CoverageCurve],
    n: float,
    base_levels: Sequence[Array],
    levels: Sequence[Array],
    smoothing: float,
) -> tuple[Array, NDArray[np.int8]]:
    """Values (L1, ..., Lc, w) at the nodes of ``levels``, and where each comes from.

    base_levels: of the full grid over all channels (0 and 1 for each if there is none), a part of ``levels``.
    smoothing: of :func:`carried`.
    """
    channels, bands = len(levels), patches.values.shape[1]
    ends = [np.array([0.0, 1.0])] * channels
    values, measured = overprints(patches, channels)
    values = raised(mended(patches, curves, n, values, measured), n)
    support = np.where(measured, MEASURED, ESTIMATED).astype(np.int8)
    known: Sequence[Array] = ends
    for finer in (base_levels, levels):
        if all(len(a) == len(b) for a, b in zip(known, finer, strict=True)):
            continue
        cells = Cells.of(curves, known, root(values, n).reshape([len(lv) for lv in known] + [bands]))
        values, support = _finer(patches, curves, n, cells, finer, smoothing)
        known = finer
    shape = [len(level) for level in levels]
    return values.reshape([*shape, bands]), support.reshape(shape)


def _finer(
    patches: ChartPatches,
    curves: Sequence[CoverageCurve],
    n: float,
    cells: Cells,
    levels: Sequence[Array],
    smoothing: float,
) -> tuple[Array, NDArray[np.int8]]:
    nodes = grid_nodes(levels)
    rows = patches.rows(nodes)
    measured = rows >= 0
    roots = cells.roots(nodes)
    roots[measured] = root(patches.values[rows[measured]], n)
    between = ~measured
    between[between] = supported(nodes[between], patches.device)
    if between.any():
        errors = root(patches.values, n) - cells.roots(patches.device)
        roots[between] += carried(
            coverages(curves, patches.device), errors, coverages(curves, nodes[between]), smoothing
        )
    support = np.where(measured, MEASURED, np.where(between, BETWEEN, ESTIMATED)).astype(np.int8)
    return np.maximum(roots, DARKEST ** (1.0 / n)) ** n, support


def coverages(curves: Sequence[CoverageCurve], device: Array) -> Array:
    """Coverages (n, c) of the inks as a whole: where patches lie for the spline."""
    return np.stack([curve.whole_at(device[:, k]) for k, curve in enumerate(curves)], axis=1)


def carried(places: Array, errors: Array, to: Array, smoothing: float) -> Array:
    """Errors (n, w) at places (n, c) carried over to places (m, c) by a thin-plate spline.

    smoothing: how far it may pass by the errors, 0 for through all of them (which magnifies the noise of readings
    where patches lie close). Of more than 2,000 errors as many are taken, drawn at random: the cost grows with the
    third power.
    """
    from scipy.interpolate import RBFInterpolator

    if len(places) > _ALL_AT_ONCE:
        drawn = np.random.default_rng(20654).choice(len(places), _ALL_AT_ONCE, replace=False)
        places, errors = places[drawn], errors[drawn]
    spline = RBFInterpolator(places, errors, kernel="thin_plate_spline", degree=1, smoothing=smoothing)
    return np.asarray(spline(to), dtype=np.float64)


def choose_levels(
    device: Array, curves: Sequence[CoverageCurve], wanted: Sequence[Sequence[Sequence[float]]], bands: int
) -> tuple[list[Array], list[Array]]:
    """The levels of the full grid over all channels, and those of the finest grid.

    wanted: levels by channel of the full grids, the one over all channels first (or 0 and 1). Taken up as long as
    the finest table stays below MOST_NUMBERS, where two would not be all but one. If a dozen patches or more
    stand in no grid, the channels that they use get levels in between for them.
    """
    chosen = [[0.0, 1.0] for _ in curves]
    base: list[Array] = []
    for grid in wanted:
        for channel, level in _widest_first(grid, curves):
            _take(chosen, channel, level, curves, _CLOSE, bands)
        if not base:
            base = [np.array(sorted(levels)) for levels in chosen]
    inks = device[(device > 0.0).sum(axis=1) > 1]
    scattered = inks[~_on_grid(codes_of(inks), chosen)]
    if len(scattered) >= _SCATTERED:
        halfway = (scattered > 0.0) & (scattered < 1.0)
        for target in SPREAD:
            for channel in np.flatnonzero(halfway.sum(axis=0) >= _SCATTERED // 2).tolist():
                level = round(float(curves[channel].tint_of(np.array([target]))[0]), 2)
                _take(chosen, channel, level, curves, _NEAR_ENOUGH, bands)
    return base, [np.array(sorted(levels)) for levels in chosen]


def _on_grid(codes: Codes, levels: Sequence[Sequence[float]]) -> NDArray[np.bool_]:
    inside = np.ones(len(codes), dtype=bool)
    for channel, level in enumerate(levels):
        inside &= np.isin(codes[:, channel], np.rint(np.array(level) * STEPS).astype(np.int64))
    return inside


def _widest_first(grid: Sequence[Sequence[float]], curves: Sequence[CoverageCurve]) -> list[tuple[int, float]]:
    """Channels and levels of a grid, those first that stand farthest from bare stock and solid."""
    every = [(channel, level) for channel, levels in enumerate(grid) for level in levels if 0.0 < level < 1.0]
    return sorted(every, key=lambda one: abs(float(curves[one[0]].whole_at(np.array([one[1]]))[0]) - 0.5))


def _take(
    chosen: list[list[float]],
    channel: int,
    level: float,
    curves: Sequence[CoverageCurve],
    close: float,
    bands: int,
) -> None:
    mine = chosen[channel]
    if any(abs(level - other) < 0.5 / STEPS for other in mine):
        return
    places = curves[channel].whole_at(np.array([level, *mine]))
    sizes = [1 if len(lv) == 2 else len(lv) - 1 for lv in chosen]
    sizes[channel] = len(mine)
    finest = bands * prod(2 if size == 1 else 2 * size + 1 for size in sizes)
    if np.abs(places[1:] - places[0]).min() >= close and finest <= MOST_NUMBERS:
        mine.append(level)
