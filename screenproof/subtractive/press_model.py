"""A press read forwards: values of any number of tints, with bounded memory, and their slopes.

For many tints a compiled kernel does the work on all cores (press_kernel; numba is imported only then), for few
NumPy does. Both agree to 1e-9.
"""

from __future__ import annotations

from math import prod
from typing import TYPE_CHECKING

import numpy as np

from screenproof.appearance import large
from screenproof.spectra import Array
from screenproof.subtractive.halftone import raised

if TYPE_CHECKING:
    from screenproof.subtractive.press import Press

LARGE = 20_000_000
"""Node values to be read (tints, times nodes around each, times bands) from which on the kernel is used: NumPy
does so many in some tenths of a second, and numba alone takes half a second to load."""

_CHUNK = 8192


def is_large(press: Press, count: int) -> bool:
    """Whether so many tints are worth the compiled kernel, and it can be had."""
    cells = press.cells
    return count * prod(cells.order) * cells.bands >= LARGE and large.can_compile()


def values(press: Press, tints: Array, matrix: Array | None = None) -> Array:
    """Values (n, w) of tints (n, c) in 0..1, 1 for white; or their products (n, q) with ``matrix`` (w, q).

    With a matrix the values of all tints are never in memory at once.
    """
    if is_large(press, len(tints)):
        from screenproof.subtractive.press_kernel import compiled_values

        return compiled_values(press, tints, matrix)
    out = np.empty((len(tints), press.cells.bands if matrix is None else matrix.shape[1]))
    for start in range(0, len(tints), _CHUNK):
        part = slice(start, start + _CHUNK)
        value = raised(press.cells.roots(tints[part]), press.n)
        out[part] = value if matrix is None else value @ matrix
    return out


def values_and_slopes(press: Press, tints: Array, matrix: Array) -> tuple[Array, Array]:
    """Products (n, q) of the values of tints (n, c) in 0..1 with ``matrix`` (w, q), and their slopes (n, q, c)."""
    if is_large(press, len(tints)):
        from screenproof.subtractive.press_kernel import compiled_slopes

        return compiled_slopes(press, tints, matrix)
    out = np.empty((len(tints), matrix.shape[1]))
    slopes = np.empty((len(tints), matrix.shape[1], tints.shape[1]))
    for start in range(0, len(tints), _CHUNK):
        part = slice(start, start + _CHUNK)
        roots, rates = press.cells.roots_and_slopes(tints[part])
        out[part] = raised(roots, press.n) @ matrix
        gain = press.n * np.maximum(roots, 0.0) ** (press.n - 1.0)
        slopes[part] = np.einsum("nwc,nw,wq->nqc", rates, gain, matrix, optimize=True)
    return out, slopes
