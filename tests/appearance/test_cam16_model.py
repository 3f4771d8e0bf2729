"""CIECAM16 against colour-science in many conditions, and there and back even for colours that cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import (
    AVERAGE,
    DARK,
    DIM,
    CamConditions,
    cam16_to_ucs,
    cam16_to_xyz,
    de_cam16ucs,
    xyz_to_cam16,
)
from screenproof.errors import InputError

D65 = np.array([95.047, 100.0, 108.883])
A = np.array([109.85, 100.0, 35.585])
SURROUNDS = {"Average": AVERAGE, "Dim": DIM, "Dark": DARK}
FIELDS = ("J", "C", "h", "Q", "M", "s", "H")


def surfaces(white, count=400):
    """XYZ that surfaces can have: mixtures of the white and of moderate departures from it."""
    rng = np.random.default_rng(248)
    return white * rng.uniform(0.001, 0.9, (count, 1)) * rng.uniform(0.75, 1.25, (count, 3))


@pytest.mark.parametrize("name", SURROUNDS)
@pytest.mark.parametrize("la", [0.5, 31.83, 318.31])
@pytest.mark.parametrize("white", [D65, A, 0.9 * D65], ids=["D65", "A", "Y 90"])
def test_forward_equals_colour_science(colour, name, la, white):
    xyz = surfaces(white)
    theirs = colour.appearance.XYZ_to_CIECAM16(xyz, white, la, 20.0, colour.VIEWING_CONDITIONS_CIECAM16[name])
    cam = xyz_to_cam16(xyz, CamConditions(white, la, 20.0, SURROUNDS[name]))
    for field in FIELDS[:-1]:
        assert np.allclose(getattr(cam, field), getattr(theirs, field), atol=1e-9, rtol=0.0), field
    # For H between unique blue and unique red colour-science has the form of an older model.
    same = (cam.h >= 20.14) & (cam.h <= 237.53)
    assert same.sum() > 50 and np.allclose(cam.H[same], theirs.H[same], atol=1e-9, rtol=0.0)


def test_discounting_the_light_equals_colour_science(colour):
    xyz = surfaces(A)
    theirs = colour.appearance.XYZ_to_CIECAM16(xyz, A, 20.0, 20.0, discount_illuminant=True)
    cam = xyz_to_cam16(xyz, CamConditions(A, 20.0, discount=True))
    assert np.allclose(cam.M, theirs.M, atol=1e-9, rtol=0.0)
    assert not np.allclose(cam.M, xyz_to_cam16(xyz, CamConditions(A, 20.0)).M, atol=0.1)


@pytest.mark.parametrize("surround", SURROUNDS.values(), ids=SURROUNDS)
def test_inverse_leads_back(surround):
    """Also past both ends of the power law, where the compression is straight: blacks, lights above the white."""
    for white, la in ((D65, 0.5), (A, 64.0), (D65, 1000.0)):
        cond = CamConditions(white, la, 18.0, surround)
        xyz = np.concatenate([surfaces(white), 1e-4 * surfaces(white), 6.0 * surfaces(white)])
        cam = xyz_to_cam16(xyz, cond)
        assert np.allclose(cam16_to_xyz(cam.J, cam.C, cam.h, cond), xyz, atol=1e-9, rtol=0.0)


def test_black_is_zero_both_ways():
    cond = CamConditions(D65, 64.0)
    cam = xyz_to_cam16(np.zeros((2, 3)), cond)
    assert all(np.array_equal(getattr(cam, field), [0.0, 0.0]) for field in ("J", "C", "Q", "M", "s"))
    # A chroma has no meaning at J = 0, and is passed over.
    assert np.allclose(cam16_to_xyz(0.0, [0.0, 30.0], 120.0, cond), 0.0, atol=1e-12)
    assert np.array_equal(cam16_to_ucs(cam.J, cam.M, cam.h), np.zeros((2, 3)))


def test_impossible_colours_stay_finite_and_come_back(colour):
    """Negative responses and negative achromatic responses, as a search beyond the gamut meets them.

    colour-science agrees on J, C and h, and has no number for Q and s where J is negative.
    """
    xyz = np.random.default_rng(9).uniform(-40.0, 110.0, (3000, 3))
    cond = CamConditions(D65, 64.0)
    cam = xyz_to_cam16(xyz, cond)
    assert (cam.J < 0.0).sum() > 100
    assert all(np.isfinite(getattr(cam, field)).all() for field in FIELDS)
    assert np.isfinite(cam16_to_ucs(cam.J, cam.M, cam.h)).all()
    assert np.array_equal(np.sign(cam.Q), np.sign(cam.J))
    assert np.allclose(cam16_to_xyz(cam.J, cam.C, cam.h, cond), xyz, atol=1e-8, rtol=0.0)
    with np.errstate(invalid="ignore"):
        theirs = colour.appearance.XYZ_to_CIECAM16(xyz, D65, 64.0, 20.0)
    for field in "JCh":
        assert np.allclose(getattr(cam, field), getattr(theirs, field), atol=1e-9, rtol=1e-10), field


def test_neutrals_of_the_adopted_white_are_nearly_without_chroma():
    """With complete adaptation the white's own greys have equal responses: a = b = 0."""
    greys = np.array([0.05, 0.2, 0.5, 1.0])[:, np.newaxis] * A
    cam = xyz_to_cam16(greys, CamConditions(A, 64.0, discount=True))
    assert np.allclose(cam.C, 0.0, atol=1e-9)
    assert cam.J[-1] == pytest.approx(100.0, abs=1e-10)


def test_conditions_of_lights_and_observers_broadcast():
    rng = np.random.default_rng(6)
    whites = np.stack([D65, A])[:, np.newaxis] * rng.uniform(0.97, 1.03, (1, 3, 1))
    la = np.array([[20.0], [64.0]])
    xyz = rng.uniform(1.0, 80.0, (5, 2, 3, 3))
    cam = xyz_to_cam16(xyz, CamConditions(whites, la))
    one = xyz_to_cam16(xyz[4, 1, 2], CamConditions(whites[1, 2], 64.0))
    for field in FIELDS:
        assert getattr(cam, field).shape == (5, 2, 3)
        assert getattr(cam, field)[4, 1, 2] == pytest.approx(float(getattr(one, field)), rel=1e-13)
    assert cam16_to_xyz(cam.J, cam.C, cam.h, CamConditions(whites, la)).shape == xyz.shape


def test_ucs_and_its_difference_equal_colour_science(colour):
    cam = xyz_to_cam16(surfaces(D65), CamConditions(D65, 64.0))
    jab = cam16_to_ucs(cam.J, cam.M, cam.h)
    theirs = colour.models.JMh_CAM16_to_CAM16UCS(np.stack([cam.J, cam.M, cam.h], axis=-1))
    assert np.allclose(jab, theirs, atol=1e-11, rtol=0.0)
    expected = colour.difference.delta_E_CAM16UCS(theirs[1:], theirs[:-1])
    assert np.allclose(de_cam16ucs(jab[1:], jab[:-1]), expected, atol=1e-11, rtol=0.0)


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"la": 0.0}, "la"), ({"la": np.nan}, "la"), ({"yb": -1.0}, "yb"), ({"white": [90.0, 10.0, 1.0]}, "white")],
)
def test_conditions_out_of_bounds_are_refused(changes, field):
    with pytest.raises(InputError) as caught:
        CamConditions(**{"white": D65, "la": 64.0, **changes})
    assert caught.value.problems[0].field == field
