"""Readings of a display from CSV and CGATS (ISO 28178) text.

Columns R, G, B (or RGB_R, RGB_G, RGB_B, or red, green, blue) hold what was sent to the display, X, Y, Z (or XYZ_X
...) the light in cd/m2, columns named by wavelength the spectral radiance in W/(sr m2 nm). What the file does not
state of its scales is told from the numbers, and said. A column position (``1-1`` to ``3-3``, or row and column)
says where on the screen a reading was made, a column minutes when: such readings are for checks of the screen.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from screenproof.additive.readings import STANDARD_OBSERVER, Readings
from screenproof.errors import InputError, Note
from screenproof.formats import _drive_scale
from screenproof.formats._assemble import grid_of, numbers
from screenproof.formats._emission import check_white, compare_spectra, radiance_unit
from screenproof.formats._fields import Fields, classify
from screenproof.formats._places import minutes_of, positions_of
from screenproof.formats._stated import Found
from screenproof.formats._text import Problems, decode, read_bytes, split_lines, split_selector
from screenproof.formats.cgats import is_cgats, parse_cgats, rows_of
from screenproof.formats.detect import FORMS, format_of
from screenproof.formats.table import even_rows, is_header, parse_table, second_header
from screenproof.spectra import Array, Grid, stated_observer

_COMMENT = re.compile(r"#+\s*(?P<key>[A-Za-z][\w \-]{1,30}?)\s*[:=]\s*(?P<value>.*\S)\s*\Z")
_OWN_KEYS = {
    "display": "display",
    "monitor": "display",
    "screen": "display",
    "bits": "bits",
    "bit_depth": "bits",
    "drive": "device_scale",
    "drive_scale": "device_scale",
    "device_scale": "device_scale",
    "codes": "device_scale",
}

_Block = Callable[[Sequence[int]], Array]


@dataclass
class _Sheet:
    """Rows of a readings file with their lines, and what the file states."""

    file: str
    fields: Fields
    header_line: int
    rows: list[tuple[int, list[str]]]
    comma: bool
    found: Found
    prose: list[str]
    notes: list[Note] = field(default_factory=list)


def read_readings(path: str | Path) -> Readings:
    """The readings of a display in a CSV or CGATS file; ``file.cgats#2`` names the second table.

    Drive values may be 0..1, percent, or codes; ``# bits: 10`` or ``# device_scale: 1023`` states it, else it is
    told from the highest and said. XYZ are in cd/m2 for the observer that the file states, or CIE 1931.
    ``# unit: mW/(sr m2 nm)`` states a unit of the spectra. Comments (or keywords) display, instrument and date are
    kept.

    Raises InputError with every problem of the file, each with its line.
    """
    place, selector = split_selector(path)
    file = str(place)
    data = read_bytes(place)
    problems = Problems(file)
    form = format_of(data, place)
    if form not in ("csv", "cgats"):
        problems.add(
            f"this is {FORMS[form]}",
            expected="readings of a display: CSV or CGATS with R G B and X Y Z, or R G B and wavelengths",
            mend="name an ICC profile as a profile; export readings as text",
        )
        problems.raise_any()
    text, notes = decode(data, place)
    made = _cgats(text, file, selector, problems) if is_cgats(text) else _csv(text, file, problems)
    made.notes[:0] = notes
    _own_statements(text, made.found)
    return _readings(made, problems)


def _csv(text: str, file: str, problems: Problems) -> _Sheet:
    table = parse_table(text, file, problems)
    kind, line = table.found.get("kind", ("", 0))
    if kind and kind.strip().lower() not in ("readings", "display"):
        problems.add(
            f"the file says that it holds {kind.strip()!r}",
            line=line,
            expected="readings of a display",
            mend="name it where such data are wanted, or correct '# kind:'",
        )
    if not table.rows:
        problems.add("only comments and no table", expected="column names and at least one row")
    elif not is_header(table.rows[0][1], table.comma):
        problems.add(
            "no column names",
            line=table.rows[0][0],
            expected="R, G, B and X, Y, Z, or R, G, B and the wavelengths, as column names",
            mend="name the columns in a first row",
        )
    problems.raise_any()
    header_line, header = table.rows[0]
    fields = classify(header, problems, line=header_line)
    rows = table.rows[1:]
    even_rows(table, len(header), rows, problems)
    values = [*(c for _, c in fields.bands), *(fields.xyz or ()), *(fields.xyy or ()), *fields.device]
    rows = second_header(header, rows, values, table.comma, problems)
    prose = [line for line in split_lines(text) if line.lstrip().startswith("#")]
    return _Sheet(file, fields, header_line, rows, table.comma, dict(table.found), prose, list(table.notes))


def _cgats(text: str, file: str, selector: str | None, problems: Problems) -> _Sheet:
    _, tables = parse_cgats(text, problems)
    notes: list[Note] = []
    chosen = 0
    if selector is not None:
        if not selector.isdigit() or not 1 <= int(selector) <= len(tables):
            expected = f"a number from 1 to {len(tables)} after the #"
            problems.add(f"there is no table {selector!r}", expected=expected)
            problems.raise_any()
        chosen = int(selector) - 1
    else:
        for index, table in enumerate(tables):
            fields = classify(table.fields, Problems(file))
            if fields.channels == ("R", "G", "B") and (fields.is_spectral or fields.is_colorimetric):
                chosen = index
                break
        if len(tables) > 1:
            notes.append(
                Note(
                    "assumed",
                    f"the file holds {len(tables)} tables; table {chosen + 1} was read",
                    file=file,
                    line=tables[chosen].line,
                    mend=f"name another as {Path(file).name}#2",
                )
            )
    table = tables[chosen]
    rows, comma = rows_of(table, problems, notes)
    fields = classify(table.fields, problems, line=table.fields_line)
    found: Found = {}
    for keyword, values in table.keywords.items():
        key = {"instrumentation": "instrument", "created": "date", "observer_angle": "observer"}.get(
            keyword.lower(), keyword.lower()
        )
        found.setdefault(_OWN_KEYS.get(key, key), values[0])
    for value, line in table.keywords.get("WEIGHTING_FUNCTION", []):
        kind, _, rest = value.partition(",")
        if kind.strip().upper().startswith("OBSERVER") and rest:
            found.setdefault("observer", (rest.strip(), line))
    prose = [line for line in split_lines(text) if line.lstrip().startswith("#")]
    return _Sheet(file, fields, table.fields_line or table.line, rows, comma, found, prose, notes)


def _own_statements(text: str, found: Found) -> None:
    """Comments of the kinds that only readings have: the display's name and the scale of the drive values."""
    for place, line in enumerate(split_lines(text), start=1):
        match = _COMMENT.match(line.strip().rstrip(",;\t "))
        if match is not None:
            key = _OWN_KEYS.get(re.sub(r"[\s\-]+", "_", match["key"].strip().lower()))
            if key is not None:
                found.setdefault(key, (match["value"].strip("\"'"), place))


