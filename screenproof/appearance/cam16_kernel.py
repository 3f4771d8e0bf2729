"""Compiled kernel: XYZ through CIECAM16 and CAM16-UCS to the difference from a reference, in one pass.

The model is that of :mod:`cam16`, which gives the equations and their source, written for one colour at a time;
the tests hold the two together.

numba is imported with this module, so it is imported late.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numba import types

from screenproof.appearance import cam16, vector_math
from screenproof.appearance.adaptation import CAT16
from screenproof.appearance.cam16 import Q_HIGH, Q_LOW, CamConditions, power_law, slope_high
from screenproof.appearance.vector_math import ANSWER, colours, compiled, inlined, logarithm, power, sources
from screenproof.spectra import Array

BLOCK = 256
"""Pairs in one block; with the numbers of their conditions they fit into the second-level cache."""

SOURCES = sources(__file__, vector_math.__file__, cam16.__file__)
"""What the kernel returns."""

# Columns of the table of conditions: nine of a matrix, then one each.
_MATRIX, _LEVEL, _LOW, _HIGH, _STEEP = 0, 9, 10, 11, 12
_ACHROMATIC, _EXPONENT, _P1, _COLOURFUL, _COUNT = 13, 14, 15, 16, 17

_C2, _S2 = math.cos(2.0), math.sin(2.0)


def cam16_numbers(cond: CamConditions, ways: tuple[int, ...]) -> Array:
    """What the kernel needs of conditions that broadcast to the axes ``ways``: (k, 17), k their product."""
    at = cond.derived
    out = np.empty((*ways, _COUNT))
    out[..., _MATRIX : _MATRIX + 9] = (at.gain[..., np.newaxis] * CAT16).reshape(*at.gain.shape[:-1], 9)
    out[..., _LEVEL] = at.fl / 100.0
    out[..., _LOW] = power_law(Q_LOW, at.fl) / Q_LOW
    out[..., _HIGH] = power_law(Q_HIGH, at.fl)
    out[..., _STEEP] = slope_high(at.fl)
    out[..., _ACHROMATIC] = at.nbb / at.aw
    out[..., _EXPONENT] = 0.5 * at.exponent
    out[..., _P1] = at.p1
    out[..., _COLOURFUL] = at.chroma_gain * at.fl**0.25
    return out.reshape(-1, _COUNT)


@inlined
def _compressed(q: float, level: float, low: float, high: float, steep: float) -> float:
    """Post-adaptation compression; NaN takes the lower straight part and stays NaN."""
    p = power(level * q, 0.42)
    curve = 400.0 * p / (27.13 + p)
    upper = high + steep * (q - Q_HIGH)
    return (upper if q > Q_HIGH else curve) if q >= Q_LOW else low * q


@inlined
def _ucs_distance(
    red: float,
    green: float,
    blue: float,
    achromatic: float,
    exponent: float,
    p1: float,
    colourful: float,
    j_ref: float,
    a_ref: float,
    b_ref: float,
) -> float:
    """The distance in CAM16-UCS of compressed responses from a reference J' a' b'."""
    a = red - 12.0 / 11.0 * green + blue / 11.0
    b = (red + green - 2.0 * blue) / 9.0
    radius = math.sqrt(a * a + b * b)
    c = a / radius if radius > 0.0 else 1.0
    s = b / radius if radius > 0.0 else 0.0
    eccentricity = 0.25 * (_C2 * c - _S2 * s + 3.8)
    # The square root of J / 100, with the sign of J.
    response = (2.0 * red + green + 0.05 * blue) * achromatic
    root = power(abs(response), exponent)
    root = -root if response < 0.0 else root
    total = red + green + 1.05 * blue + 0.305
    t = p1 * eccentricity * radius / total if total != 0.0 else 0.0
    m = power(abs(t), 0.9) * root * colourful
    m = -m if t < 0.0 else m
    strength = logarithm(1.0 + 0.0228 * abs(m)) / 0.0228
    strength = -strength if m < 0.0 else strength
    size = root * root
    lightness = 170.0 * size / (1.0 + 0.7 * size)
    lightness = -lightness if root < 0.0 else lightness
    dj = lightness - j_ref
    da = strength * c - a_ref
    db = strength * s - b_ref
    return math.sqrt(dj * dj + da * da + db * db)


def _cam16ucs_shift(made_of: int) -> Callable[..., int]:
    def kernel(xyz: Array, numbers: Array, reference: Array, out: Array) -> int:
        """xyz, reference: (n, k, 3); numbers: (k, 17) of cam16_numbers; out: (n, k)."""
        n, k = out.shape
        for left in range(0, k, BLOCK):
            width = min(BLOCK, k - left)
            height = max(1, BLOCK // width)
            size = (height * width + 15) // 16 * 16
            m = np.zeros((_COUNT, size))
            rows = np.zeros((7, size))
            work = np.zeros((3, size))
            for i in range(height * width):
                for j in range(_COUNT):
                    m[j, i] = numbers[left + i % width, j]
            for top in range(0, n, height):
                bottom = min(n, top + height)
                i = 0
                for r in range(top, bottom):
                    for c in range(left, left + width):
                        for j in range(3):
                            rows[j, i] = xyz[r, c, j]
                            rows[3 + j, i] = reference[r, c, j]
                        i += 1
                # In two loops, for in one the numbers in flight are more than the registers.
                for j in range(3):
                    for i in range(size):
                        q = m[3 * j, i] * rows[0, i] + m[3 * j + 1, i] * rows[1, i] + m[3 * j + 2, i] * rows[2, i]
                        work[j, i] = _compressed(q, m[_LEVEL, i], m[_LOW, i], m[_HIGH, i], m[_STEEP, i])
                for i in range(size):
                    rows[6, i] = _ucs_distance(
                        work[0, i],
                        work[1, i],
                        work[2, i],
                        m[_ACHROMATIC, i],
                        m[_EXPONENT, i],
                        m[_P1, i],
                        m[_COLOURFUL, i],
                        rows[3, i],
                        rows[4, i],
                        rows[5, i],
                    )
                i = 0
                for r in range(top, bottom):
                    for c in range(left, left + width):
                        out[r, c] = rows[6, i]
                        i += 1
        return made_of

    return kernel


@cache
def cam16ucs_shift_kernel() -> Any:
    """The compiled kernel (xyz, numbers, reference, out)."""

    return compiled(_cam16ucs_shift(SOURCES), types.int64(colours(3), colours(2), colours(3), ANSWER))
