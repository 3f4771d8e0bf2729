"""CIECAM16, the colour appearance model of CIE 248:2022, forward and inverse, and the CAM16-UCS space.

Equations are those of CIE 248:2022 as colour-science implements them (the standard itself was not read) and of
Li et al. 2017, Color Res. Appl. 42(6) 703-718, from which it differs in the compression: below a response
of 0.26 and above 150 it is carried on as a straight line, so that a response of zero or less does no harm.

Beyond the model: a stimulus whose achromatic response is negative (a colour that no surface has, met while a
search looks for a way) gets a negative lightness J, by powers that keep the sign. All correlates stay
finite, and the inverse leads back to the same XYZ.

The hue quadrature H is the one formula of Li et al. for the whole circle. colour-science keeps an older form, of
Hunt's model, between unique blue and unique red, and differs there by up to 6 of 400.

Symbols: J lightness, C chroma, h hue angle in degrees, Q brightness, M colourfulness, s saturation, H hue
quadrature 0..400; LA luminance of the adapting field in cd/m2; Yb luminance factor of the background.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance.adaptation import CAT16, degree_of_adaptation, transformed
from screenproof.appearance.spaces import hue_angle
from screenproof.errors import bad
from screenproof.spectra import Array, frozen
from screenproof.spectra.cielab import checked_white, triplets

Q_LOW, Q_HIGH = 0.26, 150.0
"""Between these responses the compression is the power law of CAM16; outside, its straight continuations."""

# Unique hues red, yellow, green, blue, red: angle, eccentricity, quadrature (Li et al. 2017, Table A2).
UNIQUE_HUES = np.array([20.14, 90.0, 164.25, 237.53, 380.14])
ECCENTRICITIES = np.array([0.8, 0.7, 1.0, 1.2, 0.8])
QUADRATURES = np.array([0.0, 100.0, 200.0, 300.0, 400.0])

_CAT16_INVERSE = np.linalg.inv(CAT16)


@dataclass(frozen=True)
class Surround:
    """The field beyond the background: f degree of adaptation, c exponent, nc chromatic induction."""

    f: float
    c: float
    nc: float


AVERAGE = Surround(1.0, 0.69, 1.0)
"""Surface colours and viewing booths; a surround luminance of a fifth of the white's or more."""
DIM = Surround(0.9, 0.59, 0.9)
"""Television in a dim room."""
DARK = Surround(0.8, 0.525, 0.8)
"""Projection in a dark room."""


@dataclass(frozen=True, eq=False)
class CamConditions:
    """The conditions under which a colour is seen, for CIECAM16.

    white: (..., 3) XYZ of the adopted white, Y = 100 as a rule. Its leading axes (lights, observers)
    broadcast against those of the colours; la and yb broadcast against them too.
    la: luminance of the adapting field in cd/m2, above zero.
    yb: luminance factor of the background on the scale of the white, above zero; 20 is a mid grey.
    surround: AVERAGE, DIM or DARK.
    discount: the eye discounts the light altogether (D = 1).
    Raises InputError for values outside these bounds.
    """

    white: Array
    la: Array | float
    yb: Array | float = 20.0
    surround: Surround = AVERAGE
    discount: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "white", frozen(checked_white(self.white)))
        for name in ("la", "yb"):
            value = np.asarray(getattr(self, name), dtype=np.float64)
            if not (np.isfinite(value).all() and (value > 0.0).all()):
                raise bad(f"{name} {value}", field=name, expected="a finite value above zero")
            object.__setattr__(self, name, frozen(value))
        if not (self.white @ CAT16.T > 0.0).all():
            raise bad("a white so coloured that CAT16 gives it a response of zero or less", field="white")

    @cached_property
    def derived(self) -> Derived:
        """The numbers that depend on the conditions only; computed once."""
        la, yw = np.asarray(self.la), self.white[..., 1]
        responses = self.white @ CAT16.T
        d = np.ones_like(la) if self.discount else degree_of_adaptation(la, self.surround.f)
        # Scaled to 100, not to Yw as in CAM16: a white of Y = 100 cannot tell the two apart.
        gain = d[..., np.newaxis] * 100.0 / responses + 1.0 - d[..., np.newaxis]
        k4 = (1.0 / (5.0 * la + 1.0)) ** 4
        fl = 0.2 * k4 * 5.0 * la + 0.1 * (1.0 - k4) ** 2 * np.cbrt(5.0 * la)
        n = np.asarray(self.yb) / yw
        nbb = 0.725 * n**-0.2
        aw = _achromatic(_compressed(responses * gain, fl)) * nbb
        return Derived(
            gain=gain,
            fl=fl,
            nbb=nbb,
            exponent=self.surround.c * (1.48 + np.sqrt(n)),
            aw=aw,
            chroma_gain=(1.64 - 0.29**n) ** 0.73,
            p1=50000.0 / 13.0 * self.surround.nc * nbb,
        )


