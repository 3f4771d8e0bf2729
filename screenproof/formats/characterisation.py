"""Characterisations: samples with the tints that were printed, checked before a press is fitted to them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.formats._text import Problems
from screenproof.formats.detect import json_schema, read_samples
from screenproof.spectra import Array, Samples, light, observer, white_point

DISAGREE = 6.0
"""CIEDE2000 between two patches of the same tints from which on one of them is wrong, and not noise of print or
reading: neighbouring sheets of a run differ by 2 to 3 (common practice, no source). What is nearer is averaged."""

PRINT_LIGHT, PRINT_OBSERVER = "D50", "cie1931"
"""Light and observer of the print trade: ISO 13655."""

_SAME_TINT = 1e-4
_MOST_NAMED = 5


def read_characterisation(path: str | Path) -> Samples:
    """Samples with tints of 1 to 8 inks, 0..1, from a CSV, CGATS, CxF3 or JSON file.

    ``# channels: Cyan, Ember orange`` names the columns of tints where they have names of their own. A patch
    without a reading is left out with a note, as everywhere. What only the fit of a press can find (a ramp that
    goes back, a solid or the bare stock that is missing) is left to it.

    Raises InputError with every problem: no tints, RGB instead of inks, a channel that is the same in every
    patch, patches of the same tints that disagree (by how much is said), fewer patches than a press needs.
    """
    kind = json_schema(path)
    if kind.startswith("screenproof-press/"):
        raise bad(
            "this is a press, fitted already",
            file=path,
            expected="a characterisation: patches with their tints and readings",
            mend="use it as it is, or fit the file that it was made from",
        )
    samples = read_samples(path)
    file = samples.source or str(path)
    problems = Problems(file)
    if samples.device is None:
        problems.add(
            "no tints stand beside the readings",
            expected="one column for each ink: CMYK_C ..., 6CLR_1 ..., or names that '# channels:' states",
            mend="export the characterisation with its device values, or state '# channels: Cyan, Orange'",
        )
        problems.raise_any()
    assert samples.device is not None
    tints, channels = samples.device.values, samples.device.channels
    if channels == ("R", "G", "B"):
        problems.add(
            "drive values R, G, B, which are no inks",
            expected="tints of 1 to 8 inks",
            mend="fit readings of a display by 'display fit'",
        )
        problems.raise_any()
    for place, channel in enumerate(channels):
        values = tints[:, place]
        if np.ptp(values) <= _SAME_TINT:
            problems.add(
                f"{channel} is {100.0 * values[0]:g} % in every patch",
                field=channel,
                expected="patches with and without each ink",
                mend="leave the channel out" if values[0] <= _SAME_TINT else "add patches without this ink",
            )
    need = len(channels) + 1
    if len(samples) < need:
        problems.add(
            f"{len(samples)} patches for {len(channels)} channels",
            expected=f"the bare stock and each solid, {need} patches at the least, and ramps",
            mend="give the whole characterisation",
        )
    _disagreeing(samples, problems)
    problems.raise_any()
    return samples


def _disagreeing(samples: Samples, problems: Problems) -> None:
    """Two patches of the same tints that cannot both be right are a problem."""
    assert samples.device is not None
    codes = np.rint(samples.device.values / _SAME_TINT).astype(np.int64)
    order = np.lexsort(codes.T)
    same = (codes[order[1:]] == codes[order[:-1]]).all(axis=1)
    if not same.any():
        return
    lab = _lab(samples)
    group = np.concatenate([[0], np.cumsum(~same)])
    pairs = []
    for number in np.flatnonzero(np.bincount(group) > 1):
        rows = np.sort(order[group == number])
        apart = np.asarray(de2000(lab[rows][:, np.newaxis], lab[rows][np.newaxis]))
        a, b = np.unravel_index(int(apart.argmax()), apart.shape)
        if apart[a, b] > DISAGREE:
            pairs.append((float(apart[a, b]), int(rows[min(a, b)]), int(rows[max(a, b)])))
    pairs.sort(reverse=True)
    for apart_by, first, second in pairs[:_MOST_NAMED]:
        tints = ", ".join(
            f"{channel} {100.0 * tint:g}"
            for channel, tint in zip(samples.device.channels, samples.device.values[first], strict=True)
        )
        more = f"; so do {len(pairs) - _MOST_NAMED} more pairs" if len(pairs) > _MOST_NAMED else ""
        problems.add(
            f"{samples.names[first]} and {samples.names[second]} are both {tints} %, and differ by {apart_by:.1f} "
            f"CIEDE2000{more if (apart_by, first, second) == pairs[:_MOST_NAMED][-1] else ''}",
            field=samples.names[second],
            expected=f"patches of the same tints within {DISAGREE:g} CIEDE2000 of each other",
            mend="find which of the two was misread or mislabelled, and leave it out",
        )


def _lab(samples: Samples) -> Array:
    """CIELAB (n, 3) for D50 and the 2 degree observer, or for those of samples that are known by XYZ."""
    own = samples.colorimetry
    names = (PRINT_LIGHT, PRINT_OBSERVER)
    if not samples.is_spectral and own is not None:
        names = (own.light, own.observer)
    under, eye = light(names[0]), observer(names[1])
    return xyz_to_lab(samples.xyz([under], [eye])[:, 0, 0], white_point(under, eye))


def with_channels(samples: Samples, channels: tuple[str, ...]) -> Samples:
    """The samples with only some of their channels, and only the patches that print no other.

    Raises InputError for a channel that they do not have, or when nothing is left.
    """
    assert samples.device is not None
    own, file = samples.device.channels, samples.source or ""
    problems = Problems(file)
    for channel in channels:
        if channel not in own:
            problems.add(f"no channel is called {channel!r}", field="channels", expected=f"of {', '.join(own)}")
    problems.raise_any()
    kept = [own.index(channel) for channel in channels]
    others = [i for i in range(len(own)) if i not in kept]
    rows = np.flatnonzero(samples.device.values[:, others].max(axis=1, initial=0.0) <= _SAME_TINT)
    chosen = samples.select(rows.tolist())
    assert chosen.device is not None
    device = replace(chosen.device, channels=channels, values=chosen.device.values[:, kept])
    note = Note("info", f"{len(rows)} of {len(samples)} patches print {', '.join(channels)} alone", file=file)
    return replace(chosen, device=device, notes=(*samples.notes, note))
