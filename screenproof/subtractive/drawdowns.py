"""Pigments from drawdowns: films that show their backing, measured over black and over white.

Two readings of one film give absolute K and S per unit of thickness (Kubelka 1948), where letdowns with white give
them relative to that white. Films that are not opaque need the absolute ones.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad
from screenproof.spectra import Array, Grid
from screenproof.subtractive import kubelka_munk
from screenproof.subtractive._checks import above_zero, checked_curve, nm, same_grid
from screenproof.subtractive.pigment_fit import NOISE
from screenproof.subtractive.pigments import Pigment
from screenproof.subtractive.surface import Surface


def fit_drawdowns(
    name: str,
    over_black: ArrayLike,
    over_white: ArrayLike,
    black: ArrayLike,
    white: ArrayLike,
    grid: Grid,
    surface: Surface = Surface.NONE,
    *,
    thickness: float = 1.0,
    concentration: float = 1.0,
    base: Pigment | None = None,
    noise: float = NOISE,
    cost: float | None = None,
    density: float | None = None,
) -> Pigment:
    """Absolute K and S of a pigment per unit of film thickness, from a film over black and over white.

    over_black, over_white: (w,) measured reflectance factors of the film; black, white: (w,) of the backings,
    taken under the same surface; thickness: of that film, in the unit in which films are to be given later.
    concentration: share of the pigment in the film, the rest being ``base`` (absolute too), whose K and S are
    taken off. Kubelka 1948, see :func:`kubelka_munk.from_two_backings`. Raises InputError as that does, for a
    share without a base, and for a base that is not absolute.
    """
    x = above_zero(thickness, "thickness")
    if not 0.0 < concentration <= 1.0:
        raise bad(f"a concentration of {concentration:g}", field=name, expected="a share above 0 up to 1")
    if concentration < 1.0 and (base is None or base.kind != "absolute"):
        raise bad(
            f"a film with {concentration:g} of {name}, and no absolute base for the rest",
            field=name,
            expected="the base's own pigment, from drawdowns over black and white",
        )
    parts = (("over black", over_black), ("over white", over_white), ("black", black), ("white", white))
    read = [checked_curve(v, grid, f"{name} {what}", least=-1e-12, most=1.0) for what, v in parts]

    def solved(low: Array, high: Array) -> tuple[Array, Array]:
        inside = [surface.to_internal(values, name) for values in (low, high, *read[2:])]
        kx, sx = kubelka_munk.from_two_backings(*inside)
        if base is not None and concentration < 1.0:
            rest = 1.0 - concentration
            return (kx / x - rest * base.k) / concentration, (sx / x - rest * base.s) / concentration
        return kx / x, sx / x

    if base is not None:
        same_grid([(name, grid), (base.name, base.grid)])
    k, s = solved(read[0], read[1])
    step = 1e-5
    jacobian = np.empty((grid.count, 2, 2))
    for column, (low, high) in enumerate(((read[0] + step, read[1]), (read[0], read[1] + step))):
        moved = solved(low, high)
        jacobian[:, 0, column], jacobian[:, 1, column] = (moved[0] - k) / step, (moved[1] - s) / step
    covariance = noise**2 * jacobian @ np.swapaxes(jacobian, 1, 2)
    notes = []
    negative = (k < 0.0) | (s < 0.0)
    if negative.any():
        notes.append(
            Note(
                "odd",
                f"K or S comes out below 0 at {nm(grid, negative)} (least {min(k.min(), s.min()):.2g}) and is "
                "taken as 0",
                about=name,
                mend="a stronger letdown tells more of the pigment",
            )
        )
    k, s = np.maximum(k, 0.0), np.maximum(s, 1e-9)
    return Pigment(
        name,
        grid,
        k,
        s,
        "absolute",
        cost,
        density,
        (0.0, concentration),
        covariance,
        notes=tuple(notes),
    )
