"""Halftones: how much of the stock the dots cover, and the colour that a covered stock gives.

A tone of the file (the tint, 0..1) prints larger than it is asked for, partly on the plate and the stock, partly
because light that enters between dots leaves under them. Both together are the effective coverage. All functions
broadcast; reflectances, tristimulus values and any other values that mix by area may be given as ``value``.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import xyz_to_lab
from screenproof.errors import bad
from screenproof.spectra import Array

Process = Literal["C", "M", "Y", "K"]

DARKEST = 1e-6
"""What a value is taken for in a root or a logarithm when it is 0 or below: a millionth of a perfect white."""


def checked_n(n: float) -> float:
    """The Yule-Nielsen factor as a float. Raises InputError unless it is finite and at least 1."""
    if not (np.isfinite(n) and n >= 1.0):
        raise bad(
            f"a Yule-Nielsen factor of {n:g}",
            field="n",
            expected="1 (no light spreads in the stock) or more; 1.5 to 3 is usual",
        )
    return float(n)


def root(value: ArrayLike, n: float) -> Array:
    """value^(1/n): the scale on which areas mix when light spreads (Yule & Nielsen 1951).

    For n above 1 a value of 0 or below is taken for :data:`DARKEST`; for n = 1 all are left as they are.
    """
    if n == 1.0:
        return np.array(value, dtype=np.float64)
    return np.asarray(np.maximum(np.asarray(value, dtype=np.float64), DARKEST) ** (1.0 / n))


def raised(value: ArrayLike, n: float) -> Array:
    """value^n, the way back from :func:`root`."""
    if n == 1.0:
        return np.array(value, dtype=np.float64)
    return np.asarray(np.maximum(np.asarray(value, dtype=np.float64), DARKEST ** (1.0 / n)) ** n)


def coverage(value: ArrayLike, stock: ArrayLike, solid: ArrayLike, n: float = 1.0) -> Array:
    """Effective coverage of a tint from one band of light: Murray-Davies, with n Yule-Nielsen.

    value, stock, solid: (...) reflectances of the tint, the bare stock and the solid, on one scale. n: 1 for
    Murray-Davies. Returns (...), 0 for the stock and 1 for the solid; noise may carry it a little past both.
    a = (Rp^(1/n) - Rt^(1/n)) / (Rp^(1/n) - Rs^(1/n)). Murray 1936, J. Franklin Inst. 221, 721-744; Yule & Nielsen
    1951, TAGA Proc. 3, 65-76. Raises InputError when stock and solid are alike, so that no tone can be told.

    >>> round(float(coverage(10**-0.42, 10**-0.08, 10**-1.48)), 6)
    0.565422
    """
    n = checked_n(n)
    low, high = root(stock, n), root(solid, n)
    span = low - high
    if (np.abs(span) < 1e-9).any():
        raise bad(
            "the solid is as light as the stock in a band that is to give the coverage",
            field="solid",
            expected="a band in which the ink absorbs",
            mend="use the band in which stock and solid differ most",
        )
    return np.asarray((low - root(value, n)) / span)


def coverage_from_density(tint: ArrayLike, stock: ArrayLike, solid: ArrayLike, n: float = 1.0) -> Array:
    """Effective coverage from reflection densities D = -log10 R: :func:`coverage` of 10^-D.

    With absolute densities that of the stock is above 0; with densities relative to it, it is 0.

    >>> round(float(coverage_from_density(0.55, 0.07, 1.65, n=2.0)), 6)
    0.506744
    """
    values = [np.asarray(part, dtype=np.float64) for part in (tint, stock, solid)]
    for density in values:
        if not np.isfinite(density).all():
            raise bad("a density that is no number", field="density", expected="finite reflection densities")
    return coverage(10.0 ** -values[0], 10.0 ** -values[1], 10.0 ** -values[2], n)


def mixed(share: ArrayLike, stock: ArrayLike, solid: ArrayLike, n: float = 1.0) -> Array:
    """The value of a stock of which ``share`` is covered: the inverse of :func:`coverage`, exact."""
    n = checked_n(n)
    low, a = root(stock, n), np.asarray(share, dtype=np.float64)
    return raised(low + a * (root(solid, n) - low), n)


def process_tone_value(xyz: ArrayLike, stock: ArrayLike, solid: ArrayLike, ink: Process) -> Array:
    """Tone value 0..1 of a process ink from XYZ: Murray-Davies on the tristimulus value that the ink absorbs.

    xyz: (..., 3); stock, solid: (3,), one scale. ink: 'C' takes X - 0.55 Z (the blue part of x is taken away),
    'M' and 'K' take Y, 'Y' takes Z; ISO 12647-1:2013 and ISO 10128, as the trade does (from memory).
    Raises InputError for another ink: a spot ink has :func:`spot_tone_value`.
    """
    rows: Mapping[str, tuple[float, float, float]] = {
        "C": (1.0, 0.0, -0.55),
        "M": (0.0, 1.0, 0.0),
        "Y": (0.0, 0.0, 1.0),
        "K": (0.0, 1.0, 0.0),
    }
    if ink not in rows:
        raise bad(f"{ink!r} is no process ink", field="ink", expected="C, M, Y or K", mend="use spot_tone_value")
    row = np.array(rows[ink])
    return coverage(*(np.asarray(part, dtype=np.float64) @ row for part in (xyz, stock, solid)))


def spot_tone_value(xyz: ArrayLike, stock: ArrayLike, solid: ArrayLike, white: ArrayLike) -> Array:
    """Spot colour tone value 0..1 of ISO 20654:2017, for an ink of any colour.

    xyz: (..., 3) of the tints; stock, solid: (3,); white: (3,) of the perfect diffuser, all on one scale.
    V = 116 f(value / white) - 16 for each of X, Y and Z with the f of CIELAB; then
    TV = sqrt(sum (Vt - Vp)^2 / sum (Vs - Vp)^2). The formula is from memory of the standard.
    Raises InputError when solid and stock are alike.
    """
    tint, base, full = (_values_v(part, white) for part in (xyz, stock, solid))
    span = np.sqrt(((full - base) ** 2).sum(axis=-1))
    if (span < 1e-9).any():
        raise bad("the solid has the colour of the stock", field="solid", expected="a solid that shows")
    return np.asarray(np.sqrt(((tint - base) ** 2).sum(axis=-1)) / span)


def _values_v(xyz: ArrayLike, white: ArrayLike) -> Array:
    """V of X, Y and Z: L* made of each of them. From CIELAB, as 116 f(X/Xn) - 16 = L* + 116/500 a*."""
    lab = xyz_to_lab(xyz, white)
    light = lab[..., 0]
    return np.stack([light + 0.232 * lab[..., 1], light, light - 0.58 * lab[..., 2]], axis=-1)


def tone_value_increase(tone_value: ArrayLike, tint: ArrayLike) -> Array:
    """How much more is covered than the file asked for: tone value less tint, both 0..1."""
    return np.asarray(np.asarray(tone_value, dtype=np.float64) - np.asarray(tint, dtype=np.float64))


def corners(channels: int) -> Array:
    """All overprints of ``channels`` solids, (2^c, c) of 0 and 1: the stock first, the last channel fastest."""
    return np.array(list(product((0.0, 1.0), repeat=channels)))


def demichel(share: ArrayLike) -> Array:
    """Areas of all overprints when dots of several inks lie at random on each other.

    share: (..., c) coverage 0..1 of each ink. Returns (..., 2^c) in the order of :func:`corners`; they sum to 1.
    The product over inks of a where the ink is in the overprint and 1 - a where it is not: Demichel 1924,
    Le Procede 26, 17-21 and 26-27. Raises InputError for a coverage outside 0..1.

    >>> demichel([0.4, 0.4]).round(2).tolist()
    [0.36, 0.24, 0.24, 0.16]
    """
    a = np.asarray(share, dtype=np.float64)
    if a.ndim == 0:
        raise bad("one number is no set of coverages", field="share", expected="one coverage for each ink")
    if not ((a >= 0.0) & (a <= 1.0)).all():
        raise bad("a coverage outside 0 to 1", field="share", expected="coverages from 0 to 1", mend="clip them")
    areas = np.ones(a.shape[:-1] + (1,))
    for k in range(a.shape[-1]):
        one = a[..., k, np.newaxis, np.newaxis]
        pair = np.concatenate([1.0 - one, one], axis=-1)
        areas = (areas[..., np.newaxis] * pair).reshape(a.shape[:-1] + (-1,))
    return areas


def neugebauer(share: ArrayLike, overprints: ArrayLike, n: float = 1.0) -> Array:
    """Values of a halftone of several inks from those of its overprints, the Neugebauer equations.

    share: (..., c) coverage of each ink; overprints: (2^c, w) reflectances or tristimulus values in the order of
    :func:`corners`; n: Yule-Nielsen factor. Returns (..., w) = (sum of areas times overprint^(1/n))^n.
    Neugebauer 1937, Z. wiss. Photogr. 36, 73-89; with n Viggiano 1985, TAGA Proc. 37, 647-661.
    Raises InputError when the number of overprints does not fit.
    """
    n, areas = checked_n(n), demichel(share)
    values = np.asarray(overprints, dtype=np.float64)
    if values.ndim != 2 or values.shape[0] != areas.shape[-1]:
        raise bad(
            f"overprints of shape {values.shape} for {np.asarray(share).shape[-1]} inks",
            field="overprints",
            expected=f"{areas.shape[-1]} rows: the stock, the solids and all their overprints",
        )
    return raised(areas @ root(values, n), n)
