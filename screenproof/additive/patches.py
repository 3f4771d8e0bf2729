"""Readings put in order: repeats averaged, repeatability told, what a fit needs looked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.readings import SAME_DRIVE, Readings, drive_name
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError, Problem
from screenproof.spectra import Array

Mask = NDArray[np.bool_]
"""Which patches (m,) are meant."""

LEAST_PATCHES = 12
LEAST_LEVELS = 4
CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True, eq=False)
class Repeatability:
    """How well readings of one patch agree with each other.

    percent: standard deviation of the luminance of one reading, in percent of it, pooled over the patches;
    de00: mean CIEDE2000 of one reading from the patch's true colour, to the same pooling.
    readings, patches: how many readings of how many patches this is told from.
    """

    percent: float
    de00: float
    readings: int
    patches: int


@dataclass(frozen=True, eq=False)
class Patches:
    """The different colours that were read, each with the mean of its readings.

    drive: (m, 3) 0..1. xyz: (m, 3) in cd/m2. spectra: (m, w) or None. count: (m,) readings of each.
    names: what each is called. repeatability: None when nothing was read twice.
    """

    drive: Array
    xyz: Array
    spectra: Array | None
    count: NDArray[np.intp]
    names: tuple[str, ...]
    repeatability: Repeatability | None

    def __len__(self) -> int:
        return len(self.drive)

    def at(self, drive: tuple[float, float, float]) -> int | None:
        """Index of the patch with this drive, or None."""
        found = np.flatnonzero(np.abs(self.drive - np.array(drive)).max(axis=1) <= SAME_DRIVE)
        return int(found[0]) if found.size else None

    @property
    def white(self) -> Array:
        """XYZ (3,) of full white in cd/m2."""
        index = self.at((1.0, 1.0, 1.0))
        assert index is not None  # a fit is refused without it
        white: Array = self.xyz[index]
        return white

    @property
    def anchors(self) -> Mask:
        """Patches (m,) whose drives are all 0 or 1: black, white, the full primaries and their mixtures."""
        ends = (self.drive <= SAME_DRIVE) | (self.drive >= 1.0 - SAME_DRIVE)
        return np.asarray(ends.all(axis=1))

    def ramp(self, channel: int) -> NDArray[np.intp]:
        """Patches of one channel alone, the other two at 0, by rising drive; black among them."""
        others = [c for c in range(3) if c != channel]
        alone = np.flatnonzero((self.drive[:, others] <= SAME_DRIVE).all(axis=1))
        return np.asarray(alone[np.argsort(self.drive[alone, channel])])

    def greys(self) -> NDArray[np.intp]:
        """Patches with three equal drives by rising drive, black and white among them."""
        equal = np.flatnonzero(np.ptp(self.drive, axis=1) <= SAME_DRIVE)
        return np.asarray(equal[np.argsort(self.drive[equal, 0])])


def patches_of(readings: Readings) -> Patches:
    """The different patches of some readings, repeats averaged.

    Raises InputError, with every problem, when no display can be fitted to them.
    """
    keys = np.round(readings.drive / SAME_DRIVE).astype(np.int64)
    _, first, group = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first)
    place = np.empty_like(order)
    place[order] = np.arange(order.size)
    group = place[group.ravel()]
    count = np.bincount(group, minlength=order.size)

    def mean(values: Array) -> Array:
        total = np.zeros((order.size, values.shape[1]))
        np.add.at(total, group, values)
        return total / count[:, None]

    xyz = mean(readings.own_xyz)
    names = tuple(readings.names[i] for i in first[order])
    drive = readings.drive[first[order]]
    _refuse(readings, drive, xyz)
    return Patches(
        np.clip(drive, 0.0, 1.0),
        xyz,
        None if readings.spectra is None else mean(readings.spectra),
        count,
        names,
        _repeatability(readings.own_xyz, xyz, group, count),
    )


def _repeatability(
    every: Array, mean: Array, group: NDArray[np.intp], count: NDArray[np.intp]
) -> Repeatability | None:
    """Pooled over all patches that were read more than once, but for those too dark to have a percentage."""
    white = mean[np.argmax(mean[:, 1])]
    repeated = (count[group] > 1) & (mean[group, 1] > 1e-3 * white[1])
    if not repeated.any() or white.min() <= 0:
        return None
    patches = np.unique(group[repeated])
    own = mean[group[repeated]]
    freedom = int(repeated.sum()) - patches.size
    relative = every[repeated, 1] / own[:, 1] - 1.0
    n = count[group[repeated]]
    apart = de2000(xyz_to_lab(every[repeated], white), xyz_to_lab(own, white))
    return Repeatability(
        100.0 * float(np.sqrt((relative**2).sum() / freedom)),
        # A mean of n readings lies nearer to each of them than the truth does, by sqrt((n - 1)/n).
        float(np.mean(apart * np.sqrt(n / (n - 1.0)))),
        int(repeated.sum()),
        int(patches.size),
    )


def _refuse(readings: Readings, drive: Array, xyz: Array) -> None:
    """Raise InputError for readings that no display can be fitted to."""
    file = readings.source or None
    found: list[Problem] = []

    def say(what: str, expected: str, mend: str, field: str | None = None) -> None:
        found.append(Problem(what, file, field=field, expected=expected, mend=mend))

    if np.abs(drive - drive[0]).max() <= SAME_DRIVE:
        say(
            f"all readings have the same drive, {drive_name(drive[0])}",
            "a ramp of each channel, greys and mixtures",
            "look whether the columns of drive values are the right ones",
        )
        raise InputError(found)
    if xyz[:, 1].max() <= 0 or xyz.max() <= 0:
        say(
            "all XYZ are zero: no light was read",
            "XYZ in cd/m2, tens to hundreds for the white",
            "look whether the instrument was on the screen, and whether the columns of XYZ are the right ones",
        )
        raise InputError(found)
    if len(drive) < LEAST_PATCHES:
        say(
            f"{len(drive)} different colours were read",
            f"at least {LEAST_PATCHES}; a good set has a ramp of 17 steps for each channel, 17 greys and some "
            "60 mixtures",
            "read more colours",
        )
    silent = [c for c in range(3) if drive[:, c].max() <= SAME_DRIVE]
    for c in silent:
        say(
            f"the {CHANNELS[c]} channel is 0 in every reading",
            "readings in which each channel is driven",
            f"read a ramp of {CHANNELS[c]}, or look whether its column is the right one",
            CHANNELS[c],
        )
    for c in range(3):
        levels = np.unique(np.round(drive[:, c] / SAME_DRIVE)).size
        if c not in silent and levels < LEAST_LEVELS:
            say(
                f"the {CHANNELS[c]} channel has {levels} different drives",
                f"at least {LEAST_LEVELS} steps for a tone curve; 17 are good",
                f"read a ramp of {CHANNELS[c]}",
                CHANNELS[c],
            )
    white = np.flatnonzero((drive >= 1.0 - SAME_DRIVE).all(axis=1))
    if not white.size:
        brightest = drive[np.argmax(drive.sum(axis=1))]
        say(
            f"no white: the highest reading is at drive {drive_name(brightest)}",
            "a reading of full white, drive 1 1 1",
            "read the white; look at the bit depth too: codes up to 235 are not full range",
        )
    elif not silent:
        found.extend(_light_problems(drive, xyz, xyz[white[0]], file))
    if not found and np.linalg.matrix_rank(np.column_stack([drive, np.ones(len(drive))]), tol=1e-3) < 4:
        say(
            "the channels never change apart from each other (greys only)",
            "colours in which each channel changes alone",
            "read a ramp of each channel",
        )
    if found:
        raise InputError(found)


def _light_problems(drive: Array, xyz: Array, white: Array, file: str | None) -> list[Problem]:
    found: list[Problem] = []
    black = np.flatnonzero((drive <= SAME_DRIVE).all(axis=1))
    if black.size and xyz[black[0], 1] >= white[1]:
        found.append(
            Problem(
                f"the black, {xyz[black[0], 1]:g} cd/m2, is not darker than the white, {white[1]:g} cd/m2",
                file,
                expected="light that rises with drive",
                mend="look whether the rows are in order and 0 is meant to be black",
            )
        )
        return found
    if white.min() <= 0:
        found.append(
            Problem(
                "the white has an X, Y or Z that is not above zero: " + " ".join(f"{v:g}" for v in white),
                file,
                expected="XYZ above zero",
                mend="look whether the columns are the right ones",
            )
        )
    floor = xyz[black[0]] if black.size else xyz[np.argmin(xyz[:, 1])]
    for c in range(3):
        others = [i for i in range(3) if i != c]
        alone = (drive[:, c] > 0.5) & (drive[:, others] <= SAME_DRIVE).all(axis=1)
        if alone.any() and (xyz[alone] - floor).max() <= 1e-4 * white[1]:
            found.append(
                Problem(
                    f"the {CHANNELS[c]} channel gives no light",
                    file,
                    field=CHANNELS[c],
                    expected="more light than black when the channel is driven",
                    mend=f"read {CHANNELS[c]} again, or look whether its rows are the right ones",
                )
            )
    return found
