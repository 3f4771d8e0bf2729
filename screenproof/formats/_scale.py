"""The scale of the numbers in a file: stated, or told from the numbers and said."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from screenproof.errors import Note
from screenproof.formats._stated import DEFAULT_LIGHT, DEFAULT_OBSERVER, Stated, known_light, known_observer
from screenproof.formats._text import Problems
from screenproof.spectra import Array, light, observer, white_point

PERCENT_ABOVE = 2.0
"""A reflectance factor above this is a percentage: the strongest fluorescence stays well below."""

NEVER_ABOVE = 400.0
"""No surface reflects 400 %: a larger reading is a slip of the decimal mark or of a column."""

HIGHEST_XYZ = 400.0
"""No surface has a larger tristimulus value, be it fluorescent."""

TWO_SOURCES_DIFFER = 1.0
"""CIELAB units past which XYZ and Lab of one file do not tell the same colour: rounding stays below."""


def reflectance_scale(
    values: Array,
    field_unit: str | None,
    stated_unit: str | None,
    names: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
    notes: list[Note],
) -> float:
    """1 for fractions, 100 for percent. ``values`` (n, w) as they stand in the file.

    The unit is that of the field names (DEC, PCT), else the stated one, else told from the highest readings
    and said. A unit that the numbers contradict is a problem.
    """
    for i in np.flatnonzero(np.abs(values).max(axis=1) > NEVER_ABOVE).tolist():
        worst = values[i, int(np.argmax(np.abs(values[i])))]
        problems.add(
            f"a reading of {worst:.6g}",
            line=lines[i],
            field=names[i],
            expected="a reflectance from 0 to about 1, or 0 to about 100 percent",
            mend="check the decimal mark and the columns",
        )
    if field_unit and stated_unit and field_unit != stated_unit:
        problems.add(
            f"the unit is stated as {stated_unit}, but the field names say {field_unit}",
            expected="one unit",
            mend="remove one of the two statements",
        )
    if problems:
        return 1.0
    unit = field_unit or stated_unit
    highest = values.max(axis=1)
    if unit is None:
        unit = _told_unit(highest, names, lines, problems, notes)
    else:
        _check_unit(unit, highest, names, lines, problems, notes)
    return 100.0 if unit == "percent" else 1.0


def _check_unit(
    unit: str,
    highest: Array,
    names: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
    notes: list[Note],
) -> None:
    """Hold a stated unit against the highest reading (n,) of each sample."""
    top = int(np.argmax(highest))
    if unit == "fraction" and highest[top] > PERCENT_ABOVE:
        problems.add(
            f"the unit is stated as fraction, but readings go up to {highest[top]:.4g}",
            line=lines[top],
            field=names[top],
            expected="reflectance factors, 1 for the perfect diffuser",
            mend="state '# unit: percent' if they are percentages",
        )
    elif unit == "percent" and 0 < highest[top] <= 1.0:
        problems.add(
            f"the unit is stated as percent, but no reading is above {highest[top]:.4g}",
            line=lines[top],
            expected="percentages, 100 for the perfect diffuser",
            mend="state '# unit: fraction'; samples that are all darker than 1 percent must be given as fractions",
        )
    elif unit == "percent":
        for i in np.flatnonzero((highest <= 1.0) & (highest > 0)).tolist():
            notes.append(
                Note(
                    "odd",
                    f"no reading is above {highest[i]:.4g} percent: is it a fraction among percentages?",
                    about=names[i],
                    file=problems.file,
                    line=lines[i] or None,
                )
            )


def _told_unit(
    highest: Array, names: Sequence[str], lines: Sequence[int], problems: Problems, notes: list[Note]
) -> str:
    """The unit told from the highest reading (n,) of each sample, and said; a mixture is a problem."""
    high: list[int] = np.flatnonzero(highest > PERCENT_ABOVE).tolist()
    low: list[int] = np.flatnonzero(highest <= 1.0).tolist()
    few, many = (low, high) if len(low) < len(high) else (high, low)
    if high and low:
        for i in few:
            problems.add(
                f"readings up to {highest[i]:.4g} beside samples up to {highest[many[0]]:.4g}: "
                "percent among fractions?",
                line=lines[i],
                field=names[i],
                expected="one unit for all samples",
                mend="convert these rows, or state '# unit: percent' or '# unit: fraction'",
            )
        return "fraction"
    unit = "percent" if high else "fraction"
    notes.append(
        Note(
            "assumed",
            f"no unit is stated; readings up to {highest.max():.4g} are taken for "
            + ("percent" if high else "fractions"),
            file=problems.file,
            mend=f"state '# unit: {unit}'",
        )
    )
    return unit


def xyz_values(
    given: dict[str, Array],
    stated: Stated,
    names: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
    notes: list[Note],
) -> tuple[Array, str, str]:
    """XYZ (n, 3), Y = 100 for the perfect diffuser, with the light and the observer that they hold for.

    ``given`` holds (n, 3) by space: lab, xyz, xyy or lch. With several, Lab is taken, which files print with
    more digits where a sample is dark, and a contradiction between them is said.
    """
    from screenproof.appearance import lab_to_xyz, xyz_to_lab

    silent = [what for what in ("light", "observer") if getattr(stated, what) is None]
    light_name = known_light(stated.light, problems) or DEFAULT_LIGHT
    observer_name = known_observer(stated.observer, problems) or DEFAULT_OBSERVER
    if silent:
        taken = {"light": light_name, "observer": observer_name}
        notes.append(
            Note(
                "assumed",
                f"{' and '.join(silent)} of the XYZ or Lab values not stated; taken: "
                + ", ".join(f"{what} {taken[what]}" for what in silent),
                file=problems.file,
                mend="; ".join(f"state '{what}: {taken[what]}'" for what in silent),
            )
        )
    white = white_point(light(light_name), observer(observer_name))
    lab = given.get("lab")
    if lab is None and "lch" in given:
        lightness, chroma, hue = given["lch"].T
        radians = np.deg2rad(hue)
        lab = np.stack([lightness, chroma * np.cos(radians), chroma * np.sin(radians)], axis=1)
    if lab is not None:
        _check_lab(lab, names, lines, problems)
    for space in ("xyz", "xyy"):
        if space in given:
            _check_xyz(given[space], names, lines, problems)
    if problems:
        return np.zeros((len(names), 3)), light_name, observer_name
    made: dict[str, Array] = {}
    if lab is not None:
        made["Lab" if "lab" in given else "LCh"] = np.asarray(lab_to_xyz(lab, white))
    if "xyz" in given:
        made["XYZ"] = _hundred(given["xyz"], 1, stated.xyz_scale, lines, problems)
    if "xyy" in given:
        made["xyY"] = _from_xyy(given["xyy"], stated.xyz_scale, names, lines, problems)
    space = next(iter(made))
    xyz = made[space]
    if problems:
        return xyz, light_name, observer_name
    for other, values in made.items():
        if other == space:
            continue
        apart = np.linalg.norm(xyz_to_lab(values, white) - xyz_to_lab(xyz, white), axis=1)
        worst = int(np.argmax(apart))
        if apart[worst] > TWO_SOURCES_DIFFER:
            notes.append(
                Note(
                    "odd",
                    f"{other} and {space} differ by up to {apart[worst]:.2f} CIELAB units "
                    f"(mean {apart.mean():.2f}) under {light_name}, {observer_name}; {space} is used",
                    about=names[worst],
                    file=problems.file,
                    line=lines[worst] or None,
                    mend="check the light and observer that the file states",
                )
            )
        else:
            notes.append(Note("info", f"both {space} and {other} are given; {space} is used", file=problems.file))
    return xyz, light_name, observer_name


def _check_lab(lab: Array, names: Sequence[str], lines: Sequence[int], problems: Problems) -> None:
    wrong = (lab[:, 0] < -0.5) | (lab[:, 0] > 130.0) | (np.abs(lab[:, 1:]).max(axis=1) > 250.0)
    for i in np.flatnonzero(wrong).tolist():
        problems.add(
            "L* a* b* of " + " ".join(f"{value:.6g}" for value in lab[i]),
            line=lines[i],
            field=names[i],
            expected="L* from 0 to 100, a* and b* from about -150 to 150",
            mend="check the columns and the decimal mark",
        )


def _check_xyz(xyz: Array, names: Sequence[str], lines: Sequence[int], problems: Problems) -> None:
    for i in np.flatnonzero(np.abs(xyz).max(axis=1) > HIGHEST_XYZ).tolist():
        problems.add(
            f"a tristimulus value of {np.abs(xyz[i]).max():.6g}",
            line=lines[i],
            field=names[i],
            expected="values on the scale where the perfect diffuser has Y = 100",
            mend="check the columns and the decimal mark; absolute values belong to a display",
        )


def _hundred(values: Array, bright: int, stated: float | None, lines: Sequence[int], problems: Problems) -> Array:
    """``values`` with their scale carried to Y = 100. ``bright`` is the column of Y."""
    highest = float(values[:, bright].max())
    if stated is not None:
        return np.asarray(values * (100.0 / stated))
    if highest <= 1.2:
        problems.add(
            f"no Y is above {highest:.4g}",
            line=lines[int(np.argmax(values[:, bright]))],
            expected="tristimulus values on the scale where the perfect diffuser has Y = 100",
            mend="state '# xyz_scale: 1' if the perfect diffuser has Y = 1, or '# xyz_scale: 100' if not",
        )
    return values


def _from_xyy(
    values: Array,
    stated: float | None,
    names: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
) -> Array:
    x, y, bright = _hundred(values, 2, stated, lines, problems).T
    if stated is not None:
        x, y = values[:, 0], values[:, 1]
    for i in np.flatnonzero((y <= 0) | (x + y > 1.0001) | (x < 0)).tolist():
        problems.add(
            f"chromaticity x = {x[i]:.4g}, y = {y[i]:.4g}",
            line=lines[i],
            field=names[i],
            expected="x and y above 0, together at most 1",
        )
    safe = np.where(y > 0, y, 1.0)
    return np.stack([x * bright / safe, bright, (1.0 - x - y) * bright / safe], axis=1)


def device_values(
    values: Array,
    channels: tuple[str, ...],
    stated: float | None,
    names: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
    notes: list[Note],
) -> Array:
    """Device values (n, c) in 0..1. Tints are percent, as the standard has it; RGB is 0..255, 0..100 or 0..1.

    The scale that was told from the numbers is said.
    """
    highest = float(values.max())
    scale = stated
    what = ", ".join(channels)
    if scale is None and channels != ("R", "G", "B"):
        scale = 100.0
        if highest <= 1.0:
            notes.append(
                Note(
                    "odd",
                    f"tints ({what}) are percent, but none is above {highest:g}",
                    file=problems.file,
                    mend="state 'device_scale: 1' if they are fractions",
                )
            )
    elif scale is None:
        if highest <= 1.0:
            scale = 1.0
        elif highest > 100.0 or (highest < 100.0 and bool(np.all(values == np.round(values)))):
            scale = 255.0
        else:
            scale = 100.0
        notes.append(
            Note(
                "assumed",
                f"RGB values up to {highest:g} are taken on a scale of 0 to {scale:g}",
                file=problems.file,
                mend=f"state 'device_scale: {scale:g}'",
            )
        )
    wrong = (values < -1e-6 * scale) | (values > scale * (1 + 1e-6))
    for i in np.flatnonzero(wrong.any(axis=1)).tolist():
        worst = values[i, int(np.argmax(wrong[i]))]
        problems.add(
            f"a device value of {worst:g} on a scale of 0 to {scale:g}",
            line=lines[i],
            field=names[i],
            expected=f"0 to {scale:g}",
            mend="correct it, or state 'device_scale'",
        )
    return np.asarray(np.clip(values / scale, 0.0, 1.0))
