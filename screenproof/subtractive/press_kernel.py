"""The compiled kernel of a press: values and slopes of very many tints.

The formulae are those of press_cells and press_model, written for one tint at a time with the bands as the inner
loop, so that the compiler does several bands in one instruction. numba is imported with this module, so it is
imported late.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import prod
from typing import TYPE_CHECKING, Any

import numpy as np
from numba import types

from screenproof.appearance import large, vector_math
from screenproof.appearance.vector_math import compiled, power, sources
from screenproof.spectra import Array
from screenproof.subtractive.halftone import DARKEST

if TYPE_CHECKING:
    from screenproof.subtractive.press import Press
    from screenproof.subtractive.press_cells import Cells, Index

SOURCES = sources(__file__, vector_math.__file__)
"""What every kernel of this module returns: see vector_math.sources."""

_PIECE = 2048


@dataclass(frozen=True, eq=False)
class Tables:
    """Cells in plain rows: what belongs to the channels one after the other, with where each begins."""

    knots: Array
    starts: Index
    pieces: Array
    first: Index
    order: Index
    strides: Index
    offsets: Index
    table: Array

    @classmethod
    def of(cls, cells: Cells) -> Tables:
        """offsets: steps in the table from the first node around a tint to each along all channels but the
        last."""
        count = [edge.size for edge in cells.knots]
        offsets = np.zeros(1, dtype=np.intp)
        for order, stride in zip(cells.order[:-1], cells.strides[:-1], strict=True):
            offsets = (offsets[:, None] + np.arange(order) * stride).ravel()
        # One piece more for each channel, so that pieces and knots are counted alike.
        pieces = [np.concatenate([piece, piece[-1:]]) for piece in cells.pieces]
        first = [np.concatenate([cell, cell[-1:]]) for cell in cells.first]
        return cls(
            np.concatenate(cells.knots),
            np.concatenate([[0], np.cumsum(count)]).astype(np.intp),
            np.ascontiguousarray(np.concatenate(pieces)),
            np.concatenate(first).astype(np.intp),
            np.array(cells.order, dtype=np.intp),
            np.array(cells.strides, dtype=np.intp),
            offsets.astype(np.intp),
            cells.table,
        )


def _read(made_of: int) -> Callable[..., int]:
    def kernel(
        tints: Array,
        knots: Array,
        starts: Index,
        pieces: Array,
        first: Index,
        order: Index,
        strides: Index,
        offsets: Index,
        table: Array,
        exponent: float,
        darkest: float,
        matrix: Array,
        out: Array,
        slopes: Array,
    ) -> int:
        """tints (n, c); out (n, w), or (n, q) with matrix (w, q) not empty; slopes (n, q, c), or (0, q, c)."""
        count, channels = tints.shape
        bands = table.shape[1]
        outputs = matrix.shape[1]
        sloped = slopes.shape[0] > 0
        weights = np.zeros((channels, 3, bands))
        rates = np.zeros((channels, 3, bands))
        rows = np.zeros((offsets.size, bands))
        turned = np.zeros((channels if sloped else 1, offsets.size, bands))
        value = np.zeros(bands)
        gain = np.zeros(bands)
        last = channels - 1
        for i in range(count):
            node = 0
            for k in range(channels):
                tint = tints[i, k]
                low, high = starts[k], starts[k + 1] - 2
                while low < high:
                    middle = (low + high + 1) // 2
                    if knots[middle] <= tint:
                        low = middle
                    else:
                        high = middle - 1
                node += first[low] * strides[k]
                t = tint - knots[low]
                two = order[k] == 2
                for b in range(bands):
                    s = ((pieces[low, 0, b] * t + pieces[low, 1, b]) * t + pieces[low, 2, b]) * t + pieces[
                        low, 3, b
                    ]
                    weights[k, 0, b] = 1.0 - s if two else (1.0 - s) * (1.0 - 2.0 * s)
                    weights[k, 1, b] = s if two else 4.0 * s * (1.0 - s)
                    weights[k, 2, b] = s * (2.0 * s - 1.0)
                if sloped:
                    for b in range(bands):
                        c3, c2, c1 = pieces[low, 0, b], pieces[low, 1, b], pieces[low, 2, b]
                        s = ((c3 * t + c2) * t + c1) * t + pieces[low, 3, b]
                        ds = (3.0 * c3 * t + 2.0 * c2) * t + c1
                        rates[k, 0, b] = -ds if two else (4.0 * s - 3.0) * ds
                        rates[k, 1, b] = ds if two else (4.0 - 8.0 * s) * ds
                        rates[k, 2, b] = (4.0 * s - 1.0) * ds
            groups = offsets.size
            for g in range(groups):
                r = node + offsets[g]
                if order[last] == 2:
                    for b in range(bands):
                        rows[g, b] = weights[last, 0, b] * table[r, b] + weights[last, 1, b] * table[r + 1, b]
                    if sloped:
                        for b in range(bands):
                            turned[last, g, b] = (
                                rates[last, 0, b] * table[r, b] + rates[last, 1, b] * table[r + 1, b]
                            )
                else:
                    for b in range(bands):
                        rows[g, b] = (
                            weights[last, 0, b] * table[r, b]
                            + weights[last, 1, b] * table[r + 1, b]
                            + weights[last, 2, b] * table[r + 2, b]
                        )
                    if sloped:
                        for b in range(bands):
                            turned[last, g, b] = (
                                rates[last, 0, b] * table[r, b]
                                + rates[last, 1, b] * table[r + 1, b]
                                + rates[last, 2, b] * table[r + 2, b]
                            )
            for k in range(last - 1, -1, -1):
                size = order[k]
                groups //= size
                for g in range(groups):
                    r = g * size
                    if sloped:
                        for j in range(k + 1, channels):
                            if size == 2:
                                for b in range(bands):
                                    turned[j, g, b] = (
                                        weights[k, 0, b] * turned[j, r, b] + weights[k, 1, b] * turned[j, r + 1, b]
                                    )
                            else:
                                for b in range(bands):
                                    turned[j, g, b] = (
                                        weights[k, 0, b] * turned[j, r, b]
                                        + weights[k, 1, b] * turned[j, r + 1, b]
                                        + weights[k, 2, b] * turned[j, r + 2, b]
                                    )
                        if size == 2:
                            for b in range(bands):
                                turned[k, g, b] = rates[k, 0, b] * rows[r, b] + rates[k, 1, b] * rows[r + 1, b]
                        else:
                            for b in range(bands):
                                turned[k, g, b] = (
                                    rates[k, 0, b] * rows[r, b]
                                    + rates[k, 1, b] * rows[r + 1, b]
                                    + rates[k, 2, b] * rows[r + 2, b]
                                )
                    if size == 2:
                        for b in range(bands):
                            rows[g, b] = weights[k, 0, b] * rows[r, b] + weights[k, 1, b] * rows[r + 1, b]
                    else:
                        for b in range(bands):
                            rows[g, b] = (
                                weights[k, 0, b] * rows[r, b]
                                + weights[k, 1, b] * rows[r + 1, b]
                                + weights[k, 2, b] * rows[r + 2, b]
                            )
            for b in range(bands):
                u = max(rows[0, b], darkest)
                value[b] = power(u, exponent)
                gain[b] = exponent * value[b] / u
            if outputs == 0:
                for b in range(bands):
                    out[i, b] = value[b]
                continue
            for q in range(outputs):
                total = 0.0
                for b in range(bands):
                    total += value[b] * matrix[b, q]
                out[i, q] = total
                if sloped:
                    for k in range(channels):
                        total = 0.0
                        for b in range(bands):
                            total += gain[b] * turned[k, 0, b] * matrix[b, q]
                        slopes[i, q, k] = total
        return made_of

    return kernel


def _plain(kind: Any, axes: int) -> Any:
    return types.Array(kind, axes, "C", readonly=True)


@cache
def _kernel() -> Any:
    number, index = types.float64, types.intp
    signature = types.int64(
        _plain(number, 2),
        _plain(number, 1),
        _plain(index, 1),
        _plain(number, 3),
        *(_plain(index, 1),) * 4,
        _plain(number, 2),
        number,
        number,
        _plain(number, 2),
        types.Array(number, 2, "C"),
        types.Array(number, 3, "C"),
    )
    return compiled(_read(SOURCES), signature)


def _tables(press: Press) -> Tables:
    """Made once for a press, and kept with it."""
    kept: dict[str, Tables] = press.cells.__dict__.setdefault("_tables", {})
    if "of" not in kept:
        kept["of"] = Tables.of(press.cells)
    return kept["of"]


def _run(press: Press, tints: Array, matrix: Array, out: Array, slopes: Array) -> None:
    t, kernel = _tables(press), _kernel()
    at, by = np.ascontiguousarray(tints), np.ascontiguousarray(matrix)
    cost = prod(press.cells.order) * press.cells.bands

    def work(start: int, stop: int) -> None:
        kernel(
            at[start:stop],
            t.knots,
            t.starts,
            t.pieces,
            t.first,
            t.order,
            t.strides,
            t.offsets,
            t.table,
            press.n,
            DARKEST ** (1.0 / press.n),
            by,
            out[start:stop],
            slopes[start:stop],
        )

    large.spread(work, len(at), 1, max(64, _PIECE * 3000 // max(cost, 3000)))


def compiled_values(press: Press, tints: Array, matrix: Array | None) -> Array:
    """press_model.values by the kernel."""
    bands = press.cells.bands
    by = np.zeros((bands, 0)) if matrix is None else matrix
    out = np.empty((len(tints), bands if matrix is None else matrix.shape[1]))
    _run(press, tints, by, out, np.empty((0, by.shape[1], tints.shape[1])))
    return out


def compiled_slopes(press: Press, tints: Array, matrix: Array) -> tuple[Array, Array]:
    """press_model.values_and_slopes by the kernel."""
    out = np.empty((len(tints), matrix.shape[1]))
    slopes = np.empty((len(tints), matrix.shape[1], tints.shape[1]))
    _run(press, tints, matrix, out, slopes)
    return out, slopes
