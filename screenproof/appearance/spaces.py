"""CIE colour spaces: XYZ, chromaticity, CIELAB, its polar form, CIELUV.

Everything here broadcasts: the last axis holds the three coordinates, the axes before it are whatever the
caller has (samples, lights, observers). XYZ and its white share one scale, whichever that is: 100 for the
perfect diffuser, cd/m2 for light. A white of shape (lights, observers, 3) goes with XYZ of shape
(samples, lights, observers, 3).

Symbols: L* lightness 0..100, a* b* u* v* dimensionless, C* chroma, h hue angle in degrees 0 <= h < 360.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array

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


def _compressed(ratio: Array) -> Array:
    """f(t) of CIELAB: cube root above the threshold, straight line below it and for negative t."""
    line = SLOPE * ratio + OFFSET
    return np.where(ratio > THRESHOLD, np.cbrt(np.maximum(ratio, THRESHOLD)), line)


def _expanded(value: Array) -> Array:
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
    f = _compressed(triplets(xyz, "xyz") / checked_white(white))
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
    return _expanded(f) * checked_white(white)


def hue_angle(a: Array, b: Array) -> Array:
    """Hue angle in degrees, 0 <= h < 360; 0 where a = b = 0."""
    h = np.degrees(np.arctan2(b, a)) % 360.0
    # The remainder of a tiny negative angle rounds up to 360 itself.
    return np.where(h >= 360.0, 0.0, h)


def lab_to_lch(lab: ArrayLike) -> Array:
    """Lightness, chroma and hue angle of CIELAB (or of CIELUV: the form is the same).

    lab: (..., 3). Returns (..., 3): L*, C* = sqrt(a*^2 + b*^2), h in degrees (0 for a neutral).
    """
    lab = triplets(lab, "lab")
    lch = np.empty_like(lab)
    lch[..., 0] = lab[..., 0]
    lch[..., 1] = np.hypot(lab[..., 1], lab[..., 2])
    lch[..., 2] = hue_angle(lab[..., 1], lab[..., 2])
    return lch


def lch_to_lab(lch: ArrayLike) -> Array:
    """L*, a*, b* of L*, C*, h (degrees). lch: (..., 3); returns (..., 3)."""
    lch = triplets(lch, "lch")
    angle = np.radians(lch[..., 2])
    lab = np.empty_like(lch)
    lab[..., 0] = lch[..., 0]
    lab[..., 1] = lch[..., 1] * np.cos(angle)
    lab[..., 2] = lch[..., 1] * np.sin(angle)
    return lab


def _quotient(numerator: Array, denominator: Array) -> Array:
    """numerator / denominator, and 0 where the denominator is 0."""
    safe = np.where(denominator == 0.0, 1.0, denominator)
    return np.where(denominator == 0.0, 0.0, numerator / safe)


def xyz_to_xy(xyz: ArrayLike) -> Array:
    """CIE 1931 (or 1964) chromaticity x, y. xyz: (..., 3), any scale; returns (..., 2).

    Where there is no light (X + Y + Z = 0) there is no chromaticity; the answer is then 0, 0, which is no
    colour at all and lies outside every gamut, rather than a NaN that would spread.

    >>> xyz_to_xy([95.047, 100.0, 108.883]).round(4).tolist()
    [0.3127, 0.329]
    """
    xyz = triplets(xyz, "xyz")
    return _quotient(xyz[..., :2], xyz.sum(axis=-1, keepdims=True))


def xyz_to_uv(xyz: ArrayLike) -> Array:
    """CIE 1976 chromaticity u', v'. xyz: (..., 3), any scale; returns (..., 2), and 0, 0 for no light.

    u' = 4X / (X + 15Y + 3Z), v' = 9Y / (X + 15Y + 3Z); ISO/CIE 11664-5:2016.
    """
    xyz = triplets(xyz, "xyz")
    sums = (xyz[..., 0] + 15.0 * xyz[..., 1] + 3.0 * xyz[..., 2])[..., np.newaxis]
    return _quotient(xyz[..., :2] * np.array([4.0, 9.0]), sums)


def xyz_to_luv(xyz: ArrayLike, white: ArrayLike) -> Array:
    """CIELUV of XYZ relative to a white.

    xyz: (..., 3); white: (..., 3) on the same scale, broadcast. Returns (..., 3): L*, u*, v*.
    u* = 13 L* (u' - u'n), v* = 13 L* (v' - v'n); ISO/CIE 11664-5:2016.
    Raises InputError for a white that is not above zero.
    """
    xyz, white = triplets(xyz, "xyz"), checked_white(white)
    lightness = 116.0 * _compressed(xyz[..., 1] / white[..., 1]) - 16.0
    offset = xyz_to_uv(xyz) - xyz_to_uv(white)
    luv = np.empty(offset.shape[:-1] + (3,))
    luv[..., 0] = lightness
    luv[..., 1:] = 13.0 * lightness[..., np.newaxis] * offset
    return luv
