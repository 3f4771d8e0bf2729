"""CIE colour spaces: XYZ, chromaticity, the polar form of CIELAB, CIELUV. CIELAB itself: spectra/cielab.py.

Everything here broadcasts: the last axis holds the three coordinates, the axes before it are whatever the
caller has (samples, lights, observers). XYZ and its white share one scale, whichever that is: 100 for the
perfect diffuser, cd/m2 for light. A white of shape (lights, observers, 3) goes with XYZ of shape
(samples, lights, observers, 3).

Symbols: L* lightness 0..100, a* b* u* v* dimensionless, C* chroma, h hue angle in degrees 0 <= h < 360.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from screenproof.spectra import Array
from screenproof.spectra.cielab import checked_white, compressed, triplets


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
    lightness = 116.0 * compressed(xyz[..., 1] / white[..., 1]) - 16.0
    offset = xyz_to_uv(xyz) - xyz_to_uv(white)
    luv = np.empty(offset.shape[:-1] + (3,))
    luv[..., 0] = lightness
    luv[..., 1:] = 13.0 * lightness[..., np.newaxis] * offset
    return luv
