"""Displays whose truth is known, and readings of them with noise, for the tests of the fit.

The tone curves and CIEDE2000 are those of colour-science, so that neither the truth nor the judgement comes from
the package under test.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

from screenproof.additive import Readings
from screenproof.spectra import Grid

# Primaries of IEC 61966-2-1:1999 for D65, to the digits of the standard.
SRGB_MATRIX = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
LEVEL = 120.0
WHITE = SRGB_MATRIX.sum(axis=1) * LEVEL

Truth = Callable[[np.ndarray], np.ndarray]


def s_shaped(drive: np.ndarray) -> np.ndarray:
    """The native curve of a liquid crystal: slow at both ends (common practice, no source)."""
    d = np.asarray(drive)
    rise = 1.0 / (1.0 + np.exp(-np.array([6.0, 6.5, 5.5]) * (d - np.array([0.45, 0.47, 0.42]))))
    low = 1.0 / (1.0 + np.exp(np.array([6.0, 6.5, 5.5]) * np.array([0.45, 0.47, 0.42])))
    high = 1.0 / (1.0 + np.exp(-np.array([6.0, 6.5, 5.5]) * (1.0 - np.array([0.45, 0.47, 0.42]))))
    return (rise - low) / (high - low) * (0.25 + 0.75 * d)


def bt1886(drive: np.ndarray) -> np.ndarray:
    """BT.1886 for 100 cd/m2 over 0.1, as a share of the range between."""
    return (colour.models.eotf_BT1886(drive, L_B=0.1, L_W=100.0) - 0.1) / 99.9


CURVES: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "gamma": lambda d: d**2.2,
    "srgb": lambda d: np.asarray(colour.models.eotf_sRGB(d)),
    "bt1886": bt1886,
    "s-shaped": s_shaped,
}
BLACKS = {
    "gamma": np.array([0.095, 0.1, 0.109]),
    "srgb": np.zeros(3),
    "bt1886": np.array([0.12, 0.12, 0.15]),
    "s-shaped": np.array([0.18, 0.2, 0.35]),
}


def additive(name: str) -> Truth:
    """XYZ in cd/m2 of an additive display with one of the curves."""
    return lambda drive: CURVES[name](drive) @ (SRGB_MATRIX.T * LEVEL) + BLACKS[name]


def white_pixel(drive: np.ndarray) -> np.ndarray:
    """A display whose white sub-pixel boosts what the three channels have in common."""
    linear = drive**2.2
    common = linear.min(axis=1, keepdims=True)
    return linear @ (SRGB_MATRIX.T * LEVEL) + 0.35 * common**1.1 * np.array([1.0, 1.05, 0.95]) * LEVEL + 0.1


def power_limited(drive: np.ndarray) -> np.ndarray:
    """A display that dims itself as the picture asks for more light."""
    linear = drive**2.2
    load = linear @ np.array([0.3, 0.45, 0.25])
    return linear @ (SRGB_MATRIX.T * LEVEL) / (1.0 + 0.8 * np.maximum(load - 0.25, 0.0))[:, None] + 0.1


def crosstalk(drive: np.ndarray) -> np.ndarray:
    """A display whose channels disturb each other a little."""
    linear = drive**2.2
    disturbed = linear * (1.0 - 0.1 * np.roll(drive, -1, axis=1))
    return disturbed @ (SRGB_MATRIX.T * LEVEL) + 0.1


def drives(steps: int = 17, mixtures: int = 4) -> np.ndarray:
    """A ramp of each channel and of grey, a cube of mixtures, and white, black and a grey read again."""
    ramp = np.linspace(0.0, 1.0, steps)
    rows = [level * np.eye(3)[channel] for channel in range(3) for level in ramp]
    rows += [np.full(3, level) for level in ramp]
    side = np.linspace(0.0, 1.0, mixtures)
    rows += list(np.stack(np.meshgrid(side, side, side, indexing="ij"), axis=-1).reshape(-1, 3))
    rows += [np.ones(3)] * 3 + [np.zeros(3)] * 2 + [np.full(3, 0.5)] * 3
    return np.array(rows)


def noisy(truth: Truth, drive: np.ndarray, seed: int, percent: float = 0.3) -> Readings:
    """Readings in random order, with this repeatability in X, Y and Z, each on its own: the hard case."""
    generator = np.random.default_rng(seed)
    shuffled = generator.permutation(drive)
    xyz = truth(shuffled)
    return Readings(shuffled, xyz * (1.0 + percent / 100.0 * generator.standard_normal(xyz.shape)))


GRID = Grid(380.0, 780.0, 4.0)


def bands() -> np.ndarray:
    """Three narrow primaries (3, w) in W/(sr m2 nm), of a display with 120 cd/m2 or so."""
    nm = GRID.wavelengths
    centres, widths = np.array([[620.0], [535.0], [452.0]]), np.array([[14.0], [22.0], [10.0]])
    return np.exp(-0.5 * ((nm - centres) / widths) ** 2) * np.array([[1.8e-3], [1.2e-3], [2.7e-3]])


def noisy_spectra(truth: Truth, drive: np.ndarray, seed: int, percent: float = 0.3) -> Readings:
    """Spectral readings with this repeatability, common to all bands, and some noise of each band."""
    generator = np.random.default_rng(seed)
    spectra = truth(drive)
    spectra = spectra * (1.0 + percent / 100.0 * generator.standard_normal((len(drive), 1)))
    spectra = spectra * (1.0 + percent / 100.0 * generator.standard_normal(spectra.shape))
    return Readings(drive, spectra=spectra + 1e-8 * generator.standard_normal(spectra.shape), grid=GRID)


def apart(told: np.ndarray, true: np.ndarray, white: np.ndarray) -> np.ndarray:
    """CIEDE2000 (n,) between XYZ relative to a white, by colour-science."""
    x, y, z = (white / white[1]).tolist()
    xy = colour.XYZ_to_xy(np.array([x, y, z]))
    first, second = (colour.XYZ_to_Lab(xyz / white[1], xy) for xyz in (told, true))
    return np.asarray(colour.delta_E(first, second, method="CIE 2000"))


def unseen(count: int = 1000) -> np.ndarray:
    """Drives of colours that nobody read."""
    return np.random.default_rng(2024).random((count, 3))
