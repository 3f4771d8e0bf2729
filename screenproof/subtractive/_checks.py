"""Checks at the boundary of the room, which all its modules share: curves, grids, amounts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import InputError, Problem, bad
from screenproof.spectra import Array, Grid, frozen

SUM_TOLERANCE = 1e-6
"""How far shares may stray from a sum of 1: rounding of six printed decimals."""

BRIGHTEST = 1.5
"""A reflectance factor above this is taken for a percentage, not for a fluorescent paper."""


def nm(grid: Grid, bands: ArrayLike, most: int = 5) -> str:
    """The wavelengths of the chosen bands (w,) bool, as text: '400, 410, 420 nm and 3 more'."""
    chosen = grid.wavelengths[np.asarray(bands, dtype=bool)]
    text = ", ".join(f"{value:g}" for value in chosen[:most]) + " nm"
    return text if chosen.size <= most else f"{text} and {chosen.size - most} more"


def checked_curve(
    values: ArrayLike, grid: Grid, what: str, *, least: float = 0.0, most: float = BRIGHTEST
) -> Array:
    """A reflectance curve (w,) on ``grid``, above ``least`` and at most ``most`` in every band, frozen.

    Raises InputError that names the bands which are not: a model divides by the curve or takes its logarithm.
    """
    curve = np.asarray(values, dtype=np.float64)
    if curve.shape != (grid.count,):
        raise bad(
            f"a curve of shape {curve.shape} for {grid.count} wavelengths",
            field=what,
            expected=f"one reflectance for each wavelength, {grid}",
        )
    missing = ~np.isfinite(curve)
    if missing.any():
        raise bad(f"no reading at {nm(grid, missing)}", field=what, expected="a reflectance in every band")
    low, high = curve <= least, curve > most
    problems = []
    if low.any():
        problems.append(
            Problem(
                f"a reflectance of {curve[low].min():g} at {nm(grid, low)}",
                field=what,
                expected=f"more than {least:g} in every band: the model divides by it",
                mend="measure again with a black trap for zero, or leave these bands out",
            )
        )
    if high.any():
        percent = curve.max() > BRIGHTEST
        problems.append(
            Problem(
                f"a reflectance of {curve[high].max():g} at {nm(grid, high)}",
                field=what,
                expected=f"at most {most:g}; a reflectance is a fraction",
                mend="divide percentages by 100"
                if percent
                else "measure with the UV cut (M2): the model does not know of fluorescence",
            )
        )
    if problems:
        raise InputError(problems)
    return frozen(curve)


def same_grid(grids: Sequence[tuple[str, Grid]]) -> Grid:
    """The one grid on which all named things lie. Raises InputError that says which does not."""
    first_name, first = grids[0]
    for name, grid in grids[1:]:
        if grid != first:
            raise bad(
                f"{name} is on {grid}, {first_name} on {first}",
                field=name,
                expected="one grid for all curves: nothing is resampled",
                mend="export the readings again with the same wavelengths",
            )
    return first


def checked_shares(shares: ArrayLike, names: Sequence[str], what: str = "concentrations") -> Array:
    """Shares (n,) of a mixture: not below 0, and 1 in sum. Raises InputError that says what they sum to."""
    values = checked_amounts(shares, names, what)
    total = float(values.sum())
    if abs(total - 1.0) > SUM_TOLERANCE:
        percent = abs(total - 100.0) < 0.01
        raise bad(
            f"{what} that sum to {total:.6g}",
            field=what,
            expected="shares that sum to 1",
            mend="divide percentages by 100" if percent else "divide each by their sum, or give what is missing",
        )
    return values


def checked_amounts(amounts: ArrayLike, names: Sequence[str], what: str) -> Array:
    """Amounts (n,), one for each name: finite and not below 0."""
    values = np.asarray(amounts, dtype=np.float64)
    if values.shape != (len(names),):
        raise bad(
            f"{values.size} {what} for {len(names)} components",
            field=what,
            expected=f"one for each of {', '.join(names)}",
        )
    for name, value in zip(names, values, strict=True):
        if not (np.isfinite(value) and value >= 0.0):
            raise bad(f"{value:g} of {name}", field=what, expected="a number, 0 or above")
    return values


def above_zero(value: float, what: str, unit: str = "") -> float:
    """``value`` if it is a finite number above 0; InputError otherwise."""
    if not (np.isfinite(value) and value > 0.0):
        raise bad(f"{what} of {value:g}{unit}", field=what, expected="a number above 0")
    return float(value)


def no_doubles(names: Sequence[str], what: str) -> None:
    """Raises InputError when a name stands twice."""
    for name in names:
        if list(names).count(name) > 1:
            raise bad(f"the name {name!r} stands twice", field=what, mend="give each its own name")
