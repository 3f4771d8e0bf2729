"""Patterns of small areas: checks, stripes, dots, and the sectors of a disc, as shares of each part per point.

A pattern is a tile that repeats in both directions. Each of its points holds the share (0..1) of every part, so
that an edge which runs through a point is not rounded to one side, and the areas of the tile are exactly those
that were asked for. Lengths are in mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import gcd, hypot, pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.additive.blends import checked_areas
from screenproof.additive.fusion import checked_length
from screenproof.errors import bad
from screenproof.spectra import Array, frozen

MOST_SQUARES = 64
"""A check's areas are multiples of one square in a block; this is the greatest block."""

_POINTS = 128  # points along a tile, at least
_FINE = 4  # finer points along each of them, for the shares
_LARGEST_SLOPE = 7  # rotated rasters: the slope of a row of dots is p / q with both up to this


@dataclass(frozen=True, eq=False)
class Pattern:
    """A tile of a pattern.

    kind: its name. areas: (k,) fractions. shares: (h, w, k) of each part at each point, summing to 1.
    pitch_mm: distance of two points. size_mm: as it was asked for: the side of a square, the period of the
    stripes, the spacing of the dots, the diameter of the disc. period_mm: of its coarsest grating, which is the
    last that an eye loses; that of a chessboard runs aslant, at the square root of 2 times the side. counted:
    (h, w) the points that belong to the pattern; not the ground around a disc. angle: of the rows of dots, in
    degrees.
    """

    kind: str
    areas: Array
    shares: Array
    pitch_mm: float
    size_mm: float
    period_mm: float
    counted: NDArray[np.bool_]
    angle: float = 0.0

    def image(self, values: ArrayLike) -> Array:
        """The tile (h, w, m) of parts with values (k, m): XYZ, or reflectance factors."""
        rows = np.asarray(values, dtype=np.float64)
        if rows.ndim != 2 or rows.shape[0] != self.areas.size:
            raise bad(
                f"values of shape {rows.shape} for {self.areas.size} parts",
                field="values",
                expected="one row for each part",
            )
        return np.asarray(self.shares @ rows)


def _made(
    kind: str,
    areas: Array,
    shares: Array,
    pitch: float,
    size: float,
    period: float,
    counted: NDArray[np.bool_] | None = None,
    angle: float = 0.0,
) -> Pattern:
    inside = np.ones(shares.shape[:2], dtype=np.bool_) if counted is None else counted
    return Pattern(kind, frozen(areas), frozen(shares), pitch, size, period, inside, angle)


def _length(value: float, what: str) -> float:
    return float(checked_length(value, what))


def _block(areas: Array) -> tuple[int, NDArray[np.intp]]:
    """The smallest number of squares that holds the areas, and which part each takes, spread evenly."""
    for count in range(1, MOST_SQUARES + 1):
        squares = np.round(areas * count)
        if np.abs(areas * count - squares).max() < 1e-5:
            break
    else:
        text = ", ".join(f"{area:.4g}" for area in areas)
        raise bad(
            f"areas of {text} are no whole squares",
            field="areas",
            expected=f"multiples of one square in up to {MOST_SQUARES}: 1/2 and 1/2, 1/3 and 2/3, 0.25 and 0.75",
            mend="take stripes, whose widths may be any",
        )
    taken, order = np.zeros(areas.size), []
    for step in range(1, count + 1):
        part = int(np.argmax(squares / count * step - taken))
        taken[part] += 1.0
        order.append(part)
    return count, np.array(order, dtype=np.intp)


def _row_step(count: int) -> int:
    """By how many squares each row is set off, so that the coarsest grating in the check is as fine as can be."""
    return max(range(1, count), key=lambda step: _coarsest(count, step)) if count > 1 else 0


def _coarsest(count: int, step: int) -> float:
    """The lowest frequency, in cycles per side of a square, of a block whose rows are set off by ``step``.

    Squares i, j with i + step j = 0 modulo ``count`` are alike; the frequencies of that lattice are m / count
    along a row and m step / count across, each but for a whole number.
    """
    m = np.arange(1, count)
    along, across = m / count, m * step % count / count
    return float(np.hypot(np.minimum(along, 1.0 - along), np.minimum(across, 1.0 - across)).min())


