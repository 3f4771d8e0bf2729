"""A population: its people are those that the paper describes, the same for the same seed, and made at once."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import observer, physiological_observer, population
from screenproof.spectra.physiological import MATRIX_2, cone_fundamentals

PUBLISHED_SD = np.array([0.187, 0.365, 0.09, 0.09, 0.074, 2.0, 1.5, 1.3])
"""Lens, macula, L, M, S densities (relative), shifts of L, M, S in nm: Asano, Fairchild and Blonde (2016)."""


def test_people_of_one_age_differ_as_published():
    """The eight departures of each person, found again from the curves by Gauss and Newton, have the published
    standard deviations (a standard error is 2 % for 1,200 people) and go without one another."""
    people = population(1200, ages=(32, 32), seed=4)
    band = slice(40, 300)
    lms = np.linalg.solve(MATRIX_2, people.curves.reshape(-1, 3).T).T.reshape(people.curves.shape)
    # Past 560 nm S is too small for a logarithm of what has gone through a matrix and back.
    keep = np.ones((260, 3), bool)
    keep[160:, 2] = False

    def logs(values):
        return np.log10(values[:, band][:, keep])

    def model(found):
        return cone_fundamentals(np.full(len(found), 32.0), 2.0, deviations=found[:, :5], shifts=found[:, 5:])

    found = np.zeros((1200, 8))
    average = logs(cone_fundamentals([32.0], 2.0))[0]
    steps = np.diag(np.r_[np.full(5, 0.02), np.full(3, 0.2)])
    slopes = (logs(model(steps)) - average) / np.diag(steps)[:, None]
    # Each cone has a peak of 1, so its height says nothing: three free heights besides.
    heights = np.stack([np.broadcast_to(np.arange(3) == cone, keep.shape)[keep] for cone in range(3)])
    design = np.concatenate([slopes, heights.astype(float)]).T
    for _ in range(6):
        rest = logs(lms) - logs(model(found))
        found += np.linalg.lstsq(design, rest.T, rcond=None)[0][:8].T
    assert np.abs(logs(lms) - logs(model(found))).max() < 0.01
    assert np.allclose(found.std(axis=0), PUBLISHED_SD, rtol=0.06)
    assert np.all(np.abs(found.mean(axis=0)) < 4 * PUBLISHED_SD / np.sqrt(1200))
    assert np.abs(np.corrcoef(found.T) - np.eye(8)).max() < 0.11


def test_the_same_seed_gives_the_same_people_and_another_gives_others():
    first, again, other = population(60, seed=7), population(60, seed=7), population(60, seed=8)
    assert np.array_equal(first.curves, again.curves) and np.array_equal(first.ages, again.ages)
    assert not np.array_equal(first.curves, other.curves)
    assert first.names == other.names and len(first) == 60 and first.curves.shape == (60, 471, 3)
    assert (first.seed, first.field, first.label) == (7, 2.0, "60 people of 20 to 80 years, 2 degrees")
    with pytest.raises(ValueError, match="read-only"):
        first.curves[0] = 0.0


def test_ages_alone_are_the_average_eyes_of_those_ages():
    ages = np.linspace(22.0, 78.0, 12)
    people = population(12, ages=ages, field=10, spread="ages")
    assert np.array_equal(people.ages, ages)
    for person, age in zip(people.observers, ages, strict=True):
        assert np.allclose(person.at_1nm, physiological_observer(age, 10).at_1nm, atol=1e-12)
    assert people.observers is people.observers
    first = people.observers[0]
    assert (first.name, first.label, first.kind, first.field, first.age) == (
        "person 1",
        "person 1: 22 years, 10 degrees",
        "eye",
        10.0,
        22.0,
    )
    assert people.label == "12 people, average but for their age, of 22 to 78 years as given, 10 degrees"


def test_ages_are_drawn_from_what_is_given():
    evenly = population(3000, ages=(40, 50), spread="ages").ages
    assert evenly.min() >= 40 and evenly.max() <= 50
    # Kolmogorov's bound at 1 in 1000 for an even draw.
    assert np.abs(np.sort(evenly) - np.linspace(40, 50, 3000)).max() < 10 * 1.95 / np.sqrt(3000)
    groups = population(3000, ages=((20, 30, 3), (60, 80, 1), (30, 60, 0)), spread="ages")
    young = np.mean(groups.ages < 30)
    assert abs(young - 0.75) < 4 * np.sqrt(0.75 * 0.25 / 3000)
    assert not np.any((groups.ages > 30) & (groups.ages < 60))
    assert "by 3 weighted groups" in groups.label


def test_the_middle_of_a_population_of_32_years_is_the_cie_2015_observer():
    people = population(1000, ages=(32, 32))
    cie = observer("cie2015-2").at_1nm
    assert np.all(np.abs(np.median(people.curves, axis=0) - cie).max(axis=0) < 0.02 * cie.max(axis=0))
    assert np.all(np.isfinite(people.curves))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"count": 9}, "population.count: a population of 9\n  expected: a whole number of people, 10 to 5000"),
        ({"count": 5001}, "a population of 5001"),
        ({"count": 20.5}, "a population of 20.5"),
        ({"count": float("nan")}, "a population of nan"),
        ({"seed": -1}, "population.seed: the seed is -1\n  expected: a whole number, 0 or above"),
        ({"seed": 1.5}, "the seed is 1.5"),
        ({"field": 12}, "a field of 12 degrees\n  expected: 1 to 10 degrees\n  to mend it: 2 for small patches"),
        ({"ages": (18, 60)}, "population.ages: an age of 18 years\n  expected: 20 to 80 years, where the model"),
        ({"ages": (60, 30)}, "ages from 60 down to 30\n  to mend it: write the lower first: 30, 60"),
        ({"ages": (30, 40, 50)}, "ages of shape (3,)\n  expected: lowest and highest, or (low, high, weight)"),
        ({"ages": ("thirty", "forty")}, "ages that are no numbers"),
        ({"ages": ((20, 40, -1), (40, 60, 2))}, "groups of ages that cannot be drawn from"),
        ({"ages": ((20, 40, 0), (40, 60, 0))}, "weights of 0 or above that are not all 0"),
        ({"ages": ((20, 90, 1),)}, "an age of 90 years"),
        ({"spread": "wide"}, "no spread is called 'wide'\n  expected: asano or ages"),
    ],
)
def test_what_is_wrong_of_a_population_is_said(asked, said):
    with pytest.raises(InputError) as error:
        population(**{"count": 20, **asked})
    assert said in str(error.value)
