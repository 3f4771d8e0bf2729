"""The reach of the inks: its boundary, whether a colour lies inside, which printable colour is nearest, and
why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance import difference_words_many, lab_to_xyz, xyz_to_uv
from screenproof.spectra import Array, Light, Observer
from screenproof.subtractive.ink_colours import InkColours, TintBounds
from screenproof.subtractive.press import Press, TintLimits
from screenproof.subtractive.separation import Separation, separate

OUTLINE_HUES = tuple(range(0, 360, 30))
"""Hue angles h_ab [deg] of the outlines, as for displays."""

_LIGHTNESS = np.linspace(0.0, 100.0, 101)
_AT = 1e-4
_HARDLY = 0.1
_FINE, _COARSE = 25, 9
_FEW_CHANNELS = 5


@dataclass(frozen=True, eq=False)
class Printability:
    """Whether colours can be printed. Arrays have one row per colour.

    separation: the tints of each, or of the nearest printable colour. direction: how that differs from what was
    wanted, in words; '' when printable. in_the_way: what keeps the press from coming nearer; '' when printable.
    """

    separation: Separation
    direction: tuple[str, ...]
    in_the_way: tuple[str, ...]

    @property
    def printable(self) -> NDArray[np.bool_]:
        """Whether each colour (n,) can be printed."""
        return self.separation.printable

    @property
    def de00(self) -> Array:
        """CIEDE2000 (n,) to the nearest printable colour."""
        return self.separation.de00


def reach(
    press: Press,
    lab: ArrayLike,
    *,
    under: Light | None = None,
    seen_by: Observer | None = None,
    limits: TintLimits | None = None,
    keep_hue: bool = False,
) -> Printability:
    """Ask of colours (n, 3), CIELAB relative to the perfect diffuser, whether the inks reach them on this stock.

    Arguments and errors as for separation.separate.
    """
    wanted = np.atleast_2d(np.asarray(lab, dtype=np.float64))
    found = separate(press, wanted, under=under, seen_by=seen_by, limits=limits, black="least", keep_hue=keep_hue)
    words = np.where(found.printable, "", difference_words_many(wanted, found.lab))
    room = TintBounds.of(press, limits)
    stock = press.lab(np.zeros(len(press.channels)), under, seen_by)[0]
    ways = [
        "" if able else in_the_way(press, tints, target, stock, room)
        for able, tints, target in zip(found.printable, found.tints, wanted, strict=True)
    ]
    return Printability(found, tuple(words.tolist()), tuple(ways))


def in_the_way(press: Press, tints: Array, wanted: Array, stock: Array, room: TintBounds) -> str:
    """What keeps a press at ``tints`` (c,) from coming nearer to a wanted colour: the limits that hold there.

    stock: (3,) CIELAB of the bare stock.
    """
    if wanted[0] > stock[0] and tints.sum() < _HARDLY:
        return "nothing is lighter than the bare stock"
    if (tints <= _AT).all():
        return "every ink leads away from it"
    every = list(zip(press.channels, tints, room.high, strict=True))
    parts = []
    solid = [name for name, tint, most in every if tint >= most - _AT and most == 1.0]
    limited = [name for name, tint, most in every if tint >= most - _AT and 0.0 < most < 1.0]
    none = [name for name, tint, _ in every if tint <= _AT]
    if solid:
        parts.append(f"{_listed(solid)} at the solid already")
    if limited:
        parts.append(f"{_listed(limited)} at the limit of the channel")
    if tints.sum() >= room.total - _AT and room.total < room.high.sum() - _AT:
        parts.append(f"the total coverage of {100 * room.total:.0f} % is reached")
    if none:
        parts.append(f"{_listed(none)} at 0 already")
    return "; ".join(parts) if parts else "no change of tints brings it nearer"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


@dataclass(frozen=True, eq=False)
class InkGamut:
    """The boundary of what can be printed, as triangles.

    lab: (m, 3) CIELAB relative to the perfect diffuser, of tints (m, c). triangles: (k, 3) rows of them. Some lie
    inside: each face of the space of tints is drawn that may lie on the boundary.
    """

    lab: Array
    tints: Array
    triangles: NDArray[np.intp]
    white: Array

    def lc_outline(
        self, hues: Sequence[float] = OUTLINE_HUES
    ) -> tuple[tuple[float, tuple[tuple[float, float], ...]], ...]:
        """For each hue angle [deg]: (L*, C*ab) from dark to light, C the largest chroma that is printed there."""
        return tuple((float(hue), self._at_hue(float(hue))) for hue in hues)

    def _at_hue(self, hue: float) -> tuple[tuple[float, float], ...]:
        c, s = np.cos(np.radians(hue)), np.sin(np.radians(hue))
        along = self.lab[:, 1] * c + self.lab[:, 2] * s
        points = np.stack([self.lab[:, 0], along], axis=1)
        cut = _cuts(points, self.lab[:, 2] * c - self.lab[:, 1] * s, self.triangles)
        cut = cut[(cut[:, :, 1] > 0.0).any(axis=1)]
        if not len(cut):
            return ()
        dark, light = float(cut[:, :, 0].min()), float(cut[:, :, 0].max())
        outline = []
        for level in np.unique(np.clip(np.append(_LIGHTNESS, [dark, light]), dark, light)):
            start, end = cut[:, 0], cut[:, 1]
            here = (np.minimum(start[:, 0], end[:, 0]) <= level) & (level <= np.maximum(start[:, 0], end[:, 0]))
            if here.any():
                a, b = start[here], end[here]
                width = b[:, 0] - a[:, 0]
                share = np.where(width == 0.0, 0.0, (level - a[:, 0]) / np.where(width == 0.0, 1.0, width))
                outline.append((float(level), float(max((a[:, 1] + share * (b[:, 1] - a[:, 1])).max(), 0.0))))
        return tuple(outline)

    def uv_outline(self, directions: int = 90) -> Array:
        """CIE 1976 u'v' (k, 2) around what can be printed, at any lightness, in directions from the white."""
        uv = np.asarray(xyz_to_uv(lab_to_xyz(self.lab, self.white)))
        centre = np.asarray(xyz_to_uv(self.white))
        away = uv - centre
        outline = []
        for angle in np.arange(directions) * 2.0 * np.pi / directions:
            c, s = np.cos(angle), np.sin(angle)
            along = away[:, 0] * c + away[:, 1] * s
            cut = _cuts(along[:, None], away[:, 1] * c - away[:, 0] * s, self.triangles)
            if len(cut) and cut.max() > 0.0:
                outline.append(centre + cut.max() * np.array([c, s]))
        return np.array(outline).reshape(-1, 2)


def _cuts(points: Array, side: Array, triangles: NDArray[np.intp]) -> Array:
    """Where edges of triangles cross side = 0: pairs (k, 2, d) of points, one pair for each triangle that does."""
    above = side[triangles] >= 0.0
    crossed = triangles[above.any(axis=1) & ~above.all(axis=1)]
    above = side[crossed] >= 0.0
    # The corner that is alone on its side; the other two edges are crossed.
    alone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), (~above).argmax(axis=1))
    rows = np.arange(len(crossed))
    tip = crossed[rows, alone]
    ends = []
    for turn in (1, 2):
        other = crossed[rows, (alone + turn) % 3]
        share = side[tip] / (side[tip] - side[other])
        ends.append(points[tip] + share[:, None] * (points[other] - points[tip]))
    return np.stack(ends, axis=1)


def gamut_of_inks(
    press: Press,
    *,
    under: Light | None = None,
    seen_by: Observer | None = None,
    limits: TintLimits | None = None,
) -> InkGamut:
    """The boundary of what a press prints in its limits; arguments and errors as for separation.separate."""
    room = TintBounds.of(press, limits)
    faces = list(_faces(room))
    tints = np.concatenate(faces)
    colours = InkColours.of(press, under, seen_by, rows=len(tints))
    per = round(np.sqrt(len(faces[0])))
    cell = np.arange(per - 1)[:, None] * per + np.arange(per - 1)
    halves = np.concatenate(
        [np.stack([cell, cell + 1, cell + per], -1), np.stack([cell + 1, cell + per + 1, cell + per], -1)]
    )
    one = halves.reshape(-1, 3)
    triangles = np.concatenate([one + k * per * per for k in range(len(faces))]).astype(np.intp)
    return InkGamut(colours.lab(tints), tints, triangles, colours.white)


def _faces(room: TintBounds) -> Iterator[Array]:
    """Grids (k * k, c) of tints on the faces of what is allowed: two tints vary, the others are at a limit.

    A face that exceeds the total is drawn in onto it; and with three tints, two vary and the third fills up to it.
    """
    channels = [int(k) for k in np.flatnonzero(room.high > 0.0)]
    steps = np.linspace(0.0, 1.0, _FINE if len(channels) <= _FEW_CHANNELS else _COARSE)
    u, v = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
    for pair in combinations(channels, min(2, len(channels))):
        rest = [k for k in channels if k not in pair]
        for ends in product((0.0, 1.0), repeat=len(rest)):
            tints = np.zeros((u.size, len(room.high)))
            tints[:, rest] = np.array(ends) * room.high[rest]
            tints[:, pair[0]] = u * room.high[pair[0]]
            if len(pair) == 2:
                tints[:, pair[1]] = v * room.high[pair[1]]
            yield room.allowed(tints)
    if room.total >= float(room.high.sum()) - _AT:
        return
    for trio in combinations(channels, 3):
        rest = [k for k in channels if k not in trio]
        for ends in product((0.0, 1.0), repeat=len(rest)):
            tints = np.zeros((u.size, len(room.high)))
            tints[:, rest] = np.array(ends) * room.high[rest]
            left = max(room.total - float(tints[0].sum()), 0.0)
            tints[:, trio[0]] = u * min(room.high[trio[0]], left)
            tints[:, trio[1]] = v * np.minimum(room.high[trio[1]], left - tints[:, trio[0]])
            used = tints[:, trio[0]] + tints[:, trio[1]]
            tints[:, trio[2]] = np.clip(left - used, 0.0, room.high[trio[2]])
            yield room.allowed(tints)
