"""Guard bands against JCGM 106:2012, and against the normal distribution worked by hand.

JCGM 106:2012, 8.3.2: with a single upper tolerance limit T, an acceptance limit A = T - w, w = z u, keeps the
conformance probability of an accepted item at p or above, with z the quantile of the normal distribution. Its
table of p and z (7.4; from memory): 0.80 0.84, 0.90 1.28, 0.95 1.64, 0.99 2.33. The common w = U = 2 u keeps the
risk below 2.3 % (8.3.2.2, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.proof import Decision, Part, Spread, ToleranceSet, Viewing, judge_doubted
from screenproof.spectra import light, observer

VIEWING = Viewing(light("D50"), observer("cie1931"))
LIMIT, U = 40.0, 0.2
"""So far from zero, in CIE 1976 units of lightness, that the figure is normal with standard uncertainty u."""


def status(figure, risk, limit=LIMIT):
    none = np.zeros((1, 3, 3))
    spread = Spread((Part("sample", U**2 * np.eye(3)[None], none, none, np.ones(1, dtype=np.int64)),))
    lab = np.array([[20.0, 5.0, 5.0]]), np.array([[20.0 + figure, 5.0, 5.0]])
    tolerance = ToleranceSet("t", "deab", pair=limit)
    return judge_doubted(
        tolerance, "pair", *lab, VIEWING.white, VIEWING.conditions(), spread, Decision(risk=risk)
    )[0]


@pytest.mark.parametrize(("conformance", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33)])
def test_the_guard_band_is_z_times_u(conformance, z):
    # Half a unit of the last digit of z, on either side of the acceptance and of the rejection limit.
    hair = 0.006 * U
    risk = 1.0 - conformance
    assert status(LIMIT - z * U - hair, risk).status == "pass"
    assert status(LIMIT - z * U + hair, risk).status == "undecided"
    assert status(LIMIT + z * U - hair, risk).status == "undecided"
    assert status(LIMIT + z * U + hair, risk).status == "fail"


def test_a_guard_band_of_two_u_keeps_2_3_percent():
    """The normal distribution beyond 2 is 0.0228 (JCGM 106:2012, 8.3.2.2: below 2.3 %)."""
    at = LIMIT - 2.0 * U
    assert status(at, 0.0229).status == "pass" and status(at, 0.0226).status == "undecided"


def test_the_expanded_uncertainty_is_1_96_u_and_the_interval_holds_it():
    """JCGM 100:2008, G.1.3: a coverage factor of 1.96 for 95 % of a normal quantity (1.960 of its table G.1)."""
    found = status(LIMIT, 0.05)
    assert found.uncertainty == pytest.approx(1.960 * U, abs=0.0005 * U)
    assert (found.low, found.high) == (
        pytest.approx(LIMIT - 1.960 * U, abs=0.001),
        pytest.approx(LIMIT + 1.960 * U, abs=0.001),
    )
    assert found.status == "undecided", "a figure on its limit is not decided by itself"
