"""Which samples a display can show, by how much the others miss, and which standard display would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import GAMUT_STANDARDS, Display, standard_display
from screenproof.appearance import difference_words_many, lab_to_xyz, lch_to_lab, xyz_to_lab, xyz_to_uv
from screenproof.errors import Note
from screenproof.proof.match import Match, match
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Samples

OUTLINE_HUES = tuple(range(0, 360, 30))
"""Hue angles h_ab [deg] of the outlines."""

_LIGHTNESS = np.linspace(0.0, 100.0, 41)
_FARTHEST_CHROMA = 250.0
_HALVINGS = 16


@dataclass(frozen=True, eq=False)
class Gamut:
    """Which samples a display can show. Arrays have one row per sample.

    in_gamut: whether it can. excess: CIEDE2000 to the nearest colour that it can show, exactly 0 if in gamut.
    nearest_lab: that colour, in reference Lab. direction: how it differs from the sample, in words; '' if in
    gamut. suffices: the standard displays that can show the sample.
    """

    names: tuple[str, ...]
    display: str
    in_gamut: NDArray[np.bool_]
    excess: Array
    nearest_lab: Array
    direction: tuple[str, ...]
    suffices: tuple[tuple[str, ...], ...]
    notes: tuple[Note, ...] = ()


def gamut(samples: Samples, display: Display, viewing: Viewing, *, matched: Match | None = None) -> Gamut:
    """Ask of every sample whether ``display`` can show it in ``viewing``, and what would.

    The standard displays (sRGB, BT.709, P3-D65, BT.2020) are asked at this display's own luminance, with a
    black of 0 and in a dark room: what counts is their primaries. ``matched`` saves the search when the match
    of the same samples on the same display is known already.

    Raises InputError as :func:`screenproof.proof.match.match` does.
    """
    found = match(samples, display, viewing) if matched is None else matched
    able = {
        name: _can_show(standard_display(name, luminance=display.luminance), viewing, found.xyz)
        for name in GAMUT_STANDARDS
    }
    direction = np.full(len(found.names), "", dtype=object)
    outside = ~found.in_gamut
    if outside.any():
        direction[outside] = difference_words_many(found.lab[outside], found.nearest_lab[outside])
    return Gamut(
        names=found.names,
        display=display.name,
        in_gamut=found.in_gamut,
        excess=found.excess,
        nearest_lab=found.nearest_lab,
        direction=tuple(str(words) for words in direction),
        suffices=tuple(tuple(name for name in GAMUT_STANDARDS if able[name][i]) for i in range(len(found.names))),
        notes=found.notes,
    )


def _can_show(display: Display, viewing: Viewing, xyz: Array) -> NDArray[np.bool_]:
    view = display.seen_by(viewing.observer)
    inside = view.to_drive(viewing.bridge(view).to_display(xyz))[1]
    return np.asarray(inside)


def primaries_uv(display: Display, viewing: Viewing) -> tuple[Array, Array]:
    """CIE 1976 u'v' of full red, green and blue (3, 2) and of the white (2,), brought to the viewing light.

    As the display is set and stands (black and room light included), by the inverse map of the basis: so they
    belong in one diagram with the samples under the viewing light.
    """
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    return (
        np.asarray(xyz_to_uv(bridge.to_reference(view.primaries))),
        np.asarray(xyz_to_uv(bridge.to_reference(view.white))),
    )


def lc_outline(
    display: Display, viewing: Viewing, hues: tuple[float, ...] = OUTLINE_HUES
) -> tuple[tuple[float, tuple[tuple[float, float], ...]], ...]:
    """The outline of what a display can show in lightness and chroma, at some hues.

    For each hue angle h_ab [deg]: (L*, C*ab) from dark to light, C the largest chroma up to which the display
    can show every chroma of that lightness and hue. Lightnesses of which it cannot show even the grey are
    left out: below its black, above its white. Lab is relative to the white of the viewing light.
    """
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)

    def inside(lch: Array) -> NDArray[np.bool_]:
        xyz = lab_to_xyz(lch_to_lab(lch), viewing.white)
        return np.asarray(view.to_drive(bridge.to_display(np.asarray(xyz)))[1])

    ends = [float(xyz_to_lab(bridge.to_reference(xyz), viewing.white)[0]) for xyz in (view.black, view.white)]
    lightness = np.unique(np.clip(np.append(_LIGHTNESS, ends), min(ends), max(ends)))
    h, level = (grid.ravel() for grid in np.meshgrid(np.asarray(hues, float), lightness, indexing="ij"))
    shown, failed = np.zeros(h.size), np.full(h.size, _FARTHEST_CHROMA)
    grey = inside(np.stack([level, shown, h], axis=-1))
    for _ in range(_HALVINGS):
        tried = 0.5 * (shown + failed)
        good = inside(np.stack([level, tried, h], axis=-1))
        shown, failed = np.where(good, tried, shown), np.where(good, failed, tried)
    outline = []
    for hue in hues:
        here = np.flatnonzero(grey & (h == hue))
        outline.append((float(hue), tuple((float(level[i]), float(shown[i])) for i in here)))
    return tuple(outline)
