"""A camera is an observer that adapts by white balance: a gain for each of its channels, and no cones."""

from __future__ import annotations

import numpy as np

from screenproof.additive import display_from_primaries, named_transfer
from screenproof.proof import Viewing, light_shift, match, screen_shift
from screenproof.spectra import Grid, Observer, Samples, light, observer

GRID = Grid(400.0, 700.0, 10.0)
FINE = Grid(380.0, 780.0, 5.0)


def bell(nm, peak, width):
    return np.exp(-(((nm - peak) / width) ** 2))


def camera() -> Observer:
    nm = FINE.wavelengths
    curves = np.stack([bell(nm, 605, 40), bell(nm, 535, 42), bell(nm, 460, 35)], axis=1)
    return Observer("camera", FINE, curves, kind="camera")


def inks() -> Samples:
    nm = GRID.wavelengths
    red = 0.05 + 0.7 / (1 + np.exp(-(nm - 590) / 8))
    green = 0.06 + 0.5 * bell(nm, 530, 45)
    return Samples(("red", "green", "grey"), np.stack([red, green, np.full(nm.shape, 0.2)]), GRID)


def balanced(colour, curve, power) -> np.ndarray:
    """The camera's signals over those of the perfect diffuser, summed at 5 nm by NumPy alone."""
    nm = FINE.wavelengths
    reflectance = np.interp(nm, GRID.wavelengths, curve)
    weights = power.at(nm)[:, None] * camera().curves
    return reflectance @ weights / weights.sum(axis=0)


def test_the_light_shift_of_a_camera_is_taken_after_white_balance(colour):
    samples = inks()
    found = light_shift(samples, light("D65"), [light("A")], [camera()])
    for i, curve in enumerate(samples.reflectance):
        here, there = (balanced(colour, curve, light(name)) for name in ("D65", "A"))
        # Lab of the balanced signals in the place of X/Xn, Y/Yn, Z/Zn; equal energy has Xn = Yn = Zn.
        labs = [colour.XYZ_to_Lab(signal, np.array([1 / 3, 1 / 3])) for signal in (here, there)]
        expected = float(colour.difference.delta_E_CIE2000(*labs))
        # NumPy's sum goes straight between the bands, the package's weights as ASTM E2022 says: hence not closer.
        assert abs(found.de00[i, 0, 0] - expected) < 0.15
    # White balance is exact for a grey.
    assert found.de00[2, 0, 0] < 1e-9


def test_a_grey_on_a_spectral_screen_holds_for_a_camera_in_every_light():
    nm = FINE.wavelengths
    primaries = np.stack([bell(nm, 630, 20), bell(nm, 530, 22), bell(nm, 450, 14)])
    display = display_from_primaries(primaries, FINE, named_transfer("gamma2.2", 100.0, 0.0), luminance=100.0)
    grey = inks().select([2])
    viewing = Viewing(light("D50"), observer("cie1931"))
    matched = match(grey, display, viewing, bits=16)
    held = screen_shift(grey, matched, display, viewing, [light("A"), light("FL11")], [camera()])
    assert held.de00.max() < 0.02