def check(areas: ArrayLike, side_mm: float) -> Pattern:
    """A check of squares: a chessboard for two equal parts, a regular mosaic for any others.

    areas: (k,) fractions that are multiples of one square in a block of up to 64. side_mm: the side of a square.
    The rows of the block are set off so that equal squares lie apart.
    Raises InputError for areas that are no whole squares.
    """
    shares, side = checked_areas(areas), _length(side_mm, "side of a square")
    count, order = _block(shares)
    step = _row_step(count)
    rows = count // gcd(count, step) if count > 1 else 1
    cells = order[(np.arange(count)[None, :] + step * np.arange(rows)[:, None]) % count]
    fine = max(_FINE, _POINTS // max(count, rows))
    grown = np.repeat(np.repeat(cells, fine, axis=0), fine, axis=1)
    period = side / _coarsest(count, step) if count > 1 else side
    return _made("check", shares, np.eye(shares.size)[grown], side / fine, side, period)


def stripes(areas: ArrayLike, period_mm: float) -> Pattern:
    """Stripes, or threads side by side, each as wide as its area asks.

    areas: (k,) fractions. period_mm: the width of all stripes together, after which they repeat.
    """
    shares, period = checked_areas(areas), _length(period_mm, "period")
    count = 4 * _POINTS
    edges = np.concatenate([[0.0], np.cumsum(shares)]) * count
    left = np.arange(count)[:, None]
    inside = np.clip(np.minimum(edges[1:], left + 1) - np.maximum(edges[:-1], left), 0.0, 1.0)
    tile = inside[None] / inside.sum(axis=1)[None, :, None]
    return _made("stripes", shares, tile, period / count, period, period)


def _filled(order: NDArray[np.intp], areas: Array, shape: tuple[int, ...]) -> Array:
    """Shares (*shape, k): the parts one after another along ``order``, each exactly as large as its area."""
    count = order.size
    edges = np.concatenate([[0.0], np.cumsum(areas)]) * count
    edges[-1] = count
    place = np.arange(count)[:, None]
    along = np.clip(np.minimum(edges[1:], place + 1) - np.maximum(edges[:-1], place), 0.0, 1.0)
    filled = np.empty((count, areas.size))
    filled[order] = along
    return filled.reshape(*shape, areas.size)


def _coarse(fine: Array) -> Array:
    """The mean over the finer points (h f, w f, k) of each point."""
    h, w, k = fine.shape
    return np.asarray(fine.reshape(h // _FINE, _FINE, w // _FINE, _FINE, k).mean(axis=(1, 3)))


def _slope(angle: float) -> tuple[int, int]:
    """p, q with p / q nearest to the tangent of the angle, so that rotated rows of dots close in a tile."""
    turned = angle % 90.0
    pairs = [
        (p, q)
        for q in range(1, _LARGEST_SLOPE + 1)
        for p in range(_LARGEST_SLOPE + 1)
        if gcd(p, q) == 1 and (p, q) != (0, 0)
    ]
    return min(pairs, key=lambda pq: (_apart(np.degrees(np.arctan2(*pq)), turned), pq[0] ** 2 + pq[1] ** 2))


def _apart(a: float, b: float) -> float:
    """The angle between two rasters, which look the same every 90 degrees."""
    d = abs(a - b) % 90.0
    return min(d, 90.0 - d)


def dots(areas: ArrayLike, spacing_mm: float, angle: float = 0.0) -> Pattern:
    """Clustered round dots of the first part on a ground of the second, on a square raster.

    areas: (2,) fractions, the dots first. Beyond pi / 4 the dots touch, and grow on into the corners.
    spacing_mm: from dot to dot along a row. angle: of the rows, in degrees; it is brought to the nearest whose
    tangent is a fraction of small numbers (0, 45, 14.04, 26.57, 71.57 ...), which the pattern then tells.
    Raises InputError for other than two parts.
    """
    shares, spacing = checked_areas(areas), _length(spacing_mm, "spacing")
    if shares.size != 2:
        raise bad(
            f"dots of {shares.size} parts",
            field="areas",
            expected="two parts: the dots, and the ground on which they lie",
            mend="take a check or stripes for more",
        )
    if not np.isfinite(angle):
        raise bad(f"an angle of {angle:g} degrees", field="angle", expected="the angle of the rows in degrees")
    p, q = _slope(float(angle))
    across = hypot(p, q)  # spacings along the tile, which holds p^2 + q^2 dots
    points = min(2 * _POINTS, int(np.ceil(across * _POINTS / 4.0) * 4)) if p else _POINTS
    at = (np.arange(points * _FINE) + 0.5) / (points * _FINE) * across
    x, y = at[None, :], at[:, None]
    u, v = (q * x + p * y) / across, (q * y - p * x) / across
    away = (u - np.round(u)) ** 2 + (v - np.round(v)) ** 2
    order = np.argsort(away.ravel(), kind="stable")
    tile = _coarse(_filled(order, shares, away.shape))
    turned = float(np.degrees(np.arctan2(p, q)))
    return _made("dots", shares, tile, spacing * across / points, spacing, spacing, angle=turned)


def sectors(areas: ArrayLike, diameter_mm: float, repeats: int = 1) -> Pattern:
    """A disc of sectors at rest, on a ground of its own mean colour, so that only the pattern can be seen.

    areas: (k,) fractions of the disc, counter-clockwise. diameter_mm: of the disc. repeats: how often the set of
    sectors stands on the disc. The period is that along the rim, or the diameter if that is less.
    """
    shares, diameter = checked_areas(areas), _length(diameter_mm, "diameter")
    if repeats < 1 or repeats != int(repeats):
        raise bad(f"{repeats} sets of sectors", field="repeats", expected="a whole number, 1 or more")
    points = 2 * _POINTS  # the disc takes half of the tile; the rest is ground
    at = (np.arange(points * _FINE) + 0.5) / (points * _FINE) * 2.0 - 1.0
    x, y = at[None, :], at[:, None]
    radius = np.hypot(x, y)
    inside = radius <= 0.5
    phase = (np.arctan2(y, x) / (2.0 * pi) * repeats) % 1.0
    fine = np.broadcast_to(shares, (*radius.shape, shares.size)).copy()
    fine[inside] = _filled(np.argsort(phase[inside], kind="stable"), shares, (int(inside.sum()),))
    whole = np.asarray(inside.reshape(points, _FINE, points, _FINE).all(axis=(1, 3)))
    period = min(diameter, pi * diameter / repeats)
    return _made("sectors", shares, _coarse(fine), 2.0 * diameter / points, diameter, period, whole)


PATTERNS: dict[str, Callable[..., Pattern]] = {
    "check": check,
    "stripes": stripes,
    "dots": dots,
    "sectors": sectors,
}
"""The patterns by name; each takes the areas (k,) and a size in mm."""
