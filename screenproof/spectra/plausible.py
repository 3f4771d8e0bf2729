"""Readings that cannot be right, or are unlikely to be: found and said, never mended in silence."""

from __future__ import annotations

import numpy as np

from screenproof.errors import Note
from screenproof.spectra._arrays import Array
from screenproof.spectra.samples import Samples

PERCENT_ABOVE = 2.0
"""A reflectance factor above this is a percentage: the strongest brighteners stay well below."""

NOISE_BELOW_ZERO = -0.002
"""Dark samples may read a hair below zero by the instrument's noise."""

WHITE_TILE_ABOVE = 1.01
"""A white may read a hair above 1 by calibration; past it something else adds light."""

SPIKE = 0.15
"""A band this far from both of its neighbours' mean, while they agree, is a slip: surfaces are smoother."""


def _bands(wavelengths: Array, chosen: np.ndarray) -> str:
    nm = wavelengths[chosen]
    if nm.size == 1:
        return f"at {nm[0]:g} nm"
    return f"at {nm.size} bands from {nm.min():g} to {nm.max():g} nm"


def check_plausible(samples: Samples) -> tuple[Note, ...]:
    """What is implausible about the reflectances of ``samples``, a note per sample and kind.

    Finds a missing band (NaN), percent taken for a fraction, negative readings, readings above 1 where no
    fluorescence is declared, and a single band that leaves its neighbours. Colorimetry is checked for
    negative values and for a Y far above 100. The thresholds are common practice, no source.
    """
    notes: list[Note] = []

    def say(what: str, name: str, mend: str) -> None:
        notes.append(Note("odd", what, about=name, file=samples.source or None, mend=mend))

    if samples.reflectance is not None and samples.grid is not None:
        nm = samples.grid.wavelengths
        for name, curve in zip(samples.names, samples.reflectance, strict=True):
            missing = ~np.isfinite(curve)
            if missing.any():
                say(f"no reading {_bands(nm, missing)}", name, "measure it again, or leave the sample out")
                continue
            if curve.max() > PERCENT_ABOVE:
                say(
                    f"reflectance up to {curve.max():.4g}: this looks like percent taken for a fraction",
                    name,
                    "state the unit as percent",
                )
                continue
            negative = curve < NOISE_BELOW_ZERO
            if negative.any():
                say(
                    f"negative reflectance ({curve.min():.4g}) {_bands(nm, negative)}",
                    name,
                    "calibrate the instrument's black and measure again",
                )
            above = curve > WHITE_TILE_ABOVE
            if above.any() and not samples.fluorescent:
                say(
                    f"reflectance above 1 ({curve.max():.4g}) {_bands(nm, above)} and no fluorescence declared",
                    name,
                    "declare fluorescence if there are brighteners, else calibrate the white and measure again",
                )
            if curve.size >= 5:
                middle = 0.5 * (curve[:-2] + curve[2:])
                alone = np.abs(curve[1:-1] - middle) > SPIKE
                alone &= np.abs(curve[2:] - curve[:-2]) < 0.5 * SPIKE
                if alone.any():
                    spikes = np.concatenate([[False], alone, [False]])
                    say(f"a spike {_bands(nm, spikes)}", name, "look at the curve; measure it again")
    elif samples.colorimetry is not None:
        for name, xyz in zip(samples.names, samples.colorimetry.xyz, strict=True):
            if not np.all(np.isfinite(xyz)):
                say("a value that is no number", name, "measure it again, or leave the sample out")
            elif xyz.min() < -0.2:
                say(f"negative tristimulus value ({xyz.min():.4g})", name, "check the columns")
            elif xyz[1] > 101.0 and not samples.fluorescent:
                say(f"Y = {xyz[1]:.4g} is above the perfect diffuser's 100", name, "check the scale and the light")
    return tuple(notes)
