"""Rows of cells to :class:`~screenproof.spectra.Samples`, for every text format alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from screenproof.errors import InputError, Note
from screenproof.formats._doubt import NOTHING_SAID, RowDoubt, check_rows, doubt_from
from screenproof.formats._fields import Fields
from screenproof.formats._names import unique_names
from screenproof.formats._repeats import Readers, average
from screenproof.formats._scale import TWO_SOURCES_DIFFER, device_values, reflectance_scale, xyz_values
from screenproof.formats._stated import Stated
from screenproof.formats._text import Problems, number
from screenproof.spectra import (
    Array,
    Colorimetry,
    Device,
    Grid,
    Samples,
    check_plausible,
    light,
    observer,
    white_point,
)

Where = Callable[[int, int], tuple[int, str]]
"""Line and name of the column of a cell, from its row and column in a block."""


@dataclass
class Sheet:
    """A table of a file: one row per sample, with the line on which it stands."""

    file: str
    fields: Fields
    header_line: int
    rows: list[tuple[int, list[str]]]
    comma: bool = False
    notes: list[Note] = field(default_factory=list)


def numbers(cells: Sequence[Sequence[str]], where: Where, problems: Problems, *, comma: bool = False) -> Array:
    """A block of cells as numbers (n, m). Every cell that is none is a problem of its own and becomes NaN."""
    if not comma:
        try:
            block = np.array(cells, dtype=np.float64)
            # Python reads 1_000 as a number, which no measuring device writes.
            if np.all(np.isfinite(block)) and not any("_" in "".join(row) for row in cells):
                return block
        except ValueError:
            pass
    block = np.full((len(cells), len(cells[0]) if cells else 0), np.nan)
    for i, row in enumerate(cells):
        for j, cell in enumerate(row):
            value = number(cell, comma=comma)
            if value is not None:
                block[i, j] = value
                continue
            line, column = where(i, j)
            text = cell.strip()
            if not text:
                what, mend = "an empty cell", "fill it in, or remove the sample"
            elif number(text, comma=not comma) is not None:
                what = f"{text!r} has a decimal {'point' if comma else 'comma'} unlike the others"
                mend = "use one decimal mark in the whole file"
            elif text.lower().lstrip("+-") in ("nan", "inf", "infinity", "n/a", "na", "null", "none", "#n/a"):
                what, mend = f"{text!r} is no reading", "measure it again, or remove the sample"
            else:
                what, mend = f"{text!r} is no number", "correct the cell, or remove the sample"
            problems.add(what, line=line, field=column, expected="a number", mend=mend)
    return block


def samples_of(sheet: Sheet, stated: Stated, problems: Problems) -> Samples:
    """The samples of a sheet with one row each. Raises InputError with every problem of the file."""
    fields = sheet.fields
    if not (fields.is_spectral or fields.is_colorimetric):
        problems.add(
            "no column holds reflectances, XYZ or Lab; columns are "
            + ", ".join(fields.names[:12])
            + (", ..." if len(fields.names) > 12 else ""),
            line=sheet.header_line,
            expected="wavelengths as column names (400, nm400, SPECTRAL_NM_400 ...), or XYZ_X XYZ_Y XYZ_Z, "
            "or LAB_L LAB_A LAB_B",
            mend="rename the columns so",
        )
        problems.raise_any()
    rows = _measured_rows(sheet)
    if not rows:
        problems.add(
            "no row holds a sample",
            line=sheet.header_line,
            expected="at least one row below the column names",
        )
        problems.raise_any()
    lines = [line for line, _ in rows]
    if fields.name is None and fields.identifier is None:
        sheet.notes.append(
            Note(
                "assumed",
                "no column holds names: the samples are called by their row, 1, 2, 3 ...",
                file=sheet.file,
                line=sheet.header_line,
                mend="add a column 'name'",
            )
        )
    labels, identifiers = (
        [] if column is None else [cells[column].strip() for _, cells in rows]
        for column in (fields.name, fields.identifier)
    )
    named = unique_names(
        labels,
        identifiers,
        lines,
        lambda i: [cell.strip() for c, cell in enumerate(rows[i][1]) if c != fields.identifier],
        problems,
        sheet.notes,
        repeats=stated.repeats,
    )
    rows = [rows[i] for i in named.rows]
    lines = [line for line, _ in rows]

    def block(columns: Sequence[int]) -> Array:
        return numbers(
            [[cells[c] for c in columns] for _, cells in rows],
            lambda i, j: (lines[i], fields.names[columns[j]]),
            problems,
            comma=sheet.comma,
        )

    grid, reflectance = _spectra(sheet, rows, block, problems)
    colorimetric = {
        space: block(columns)
        for space in ("xyz", "lab", "xyy", "lch")
        if (columns := getattr(fields, space)) is not None
    }
    device = block(fields.device) if fields.device else None
    readers = Readers(named.names, named.groups, lines)
    return finish(
        file=sheet.file,
        readers=readers,
        grid=grid,
        reflectance=reflectance,
        unit=fields.unit,
        colorimetric=colorimetric,
        channels=fields.channels,
        device=device,
        stated=stated,
        problems=problems,
        notes=sheet.notes,
        rows=_row_doubt(sheet, rows, problems),
    )


def _row_doubt(sheet: Sheet, rows: list[tuple[int, list[str]]], problems: Problems) -> RowDoubt:
    """What columns say of the doubt of each row. An empty number of readings is the file's own (NaN)."""
    found: dict[str, Array] = {}
    for key in ("readings", "repeatability"):
        column = getattr(sheet.fields, key)
        if column is None:
            continue
        told = [i for i, (_, cells) in enumerate(rows) if cells[column].strip() or key == "repeatability"]
        values = np.full(len(rows), np.nan)
        if told:
            cells = [[rows[i][1][column]] for i in told]
            where = [(rows[i][0], sheet.fields.names[column]) for i in told]
            values[told] = numbers(cells, lambda i, j: where[i], problems, comma=sheet.comma)[:, 0]  # noqa: B023
        found[key] = values
    return RowDoubt(**found)


