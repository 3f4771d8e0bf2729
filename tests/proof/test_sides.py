from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.appearance import lab_to_xyz
from screenproof.errors import InputError
from screenproof.proof import Viewing, match, object_patches, page_srgb, page_srgb_of_lab, two_curves
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer

D50, A, EYE = light("D50"), light("A"), observer("cie1931")


def test_patches_of_colours_inside_srgb_are_their_srgb(samples, d50):
    matched = match(samples, standard_display("srgb"), d50)
    patches = page_srgb(matched.xyz, d50)
    inside = matched.in_gamut
    np.testing.assert_allclose(patches[inside], matched.drive[inside], atol=1e-9)
    assert patches.min() >= 0.0 and patches.max() <= 1.0
    np.testing.assert_allclose(page_srgb_of_lab(matched.lab, d50), patches, atol=1e-9)


def test_a_page_shows_each_side_relative_to_its_white_on_every_basis(samples, d50):
    xyz = samples.xyz([D50], [EYE])[:, 0, 0]
    for basis in ("absolute", "appearance"):
        viewing = Viewing(D50.with_illuminance(900.0), EYE, basis)
        np.testing.assert_allclose(page_srgb(xyz, viewing), page_srgb(xyz, d50), atol=1e-12)
    dim = Viewing(D50, EYE, "appearance", display_surround="dim", display_la=10.0)
    np.testing.assert_allclose(page_srgb(xyz, dim), page_srgb(xyz, d50), atol=1e-12)


def test_object_patches_move_with_the_light_and_a_grey_stays(samples, d50):
    grey = Samples(("grey",), np.full((1, 36), 0.3), samples.grid)
    patches = object_patches(grey, d50, [D50, A, light("FL11")])
    assert patches.shape == (1, 3, 3)
    np.testing.assert_allclose(patches, patches[:, :1].mean(), atol=5e-3)
    moving = object_patches(samples, d50, [D50, A])
    np.testing.assert_allclose(moving[:, 0], page_srgb(samples.xyz([D50], [EYE])[:, 0, 0], d50), atol=1e-9)
    assert np.abs(moving[:, 1] - moving[:, 0]).max() > 0.05


def test_colorimetry_has_patches_in_its_own_light_only(d50):
    samples = Samples(("a",), colorimetry=Colorimetry(np.array([[20.0, 21.0, 15.0]]), "D50", "cie1931"))
    assert object_patches(samples, d50, [D50]).shape == (1, 1, 3)
    with pytest.raises(InputError, match="reflectance curves"):
        object_patches(samples, d50, [A])


def test_curves_are_the_objects_and_the_screens_light(d50):
    nm = np.arange(400.0, 701.0, 10.0)
    ramp = Samples(("ramp",), np.linspace(0.1, 0.6, 31)[None], Grid.of(nm))
    display = modelled_display("laser")
    curves = two_curves(ramp, 0, match(ramp, display, d50), display, d50)
    wavelengths = np.array(curves.wavelengths)
    np.testing.assert_allclose(wavelengths, np.arange(400.0, 701.0, 5.0))
    ratio = np.array(curves.object) / (np.interp(wavelengths, nm, ramp.reflectance[0]) * D50.at(wavelengths))
    np.testing.assert_allclose(ratio, ratio.mean(), rtol=0.05)
    # The narrow lines of a laser are not lost between two of the 5 nm: three peaks and near darkness elsewhere.
    screen = np.array(curves.screen)
    peaks = (screen[1:-1] > screen[:-2]) & (screen[1:-1] > screen[2:]) & (screen[1:-1] > 0.05 * screen.max())
    assert peaks.sum() == 3
    assert np.median(screen) < 0.02 * screen.max()


def test_no_curves_without_a_curve_or_without_spectra(samples, d50):
    srgb, laser = standard_display("srgb"), modelled_display("laser")
    assert two_curves(samples, 0, match(samples, srgb, d50), srgb, d50) is None
    flat = Samples(
        ("a",), colorimetry=Colorimetry(lab_to_xyz(np.array([[50.0, 10, 10]]), d50.white), "D50", "cie1931")
    )
    assert two_curves(flat, 0, match(flat, laser, d50), laser, d50) is None


def test_a_black_object_reflects_nothing(samples, d50):
    black = Samples(("black",), np.zeros((1, 36)), samples.grid)
    laser = modelled_display("laser")
    curves = two_curves(black, 0, match(black, laser, d50), laser, d50)
    assert set(curves.object) == {0.0}
