"""The figures of a screen check, each a function of the readings' XYZ.

They take XYZ (..., n, 3) of all readings, leading axes free: so one call gives the figures of the readings as they
are, and another those of many noisy copies, from which their uncertainty is told. A figure is the largest of its
parts (places, greys, times); the labels say which.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.readings import SAME_DRIVE, Readings
from screenproof.additive.transfer import Transfer
from screenproof.appearance import de2000, xyz_to_lab, xyz_to_uv
from screenproof.spectra import Array

Rows = NDArray[np.intp]
Figures = Callable[[Array], Array]

GREY_LEVELS = {"white": 1.0, "grey_128": 128.0 / 255.0, "grey_64": 64.0 / 255.0}
"""The levels at which ISO 12646 asks for uniformity, as drives: codes of 8 bits."""

_NEAR_LEVEL = 0.006  # one code and a half of 8 bits: other bit depths do not have 128/255 exactly
_LEAST_GREYS = 5
_CURVE_FROM, _BALANCE_FROM = 0.1, 0.2


@dataclass(frozen=True, eq=False)
class Quantity:
    """One figure of a check: ``of`` maps XYZ (..., n, 3) to its parts (..., m), ``labels`` name the parts (m,)."""

    key: str
    of: Figures
    labels: tuple[str, ...] = ()

    def figure(self, xyz: Array) -> Array:
        """The figure (...): its part, or the largest of them."""
        return np.asarray(self.of(xyz).max(axis=-1))

    def worst(self, xyz: Array) -> str:
        """The label of the largest part for XYZ (n, 3); '' where there is one part."""
        return self.labels[int(np.argmax(self.of(xyz)))] if self.labels else ""


@dataclass(frozen=True, eq=False)
class Rests:
    """Which readings are usual ones: at the centre and in no series, which stands in where there is no other."""

    readings: Readings

    def at(self, drive: Sequence[float]) -> Rows:
        """Rows of the usual readings of a drive (3,); else the last one of a series; maybe none."""
        same = np.abs(self.readings.drive - np.asarray(drive)).max(axis=1) <= SAME_DRIVE
        usual = same & self.readings.at_centre & ~self.readings.in_series
        if usual.any():
            return np.flatnonzero(usual)
        series = np.flatnonzero(same & self.readings.at_centre)
        if self.readings.minutes is None or not series.size:
            return series
        return series[[int(np.argmax(self.readings.minutes[series]))]]

    def greys(self, low: float, high: float) -> list[tuple[float, Rows]]:
        """Drives of the greys that were read, from ``low`` to ``high``, with their rows, rising."""
        drive = self.readings.drive
        grey = (np.ptp(drive, axis=1) <= SAME_DRIVE) & self.readings.at_centre & ~self.readings.in_series
        levels = drive[grey, 0]
        levels = np.unique(np.round(levels[(levels >= low) & (levels <= high)] / SAME_DRIVE)) * SAME_DRIVE
        return [(float(level), self.at((level,) * 3)) for level in levels]


def mean(xyz: Array, rows: Rows) -> Array:
    """Mean (..., 3) of some readings."""
    return np.asarray(xyz[..., rows, :].mean(axis=-2))


def apart_uv(first: Array, second: Array) -> Array:
    """Distance (...) in CIE 1976 u', v' of XYZ (..., 3)."""
    return np.asarray(np.linalg.norm(xyz_to_uv(first) - xyz_to_uv(second), axis=-1))


def luminance(key: str, rows: Rows) -> Quantity:
    """Luminance in cd/m2."""
    return Quantity(key, lambda xyz: mean(xyz, rows)[..., 1:2])


def chromaticity(key: str, rows: Rows, aim_uv: Array) -> Quantity:
    """Distance of a chromaticity from an aim (2,) in u', v'."""
    return Quantity(key, lambda xyz: np.linalg.norm(xyz_to_uv(mean(xyz, rows)) - aim_uv, axis=-1)[..., None])


def contrast(white: Rows, black: Rows) -> Quantity:
    """White over black in luminance."""
    return Quantity("contrast", lambda xyz: mean(xyz, white)[..., 1:2] / mean(xyz, black)[..., 1:2])


def on_off(black: Rows, off: float) -> Quantity:
    """The black in percent of the luminance [cd/m2] of the screen switched off."""
    return Quantity("black_on_off", lambda xyz: 100.0 * mean(xyz, black)[..., 1:2] / off)


def additivity(white: Rows, primaries: Sequence[Rows], black: Rows) -> Quantity:
    """CIEDE2000 between white and the primaries added up, after black, which would be counted thrice."""

    def of(xyz: Array) -> Array:
        own = mean(xyz, white)
        total = sum((mean(xyz, rows) for rows in primaries), -2.0 * mean(xyz, black))
        return np.asarray(de2000(xyz_to_lab(np.asarray(total), own), xyz_to_lab(own, own)))[..., None]

    return Quantity("additivity", of)


def _shares(xyz: Array, greys: Sequence[tuple[float, Rows]], white: Rows, black: Rows) -> Array:
    """Luminance (..., m) of greys above the black, as a share of the white's."""
    low, high = mean(xyz, black)[..., 1:2], mean(xyz, white)[..., 1:2]
    levels = np.stack([mean(xyz, rows)[..., 1] for _, rows in greys], axis=-1)
    return np.asarray((levels - low) / (high - low))


