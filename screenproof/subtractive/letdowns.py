"""Letdowns: the readings from which pigments are fitted, and their checks.

A letdown is a pigment mixed with white at a known concentration (share of the pigment in all the colorant). The
masstone is the pigment alone, concentration 1. Letdowns need at least one tint beside it: the masstone tells K/S
and the tint how strong it is against the white.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError, Note, Problem
from screenproof.spectra import Array, Grid, frozen, light, observer, weights, white_point
from screenproof.subtractive._checks import checked_curve
from screenproof.subtractive.surface import Surface

JUDGED_BY = ("D50", "cie1931")
"""The light and observer of the colour differences that a fit reports."""

SAME_WITHIN = 1.0
"""CIEDE2000 up to which two letdowns of one concentration count as the same and are averaged."""

FITS_WITHIN = 1.0
"""CIEDE2000 up to which a letdown counts as described by its fit."""


def lab_d50(curves: Array, grid: Grid) -> Array:
    """CIELAB (..., 3) of reflectances (..., w) for D50 and the 2 degree observer, in which a fit is judged."""
    lamp, eye = light(JUDGED_BY[0]), observer(JUDGED_BY[1])
    return xyz_to_lab(curves @ weights(lamp, eye, grid), white_point(lamp, eye))


@dataclass(frozen=True, eq=False)
class Letdowns:
    """Letdowns of one pigment: concentrations (m,) in 0 to 1, and measured reflectance factors (m, w).

    For a dye, the concentration is in percent of the weight of the cloth or any other unit, and 0 is the cloth
    itself. Letdowns of the same concentration are averaged, in ascending order of concentration afterwards.

    Raises InputError, with all that is wrong: shapes; readings of 0 or above 1; a concentration outside 0 to 1;
    two letdowns of one concentration that disagree by more than 1 CIEDE2000.
    """

    name: str
    grid: Grid
    concentrations: Array
    reflectance: Array
    surface: Surface = Surface.NONE
    dye: bool = False
    cost: float | None = None
    density: float | None = None
    notes: tuple[Note, ...] = field(default=())

    def __post_init__(self) -> None:
        c = np.atleast_1d(np.asarray(self.concentrations, dtype=np.float64))
        curves = np.atleast_2d(np.asarray(self.reflectance, dtype=np.float64))
        if c.ndim != 1 or curves.shape != (c.size, self.grid.count):
            raise InputError(
                Problem(
                    f"{c.size} concentrations and curves of shape {curves.shape}",
                    field=f"letdowns of {self.name}",
                    expected=f"one curve of {self.grid.count} wavelengths for each concentration",
                )
            )
        problems: list[Problem] = []
        for value, curve in zip(c, curves, strict=True):
            what = f"letdown {value:g} of {self.name}"
            if not (np.isfinite(value) and value >= 0.0 and (self.dye or value <= 1.0)):
                problems.append(
                    Problem(
                        f"a concentration of {value:g}",
                        field=what,
                        expected="0 or above" if self.dye else "a share from 0 (white alone) to 1 (masstone)",
                        mend="divide percentages by 100" if value > 1.0 else None,
                    )
                )
            try:
                checked_curve(curve, self.grid, what, least=self.surface.outside, most=1.0)
            except InputError as error:
                problems.extend(error.problems)
        if problems:
            raise InputError(problems)
        levels, which = np.unique(c, return_inverse=True)
        means = np.stack([curves[which == i].mean(axis=0) for i in range(levels.size)])
        notes = list(self.notes)
        for i, level in enumerate(levels):
            group = curves[which == i]
            if len(group) == 1:
                continue
            lab = lab_d50(group, self.grid)
            apart = float(de2000(lab[:, np.newaxis], lab[np.newaxis]).max())
            what = f"letdown {level:g} of {self.name}"
            if apart > SAME_WITHIN:
                problems.append(
                    Problem(
                        f"{len(group)} readings that disagree by {apart:.2f} CIEDE2000 (D50, 2 degrees)",
                        field=what,
                        expected=f"readings of one letdown within {SAME_WITHIN:g}",
                        mend="leave out the wrong one, or correct its concentration",
                    )
                )
            else:
                notes.append(
                    Note("info", f"{len(group)} readings, {apart:.2f} CIEDE2000 apart, are averaged", about=what)
                )
        if problems:
            raise InputError(problems)
        object.__setattr__(self, "concentrations", frozen(levels))
        object.__setattr__(self, "reflectance", frozen(means))
        object.__setattr__(self, "notes", tuple(notes))

    @property
    def internal(self) -> Array:
        """The internal reflectances (m, w), below the surface."""
        return self.surface.to_internal(self.reflectance)
