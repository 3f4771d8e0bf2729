"""Mixing models: from shares of components to a reflectance curve, one form for paint, film, cloth and ink.

Whatever is mixed, absorption and scattering are linear in the shares c, on a ground that is always there:

    K = Kg + c1 K1 + c2 K2 + ...      S = Sg + c1 S1 + c2 S2 + ...      R = surface(layer(K, S))

``paint``    an opaque layer: R infinity of K/S (Kubelka-Munk, two constants); the shares sum to 1, a base fills up
``film``     a layer of finite thickness over a backing, from absolute K and S; the shares sum to 1
``cloth``    dyes on a ground that alone scatters (single-constant); amounts are free, nothing fills up
``inks``     transparent spot ink bases on a stock: S = 0, the law of Bouguer, Lambert and Beer; shares sum to 1

A search or a correction needs no more than :class:`MixingModel` says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad
from screenproof.spectra import Array, Grid, frozen
from screenproof.subtractive import kubelka_munk
from screenproof.subtractive._checks import above_zero, checked_curve, no_doubles, same_grid
from screenproof.subtractive.layers import Ink
from screenproof.subtractive.pigments import Pigment
from screenproof.subtractive.surface import Surface

Medium = Literal["paint", "film", "cloth", "inks"]


class MixingModel(Protocol):
    """What a search asks of a mixing model. n components, w wavelengths; the base, if there is one, is the last.

    k, s: (n, w) of the components at share 1; ground_k, ground_s: (w,) what is always there; closed: the shares
    sum to 1.
    """

    @property
    def names(self) -> tuple[str, ...]: ...
    @property
    def grid(self) -> Grid: ...
    @property
    def k(self) -> Array: ...
    @property
    def s(self) -> Array: ...
    @property
    def ground_k(self) -> Array: ...
    @property
    def ground_s(self) -> Array: ...
    @property
    def base(self) -> int | None: ...
    @property
    def closed(self) -> bool: ...
    @property
    def unit(self) -> float: ...
    @property
    def components(self) -> tuple[Component, ...]: ...
    @property
    def notes(self) -> tuple[Note, ...]: ...

    def curve(self, k: Array, s: Array) -> Array:
        """Measured reflectance (..., w) of K and S (..., w)."""
        ...

    def slopes(self, k: Array, s: Array) -> tuple[Array, Array, Array]:
        """The curve (..., w), and its derivatives with respect to K and to S."""
        ...

    def reflect(self, shares: ArrayLike) -> Array:
        """Measured reflectance (..., w) of shares (..., n)."""
        ...


@dataclass(frozen=True, eq=False)
class Component:
    """What a recipe must know of a component beside its K and S.

    covariance: (w, 2, 2) of K and S; strength_sd: relative standard deviation of its strength; concentrations:
    those at which it was measured and fits.
    """

    name: str
    cost: float | None
    density: float | None
    concentrations: tuple[float, float]
    covariance: Array
    strength_sd: float


@dataclass(frozen=True, eq=False)
class Mixture:
    """The one implementation of :class:`MixingModel`; made by :func:`paint`, :func:`film`, :func:`cloth`,
    :func:`inks`.

    thickness: None for an opaque layer; backing: (w,) internal reflectance below a layer that is not.
    """

    medium: Medium
    components: tuple[Component, ...]
    grid: Grid
    k: Array
    s: Array
    ground_k: Array
    ground_s: Array
    base: int | None
    closed: bool
    surface: Surface
    thickness: float | None = None
    backing: Array | None = None
    unit: float = 1.0
    notes: tuple[Note, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the components, the base last."""
        return tuple(part.name for part in self.components)

    def k_s(self, shares: ArrayLike) -> tuple[Array, Array]:
        """K and S (..., w) of shares (..., n)."""
        c = np.asarray(shares, dtype=np.float64)
        return self.ground_k + c @ self.k, self.ground_s + c @ self.s

    def curve(self, k: Array, s: Array) -> Array:
        """Measured reflectance (..., w) of K and S (..., w)."""
        if self.thickness is None or self.backing is None:
            inside = kubelka_munk.thick(k, s)
        else:
            inside = kubelka_munk.over(k, s, self.thickness, self.backing)
        return self.surface.to_measured(inside)

    def slopes(self, k: Array, s: Array) -> tuple[Array, Array, Array]:
        """The curve (..., w) and its derivatives with respect to K and S."""
        if self.thickness is None or self.backing is None:
            inside, by_k, by_s = kubelka_munk.thick_slopes(k, s)
        else:
            inside, by_k, by_s = kubelka_munk.over_slopes(k, s, self.thickness, self.backing)
        slope = self.surface.slope(inside)
        return self.surface.to_measured(inside), by_k * slope, by_s * slope

    def reflect(self, shares: ArrayLike) -> Array:
        """Measured reflectance (..., w) of shares (..., n); see :func:`screenproof.subtractive.recipe.search` for
        the way back. Shares are taken as they are: the caller checks their sum."""
        return self.curve(*self.k_s(shares))


