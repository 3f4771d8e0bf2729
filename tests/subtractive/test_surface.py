"""The surface: Saunderson both ways, and Fresnel's values against integrals done otherwise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from screenproof.errors import InputError
from screenproof.subtractive import Surface
from screenproof.subtractive.surface import fresnel, fresnel_diffuse, fresnel_diffuse_internal

shares = st.floats(0.0, 0.48)


@given(shares, shares, st.sampled_from(["included", "excluded"]), st.floats(0.0, 1.0))
def test_there_and_back(k1, k2, specular, inside):
    surface = Surface(k1, k2, specular)
    assert float(surface.to_internal(surface.to_measured(inside))) == pytest.approx(inside, abs=1e-12)


def test_no_surface_changes_nothing():
    r = np.linspace(0.0, 1.0, 11)
    assert np.array_equal(Surface.NONE.to_measured(r), r)
    assert np.array_equal(Surface.NONE.to_internal(r), r)


def test_specular_is_what_the_surface_alone_reflects():
    inside = np.linspace(0.0, 1.0, 11)
    with_it, without = Surface(0.04, 0.6, "included"), Surface(0.04, 0.6, "excluded")
    assert np.allclose(with_it.to_measured(inside) - without.to_measured(inside), 0.04, atol=1e-15)
    # A black that gives nothing back, and a perfect white that loses nothing but what it threw back outside.
    assert with_it.to_measured(0.0) == pytest.approx(0.04)
    assert with_it.to_measured(1.0) == pytest.approx(1.0)


@pytest.mark.parametrize("specular", ["included", "excluded"])
def test_slope_is_the_derivative(specular):
    surface, r, step = Surface(0.05, 0.55, specular), np.linspace(0.05, 0.95, 10), 1e-6
    numeric = (surface.to_measured(r + step) - surface.to_measured(r - step)) / (2 * step)
    assert np.allclose(surface.slope(r), numeric, rtol=1e-8)


@pytest.mark.parametrize("n", [1.3, 1.5, 1.7])
def test_diffuse_values_against_adaptive_integration_from_either_side(n):
    """scipy's adaptive integral from the outside; and from the inside, over the angles below the critical one."""

    def from_inside(angle):
        # Fresnel's equations with the index turned over: from the dense side.
        inner, outer = np.cos(angle), np.sqrt(1.0 - (n * np.sin(angle)) ** 2)
        across = ((n * inner - outer) / (n * inner + outer)) ** 2
        along = ((n * outer - inner) / (n * outer + inner)) ** 2
        return (across + along) / 2 * np.sin(2 * angle)

    critical = np.arcsin(1.0 / n)
    outside, _ = quad(lambda x: float(fresnel(n, np.degrees(x))) * np.sin(2 * x), 0.0, np.pi / 2)
    below, _ = quad(from_inside, 0.0, critical * (1 - 1e-12))
    assert fresnel_diffuse(n) == pytest.approx(outside, abs=1e-7)
    assert fresnel_diffuse_internal(n) == pytest.approx(below + np.cos(critical) ** 2, abs=1e-6)


def test_judd_1942_for_index_one_and_a_half():
    """0.092 from the outside and 0.596 from the inside: Judd 1942, J. Res. NBS 29, 329; from memory."""
    assert fresnel_diffuse(1.5) == pytest.approx(0.092, abs=0.0005)
    assert fresnel_diffuse_internal(1.5) == pytest.approx(0.596, abs=0.0005)


def test_the_fresnel_surface_takes_the_incidence_of_the_instrument():
    assert Surface.fresnel(1.5).k1 == pytest.approx(0.04)
    assert Surface.fresnel(1.5, incidence="45").k1 == pytest.approx(0.05024, abs=5e-6)
    assert Surface.fresnel(1.5, "included", "diffuse").k1 == fresnel_diffuse(1.5)
    assert Surface.fresnel(1.5).k2 == fresnel_diffuse_internal(1.5)
    assert Surface.fresnel(1.5).specular == "excluded"


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Surface(-0.01, 0.5), "k1 = -0.01"),
        (lambda: Surface(0.04, -0.2), "k2 = -0.2"),
        (lambda: Surface(1.0, 0.0), "k1 = 1"),
        (lambda: Surface(0.5, 0.5), "k1 [+] k2 = 1"),
        (lambda: Surface(0.04, float("nan")), "k2 = nan"),
        (lambda: Surface(0.04, 0.6, "in"), "specular 'in'"),
        (lambda: Surface.fresnel(0.9), "refractive index of 0.9"),
        (lambda: Surface.fresnel(1.5, incidence="60"), "incidence '60'"),
        (lambda: Surface(0.04, 0.6).to_internal(0.03), "less than the 0.04 that the surface alone reflects"),
    ],
)
def test_impossible_surfaces_are_refused_with_a_way_out(make, words):
    with pytest.raises(InputError, match=words) as caught:
        make()
    assert caught.value.problems[0].expected
