"""Inks, stocks, paints and cloth for the demo, made up from absorption bands. All of it is invented.

No curve here was measured and none copies a real product. The forms are the physical ones, so that the curves
behave as measured ones do: an ink is a transparent layer that light passes twice, on a stock, under a surface;
a paint absorbs and scatters (Kubelka and Munk 1931); a dyed cloth does both and brightens towards the near
infrared, where common dyes stop absorbing. Reflectances are fractions, wavelengths nm, absorbances to base e.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Surface of a layer of refractive index near 1.5 (Saunderson 1942): outside reflection of the beam that comes in,
# inside reflection of the diffuse light that goes out.
OUTSIDE, INSIDE = 0.04, 0.60


def bell(wavelengths: Array, peak: float, width: float) -> Array:
    """A band of unit height: ``peak`` and ``width`` (full, at half height) in nm."""
    out: Array = np.exp(-4 * np.log(2) * ((wavelengths - peak) / width) ** 2)
    return out


def step(wavelengths: Array, edge: float, softness: float) -> Array:
    """A smooth step from 0 to 1 at ``edge`` nm; a negative ``softness`` turns it into a fall."""
    out: Array = 1 / (1 + np.exp(-(wavelengths - edge) / softness))
    return out


@dataclass(frozen=True)
class Colorant:
    """What one pigment or dye absorbs: bands (peak, width, height) and falling edges (edge, softness, height)."""

    bands: Sequence[tuple[float, float, float]] = ()
    edges: Sequence[tuple[float, float, float]] = ()
    grey: float = 0.0

    def absorbance(self, wavelengths: Array) -> Array:
        total = np.full(wavelengths.shape, self.grey)
        for peak, width, height in self.bands:
            total += height * bell(wavelengths, peak, width)
        for edge, softness, height in self.edges:
            total += height * step(wavelengths, edge, -softness)
        return total


# Bands chosen by eye: where a cyan, a magenta, a yellow absorb in principle, with the side absorptions that make
# a real ink less than ideal.
COLORANTS: Mapping[str, Colorant] = {
    "cyan": Colorant(bands=[(620, 80, 1.0), (685, 80, 1.05), (555, 70, 0.26), (500, 70, 0.08), (380, 110, 0.24)]),
    "magenta": Colorant(bands=[(566, 52, 0.85), (526, 62, 1.1), (482, 60, 0.46), (430, 80, 0.34)], grey=0.06),
    "yellow": Colorant(edges=[(488, 11, 1.1), (520, 22, 0.10)], grey=0.02),
    "black": Colorant(bands=[(420, 160, 0.12)], grey=1.75),
    "orange": Colorant(bands=[(508, 62, 1.4), (440, 110, 1.2)], edges=[(546, 7, 0.95)]),
    "green": Colorant(bands=[(648, 95, 1.5), (718, 80, 0.8), (430, 80, 0.85)]),
    # Narrow, structured bands as of a phthalocyanine: this is what lets it part from a process build.
    "turquoise": Colorant(bands=[(604, 38, 1.3), (660, 34, 1.3), (705, 50, 1.1), (425, 60, 0.4)]),
    "violet": Colorant(bands=[(532, 36, 0.8), (570, 34, 1.15), (612, 30, 1.2), (400, 60, 0.12)]),
    "blue": Colorant(bands=[(590, 110, 1.15), (690, 90, 0.95), (370, 60, 0.2)]),
    "red": Colorant(bands=[(520, 90, 1.25), (430, 120, 0.75)], edges=[(588, 9, 0.35)]),
    "ochre": Colorant(edges=[(515, 26, 0.75), (600, 45, 0.18)], bands=[(870, 160, 0.2)]),
    "umber": Colorant(edges=[(585, 60, 0.9)], grey=0.35),
    "titania": Colorant(edges=[(397, 6, 0.9)], grey=0.002),
}


def under_surface(inner: Array) -> Array:
    """What an instrument without the mirror reflection sees of ``inner`` (Saunderson 1942, k1 left out)."""
    return (1 - OUTSIDE) * (1 - INSIDE) * inner / (1 - INSIDE * inner)


def below_surface(measured: Array) -> Array:
    """The inverse of :func:`under_surface`."""
    return measured / ((1 - OUTSIDE) * (1 - INSIDE) + INSIDE * measured)


def ink_on(stock: Array, wavelengths: Array, amounts: Mapping[str, float], surface: float = 0.004) -> Array:
    """Transparent ink films on a stock: ``amounts`` of colorants, passed twice; ``surface`` is stray gloss."""
    path = sum(
        (amount * COLORANTS[name].absorbance(wavelengths) for name, amount in amounts.items()),
        np.zeros(wavelengths.shape),
    )
    return surface + (1 - surface) * under_surface(below_surface(stock) * np.exp(-2 * path))


def paint(wavelengths: Array, amounts: Mapping[str, float], base: float = 1.0) -> Array:
    """An opaque paint: colorants with little scatter in a scattering white base (Kubelka-Munk, then surface)."""
    absorption = base * 0.02 * COLORANTS["titania"].absorbance(wavelengths) + sum(
        amount * COLORANTS[name].absorbance(wavelengths) for name, amount in amounts.items()
    )
    scatter = base * (550 / wavelengths) ** 0.6 + 0.05 * sum(amounts.values())
    ratio = absorption / scatter
    inner: Array = 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)
    return 0.004 + 0.996 * under_surface(inner)


def opaque_ink_on(stock: Array, wavelengths: Array, power: float) -> Array:
    """A white ink of scattering power ``power`` over a stock: finite layer (Kubelka 1948)."""
    absorption = power * 0.006 + power * 0.3 * COLORANTS["titania"].absorbance(wavelengths)
    scatter = np.full(wavelengths.shape, power)
    a = 1 + absorption / scatter
    b = np.sqrt(a**2 - 1)
    turn = b / np.tanh(b * scatter)
    ground = below_surface(stock)
    return 0.004 + 0.996 * under_surface((1 - ground * (a - turn)) / (a - ground + turn))


def cloth(wavelengths: Array, amounts: Mapping[str, float], lift: float = 0.0) -> Array:
    """A dyed cloth: K/S of undyed cotton plus dyes; past 690 nm dyes let go, by ``lift``. No gloss."""
    hold = 1 - lift * step(wavelengths, 690, 9)
    ratio = (
        0.012
        + 0.05 * step(wavelengths, 425, -14)
        + hold * sum(amount * COLORANTS[name].absorbance(wavelengths) for name, amount in amounts.items())
    )
    out: Array = 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)
    return out


def carton(wavelengths: Array) -> Array:
    """A white coated carton without brightener: clay and fibre, a little yellow at the short end."""
    return 0.862 - 0.20 * step(wavelengths, 398, -13) - 0.03 * step(wavelengths, 460, -40)


def kraft(wavelengths: Array) -> Array:
    """Unbleached brown board: lignin absorbs more the shorter the wavelength."""
    return 0.085 + 0.50 * step(wavelengths, 572, 62)


def label_paper(wavelengths: Array) -> Array:
    """An uncoated natural-white label paper."""
    return 0.845 - 0.16 * step(wavelengths, 415, -24) - 0.06 * step(wavelengths, 500, -45)


def wood(wavelengths: Array) -> Array:
    """Pale wood or bamboo."""
    return 0.20 + 0.47 * step(wavelengths, 515, 48)


def read_by_instrument(reflectance: Array, generator: np.random.Generator) -> Array:
    """One reading: 0.05 % of the value and 0.0002 of full scale (standard deviations), a common gain of 0.05 %."""
    gain = 1 + 0.0005 * generator.standard_normal()
    noise = generator.standard_normal(reflectance.shape)
    out: Array = reflectance * gain + noise * (0.0002 + 0.0005 * reflectance)
    return np.clip(out, 0.0005, None)
