"""Weights that turn a measured spectrum into three numbers, on the grid on which it was measured.

Nothing is resampled: the samples keep their bands, and it is the product of light and observer, known at
1 nm, that is carried onto those bands. A narrow line of a lamp between two bands is therefore counted.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import VISIBLE, Light
from screenproof.spectra.observer import Observer

LUMINOUS_EFFICACY = 683.0
"""Maximum luminous efficacy of radiation K_m in lm/W, CIE 15:2018 equation 7.5."""


def _lagrange(nodes: Array, at: float) -> Array:
    """Lagrange coefficients of ``nodes`` for a value ``at``: the products of ASTM E2022-11, 7.2."""
    coefficients = np.ones(nodes.size)
    for i, node in enumerate(nodes):
        others = np.delete(nodes, i)
        coefficients[i] = np.prod((at - others) / (node - others))
    return coefficients


@functools.lru_cache(maxsize=256)
def _interpolation(grid: Grid) -> Array:
    """Matrix (471, w): the reflectance at 360 to 830 nm by 1 nm, from that on ``grid``.

    Inside, four neighbours (degree 3); in the first and last interval of the full range, three (degree 2):
    ASTM E2022-11. The grid is first continued with its own step to the ends of the observer's range, and the
    bands that were not measured then take the value of the nearest measured one: ASTM E308-18, 7.3.2.2.
    """
    nm = VISIBLE.wavelengths
    before = max(0, int(np.floor((grid.start - VISIBLE.start) / grid.step + 1e-9)))
    after = max(0, int(np.floor((VISIBLE.stop - grid.stop) / grid.step + 1e-9)))
    nodes: Array = grid.start + grid.step * np.arange(-before, grid.count + after, dtype=np.float64)
    matrix = np.zeros((nm.size, nodes.size))
    for row, wavelength in enumerate(nm):
        position = (wavelength - nodes[0]) / grid.step
        nearest = round(position)
        if abs(position - nearest) < 1e-6 and 0 <= nearest < nodes.size:
            matrix[row, nearest] = 1.0
        elif position <= 0 or position >= nodes.size - 1:
            # Less than one step remains past the last band: it keeps the value of that band.
            matrix[row, 0 if position <= 0 else -1] = 1.0
        else:
            left = int(np.floor(position))
            first, last = max(0, left - 1), min(nodes.size - 1, left + 2)
            chosen = slice(first, last + 1)
            matrix[row, chosen] = _lagrange(nodes[chosen], wavelength)
    folded = matrix[:, before : before + grid.count].copy()
    folded[:, 0] += matrix[:, :before].sum(axis=1)
    folded[:, -1] += matrix[:, before + grid.count :].sum(axis=1)
    return frozen(folded)


@functools.lru_cache(maxsize=1024)
def weights(light: Light, observer: Observer, grid: Grid) -> Array:
    """Weights W (w, 3) with XYZ = R @ W for reflectances R (n, w) on ``grid``; the perfect diffuser has Y = 100.

    W = k sum over 1 nm of S(l) x(l) L(l), with k = 100 / sum of S(l) y(l). Sources: ASTM E2022-11 for L,
    ASTM E308-18 for the ends (its Table 5 is equal, for readings whose bandpass the instrument has
    corrected). For a camera the second sensitivity takes the place of y.

    Raises InputError when the light gives the observer nothing to see, or when the grid covers too
    little of the visible range (it must reach from 430 or below to 650 nm or above).
    """
    if grid.start > 430.0 or grid.stop < 650.0:
        raise bad(
            f"readings from {grid} leave out much of the visible range",
            expected="readings that reach from 430 nm or below to 650 nm or above, best 380 to 730 nm",
            mend="measure again over the visible range: colour cannot be guessed from part of it",
        )
    product = light.at(VISIBLE.wavelengths)[:, None] * observer.at_1nm
    total = product[:, 1].sum()
    if not total > 0:
        raise bad(f"observer {observer.name!r} sees nothing under light {light.name!r}")
    return frozen(_interpolation(grid).T @ product * (100.0 / total))


def weights_many(lights: Sequence[Light], observers: Sequence[Observer], grid: Grid) -> Array:
    """Weights (w, L, O, 3) for every light and observer: see :func:`weights`."""
    stack = [[weights(light, observer, grid) for observer in observers] for light in lights]
    return np.ascontiguousarray(np.moveaxis(np.asarray(stack), 2, 0))


@functools.lru_cache(maxsize=1024)
def white_point(light: Light, observer: Observer) -> Array:
    """XYZ (3,) of the perfect diffuser, Y = 100, summed over 360 to 830 nm by 1 nm."""
    total = light.at(VISIBLE.wavelengths) @ observer.at_1nm
    return frozen(total * (100.0 / total[1]))


def tristimulus(
    reflectance: ArrayLike, grid: Grid, lights: Sequence[Light], observers: Sequence[Observer]
) -> Array:
    """XYZ (n, L, O, 3) of reflectance factors (n, w) on ``grid``: one matrix product for all.

    The perfect diffuser has Y = 100 under every light for every observer.
    """
    values = np.atleast_2d(np.asarray(reflectance, dtype=np.float64))
    stack = weights_many(lights, observers, grid)
    flat = stack.reshape(grid.count, -1)
    return np.asarray(values @ flat).reshape(values.shape[0], *stack.shape[1:])


@functools.lru_cache(maxsize=256)
def emission_weights(observer: Observer, grid: Grid) -> Array:
    """Weights (w, 3) with XYZ in cd/m2 = L @ W for radiances L (n, w) in W/(sr m2 nm) on ``grid``.

    The radiance is linear between its nodes and zero past them; each node has the hat function's share of every
    1 nm of the observer. X = 683 lm/W times the sum of L(l) x(l): CIE 15:2018, 7.2.
    """
    nodes, nm = grid.wavelengths, VISIBLE.wavelengths
    if grid.step <= 1.0:
        return frozen(LUMINOUS_EFFICACY * grid.step * observer.at(nodes))
    hat = np.maximum(0.0, 1.0 - np.abs(nm[:, None] - nodes[None, :]) / grid.step)
    return frozen(LUMINOUS_EFFICACY * hat.T @ observer.at_1nm)


def emission_xyz(radiance: ArrayLike, grid: Grid, observer: Observer) -> Array:
    """XYZ (n, 3) in cd/m2 of spectral radiances (n, w) in W/(sr m2 nm): see :func:`emission_weights`."""
    return np.asarray(np.atleast_2d(np.asarray(radiance, dtype=np.float64)) @ emission_weights(observer, grid))


def weights_for_curves(light: Light, curves: Array, grid: Grid) -> Array:
    """Weights (w, P, 3) of many eyes at once: as :func:`weights`, for curves (P, 471, 3) at 360 to 830 nm by 1 nm.

    XYZ (n, P, 3) of reflectances R (n, w) are R @ W, and the perfect diffuser has Y = 100 for each of the eyes.
    """
    product = light.at(VISIBLE.wavelengths)[:, None] * curves
    carried = np.tensordot(_interpolation(grid), product, axes=(0, 1))
    return np.asarray(carried * (100.0 / product[:, :, 1].sum(axis=1))[:, None])


def emission_weights_for_curves(curves: Array, grid: Grid) -> Array:
    """Weights (w, P, 3) of many eyes at once: as :func:`emission_weights`, for curves (P, 471, 3) by 1 nm."""
    nodes, nm = grid.wavelengths, VISIBLE.wavelengths
    width = max(grid.step, 1.0)
    hat = np.maximum(0.0, 1.0 - np.abs(nm[:, None] - nodes[None, :]) / width)
    # A grid finer than 1 nm has more nodes than there are wavelengths: each node takes the curve at its place.
    return np.asarray(LUMINOUS_EFFICACY * min(grid.step, 1.0) * np.tensordot(hat, curves, axes=(0, 1)))
