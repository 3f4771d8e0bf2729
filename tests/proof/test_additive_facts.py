"""Facts of the trade: common practice, no source. The curves are invented, and need be no more for these facts."""

from __future__ import annotations

import numpy as np

from screenproof.additive import modelled_display, standard_display
from screenproof.appearance import hue_name, lab_to_lch, xyz_to_lab
from screenproof.proof import Viewing, match, two_curves
from screenproof.spectra import Grid, Samples, emission_xyz, light, observer

NM = np.arange(400.0, 701.0, 10.0)
D65, EYE = light("D65"), observer("cie1931")


def blue_and_yellow():
    """A blue and a yellow of which each reflects what the other takes away, but both some green."""
    rise = 1.0 / (1.0 + np.exp(-(NM - 510.0) / 20.0))
    fall = 1.0 / (1.0 + np.exp((NM - 520.0) / 20.0))
    return 0.04 + 0.6 * fall, 0.04 + 0.8 * rise


def lch_of(curve):
    samples = Samples(("mix",), np.atleast_2d(curve), Grid.of(NM))
    return lab_to_lch(xyz_to_lab(samples.xyz([D65], [EYE])[0, 0, 0], Viewing(D65, EYE).white))


def test_blue_and_yellow_are_blue_and_yellow():
    blue, yellow = (lch_of(curve) for curve in blue_and_yellow())
    assert 250 < blue[2] < 300 and blue[1] > 50
    assert 85 < yellow[2] < 105 and yellow[1] > 70


def test_blue_and_yellow_added_are_a_near_flat_grey():
    blue, yellow = blue_and_yellow()
    mean = 0.5 * (blue + yellow)
    assert np.ptp(mean) < 0.12 and min(np.ptp(blue), np.ptp(yellow)) > 0.5
    assert lch_of(mean)[1] < 11.0


def test_blue_and_yellow_as_filters_are_green():
    blue, yellow = blue_and_yellow()
    product = lch_of(blue * yellow)
    assert 130 < product[2] < 170
    assert product[1] > 40.0


def test_red_and_green_light_are_yellow_and_all_three_white():
    view = standard_display("srgb").seen_by()
    yellow, white = view.to_xyz(np.array([[1.0, 1.0, 0.0], [1.0, 1.0, 1.0]]))
    assert hue_name(xyz_to_lab(yellow, white)) == "yellow"
    np.testing.assert_allclose(white, view.to_xyz(np.eye(3)).sum(axis=0), rtol=1e-9)


def test_a_sample_and_its_match_agree_in_xyz_and_not_in_their_curves():
    # Two spectra, one colour: light from a teal object, and the light of a display's three primaries.
    teal = 0.05 + 0.3 * np.exp(-(((NM - 495.0) / 60.0) ** 2))
    samples = Samples(("teal",), teal[None], Grid.of(NM))
    display = modelled_display("quantum-dot-lcd", black=0.0)
    viewing = Viewing(D65.with_illuminance(300.0), EYE, "absolute")
    found = match(samples, display, viewing)
    assert found.in_gamut[0]

    screen = display.spectrum(found.drive)[0]
    shown = emission_xyz(screen, display.spectral_grid, EYE)[0]
    np.testing.assert_allclose(shown, found.target_xyz_cd[0], rtol=1e-6)
    np.testing.assert_allclose(found.target_xyz_cd[0], found.xyz[0] * 3.0 / np.pi, rtol=1e-12)

    # At the same luminance, each against the mean of both curves' peaks.
    curves = two_curves(samples, 0, found, display, viewing)
    assert curves is not None
    sides = np.array([curves.object, curves.screen])
    apart = np.sqrt(np.mean((sides[0] - sides[1]) ** 2)) / sides.max(axis=1).mean()
    assert apart > 0.05


def test_the_two_curves_have_the_same_luminance():
    teal = 0.05 + 0.3 * np.exp(-(((NM - 495.0) / 60.0) ** 2))
    samples = Samples(("teal",), teal[None], Grid.of(NM))
    for technology in ("laser", "phosphor-tube", "rgb-oled"):
        display = modelled_display(technology)
        viewing = Viewing(D65, EYE)
        found = match(samples, display, viewing, bits=16)
        curves = two_curves(samples, 0, found, display, viewing)
        grid = Grid.of(np.array(curves.wavelengths))
        luminances = [emission_xyz(np.array(side), grid, EYE)[0, 1] for side in (curves.object, curves.screen)]
        # The averages over 5 nm, and what lies beyond 400 and 700 nm, cost a percent or so.
        np.testing.assert_allclose(luminances[0], luminances[1], rtol=0.02)
