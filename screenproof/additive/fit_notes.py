"""What is said of readings beside the fit: slips, what was not read, channels that do not add or are swapped."""

from __future__ import annotations

from itertools import permutations

import numpy as np
from scipy.spatial.distance import cdist

from screenproof.additive.additivity import AdditivityFailure, IndependenceFailure
from screenproof.additive.patches import CHANNELS, LEAST_PATCHES, Patches
from screenproof.additive.readings import drive_name
from screenproof.appearance import de2000, xyz_to_lab, xyz_to_uv, xyz_to_xy
from screenproof.errors import Note
from screenproof.spectra import Array

LEAST_MIXTURES = 16
"""Mixtures of unlike drives from which a table can be told; a cube of 3 x 3 x 3 drives has 18."""

# No colour may be farther than this, in drive, from the nearest reading. The full cyan lies 0.54 from a ramp that
# is read with cyan, magenta and yellow, 0.82 without; with 0.54 no table ran away in trials, with 0.82 most did.
_WIDEST_HOLE = 0.6
_UNLIKE = 0.05
_LATTICE = 5

# The primaries failing to add up to the white by more is said.
_ADDS_PERCENT, _ADDS_DE00 = 5.0, 3.0
# Without mixtures, less is said: it is all that is known of how channels go together. In CIEDE2000, beyond
# so many times what repeats differ by, or may differ by where none were read.
_ALONE_DE00, _ALONE_REPEATS, _ASSUMED_REPEATS = 0.5, 3.0, 0.5

# Hues in CIE 1976 u'v' about the white, in degrees, of the primaries of IEC 61966-2-1:1999.
_HUES = np.array([12.2, 127.7, 265.8])

# A reading is called a slip when it is off by this much, by as many usual errors, and beyond what repeats do.
_SLIP_DE00 = 5.0
_SLIP_USUAL, _SLIP_REPEATS = 10.0, 5.0
# ... and the model that saw it misses it too: a steep end of a ramp is hard to tell without its last step.
_SLIP_FITTED = 0.25
_SLIP_LEAST_HELD = 30
# Readings of one patch that differ by more are of a display that changes, or of something else.
_STEADY_PERCENT = 2.0


def slips(error: Array, fitted: Array, patches: Patches, source: str | None) -> list[Note]:
    """Patches that the others contradict: a slip in reading, a wrong row, a reflection."""
    if np.isfinite(error).sum() < _SLIP_LEAST_HELD:
        return []
    usual = float(np.nanmedian(error))
    repeats = 0.0 if patches.repeatability is None else patches.repeatability.de00
    least = max(_SLIP_DE00, _SLIP_USUAL * usual, _SLIP_REPEATS * repeats)
    left = de2000(xyz_to_lab(fitted, patches.white), xyz_to_lab(patches.xyz, patches.white))
    # White, black and the full primaries are never held out: of them, what the fit itself leaves counts.
    error = np.where(np.isfinite(error), error, left)
    far = np.flatnonzero((error > least) & (left > _SLIP_FITTED * least))
    if not far.size:
        return []
    far = far[np.argsort(-error[far])]
    listed = "; ".join(
        f"{patches.names[i]} (drive {drive_name(patches.drive[i])}) by {error[i]:.1f}" for i in far[:6]
    )
    more = f"; and {far.size - 6} more" if far.size > 6 else ""
    return [
        Note(
            "odd",
            f"readings that the others contradict, in CIEDE2000 (usual {usual:.2f}): {listed}{more}",
            file=source,
            mend="read these patches again",
        )
    ]


def silences(patches: Patches, source: str | None) -> list[Note]:
    """What was not read, and what that costs."""
    notes = []
    if patches.at((0.0, 0.0, 0.0)) is None:
        notes.append(
            Note("assumed", "no black was read: told from the darkest steps", file=source, mend="read drive 0")
        )
    missing = [CHANNELS[c] for c in range(3) if patches.at(_unit(c)) is None]
    if missing:
        notes.append(
            Note(
                "assumed",
                f"full {', '.join(missing)} alone was not read: the failure of additivity is not told",
                file=source,
                mend="read the three primaries at full drive",
            )
        )
    if patches.repeatability is None:
        notes.append(
            Note(
                "assumed",
                "nothing was read twice: how repeatable the readings are is not known",
                file=source,
                mend="read white and a grey three times",
            )
        )
    elif patches.repeatability.percent > _STEADY_PERCENT:
        notes.append(
            Note(
                "odd",
                f"readings of the same patch differ by {patches.repeatability.percent:.1f} % in luminance",
                file=source,
                mend="let the display warm up, and switch off what dims it by itself",
            )
        )
    held = int((~patches.anchors).sum())
    if held < LEAST_PATCHES:
        vague = f"only {held} patches could be held out: the errors told are vague"
        notes.append(Note("caution", vague, file=source, mend="read more colours"))
    return notes


