"""A characterisation as a press fit wants it: checked, its double patches averaged, colours told apart."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import Array, Grid, Samples, light, observer, weights, white_point
from screenproof.subtractive.halftone import DARKEST
from screenproof.subtractive.press import MOST_CHANNELS, PRINT_LIGHT, PRINT_OBSERVER
from screenproof.subtractive.press_curves import only_channel
from screenproof.subtractive.press_grids import STEPS, codes_of
from screenproof.subtractive.press_nodes import ChartPatches

DOUBLE_DIFFERS = 1.0
"""Patches of the same tints that differ by more than this (CIEDE2000) are odd."""

SHOWS = 0.3
"""An ink whose solid differs from the bare stock by less than this (CIEDE2000) cannot be told from it."""

_MOST_NAMED = 5


@dataclass(frozen=True, eq=False)
class Chart:
    """Patches with what is needed to tell their colours apart.

    patches: tints (n, c) and values (n, w) on the scale where 1 is white. matrix: (w, 3) from values to XYZ with
    Y = 100 for the perfect diffuser, whose XYZ is ``white``, for ``light`` and ``observer``.
    """

    channels: tuple[str, ...]
    names: tuple[str, ...]
    patches: ChartPatches
    matrix: Array
    white: Array
    light: str
    observer: str
    grid: Grid | None
    file: str | None

    def select(self, chosen: NDArray[np.bool_]) -> Chart:
        """The chosen (n,) patches only."""
        kept = tuple(name for name, keep in zip(self.names, chosen, strict=True) if keep)
        return replace(self, names=kept, patches=self.patches.select(chosen))

    def lab(self, values: Array) -> Array:
        """CIELAB (m, 3) of values (m, w)."""
        return xyz_to_lab(values @ self.matrix, self.white)

    @property
    def inks(self) -> NDArray[np.intp]:
        """How many inks each patch has."""
        return np.asarray((self.patches.device > 0.0).sum(axis=1))

    @property
    def solid(self) -> NDArray[np.bool_]:
        """Stock, solids and overprints of solids: without these there is no model."""
        device = self.patches.device
        return np.asarray(((device == 0.0) | (device == 1.0)).all(axis=1))


def read_chart(samples: Samples) -> tuple[Chart, tuple[Note, ...]]:
    """The tints and values of samples, checked; every problem in one InputError."""
    file = samples.source or None
    if samples.device is None:
        raise bad(
            "no tints stand beside the readings",
            file=file,
            expected="one column for each channel (CMYK_C ..., or spot names), 0 to 100",
            mend="export the characterisation with its device values",
        )
    device, channels = np.array(samples.device.values), samples.device.channels
    problems: list[Problem] = []

    def wrong(what: str, expected: str, mend: str | None = None, field: str | None = None) -> None:
        problems.append(Problem(what, file, None, field, expected, mend))

    if not 1 <= len(channels) <= MOST_CHANNELS:
        wrong(
            f"{len(channels)} channels", f"1 to {MOST_CHANNELS} channels", "leave out the inks that are not in use"
        )
    for channel in sorted({c for c in channels if channels.count(c) > 1}):
        wrong(f"the channel {channel} stands twice", "unlike names of channels", field=channel)
    outside = ~((device >= 0.0) & (device <= 1.0))
    for row, channel in np.argwhere(outside)[:_MOST_NAMED]:
        wrong(
            f"{samples.names[row]}: a tint of {device[row, channel]:g}",
            "tints from 0 to 1 (0 to 100 %)",
            "state the unit of the tints",
            channels[channel],
        )
    spectral = samples.reflectance is not None and samples.grid is not None
    if samples.reflectance is not None and samples.grid is not None:
        values = np.array(samples.reflectance)
        seen = (PRINT_LIGHT, PRINT_OBSERVER)
        matrix = np.array(weights(light(seen[0]), observer(seen[1]), samples.grid))
        odd, what = (~np.isfinite(values) | (values > 1.5)).any(axis=1), "a reflectance above 1.5, or missing"
    else:
        assert samples.colorimetry is not None
        values = samples.colorimetry.xyz / 100.0
        seen = (samples.colorimetry.light, samples.colorimetry.observer)
        matrix = 100.0 * np.eye(3)
        odd, what = (~np.isfinite(values) | (values > 1.5)).any(axis=1), "an XYZ above 150, or missing"
    for row in np.flatnonzero(odd)[:_MOST_NAMED]:
        wrong(
            f"{samples.names[row]}: {what}",
            "fractions of the perfect diffuser",
            "look at the unit of the readings",
        )
    if problems:
        raise InputError(problems)
    notes = []
    dark = (values < DARKEST).any(axis=1)
    if dark.any():
        notes.append(
            Note(
                "odd",
                f"{int(dark.sum())} patches, among them {samples.names[int(dark.argmax())]}, reflect nothing or "
                f"less in some band; {DARKEST:g} of white is taken there",
                file=file,
                mend="measure again with a black trap for zero" if spectral else None,
            )
        )
    white = np.array(white_point(light(seen[0]), observer(seen[1])))
    patches = ChartPatches(np.rint(device * STEPS) / STEPS, np.maximum(values, DARKEST))
    return Chart(channels, samples.names, patches, matrix, white, *seen, samples.grid, file), tuple(notes)


def averaged(chart: Chart) -> tuple[Chart, tuple[Note, ...]]:
    """Patches of the same tints as their mean, the first's name; and a note on how much they disagree."""
    codes, first, group = np.unique(codes_of(chart.patches.device), axis=0, return_index=True, return_inverse=True)
    group, count = group.ravel(), np.bincount(group.ravel())
    if count.max() == 1:
        return chart, ()
    mean = np.zeros((len(codes), chart.patches.values.shape[1]))
    np.add.at(mean, group, chart.patches.values)
    mean /= count[:, None]
    lab = chart.lab(chart.patches.values)
    apart = np.asarray(de2000(lab, lab[first][group]))
    order = np.argsort(first)
    worst = int(apart.argmax())
    others = [chart.names[i] for i in np.flatnonzero(group == group[worst])]
    tints = ", ".join(
        f"{channel} {100 * tint:g}"
        for channel, tint in zip(chart.channels, chart.patches.device[worst], strict=True)
    )
    differ = float(apart.max())
    note = Note(
        "odd" if differ > DOUBLE_DIFFERS else "info",
        f"{int((count > 1).sum())} combinations of tints were measured more than once and are averaged; their "
        f"readings differ by up to {differ:.2f} CIEDE2000"
        + (f" ({', '.join(others[:4])} at {tints} %)" if differ >= 0.005 else ""),
        file=chart.file,
        mend="measure these patches again" if differ > DOUBLE_DIFFERS else None,
    )
    names = tuple(chart.names[i] for i in first[order])
    patches = ChartPatches(chart.patches.device[first[order]], mean[order])
    return replace(chart, names=names, patches=patches), (note,)


