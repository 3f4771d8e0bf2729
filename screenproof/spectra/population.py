"""A crowd of normal eyes, by age and by how people differ: a proof is looked at by more than one observer."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.light import VISIBLE
from screenproof.spectra.observer import Observer
from screenproof.spectra.physiological import AGES, FIELDS, cone_fundamentals, matrix_to_xyz

FEWEST, MOST = 10, 5000
"""Fewer people give no 95th percentile; more change it by less than the model is worth."""

DENSITY_SD = frozen([0.187, 0.365, 0.09, 0.09, 0.074])
SHIFT_SD_NM = frozen([2.0, 1.5, 1.3])
"""How people of one age differ, as standard deviations: relative, of the density of the lens, the macula, and the
L, M and S pigments; in nm, of the peaks of L, M and S. Asano, Fairchild and Blonde (2016), the paper's set (its
authors' program carries larger ones)."""

SOURCE = "CIE 170-1:2006; Asano, Fairchild and Blonde, PLoS ONE 11(2) e0145671 (2016)"

Spread = Literal["asano", "ages"]
Ages = Sequence[float] | Sequence[Sequence[float]] | Array


@dataclass(frozen=True, eq=False)
class Population:
    """People with normal colour vision: ages (P,) in years, one field in degrees, curves (P, 471, 3).

    The curves are like XYZ, at 360 to 830 nm by 1 nm. The same count, seed, ages, field and spread give the same
    people on every machine.
    """

    names: tuple[str, ...]
    ages: Array
    field: float
    seed: int
    curves: Array
    label: str
    source: str = SOURCE

    def __len__(self) -> int:
        return len(self.names)

    @functools.cached_property
    def observers(self) -> tuple[Observer, ...]:
        """Each person as an observer, for what is asked of one observer at a time."""
        return tuple(
            Observer(
                name,
                VISIBLE,
                self.curves[i],
                f"{name}: {self.ages[i]:.0f} years, {self.field:g} degrees",
                "eye",
                self.field,
                float(self.ages[i]),
                self.source,
            )
            for i, name in enumerate(self.names)
        )


def population(
    count: int = 200,
    *,
    seed: int = 1,
    ages: Ages = (20.0, 80.0),
    field: float = 2.0,
    spread: Spread = "asano",
) -> Population:
    """``count`` people (10 to 5000) who look at a field of ``field`` degrees (1 to 10).

    ages: lowest and highest, drawn evenly in between; or a histogram of (low, high, weight), ...; or the ages
    themselves, one per person. All in 20..80 years. spread: ``asano`` varies lens, macula, pigments and their
    peaks from person to person besides the age, independently and normally (densities no lower than none at all);
    ``ages`` varies the age alone. seed: 0 or above.

    Raises InputError for a count, field, seed, ages or spread outside of these.

    >>> population(50, ages=(30, 70)).label
    '50 people of 30 to 70 years, 2 degrees'
    """
    if not FEWEST <= count <= MOST or int(count) != count:
        raise bad(
            f"a population of {count:g}",
            field="population.count",
            expected=f"a whole number of people, {FEWEST} to {MOST}",
            mend="200 is enough for a proof, 1000 to compare screens",
        )
    count = int(count)
    if not 0 <= seed < 2**63 or int(seed) != seed:
        raise bad(f"the seed is {seed:g}", field="population.seed", expected="a whole number, 0 or above")
    if not FIELDS[0] <= field <= FIELDS[1]:
        raise bad(
            f"a field of {field:g} degrees",
            field="population.field",
            expected=f"{FIELDS[0]:g} to {FIELDS[1]:g} degrees",
            mend="2 for small patches, 10 for large ones",
        )
    if spread not in ("asano", "ages"):
        raise bad(f"no spread is called {spread!r}", field="population.spread", expected="asano or ages")
    random = np.random.default_rng(int(seed))
    years, said = _ages(ages, count, random)
    parts = shifts = None
    if spread == "asano":
        parts = np.maximum(random.standard_normal((count, 5)) * DENSITY_SD, -1.0)
        shifts = random.standard_normal((count, 3)) * SHIFT_SD_NM
    curves = cone_fundamentals(years, field, deviations=parts, shifts=shifts) @ matrix_to_xyz(field).T
    width = "degree" if field == 1 else "degrees"
    label = f"{count} people{', average but for their age,' if spread == 'ages' else ''} {said}, {field:g} {width}"
    names = tuple(f"person {i + 1}" for i in range(count))
    return Population(names, frozen(years), float(field), int(seed), frozen(curves), label)


def _ages(ages: Ages, count: int, random: np.random.Generator) -> tuple[Array, str]:
    """Ages (count,) in years and how they came about in words. InputError: see :func:`population`."""
    try:
        given = np.asarray(ages, dtype=np.float64)
    except (TypeError, ValueError):
        given = np.empty(0)
    if given.ndim == 2 and given.shape[1:] == (3,) and given.size:
        return _histogram(given, count, random)
    if given.ndim != 1 or given.size not in (2, count):
        raise bad(
            f"ages of shape {given.shape}" if given.size else "ages that are no numbers",
            field="population.ages",
            expected=f"lowest and highest, or (low, high, weight) of each group, or ages of all {count} people",
        )
    _within(given)
    if given.size == count:
        return given, f"of {given.min():g} to {given.max():g} years as given"
    low, high = given
    if low > high:
        raise bad(
            f"ages from {low:g} down to {high:g}",
            field="population.ages",
            mend=f"write the lower first: {high:g}, {low:g}",
        )
    words = f"of {low:g} years" if low == high else f"of {low:g} to {high:g} years"
    return random.uniform(low, high, count), words


def _histogram(rows: Array, count: int, random: np.random.Generator) -> tuple[Array, str]:
    _within(rows[:, :2])
    weight = rows[:, 2]
    if np.any(rows[:, 0] > rows[:, 1]) or np.any(~(weight >= 0)) or not 0 < weight.sum() < np.inf:
        raise bad(
            "groups of ages that cannot be drawn from",
            field="population.ages",
            expected="(low, high, weight) with low not above high, and weights of 0 or above that are not all 0",
        )
    group = random.choice(len(rows), size=count, p=weight / weight.sum())
    used = rows[weight > 0]
    words = f"of {used[:, 0].min():g} to {used[:, 1].max():g} years by {len(rows)} weighted groups"
    return random.uniform(rows[group, 0], rows[group, 1]), words


def _within(years: ArrayLike) -> None:
    values = np.asarray(years, dtype=np.float64).ravel()
    outside = values[~((values >= AGES[0]) & (values <= AGES[1]))]
    if outside.size:
        raise bad(
            f"an age of {outside[0]:g} years",
            field="population.ages",
            expected=f"{AGES[0]:g} to {AGES[1]:g} years, where the model of CIE 170-1:2006 is defined",
        )
