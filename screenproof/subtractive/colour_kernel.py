"""The compiled kernel of colour_cost: the quadratic of the square of CIEDE2000 around very many colours.

The formulae are those of colour_cost, for one pair at a time. numba is imported with this module, so it is
imported late.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numba import types

from screenproof.appearance import kernels, large, vector_math
from screenproof.appearance.kernels import de2000_pair
from screenproof.appearance.vector_math import compiled, sources
from screenproof.spectra import Array
from screenproof.subtractive import colour_stencil
from screenproof.subtractive.colour_stencil import LEAST_CURVATURE, POINTS, STENCIL

SOURCES = sources(__file__, colour_stencil.__file__, kernels.__file__, vector_math.__file__)
"""What the kernel returns: see vector_math.sources."""

_PIECE = 2048


def _quadratic(made_of: int) -> Callable[..., int]:
    steps = POINTS

    def kernel(wanted: Array, lab: Array, value: Array, slope: Array, bend: Array) -> int:
        """wanted, lab (n, 3); value (n, 1); slope (n, 3); bend (n, 9)."""
        v = np.zeros(10)
        for i in range(lab.shape[0]):
            for p in range(10):
                apart = de2000_pair(
                    wanted[i, 0],
                    wanted[i, 1],
                    wanted[i, 2],
                    lab[i, 0] + steps[p, 0],
                    lab[i, 1] + steps[p, 1],
                    lab[i, 2] + steps[p, 2],
                    1.0,
                    1.0,
                    1.0,
                )
                v[p] = apart * apart
            value[i, 0] = v[0]
            for j in range(3):
                slope[i, j] = (v[1 + j] - v[4 + j]) / (2.0 * STENCIL)
            square = STENCIL * STENCIL
            a = (v[1] - 2.0 * v[0] + v[4]) / square
            d = (v[2] - 2.0 * v[0] + v[5]) / square
            f = (v[3] - 2.0 * v[0] + v[6]) / square
            b = (v[7] - v[1] - v[2] + v[0]) / square
            c = (v[8] - v[1] - v[3] + v[0]) / square
            e = (v[9] - v[2] - v[3] + v[0]) / square
            d0 = max(a, LEAST_CURVATURE)
            l10 = b / d0
            l20 = c / d0
            d1 = max(d - l10 * b, LEAST_CURVATURE)
            l21 = (e - l20 * b) / d1
            d2 = max(f - l20 * c - l21 * (e - l20 * b), LEAST_CURVATURE)
            bend[i, 0] = d0
            bend[i, 1] = bend[i, 3] = b
            bend[i, 2] = bend[i, 6] = c
            bend[i, 4] = l10 * l10 * d0 + d1
            bend[i, 5] = bend[i, 7] = l10 * l20 * d0 + l21 * d1
            bend[i, 8] = l20 * l20 * d0 + l21 * l21 * d1 + d2
        return made_of

    return kernel


@cache
def _kernel() -> Any:
    rows, out = types.Array(types.float64, 2, "C", readonly=True), types.Array(types.float64, 2, "C")
    return compiled(_quadratic(SOURCES), types.int64(rows, rows, out, out, out))


def compiled_quadratic(wanted: Array, lab: Array) -> tuple[Array, Array, Array]:
    """colour_cost.quadratic by the kernel."""
    kernel, count = _kernel(), len(lab)
    first, second = np.ascontiguousarray(wanted), np.ascontiguousarray(lab)
    value, slope, bend = np.empty((count, 1)), np.empty((count, 3)), np.empty((count, 9))

    def work(start: int, stop: int) -> None:
        part = slice(start, stop)
        kernel(first[part], second[part], value[part], slope[part], bend[part])

    large.spread(work, count, 1, _PIECE)
    return value[:, 0], slope, bend.reshape(-1, 3, 3)
