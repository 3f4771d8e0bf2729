"""What the light of a room does to a screen, and how far to dim it.

The screen reflects a share of the light that falls on it: the same light on every colour. It lifts the black, so
the contrast falls, and washes the colours out, so the gamut shrinks: :class:`screenproof.additive.display.Room`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from screenproof.additive.display import Display, View
from screenproof.appearance import xyz_to_lab, xyz_to_uv
from screenproof.errors import bad
from screenproof.spectra import Array, Light

MOST_LUX = 20000.0
"""Beyond this nobody works at a screen; the search for the brightest room ends there."""

_SIDE = 17
_HALVINGS = 40


@dataclass(frozen=True, eq=False)
class RoomEffect:
    """A display in a room, for one observer. Luminances in cd/m2.

    illuminance: lx on the screen. reflected: luminance that the room adds to every colour. white, black: with it.
    contrast: white over black; None when the black is no light at all. on_off: the black in percent of the screen
    switched off; None in a dark room. area: of the triangle of the primaries in u', v'. volume: of the gamut in
    CIELAB relative to the screen's white; both in units of their own, to be compared with those of a dark room.
    """

    illuminance: float
    reflected: float
    white: float
    black: float
    contrast: float | None
    on_off: float | None
    area: float
    volume: float


def room_effect(display: Display, illuminance: float, light: Light | str, reflectance: float) -> RoomEffect:
    """The display with so many lx of a light on a screen of this reflectance 0..1, for its own observer.

    Raises InputError as :class:`~screenproof.additive.display.Room` does.
    """
    view = display.with_room(illuminance, light, reflectance).seen_by()
    reflected = float(view.room[1])
    white, black = float(view.white[1]), float(view.black[1])
    return RoomEffect(
        float(illuminance),
        reflected,
        white,
        black,
        white / black if black > 1e-12 * white else None,
        100.0 * black / reflected if reflected > 0 else None,
        gamut_area(view),
        gamut_volume(view),
    )


def gamut_area(view: View) -> float:
    """Area of the triangle of the full primaries in CIE 1976 u', v'."""
    (u0, v0), (u1, v1), (u2, v2) = xyz_to_uv(view.primaries)
    return float(abs((u1 - u0) * (v2 - v0) - (u2 - u0) * (v1 - v0)) / 2.0)


def gamut_volume(view: View, side: int = _SIDE) -> float:
    """Volume of a display's colours in CIELAB relative to its own white, in cubic units.

    The faces of the cube of drives as triangles, ``side`` points along an edge; the volume is the sum of the
    signed tetrahedra to a point inside (the divergence theorem).
    """
    steps = np.linspace(0.0, 1.0, side)
    first, second = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
    faces = []
    for axis in range(3):
        for end in (0.0, 1.0):
            face = np.full((side * side, 3), end)
            # The order of the other two axes turns every face outwards.
            others = [(axis + 1) % 3, (axis + 2) % 3]
            face[:, others[0]], face[:, others[1]] = (first, second) if end else (second, first)
            faces.append(face)
    lab = xyz_to_lab(view.to_xyz(np.concatenate(faces)), view.white).reshape(6, side, side, 3)
    lab = lab - np.array([50.0, 0.0, 0.0])
    a, b, c, d = lab[:, :-1, :-1], lab[:, 1:, :-1], lab[:, 1:, 1:], lab[:, :-1, 1:]
    return float(abs(_signed(a, b, c).sum() + _signed(a, c, d).sum()) / 6.0)


def _signed(a: Array, b: Array, c: Array) -> Array:
    return np.asarray(np.einsum("...i,...i->...", a, np.cross(b, c)))


def brightest_room(holds: Callable[[float], bool], top: float = MOST_LUX) -> float | None:
    """The largest illuminance in lx up to ``top`` at which a limit holds, by bisection; None when it never does.

    holds: whether it does at an illuminance. It must hold below the figure and fail above: more room light only
    lifts the black and takes colours away. To 1 lx or 1 in 10,000, and always on the side where it holds.
    """
    return _border(holds, 0.0, top)


def darkest_room(holds: Callable[[float], bool], top: float = MOST_LUX) -> float | None:
    """The smallest illuminance in lx at which a limit holds that asks for room light; None when none up to top."""
    return _border(holds, top, 0.0)


def _border(holds: Callable[[float], bool], good: float, other: float) -> float | None:
    """Where a limit, which holds at ``good`` if anywhere, ceases to hold on the way to ``other``."""
    if not 0.0 <= min(good, other) < max(good, other) < float("inf"):
        raise bad(f"a search from {good:g} to {other:g} lx", expected="illuminances of 0 lx or more")
    if not holds(good):
        return None
    if holds(other):
        return other
    for _ in range(_HALVINGS):
        middle = 0.5 * (good + other)
        good, other = (middle, other) if holds(middle) else (good, middle)
        if abs(other - good) <= max(0.05, 5e-5 * good):
            break
    return good