def _readings(sheet: _Sheet, problems: Problems) -> Readings:
    fields, rows = sheet.fields, _measured(sheet)
    columns_told = len(problems.found)
    _check_columns(sheet, problems)
    if not rows:
        problems.add("no row holds a reading", line=sheet.header_line, expected="one row for each colour read")
    if len(problems.found) > columns_told:
        problems.raise_any()
    # A row with too few or too many cells has been told; its cells would be told again.
    told = {problem.line for problem in problems.found}
    rows = [(line, cells) for line, cells in rows if line not in told]
    if not rows:
        problems.raise_any()
    lines = [line for line, _ in rows]

    def block(columns: Sequence[int]) -> Array:
        return numbers(
            [[cells[c] for c in columns] for _, cells in rows],
            lambda i, j: (lines[i], fields.names[columns[j]]),
            problems,
            comma=sheet.comma,
        )

    raw = block(fields.device)
    names = _names(sheet, rows)
    drive = _drive_scale.drives(raw, sheet.found, sheet.prose, lines, problems, sheet.notes)
    grid, spectra = _spectra(sheet, rows, block, problems)
    xyz = _xyz(sheet, block, names, lines, problems)
    observer = _observer(sheet, spectra is None, problems)
    positions = positions_of(fields.names, rows, problems, sheet.header_line)
    minutes = minutes_of(
        fields.names, rows, problems, sheet.notes, comma=sheet.comma, header_line=sheet.header_line
    )
    problems.raise_any()
    if grid is not None and spectra is not None:
        compare_spectra(grid, spectra, xyz, observer, drive, sheet.file, sheet.notes)
        xyz = None
    elif xyz is not None:
        check_white(xyz, drive, sheet.file, sheet.notes)

    def said(*keys: str) -> str:
        return next((sheet.found[key][0] for key in keys if key in sheet.found), "")

    try:
        return Readings(
            drive=drive,
            xyz_cd=xyz,
            spectra=spectra,
            grid=grid,
            names=tuple(names),
            source=sheet.file,
            notes=tuple(sheet.notes),
            observer=observer if spectra is None else STANDARD_OBSERVER,
            display=said("display", "label", "name", "title"),
            instrument=said("instrument"),
            date=said("date"),
            positions=positions,
            minutes=minutes,
        )
    except InputError as error:
        problems.take(error)
        problems.raise_any()
        raise


