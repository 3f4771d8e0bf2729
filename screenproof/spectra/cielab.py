"""CIELAB of XYZ relative to a white, and back: ISO/CIE 11664-4:2019."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra._arrays import Array

# The two halves of the CIELAB function meet at (6/29)^3 with equal value and slope (ISO/CIE 11664-4:2019,
# equations 4 to 9). The exact fractions are used, not the rounded 0.008856 and 903.3 of older texts.
DELTA = 6.0 / 29.0
THRESHOLD = DELTA**3
SLOPE = 1.0 / (3.0 * DELTA**2)
OFFSET = 4.0 / 29.0
KAPPA = 116.0 * SLOPE  # L* = KAPPA Y/Yn in the dark part, 24389/27


def triplets(values: ArrayLike, what: str) -> Array:
    """``values`` as float64 with three coordinates on the last axis; InputError otherwise."""
    array = np.asarray(values, dtype=np.float64)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise bad(f"{what} of shape {array.shape}", field=what, expected="an array whose last axis has length 3")
    return array


def checked_white(white: ArrayLike, what: str = "white") -> Array:
    """A white point as an array; InputError unless X, Y, Z are finite and above zero."""
    array = triplets(white, what)
    if not (np.isfinite(array).all() and (array > 0.0).all()):
        raise bad(
            f"{what} {np.array2string(array, threshold=9, precision=4)} is no white",
            field=what,
            expected="finite X, Y and Z above zero",
            mend="give the XYZ of the white of the light, or of the display, on the scale of the colours",
        )
    return array


def compressed(ratio: Array) -> Array:
    """f(t) of CIELAB: cube root above the threshold, straight line below it and for negative t."""
    line = SLOPE * ratio + OFFSET
    return np.where(ratio > THRESHOLD, np.cbrt(np.maximum(ratio, THRESHOLD)), line)


def expanded(value: Array) -> Array:
    """The inverse of f(t)."""
    return np.where(value > DELTA, value**3, (value - OFFSET) / SLOPE)


def xyz_to_lab(xyz: ArrayLike, white: ArrayLike) -> Array:
    """CIELAB of XYZ relative to a white.

    xyz: (..., 3) tristimulus values, any scale, negative values allowed (they follow the straight part).
    white: (..., 3) on the same scale, broadcast against xyz.
    Returns (..., 3): L*, a*, b*.
    L* = 116 f(Y/Yn) - 16, a* = 500 (f(X/Xn) - f(Y/Yn)), b* = 200 (f(Y/Yn) - f(Z/Zn)); ISO/CIE 11664-4:2019.
    Raises InputError for a white that is not above zero.

    >>> xyz_to_lab([19.01, 20.0, 21.78], [95.047, 100.0, 108.883]).round(4).tolist()
    [51.8372, 0.0031, -0.0061]
    """
    f = compressed(triplets(xyz, "xyz") / checked_white(white))
    lab = np.empty_like(f)
    lab[..., 0] = 116.0 * f[..., 1] - 16.0
    lab[..., 1] = 500.0 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200.0 * (f[..., 1] - f[..., 2])
    return lab


def lab_to_xyz(lab: ArrayLike, white: ArrayLike) -> Array:
    """XYZ, on the scale of ``white``, of CIELAB: the exact inverse of :func:`xyz_to_lab`.

    lab: (..., 3); white: (..., 3), broadcast. Returns (..., 3). Raises InputError as xyz_to_lab does.
    """
    lab = triplets(lab, "lab")
    f = np.empty_like(lab)
    f[..., 1] = (lab[..., 0] + 16.0) / 116.0
    f[..., 0] = f[..., 1] + lab[..., 1] / 500.0
    f[..., 2] = f[..., 1] - lab[..., 2] / 200.0
    return expanded(f) * checked_white(white)