def exponent(
    greys: Sequence[tuple[float, Rows]], white: Rows, black: Rows, aim: Transfer | None, stands_for: float
) -> Quantity | None:
    """The exponent that greys follow best; with an aim, ``stands_for`` times how steep they are against it.

    A straight line through full light in log share over log drive (or over log of the aim's share). None with
    fewer than five greys between.
    """
    if len(greys) < _LEAST_GREYS:
        return None
    drive = np.array([level for level, _ in greys])
    base = drive if aim is None else aim.forward(np.repeat(drive[:, None], 3, axis=1))[:, 1]
    at = np.log(base)

    def of(xyz: Array) -> Array:
        share = np.log(np.maximum(_shares(xyz, greys, white, black), 1e-9))
        return np.asarray(stands_for * (share @ at) / (at @ at))[..., None]

    return Quantity("exponent", of)


def tone_curve(greys: Sequence[tuple[float, Rows]], white: Rows, black: Rows, aim: Transfer) -> Quantity | None:
    """Differences in L* of the greys from what the aim gives between the screen's own black and white."""
    if len(greys) < _LEAST_GREYS:
        return None
    drive = np.array([level for level, _ in greys])
    share = aim.forward(np.repeat(drive[:, None], 3, axis=1))[:, 1]

    def of(xyz: Array) -> Array:
        low, high = mean(xyz, black)[..., 1:2], mean(xyz, white)[..., 1:2]
        wanted = lightness((low + (high - low) * share) / high)
        shown = lightness(np.stack([mean(xyz, rows)[..., 1] for _, rows in greys], axis=-1) / high)
        return np.asarray(np.abs(shown - wanted))

    return Quantity("tone_curve", of, tuple(f"drive {level:.3g}" for level, _ in greys))


def lightness(relative: Array) -> Array:
    """L* of a luminance relative to white, 0..1. ISO/CIE 11664-4:2019 eq. 1."""
    y = np.asarray(relative, dtype=np.float64)
    third = np.where(y > (6.0 / 29.0) ** 3, np.cbrt(y), y * (841.0 / 108.0) + 4.0 / 29.0)
    return np.asarray(116.0 * third - 16.0)