def _check_columns(sheet: _Sheet, problems: Problems) -> None:
    fields = sheet.fields
    if fields.channels != ("R", "G", "B"):
        what = f"device values of {len(fields.channels)} channels" if fields.channels else "no drive values"
        problems.add(
            f"{what}; columns are " + ", ".join(fields.names[:12]) + (", ..." if len(fields.names) > 12 else ""),
            line=sheet.header_line,
            expected="columns R, G, B (or RGB_R, RGB_G, RGB_B)",
            mend="name the columns of the drive values so",
        )
    if fields.is_spectral or fields.xyz is not None or fields.xyy is not None:
        return
    if fields.lab is not None or fields.lch is not None:
        problems.add(
            "Lab tells no luminance: it is relative to a white that the file does not hold",
            line=sheet.header_line,
            expected="X, Y, Z in cd/m2, or spectral radiances",
            mend="export XYZ in cd/m2 from the instrument",
        )
        return
    problems.add(
        "no column holds XYZ or spectra; columns are "
        + ", ".join(fields.names[:12])
        + (", ..." if len(fields.names) > 12 else ""),
        line=sheet.header_line,
        expected="X, Y, Z (or XYZ_X, XYZ_Y, XYZ_Z) in cd/m2, or wavelengths as column names (380, nm380 ...)",
        mend="rename the columns so",
    )


def _measured(sheet: _Sheet) -> list[tuple[int, list[str]]]:
    """Rows with a reading; one with drive values alone was not measured and is said and left out."""
    fields = sheet.fields
    values = [c for _, c in fields.bands] + [c for _, c in fields.pairs]
    values += [*(fields.xyz or ()), *(fields.xyy or ())]
    kept = []
    for line, cells in sheet.rows:
        if not values or any(cells[c].strip() for c in values):
            kept.append((line, cells))
        else:
            sheet.notes.append(Note("odd", "the row has no reading and is left out", file=sheet.file, line=line))
    return kept


def _names(sheet: _Sheet, rows: list[tuple[int, list[str]]]) -> list[str]:
    column = sheet.fields.name if sheet.fields.name is not None else sheet.fields.identifier
    return [(cells[column].strip() if column is not None else "") or f"line {line}" for line, cells in rows]


def _spectra(
    sheet: _Sheet, rows: list[tuple[int, list[str]]], block: _Block, problems: Problems
) -> tuple[Grid | None, Array | None]:
    fields = sheet.fields
    if fields.bands:
        nm = [wavelength for wavelength, _ in fields.bands]
        values = np.asarray(block([column for _, column in fields.bands]), dtype=np.float64)
    elif fields.pairs:
        shown = np.asarray(block([wavelength for wavelength, _ in fields.pairs]), dtype=np.float64)
        values = np.asarray(block([value for _, value in fields.pairs]), dtype=np.float64)
        if np.isnan(shown).any() or (shown != shown[0]).any():
            where = int(np.argmax(np.any(shown != shown[0], axis=1)))
            problems.add(
                "the wavelengths are not those of the first row",
                line=rows[where][0],
                expected="the same wavelengths in every row",
            )
            return None, None
        nm = shown[0].tolist()
    else:
        return None, None
    grid = grid_of(nm, problems, line=sheet.header_line)
    return grid, values * radiance_unit(sheet.found, problems)


def _xyz(
    sheet: _Sheet, block: _Block, names: Sequence[str], lines: Sequence[int], problems: Problems
) -> Array | None:
    fields = sheet.fields
    if fields.xyz is not None:
        xyz = np.asarray(block(fields.xyz), dtype=np.float64)
    elif fields.xyy is not None:
        x, y, luminance = np.asarray(block(fields.xyy), dtype=np.float64).T
        sound = (y > 0) & (x >= 0) & (x + y <= 1.0001)
        for i in np.flatnonzero(~sound & np.isfinite(x + y + luminance) & (luminance > 0)).tolist():
            problems.add(
                f"chromaticity x = {x[i]:.4g}, y = {y[i]:.4g}",
                line=lines[i],
                expected="x and y above 0, together at most 1",
            )
        safe = np.where(y > 0, y, 1.0)
        xyz = np.stack([x * luminance / safe, luminance, (1.0 - x - y) * luminance / safe], axis=1)
        xyz[~(luminance > 0)] = np.where(np.isnan(luminance[~(luminance > 0)]), np.nan, 0.0)[:, None]
    else:
        return None
    if problems or fields.is_spectral:
        return xyz
    slack = 2e-3 * float(xyz.max())
    for i in np.flatnonzero(xyz.min(axis=1) < -slack).tolist():
        problems.add(
            f"a negative reading of {xyz[i].min():g}",
            line=lines[i],
            field=names[i],
            expected="XYZ of zero or more",
            mend="read this colour again",
        )
    return xyz


def _observer(sheet: _Sheet, matters: bool, problems: Problems) -> str:
    said = sheet.found.get("observer")
    if said is None:
        return STANDARD_OBSERVER
    name = stated_observer(said[0])
    if name is None and matters:
        problems.add(
            f"the observer {said[0]!r} is no standard observer",
            line=said[1],
            field="observer",
            expected="cie1931, cie1964, cie2015-2 or cie2015-10, or an angle of 2 or 10 degrees",
        )
    return name or STANDARD_OBSERVER
