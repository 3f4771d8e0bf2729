"""Lamps, displays and a camera for the demo, made up from peaks. All of it is invented.

The forms follow the technologies: a white LED is a blue chip and broad phosphors; an LCD filters such a
backlight; a quantum-dot display has three narrow peaks; a camera has three broad filters behind an infrared
cut. Tristimulus values use the CIE 1931 2 degree functions at 1 nm as colour-science carries them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from invented_matter import Array, bell, step

LM_PER_W = 683.0


def cmfs_1931(wavelengths: Array) -> Array:
    """CIE 1931 2 degree colour-matching functions, shape (w, 3), linear between the 1 nm table values."""
    import colour  # here for its cost: it takes a second to load

    table = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    columns = [np.interp(wavelengths, table.wavelengths, table.values[:, i]) for i in range(3)]
    return np.stack(columns, axis=1)


def source(name: str, wavelengths: Array) -> Array:
    """A CIE illuminant by name ('D50', 'D65'), linear between the table values of colour-science."""
    import colour  # here for its cost

    table = colour.SDS_ILLUMINANTS[name]
    out: Array = np.interp(wavelengths, table.wavelengths, table.values)
    return out


def white_led(
    wavelengths: Array, chip: tuple[float, float, float], phosphors: Sequence[tuple[float, float, float]]
) -> Array:
    """A blue chip and phosphors, each (peak nm, width nm, height), with the phosphors' long red tail."""
    power = chip[2] * bell(wavelengths, chip[0], chip[1])
    for peak, width, height in phosphors:
        # Phosphor bands are even in frequency, not in wavelength, hence the longer side towards the red.
        side = np.where(wavelengths > peak, 1.22, 0.82) * width
        power = power + height * np.exp(-4 * np.log(2) * ((wavelengths - peak) / side) ** 2)
    return power


def lcd_primaries(wavelengths: Array) -> Array:
    """Red, green and blue of an office LCD: a white-LED backlight behind dye filters, shape (3, w), relative."""
    backlight = white_led(wavelengths, (450, 21, 1.0), [(545, 88, 0.42), (608, 78, 0.30)])
    red = 0.92 * step(wavelengths, 592, 5.5) + 0.012
    green = 0.88 * bell(wavelengths, 534, 75) + 0.008
    blue = 0.80 * bell(wavelengths, 452, 72) + 0.004
    return np.stack([backlight * filt for filt in (red, green, blue)])


def dot_primaries(wavelengths: Array) -> Array:
    """Red, green and blue of a wide-gamut display with quantum dots, shape (3, w), relative."""
    leak = 0.012 * bell(wavelengths, 449, 19)
    red = bell(wavelengths, 634, 29) + 0.010 * bell(wavelengths, 529, 32) + leak
    green = bell(wavelengths, 529, 32) + 0.012 * bell(wavelengths, 634, 29) + leak
    blue = bell(wavelengths, 449, 19) + 0.012 * bell(wavelengths, 529, 32)
    return np.stack([red, green, blue])


def balanced(primaries: Array, wavelengths: Array, white_xy: tuple[float, float], luminance: float) -> Array:
    """Primaries scaled so that their sum has ``white_xy`` and ``luminance`` [cd/m2]: W/(sr m2 nm), even grid."""
    stride = wavelengths[1] - wavelengths[0]
    xyz = LM_PER_W * stride * primaries @ cmfs_1931(wavelengths)
    x, y = white_xy
    aim = luminance / y * np.array([x, y, 1 - x - y])
    return primaries * np.linalg.solve(xyz.T, aim)[:, None]


def patch_set() -> Array:
    """The drive values (0..255) shown to the instrument: ramps, greys, mixtures, repeats; shape (n, 3).

    Black, white and a grey come three times, so that the repeatability can be told from the readings.
    """
    rows: list[tuple[int, int, int]] = [(0, 0, 0)]
    levels = [8, 16, 32, 48, 64, 80, 96, 112, 128, 144, 160, 176, 192, 208, 224, 240, 255]
    for channel in range(3):
        rows += [tuple(level if i == channel else 0 for i in range(3)) for level in levels]  # type: ignore[misc]
    rows += [(level, level, level) for level in levels]
    rows += [(r, g, b) for r in (64, 160, 255) for g in (64, 160, 255) for b in (64, 160, 255) if not r == g == b]
    rows += [(200, 120, 90), (40, 110, 120), (230, 200, 60), (90, 40, 110), (120, 140, 60), (245, 180, 190)]
    rows += 2 * [(255, 255, 255), (128, 128, 128), (0, 0, 0)]
    return np.array(rows, dtype=float)


def shown(drive_255: Array, primaries: Array, black: Array, gammas: Sequence[float]) -> Array:
    """Light of the drive values, shape (n, w): each channel a power curve with a soft toe, plus black."""
    v = drive_255 / 255
    linear = np.stack([0.985 * v[:, i] ** g + 0.015 * v[:, i] ** 1.3 for i, g in enumerate(gammas)], axis=1)
    out: Array = linear @ primaries + black
    return out


def camera_curves(wavelengths: Array) -> Array:
    """Relative sensitivities R, G, B of an invented camera, shape (w, 3): filters, silicon, infrared cut."""
    silicon = 0.35 + 0.65 * step(wavelengths, 470, 50)
    cut = step(wavelengths, 668, -9) * step(wavelengths, 405, 6)
    red = 0.95 * step(wavelengths, 582, 8) + 0.05 * bell(wavelengths, 420, 40)
    green = bell(wavelengths, 532, 92) + 0.03 * step(wavelengths, 630, 20)
    blue = 1.05 * bell(wavelengths, 455, 78) + 0.02 * bell(wavelengths, 560, 60)
    return np.stack([band * silicon * cut for band in (red, green, blue)], axis=1)
