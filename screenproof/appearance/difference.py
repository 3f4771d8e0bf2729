"""Colour differences: CIEDE2000, CIE 1976, CMC(l:c), CAM16-UCS.

Every formula broadcasts over all axes but the last, which holds the three coordinates. CIELAB values must be
relative to one white on both sides: a difference between colours under unlike whites means something only
after one of them was adapted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance import large
from screenproof.appearance.spaces import hue_angle
from screenproof.errors import bad
from screenproof.spectra import Array
from screenproof.spectra.cielab import triplets

SEVENTH = 25.0**7
_C6, _S6 = np.cos(np.radians(6.0)), np.sin(np.radians(6.0))
_C30, _S30 = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
_C63, _S63 = np.cos(np.radians(63.0)), np.sin(np.radians(63.0))


def positive(value: float, name: str) -> float:
    if not value > 0.0:
        raise bad(f"{name} = {value}", field=name, expected="a number above zero")
    return float(value)


def de76(lab1: ArrayLike, lab2: ArrayLike) -> Array:
    """CIE 1976 colour difference, the distance in CIELAB (also in CIELUV).

    lab1, lab2: (..., 3), broadcast. Returns (...). ISO/CIE 11664-4:2019.
    """
    return _distance(triplets(lab1, "lab1"), triplets(lab2, "lab2"))


def de_cam16ucs(jab1: ArrayLike, jab2: ArrayLike) -> Array:
    """Colour difference in CAM16-UCS, the distance of J' a' b' (Li et al. 2017, with KL = 1).

    jab1, jab2: (..., 3) of :func:`cam16_to_ucs`, broadcast. Returns (...).
    """
    return _distance(triplets(jab1, "jab1"), triplets(jab2, "jab2"))


def _distance(first: Array, second: Array) -> Array:
    d = first - second
    return np.asarray(np.sqrt(d[..., 0] ** 2 + d[..., 1] ** 2 + d[..., 2] ** 2))


def de_cmc(ref: ArrayLike, sample: ArrayLike, l: float = 2.0, c: float = 1.0) -> Array:  # noqa: E741
    """CMC(l:c) colour difference of a sample from a reference: the two are not alike.

    ref, sample: (..., 3) CIELAB, broadcast. l, c: weights of lightness and chroma, 2:1 for acceptability and
    1:1 for perceptibility. Returns (...). Raises InputError for weights that are not above zero.
    ISO 105-J03:2009; Clarke, McDonald & Rigg 1984, J. Soc. Dyers Colour. 100, 128-132.
    """
    l, c = positive(l, "l"), positive(c, "c")  # noqa: E741
    ref, sample = triplets(ref, "ref"), triplets(sample, "sample")
    lightness, chroma = ref[..., 0], np.hypot(ref[..., 1], ref[..., 2])
    h = hue_angle(ref[..., 1], ref[..., 2])
    bright = np.maximum(lightness, 16.0)
    s_l = np.where(lightness < 16.0, 0.511, 0.040975 * bright / (1.0 + 0.01765 * bright))
    s_c = 0.0638 * chroma / (1.0 + 0.0131 * chroma) + 0.638
    rad = np.radians(h)
    inner = (h >= 164.0) & (h <= 345.0)
    t = np.where(
        inner,
        0.56 + np.abs(0.2 * np.cos(rad + np.radians(168.0))),
        0.36 + np.abs(0.4 * np.cos(rad + np.radians(35.0))),
    )
    f = np.sqrt(chroma**4 / (chroma**4 + 1900.0))
    s_h = s_c * (f * t + 1.0 - f)
    dl = lightness - sample[..., 0]
    other = np.hypot(sample[..., 1], sample[..., 2])
    dh, _, _ = _hue_difference(ref[..., 1], ref[..., 2], chroma, sample[..., 1], sample[..., 2], other)
    return np.asarray(np.sqrt((dl / (l * s_l)) ** 2 + ((other - chroma) / (c * s_c)) ** 2 + (dh / s_h) ** 2))


def _seam_sign(a1: Array, b1: Array, cross: Array) -> Array:
    """+1 where the second hue is reached counter-clockwise within half a turn, -1 where clockwise.

    Exactly opposed hues: CIEDE2000 takes h2 - h1 as it is if it is not over 180 degrees in size, so the
    answer is + where the first hue lies in [0, 180), and - elsewhere.
    """
    upper = (b1 > 0.0) | ((b1 == 0.0) & (a1 >= 0.0))
    return np.where(cross == 0.0, np.where(upper, 1.0, -1.0), np.sign(cross))


def _root(square: Array) -> Array:
    return np.asarray(np.sqrt(square))


def _hue_difference(
    a1: Array, b1: Array, c1: Array, a2: Array, b2: Array, c2: Array
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """The signed hue difference 2 sqrt(C1 C2) sin((h2 - h1) / 2), its sign, and whether a quarter turn holds it.

    Without angles (Seve 1991): sin(x / 2) from the cross product where the hues are near, from the dot product
    where they are more than a quarter turn apart. Each loses no digits on its side.
    """
    dot, cross = a1 * a2 + b1 * b2, a1 * b2 - a2 * b1
    r = _root(2.0 * (c1 * c2 + np.abs(dot)))
    sign, near = _seam_sign(a1, b1, cross), dot >= 0.0
    return np.where(near, 2.0 * cross / np.where(r == 0.0, 1.0, r), sign * r), sign, near


def _de2000_parts(lab1: Array, lab2: Array, kl: float, kc: float, kh: float) -> tuple[Array, Array, Array, Array]:
    """The weighted lightness, chroma and hue terms of CIEDE2000, and the rotation RT.

    Equation numbers are those of Sharma, Wu & Dalal 2005.
    """
    l1, a1, b1 = lab1[..., 0], lab1[..., 1], lab1[..., 2]
    l2, a2, b2 = lab2[..., 0], lab2[..., 1], lab2[..., 2]
    bb1, bb2 = b1 * b1, b2 * b2
    stretch = 1.5 - 0.5 * _saturation(0.5 * (_root(a1 * a1 + bb1) + _root(a2 * a2 + bb2)))  # 1 + G, eqs 4, 5
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = _root(a1 * a1 + bb1), _root(a2 * a2 + bb2)  # eq 6
    chroma = 0.5 * (c1 + c2)  # eq 13
    dh, sign, near = _hue_difference(a1, b1, c1, a2, b2, c2)  # eqs 9 to 11
    # The mean hue (eq 14) as cosine and sine: the direction that halves the smaller angle between the two. For
    # hues less than a quarter turn apart it is the sum of the unit vectors, beyond that their difference turned
    # by a quarter, for the sum vanishes as they oppose each other. Where a chroma is zero it counts for nothing.
    ea, eb, fa, fb = a1 * c2, b1 * c2, a2 * c1, b2 * c1
    x = np.where(near, fa + ea, sign * (fb - eb))
    y = np.where(near, fb + eb, sign * (ea - fa))
    n = _root(x * x + y * y)
    n = np.where(n == 0.0, 1.0, n)
    x, y = x / n, y / n
    x2, y2 = x * x - y * y, 2.0 * x * y  # cosine and sine of twice, three and four times the hue
    x3, y3 = x2 * x - y2 * y, y2 * x + x2 * y
    x4, y4 = x2 * x2 - y2 * y2, 2.0 * x2 * y2
    t = (  # eq 15
        1.0
        - 0.17 * (x * _C30 + y * _S30)
        + 0.24 * x2
        + 0.32 * (x3 * _C6 - y3 * _S6)
        - 0.20 * (x4 * _C63 + y4 * _S63)
    )
    turn = np.radians(60.0) * np.exp(-(((hue_angle(x, y) - 275.0) / 25.0) ** 2))  # 2 delta theta, eq 16
    rotation = -2.0 * _saturation(chroma) * np.sin(turn)  # eqs 17, 21
    mid = (0.5 * (l1 + l2) - 50.0) ** 2
    s_l = 1.0 + 0.015 * mid / _root(20.0 + mid)  # eq 18
    s_c = 1.0 + 0.045 * chroma  # eq 19
    s_h = 1.0 + 0.015 * chroma * t  # eq 20
    return (l2 - l1) / (kl * s_l), (c2 - c1) / (kc * s_c), dh / (kh * s_h), rotation


def _saturation(chroma: Array) -> Array:
    """sqrt(C^7 / (C^7 + 25^7)), from 0 for neutrals to 1 for strong colours."""
    square = chroma * chroma
    seventh = square * square * square * chroma
    return _root(seventh / (seventh + SEVENTH))


def _de2000(lab1: Array, lab2: Array, kl: float, kc: float, kh: float) -> Array:
    dl, dc, dh, rotation = _de2000_parts(lab1, lab2, kl, kc, kh)
    # A positive form, for |RT| < 2; rounding may take it below zero where both colours are the same.
    return np.sqrt(np.maximum(dl * dl + dc * dc + dh * dh + rotation * dc * dh, 0.0))  # eq 22


def de2000(lab1: ArrayLike, lab2: ArrayLike, kl: float = 1.0, kc: float = 1.0, kh: float = 1.0) -> Array:
    """CIEDE2000 colour difference.

    lab1, lab2: (..., 3) CIELAB relative to one white, broadcast. kl, kc, kh: parametric factors of lightness,
    chroma, hue; 1 for the reference conditions (2:1:1 is usual for textiles). Returns (...).
    ISO/CIE 11664-6:2022; Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1) 21-30, whose reading of the mean hue
    is followed: the smaller angle's bisector. The formula itself jumps where two hues are exactly
    opposed. Here no angle is formed to tell which side of that seam a pair is on, so that the answer is
    that of exact arithmetic and the same on every machine.
    Arrays of half a million pairs and more are done by a compiled kernel, equal to within 1e-9.
    Raises InputError for parametric factors that are not above zero.

    >>> float(de2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]).round(4))
    2.0425
    """
    kl, kc, kh = positive(kl, "kl"), positive(kc, "kc"), positive(kh, "kh")
    first, second = triplets(lab1, "lab1"), triplets(lab2, "lab2")
    pairs = large.pairs_of(first, second)
    if large.is_large(pairs) and large.can_compile():
        from screenproof.appearance.kernels import de2000_kernel

        kernel = de2000_kernel()
        return large.over_pairs(
            lambda a, b, out: kernel(a, b, kl, kc, kh, out), first, second, large.COMPILED_PIECE
        )
    if pairs > large.NUMPY_PIECE:

        def piece(a: Array, b: Array, out: Array) -> None:
            out[...] = _de2000(a, b, kl, kc, kh)

        return large.over_pairs(piece, first, second, large.NUMPY_PIECE)
    return _de2000(first, second, kl, kc, kh)


def de2000_terms(lab_ref: ArrayLike, lab: ArrayLike) -> Array:
    """The weighted, signed differences of which CIEDE2000 is made: lightness, chroma, hue.

    lab_ref, lab: (..., 3), broadcast. Returns (..., 3): dL'/SL, dC'/SC, dH'/SH, positive for a lighter, stronger
    colour and one of larger hue angle. Their squares add up to the squared difference but for the rotation term.
    """
    return np.stack(_de2000_parts(triplets(lab_ref, "lab_ref"), triplets(lab, "lab"), 1.0, 1.0, 1.0)[:3], axis=-1)