@dataclass(frozen=True, eq=False)
class Derived:
    """What CIECAM16 derives from its conditions, step 0 of CIE 248.

    gain (..., 3) of the three responses; fl luminance level adaptation FL; nbb = ncb induction; exponent c z;
    aw achromatic response of the white; chroma_gain (1.64 - 0.29^n)^0.73; p1 50000/13 Nc Ncb, without et.
    """

    gain: Array
    fl: Array
    nbb: Array
    exponent: Array
    aw: Array
    chroma_gain: Array
    p1: Array


@dataclass(frozen=True, eq=False)
class Cam16:
    """The appearance of a colour: arrays of the shape of the colours without their last axis."""

    J: Array
    C: Array
    h: Array
    Q: Array
    M: Array
    s: Array
    H: Array


def signed_power(base: Array, exponent: Array | float) -> Array:
    """sign(base) |base|^exponent."""
    return np.asarray(np.copysign(np.abs(base) ** exponent, base))


def power_law(response: Array | float, fl: Array) -> Array:
    """Compressed response, without the offset of 0.1, of a response of zero or more."""
    p = (fl * response / 100.0) ** 0.42
    return np.asarray(400.0 * p / (27.13 + p))


def slope_high(fl: Array) -> Array:
    """The slope of the power law at Q_HIGH."""
    x = fl * Q_HIGH / 100.0
    return np.asarray(1.68 * 27.13 * fl * x**-0.58 / (27.13 + x**0.42) ** 2)


def _compressed(responses: Array, fl: Array) -> Array:
    """Post-adaptation compression of (..., 3) responses, without the offset of 0.1."""
    level = fl[..., np.newaxis]
    curve = power_law(np.clip(responses, Q_LOW, Q_HIGH), level)
    below = np.minimum(responses - Q_LOW, 0.0) * (power_law(Q_LOW, level) / Q_LOW)
    above = np.maximum(responses - Q_HIGH, 0.0) * slope_high(level)
    return np.asarray(curve + below + above)


def _expanded(compressed: Array, fl: Array) -> Array:
    """The inverse of :func:`_compressed`."""
    level = fl[..., np.newaxis]
    low, high = power_law(Q_LOW, level), power_law(Q_HIGH, level)
    inner = np.clip(compressed, low, high)
    curve = 100.0 / level * (27.13 * inner / (400.0 - inner)) ** (1.0 / 0.42)
    below = np.minimum(compressed - low, 0.0) * (Q_LOW / low)
    above = np.maximum(compressed - high, 0.0) / slope_high(level)
    return np.asarray(curve + below + above)


def _achromatic(compressed: Array) -> Array:
    """2 R + G + B / 20 of responses without their offset of 0.1, which is why there is no - 0.305."""
    return np.asarray(2.0 * compressed[..., 0] + compressed[..., 1] + compressed[..., 2] / 20.0)


def _eccentricity(h: Array) -> Array:
    return np.asarray(0.25 * (np.cos(2.0 + np.radians(h)) + 3.8))


def hue_quadrature(h: ArrayLike) -> Array:
    """Hue quadrature H, 0 <= H < 400, of hue angles in degrees: 0 red, 100 yellow, 200 green, 300 blue."""
    angle = np.asarray(h, dtype=np.float64)
    angle = np.where(angle < UNIQUE_HUES[0], angle + 360.0, angle)
    i = np.clip(np.searchsorted(UNIQUE_HUES, angle, side="right") - 1, 0, 3)
    before = (angle - UNIQUE_HUES[i]) / ECCENTRICITIES[i]
    after = (UNIQUE_HUES[i + 1] - angle) / ECCENTRICITIES[i + 1]
    return np.asarray(QUADRATURES[i] + 100.0 * before / (before + after))