def _of_pigment(pigment: Pigment) -> Component:
    return Component(
        pigment.name,
        pigment.cost,
        pigment.density,
        pigment.concentrations,
        pigment.covariance,
        pigment.strength_sd,
    )


def _gathered(
    pigments: Sequence[Pigment], base: Pigment | None, kinds: tuple[str, ...], medium: str
) -> tuple[list[Pigment], Grid]:
    """The pigments with the base last, and their grid. Raises InputError for what does not go together."""
    if not pigments:
        raise bad("an empty library", field="pigments", expected="at least one pigment")
    together = [*pigments, *([] if base is None else [base])]
    no_doubles([one.name for one in together], "pigments")
    grid = same_grid([(one.name, one.grid) for one in together])
    for one in together:
        if one.kind not in kinds:
            raise bad(
                f"{one.name} is of kind {one.kind!r}",
                field="pigments",
                expected=f"kind {' or '.join(kinds)} for {medium}",
                mend={
                    "relative": "letdowns with white say nothing of a film that is not opaque: measure "
                    "drawdowns over black and white",
                    "absolute": "use pigments fitted from one kind of reading",
                    "dye": "a dye belongs to its cloth: use cloth()",
                }[one.kind],
            )
    if len({one.kind for one in together}) > 1:
        raise bad(
            "absolute and relative pigments in one mixture",
            field="pigments",
            expected="K and S on one scale: all from letdowns with one white, or all from drawdowns",
        )
    return together, grid


def paint(pigments: Sequence[Pigment], base: Pigment | None = None, surface: Surface = Surface.NONE) -> Mixture:
    """Opaque mixtures of pigments, of which all are relative (letdowns with one white) or all absolute.

    base: what fills up to a sum of 1, mostly the white; without one the pigments themselves sum to 1. surface: as
    when the pigments were measured. Raises InputError for an empty library, unlike grids or kinds, a name that
    stands twice.
    """
    together, grid = _gathered(pigments, base, ("relative", "absolute"), "an opaque paint")
    zeros = frozen(np.zeros(grid.count))
    return Mixture(
        "paint",
        tuple(_of_pigment(one) for one in together),
        grid,
        frozen([one.k for one in together]),
        frozen([one.s for one in together]),
        zeros,
        zeros,
        None if base is None else len(together) - 1,
        True,
        surface,
        notes=tuple(note for one in together for note in one.notes),
    )


def film(
    pigments: Sequence[Pigment],
    backing: ArrayLike,
    thickness: float,
    base: Pigment | None = None,
    surface: Surface = Surface.NONE,
) -> Mixture:
    """Films of a given thickness over a backing (w,), from absolute pigments.

    backing: measured reflectance factor, under the same surface; thickness: in the unit of the pigments' K and S.
    Raises InputError as :func:`paint` does, for a thickness of 0 or below, and for a backing of 0 or above 1.
    """
    together, grid = _gathered(pigments, base, ("absolute",), "a film over a backing")
    zeros = frozen(np.zeros(grid.count))
    curve = checked_curve(backing, grid, "backing", least=surface.outside, most=1.0)
    return Mixture(
        "film",
        tuple(_of_pigment(one) for one in together),
        grid,
        frozen([one.k for one in together]),
        frozen([one.s for one in together]),
        zeros,
        zeros,
        None if base is None else len(together) - 1,
        True,
        surface,
        above_zero(thickness, "thickness"),
        frozen(surface.to_internal(curve, "backing")),
        notes=tuple(note for one in together for note in one.notes),
    )