def finish(
    *,
    file: str,
    readers: Readers,
    grid: Grid | None,
    reflectance: Array | None,
    unit: str | None,
    colorimetric: dict[str, Array],
    channels: tuple[str, ...],
    device: Array | None,
    stated: Stated,
    problems: Problems,
    notes: list[Note],
    rows: RowDoubt = NOTHING_SAID,
) -> Samples:
    """Scale the numbers, average repeated readings, check and make the samples, or raise every problem found.

    Arrays have one row per reading; ``readers`` says which are readings of one sample.
    """
    names, lines = readers.row_names, readers.lines
    scale = 1.0
    if reflectance is not None and not problems:
        scale = reflectance_scale(reflectance, unit, stated.unit, names, lines, problems, notes)
        reflectance = reflectance / scale if scale != 1.0 else reflectance
    colorimetry = None
    if colorimetric and not problems:
        # Beside spectra, XYZ and Lab are a second opinion: what is wrong with them does not stop the work.
        trouble = Problems(file) if reflectance is not None else problems
        if reflectance is not None and (stated.light is None or stated.observer is None):
            trouble.add("their light and observer are not stated")
        else:
            xyz, light_name, observer_name = xyz_values(colorimetric, stated, names, lines, trouble, notes)
            colorimetry = Colorimetry(xyz, light_name, observer_name)
        if reflectance is not None and trouble:
            colorimetry = None
            what = trouble.found[0].what
            notes.append(Note("info", f"XYZ or Lab beside the spectra are not used: {what}", file=file))
    made = None
    if len(stated.device_channels) == len(channels):
        channels = stated.device_channels
    if device is not None and not problems:
        made = Device(
            channels, device_values(device, channels, stated.device_scale, names, lines, problems, notes)
        )
    check_rows(rows, names, lines, problems)
    problems.raise_any()
    standard = None if colorimetry is None else (colorimetry.light, colorimetry.observer)
    merged = average(
        readers,
        grid,
        reflectance,
        None if colorimetry is None else colorimetry.xyz,
        None if made is None else made.values,
        rows,
        standard,
        stated.doubt.readings,
        problems,
        notes,
    )
    spectral = reflectance is not None
    if colorimetry is not None and merged.xyz is not None:
        colorimetry = replace(colorimetry, xyz=merged.xyz)
    if made is not None and merged.device is not None:
        made = replace(made, values=merged.device)
    doubt = doubt_from(
        stated.doubt,
        stated.repeatability,
        merged.rows,
        merged.spread,
        count=len(readers.names),
        spectral=spectral,
        scale=scale,
        problems=problems,
    )
    problems.raise_any()
    try:
        samples = Samples(
            names=tuple(readers.names),
            reflectance=merged.reflectance,
            grid=grid,
            colorimetry=colorimetry,
            condition=stated.condition,
            device=made,
            repeatability=stated.repeatability / scale if spectral and stated.repeatability is not None else None,
            fluorescent=stated.fluorescent,
            source=file,
            doubt=doubt,
        )
    except InputError as error:
        problems.take(error)
        problems.raise_any()
        raise
    return _with_notes(samples, notes)


def _with_notes(samples: Samples, notes: list[Note]) -> Samples:
    return replace(samples, notes=(*notes, *_second_opinion(samples), *check_plausible(samples)))


