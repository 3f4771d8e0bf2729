"""What is mixed: the library without what is barred, on its ground; and the lights that it is held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import Problem, bad, did_you_mean
from screenproof.questions.ink_names import names_in, one_sample

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.options import GroundOptions, LayerOptions, LightsOptions
    from screenproof.spectra import Array, Grid, Light
    from screenproof.subtractive import Mixture


def no_component(name: str, known: Sequence[str], field: str, file: str | None = None) -> Problem:
    """The problem of a name that no component of a library has."""
    mend = did_you_mean(name, known) or "name it as the library does"
    return Problem(
        f"the library has no component {name!r}", file, None, field, f"one of {', '.join(known[:8])}", mend
    )


def without(found: LibraryFile, barred: Sequence[str], field: str = "without") -> LibraryFile:
    """A library without some of its components. Raises InputError for one that it has not."""
    if not barred:
        return found
    names = [one.name for one in found.library.components]
    left_out = names_in(barred, names, field, no_component)
    kept = tuple(one for one in found.library.components if one.name not in left_out)
    return replace(found, library=replace(found.library, components=kept))  # type: ignore[arg-type]


def mixture(
    found: LibraryFile, layer: LayerOptions, stock: tuple[str, Array, Grid] | None = None
) -> tuple[Mixture, str | None]:
    """The mixing model of a library, and the name of the stock if there is one.

    stock: name, curve (w,) and grid. Inks of a file of prints are taken for the stock on which they were measured
    unless another is given. Raises InputError for a ground that the components have no use for, or lack.
    """
    curve, name = found.stock, found.stock_name or None
    if stock is not None:
        name, curve, grid = stock
        if grid != found.library.grid:
            raise bad(
                f"the stock {name} is on {grid}, the library on {found.library.grid}",
                field="stock",
                expected="one grid: nothing is resampled",
                mend="export the readings again with the same wavelengths",
            )
    if found.library.transparent and curve is None:
        raise bad("inks without a stock", field="stock_file", mend="give the stock that they are printed on")
    if found.medium == "film" and (curve is None or layer.thickness is None):
        raise bad(
            "a film without a stock below it, or without a thickness", field="thickness", mend="give them both"
        )
    film = 1.0 if layer.film is None else layer.film
    return found.library.mixture(stock=curve, thickness=layer.thickness, film_weight=film), name


def mixture_of(found: LibraryFile, asked: GroundOptions, open: Open) -> tuple[Mixture, str | None]:
    """The mixing model on the ground that the options describe."""
    stock = None
    if asked.stock_file is not None:
        sample = one_sample(open.samples(asked.stock_file), asked.stock, "stock")
        if sample.reflectance is None or sample.grid is None:
            raise bad("the stock has no curve", file=sample.source, field="stock", expected="reflectance curves")
        stock = sample.names[0], np.asarray(sample.reflectance[0]), sample.grid
    return mixture(found, asked.layer, stock)


def lights_of(asked: LightsOptions, open: Open) -> list[Light]:
    """The light of the match, then the others."""
    others = [one for one in asked.to if not (isinstance(one, str) and one == asked.light)]
    first = open.light(asked.light)
    return [first, *(one for one in open.lights(others, "to") if one.name != first.name)]
