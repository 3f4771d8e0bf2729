"""Tone value curves of a press: from the tint that the file asks for to the coverage that prints, in every band.

The optical part of the dot gain differs from band to band, as light spreads in the stock where the ink lets it.
So each band has a coverage of its own, where the ink absorbs enough in it to tell; where it hardly absorbs, the
coverage is drawn to that of the ink as a whole. Both work on the scale value^(1/n) on which areas mix.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from screenproof.errors import InputError, Note, Problem
from screenproof.spectra import Array, frozen

GOES_BACK = 0.03
"""A ramp that falls by more of the solid's coverage than this is wrong; by less, it is the noise of readings."""

LEAST_RISE = 1e-6
"""The least rise from one tint to the next, so that every coverage has one tint."""


@dataclass(frozen=True, eq=False)
class CoverageCurve:
    """Effective coverage of one ink by tint.

    tints: (m,) from 0 to 1, ascending. coverage: (m, w) in each band, from 0 to 1, rising. whole: (m,) of the ink
    as a whole. Between the tints a monotone cubic (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17, 238-246).
    """

    tints: Array
    coverage: Array
    whole: Array

    def __post_init__(self) -> None:
        for name in ("tints", "coverage", "whole"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @cached_property
    def pieces(self) -> Array:
        """Coefficients (4, m - 1, w) of the cubics, highest power of (tint - left end) first."""
        return monotone_cubic(self.tints, self.coverage)

    def at(self, tints: Array) -> Array:
        """Coverage (n, w) in each band at tints (n,) in 0..1."""
        return _read(self.tints, self.pieces, tints)

    @cached_property
    def _whole_pieces(self) -> Array:
        return monotone_cubic(self.tints, self.whole[:, None])

    def whole_at(self, tints: Array) -> Array:
        """Coverage (n,) of the ink as a whole at tints (n,) in 0..1."""
        return _read(self.tints, self._whole_pieces, tints)[:, 0]

    def tint_of(self, coverage: Array) -> Array:
        """The tints (n,) whose coverage as a whole is ``coverage`` (n,), to 1e-4 of a tint."""
        fine = np.linspace(0.0, 1.0, 10001)
        return np.interp(coverage, self.whole_at(fine), fine)


def monotone_cubic(x: Array, y: Array) -> Array:
    """Coefficients (4, m - 1, w) of the monotone cubics through y (m, w) at x (m,)."""
    if x.size == 2:
        line = np.zeros((4, 1, y.shape[1]))
        line[2] = np.diff(y, axis=0) / np.diff(x)[:, None]
        line[3] = y[:1]
        return line
    from scipy.interpolate import PchipInterpolator

    return np.asarray(PchipInterpolator(x, y).c, dtype=np.float64)


def _read(knots: Array, pieces: Array, at: Array) -> Array:
    where = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, knots.size - 2)
    t = (at - knots[where])[:, None]
    c = pieces[:, where]
    return np.asarray(((c[0] * t + c[1]) * t + c[2]) * t + c[3])


def fit_curve(
    tints: Array, ramp: Array, trust: float, channel: str, names: tuple[str, ...], file: str | None = None
) -> tuple[CoverageCurve, tuple[Note, ...]]:
    """The tone value curve of one ink from its ramp.

    tints: (m,) ascending from 0 (the stock) to 1 (the solid). ramp: (m, w) values^(1/n). trust: the share of
    the strongest band's range at which a band's own coverage counts as much as that of the whole. names: (m,) of
    the patches.
    A band's own coverage is (u - u_stock) / (u_solid - u_stock), that of the whole the same by least squares over
    all bands; they are weighed range^2 : trust^2.

    Raises InputError when the ramp goes back by more than 3 percent of the solid.
    """
    stock, span = ramp[0], ramp[-1] - ramp[0]
    square = float(span @ span)
    whole = (ramp - stock) @ span / square
    fall = np.maximum.accumulate(whole)[:-1] - whole[1:]
    worst = int(fall.argmax())
    if fall[worst] > GOES_BACK:
        last = int(whole[: worst + 1].argmax())
        raise InputError(
            Problem(
                f"the ramp of {channel} goes back: {names[worst + 1]} at {tints[worst + 1]:.4g} covers "
                f"{100 * fall[worst]:.1f} % less than {names[last]} at {tints[last]:.4g}",
                file=file,
                field=channel,
                expected="more ink to print darker in every step, but for noise of 3 %",
                mend="measure these patches again, or correct their tints",
            )
        )
    notes = []
    if fall[worst] > 0.002:
        notes.append(
            Note(
                "odd",
                f"the ramp of {channel} goes back by {100 * fall[worst]:.1f} % of the solid at "
                f"{tints[worst + 1]:.4g}; it is taken as level there",
                about=channel,
                file=file,
            )
        )
    strength = np.abs(span) / np.abs(span).max()
    own = strength**2 / (strength**2 + trust**2)
    safe = np.where(np.abs(span) > 1e-12, span, 1.0)
    band = np.where(np.abs(span) > 1e-12, (ramp - stock) / safe, whole[:, None])
    blended = own * band + (1.0 - own) * whole[:, None]
    return CoverageCurve(tints, _rising(blended), _rising(whole[:, None])[:, 0]), tuple(notes)


def _rising(coverage: Array) -> Array:
    """Coverage (m, w) made to rise from 0 to 1, by a hair at least: isotonic regression, the ends held."""
    held = np.empty_like(coverage)
    held[0], held[-1] = 0.0, 1.0
    inner: Array = np.clip(coverage[1:-1], 0.0, 1.0)
    if (np.diff(inner, axis=0) < 0.0).any():
        from scipy.optimize import isotonic_regression

        inner = np.stack([isotonic_regression(band).x for band in inner.T], axis=1)
    held[1:-1] = inner
    # The hair is taken from the whole, so that the solid stays at 1.
    steps = np.arange(coverage.shape[0])[:, None] * LEAST_RISE
    return np.asarray((held + steps) / (1.0 + steps[-1]))


def only_channel(device: Array, channel: int) -> NDArray[np.bool_]:
    """Which patches (n, c) have no ink but, perhaps, that of ``channel``."""
    return np.asarray(np.delete(device, channel, axis=1).max(axis=1, initial=0.0) == 0.0)