def xyz_to_cam16(xyz: ArrayLike, cond: CamConditions) -> Cam16:
    """The CIECAM16 correlates of XYZ seen under ``cond``.

    xyz: (..., 3) on the scale of the white of cond, broadcast against it. Black gives zeros.
    Steps 1 to 9 of CIE 248:2022. s = 100 sqrt(M / Q).

    >>> white = np.array([95.05, 100.0, 108.88])
    >>> cam = xyz_to_cam16([19.01, 20.0, 21.78], CamConditions(white, la=318.31))
    >>> [round(float(v), 4) for v in (cam.J, cam.C, cam.h)]
    [41.7312, 0.1034, 217.068]
    """
    at = cond.derived
    rgb = transformed(CAT16, triplets(xyz, "xyz")) * at.gain
    rgb = _compressed(rgb, at.fl)
    red, green, blue = rgb[..., 0], rgb[..., 1], rgb[..., 2]
    a = red - 12.0 / 11.0 * green + blue / 11.0
    b = (red + green - 2.0 * blue) / 9.0
    h = hue_angle(a, b)
    j = 100.0 * signed_power(_achromatic(rgb) * at.nbb / at.aw, at.exponent)
    root = signed_power(j / 100.0, 0.5)
    # The offsets of 0.1 add up to 0.305. The sum passes through zero far outside the colours that exist.
    total = red + green + 1.05 * blue + 0.305
    total = np.where(total == 0.0, np.finfo(np.float64).tiny ** 0.5, total)
    t = at.p1 * _eccentricity(h) * np.hypot(a, b) / total
    c = signed_power(t, 0.9) * root * at.chroma_gain
    quarter = at.fl**0.25
    q = 4.0 / cond.surround.c * root * (at.aw + 4.0) * quarter
    m = c * quarter
    s = 100.0 * np.sqrt(np.abs(m) / np.where(q == 0.0, 1.0, np.abs(q)))
    return Cam16(j, c, h, q, m, np.where(q == 0.0, 0.0, s), hue_quadrature(h))


def cam16_to_xyz(J: ArrayLike, C: ArrayLike, h: ArrayLike, cond: CamConditions) -> Array:
    """XYZ, on the scale of the white of ``cond``, of lightness J, chroma C and hue angle h (degrees).

    J, C, h broadcast against each other and the leading axes of the conditions. Returns (..., 3).
    The exact inverse of :func:`xyz_to_cam16`; where J = 0 the chroma has no meaning and black comes out.
    The single expression of Li et al. 2017 for the opponent pair, which has no pole at any hue.
    """
    at = cond.derived
    j, c, h = (np.asarray(v, dtype=np.float64) for v in (J, C, h))
    root = signed_power(j / 100.0, 0.5) * at.chroma_gain
    t = signed_power(np.where(root == 0.0, 0.0, c) / np.where(root == 0.0, 1.0, root), 1.0 / 0.9)
    p2 = at.aw * signed_power(j / 100.0, 1.0 / at.exponent) / at.nbb
    angle = np.radians(h)
    cosine, sine = np.cos(angle), np.sin(angle)
    p1 = at.p1 * _eccentricity(h)
    radius = 23.0 * (p2 + 0.305) * t / (23.0 * p1 + t * (11.0 * cosine + 108.0 * sine))
    a, b = radius * cosine, radius * sine
    rgb = np.stack(
        [
            (460.0 * p2 + 451.0 * a + 288.0 * b) / 1403.0,
            (460.0 * p2 - 891.0 * a - 261.0 * b) / 1403.0,
            (460.0 * p2 - 220.0 * a - 6300.0 * b) / 1403.0,
        ],
        axis=-1,
    )
    return transformed(_CAT16_INVERSE, _expanded(rgb, at.fl) / at.gain)


def cam16_to_ucs(J: ArrayLike, M: ArrayLike, h: ArrayLike) -> Array:
    """CAM16-UCS coordinates J', a', b' of lightness J, colourfulness M and hue angle h (degrees).

    J, M, h broadcast against each other. Returns (..., 3).
    J' = 1.7 J / (1 + 0.007 J), M' = ln(1 + 0.0228 M) / 0.0228; Li et al. 2017. Odd in J and M, so that colours
    beyond the model, whose J or M is negative, stay finite.
    """
    j, m, h = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (J, M, h)))
    strength = np.copysign(np.log1p(0.0228 * np.abs(m)) / 0.0228, m)
    angle = np.radians(h)
    return np.stack(
        [1.7 * j / (1.0 + 0.007 * np.abs(j)), strength * np.cos(angle), strength * np.sin(angle)], axis=-1
    )
