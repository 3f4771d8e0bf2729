"""Wavelength grids, lights, objects, observers, and the weights that turn a spectrum into three numbers."""

from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import VISIBLE, Light, daylight, light, light_names, planck
from screenproof.spectra.observer import Observer, observer, observer_names
from screenproof.spectra.plausible import check_plausible
from screenproof.spectra.samples import Colorimetry, Condition, Device, Samples
from screenproof.spectra.temperature import cct, cct_duv, cct_duv_of_xyz
from screenproof.spectra.weights import (
    emission_weights,
    emission_xyz,
    tristimulus,
    weights,
    weights_many,
    white_point,
)

__all__ = [
    "VISIBLE",
    "Array",
    "Colorimetry",
    "Condition",
    "Device",
    "Grid",
    "Light",
    "Observer",
    "Samples",
    "cct",
    "cct_duv",
    "cct_duv_of_xyz",
    "check_plausible",
    "daylight",
    "emission_weights",
    "emission_xyz",
    "frozen",
    "light",
    "light_names",
    "observer",
    "observer_names",
    "planck",
    "tristimulus",
    "weights",
    "weights_many",
    "white_point",
]
