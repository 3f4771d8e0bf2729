"""Invented pigments for the tests of recipes: absorption bands and edges at random, none of them measured."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.spectra import Grid
from screenproof.subtractive import Pigment

GRID = Grid(380.0, 730.0, 10.0)


def invented_pigments(count: int, seed: int) -> tuple[list[Pigment], Pigment]:
    """Pigments of all hues, the last of them black, and a white; all relative to the scattering of the white."""
    rng, nm = np.random.default_rng(seed), GRID.wavelengths
    pigments = []
    for number in range(count):
        k = np.full(nm.size, 10 ** rng.uniform(-2.3, -1.2))
        if number == count - 1:
            k = 4.0 + 0.4 * (nm - 550.0) / 180.0
        elif rng.random() < 0.35:  # yellow to red: an edge
            k = k + rng.uniform(1.5, 6.0) / (1.0 + np.exp((nm - rng.uniform(450, 640)) / rng.uniform(6, 22)))
        else:  # bands
            for _ in range(rng.integers(2, 4)):
                centre, width = rng.uniform(400, 710), rng.uniform(18, 60)
                k = k + rng.uniform(0.5, 5.0) * np.exp(-(((nm - centre) / width) ** 2))
        s = rng.uniform(0.1, 0.7) * (nm / 550.0) ** rng.uniform(-1.5, 0.5)
        pigments.append(Pigment(f"pigment {number:02d}", GRID, k, s, cost=float(rng.uniform(5, 60)), density=1.5))
    white_k = 0.001 + 0.5 / (1.0 + np.exp((nm - 398.0) / 5.0))
    return pigments, Pigment("white", GRID, white_k, np.ones(nm.size), cost=3.0, density=4.0)


@pytest.fixture(scope="session")
def grid():
    return GRID


@pytest.fixture(scope="session")
def pigments():
    """A function: so many invented pigments and their white."""
    return invented_pigments