def _second_opinion(samples: Samples) -> list[Note]:
    """A note where the XYZ or Lab that a file gives beside its spectra are not those of the spectra."""
    given = samples.colorimetry
    if given is None or not samples.is_spectral:
        return []
    from screenproof.appearance import xyz_to_lab

    under, eye = light(given.light), observer(given.observer)
    white = white_point(under, eye)
    try:
        own = samples.xyz([under], [eye])[:, 0, 0]
    except InputError:
        return []  # the wavelengths do not suffice for a colour; whoever asks for one is told so
    apart = np.linalg.norm(xyz_to_lab(own, white) - xyz_to_lab(given.xyz, white), axis=1)
    worst = int(np.argmax(apart))
    if apart[worst] <= TWO_SOURCES_DIFFER:
        return []
    return [
        Note(
            "odd",
            f"XYZ or Lab differ from the spectra by up to {apart[worst]:.2f} CIELAB units "
            f"(mean {apart.mean():.2f}) under {given.light}, {given.observer}; the spectra are used",
            about=samples.names[worst],
            file=samples.source or None,
            mend="check which light, observer and measurement condition the file states",
        )
    ]


def _measured_rows(sheet: Sheet) -> list[tuple[int, list[str]]]:
    """Rows with at least one value; a row that has only its name was not measured and is said and left out."""
    fields = sheet.fields
    values = [column for _, column in fields.bands] + [value for _, value in fields.pairs]
    for triple in (fields.xyz, fields.lab, fields.xyy, fields.lch):
        values.extend(triple or ())
    kept = []
    for line, cells in sheet.rows:
        if any(cells[column].strip() for column in values):
            kept.append((line, cells))
        else:
            label = next((cells[c].strip() for c in (fields.name, fields.identifier) if c is not None), "")
            sheet.notes.append(
                Note(
                    "odd",
                    "the row has no reading and is left out",
                    about=label or None,
                    file=sheet.file,
                    line=line,
                )
            )
    return kept


def _spectra(
    sheet: Sheet,
    rows: list[tuple[int, list[str]]],
    block: Callable[[Sequence[int]], Array],
    problems: Problems,
) -> tuple[Grid | None, Array | None]:
    fields = sheet.fields
    if fields.bands:
        return (
            grid_of([nm for nm, _ in fields.bands], problems, line=sheet.header_line),
            block([column for _, column in fields.bands]),
        )
    if not fields.pairs:
        return None, None
    nm = block([wavelength for wavelength, _ in fields.pairs])
    values = block([value for _, value in fields.pairs])
    if np.isnan(nm).any():
        return None, values
    differs = np.any(nm != nm[0], axis=1)
    for i in np.flatnonzero(differs).tolist():
        j = int(np.argmax(nm[i] != nm[0]))
        problems.add(
            f"the wavelength is {nm[i, j]:g} nm where the first row has {nm[0, j]:g} nm",
            line=rows[i][0],
            field=fields.names[fields.pairs[j][0]],
            expected="the same wavelengths in every row",
        )
    return grid_of(nm[0].tolist(), problems, line=rows[0][0]), values


def grid_of(wavelengths: Sequence[float], problems: Problems, *, line: int | None = None) -> Grid | None:
    """The grid of ``wavelengths`` in nm, or None with the problem noted."""
    try:
        return Grid.of(wavelengths)
    except InputError as error:
        missing = _missing(np.asarray(wavelengths, dtype=np.float64))
        if missing:
            listed = ", ".join(f"{nm:g}" for nm in missing[:6]) + (", ..." if len(missing) > 6 else "")
            problems.add(
                f"missing band{'s' if len(missing) > 1 else ''}: {listed} nm",
                line=line,
                field="wavelengths",
                expected="evenly spaced wavelengths",
                mend="give the missing readings, or cut the range so that it is even",
            )
            return None
        for problem in error.problems:
            problems.add(
                problem.what,
                line=line,
                field="wavelengths",
                expected=problem.expected,
                mend=problem.mend or "give every band once, evenly spaced and ascending",
            )
        return None


def _missing(nm: Array) -> list[float]:
    """Bands that are left out of an otherwise even series, if it is one."""
    if nm.size < 3 or not np.all(np.isfinite(nm)) or nm.min() < 200 or nm.max() > 2500:
        return []
    steps = np.diff(nm)
    if np.any(steps <= 0):
        return []
    step = float(steps.min())
    whole = np.round(steps / step)
    if np.abs(steps - whole * step).max() > 0.01 or np.count_nonzero(whole > 1) > 0.5 * steps.size:
        return []
    return [float(nm[i] + k * step) for i in np.flatnonzero(whole > 1).tolist() for k in range(1, int(whole[i]))]
