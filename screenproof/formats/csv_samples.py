"""Samples from CSV: wavelengths as columns or as rows, or XYZ and Lab, with comments that state the condition.

The columns layout has one row per sample and the wavelengths (400, 400nm, nm400, R400 ...), XYZ_X XYZ_Y XYZ_Z
or LAB_L LAB_A LAB_B as column names. The rows layout has the wavelength in the first column and one column
per sample. Comments above the table state what the numbers cannot: ``# unit: percent``, ``# light: D50``,
``# observer: cie1931``, ``# geometry: 45a:0``, ``# filter: M1``, ``# backing: black``, ``# instrument: ...``,
``# date: ...``, ``# fluorescent: yes``, ``# repeatability: 0.002`` (in the file's unit), ``# device_scale: 100``,
and what :mod:`._doubt` has. Rows (or columns) of one name are repeated readings and are averaged;
``# repeats: no`` refuses them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from screenproof.errors import Note
from screenproof.formats._assemble import Sheet, finish, grid_of, numbers, samples_of
from screenproof.formats._fields import WAVELENGTH_FIELDS, Fields, classify, plain
from screenproof.formats._names import unique_names
from screenproof.formats._repeats import Readers
from screenproof.formats._stated import Stated, state
from screenproof.formats._text import Problems, decode, number, read_bytes
from screenproof.formats.table import (
    DelimitedTable,
    check_kind,
    even_rows,
    is_header,
    parse_table,
    second_header,
)
from screenproof.spectra import Samples

_POWER_WORDS = ("POWER", "SPD", "IRRADIANCE", "RADIANCE", "FLUX", "INTENSITY")


def read_csv_samples(path: str | Path, data: bytes | None = None) -> Samples:
    """The samples of a CSV file. ``data``: its bytes, when they are already read.

    Raises InputError with every problem of the file; what was assumed or odd is in ``notes``.
    """
    file = str(path)
    text, notes = decode(read_bytes(path) if data is None else data, path)
    problems = Problems(file)
    table = parse_table(text, file, problems)
    table.notes[:0] = notes
    check_kind(table, ("samples",), problems)
    if not table.rows:
        problems.add("only comments and no table", expected="column names and at least one row")
    problems.raise_any()
    stated = state(table.found, problems, table.notes)
    header_line, header = table.rows[0]
    if _wavelengths_only(table):
        fields = classify(header, problems, line=header_line, channels=stated.channels)
        return samples_of(_columns_sheet(table, fields, problems), stated, problems)
    if not is_header(header, table.comma):
        return _rows_layout(table, None, stated, problems)
    trouble = Problems(file)
    fields = classify(header, trouble, line=header_line, channels=stated.channels)
    rows_layout = _is_rows_layout(table, fields)
    # Where samples are columns, one name on several is repeated readings.
    problems.found += [p for p in trouble.found if not (rows_layout and p.what.startswith("the column name "))]
    if rows_layout:
        return _rows_layout(table, table.rows.pop(0), stated, problems)
    return samples_of(_columns_sheet(table, fields, problems), stated, problems)


def _wavelengths_only(table: DelimitedTable) -> bool:
    """Whether the first row is wavelengths, perhaps past an empty corner, and the rows below are not."""
    header = table.rows[0][1]
    values = [number(cell, comma=table.comma) for cell in (header if header[0] else header[1:])]
    if len(values) < 2 or len(table.rows) < 2:
        return False
    nm = [value for value in values if value is not None and 200.0 <= value <= 2500.0]
    second = number(table.rows[1][1][0], comma=table.comma)
    return len(nm) == len(values) and nm == sorted(nm) and (second is None or second < 200.0)


def _is_rows_layout(table: DelimitedTable, fields: Fields) -> bool:
    if len(fields.bands) > 1 or fields.is_colorimetric or fields.pairs:
        return False
    first = plain(fields.names[0])
    if first in WAVELENGTH_FIELDS or first.startswith(("WAVELENGTH", "LAMBDA")):
        return True
    nm = [number(cells[0], comma=table.comma) if cells else None for _, cells in table.rows[1:]]
    usable = [value for value in nm if value is not None and 200.0 <= value <= 2500.0]
    return len(usable) > 1 and len(usable) >= 0.8 * len(nm) and len(fields.names) > 1


def _columns_sheet(table: DelimitedTable, fields: Fields, problems: Problems) -> Sheet:
    header_line, header = table.rows[0]
    rows = table.rows[1:]
    even_rows(table, len(header), rows, problems)
    triples = (fields.xyz, fields.lab, fields.xyy, fields.lch)
    values = [c for _, c in fields.bands] + [c for t in triples for c in (t or ())]
    rows = second_header(header, rows, values, table.comma, problems)
    if fields.name is None:
        # A first column of words needs no title to be the names, also beside a column of identifiers.
        for index, name in enumerate(fields.names):
            if name in fields.ignored and index not in values:
                words = [cells[index] for _, cells in rows if cells[index].strip()]
                if words and any(number(word, comma=table.comma) is None for word in words):
                    fields = replace(fields, name=index, ignored=tuple(n for n in fields.ignored if n != name))
                    break
    if len(fields.bands) == 1 and not fields.is_colorimetric:
        problems.add(
            f"one band only ({fields.bands[0][0]:g} nm)",
            line=header_line,
            expected="at least two wavelengths as column names",
            mend="name the wavelength columns 400, 410, ... or nm400, nm410, ...",
        )
        problems.raise_any()
    if fields.channels == ("R", "G", "B") and fields.name is None and fields.identifier is None:
        problems.add(
            "drive values R, G, B and no names: this looks like readings of a display",
            line=header_line,
            expected="samples with a column 'name'",
            mend="name the file as a display's readings, or add the column 'name'",
        )
    if fields.ignored and (listed := [name for name in fields.ignored if name]):
        table.notes.append(
            Note(
                "info",
                f"columns not used: {', '.join(listed[:12])}" + (", ..." if len(listed) > 12 else ""),
                file=table.file,
                line=header_line,
            )
        )
    return Sheet(table.file, fields, header_line, rows, table.comma, table.notes)


def _rows_layout(
    table: DelimitedTable, header: tuple[int, list[str]] | None, stated: Stated, problems: Problems
) -> Samples:
    """Wavelength in the first column, one column per sample."""
    width = len(header[1]) if header else len(table.rows[0][1])
    rows = table.rows
    even_rows(table, width, rows, problems)
    if header:
        rows = second_header(header[1], rows, list(range(1, width)), table.comma, problems)
        names = [name.strip().strip('"') for name in header[1][1:]]
        unnamed = [str(i + 2) for i, name in enumerate(names) if not name]
        if unnamed:
            problems.add(
                f"column {', '.join(unnamed)} has no name", line=header[0], expected="a name for each sample"
            )
    else:
        names = [str(i) for i in range(1, width)]
        table.notes.append(
            Note(
                "assumed",
                "no column names: the samples are called by their column, 1, 2, 3 ...",
                file=table.file,
                line=rows[0][0],
                mend="add a first row: wavelength, then the name of each sample",
            )
        )
    if width < 2 or not rows:
        problems.add(
            "no column of readings beside the wavelengths" if width < 2 else "no row holds a wavelength",
            line=header[0] if header else None,
            expected="the wavelength in nm and one column per sample",
        )
        problems.raise_any()
    if len(names) == 1 and any(word in plain(names[0]) for word in _POWER_WORDS):
        problems.add(
            f"the column is called {names[0]!r}: this is a light, not a sample",
            line=header[0] if header else None,
            expected="reflectances",
            mend="name the file as a light, or rename the column",
        )
    called = header[1][0].strip() if header else ""
    lines = [line for line, _ in rows]
    nm = numbers(
        [cells[:1] for _, cells in rows],
        lambda i, j: (lines[i], called or "wavelength"),
        problems,
        comma=table.comma,
    )[:, 0]
    values = numbers(
        [cells[1:] for _, cells in rows],
        lambda i, j: (lines[i], names[j] or f"column {j + 2}"),
        problems,
        comma=table.comma,
    )
    grid = grid_of(nm.tolist(), problems, line=lines[0]) if nm.size and not problems else None
    problems.raise_any()
    columns = list(range(2, len(names) + 2))
    named = unique_names(
        names,
        [],
        columns,
        lambda i: tuple(values[:, i].tolist()),
        problems,
        table.notes,
        repeats=True if stated.repeats is None else stated.repeats,
        places="columns",
    )
    return finish(
        file=table.file,
        readers=Readers(
            named.names,
            named.groups,
            [header[0] if header else lines[0]] * len(named.rows),
            [columns[i] for i in named.rows],
        ),
        grid=grid,
        reflectance=values.T[named.rows],
        unit=None,
        colorimetric={},
        channels=(),
        device=None,
        stated=stated,
        problems=problems,
        notes=table.notes,
    )
