"""The cellular Neugebauer model: values between the nodes of a grid of tints, and their slopes.

Nodes are the stock, the solids, their overprints and whatever other combinations of tints are known. Between them
the values^(1/n) are interpolated in the effective coverage of each ink and band. With two levels, 0 and full tint,
this is the Neugebauer equation with Demichel's areas and Yule and Nielsen's n. With more levels the plain
cellular form (straight within a cell: Heuberger, Jing & Persiev 1992, TAGA Proc. 44, 614-631) leaves a bend unseen
that two cells already show; so the middle of each cell is made a node of its own, from the parabolas through
neighbouring nodes, held where it keeps the cell free of turning points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array
from screenproof.subtractive.press_curves import CoverageCurve

Index = NDArray[np.intp]

STRAIGHT = 0.25
"""How far a cell's middle may stray from the mean of its ends, in differences of the ends. A parabola through
0, 1/2 + d and 1 rises all the way for d up to 1/4, and beyond that has a top inside the cell."""

_PIECE_NUMBERS = 400_000


def with_middles(nodes: Array, axis: int, coverage: Array) -> Array:
    """Node roots (..., L, ..., w) with the middles of the cells of one axis put in, L to 2L - 1.

    coverage: (L, w) of the levels of that axis. Two levels stay two: one cell shows no bend.
    """
    values = np.moveaxis(nodes, axis, 0)
    count = values.shape[0]
    if count == 2:
        return nodes
    place = coverage.reshape((count,) + (1,) * (values.ndim - 2) + (coverage.shape[1],))
    rise, width = np.diff(values, axis=0), np.diff(place, axis=0)
    # Second divided differences: the bend of the parabola through three neighbours.
    bend = np.diff(rise / width, axis=0) / (place[2:] - place[:-2])
    inner = 0.5 * (bend[1:] + bend[:-1])
    stray = -((0.5 * width) ** 2) * np.concatenate([bend[:1], inner, bend[-1:]])
    most = STRAIGHT * np.abs(rise)
    fine = np.empty((2 * count - 1,) + values.shape[1:])
    fine[::2] = values
    fine[1::2] = 0.5 * (values[1:] + values[:-1]) + np.clip(stray, -most, most)
    return np.moveaxis(fine, 0, axis)


@dataclass(frozen=True, eq=False)
class Cells:
    """The nodes of a press ready to be read at any tints.

    knots: per channel the tints (s + 1,) between which one polynomial holds. pieces: per channel (s, 4, w), the
    place 0..1 in the cell as a cubic of (tint - knot), highest power first. first: per channel (s,) the first
    node of the cell on that axis. order: nodes of a cell on each axis, 2 or 3. strides: steps in the flat table
    for one node along each axis. table: (m, w) roots of all nodes.
    """

    knots: tuple[Array, ...]
    pieces: tuple[Array, ...]
    first: tuple[Index, ...]
    order: tuple[int, ...]
    strides: tuple[int, ...]
    table: Array

    @classmethod
    def of(cls, curves: Sequence[CoverageCurve], levels: Sequence[Array], nodes: Array) -> Cells:
        """From the tone value curves, the levels (L,) of each channel, and node roots (L1, ..., Lc, w)."""
        knots, pieces, first, order = [], [], [], []
        for channel, (curve, level) in enumerate(zip(curves, levels, strict=True)):
            at = curve.at(level)
            nodes = with_middles(nodes, channel, at)
            edge = np.union1d(curve.tints, level)
            left = edge[:-1]
            cell = np.searchsorted(level, left, side="right") - 1
            segment = np.searchsorted(curve.tints, left, side="right") - 1
            c3, c2, c1, c0 = curve.pieces[:, segment]
            d = (left - curve.tints[segment])[:, None]
            shifted = [c3, c2 + 3 * c3 * d, c1 + (2 * c2 + 3 * c3 * d) * d, c0 + (c1 + (c2 + c3 * d) * d) * d]
            shifted[3] = shifted[3] - at[cell]
            pieces.append(np.stack(shifted, axis=1) / (at[cell + 1] - at[cell])[:, None, :])
            knots.append(edge)
            order.append(2 if level.size == 2 else 3)
            first.append(cell * (order[-1] - 1))
        shape = nodes.shape[:-1]
        strides = tuple(prod(shape[k + 1 :]) for k in range(len(shape)))
        table = np.ascontiguousarray(nodes.reshape(-1, nodes.shape[-1]))
        return cls(tuple(knots), tuple(pieces), tuple(first), tuple(order), strides, table)

    @property
    def bands(self) -> int:
        """How many bands there are."""
        return int(self.table.shape[1])

    def roots(self, tints: Array) -> Array:
        """Roots (n, w) at tints (n, c) in 0..1."""
        out = np.empty((len(tints), self.bands))
        for part in self._parts(len(tints)):
            index, weights, _ = self._local(tints[part], False)
            out[part] = self._contracted(self.table[index], weights)
        return out

    def roots_and_slopes(self, tints: Array) -> tuple[Array, Array]:
        """Roots (n, w) at tints (n, c) in 0..1 and their derivatives (n, w, c) by each tint."""
        out = np.empty((len(tints), self.bands))
        slopes = np.empty((len(tints), self.bands, len(self.knots)))
        for part in self._parts(len(tints)):
            index, weights, rates = self._local(tints[part], True)
            around = self.table[index]
            out[part] = self._contracted(around, weights)
            for channel in range(len(self.knots)):
                mixed = [*weights[:channel], rates[channel], *weights[channel + 1 :]]
                slopes[part, :, channel] = self._contracted(around, mixed)
        return out, slopes

    def _parts(self, count: int) -> list[slice]:
        step = max(1, _PIECE_NUMBERS // (prod(self.order) * self.bands))
        return [slice(start, start + step) for start in range(0, count, step)]

    def _local(self, tints: Array, slopes: bool) -> tuple[Index, list[Array], list[Array]]:
        """Nodes (n, k) around each tint, and per channel their weights, and rates of those, (n, order, w)."""
        index = np.zeros((len(tints), 1), dtype=np.intp)
        weights, rates = [], []
        for channel, edge in enumerate(self.knots):
            tint = tints[:, channel]
            piece = np.clip(np.searchsorted(edge, tint, side="right") - 1, 0, edge.size - 2)
            t = (tint - edge[piece])[:, None]
            c = self.pieces[channel][piece]
            s = ((c[:, 0] * t + c[:, 1]) * t + c[:, 2]) * t + c[:, 3]
            two = self.order[channel] == 2
            parts = (
                [1.0 - s, s] if two else [(1.0 - s) * (1.0 - 2.0 * s), 4.0 * s * (1.0 - s), s * (2.0 * s - 1.0)]
            )
            weights.append(np.stack(parts, axis=1))
            if slopes:
                ds = (3.0 * c[:, 0] * t + 2.0 * c[:, 1]) * t + c[:, 2]
                parts = [-ds, ds] if two else [(4.0 * s - 3.0) * ds, (4.0 - 8.0 * s) * ds, (4.0 * s - 1.0) * ds]
                rates.append(np.stack(parts, axis=1))
            steps = self.first[channel][piece][:, None] + np.arange(self.order[channel])
            index = (index[:, :, None] + (steps * self.strides[channel])[:, None, :]).reshape(len(tints), -1)
        return index, weights, rates

    def _contracted(self, around: Array, weights: Sequence[Array]) -> Array:
        """Sum (n, w) of node values (n, k, w) times the product of the weights, last channel first."""
        for channel in range(len(weights) - 1, -1, -1):
            parts = around.reshape(len(around), -1, self.order[channel], self.bands)
            around = np.einsum("nkjw,njw->nkw", parts, weights[channel])
        return around[:, 0]
