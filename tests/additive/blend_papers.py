"""Invented papers for the tests of blends: smooth reflectance curves, 400 to 700 nm by 10 nm."""

from __future__ import annotations

import numpy as np

from screenproof.spectra import Grid, Samples

GRID = Grid(400.0, 700.0, 10.0)
NM = GRID.wavelengths


def edge(at: float, width: float) -> np.ndarray:
    return 1.0 / (1.0 + np.exp(-(NM - at) / width))


def hump(at: float, width: float) -> np.ndarray:
    return np.exp(-(((NM - at) / width) ** 2))


BLUE = 0.08 + 0.50 * (1.0 - edge(505.0, 14.0))
CURVES = {
    "Blue": BLUE,
    "Yellow": 0.66 - BLUE,  # what the blue lacks of twice a grey of 0.33
    "Vermilion": 0.04 + 0.70 * edge(595.0, 10.0),
    "Leaf green": 0.05 + 0.42 * hump(525.0, 42.0) + 0.10 * edge(690.0, 10.0),
    "White": np.full(NM.size, 0.88),
    "Black": np.full(NM.size, 0.035),
    "Olive": 0.07 + 0.14 * hump(560.0, 55.0) + 0.06 * edge(640.0, 20.0),
    "Signal orange": 0.05 + 0.85 * edge(575.0, 8.0),
    "Grey card": np.full(NM.size, 0.33),
}


def papers(*names: str) -> Samples:
    """The named papers, or all of them."""
    chosen = names or tuple(CURVES)
    return Samples(chosen, np.array([CURVES[name] for name in chosen]), GRID, source="papers")
