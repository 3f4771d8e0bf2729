"""From which distance a size fuses: its arithmetic, its two ways of counting, its mistakes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from screenproof.additive import fusion_distance, visual_angle
from screenproof.errors import InputError


def test_the_size_is_one_minute_of_arc_at_the_distance():
    size = np.array([0.05, 0.5, 5.0, 500.0])
    np.testing.assert_allclose(visual_angle(size, fusion_distance(size)), 1.0, rtol=1e-12)
    np.testing.assert_allclose(visual_angle(size / 2, fusion_distance(size, "half_period")), 1.0, rtol=1e-12)
    np.testing.assert_allclose(visual_angle(size, fusion_distance(size, minutes=2.0)), 2.0, rtol=1e-12)


def test_half_a_period_needs_half_the_distance_and_is_thirty_cycles_per_degree():
    period = 4.0
    distance = float(fusion_distance(period, "half_period"))
    assert distance == pytest.approx(0.5 * float(fusion_distance(period)))
    cycles = distance * math.tan(math.radians(1.0)) / period
    assert cycles == pytest.approx(30.0, rel=2e-4)  # a flat degree is 1e-4 longer than sixty flat minutes


def test_angles_and_sizes_broadcast():
    found = visual_angle(np.array([[1.0], [2.0]]), np.array([1000.0, 2000.0, 3000.0]))
    assert found.shape == (2, 3)
    expected = [[60 * math.degrees(math.atan(s / d)) for d in (1000.0, 2000.0, 3000.0)] for s in (1.0, 2.0)]
    np.testing.assert_allclose(found, expected, rtol=1e-13)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: fusion_distance(0.0), ["size of 0 mm", "above 0 mm"]),
        (lambda: fusion_distance([1.0, -2.0]), ["size of -2 mm"]),
        (lambda: fusion_distance(float("nan")), ["nan mm"]),
        (lambda: fusion_distance(1.0, "period"), ["'period'", "feature or half_period"]),
        (lambda: fusion_distance(1.0, minutes=0.0), ["acuity of 0 minutes"]),
        (lambda: fusion_distance(1.0, minutes=90.0), ["acuity of 90 minutes", "below 60"]),
        (lambda: visual_angle(1.0, 0.0), ["distance of 0 mm"]),
        (lambda: visual_angle(1.0, [1.0, float("inf")]), ["distance of inf mm"]),
    ],
)
def test_a_mistake_is_told(call, says):
    with pytest.raises(InputError) as caught:
        call()
    for piece in says:
        assert piece in str(caught.value), str(caught.value)
