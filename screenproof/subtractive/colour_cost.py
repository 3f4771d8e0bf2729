"""The square of CIEDE2000 from a wanted colour, with slope and curvature: what a descent through tints needs.

CIEDE2000 has no derivative in closed form worth writing. A quadratic is laid through ten values around the colour;
its curvature is made positive where it is not, so that it has a lowest point.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from screenproof.appearance import de2000, large
from screenproof.spectra import Array
from screenproof.subtractive.colour_stencil import LEAST_CURVATURE, POINTS, STENCIL

_PAIRS = ((0, 1), (0, 2), (1, 2))
_KERNEL_ROWS = 4000


def squared_difference(wanted: Array, lab: Array) -> Array:
    """Square of CIEDE2000 of colours (..., 3) that broadcast, (...)."""
    return np.asarray(de2000(wanted, lab)) ** 2


def quadratic(wanted: Array, lab: Array) -> tuple[Array, Array, Array]:
    """Square of CIEDE2000 (n,) of colours (n, 3) from the wanted (n, 3), its slope (n, 3), its curvature (n, 3,
    3)."""
    if len(lab) >= _KERNEL_ROWS and large.can_compile():
        from screenproof.subtractive.colour_kernel import compiled_quadratic

        return compiled_quadratic(wanted, lab)
    return laid_through(lambda around: squared_difference(wanted[:, None, :], around), lab)


def laid_through(cost: Callable[[Array], Array], lab: Array) -> tuple[Array, Array, Array]:
    """Value (n,), slope (n, 3) and positive curvature (n, 3, 3) around colours (n, 3) of a cost of (n, k, 3)."""
    around = cost(lab[:, None, :] + POINTS)
    middle, plus, minus, pairs = around[:, :1], around[:, 1:4], around[:, 4:7], around[:, 7:]
    slope = (plus - minus) / (2.0 * STENCIL)
    bend = np.empty((len(lab), 3, 3))
    for i in range(3):
        bend[:, i, i] = plus[:, i] - 2.0 * middle[:, 0] + minus[:, i]
    for pair, (i, j) in enumerate(_PAIRS):
        bend[:, i, j] = bend[:, j, i] = pairs[:, pair] - plus[:, i] - plus[:, j] + middle[:, 0]
    return middle[:, 0], slope, made_positive(bend / STENCIL**2)


def made_positive(bend: Array) -> Array:
    """Curvatures (n, 3, 3) with the pivots of their elimination not below LEAST_CURVATURE."""
    a, b, c = bend[:, 0, 0], bend[:, 0, 1], bend[:, 0, 2]
    d0 = np.maximum(a, LEAST_CURVATURE)
    l10, l20 = b / d0, c / d0
    d1 = np.maximum(bend[:, 1, 1] - l10 * b, LEAST_CURVATURE)
    e = bend[:, 1, 2] - l20 * b
    l21 = e / d1
    d2 = np.maximum(bend[:, 2, 2] - l20 * c - l21 * e, LEAST_CURVATURE)
    out = np.empty_like(bend)
    out[:, 0, 0] = d0
    out[:, 0, 1] = out[:, 1, 0] = l10 * d0
    out[:, 0, 2] = out[:, 2, 0] = l20 * d0
    out[:, 1, 1] = l10 * l10 * d0 + d1
    out[:, 1, 2] = out[:, 2, 1] = l10 * l20 * d0 + l21 * d1
    out[:, 2, 2] = l20 * l20 * d0 + l21 * l21 * d1 + d2
    return out
