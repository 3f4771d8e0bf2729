"""The range of an emission in another light, against a linear programme solved by SciPy (HiGHS)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from screenproof.errors import InputError
from screenproof.spectra import Grid, Light, light, planck
from screenproof.spectra.brightener import Assumed, emission_range, uv_power, uv_unknown

NM = np.arange(300.0, 421.0)


def programme(one, assumed, direction, ratio, seen):
    """The most of ``direction`` over (here, left): masses on bands of excitation, as the docstring states them.

    Each mass has its band, the ends of both instruments' slack, and, above 400 nm, whether M2 let it through.
    """
    day, lamp, here = light("D50").at(NM), planck(NM, 2848.0, 1.435e-2), one.at(NM)
    columns, near = [], []
    for above in (False, True):
        for start in range(102):
            part = ((NM >= 300 + start) & (NM < 320 + start) & ((NM >= 400) == above)).astype(float)
            if not part.any():
                continue
            in_lamp, in_one = part @ lamp / (part @ day), part @ here / (part @ day)
            for m1 in (-1, 1):
                for m0 in (-1, 1):
                    for left in (0.0, 1.0) if above else (0.0,):
                        columns.append(
                            (1 + m1 * assumed.m1_uv - left, in_lamp * (1 + m0 * assumed.m0_uv), in_one, left)
                        )
                        near.append(above)
    shown, lit, now, left = np.array(columns).T
    above = np.array(near)
    share = assumed.near * np.ones(above.size) - above
    rows, limits = [-share], [0.0]
    if ratio is not None:
        gap = lit * ratio - left
        rows += [gap, -gap]
        limits += [seen[1], -seen[0]]
    found = linprog(-(direction[0] * now + direction[1] * left), np.array(rows), limits, shown[None], [1.0])
    return -found.fun if found.status == 0 else None


@pytest.mark.parametrize("name", ["D50", "D65", "A", "ID65"])
def test_the_corners_are_those_of_the_linear_programme(name):
    one, assumed = light(name), Assumed()
    if name == "A":
        one = Light("lamp", Grid(300.0, 830.0, 1.0), planck(np.arange(300.0, 831.0), 2848.0, 1.435e-2))
    plain = emission_range(one, assumed).candidates()
    sliced = emission_range(one, assumed, incandescent=True)
    for direction in ((1.0, 0.0), (-1.0, 0.0), (1.0, -1.2), (-0.7, 1.0), (0.0, 1.0)):
        expected = programme(one, assumed, direction, None, None)
        assert (plain @ direction).max() == pytest.approx(expected, abs=1e-7)
        for seen in ((0.9, 1.0), (0.35, 0.4)):
            points = sliced.candidates(3.2, *seen)
            expected = programme(one, assumed, direction, 3.2, seen)
            assert (points @ direction).max() == pytest.approx(expected, abs=1e-7)
    assert programme(one, assumed, (1.0, 0.0), 3.2, (9.0, 9.1)) is None
    assert len(sliced.candidates(3.2, 9.0, 9.1)) == 0


def test_a_slice_lies_within_the_whole_and_slacks_widen():
    one = light("D65")
    widths = [np.ptp(emission_range(one, Assumed(m1_uv=slack)).candidates()[:, 0]) for slack in (0.0, 0.1, 0.2)]
    assert widths[0] < widths[1] < widths[2]
    flat = emission_range(light("D50"), Assumed(near=0.0, m1_uv=0.0)).candidates()
    assert np.allclose(flat, [1.0, 0.0])
    # Without slack in the lamp either, the body is flat or a line, and still has its slices.
    exact = emission_range(light("ID65"), Assumed(near=0.0, m1_uv=0.0, m0_uv=0.0), incandescent=True)
    whole, part = exact.candidates()[:, 0], exact.candidates(3.2, 0.8, 0.9)[:, 0]
    assert whole.min() <= part.min() and part.max() <= whole.max() and np.ptp(part) < np.ptp(whole)


def test_where_the_ultraviolet_is_known():
    assumed = Assumed()
    for name in ("A", "D65", "D5500K", "P3200K", "E", "C", "ID50"):
        assert uv_unknown(light(name), assumed) == ""
    for name in ("FL2", "FL11", "HP1", "LED-B3"):
        assert "380 nm only" in uv_unknown(light(name), assumed)
        assert uv_unknown(light(name), assumed, without_uv=True) == ""
        assert np.all(uv_power(light(name), NM, without_uv=True)[:80] == 0)
    # A lamp from a file that is called A is not illuminant A; known from 320 nm it will do if no more excites.
    measured = Light("A", Grid(320.0, 780.0, 5.0), np.linspace(1.0, 9.0, 93))
    assert "320 nm only" in uv_unknown(measured, assumed)
    assert uv_unknown(measured, Assumed(low_nm=320.0)) == ""
    # Below 360 nm A goes on by Planck's formula: CIE 15:2018, table T.1, has 0.930483 at 300 nm and 6.14462 at 360
    # (from memory).
    assert uv_power(light("A"), np.array([300.0, 360.0])) == pytest.approx([0.930483, 6.14462], rel=2e-5)
    assert uv_power(light("P3200K"), np.array([330.0])) == pytest.approx(planck([330.0], 3200.0))


@pytest.mark.parametrize(
    ("stated", "field"),
    [
        ({"low_nm": 250.0}, "excitation"),
        ({"low_nm": 410.0}, "excitation"),
        ({"high_nm": 500.0}, "excitation"),
        ({"width_nm": 0.0}, "width"),
        ({"near": 0.9}, "near"),
        ({"m1_uv": -0.1}, "m1_uv"),
        ({"noise": 0.2}, "noise"),
    ],
)
def test_what_cannot_be_taken_for_granted(stated, field):
    with pytest.raises(InputError, match=field):
        Assumed(**stated)
    with pytest.raises(InputError, match="380 nm only"):
        emission_range(light("FL11"))