def grey_balance(greys: Sequence[tuple[float, Rows]], white: Rows) -> Quantity | None:
    """C*ab of the greys relative to the screen's own white; None with fewer than five."""
    if len(greys) < _LEAST_GREYS:
        return None

    def of(xyz: Array) -> Array:
        own = mean(xyz, white)
        labs = [xyz_to_lab(mean(xyz, rows), own) for _, rows in greys]
        return np.stack([np.hypot(lab[..., 1], lab[..., 2]) for lab in labs], axis=-1)

    return Quantity("grey_balance", of, tuple(f"drive {level:.3g}" for level, _ in greys))


def curve_greys(usual: Rests) -> list[tuple[float, Rows]]:
    """The greys that a tone curve is told from: not white, and not so dark that the black decides."""
    return usual.greys(_CURVE_FROM, 0.97)


def balance_greys(usual: Rests) -> list[tuple[float, Rows]]:
    """The greys whose balance counts: darker ones have the black's colour."""
    return usual.greys(_BALANCE_FROM, 0.97)


@dataclass(frozen=True, eq=False)
class Places:
    """The readings of one grey at the places of the screen: rows by 'row,column', the centre's apart."""

    level: float
    centre: Rows
    places: dict[str, Rows]
    missing: tuple[str, ...]


def places(readings: Readings, level: float) -> Places | None:
    """The readings of a grey over the screen; None when there are none off the centre or none in it."""
    shape = readings.grid_shape
    if shape is None or readings.positions is None:
        return None
    grey = (np.abs(readings.drive - level).max(axis=1) <= _NEAR_LEVEL) & ~readings.in_series
    centre = np.flatnonzero(grey & readings.at_centre)
    odd = shape[0] % 2 and shape[1] % 2
    middle = f"{(shape[0] + 1) // 2},{(shape[1] + 1) // 2}" if odd else ""
    found: dict[str, Rows] = {}
    missing = []
    for row in range(1, shape[0] + 1):
        for column in range(1, shape[1] + 1):
            name = f"{row},{column}"
            here = np.array([place == name for place in readings.positions]) & grey
            if name == middle:
                continue
            if here.any():
                found[name] = np.flatnonzero(here)
            else:
                missing.append(name)
    if not centre.size or not found:
        return None
    return Places(level, centre, found, tuple(missing))


def uniformity(key: str, at: Places) -> Quantity:
    """Departures of the luminance from the centre's, in percent of it."""

    def of(xyz: Array) -> Array:
        middle = mean(xyz, at.centre)[..., 1:2]
        levels = np.stack([mean(xyz, rows)[..., 1] for rows in at.places.values()], axis=-1)
        return np.asarray(100.0 * np.abs(levels / middle - 1.0))

    return Quantity(key, of, tuple(f"place {name}" for name in at.places))


def uniformity_colour(levels: Sequence[tuple[str, Places]]) -> Quantity:
    """Distances in u', v' of the greys at all places from the centre."""

    def of(xyz: Array) -> Array:
        parts = [
            apart_uv(mean(xyz, rows), mean(xyz, at.centre)) for _, at in levels for rows in at.places.values()
        ]
        return np.stack(parts, axis=-1)

    labels = tuple(f"{name.replace('_', ' ')} at place {place}" for name, at in levels for place in at.places)
    return Quantity("uniformity_colour", of, labels)


def drift(rows: Rows, last: Rows, minutes: Array) -> Quantity:
    """Departures of the luminance over time from that of the last readings, in percent."""

    def of(xyz: Array) -> Array:
        end = mean(xyz, last)[..., 1:2]
        return np.asarray(100.0 * np.abs(xyz[..., rows, 1] / end - 1.0))

    return Quantity("drift", of, tuple(f"at {minute:.4g} min" for minute in minutes[rows]))


def colour_drift(rows: Rows, last: Rows, minutes: Array) -> Quantity:
    """Distances in u', v' over time from the last readings."""

    def of(xyz: Array) -> Array:
        return apart_uv(xyz[..., rows, :], mean(xyz, last)[..., None, :])

    return Quantity("colour_drift", of, tuple(f"at {minute:.4g} min" for minute in minutes[rows]))
