"""Chromatic adaptation against colour-science, LittleCMS and its own definition."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import adapt, adaptation_matrix, degree_of_adaptation
from screenproof.appearance.adaptation import BRADFORD, CAT16
from screenproof.errors import InputError

D50 = np.array([96.422, 100.0, 82.521])
D65 = np.array([95.047, 100.0, 108.883])
A = np.array([109.85, 100.0, 35.585])
THEIRS = {"cat16": "CAT16", "bradford": "Bradford", "xyz": "XYZ Scaling"}
METHODS = sorted(THEIRS)
TIGHT = {"atol": 1e-9, "rtol": 0.0}


@pytest.mark.parametrize("method", METHODS)
def test_complete_adaptation_equals_colour_science(colour, method):
    for start, end in ((D50, D65), (A, D65), (D65, A)):
        theirs = colour.adaptation.matrix_chromatic_adaptation_VonKries(start, end, transform=THEIRS[method])
        assert np.allclose(adaptation_matrix(start, end, method), theirs, **TIGHT)


@pytest.mark.parametrize("degree", [0.0, 0.37, 0.9, 1.0])
def test_incomplete_cat16_equals_the_one_step_form_in_colour_science(colour, degree):
    """Zhai and Luo's two steps are one when the baseline white is the second white itself."""
    xyz = np.random.default_rng(1).uniform(0.0, 100.0, (50, 3))
    theirs = colour.adaptation.chromatic_adaptation_Zhai2018(
        xyz, A, D65, D_b=degree, D_d=1.0, XYZ_wo=D65, transform="CAT16"
    )
    assert np.allclose(adapt(xyz, A, D65, degree=degree), theirs, **TIGHT)


def test_matrices_are_the_published_ones(colour):
    """CAT16 of Li et al. 2017 as colour-science holds it; the inverse to eight decimals from its documentation."""
    assert np.array_equal(CAT16, colour.adaptation.CAT_CAT16)
    assert np.array_equal(BRADFORD, colour.adaptation.CAT_BRADFORD)
    inverse = [
        [1.86206786, -1.01125463, 0.14918678],
        [0.38752654, 0.62144744, -0.00897399],
        [-0.0158415, -0.03412294, 1.04996444],
    ]
    assert np.allclose(np.linalg.inv(CAT16), inverse, atol=6e-9, rtol=0.0)


def test_bradford_equals_the_matrix_that_littlecms_writes_into_a_profile():
    """The chromatic adaptation tag of an sRGB profile of LittleCMS, D65 (x 0.3127, y 0.3290) to the D50 of ICC.

    Its numbers are multiples of 1/65536, and both whites are rounded in the profile: hence 3e-5.
    """
    from PIL import ImageCms

    tag = np.array(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).profile.chromatic_adaptation[0])
    white = np.array([0.3127, 0.3290, 1.0 - 0.3127 - 0.3290]) / 0.3290
    assert np.allclose(adaptation_matrix(white, [0.9642, 1.0, 0.8249], "bradford"), tag, atol=3e-5, rtol=0.0)


@pytest.mark.parametrize("method", METHODS)
def test_the_white_arrives_at_the_other_white_on_its_own_scale(method):
    """From percentages to a display's cd/m2, exactly."""
    display = np.array([0.95, 1.0, 1.07]) * 143.0
    assert np.allclose(adapt(D50, D50, display, method), display, rtol=1e-14, atol=0.0)


@pytest.mark.parametrize("method", METHODS)
def test_no_adaptation_changes_the_scale_only(method):
    xyz = np.array([30.0, 20.0, 10.0])
    assert np.allclose(adapt(xyz, D50, 1.6 * D65, method, degree=0.0), 1.6 * xyz, rtol=1e-13, atol=0.0)


def test_there_and_back():
    xyz = np.random.default_rng(2).uniform(0.0, 100.0, (50, 3))
    for method in METHODS:
        assert np.allclose(adapt(adapt(xyz, A, D65, method), D65, A, method), xyz, **TIGHT)


def test_whites_degrees_and_colours_broadcast():
    rng = np.random.default_rng(4)
    whites = D50 * rng.uniform(0.9, 1.1, (4, 2, 3))
    degree = rng.uniform(0.5, 1.0, (4, 1))
    xyz = rng.uniform(0.0, 100.0, (6, 4, 2, 3))
    whole = adapt(xyz, whites, D65, degree=degree)
    assert whole.shape == xyz.shape
    alone = adapt(xyz[5, 3, 1], whites[3, 1], D65, degree=degree[3, 0])
    assert np.allclose(whole[5, 3, 1], alone, rtol=1e-14, atol=0.0)


def test_degree_of_adaptation_equals_colour_science(colour):
    la = np.array([0.0, 4.0, 20.0, 64.0, 318.31, 10000.0])
    theirs = [colour.appearance.ciecam02.degree_of_adaptation(f, la) for f in (1.0, 0.9, 0.8)]
    assert np.allclose(degree_of_adaptation(la, np.array([[1.0], [0.9], [0.8]])), theirs, atol=1e-15, rtol=0.0)


def test_mistakes_are_refused_with_the_remedy():
    with pytest.raises(InputError, match="one of cat16, bradford, xyz"):
        adaptation_matrix(D50, D65, "cat02")
    with pytest.raises(InputError, match="degree"):
        adaptation_matrix(D50, D65, degree=1.2)
    with pytest.raises(InputError, match="response of zero or less"):
        adaptation_matrix([90.0, 10.0, 1.0], D65)  # a deep red light: CAT16 gives it a negative middle response
    with pytest.raises(InputError, match="adapting luminance"):
        degree_of_adaptation(-1.0, 1.0)
