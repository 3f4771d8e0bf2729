"""Invented pigments for the tests of recipes: absorption bands and edges at random, none of them measured.

Invented presses too: inks and a stock of simple forms, halftones by the Neugebauer equation that the tests
write out for themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from screenproof.spectra import Device, Grid, Samples
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


@dataclass(frozen=True)
class InventedPress:
    """Invented inks on an invented white: what any tints would really give, and charts of it."""

    channels: tuple[str, ...]
    n: float = 1.9
    gain: float = 0.16
    trapping: float = 0.93

    def solid(self, inks: np.ndarray) -> np.ndarray:
        """Curve (w,) of the solids that are on, each after the first lying thinner; 0.6 % is mirrored by the
        surface."""
        nm = GRID.wavelengths
        bands = {
            "C": [(650, 60, 3.0), (400, 40, 0.35)],
            "M": [(545, 40, 2.8), (440, 50, 0.4)],
            "Y": [(430, 45, 2.6)],
            "K": [(550, 900, 3.4)],
            "Orange": [(440, 75, 2.9)],
            "Green": [(640, 50, 2.8), (420, 40, 2.4)],
            "Violet": [(570, 55, 2.9), (670, 60, 0.9)],
            "Pink": [(550, 30, 1.2)],
        }
        density = np.zeros(nm.size)
        for place, ink in enumerate([name for name, on in zip(self.channels, inks, strict=True) if on]):
            film = sum(depth * np.exp(-0.5 * ((nm - centre) / width) ** 2) for centre, width, depth in bands[ink])
            density = density + film * (1.0 if place == 0 else self.trapping)
        stock = 0.88 * (1.0 - 0.12 * np.exp(-(nm - 380.0) / 25.0))
        return 0.006 + 0.994 * stock * np.exp(-density)

    def covered(self, tints: np.ndarray) -> np.ndarray:
        return tints + 4.0 * self.gain * tints * (1.0 - tints)

    def curves(self, tints: np.ndarray) -> np.ndarray:
        """Reflectances (m, w) of tints (m, c), by the Neugebauer equation, term by term."""
        tints = np.asarray(tints, dtype=float)
        share = self.covered(tints)
        total = np.zeros((len(tints), GRID.count))
        for number in range(2 ** len(self.channels)):
            inks = np.array([number >> k & 1 for k in range(len(self.channels))], dtype=bool)
            area = np.prod(np.where(inks, share, 1.0 - share), axis=1)
            total += area[:, None] * self.solid(inks) ** (1.0 / self.n)
        return total**self.n

    def ramps(self, levels: np.ndarray) -> np.ndarray:
        """Tints of the bare stock and of each channel alone at the levels."""
        width = len(self.channels)
        rows = [np.zeros(width)]
        for channel in range(width):
            for level in levels:
                rows.append(np.zeros(width))
                rows[-1][channel] = level
        return np.array(rows)

    def samples(self, tints: np.ndarray, noise: float = 0.0, seed: int = 0) -> Samples:
        """Readings of tints, named by their tints in percent and their place."""
        values = self.curves(tints)
        values = values * (1.0 + noise * np.random.default_rng(seed).standard_normal(values.shape))
        names = tuple(f"{i}: {' '.join(f'{100 * t:g}' for t in row)}" for i, row in enumerate(np.asarray(tints)))
        return Samples(names, reflectance=values, grid=GRID, device=Device(self.channels, np.asarray(tints)))


@pytest.fixture(scope="session")
def invented_press():
    """The class InventedPress: invented_press(("C", "M", "Y")) is one."""
    return InventedPress
