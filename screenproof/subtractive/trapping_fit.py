"""Trapping factors from readings of overprints, least squares in measured reflectance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Grid, light, observer, weights, white_point
from screenproof.subtractive._checks import checked_curve, same_grid
from screenproof.subtractive.layers import Ink, OpaqueFilm, overprint
from screenproof.subtractive.surface import Surface
from screenproof.subtractive.trapping import NO_TRAPPING, Trapping

MOST = 3.0
"""The largest factor that is looked for."""

USUAL = (0.5, 1.1)
"""Factors outside this range are odd: it is then not trapping that makes the difference. Common practice, no
source."""

JUDGED_BY = ("D50", "cie1931")
"""The light and observer of the colour differences that a fit reports."""


@dataclass(frozen=True, eq=False)
class TrappingFit:
    """A fitted factor, and how near the overprint comes without it and with it.

    rms: root mean square of measured minus predicted reflectance; de00: CIEDE2000 for D50 and the 2 degree
    observer.
    """

    inks: tuple[str, ...]
    factor: float
    rms_without: float
    rms: float
    de00_without: float
    de00: float
    notes: tuple[Note, ...] = ()


def _judge(curve: Array, measured: Array, grid: Grid) -> tuple[float, float]:
    lamp, eye = light(JUDGED_BY[0]), observer(JUDGED_BY[1])
    w, white = weights(lamp, eye, grid), white_point(lamp, eye)
    difference = de2000(xyz_to_lab(measured @ w, white), xyz_to_lab(curve @ w, white))
    return float(np.sqrt(np.mean((curve - measured) ** 2))), float(difference)


def fit_trapping(
    measured: ArrayLike,
    stock: ArrayLike,
    inks: Sequence[Ink | OpaqueFilm],
    film_weights: ArrayLike | None = None,
    surface: Surface = Surface.NONE,
    known: Trapping = NO_TRAPPING,
    *,
    stock_grid: Grid | None = None,
) -> TrappingFit:
    """The trapping factor of the uppermost ink, from the reading (w,) of an overprint.

    stock: (w,); inks: from the stock upwards, at least two; known: the factors of the overprints below.
    Least squares in measured reflectance, over factors from 0 to 3. A note says when the factor is not one that
    trapping makes, or when the overprint stays far off.
    Raises InputError as :func:`overprint` does, and for fewer than two inks.
    """
    from scipy.optimize import minimize_scalar

    if len(inks) < 2:
        raise bad(f"{len(inks)} ink(s) in an overprint", field="inks", expected="two inks or more")
    grid = same_grid([(ink.name, ink.grid) for ink in inks])
    names = tuple(ink.name for ink in inks)
    read = checked_curve(measured, grid, f"overprint {' + '.join(names)}", least=surface.outside)
    flat = np.ones(len(inks)) if film_weights is None else np.asarray(film_weights, dtype=np.float64)

    def predicted(factor: Array | float) -> Array:
        scaled = np.broadcast_to(flat, (*np.shape(factor), len(inks))).copy()
        scaled[..., -1] *= factor
        rest = Trapping({key: value for key, value in known.factors.items() if key != names})
        return overprint(stock, inks, scaled, surface, rest, stock_grid=stock_grid)

    def error(factor: Array | float) -> Array:
        return np.asarray(((predicted(factor) - read) ** 2).sum(axis=-1))

    tried = np.linspace(0.0, MOST, 61)
    best = int(np.argmin(error(tried)))
    bounds = (tried[max(0, best - 1)], tried[min(tried.size - 1, best + 1)])
    found = float(minimize_scalar(lambda t: float(error(t)), bounds=bounds, method="bounded").x)
    # The search stops a little short of an end of the range; the end itself may be the answer.
    factor = min((found, *bounds), key=lambda t: float(error(t)))
    before, after = _judge(predicted(1.0), read, grid), _judge(predicted(factor), read, grid)
    notes = []
    about = " + ".join(names)
    if not USUAL[0] <= factor <= USUAL[1]:
        notes.append(
            Note(
                "odd",
                f"a trapping factor of {factor:.2f} is not what trapping makes ({USUAL[0]:g} to {USUAL[1]:g})",
                about=about,
                mend="check the order of the inks, and whether the upper one covers",
            )
        )
    if after[1] > 3.0:
        notes.append(
            Note(
                "odd",
                f"with its factor the overprint is still {after[1]:.1f} CIEDE2000 off (D50, 2 degrees)",
                about=about,
                mend="an ink that scatters is no transparent layer: measure this overprint on each stock",
            )
        )
    return TrappingFit(names, factor, before[0], after[0], before[1], after[1], tuple(notes))


def fit_trappings(
    measured: Mapping[tuple[str, ...], ArrayLike],
    stock: ArrayLike,
    inks: Sequence[Ink | OpaqueFilm],
    surface: Surface = Surface.NONE,
    *,
    film_weights: ArrayLike | None = None,
    stock_grid: Grid | None = None,
) -> tuple[Trapping, tuple[TrappingFit, ...]]:
    """Factors of many measured overprints, each named by its inks in printing order; pairs before triples.

    film_weights: of the inks (n,), 1 each if not given. The factor of two inks is used for the two lower ones of
    three. Raises InputError for an unknown ink, otherwise
    as :func:`fit_trapping`.
    """
    by_name = {ink.name: ink for ink in inks}
    flat = np.ones(len(inks)) if film_weights is None else np.asarray(film_weights, dtype=np.float64)
    weight_of = dict(zip(by_name, flat.tolist(), strict=True))
    trapping, fits = NO_TRAPPING, []
    for names in sorted(measured, key=len):
        for name in names:
            if name not in by_name:
                raise bad(
                    f"no ink is called {name!r}",
                    field=f"overprint {' + '.join(names)}",
                    expected=f"one of {', '.join(by_name)}",
                )
        stack, weights = [by_name[n] for n in names], [weight_of[n] for n in names]
        fit = fit_trapping(measured[names], stock, stack, weights, surface, trapping, stock_grid=stock_grid)
        trapping = trapping.with_factor(names, fit.factor)
        fits.append(fit)
    return trapping, tuple(fits)
