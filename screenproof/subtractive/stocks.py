"""The same ink on another stock: coated board to kraft, over a white underprint, on film.

The ink's transmittance is kept, the stock beneath it is exchanged. What that leaves out is said in notes: an
uncoated stock drinks ink, so that less stays on top; gloss changes with the stock; and where the ink's
transmittance came from too little light, the new stock may show what the old one hid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.errors import Note
from screenproof.spectra import Array, Grid
from screenproof.subtractive._checks import above_zero, nm
from screenproof.subtractive.cautions import overprint_caution
from screenproof.subtractive.layers import DARK_STOCK, Ink, OpaqueFilm, overprint
from screenproof.subtractive.surface import Surface

HIDES = 0.98
"""Contrast ratio from which on an underprint counts as hiding its stock. Common practice, no source."""


@dataclass(frozen=True, eq=False)
class Restocked:
    """An ink on another stock: ``curve`` (w,) as it would be measured, the bare ground ``ground`` (w,) beside it.

    doubtful: (w,) where the ink's transmittance came from too little light; spread: (w,) the standard deviation
    of the curve that comes of the ink's.
    """

    ink: str
    stock: str
    curve: Array
    ground: Array
    doubtful: NDArray[np.bool_]
    spread: Array
    notes: tuple[Note, ...]


def restock(
    ink: Ink,
    other_stock: ArrayLike,
    surface: Surface = Surface.NONE,
    *,
    stock_name: str = "other stock",
    film_weight: float = 1.0,
    underprint: Sequence[OpaqueFilm | Ink] = (),
    underprint_weights: ArrayLike | None = None,
    stock_grid: Grid | None = None,
) -> Restocked:
    """An ink on another stock (w,), measured reflectance factor, with an underprint beneath it if there is one.

    underprint: layers from the stock upwards, below the ink; underprint_weights: (u,) film weights, 1 each if not
    given. ``surface`` is that of the finished print. Raises InputError as :func:`overprint` does.
    """
    weight = above_zero(film_weight, "film weight")
    below = np.ones(len(underprint)) if underprint_weights is None else np.asarray(underprint_weights, dtype=float)
    stack = [*underprint, ink]
    amounts = np.array([np.append(below, weight), np.append(below, 0.0)])
    curve, ground = overprint(other_stock, stack, amounts, surface, stock_grid=stock_grid)
    inside = surface.to_internal(curve)
    spread = surface.slope(inside) * inside * ink.spread * weight
    notes = [*ink.notes]
    dark = ground < DARK_STOCK
    if dark.any():
        notes.append(
            Note(
                "odd",
                f"{stock_name} is too dark at {nm(ink.grid, dark)}: the ink hardly shows there, and small "
                "errors of the stock count in full",
                about=f"{ink.name} on {stock_name}",
                mend="print a white underprint" if not underprint else "print a thicker white underprint",
            )
        )
    if ink.doubtful.any():
        notes.append(
            Note(
                "odd",
                f"the transmittance at {nm(ink.grid, ink.doubtful)} came from too little light to be known; the "
                f"curve is uncertain there by {spread[ink.doubtful].max():.4f}",
                about=f"{ink.name} on {stock_name}",
            )
        )
    for place, layer in enumerate(underprint):
        if isinstance(layer, OpaqueFilm) and below[place] > 0.0:
            hiding = float(layer.contrast_ratio(float(below[place])).min())
            if hiding < HIDES:
                notes.append(
                    Note(
                        "info",
                        f"{layer.name} does not hide the stock: its contrast ratio is {hiding:.2f} at the least",
                        about=f"{ink.name} on {stock_name}",
                        mend="a heavier or a second white makes the colour less dependent on the stock",
                    )
                )
    notes.append(
        Note(
            "assumed",
            f"{ink.name} is taken to lie on {stock_name} with the film weight and gloss that it had on "
            f"{ink.stock or 'its first stock'}; an uncoated stock drinks ink and prints weaker",
            about=f"{ink.name} on {stock_name}",
            mend="proof it on the stock",
        )
    )
    notes.append(overprint_caution())
    return Restocked(ink.name, stock_name, curve, ground, ink.doubtful, np.asarray(spread), tuple(notes))
