"""Wavelength grids, lights, objects, observers, and the weights that turn a spectrum into three numbers."""

from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.doubt import (
    EMISSION_CLASSES,
    INSTRUMENT_CLASSES,
    ColorimetryDoubt,
    EmissionClass,
    EmissionDoubt,
    InstrumentClass,
    ReflectanceDoubt,
    SamplesDoubt,
    doubt_of,
    emission_class,
    instrument_class,
    joined_doubt,
    shares_instrument,
)
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import VISIBLE, Light, as_light, daylight, light, light_names, planck
from screenproof.spectra.observer import Observer, as_observer, observer, physiological_observer
from screenproof.spectra.observer_names import is_standard, observer_names, standard_name, stated_observer
from screenproof.spectra.physiological import observer_specs
from screenproof.spectra.plausible import check_plausible
from screenproof.spectra.population import Population, population
from screenproof.spectra.samples import Colorimetry, Condition, Device, Samples
from screenproof.spectra.temperature import cct, cct_duv, cct_duv_of_xyz
from screenproof.spectra.weights import (
    emission_weights,
    emission_weights_for_curves,
    emission_xyz,
    tristimulus,
    weights,
    weights_for_curves,
    weights_many,
    white_point,
)

__all__ = [
    "EMISSION_CLASSES",
    "INSTRUMENT_CLASSES",
    "VISIBLE",
    "Array",
    "Colorimetry",
    "ColorimetryDoubt",
    "Condition",
    "Device",
    "EmissionClass",
    "EmissionDoubt",
    "Grid",
    "InstrumentClass",
    "Light",
    "Observer",
    "Population",
    "ReflectanceDoubt",
    "Samples",
    "SamplesDoubt",
    "as_light",
    "as_observer",
    "cct",
    "cct_duv",
    "cct_duv_of_xyz",
    "check_plausible",
    "daylight",
    "doubt_of",
    "emission_class",
    "emission_weights",
    "emission_weights_for_curves",
    "emission_xyz",
    "frozen",
    "instrument_class",
    "is_standard",
    "joined_doubt",
    "light",
    "light_names",
    "observer",
    "observer_names",
    "observer_specs",
    "physiological_observer",
    "planck",
    "population",
    "shares_instrument",
    "standard_name",
    "stated_observer",
    "tristimulus",
    "weights",
    "weights_for_curves",
    "weights_many",
    "white_point",
]
