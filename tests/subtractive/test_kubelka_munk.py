"""Kubelka-Munk: against its own differential equation solved by scipy, in the limits, and both ways."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from screenproof.errors import InputError
from screenproof.subtractive import kubelka_munk as km

positive = st.floats(1e-4, 20.0)


@pytest.mark.parametrize("k,s,x,backing", [(0.5, 1.0, 1.0, 0.0), (0.02, 4.0, 1.0, 0.8), (2.0, 0.1, 0.7, 0.9)])
def test_the_layer_solves_the_differential_equation(k, s, x, backing):
    """dR/dx = S - 2 (K + S) R + S R^2 from the backing upwards: Kubelka & Munk 1931, integrated by scipy."""
    grown = solve_ivp(
        lambda _, r: s - 2 * (k + s) * r + s * r**2, (0.0, x), [backing], method="DOP853", rtol=1e-12, atol=1e-13
    )
    assert km.layer(k, s, x, backing) == pytest.approx(grown.y[0, -1], abs=1e-10)


@given(positive, positive, st.floats(1e-3, 5.0), st.floats(1e-3, 5.0), st.floats(0.0, 1.0))
def test_two_layers_are_one(k, s, x1, x2, backing):
    together = km.layer(k, s, x1 + x2, backing)
    assert km.layer(k, s, x1, km.layer(k, s, x2, backing)) == pytest.approx(float(together), abs=1e-12)
    # The same by transmittance and reflectance of each, as Kubelka (1954) puts layers together.
    alone = km.layer(k, s, x1, 0.0)
    through = km.transmittance(k, s, x1)
    assert alone + through**2 * backing / (1 - alone * backing) == pytest.approx(
        float(km.layer(k, s, x1, backing)), abs=1e-12
    )


def test_the_limits_hold_their_digits():
    # No scattering: the law of Bouguer, Lambert and Beer. No absorption: R = S X / (1 + S X) over black.
    assert km.layer(0.7, 0.0, 2.0, 0.8) == pytest.approx(0.8 * np.exp(-2.8), rel=1e-12)
    assert km.layer(0.7, 1e-12, 2.0, 0.8) == pytest.approx(0.8 * np.exp(-2.8), rel=1e-9)
    assert km.layer(0.0, 3.0, 2.0, 0.0) == pytest.approx(6.0 / 7.0, rel=1e-14)
    assert km.layer(1e-14, 3.0, 2.0, 0.0) == pytest.approx(6.0 / 7.0, rel=1e-12)
    assert km.transmittance(0.0, 3.0, 2.0) == pytest.approx(1.0 / 7.0, rel=1e-14)
    # Thick: R infinity, for a thickness at which hyperbolic functions overflow.
    assert km.layer(0.1, 1.0, 1e6, 0.05) == pytest.approx(float(km.r_inf(0.1, 1.0)), rel=1e-14)
    assert km.transmittance(0.1, 1.0, 1e6) == 0.0
    # Dark: 1 + q - sqrt(q^2 + 2 q) would have lost all its digits.
    assert km.r_inf(1e9, 1.0) == pytest.approx(0.5e-9, rel=1e-8)
    assert km.r_inf(3.0, 0.0) == 0.0 and km.r_inf(0.0, 1.0) == 1.0
    # No layer at all.
    assert km.layer(0.7, 0.4, 0.0, 0.6) == pytest.approx(0.6)


@given(st.floats(1e-3, 1.0))
def test_ks_and_back(r):
    assert km.r_inf(km.ks(r), 1.0) == pytest.approx(r, rel=1e-9)


@given(st.floats(1e-3, 4.0), st.floats(0.05, 4.0), st.floats(0.0, 0.2), st.floats(0.6, 1.0))
def test_two_backings_give_k_and_s(k, s, black, white):
    low, high = km.layer(k, s, 1.0, black), km.layer(k, s, 1.0, white)
    if high - low < 1e-3:
        with pytest.raises(InputError):
            km.from_two_backings(low, low, black, white)
        return
    found_k, found_s = km.from_two_backings(low, high, black, white)
    assert float(found_k) == pytest.approx(k, rel=1e-6, abs=1e-8)
    assert float(found_s) == pytest.approx(s, rel=1e-6, abs=1e-8)


def test_two_backings_of_a_clear_film():
    clear = km.layer(0.4, 0.0, 1.0, np.array([0.05, 0.9]))
    k, s = km.from_two_backings(clear[0], clear[1], 0.05, 0.9)
    assert float(k) == pytest.approx(0.4, abs=1e-9) and float(s) == pytest.approx(0.0, abs=1e-9)


def test_slopes_are_the_derivatives():
    rng = np.random.default_rng(3)
    k, s, backing = 10 ** rng.uniform(-2, 1, 200), 10 ** rng.uniform(-2, 1, 200), rng.uniform(0, 1, 200)
    step = 1e-6
    for function, by in (
        (lambda k, s: km.thick(k, s), km.thick_slopes(k, s)),
        (lambda k, s: km.over(k, s, 0.8, backing), km.over_slopes(k, s, 0.8, backing)),
    ):
        by_k = (function(k * (1 + step), s) - function(k * (1 - step), s)) / (2 * step * k)
        by_s = (function(k, s * (1 + step)) - function(k, s * (1 - step))) / (2 * step * s)
        assert np.allclose(by[0], function(k, s), rtol=0, atol=1e-15)
        assert np.allclose(by[1], by_k, rtol=1e-6, atol=1e-8)
        assert np.allclose(by[2], by_s, rtol=1e-6, atol=1e-8)
    # Where B goes to 0 the formula turns into its series: both sides of the seam agree.
    seam = np.array([0.999e-3, 1.001e-3]) ** 2 / 2.0
    _, left_right, _ = km.over_slopes(seam, np.ones(2), 1.0, np.full(2, 0.5))
    assert left_right[0] == pytest.approx(left_right[1], rel=1e-6)


def test_hiding():
    assert km.contrast_ratio(0.0, 0.0, 1.0) == 0.0
    assert km.contrast_ratio(0.1, 5.0, 10.0) == pytest.approx(1.0, abs=1e-6)
    assert 0.5 < km.contrast_ratio(0.01, 2.0, 1.0) < 0.9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: km.ks([0.5, 0.0]), "reflectance of 0"),
        (lambda: km.ks([0.5, 1.02]), "reflectance of 1.02"),
        (lambda: km.ks(45.0), "reflectance of 45"),
        (lambda: km.r_inf(0.0, 0.0), "neither absorbs nor scatters"),
        (lambda: km.r_inf(-0.1, 1.0), "K of -0.1"),
        (lambda: km.layer(0.1, 1.0, -1.0, 0.5), "thickness of -1"),
        (lambda: km.layer(0.1, 1.0, 1.0, 1.5), "reflectance of 1.5"),
        (lambda: km.layer(0.1, 1.0, float("inf"), 0.5), "thickness of inf"),
        (lambda: km.from_two_backings(0.5, 0.5, 0.0, 0.8), "hides its backing"),
        (lambda: km.from_two_backings(0.5, 0.6, 0.8, 0.8), "not darker than the white one"),
        (lambda: km.from_two_backings(0.02, 0.9, 0.1, 0.8), "readings that no layer gives"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()
