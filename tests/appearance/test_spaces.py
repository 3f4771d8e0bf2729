"""Colour spaces against colour-science, against closed forms, and there and back."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import (
    lab_to_lch,
    lab_to_xyz,
    lch_to_lab,
    xyz_to_lab,
    xyz_to_luv,
    xyz_to_uv,
    xyz_to_xy,
)
from screenproof.errors import InputError
from screenproof.spectra.cielab import DELTA, KAPPA, SLOPE, THRESHOLD

D65 = np.array([95.047, 100.0, 108.883])
A = np.array([109.85, 100.0, 35.585])
TIGHT = {"atol": 1e-9, "rtol": 0.0}


@pytest.fixture(scope="module")
def xyz():
    """Ordinary colours, near blacks, and a few that go below zero as sums of measured light can."""
    rng = np.random.default_rng(11664)
    return np.concatenate([rng.uniform(0.0, 100.0, (500, 3)), rng.uniform(-1.0, 2.0, (200, 3))])


def chromaticity(white):
    return white[:2] / white.sum()


@pytest.mark.parametrize("white", [D65, A], ids=["D65", "A"])
def test_lab_luv_xy_uv_equal_colour_science(colour, xyz, white):
    theirs = white / white[1]
    xy = chromaticity(white)
    assert np.allclose(xyz_to_lab(xyz, white), colour.XYZ_to_Lab(xyz / 100.0, xy), **TIGHT)
    assert np.allclose(lab_to_xyz(xyz_to_lab(xyz, white), white), xyz, **TIGHT)
    assert np.allclose(xyz_to_luv(xyz, white), colour.XYZ_to_Luv(xyz / 100.0, xy), atol=1e-8, rtol=1e-11)
    assert np.allclose(xyz_to_xy(xyz), colour.XYZ_to_xy(xyz), rtol=1e-12)
    luv = colour.XYZ_to_Luv(xyz[:500] / 100.0, xy)
    assert np.allclose(xyz_to_uv(xyz[:500]), colour.Luv_to_uv(luv, xy), **TIGHT)
    assert np.allclose(xyz_to_lab(theirs, theirs), [100.0, 0.0, 0.0], **TIGHT)


def test_the_scale_of_the_white_cancels(xyz):
    """XYZ in cd/m2 with a white in cd/m2 give the same CIELAB as percentages."""
    assert np.allclose(xyz_to_lab(xyz * 1.6, D65 * 1.6), xyz_to_lab(xyz, D65), **TIGHT)


def test_lightness_of_closed_form():
    """L* = 50 where Y/Yn = (66/116)^3; below (6/29)^3 L* is 24389/27 of Y/Yn, for negative Y as well."""
    y = np.array([(66.0 / 116.0) ** 3, 0.004, -0.004])
    lightness = xyz_to_lab(y[:, np.newaxis] * D65, D65)[:, 0]
    assert np.allclose(lightness, [50.0, 0.004 * 24389.0 / 27.0, -0.004 * 24389.0 / 27.0], **TIGHT)
    assert KAPPA == pytest.approx(24389.0 / 27.0, rel=1e-15)


def test_the_two_halves_meet_in_value_and_slope():
    assert SLOPE * THRESHOLD + 4.0 / 29.0 == pytest.approx(DELTA, rel=1e-15)
    assert SLOPE == pytest.approx(THRESHOLD ** (-2.0 / 3.0) / 3.0, rel=1e-14)


def test_lch_is_the_polar_form_and_hue_stays_below_360(colour):
    rng = np.random.default_rng(3)
    lab = rng.normal(0.0, 40.0, (300, 3))
    lch = lab_to_lch(lab)
    assert np.allclose(lch, colour.models.Lab_to_LCHab(lab), **TIGHT)
    assert np.allclose(lch_to_lab(lch), lab, **TIGHT)
    # An angle a hair below zero would be rounded up to 360 by the remainder.
    assert lab_to_lch([50.0, 10.0, -1e-18])[2] == 0.0
    assert lab_to_lch([50.0, 0.0, 0.0]).tolist() == [50.0, 0.0, 0.0]


def test_no_light_has_no_chromaticity_and_no_nan():
    black = np.zeros(3)
    assert xyz_to_xy(black).tolist() == [0.0, 0.0]
    assert xyz_to_uv(black).tolist() == [0.0, 0.0]
    assert np.allclose(xyz_to_luv(black, D65), 0.0)
    assert np.allclose(xyz_to_lab(black, D65), 0.0, atol=1e-13)


def test_whites_of_lights_and_observers_broadcast_against_samples():
    rng = np.random.default_rng(5)
    whites = np.stack([D65, A])[:, np.newaxis] * rng.uniform(0.9, 1.1, (1, 3, 1))
    xyz = rng.uniform(1.0, 80.0, (7, 2, 3, 3))
    for function in (xyz_to_lab, xyz_to_luv):
        whole = function(xyz, whites)
        assert whole.shape == (7, 2, 3, 3)
        assert np.array_equal(whole[4, 1, 2], function(xyz[4, 1, 2], whites[1, 2]))


@pytest.mark.parametrize("white", [[95.0, 0.0, 108.0], [95.0, np.nan, 108.0], [-1.0, 100.0, 108.0], [95.0, 100.0]])
def test_a_white_that_is_none_is_refused(white):
    with pytest.raises(InputError, match="white"):
        xyz_to_lab([20.0, 20.0, 20.0], white)
