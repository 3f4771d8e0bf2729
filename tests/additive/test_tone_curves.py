"""Tone curves of one channel and of three: their inverses, their ends, what they refuse."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from screenproof.additive import (
    CURVE_NAMES,
    ChannelCurves,
    bt1886,
    hlg,
    named_transfer,
    power,
    pq,
    same_curve,
    srgb_curve,
)
from screenproof.errors import InputError

CURVES = {
    "sRGB": srgb_curve(),
    "gamma 1": power(1.0),
    "gamma 2.2": power(2.2),
    "BT.1886": bt1886(100.0, 0.0),
    "BT.1886 with black": bt1886(100.0, 0.1),
    "PQ 10000": pq(10000.0),
    "PQ 1000": pq(1000.0),
}
WIDE = np.linspace(-0.4, 1.6, 4001)


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES.keys())
def test_rises_from_0_to_1_and_goes_on_rising_outside(curve):
    light = curve.forward(WIDE)
    step = np.diff(light)
    assert (step >= 0).all()
    outside = (WIDE[1:] <= 0) | (WIDE[:-1] >= 1)
    assert (step[outside] > 0).all()
    assert float(curve.forward(np.array(0.0))) == pytest.approx(0.0, abs=1e-15)
    assert float(curve.forward(np.array(1.0))) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES.keys())
def test_every_light_has_its_drive(curve):
    light = np.concatenate([np.linspace(-0.5, 2.0, 5001), np.geomspace(1e-9, 12.0, 500)])
    np.testing.assert_allclose(curve.forward(curve.inverse(light)), light, rtol=1e-11, atol=1e-14)


@pytest.mark.parametrize("name", [name for name in CURVES if name != "PQ 1000"])
def test_every_drive_comes_back(name):
    drive = WIDE[np.abs(WIDE) > 1e-3]
    curve = CURVES[name]
    np.testing.assert_allclose(curve.inverse(curve.forward(drive)), drive, atol=1e-9)


def test_pq_display_holds_its_peak_between_ceiling_and_1():
    curve = pq(1000.0)
    held = np.linspace(curve.ceiling, 1.0, 50)
    np.testing.assert_allclose(curve.forward(held), 1.0, rtol=1e-12)
    assert float(curve.inverse(np.array(1.0))) == pytest.approx(curve.ceiling, abs=1e-12)
    # What the display cannot reach has a drive above 1.
    assert float(curve.inverse(np.array(1.001))) > 1.0
    below = np.linspace(0.01, curve.ceiling, 500)
    np.testing.assert_allclose(curve.inverse(curve.forward(below)), below, atol=1e-9)


@given(st.floats(0.2, 5.0), st.floats(-2.0, 3.0))
def test_power_inverts_for_any_exponent(gamma, drive):
    curve = power(gamma)
    light = curve.forward(np.array(drive))
    assert float(curve.forward(curve.inverse(light))) == pytest.approx(float(light), rel=1e-12, abs=1e-300)


@pytest.mark.parametrize(("peak", "black"), [(1000.0, 0.0), (1000.0, 0.1), (100.0, 0.0), (4000.0, 0.01)])
def test_hlg_inverts_inside_and_outside_the_gamut(peak, black):
    system = hlg(peak, black)
    rng = np.random.default_rng(11)
    drive = rng.random((20000, 3))
    np.testing.assert_allclose(system.inverse(system.forward(drive)), drive, atol=1e-9)
    light = rng.uniform(-0.3, 1.5, (20000, 3))
    np.testing.assert_allclose(system.forward(system.inverse(light)), light, atol=1e-9)
    grey = np.linspace(-0.2, 1.3, 500)
    neutral = system.forward(np.repeat(grey[:, None], 3, axis=1))
    assert (np.diff(neutral, axis=0) > 0).all()
    assert neutral[:, 0] == pytest.approx(neutral[:, 2])
    np.testing.assert_allclose(system.luminance(np.zeros(3)), black, atol=1e-12 * peak)


def test_hlg_couples_the_channels_and_channel_curves_do_not():
    """The system gamma brightens every channel when one is driven: that is why HLG is no channel curve."""
    dark, lit = np.array([0.5, 0.2, 0.2]), np.array([0.5, 0.9, 0.2])
    system = hlg(1000.0)
    assert system.forward(lit)[0] > 1.1 * system.forward(dark)[0]
    curves = same_curve(srgb_curve())
    assert curves.forward(lit)[0] == curves.forward(dark)[0]


def test_hlg_within_follows_the_cube_of_drives():
    system = hlg(1000.0)
    rng = np.random.default_rng(5)
    inside = rng.random((5000, 3))
    assert system.within(system.forward(inside), 1e-9).all()
    outside = inside.copy()
    outside[:, 1] = rng.uniform(1.001, 1.2, 5000)
    assert not system.within(system.forward(outside), 1e-9).any()


def test_each_channel_keeps_its_own_curve():
    curves = ChannelCurves(power(2.0), srgb_curve(), power(1.0))
    drive = np.random.default_rng(2).random((50, 3))
    light = curves.forward(drive)
    np.testing.assert_allclose(light[:, 0], drive[:, 0] ** 2)
    np.testing.assert_allclose(light[:, 2], drive[:, 2])
    np.testing.assert_allclose(curves.inverse(light), drive, atol=1e-12)
    assert [curve.name for curve in curves] == ["gamma 2", "sRGB", "linear"]
    assert curves.name == "gamma 2, sRGB, linear"
    assert len(curves) == 3 and curves[1].name == "sRGB"


def test_brightening_changes_only_the_curves_that_mean_luminances():
    assert pq(500.0).rescaled(2.0) == pq(1000.0)
    assert bt1886(100.0, 0.1).rescaled(3.0) == bt1886(300.0, 0.1 * 3.0)
    assert hlg(500.0, 0.1).rescaled(2.0) == hlg(1000.0, 0.2)
    assert srgb_curve().rescaled(2.0) == srgb_curve()
    mixed = ChannelCurves(power(2.0), pq(500.0), srgb_curve()).rescaled(2.0)
    assert mixed[1] == pq(1000.0) and mixed[0] == power(2.0)


@pytest.mark.parametrize("name", CURVE_NAMES)
def test_every_curve_name_is_known(name):
    curve = named_transfer(name, 500.0, 0.05)
    np.testing.assert_allclose(curve.forward(np.ones(3)), 1.0, rtol=1e-6)
    middle = curve.forward(np.full(3, 0.5))
    assert (middle > 0.005).all() and (middle < 0.55).all()
    assert named_transfer(name.upper(), 500.0, 0.05).name == curve.name


def test_gamma_takes_any_exponent():
    light = named_transfer("gamma2.35", 100.0).forward(np.full(3, 0.5))
    np.testing.assert_allclose(light, 0.5**2.35)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: power(22.0), "gamma 22"),
        (lambda: power(0.0), "gamma 0"),
        (lambda: bt1886(100.0, 100.0), "not darker"),
        (lambda: bt1886(0.0, 0.0), "white of 0"),
        (lambda: bt1886(100.0, -1.0), "black of -1"),
        (lambda: pq(20000.0), "20000"),
        (lambda: hlg(100.0, 50.0), "HLG"),
        (lambda: named_transfer("srbg", 100.0), "srbg"),
        (lambda: named_transfer("gamma", 100.0), "gamma"),
        (lambda: named_transfer("srgb", float("nan")), "nan"),
    ],
)
def test_curves_that_make_no_sense_are_refused_with_a_way_out(make, says):
    with pytest.raises(InputError) as error:
        make()
    assert says in error.value.problems[0].what
    assert error.value.problems[0].expected and error.value.problems[0].mend
