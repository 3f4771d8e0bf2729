"""A figure of any unit against bounds of its own."""

import math

import pytest
from scipy.stats import norm

from screenproof.proof import Decision, Judge

PLAIN = Judge(None)


@pytest.mark.parametrize(
    ("figure", "bounds", "status", "limit"),
    [
        (120.0, {"at_least": 100.0}, "pass", 100.0),
        (100.0, {"at_least": 100.0}, "pass", 100.0),
        (99.0, {"at_least": 100.0}, "fail", 100.0),
        (math.inf, {"at_least": 100.0}, "pass", 100.0),
        (math.inf, {"at_most": 100.0}, "fail", 100.0),
        (-3.0, {"at_most": -2.0}, "pass", -2.0),
        (-1.0, {"at_most": -2.0}, "fail", -2.0),
        (0.1 * 160.0, {"at_most": 16.0}, "pass", 16.0),
        (1.2, {"at_least": 0.9, "at_most": 1.1}, "fail", 1.1),
        (0.8, {"at_least": 0.9, "at_most": 1.1}, "fail", 0.9),
        (1.0, {"at_least": 0.8, "at_most": 1.1}, "pass", 1.1),
    ],
)
def test_bounds_are_included_and_the_limit_is_the_one_that_counts(figure, bounds, status, limit):
    found = PLAIN.bound("ratio", figure, ": 1", **bounds)
    assert (found.status, found.limit, found.metric) == (status, limit, ": 1")


def test_without_a_bound_nothing_is_judged_and_nan_is_not_known():
    assert PLAIN.bound("ratio", 3.0).status == "not judged"
    assert not PLAIN.bound("ratio", 3.0).limited
    assert PLAIN.bound("ratio", math.nan, at_most=1.0).status == "not known"


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_guard_band_is_the_normal_quantile_of_the_risk_on_both_sides(way):
    # JCGM 106:2012, 8.3: with a standard uncertainty u the band is as wide as the quantile of the risk says.
    judge, doubt = Judge(None, Decision(risk=0.02)), 0.5
    band = norm.ppf(0.98) * doubt
    bound = {"at_most": 10.0} if way > 0 else {"at_least": -10.0}

    def status(distance, among=1):
        return judge.bound("x", way * (10.0 + distance), doubt=doubt, among=among, **bound).status

    assert [status(-1.001 * band), status(-0.999 * band)] == ["pass", "undecided"]
    assert [status(0.999 * band), status(1.001 * band)] == ["undecided", "fail"]
    wide = norm.ppf(1.0 - 0.02 / 12) * doubt
    assert [status(0.999 * wide, 12), status(1.001 * wide, 12)] == ["undecided", "fail"]
    assert status(-1.001 * band, 12) == "pass"


def test_the_interval_covers_what_the_decision_says():
    found = Judge(None, Decision(coverage=0.9)).bound("x", 4.0, at_most=5.0, doubt=0.2)
    assert (found.low, found.high) == pytest.approx(norm.interval(0.9, 4.0, 0.2))
    assert found.uncertainty == pytest.approx(4.0 - found.low)


def test_the_worst_of_low_figures_is_the_lowest():
    ranks = [PLAIN.bound("x", figure, at_least=100.0).severity for figure in (150.0, 90.0, 10.0, 0.0)]
    assert ranks == sorted(ranks)
