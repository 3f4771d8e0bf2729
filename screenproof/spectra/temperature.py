"""Correlated colour temperature: which black body a light is most like."""

from __future__ import annotations

import functools

import numpy as np

from screenproof.spectra._arrays import Array
from screenproof.spectra.light import VISIBLE, Light, planck
from screenproof.spectra.observer import observer
from screenproof.spectra.weights import white_point


def _uv60(xyz: Array) -> Array:
    """CIE 1960 u, v (..., 2): still the plane in which correlated temperature is defined, CIE 15:2018, 9.5."""
    scale = xyz[..., 0] + 15.0 * xyz[..., 1] + 3.0 * xyz[..., 2]
    return np.stack([4.0 * xyz[..., 0] / scale, 6.0 * xyz[..., 1] / scale], axis=-1)


def _locus(kelvins: Array) -> Array:
    """u, v (m, 2) of black bodies for the 1931 observer."""
    nm = VISIBLE.wavelengths
    spectra = np.stack([planck(nm, kelvin) for kelvin in kelvins])
    return _uv60(spectra @ observer("cie1931").at_1nm)


@functools.cache
def _coarse() -> tuple[Array, Array]:
    kelvins = np.geomspace(1000.0, 50000.0, 400)
    return kelvins, _locus(kelvins)


def cct_duv(light: Light) -> tuple[float, float]:
    """Correlated colour temperature in K and signed distance Duv from the Planckian locus.

    The nearest black body between 1000 and 50000 K in the CIE 1960 diagram for the 1931 observer (CIE 15:2018,
    9.5), by a coarse search and three refinements. Duv is above 0 on the green side of the locus. A
    distance above 0.05 means that the temperature says little of the light's colour.
    """
    return cct_duv_of_xyz(white_point(light, observer("cie1931")))


def cct_duv_of_xyz(xyz: Array) -> tuple[float, float]:
    """:func:`cct_duv` of tristimulus values (3,) for the 1931 observer, on any scale."""
    at = _uv60(np.asarray(xyz, dtype=np.float64))
    kelvins, places = _coarse()
    for _ in range(3):
        best = int(np.argmin(np.sum((places - at) ** 2, axis=1)))
        low, high = kelvins[max(best - 1, 0)], kelvins[min(best + 1, kelvins.size - 1)]
        kelvins = np.geomspace(low, high, 41)
        places = _locus(kelvins)
    best = int(np.argmin(np.sum((places - at) ** 2, axis=1)))
    distance = float(np.hypot(*(at - places[best])))
    sign = 1.0 if at[1] >= places[best][1] else -1.0
    return float(kelvins[best]), sign * distance


def cct(light: Light) -> float:
    """Correlated colour temperature in K: see :func:`cct_duv`."""
    return cct_duv(light)[0]
