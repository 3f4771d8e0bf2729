"""Halftones: what the equations must hold whatever the numbers, and what they refuse."""

from __future__ import annotations

import doctest

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from screenproof.errors import InputError
from screenproof.subtractive import (
    corners,
    coverage,
    coverage_from_density,
    demichel,
    halftone,
    mixed,
    neugebauer,
    process_tone_value,
    spot_tone_value,
    tone_value_increase,
)

share = st.floats(0.0, 1.0)


def test_examples_in_docstrings():
    result = doctest.testmod(halftone)
    assert result.attempted >= 3 and result.failed == 0


@given(share, st.floats(1.0, 10.0), st.floats(0.3, 1.0), st.floats(0.01, 0.2))
def test_coverage_undoes_mixing(a, n, stock, solid):
    assert float(coverage(mixed(a, stock, solid, n), stock, solid, n)) == pytest.approx(a, abs=1e-9)


@given(st.lists(share, min_size=1, max_size=8))
def test_demichel_areas_are_a_partition(tints):
    areas = demichel(tints)
    assert areas.shape == (2 ** len(tints),)
    assert (areas >= 0.0).all() and areas.sum() == pytest.approx(1.0, abs=1e-12)
    # The areas on which an ink lies add up to its own coverage.
    assert np.allclose(areas @ corners(len(tints)), tints, atol=1e-12)


def test_a_solid_gives_its_overprint_and_no_ink_the_stock():
    overprints = np.random.default_rng(1).uniform(0.01, 0.9, (8, 5))
    assert np.allclose(neugebauer(corners(3), overprints, n=2.3), overprints, rtol=1e-12)


def test_more_n_prints_darker_at_the_same_coverage():
    """Light that spreads is caught under more dots: Yule & Nielsen 1951."""
    values = [float(mixed(0.5, 0.8, 0.05, n)) for n in (1.0, 1.5, 2.0, 4.0)]
    assert values == sorted(values, reverse=True) and values[0] == pytest.approx(0.425)


def test_spot_tone_value_of_a_neutral_ramp_is_its_lightness():
    """For neutrals X, Y and Z go together, so that the tone value is the share of the way in L*."""
    white = np.array([96.42, 100.0, 82.49])
    xyz = np.array([0.8, 0.45, 0.2, 0.03])[:, None] * white
    star = 116.0 * np.cbrt(np.array([0.8, 0.45, 0.2, 0.03])) - 16.0
    assert np.allclose(spot_tone_value(xyz, xyz[0], xyz[-1], white), (star[0] - star) / (star[0] - star[-1]))


def test_tone_value_increase_is_the_difference():
    assert tone_value_increase([0.66, 0.2], [0.5, 0.2]) == pytest.approx([0.16, 0.0])


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: coverage(0.4, 0.8, 0.8), "as light as the stock"),
        (lambda: coverage(0.4, 0.8, 0.1, n=0.5), "Yule-Nielsen factor of 0.5"),
        (lambda: coverage(0.4, 0.8, 0.1, n=float("nan")), "Yule-Nielsen factor of nan"),
        (lambda: coverage_from_density(float("nan"), 0.1, 1.5), "no number"),
        (lambda: demichel([0.2, 1.2]), "outside 0 to 1"),
        (lambda: demichel([0.2, float("nan")]), "outside 0 to 1"),
        (lambda: demichel(0.4), "no set of coverages"),
        (lambda: neugebauer([0.5, 0.5], np.ones((3, 4))), "for 2 inks"),
        (lambda: process_tone_value([1, 1, 1], [80, 80, 80], [5, 5, 5], "Orange"), "no process ink"),
        (lambda: spot_tone_value([1, 1, 1], [80, 80, 80], [80, 80, 80], [96, 100, 82]), "colour of the stock"),
    ],
)
def test_what_is_refused(call, says):
    with pytest.raises(InputError, match=says):
        call()
