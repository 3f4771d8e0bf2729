"""From a reflectance curve to the tints that match it under one light and shift least under others.

A press with more inks than three has many sets of tints for one colour; each has a curve of its own, and under
another light they part. With four inks the sets lie on a line, from least to most black; the search goes along it
from both ends and the middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import xyz_to_lab
from screenproof.errors import bad
from screenproof.spectra import Array, Grid, Light, Observer
from screenproof.subtractive.aims import ColourAim, WeighedAim
from screenproof.subtractive.descent import descend
from screenproof.subtractive.ink_colours import InkColours, TintBounds
from screenproof.subtractive.press import Press, TintLimits
from screenproof.subtractive.separation import BLACKS, PRINTABLE, Separation, separate

_WEIGHTS = ((1.0, 20), (0.03, 15), (0.001, 15))


@dataclass(frozen=True, eq=False)
class SpectralSeparation:
    """Tints for curves: ``match`` under the first light, and ``shift`` (n, L) under each of the others.

    shift: CIEDE2000 of print and curve, each in CIELAB relative to the perfect diffuser under that light. Where
    the match is not exact, the shift holds what is left of it.
    """

    match: Separation
    lights: tuple[str, ...]
    shift: Array


def separate_spectra(
    press: Press,
    reflectance: ArrayLike,
    grid: Grid,
    *,
    under: Light,
    others: Sequence[Light],
    seen_by: Observer,
    limits: TintLimits | None = None,
) -> SpectralSeparation:
    """Tints that match curves (n, w) under a light, and of these the ones that shift least under the others.

    The sum of the squared CIEDE2000 under ``others`` is made small among the tints that match under the first
    light; a curve whose colour cannot be printed gets its nearest colour. limits: see separate.

    Raises InputError when the press is known by XYZ only, when the grids differ, and as separate does.
    """
    curves = np.atleast_2d(np.asarray(reflectance, dtype=np.float64))
    if press.grid is None:
        raise bad(
            "the press is only known by XYZ, and that says nothing of other lights",
            file=press.source or None,
            expected="a press fitted to reflectance curves",
            mend="fit it to the spectra of its characterisation",
        )
    if grid != press.grid or curves.shape[1] != grid.count:
        raise bad(
            f"curves on {grid} with {curves.shape[1]} bands, the press on {press.grid}",
            field="grid",
            expected="one grid for both: nothing is resampled",
            mend="export the readings again with the same wavelengths",
        )
    if not np.isfinite(curves).all():
        row = int((~np.isfinite(curves)).any(axis=1).argmax())
        raise bad(
            f"curve {row + 1} has a reflectance that is no number", field="reflectance", expected="fractions"
        )
    if not others:
        raise bad("no other light to shift under", field="others", expected="at least one light beside the first")
    room = TintBounds.of(press, limits)
    aims = []
    for one in (under, *others):
        colours = InkColours.of(press, one, seen_by, rows=len(curves))
        aims.append(ColourAim(colours, xyz_to_lab(curves @ colours.matrix, colours.white)))
    first, rest = aims[0], aims[1:]
    ends = [separate(press, first.wanted, under=under, seen_by=seen_by, limits=limits, black=b) for b in BLACKS]
    rows = np.arange(len(curves))
    best = ends[0].tints.copy()
    lowest = np.full(len(curves), np.inf)
    for end in ends:
        tints = end.tints
        for weight, rounds in _WEIGHTS:
            aim = WeighedAim(first, rest, weight)
            tints, _ = descend(aim, tints, room, rounds=rounds, enough=0.0, gain=1e-5)
        kept = first.cost(tints, rows) <= np.maximum(PRINTABLE, end.de00 + 0.5 * PRINTABLE) ** 2
        tints = np.where(kept[:, None], tints, end.tints)
        cost = np.sum([aim.cost(tints, rows) for aim in rest], axis=0)
        better = cost < lowest
        best[better], lowest[better] = tints[better], cost[better]
    apart = np.sqrt(first.cost(best, rows))
    match = replace(
        ends[0],
        tints=best,
        lab=first.colours.lab(best),
        de00=apart,
        printable=apart <= PRINTABLE,
        notes=press.notes_on(best),
    )
    shift = np.stack([np.sqrt(aim.cost(best, rows)) for aim in rest], axis=1)
    return SpectralSeparation(match, tuple(one.name for one in others), shift)
