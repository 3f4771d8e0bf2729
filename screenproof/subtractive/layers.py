"""Transparent layers: an ink's internal transmittance, and what inks give on top of each other on a stock.

Light passes an ink on its way to the stock and again on its way back. With T2 the transmittance of that double
pass through one film weight, Rs the internal reflectance of the stock and x the film weight (1 as it was
measured),

    R = Rs T2^x                        one ink       (Bouguer 1729, Lambert 1760, Beer 1852)
    R = Rs T2a^xa T2b^xb ...           inks on top of each other, in any order
    T2 = T2a^ca T2b^cb ...             inks premixed by shares ca + cb + ... = 1, absorbing each by itself

all inside the surface: readings are carried in and out by :class:`~screenproof.subtractive.surface.Surface`. An
ink's T2 is the quotient of two readings, that of the ink on a known stock and that of the stock.

This holds for inks that absorb and do not scatter. A white underprint scatters: it is an :class:`OpaqueFilm`, a
layer of Kubelka and Munk, and hides what is below it as far as it hides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import Array, Grid, frozen
from screenproof.subtractive import kubelka_munk
from screenproof.subtractive._checks import (
    above_zero,
    checked_curve,
    checked_shares,
    nm,
    no_doubles,
    same_grid,
)
from screenproof.subtractive.surface import Surface
from screenproof.subtractive.trapping import NO_TRAPPING, Trapping

NOISE = 0.002
"""Standard deviation of a reading in reflectance factor, where none is given: the usual repeatability of two
readings on two places of a print. Common practice, no source."""

LEAST_KNOWN = 0.1
"""Relative standard deviation of a transmittance above which it counts as doubtful."""

DARK_STOCK = 0.1
"""Reflectance of a stock below which an ink on it can hardly be seen, or measured."""

_LIGHTER = 3.0  # standard deviations by which an ink must read lighter than its stock to count as not transparent


@dataclass(frozen=True, eq=False)
class Ink:
    """A transparent ink: ``transmittance`` (w,), internal, of the double pass through film weight 1.

    doubtful: (w,), where the reading had too little light to tell; spread: (w,) relative standard deviation of the
    transmittance; stock: what it was measured on; cost: per kg, in any currency; notes: what was odd about it.

    Raises InputError for a transmittance of 0 or below, or above 1.5, or of the wrong length.
    """

    name: str
    grid: Grid
    transmittance: Array
    doubtful: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=bool))
    spread: Array = field(default_factory=lambda: np.zeros(0))
    stock: str = ""
    cost: float | None = None
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        what = f"transmittance of {self.name}"
        object.__setattr__(self, "transmittance", checked_curve(self.transmittance, self.grid, what))
        for name, empty in (("doubtful", False), ("spread", 0.0)):
            given = np.asarray(getattr(self, name))
            values = np.full(self.grid.count, empty) if given.size == 0 else np.array(given)
            if values.shape != (self.grid.count,):
                raise bad(
                    f"{values.size} values for {self.grid.count} wavelengths", field=f"{name} of {self.name}"
                )
            values.setflags(write=False)
            object.__setattr__(self, name, values)

    @property
    def absorbance(self) -> Array:
        """-ln T2 (w,), to base e: linear in film weight and, in a premix, in concentration."""
        return -np.log(self.transmittance)


@dataclass(frozen=True, eq=False)
class OpaqueFilm:
    """A layer that scatters, such as a white underprint: K and S (w,) of film weight 1.

    Raises InputError for a K or S below 0 or of the wrong length.
    """

    name: str
    grid: Grid
    k: Array
    s: Array
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        for name in ("k", "s"):
            values = frozen(getattr(self, name))
            if values.shape != (self.grid.count,) or not (np.isfinite(values) & (values >= 0.0)).all():
                raise bad(
                    f"{name.upper()} of shape {values.shape}, least {values.min(initial=0.0):g}",
                    field=f"{name.upper()} of {self.name}",
                    expected=f"{self.grid.count} finite numbers, 0 or above",
                )
            object.__setattr__(self, name, values)

    @classmethod
    def from_drawdowns(
        cls,
        over_black: ArrayLike,
        over_white: ArrayLike,
        black: ArrayLike,
        white: ArrayLike,
        grid: Grid,
        surface: Surface = Surface.NONE,
        name: str = "underprint",
    ) -> OpaqueFilm:
        """From readings (w,) of the film over black and over white, and of that black and white themselves.

        The readings are measured reflectance factors; ``surface`` is that of the film, and of the backings as
        they are seen through it: backings are taken under the same surface. Raises InputError as
        :func:`kubelka_munk.from_two_backings` does.
        """
        parts = (("over black", over_black), ("over white", over_white), ("black", black), ("white", white))
        inside = [
            surface.to_internal(checked_curve(v, grid, f"{name} {what}", least=-1e-12, most=1.0), what)
            for what, v in parts
        ]
        return cls(name, grid, *kubelka_munk.from_two_backings(*inside))

    def contrast_ratio(self, film_weight: float = 1.0) -> Array:
        """Hiding (w,) at a film weight: 1 hides all."""
        return kubelka_munk.contrast_ratio(self.k, self.s, film_weight)


def ink_from_readings(
    ink: ArrayLike,
    stock: ArrayLike,
    grid: Grid,
    surface: Surface = Surface.NONE,
    name: str = "ink",
    *,
    stock_name: str = "stock",
    film_weight: float = 1.0,
    noise: float = NOISE,
    cost: float | None = None,
) -> Ink:
    """The ink, from its reading (w,) on a known stock and that of the bare stock (w,), reflectance factors.

    film_weight: that of the reading; the ink is then given for weight 1. noise: standard deviation of a reading.
    Notes say where the stock is too dark, where the ink reads lighter than its stock (it is not transparent
    there), and where so little light came back that the transmittance is doubtful.

    Raises InputError for readings of 0 or below (or below what the surface reflects), and where the ink reads
    lighter than the stock over most of the spectrum.
    """
    weight, noise = above_zero(film_weight, "film weight"), above_zero(noise, "noise")
    problems: list[Problem] = []
    curves = []
    for what, values in ((f"{name} on {stock_name}", ink), (stock_name, stock)):
        try:
            curves.append(checked_curve(values, grid, what, least=surface.outside))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    on, bare = curves
    lighter = on > bare + _LIGHTER * noise
    if 2 * int(lighter.sum()) > grid.count:
        raise bad(
            f"the stock {stock_name} is darker than {name} on it, at {int(lighter.sum())} of {grid.count} "
            "wavelengths",
            field=f"{name} on {stock_name}",
            expected="a stock that is lighter than a transparent ink on it",
            mend="check that the readings were not swapped; an ink that covers is a pigment, or an opaque film",
        )
    inside = [surface.to_internal(curve) for curve in (on, bare)]
    relative = [noise / (surface.slope(r) * r) for r in inside]
    spread = np.hypot(*relative) / weight
    doubtful = spread * weight > LEAST_KNOWN
    notes = []
    if (bare < DARK_STOCK).any():
        notes.append(
            Note(
                "odd",
                f"the stock {stock_name} is too dark at {nm(grid, bare < DARK_STOCK)}: it hardly shows what the "
                "ink does",
                about=name,
                mend="measure the ink on a lighter stock",
            )
        )
    if lighter.any():
        notes.append(
            Note(
                "odd",
                f"reads lighter than its stock at {nm(grid, lighter)}, by up to {(on - bare).max():.3f}: there "
                "it is not transparent, but scatters or fluoresces",
                about=name,
                mend="expect overprints and other stocks to differ from what is predicted",
            )
        )
    if doubtful.any():
        notes.append(
            Note(
                "odd",
                f"so little light comes back at {nm(grid, doubtful)} that its transmittance there is known to "
                f"{100 * spread[doubtful].max() * weight:.0f} percent only",
                about=name,
                mend="measure a thinner film if the ink is to be used thinner or in premixes",
            )
        )
    return Ink(
        name,
        grid,
        frozen((inside[0] / inside[1]) ** (1.0 / weight)),
        doubtful,
        frozen(spread),
        stock_name,
        cost,
        tuple(notes),
    )


def _checked_stack(
    stock: ArrayLike,
    layers: Sequence[Ink | OpaqueFilm],
    film_weights: ArrayLike | None,
    surface: Surface,
    stock_grid: Grid | None,
) -> tuple[Array, Array]:
    """The internal reflectance of the stock (w,), and the film weights (..., n)."""
    if not layers:
        raise bad("no ink to print", field="inks", expected="at least one ink")
    grids = [(layer.name, layer.grid) for layer in layers]
    grid = same_grid(grids if stock_grid is None else [("stock", stock_grid), *grids])
    weights = np.ones(len(layers)) if film_weights is None else np.asarray(film_weights, dtype=np.float64)
    if weights.ndim == 0 or weights.shape[-1] != len(layers):
        raise bad(
            f"film weights of shape {weights.shape} for {len(layers)} inks",
            field="film weights",
            expected="one film weight for each ink, from the stock upwards",
        )
    if not (np.isfinite(weights) & (weights >= 0.0)).all():
        raise bad(f"a film weight of {weights.min():g}", field="film weights", expected="finite, 0 or above")
    return surface.to_internal(checked_curve(stock, grid, "stock", least=surface.outside)), weights


def overprint(
    stock: ArrayLike,
    inks: Sequence[Ink | OpaqueFilm],
    film_weights: ArrayLike | None = None,
    surface: Surface = Surface.NONE,
    trapping: Trapping | None = None,
    *,
    stock_grid: Grid | None = None,
) -> Array:
    """Measured reflectance of inks printed one on top of the other on a stock.

    stock: (w,) measured reflectance factor, on the grid of the inks (``stock_grid``, where given, is held against
    it); inks: from the stock upwards, transparent or opaque; film_weights: (..., n), 1 each if not given;
    trapping: how much of each ink stays on those below it, see :class:`Trapping`. Returns (..., w).

    >>> grid = Grid(500.0, 510.0, 10.0)
    >>> ink = ink_from_readings([0.2125, 0.425], [0.85, 0.85], grid)
    >>> overprint([0.85, 0.85], [ink, ink]).round(6).tolist()
    [0.053125, 0.2125]

    Raises InputError for unlike grids, film weights below 0, or a stock of 0.
    """
    inside, weights = _checked_stack(stock, inks, film_weights, surface, stock_grid)
    names = tuple(ink.name for ink in inks)
    kept = trapping or NO_TRAPPING
    for place, ink in enumerate(inks):
        amount = weights[..., place, np.newaxis] * kept.factor(names[: place + 1])
        if isinstance(ink, OpaqueFilm):
            inside = kubelka_munk.over(ink.k, ink.s, amount, inside)
        else:
            inside = inside * ink.transmittance**amount
    return surface.to_measured(inside)


def overprint_matrix(
    stock: ArrayLike,
    inks: Sequence[Ink],
    film_weights: ArrayLike | None = None,
    surface: Surface = Surface.NONE,
    trapping: Trapping | None = None,
    *,
    stock_grid: Grid | None = None,
) -> Array:
    """Every ink on every other: (n, n, w), the row's ink printed first, the column's on top of it.

    On the diagonal stands the single ink. film_weights: (n,). Otherwise as :func:`overprint`.
    """
    no_doubles([ink.name for ink in inks], "inks")
    inside, weights = _checked_stack(stock, inks, film_weights, surface, stock_grid)
    once = np.stack([ink.transmittance for ink in inks]) ** weights[:, np.newaxis]
    kept = trapping or NO_TRAPPING
    factors = np.array([[kept.factor((a.name, b.name)) for b in inks] for a in inks])
    stack = inside * once[:, np.newaxis] * once[np.newaxis] ** factors[..., np.newaxis]
    same = np.arange(len(inks))
    stack[same, same] = inside * once
    return surface.to_measured(stack)


def premix(inks: Sequence[Ink], concentrations: ArrayLike, name: str | None = None) -> Ink:
    """Transparent inks stirred together and printed as one film of weight 1.

    concentrations: (n,), shares that sum to 1, by volume (by mass for inks of one density). Each absorbs as if it
    were alone: T2 is the product of T2^c (Beer). Raises InputError for shares that do not sum, or unlike grids.
    """
    names = [ink.name for ink in inks]
    if not inks:
        raise bad("no ink to mix", field="inks", expected="at least one ink")
    grid = same_grid([(ink.name, ink.grid) for ink in inks])
    shares = checked_shares(concentrations, names)
    used = [(ink, share) for ink, share in zip(inks, shares, strict=True) if share > 0.0]
    absorbance = sum((share * ink.absorbance for ink, share in used), np.zeros(grid.count))
    variance = sum(((share * ink.spread) ** 2 for ink, share in used), np.zeros(grid.count))
    doubtful = np.any([ink.doubtful & (share * ink.spread > 0.1 * LEAST_KNOWN) for ink, share in used], axis=0)
    costs = [ink.cost for ink, _ in used]
    price = None if None in costs else sum(s * c for (_, s), c in zip(used, costs, strict=True) if c is not None)
    return Ink(
        name or " + ".join(f"{share:.4g} {ink.name}" for ink, share in used),
        grid,
        frozen(np.exp(-absorbance)),
        doubtful,
        frozen(np.sqrt(variance)),
        ", ".join(dict.fromkeys(ink.stock for ink, _ in used if ink.stock)),
        price,
        tuple(note for ink, _ in used for note in ink.notes),
    )


def renamed(ink: Ink, name: str) -> Ink:
    """The same ink under another name, for one that is printed twice."""
    return replace(ink, name=name)