def check_complete(chart: Chart) -> None:
    """InputError unless there is the bare stock, and the solid of every channel alone, which shows."""
    device, lab = chart.patches.device, chart.lab(chart.patches.values)
    bare = (device == 0.0).all(axis=1)
    problems = []
    if not bare.any():
        problems.append(
            Problem(
                "no patch of the bare stock",
                chart.file,
                expected="a patch with every tint 0",
                mend="measure the unprinted stock and add it",
            )
        )
    for channel, name in enumerate(chart.channels):
        alone = only_channel(device, channel)
        most = device[alone, channel].max(initial=0.0)
        solid = alone & (device[:, channel] == 1.0)
        if not solid.any():
            problems.append(
                Problem(
                    f"no solid of {name}" + (f": its ramp ends at {100 * most:g} %" if most > 0 else ""),
                    chart.file,
                    field=name,
                    expected=f"a patch with {name} at 100 % and every other tint 0",
                    mend="measure it, or leave the channel out",
                )
            )
        elif bare.any() and de2000(lab[bare][0], lab[solid][0]) < SHOWS:
            problems.append(
                Problem(
                    f"the solid of {name} ({chart.names[int(solid.argmax())]}) has the colour of the bare stock",
                    chart.file,
                    field=name,
                    expected="an ink that shows on the stock",
                    mend="look whether the channel was printed, and whether its name is right",
                )
            )
    if problems:
        raise InputError(problems)