def _unit(channel: int) -> tuple[float, float, float]:
    return float(channel == 0), float(channel == 1), float(channel == 2)


def unread_mixtures(patches: Patches) -> str | None:
    """What is missing in the readings for a table; None when nothing is.

    On ramps and greys alone a correction to the colours between is not determined: whatever it is there, it
    fits. So many mixtures are needed, and no part of the cube may be far from all readings.
    """
    drive = patches.drive
    unlike = (np.sort(drive, axis=1)[:, 1] > _UNLIKE) & (np.ptp(drive, axis=1) > _UNLIKE)
    count = int(unlike.sum())
    if count < LEAST_MIXTURES:
        return f"{count or 'no'} mixtures of unlike drives were read, of {LEAST_MIXTURES} needed for a table"
    axis = np.linspace(0.0, 1.0, _LATTICE)
    lattice = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    apart = cdist(lattice, drive).min(axis=1)
    if apart.max() > _WIDEST_HOLE:
        return f"nothing was read near drive {drive_name(lattice[int(np.argmax(apart))])}, as a table needs"
    return None


def adding_notes(
    adding: AdditivityFailure | None,
    independence: IndependenceFailure | None,
    patches: Patches,
    unread: str | None,
    source: str | None,
) -> list[Note]:
    """That channels do not add up though a matrix is used; with what is missing for a table where it is known."""
    repeats = _ASSUMED_REPEATS if patches.repeatability is None else patches.repeatability.de00
    seen = []
    least = _ALONE_DE00 + _ALONE_REPEATS * repeats
    gross = adding is not None and (abs(adding.luminance_percent) > _ADDS_PERCENT or adding.de00 > _ADDS_DE00)
    if adding is not None and (gross or adding.de00 > least):
        more = "more" if adding.luminance_percent > 0 else "less"
        seen.append(
            f"the full primaries together give {abs(adding.luminance_percent):.1f} % {more} luminance than the "
            f"white, {adding.de00:.2f} CIEDE2000 from it"
        )
    if independence is not None and independence.mean > least:
        seen.append(
            f"greys and mixtures are {independence.mean:.2f} CIEDE2000 from what the ramps of the single channels "
            f"tell, {independence.max:.2f} at most ({independence.worst})"
        )
    if not seen or (unread is None and not gross):
        return []
    said = "the channels do not add up: " + "; ".join(seen)
    again = "read white and the full primaries again, in case one of them is a slip"
    if unread is None:
        return [Note("odd", said + "; a matrix is used all the same", file=source, mend=again)]
    return [
        Note(
            "odd",
            f"{said}; {unread}: a matrix is used, and how far mixtures are from it is not known",
            file=source,
            mend=f"{again}; for a table read the full cyan, magenta and yellow and 20 mixtures or more all over "
            "the cube, or a set of 4 x 4 x 4 drives",
        )
    ]


def hue_notes(matrix: Array, white: Array, source: str | None) -> list[Note]:
    """That the channels are not red, green and blue in this order. matrix: (3, 3), XYZ of each in a column."""
    primaries = matrix.T
    away = xyz_to_uv(primaries) - xyz_to_uv(white)
    hue = np.degrees(np.arctan2(away[:, 1], away[:, 0]))
    turn = np.abs((hue[:, None] - _HUES + 180.0) % 360.0 - 180.0)
    order = min(permutations(range(3)), key=lambda p: float(turn[range(3), p].sum()))
    if order == (0, 1, 2):
        return []
    xy = xyz_to_xy(primaries)
    listed = "; ".join(
        f"{CHANNELS[c]} gives {CHANNELS[order[c]]} light, x y {xy[c, 0]:.4f} {xy[c, 1]:.4f}"
        for c in range(3)
        if order[c] != c
    )
    return [
        Note(
            "odd",
            f"the channels are not red, green and blue in this order: {listed}",
            file=source,
            mend="look whether the columns of drive values are in order, and of X, Y and Z",
        )
    ]
