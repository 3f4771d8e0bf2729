"""Colour differences against colour-science, and what they must be by definition."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import de76, de2000, de2000_terms, de_cmc
from screenproof.errors import InputError

TIGHT = {"atol": 1e-9, "rtol": 0.0}


def colours(count, seed):
    rng = np.random.default_rng(seed)
    return np.stack(
        [rng.uniform(0.0, 100.0, count), rng.normal(0.0, 40.0, count), rng.normal(0.0, 40.0, count)], axis=-1
    )


@pytest.fixture(scope="module")
def near_and_far():
    first = np.concatenate([colours(3000, 1), colours(3000, 2)])
    near = colours(3000, 1) + np.random.default_rng(3).normal(0.0, 1.0, (3000, 3))
    return first, np.concatenate([near, colours(3000, 4)])


@pytest.mark.parametrize("factors", [(1.0, 1.0, 1.0), (2.0, 1.0, 1.0)])
def test_de2000_equals_colour_science(colour, near_and_far, factors):
    theirs = colour.difference.delta_E_CIE2000(*near_and_far, textiles=factors[0] == 2.0)
    assert np.allclose(de2000(*near_and_far, *factors), theirs, **TIGHT)


@pytest.mark.parametrize(("l", "c"), [(2.0, 1.0), (1.0, 1.0)])
def test_cmc_equals_colour_science(colour, near_and_far, l, c):  # noqa: E741
    theirs = colour.difference.delta_E_CMC(*near_and_far, l=l, c=c)
    assert np.allclose(de_cmc(*near_and_far, l=l, c=c), theirs, **TIGHT)


def test_cmc_of_dark_neutral_and_hue_borders_equals_colour_science(colour):
    """L* about 16, C* = 0 and h about 164 and 345 degrees, where the formula changes its form."""
    rad = np.radians([163.9, 164.1, 344.9, 345.1])
    ref = np.concatenate(
        [
            np.stack([np.full(4, 40.0), 30.0 * np.cos(rad), 30.0 * np.sin(rad)], axis=-1),
            [[15.9, 3.0, 4.0], [16.1, 3.0, 4.0], [50.0, 0.0, 0.0], [0.0, 0.0, 0.0]],
        ]
    )
    sample = ref + [1.0, -2.0, 1.5]
    assert np.allclose(de_cmc(ref, sample), colour.difference.delta_E_CMC(ref, sample), **TIGHT)


def test_cmc_depends_on_which_is_the_reference():
    a, b = [50.0, 60.0, 0.0], [50.0, 40.0, 0.0]
    assert abs(float(de_cmc(a, b)) - float(de_cmc(b, a))) > 1.0


def test_de76_equals_colour_science(colour, near_and_far):
    assert np.allclose(de76(*near_and_far), colour.difference.delta_E_CIE1976(*near_and_far), **TIGHT)


def test_de2000_is_symmetric_and_zero_for_the_same(near_and_far):
    first, second = near_and_far
    assert np.allclose(de2000(first, second), de2000(second, first), atol=1e-12, rtol=0.0)
    assert np.array_equal(de2000(first, first), np.zeros(len(first)))


def test_parametric_factors_divide_their_own_part():
    grey = np.array([50.0, 0.0, 0.0])
    lighter = np.array([53.0, 0.0, 0.0])
    assert de2000(grey, lighter, kl=2.0) == pytest.approx(de2000(grey, lighter) / 2.0, rel=1e-14)
    assert de2000(grey, lighter, kc=2.0, kh=3.0) == pytest.approx(de2000(grey, lighter), rel=1e-14)
    red, stronger = [50.0, 40.0, 0.0], [50.0, 44.0, 0.0]
    assert de2000(red, stronger, kc=2.0) == pytest.approx(de2000(red, stronger) / 2.0, rel=1e-14)
    other_hue = [50.0, 40.0 * np.cos(0.1), 40.0 * np.sin(0.1)]
    assert de2000(red, other_hue, kh=2.0) < 0.6 * de2000(red, other_hue)


def test_terms_add_up_to_the_difference_but_for_the_rotation(near_and_far):
    """For mean hues far from 275 degrees the rotation is nothing, and the terms are signed."""
    red, other = np.array([50.0, 40.0, 10.0]), np.array([53.0, 44.0, 16.0])
    terms = de2000_terms(red, other)
    assert (terms > 0.0).all() and (de2000_terms(other, red) < 0.0).all()
    assert np.sqrt((terms**2).sum()) == pytest.approx(de2000(red, other), abs=1e-9)


def test_small_hue_differences_keep_their_digits():
    """A hue step of 1e-7 degrees at C* = 100: by angles or by a difference of products it would be lost."""
    step = np.radians(1e-7)
    one, other = [50.0, 0.0, 100.0], [50.0, 100.0 * np.sin(step), 100.0 * np.cos(step)]
    found, ten_times = de2000(one, other), [50.0, 100.0 * np.sin(10 * step), 100.0 * np.cos(10 * step)]
    assert found > 0.0
    assert de2000(one, ten_times) == pytest.approx(10.0 * found, rel=1e-9)


def test_axes_broadcast():
    samples, ways = colours(5, 7)[:, np.newaxis, np.newaxis], colours(6, 8).reshape(2, 3, 3)
    for function in (de2000, de76, de_cmc):
        whole = function(samples, ways)
        assert whole.shape == (5, 2, 3)
        assert whole[3, 1, 2] == pytest.approx(float(function(samples[3, 0, 0], ways[1, 2])), rel=1e-14)
    assert de2000(np.empty((0, 3)), np.empty((0, 3))).shape == (0,)


def test_mistakes_are_refused():
    with pytest.raises(InputError, match="kl"):
        de2000([50.0, 0.0, 0.0], [50.0, 1.0, 0.0], kl=0.0)
    with pytest.raises(InputError, match="last axis"):
        de2000([50.0, 0.0], [50.0, 1.0])
    with pytest.raises(InputError, match="c = -1"):
        de_cmc([50.0, 0.0, 0.0], [50.0, 1.0, 0.0], c=-1.0)
