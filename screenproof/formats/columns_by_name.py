"""A table of which columns are asked for by name, from CSV or CGATS text: tints, letdowns, what was weighed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from screenproof.errors import Note
from screenproof.formats._assemble import numbers
from screenproof.formats._fields import plain
from screenproof.formats._stated import Found
from screenproof.formats._text import Problems, decode, number, read_bytes, split_selector
from screenproof.formats.cgats import choose_table, found_in, parse_cgats, rows_of
from screenproof.formats.detect import FORMS, format_of
from screenproof.formats.table import check_kind, even_rows, parse_table
from screenproof.spectra import Array


@dataclass
class NamedColumns:
    """The rows of a table by the names of its columns, each row with its line, and what the file states."""

    file: str
    names: list[str]
    header_line: int
    rows: list[tuple[int, list[str]]]
    comma: bool
    percent: bool
    found: Found
    notes: list[Note] = field(default_factory=list)

    @property
    def lines(self) -> list[int]:
        """The line of each row."""
        return [line for line, _ in self.rows]

    def column(self, *names: str) -> int | None:
        """Where the column of one of these names stands, whatever its case and spacing; None if there is none."""
        known = [plain(own) for own in self.names]
        return next((known.index(plain(name)) for name in names if plain(name) in known), None)

    def texts(self, column: int) -> list[str]:
        """The cells of a column."""
        return [cells[column].strip().strip('"') for _, cells in self.rows]

    def numbers(self, columns: Sequence[int], problems: Problems) -> Array:
        """Columns as numbers (n, m); every cell that is none is a problem of its own."""
        return numbers(
            [[cells[c] for c in columns] for _, cells in self.rows],
            lambda i, j: (self.rows[i][0], self.names[columns[j]]),
            problems,
            comma=self.comma,
        )

    def optional(self, column: int | None, problems: Problems) -> list[float | None]:
        """A column of numbers in which a cell may be empty; all None without the column."""
        if column is None:
            return [None] * len(self.rows)
        found = []
        for line, cells in self.rows:
            text = cells[column].strip()
            value = number(text, comma=self.comma) if text else None
            if text and value is None:
                problems.add(
                    f"{text!r} is no number",
                    line=line,
                    field=self.names[column],
                    expected="a number, or an empty cell",
                )
            found.append(value)
        return found

    def stated(self, key: str) -> str | None:
        """What the file states by ``# key: ...``, or None."""
        return self.found[key][0].strip() if key in self.found else None

    def line_of(self, key: str) -> int | None:
        """The line of a statement, None where there is none."""
        return self.found[key][1] or None if key in self.found else None


def read_columns(path: str | Path, kind: str, wanted: str, problems: Problems) -> NamedColumns:
    """The table of a CSV or CGATS file. ``kind`` is what ``# kind:`` may say of it, ``wanted`` the same in words.

    Raises InputError for a file that is no table, or holds no row.
    """
    place, selector = split_selector(path)
    data = read_bytes(place)
    form = format_of(data, place)
    if form not in ("csv", "cgats"):
        problems.add(f"this is {FORMS[form]}", expected=f"{wanted}, as CSV or CGATS text")
        problems.raise_any()
    text, notes = decode(data, place)
    if form == "cgats":
        said = list(notes)
        table = choose_table(parse_cgats(text, problems)[1], selector, problems, said)
        rows, comma = rows_of(table, problems, said)
        made = NamedColumns(
            str(place), table.fields, table.fields_line or table.line, rows, comma, True,
            found_in(table, said, str(place)), said,
        )  # fmt: skip
    else:
        sheet = parse_table(text, str(place), problems)
        check_kind(sheet, (kind,), problems)
        if not sheet.rows:
            problems.add("only comments and no table", expected="column names and at least one row")
            problems.raise_any()
        line, header = sheet.rows[0]
        even_rows(sheet, len(header), sheet.rows[1:], problems)
        made = NamedColumns(
            str(place), [name.strip() for name in header], line, sheet.rows[1:], sheet.comma, False,
            sheet.found, [*notes, *sheet.notes],
        )  # fmt: skip
    if not made.rows:
        problems.add(
            "no row below the column names", line=made.header_line, expected=f"{wanted}: at least one row"
        )
    problems.raise_any()
    return made
