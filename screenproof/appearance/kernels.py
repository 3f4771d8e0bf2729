"""Compiled kernels: CIEDE2000 of pairs, and of XYZ against a reference in CIELAB.

The formulae are those of :mod:`difference` and CIELAB, written for one pair of colours at a time; those
modules give the equations and their sources, and the tests hold the two together. Each kernel carries a block of
pairs into plain rows of numbers, works on the rows (where the compiler does several pairs in one instruction), and
carries the answers back.

numba is imported with this module, so it is imported late.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numba import types

from screenproof.appearance import vector_math
from screenproof.appearance.vector_math import (
    ANSWER,
    colours,
    compiled,
    cube_root,
    exponential,
    inlined,
    polynomial,
    sources,
)
from screenproof.spectra import Array, cielab
from screenproof.spectra.cielab import OFFSET, SLOPE, THRESHOLD

BLOCK = 512
"""Pairs in one block; its rows fit into the second-level cache."""


SOURCES = sources(__file__, vector_math.__file__, cielab.__file__)
"""What every kernel of this module returns."""

# exp(-((h - 275) / 25)^2) is needed of a direction, not of an angle. With y = sin^2(d / 4), d = h - 275, the
# exponent (d / 25)^2 is a smooth function of y: 16 arcsin^2(sqrt y) / (25 degrees)^2, here as a polynomial
# through its values at the nodes of Chebyshev up to d = 131 degrees, where the exponential is down to 1e-12.
_TURN_LIMIT = math.sin(math.radians(131.0 / 4.0)) ** 2


def _turn_exponent() -> tuple[float, ...]:
    def exponent(y: Array) -> Array:
        return np.asarray(16.0 * np.arcsin(np.sqrt(y)) ** 2 / math.radians(25.0) ** 2)

    fit = np.polynomial.Chebyshev.interpolate(exponent, 14, domain=[0.0, _TURN_LIMIT])
    return tuple(float(c) for c in fit.convert(kind=np.polynomial.Polynomial).coef[::-1])


_TURN_EXPONENT = _turn_exponent()
# sin(60 degrees f) / f as a polynomial of f^2, 0 <= f <= 1: the series of the sine.
_TURN_SINE = tuple(
    (-1.0) ** n * math.radians(60.0) ** (2 * n + 1) / math.factorial(2 * n + 1) for n in range(8, -1, -1)
)
_C6, _S6 = math.cos(math.radians(6.0)), math.sin(math.radians(6.0))
_C30, _S30 = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
_C63, _S63 = math.cos(math.radians(63.0)), math.sin(math.radians(63.0))
_C275, _S275 = math.cos(math.radians(275.0)), math.sin(math.radians(275.0))
_SEVENTH = 25.0**7


@inlined
def _rotation(c: float, s: float) -> float:
    """sin(2 delta theta) of the direction of the mean hue: 60 degrees at 275, falling off on both sides."""
    cosine = c * _C275 + s * _S275
    cosine = -1.0 if cosine < -1.0 else cosine
    y = 0.5 - 0.5 * math.sqrt(0.5 + 0.5 * cosine)
    # Rounding takes cosine past 1, and y below 0, by an ulp.
    f = exponential(-polynomial(min(max(y, 0.0), _TURN_LIMIT), _TURN_EXPONENT))
    # Hues from 0 to 90 degrees are more than 185 away: the formula does not go round the circle.
    return 0.0 if (s >= 0.0 and c > 0.0) else f * polynomial(f * f, _TURN_SINE)


@inlined
def de2000_pair(
    l1: float, a1: float, b1: float, l2: float, a2: float, b2: float, kl: float, kc: float, kh: float
) -> float:
    """CIEDE2000 of one pair; see difference._de2000_parts for the equations."""
    c = 0.5 * (math.sqrt(a1 * a1 + b1 * b1) + math.sqrt(a2 * a2 + b2 * b2))
    c7 = c * c * c * c * c * c * c
    stretch = 1.5 - 0.5 * math.sqrt(c7 / (c7 + _SEVENTH))
    a1 = a1 * stretch
    a2 = a2 * stretch
    c1 = math.sqrt(a1 * a1 + b1 * b1)
    c2 = math.sqrt(a2 * a2 + b2 * b2)
    mean = 0.5 * (c1 + c2)
    dot = a1 * a2 + b1 * b2
    cross = a1 * b2 - a2 * b1
    near = dot >= 0.0
    seam = 1.0 if (b1 > 0.0 or (b1 == 0.0 and a1 >= 0.0)) else -1.0
    sign = seam if cross == 0.0 else (1.0 if cross > 0.0 else -1.0)
    # Hue difference.
    r = math.sqrt(2.0 * (c1 * c2 + abs(dot)))
    dh = (2.0 * cross / r if r > 0.0 else 0.0) if near else sign * r
    # Mean hue.
    ea, eb, fa, fb = a1 * c2, b1 * c2, a2 * c1, b2 * c1
    x = fa + ea if near else sign * (fb - eb)
    y = fb + eb if near else sign * (ea - fa)
    n = x * x + y * y
    n = 1.0 / math.sqrt(n) if n > 0.0 else 0.0
    c = x * n
    s = y * n
    cos2, sin2 = c * c - s * s, 2.0 * s * c
    cos3, sin3 = cos2 * c - sin2 * s, sin2 * c + cos2 * s
    cos4, sin4 = cos2 * cos2 - sin2 * sin2, 2.0 * sin2 * cos2
    t = (
        1.0
        - 0.17 * (c * _C30 + s * _S30)
        + 0.24 * cos2
        + 0.32 * (cos3 * _C6 - sin3 * _S6)
        - 0.20 * (cos4 * _C63 + sin4 * _S63)
    )
    c7 = mean * mean * mean * mean * mean * mean * mean
    rotation = -2.0 * math.sqrt(c7 / (c7 + _SEVENTH)) * _rotation(c, s)
    mid = 0.5 * (l1 + l2) - 50.0
    mid = mid * mid
    dl = (l2 - l1) / (kl * (1.0 + 0.015 * mid / math.sqrt(20.0 + mid)))
    dc = (c2 - c1) / (kc * (1.0 + 0.045 * mean))
    dh = dh / (kh * (1.0 + 0.015 * mean * t))
    square = dl * dl + dc * dc + dh * dh + rotation * dc * dh
    return math.sqrt(0.0 if square < 0.0 else square)


@inlined
def lab_function(ratio: float) -> float:
    """f(t) of CIELAB; NaN takes the straight part and stays NaN."""
    return cube_root(ratio if ratio > THRESHOLD else THRESHOLD) if ratio > THRESHOLD else SLOPE * ratio + OFFSET


def _de2000(made_of: int) -> Callable[..., int]:
    def kernel(first: Array, second: Array, kl: float, kc: float, kh: float, out: Array) -> int:
        """CIEDE2000 of pairs: first, second (n, k, 3) CIELAB, out (n, k)."""
        n, k = out.shape
        pairs = n * k
        # As long as a block is, a loop runs over all of it: a rest of other length would be done pair by pair.
        rows = np.zeros((7, BLOCK))
        row, column = 0, 0
        for start in range(0, pairs, BLOCK):
            count = min(BLOCK, pairs - start)
            r, c = row, column
            for i in range(count):
                for j in range(3):
                    rows[j, i] = first[r, c, j]
                    rows[3 + j, i] = second[r, c, j]
                c += 1
                if c == k:
                    r, c = r + 1, 0
            for i in range(BLOCK):
                rows[6, i] = de2000_pair(
                    rows[0, i], rows[1, i], rows[2, i], rows[3, i], rows[4, i], rows[5, i], kl, kc, kh
                )
            for i in range(count):
                out[row, column] = rows[6, i]
                column += 1
                if column == k:
                    row, column = row + 1, 0
        return made_of

    return kernel


def _lab_shift(made_of: int) -> Callable[..., int]:
    def kernel(
        xyz: Array,
        matrices: Array,
        reference: Array,
        kl: float,
        kc: float,
        kh: float,
        de00: Array,
        de76: Array,
    ) -> int:
        """XYZ to CIELAB to the difference from a reference, in one pass.

        xyz, reference: (n, k, 3); matrices: (k, 3, 3), each carries XYZ to ratios to the white; de00: (n, k);
        de76: (n, k), or (0, 0) where it is not wanted.
        """
        n, k = de00.shape
        both = de76.shape[0] > 0
        for left in range(0, k, BLOCK):
            width = min(BLOCK, k - left)
            height = max(1, BLOCK // width)
            size = (height * width + 15) // 16 * 16
            m = np.zeros((9, size))
            rows = np.zeros((6, size))
            answers = np.zeros((2, size))
            for i in range(height * width):
                for j in range(9):
                    m[j, i] = matrices[left + i % width, j // 3, j % 3]
            for top in range(0, n, height):
                bottom = min(n, top + height)
                i = 0
                for r in range(top, bottom):
                    for c in range(left, left + width):
                        for j in range(3):
                            rows[j, i] = xyz[r, c, j]
                            rows[3 + j, i] = reference[r, c, j]
                        i += 1
                for i in range(size):
                    x, y, z = rows[0, i], rows[1, i], rows[2, i]
                    fx = lab_function(m[0, i] * x + m[1, i] * y + m[2, i] * z)
                    fy = lab_function(m[3, i] * x + m[4, i] * y + m[5, i] * z)
                    fz = lab_function(m[6, i] * x + m[7, i] * y + m[8, i] * z)
                    lightness, a, b = 116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)
                    answers[0, i] = de2000_pair(rows[3, i], rows[4, i], rows[5, i], lightness, a, b, kl, kc, kh)
                    dl, da, db = rows[3, i] - lightness, rows[4, i] - a, rows[5, i] - b
                    answers[1, i] = math.sqrt(dl * dl + da * da + db * db)
                i = 0
                for r in range(top, bottom):
                    for c in range(left, left + width):
                        de00[r, c] = answers[0, i]
                        if both:
                            de76[r, c] = answers[1, i]
                        i += 1
        return made_of

    return kernel


_NUMBERS = (types.float64,) * 3


@cache
def de2000_kernel() -> Any:
    """The compiled kernel (first, second, kl, kc, kh, out)."""
    return compiled(_de2000(SOURCES), types.int64(colours(3), colours(3), *_NUMBERS, ANSWER))


@cache
def lab_shift_kernel() -> Any:
    """The compiled kernel (xyz, matrices, reference, kl, kc, kh, de00, de76)."""
    signature = types.int64(colours(3), colours(3), colours(3), *_NUMBERS, ANSWER, ANSWER)
    return compiled(_lab_shift(SOURCES), signature)
