"""Curves from CSV: the wavelength in the first column, one column per curve."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from screenproof.errors import Note
from screenproof.formats._assemble import numbers
from screenproof.formats._fields import band_nm
from screenproof.formats._stated import Found
from screenproof.formats._text import Problems, decode
from screenproof.formats.detect import FORMS, format_of
from screenproof.formats.table import KINDS, check_kind, even_rows, is_header, parse_table, second_header
from screenproof.spectra import Array


@dataclass
class Curves:
    """Wavelengths (m,) in nm, values (m, k), the names of the k columns, and the line of each wavelength."""

    nm: Array
    values: Array
    names: list[str] | None
    lines: list[int]
    found: Found
    notes: list[Note]


def read_curves(data: bytes, path: str | Path, wanted: tuple[str, ...], problems: Problems) -> Curves:
    """The curves of a CSV text. ``wanted``: the kinds that the caller can use, as ``# kind:`` names them.

    Raises InputError with every problem when the table or its numbers cannot be used.
    """
    file = str(path)
    form = format_of(data, path)
    if form != "csv":
        problems.add(
            f"this is {FORMS[form]}",
            expected=f"CSV with {KINDS[wanted[0]]}: the wavelength in nm, then the values",
            mend="name another file, or export it as CSV",
        )
        problems.raise_any()
    text, notes = decode(data, path)
    table = parse_table(text, file, problems)
    check_kind(table, wanted, problems)
    if not table.rows:
        problems.add("only comments and no table", expected="the wavelength in nm and one column per curve")
    problems.raise_any()
    rows = table.rows
    header = rows.pop(0) if is_header(rows[0][1], table.comma) else None
    width = len(header[1]) if header else len(rows[0][1])
    if header is not None and sum(band_nm(name) is not None for name in header[1]) > 2:
        problems.add(
            "wavelengths stand as column names",
            line=header[0],
            expected="the wavelength in nm in the first column, one row each",
            mend="transpose the table",
        )
        problems.raise_any()
    even_rows(table, width, rows, problems)
    if header:
        rows = second_header(header[1], rows, list(range(1, width)), table.comma, problems)
    if width < 2 or not rows:
        problems.add(
            "no column beside the wavelengths" if width < 2 else "no row below the column names",
            line=header[0] if header else rows[0][0],
            expected="the wavelength in nm and one column per curve",
        )
        problems.raise_any()
    lines = [line for line, _ in rows]
    names = header[1] if header else [f"column {i + 1}" for i in range(width)]
    block = numbers([cells for _, cells in rows], lambda i, j: (lines[i], names[j]), problems, comma=table.comma)
    problems.raise_any()
    return Curves(
        block[:, 0],
        block[:, 1:],
        [name.strip() for name in header[1][1:]] if header else None,
        lines,
        table.found,
        [*notes, *table.notes],
    )


def ascending(nm: Array, lines: list[int] | list[int | None], problems: Problems) -> bool:
    """Whether the wavelengths are at least two, of light, and ascend; the first slip is a problem."""
    if nm.size < 2:
        problems.add(
            f"{nm.size} wavelength only" if nm.size else "no wavelength",
            line=lines[0] if lines else None,
            expected="at least two wavelengths",
            mend="give the whole curve",
        )
        return False
    outside = np.flatnonzero((nm < 200) | (nm > 2500))
    if outside.size:
        at = int(outside[0])
        problems.add(
            f"{nm[at]:g} is no wavelength of light in nm",
            line=lines[at],
            expected="wavelengths from 200 to 2500 nm",
            mend="give wavelengths in nanometres",
        )
        return False
    steps = np.diff(nm)
    if np.all(steps < 0):
        problems.add(
            f"the wavelengths descend from {nm[0]:g} to {nm[-1]:g} nm",
            line=lines[0],
            expected="ascending wavelengths",
            mend="sort the rows",
        )
        return False
    wrong = np.flatnonzero(steps <= 0)
    if wrong.size:
        at = int(wrong[0]) + 1
        problems.add(
            f"{nm[at]:g} nm after {nm[at - 1]:g} nm",
            line=lines[at],
            expected="every wavelength once, ascending",
            mend="sort the rows and keep one of each",
        )
        return False
    return True
