"""Tone curves from samples, and the parametric curves of ICC profiles."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from screenproof.additive import check_monotone, icc_parametric, sampled, srgb_curve
from screenproof.errors import InputError

GAMMA = np.linspace(0.0, 1.0, 18) ** 2.2


@pytest.mark.parametrize("interpolation", ["linear", "cubic"])
def test_sampled_curve_goes_through_its_samples_and_inverts_exactly(interpolation):
    curve = sampled(GAMMA, interpolation=interpolation)
    steps = np.linspace(0.0, 1.0, 18)
    np.testing.assert_allclose(curve.forward(steps), GAMMA, atol=1e-15)
    drive = np.random.default_rng(1).uniform(-0.2, 1.3, (1000, 3))
    np.testing.assert_allclose(curve.inverse(curve.forward(drive)), drive, atol=1e-12)
    assert (np.diff(curve.forward(np.linspace(-0.5, 1.5, 3000))) > 0).all()


def test_sampled_curves_against_scipy():
    """NumPy's straight lines and SciPy's monotone cubic between the samples."""
    from scipy.interpolate import PchipInterpolator

    at = np.linspace(0.0, 1.0, 777)
    steps = np.linspace(0.0, 1.0, 18)
    np.testing.assert_allclose(sampled(GAMMA).forward(at), np.interp(at, steps, GAMMA), atol=1e-14)
    cubic = sampled(GAMMA, interpolation="cubic")
    np.testing.assert_allclose(cubic.forward(at), PchipInterpolator(steps, GAMMA)(at), atol=1e-14)
    # The cubic is the better guess at a power curve between 18 steps.
    truth = at**2.2
    assert np.abs(cubic.forward(at) - truth).max() < 0.3 * np.abs(sampled(GAMMA).forward(at) - truth).max()


@pytest.mark.parametrize("interpolation", ["linear", "cubic"])
def test_flat_stretches_invert_to_light_that_is_right(interpolation):
    """Coarse tables repeat values, near black above all."""
    curve = sampled([0.0, 0.0, 0.0, 0.1, 0.1, 0.5, 1.0], interpolation=interpolation)
    light = np.linspace(-0.3, 1.4, 5001)
    np.testing.assert_allclose(curve.forward(curve.inverse(light)), light, atol=1e-12)
    assert float(curve.inverse(np.array(0.0))) == 0.0
    # The flat stretch at 0.1 from drive 3/6 to 4/6 inverts to its lower end.
    assert float(curve.inverse(np.array(0.1))) == pytest.approx(0.5, abs=1e-12)


def test_uneven_steps():
    drive = np.array([0.0, 0.02, 0.1, 0.5, 1.0])
    curve = sampled(drive**2.4, drive)
    np.testing.assert_allclose(curve.forward(drive), drive**2.4, atol=1e-15)
    np.testing.assert_allclose(curve.inverse(drive**2.4), drive, atol=1e-12)


@pytest.mark.parametrize(
    ("linear", "drive", "says"),
    [
        ([0.0, 0.5, 0.4, 1.0], None, "falls"),
        ([0.5, 0.5, 0.5], None, "does not rise"),
        ([1.0], None, "does not rise"),
        ([0.0, np.nan, 1.0], None, "no numbers"),
        ([0.0, 0.5, 1.0], [0.0, 0.0, 1.0], "do not ascend"),
        ([0.0, 0.5, 1.0], [0.0, 1.0], "do not ascend"),
        ([1.0, 0.5, 0.0], None, "falls"),
    ],
)
def test_samples_that_are_no_curve_are_refused(linear, drive, says):
    with pytest.raises(InputError) as error:
        sampled(linear, drive, channel="green")
    problem = error.value.problems[0]
    assert says in problem.what and problem.field == "green" and problem.mend


def test_monotone_check_says_where_and_leaves_room_for_noise():
    drive, light = np.linspace(0, 1, 5), np.array([0.0, 0.1, 0.3, 0.298, 1.0])
    with pytest.raises(InputError, match=r"at drive 0\.75 it gives 0\.298"):
        check_monotone(drive, light, channel="red")
    check_monotone(drive, light, channel="red", slack=0.003)


PARAMETRIC = {
    "0": (0, [2.2]),
    "1 with lift": (1, [2.4, 0.9, 0.1]),
    "1 with foot": (1, [2.4, 1.1, -0.1]),
    "2": (2, [2.0, 0.9, -0.1, 0.1]),
    "3": (3, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045]),
    "4": (4, [2.4, 0.9, 0.05, 0.05, 0.04, 0.0005, 0.0005]),
}


def by_definition(kind, p, x):
    """ICC.1:2022, 10.18, Table 68, written out by type."""
    if kind == 0:
        return x ** p[0]
    g, a, b = p[:3]
    if kind == 1:
        return (a * x + b) ** g if x >= -b / a else 0.0
    if kind == 2:
        return (a * x + b) ** g + p[3] if x >= -b / a else p[3]
    if kind == 3:
        return (a * x + b) ** g if x >= p[4] else p[3] * x
    return (a * x + b) ** g + p[5] if x >= p[4] else p[3] * x + p[6]


@pytest.mark.parametrize(("kind", "parameters"), PARAMETRIC.values(), ids=PARAMETRIC.keys())
def test_parametric_types_follow_their_definition_and_invert(kind, parameters):
    curve = icc_parametric(kind, parameters)
    at = np.linspace(0.0, 1.0, 500)
    expected = [by_definition(kind, parameters, x) for x in at]
    np.testing.assert_allclose(curve.forward(at), expected, atol=1e-9)
    wide = np.linspace(-0.5, 1.5, 4001)
    light = curve.forward(wide)
    assert (np.diff(light) >= 0).all() and (np.diff(light)[wide[1:] <= 0] > 0).all()
    np.testing.assert_allclose(curve.forward(curve.inverse(light)), light, atol=1e-9)


def test_parameters_of_the_srgb_profile_that_littlecms_writes_give_the_srgb_curve():
    from PIL import ImageCms

    data = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    count = struct.unpack(">I", data[128:132])[0]
    tags = {data[132 + 12 * i : 136 + 12 * i]: data[136 + 12 * i : 144 + 12 * i] for i in range(count)}
    offset, _ = struct.unpack(">II", tags[b"rTRC"])
    assert data[offset : offset + 4] == b"para"
    kind = struct.unpack(">H", data[offset + 8 : offset + 10])[0]
    size = (1, 3, 4, 5, 7)[kind]
    values = [v / 65536 for v in struct.unpack(f">{size}i", data[offset + 12 : offset + 12 + 4 * size])]
    curve = icc_parametric(kind, values)
    at = np.linspace(0.0, 1.0, 4096)
    # The file rounds its parameters to 1/65536.
    np.testing.assert_allclose(curve.forward(at), srgb_curve().forward(at), atol=3e-5)
    np.testing.assert_allclose(curve.inverse(curve.forward(at)), at, atol=2e-4)
    assert (np.diff(curve.forward(at)) >= 0).all()


@pytest.mark.parametrize(
    ("kind", "parameters"),
    [
        (5, [1.0]),
        (-1, [1.0]),
        (3, [2.4, 1.0]),
        (0, [0.0]),
        (0, [-2.2]),
        (1, [2.4, -1.0, 1.0]),
        (0, [float("nan")]),
        (3, [2.4, 1.0, 0.0, 2.0, 0.5]),
        (4, [2.4, 1.0, 0.0, -0.5, 0.5, 0.0, 0.0]),
    ],
)
def test_parametric_curves_that_do_not_rise_are_refused(kind, parameters):
    with pytest.raises(InputError) as error:
        icc_parametric(kind, parameters)
    assert error.value.problems[0].expected and error.value.problems[0].mend
