"""A table for a display that does not add: an additive fit to its single channels, and a smooth correction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from screenproof.additive.additive_fit import DIM, AdditiveFit, fit_additive
from screenproof.additive.additivity import ramps_only
from screenproof.additive.correction import MisfitCorrection
from screenproof.additive.models import SpectralModel
from screenproof.additive.patches import Mask, Patches
from screenproof.additive.readings import STANDARD_OBSERVER, drive_name
from screenproof.additive.tables import SpectralTable, TableModel
from screenproof.additive.transfer import Transfer
from screenproof.spectra import Array, Grid, emission_weights
from screenproof.spectra import observer as named_observer

# Steps on each axis. Halving them changes colours by less than 0.1 CIEDE2000 at 33; spectra take more memory.
_STEPS, _SPECTRAL_STEPS = 33, 25
_MOST_COMPONENTS = 8
_LEFT_OVER = 0.02
# A correction that grows between the readings beyond this many times what it is at any of them, or takes away more
# than all the light, by this share of the white, is not told by them.
_MOST_GROWTH, _NEGATIVE = 2.0, 0.01
_TRIED_STEPS = 9


@dataclass(frozen=True, eq=False)
class SpectraFit:
    """Spectra (3, w) of the full primaries above the black, and of the black (w,)."""

    primaries: Array
    black: Array

    def model(self, curves: Transfer, grid: Grid) -> SpectralModel:
        """The spectral display with these tone curves."""
        return SpectralModel(curves, grid, self.primaries, self.black)


def fit_spectra(patches: Patches, rows: Mask, additive: AdditiveFit) -> SpectraFit:
    """The spectra of primaries and black that explain the patches ``rows`` best, given the tone curves.

    Least squares in which each reading's error is a share of its light; no spectrum goes below zero.
    """
    assert patches.spectra is not None
    ratio = np.maximum(patches.xyz[rows] / patches.white, 0.0).max(axis=1)
    weight = np.sqrt(patches.count[rows]) / (ratio + DIM * np.cbrt(ratio + 1e-3) ** 2)
    linear = additive.curves.forward(patches.drive[rows])
    design = np.column_stack([linear, np.ones(len(linear))]) * weight[:, None]
    solved = np.linalg.lstsq(design, patches.spectra[rows] * weight[:, None], rcond=None)[0]
    return SpectraFit(np.maximum(solved[:3], 0.0), np.maximum(solved[3], 0.0))


@dataclass(frozen=True, eq=False)
class TableFit:
    """A fitted display that need not add: XYZ, or spectra by a few components, at any drive."""

    base: AdditiveFit
    correction: MisfitCorrection
    spectra: SpectraFit | None = None
    components: Array | None = None
    grid: Grid | None = None

    def to_xyz(self, drive: Array) -> Array:
        """XYZ (n, 3) in cd/m2; for CIE 1931 where spectra were read."""
        if self.spectra is None or self.components is None or self.grid is None:
            return np.asarray(self.base.to_xyz(drive) + self.correction.at(drive))
        return np.asarray(
            self._spectrum(drive) @ emission_weights(named_observer(STANDARD_OBSERVER), self.grid)
        )

    def _spectrum(self, drive: Array) -> Array:
        assert self.spectra is not None and self.components is not None
        linear = self.base.curves.forward(drive)
        spectrum: Array = linear @ self.spectra.primaries + self.spectra.black
        return spectrum + self.correction.at(drive) @ self.components

    def model(self, observer: str) -> TableModel | SpectralTable:
        """The display as a table of even steps. observer: whose XYZ were read."""
        steps = _STEPS if self.spectra is None else _SPECTRAL_STEPS
        axis = np.linspace(0.0, 1.0, steps)
        nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
        if self.spectra is None:
            xyz = np.maximum(self.to_xyz(nodes), 0.0)
            return TableModel((axis, axis, axis), xyz.reshape(steps, steps, steps, 3), observer=observer)
        assert self.grid is not None
        spectra = np.maximum(self._spectrum(nodes), 0.0)
        return SpectralTable((axis, axis, axis), spectra.reshape(steps, steps, steps, -1), self.grid)


def fit_table(
    patches: Patches, rows: Mask, smoothing: float, grid: Grid | None = None, seed: int = 0
) -> TableFit:
    """A table's fit to the patches ``rows``: the additive fit to the single channels where each has a ramp, and
    the correction to all of them. grid: of the patches' spectra.
    """
    chosen, single = rows, rows & ramps_only(patches)
    base = fit_additive(patches, single, smoothing)
    drive, count = patches.drive[chosen], patches.count[chosen].astype(np.float64)
    if patches.spectra is None or grid is None:
        misfit = patches.xyz[chosen] - base.to_xyz(drive)
        return TableFit(base, MisfitCorrection(base, patches.white, drive, misfit, patches.white, count, seed))
    spectra = fit_spectra(patches, single, base)
    told = base.curves.forward(drive) @ spectra.primaries + spectra.black
    misfit = patches.spectra[chosen] - told
    components = _components(misfit, patches, chosen, grid)
    scores = misfit @ np.linalg.pinv(components)
    unit = float(np.abs(scores).max()) or 1.0
    correction = MisfitCorrection(base, patches.white, drive, scores, unit, count, seed)
    return TableFit(base, correction, spectra, components, grid)


def runs_away(fit: TableFit, patches: Patches) -> str | None:
    """What is wrong with a fitted table between the patches; None when nothing is."""
    axis = np.linspace(0.0, 1.0, _TRIED_STEPS)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    told = fit.to_xyz(nodes)
    lowest = int(np.argmin((told / patches.white).min(axis=1)))
    if (told[lowest] / patches.white).min() < -_NEGATIVE:
        return f"a table would have negative light at drive {drive_name(nodes[lowest])}"
    between = np.abs((told - fit.base.to_xyz(nodes)) / patches.white).max(axis=1)
    seen = np.abs((fit.to_xyz(patches.drive) - fit.base.to_xyz(patches.drive)) / patches.white).max()
    if between.max() > _MOST_GROWTH * seen:
        return f"a table would run away at drive {drive_name(nodes[int(np.argmax(between))])}"
    return None


def _components(misfit: Array, patches: Patches, chosen: Mask, grid: Grid) -> Array:
    """Spectra (p, w) of which the misfits are made, but for what is not seen.

    The singular vectors of the misfits as shares of the light, each wavelength weighing as the eye sees it; as
    many as leave 2 % of the misfit in XYZ.
    """
    weights = emission_weights(named_observer(STANDARD_OBSERVER), grid)
    ratio = np.maximum(patches.xyz[chosen] / patches.white, 0.0).max(axis=1, keepdims=True)
    relative = misfit / (ratio + DIM * np.cbrt(ratio + 1e-3) ** 2)
    eye = np.sqrt(np.abs(weights / patches.white).sum(axis=1))
    eye = np.maximum(eye, 1e-3 * eye.max())
    vectors = np.linalg.svd(relative * eye, full_matrices=False)[2]
    whole = np.linalg.norm(relative @ weights)
    kept: Array = vectors[:1] / eye
    for count in range(3, min(_MOST_COMPONENTS, len(vectors)) + 1):
        kept = vectors[:count] / eye
        rest = relative - (relative * eye) @ vectors[:count].T @ kept
        if np.linalg.norm(rest @ weights) <= _LEFT_OVER * whole:
            break
    return kept
