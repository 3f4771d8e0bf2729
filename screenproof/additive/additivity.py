"""What readings tell before any model is chosen: do the channels add, are they independent, do ramps rise?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from screenproof.additive.additive_fit import AdditiveFit, fit_additive
from screenproof.additive.patches import CHANNELS, Mask, Patches
from screenproof.additive.readings import SAME_DRIVE
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import Note
from screenproof.spectra import Array

LEAST_RAMP = 5
"""Steps of a ramp, black included, from which the channel alone can be told."""

_ASSUMED_PERCENT = 0.3
_MOST_LISTED = 6


@dataclass(frozen=True)
class AdditivityFailure:
    """The three full primaries added up, against the white; after black, which would be counted thrice.

    luminance_percent: by how much the sum is brighter than the white, in percent of the white.
    de00: CIEDE2000 between the two, relative to the white.
    """

    luminance_percent: float
    de00: float


@dataclass(frozen=True)
class IndependenceFailure:
    """Mixtures and greys as the ramps of the single channels tell them, against their readings.

    mean, p95, max, count: CIEDE2000 relative to the white. worst: name of the worst patch.
    channel_percent: change of each channel's full light when the other two are on, in percent.
    curve_percent: largest change of each tone curve's shape along the greys, in percent of full light; None
    when too few greys were read.
    """

    mean: float
    p95: float
    max: float
    count: int
    worst: str
    channel_percent: tuple[float, float, float]
    curve_percent: tuple[float, float, float] | None


def additivity_failure(patches: Patches) -> AdditivityFailure | None:
    """How far the full primaries are from adding up to the white; None when one of them or black is missing."""
    found = [patches.at(drive) for drive in ((1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 0, 0))]
    if any(index is None for index in found):
        return None
    red, green, blue, black = (patches.xyz[index] for index in found if index is not None)
    white = patches.white
    total = red + green + blue - 2.0 * black
    apart = de2000(xyz_to_lab(total, white), xyz_to_lab(white, white))
    return AdditivityFailure(100.0 * float(total[1] / white[1] - 1.0), float(apart))


def ramps_only(patches: Patches) -> Mask:
    """Patches (m,) boolean that drive one channel at most, when each channel has a ramp of its own; else all."""
    single = (patches.drive > SAME_DRIVE).sum(axis=1) <= 1
    if all(len(patches.ramp(c)) >= LEAST_RAMP for c in range(3)) and patches.at((0, 0, 0)) is not None:
        return np.asarray(single)
    return np.ones(len(patches), dtype=np.bool_)


def independence_failure(patches: Patches, smoothing: float) -> IndependenceFailure | None:
    """How mixtures depart from the sum of the ramps; None without three ramps, or without mixtures.

    smoothing: of the tone curves that are fitted to the ramps, see
    :func:`~screenproof.additive.additive_fit.fit_additive`.
    """
    single = ramps_only(patches)
    mixtures = np.flatnonzero(~single)
    if not mixtures.size:
        return None
    alone = fit_additive(patches, single, smoothing)
    white = patches.white
    told = xyz_to_lab(alone.to_xyz(patches.drive[mixtures]), white)
    apart = de2000(told, xyz_to_lab(patches.xyz[mixtures], white))
    full = np.asarray(np.linalg.solve(alone.matrix, white - alone.black), dtype=np.float64)
    change = 100.0 * (full - 1.0)
    return IndependenceFailure(
        float(apart.mean()),
        float(np.percentile(apart, 95)),
        float(apart.max()),
        int(mixtures.size),
        patches.names[mixtures[int(np.argmax(apart))]],
        (float(change[0]), float(change[1]), float(change[2])),
        _curve_change(patches, alone, full),
    )


def _curve_change(patches: Patches, alone: AdditiveFit, full: Array) -> tuple[float, float, float] | None:
    greys = patches.greys()
    if greys.size < LEAST_RAMP:
        return None
    seen = np.linalg.solve(alone.matrix, (patches.xyz[greys] - alone.black).T).T / full
    change = 100.0 * np.abs(seen - alone.curves.forward(patches.drive[greys])).max(axis=0)
    return float(change[0]), float(change[1]), float(change[2])


def fall_notes(patches: Patches, source: str) -> tuple[tuple[Note, ...], tuple[bool, bool, bool]]:
    """Notes on ramps whose light falls while the drive rises, and whether each channel rises throughout.

    A fall within what repeated readings differ by is information, one beyond it is odd. The fit makes the
    curves monotone in either case.
    """
    known = patches.repeatability
    percent = known.percent if known is not None else _ASSUMED_PERCENT
    notes: list[Note] = []
    rising = [True, True, True]
    ramps = [(CHANNELS[c], patches.ramp(c), c) for c in range(3)]
    greys = patches.greys()
    for label, ramp, channel in [*ramps, ("grey", greys, -1)]:
        if len(ramp) < 3:
            continue
        drive = patches.drive[ramp].max(axis=1)
        light = _share(patches.xyz[ramp], patches.white)
        before = np.maximum.accumulate(light)[:-1]
        fall = before - light[1:]
        noise = 3.0 * np.sqrt(2.0) * percent / 100.0 * before
        beyond = np.flatnonzero(fall > noise + 1e-12)
        within = np.flatnonzero((fall > 0) & (fall <= noise + 1e-12))
        for places, odd in ((beyond, True), (within, False)):
            if not places.size:
                continue
            listed = "; ".join(
                f"drive {drive[i]:.4g} to {drive[i + 1]:.4g}: {patches.xyz[ramp[i], 1]:.5g} to "
                f"{patches.xyz[ramp[i + 1], 1]:.5g} cd/m2 ({patches.names[ramp[i + 1]]})"
                for i in places[:_MOST_LISTED]
            )
            more = f"; and {places.size - _MOST_LISTED} more" if places.size > _MOST_LISTED else ""
            reason = "" if odd else f", no more than readings of {percent:.2g} % repeatability may"
            notes.append(
                Note(
                    "odd" if odd else "info",
                    f"the {label} ramp falls where it should rise{reason}: {listed}{more}; the tone curve was "
                    "made monotone",
                    about=label,
                    file=source or None,
                    mend="read these steps again, after the display has warmed up" if odd else None,
                )
            )
        if channel >= 0:
            rising[channel] = not beyond.size
    return tuple(notes), (rising[0], rising[1], rising[2])


def _share(xyz: Array, white: Array) -> Array:
    """Each step of a ramp as a share of its brightest step, all three of XYZ weighing as they are seen."""
    top = (xyz[-1] - xyz[0]) / white
    size = float(top @ top)
    share: Array = (xyz / white) @ top / (size if size > 0 else 1.0)
    return share