def cloth(
    dyes: Sequence[Pigment], ground: Pigment, surface: Surface = Surface.NONE, *, unit: float = 0.01
) -> Mixture:
    """Dyes on a cloth, single-constant. ground: the undyed cloth, of ``fit_white``.

    Shares are concentrations in the unit of the dyeings; ``unit`` is what 1 of them is in kg of dye for each kg
    of cloth, 0.01 for percent of the weight of the cloth. Raises InputError as :func:`paint` does.
    """
    together, grid = _gathered(dyes, None, ("dye",), "a cloth")
    same_grid([(together[0].name, grid), (ground.name, ground.grid)])
    return Mixture(
        "cloth",
        tuple(_of_pigment(one) for one in together),
        grid,
        frozen([one.k for one in together]),
        frozen([one.s for one in together]),
        ground.k,
        ground.s,
        None,
        False,
        surface,
        unit=above_zero(unit, "unit"),
        notes=tuple(note for one in together for note in one.notes),
    )


def clear_extender(grid: Grid, name: str = "extender", cost: float | None = None) -> Ink:
    """A transparent extender that absorbs nothing, for want of a reading: an ink with a note that says so."""
    note = Note("assumed", f"{name} is taken to be clear", about=name, mend="measure it on the stock like an ink")
    return Ink(name, grid, np.ones(grid.count), cost=cost, notes=(note,))


def inks(
    bases: Sequence[Ink],
    stock: ArrayLike,
    extender: Ink | None = None,
    surface: Surface = Surface.NONE,
    *,
    film_weight: float = 1.0,
) -> Mixture:
    """Premixes of transparent inks, printed as one film on a stock (w,), measured reflectance factor.

    extender: what fills up to a sum of 1 (transparent white; :func:`clear_extender` if it was not measured);
    without one the bases themselves sum to 1. film_weight: of the print, relative to that at which the bases were
    measured. The absorbance -ln T2 of the double pass is taken as 2 K X of a layer that does not scatter. Raises
    InputError for an empty library, unlike grids, or a stock of 0.
    """
    if not bases:
        raise bad("an empty library", field="inks", expected="at least one ink")
    together = [*bases, *([] if extender is None else [extender])]
    no_doubles([ink.name for ink in together], "inks")
    grid = same_grid([(ink.name, ink.grid) for ink in together])
    zeros = frozen(np.zeros(grid.count))
    notes = [note for ink in together for note in ink.notes]
    parts = []
    for ink in together:
        covariance = np.zeros((grid.count, 2, 2))
        covariance[:, 0, 0] = (ink.spread / 2.0) ** 2
        parts.append(Component(ink.name, ink.cost, None, (0.0, 1.0), covariance, 0.0))
        if (ink.transmittance > 1.0).any():
            notes.append(
                Note(
                    "odd",
                    "reads lighter than its stock somewhere: taken as clear there in recipes",
                    about=ink.name,
                )
            )
    inside = surface.to_internal(checked_curve(stock, grid, "stock", least=surface.outside), "stock")
    return Mixture(
        "inks",
        tuple(parts),
        grid,
        frozen([np.maximum(ink.absorbance, 0.0) / 2.0 for ink in together]),
        frozen(np.zeros((len(together), grid.count))),
        zeros,
        zeros,
        None if extender is None else len(together) - 1,
        True,
        surface,
        above_zero(film_weight, "film weight"),
        frozen(inside),
        notes=tuple(notes),
    )
