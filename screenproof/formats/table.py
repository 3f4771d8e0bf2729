"""Tables in text: comma, semicolon with decimal comma, tab or blanks between cells, with comments above them."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, field

from screenproof.errors import Note
from screenproof.formats._stated import Found, canonical, near_miss
from screenproof.formats._text import Problems, number, split_lines

_STATEMENT = re.compile(r"#+\s*(?P<key>[^:=#]{1,40}?)\s*[:=]\s*(?P<value>.*\S)\s*\Z")
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?\Z")
_DECIMAL_POINT = re.compile(r"[+-]?\d*\.\d+(?:[eE][+-]?\d+)?\Z")

KINDS = {
    "samples": "measured samples",
    "light": "a light",
    "lights": "lights",
    "camera": "a camera's sensitivities",
    "readings": "readings of a display",
    "primaries": "the primaries of a display",
    "tints": "a list of tints",
    "letdowns": "letdowns of pigments or inks",
    "batch": "what was weighed into a batch",
}
"""What a comment ``# kind: ...`` may say."""

_CALLED = {"\t": "tab", ";": "semicolon", ",": "comma", " ": "blank"}


@dataclass
class DelimitedTable:
    """Rows of cells with the line on which each stands, and what the comments state."""

    file: str
    delimiter: str
    comma: bool
    rows: list[tuple[int, list[str]]]
    found: Found = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)

    @property
    def called(self) -> str:
        """The delimiter by name."""
        return _CALLED[self.delimiter]


def parse_table(text: str, file: str, problems: Problems) -> DelimitedTable:
    """Cells of a delimited text. Comments ``# key: value`` become statements; other comments are free text.

    Blank lines and rows of empty cells are skipped, empty cells past the last column are cut off. Nothing is
    demanded of the number of cells yet: see :func:`even_rows`.
    """
    notes: list[Note] = []
    found: Found = {}
    lines: list[tuple[int, str]] = []
    for place, line in enumerate(split_lines(text), start=1):
        stripped = line.strip()
        if not stripped:
            continue
        if stripped.startswith("#"):
            _statement(stripped, place, file, found, notes)
        else:
            lines.append((place, line))
    delimiter = _delimiter([line for _, line in lines[:200]])
    rows = []
    for place, line in lines:
        cells = _cells(line, delimiter, place, problems)
        if any(cells):
            rows.append((place, cells))
    # Spreadsheets export columns that were once touched: what is empty in every row is no column.
    if rows and any(not cells[-1] for _, cells in rows):
        used = max(i + 1 for _, cells in rows for i in range(len(cells)) if cells[i])
        for _, cells in rows:
            del cells[used:]
    return DelimitedTable(file, delimiter, _has_decimal_comma(rows, delimiter), rows, found, notes)


def _statement(line: str, place: int, file: str, found: Found, notes: list[Note]) -> None:
    match = _STATEMENT.match(line.rstrip(",;\t "))
    if match is None:
        return
    key = canonical(match["key"])
    if key is None:
        meant = near_miss(match["key"])
        if meant is not None:
            notes.append(
                Note(
                    "odd",
                    f"the comment '{match['key']}' states nothing known; did you mean '{meant}'?",
                    file=file,
                    line=place,
                )
            )
        return
    if key in found and found[key][0] != match["value"]:
        notes.append(
            Note(
                "odd",
                f"'{match['key']}' is stated again with another value; the first ({found[key][0]}) is used",
                file=file,
                line=place,
            )
        )
        return
    found.setdefault(key, (match["value"].strip("\"'"), place))


def _outside_quotes(line: str) -> str:
    return re.sub(r'"[^"]*"', '""', line) if '"' in line else line


def _delimiter(lines: list[str]) -> str:
    """The delimiter that stands equally often in most lines: tab before semicolon before comma, else blanks."""
    if not lines:
        return ","
    best, most = " ", 0.0
    bare = [_outside_quotes(line) for line in lines]
    for delimiter in ("\t", ";", ","):
        counts = Counter(line.count(delimiter) for line in bare)
        counts.pop(0, None)
        if not counts:
            continue
        agreeing = sum(counts.values()) / len(lines)
        # The first one in the list wins at par: a comma is a decimal mark beside a tab or a semicolon.
        if agreeing > max(most, 0.5) or (len(lines) == 1 and not most):
            best, most = delimiter, agreeing
    return best


def _cells(line: str, delimiter: str, place: int, problems: Problems) -> list[str]:
    if '"' in line:
        try:
            if delimiter == " ":
                line = " ".join(line.split())
            return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, strict=True))]
        except csv.Error:
            problems.add(
                "a quotation mark is opened and not closed, or stands inside a cell",
                line=place,
                expected='cells such as "ink, red" with both marks',
                mend='close the quotation, or double a mark that belongs to the text ("")',
            )
            return [cell.strip().strip('"') for cell in line.split(delimiter)]
    if delimiter == " ":
        return line.split()
    return [cell.strip() for cell in line.split(delimiter)]


def _has_decimal_comma(rows: list[tuple[int, list[str]]], delimiter: str) -> bool:
    if delimiter == ",":
        return False
    with_comma = sum(bool(_DECIMAL_COMMA.match(cell)) for _, cells in rows for cell in cells if "," in cell)
    with_point = sum(bool(_DECIMAL_POINT.match(cell)) for _, cells in rows for cell in cells if "." in cell)
    return with_comma > with_point


def check_kind(table: DelimitedTable, wanted: tuple[str, ...], problems: Problems) -> None:
    """A file that says by ``# kind:`` that it holds something else than ``wanted`` is a problem."""
    said, line = table.found.get("kind", ("", 0))
    kind = said.strip().lower()
    if kind in KINDS and kind not in wanted:
        problems.add(
            f"the file says that it holds {KINDS[kind]}",
            line=line,
            expected=KINDS[wanted[0]],
            mend="name it where such data are wanted, or correct '# kind:'",
        )


def even_rows(table: DelimitedTable, width: int, rows: list[tuple[int, list[str]]], problems: Problems) -> None:
    """Demand ``width`` cells in each of ``rows``; empty cells past the last column are cut off in place.

    A row that is too short or too long is a problem; it is padded or cut so that the others can be checked.
    """
    uneven = []
    for place, cells in rows:
        while len(cells) > width and not cells[-1].strip():
            cells.pop()
        if len(cells) != width:
            uneven.append((place, len(cells)))
            del cells[width:]
            cells.extend([""] * (width - len(cells)))
    for place, count in uneven:
        hint = ""
        if table.delimiter == "," and count > width and len(uneven) == len(rows):
            hint = "; if the commas are decimal marks, separate the cells by semicolons or tabs"
        problems.add(
            f"the row has {count} cells, the column names {width}",
            line=place,
            expected=f"{width} cells separated by a {table.called}",
            mend="add or remove cells" + hint,
        )


def is_header(cells: list[str], comma: bool) -> bool:
    """Whether a row names columns: some cell of it is a word."""
    return any(cell.strip() and number(cell, comma=comma) is None for cell in cells)


def second_header(
    header: list[str], rows: list[tuple[int, list[str]]], values: list[int], comma: bool, problems: Problems
) -> list[tuple[int, list[str]]]:
    """Rows without those whose every value cell is a word: each is one problem, not one per cell."""
    kept = []
    for place, cells in rows:
        again = cells == header
        if not again and values and number(cells[values[0]], comma=comma) is not None:
            kept.append((place, cells))
            continue
        words = [i for i in values if i < len(cells) and cells[i].strip()]
        if again or (len(words) > 1 and all(number(cells[i], comma=comma) is None for i in words)):
            if not again and any(_slipped(cells[i]) for i in words):
                kept.append((place, cells))
                continue
            again = again or [cells[i].strip() for i in words] == [header[i].strip() for i in words]
            problems.add(
                "the column names stand again" if again else "no value of this row is a number",
                line=place,
                expected="one row of column names, then numbers",
                mend="split the file into one table each" if again else "remove the row, or put # before it",
            )
        else:
            kept.append((place, cells))
    return kept


def _slipped(cell: str) -> bool:
    """Whether a cell is meant as a reading though it is no number: a wrong decimal mark, NaN and the like."""
    return bool(
        _DECIMAL_COMMA.match(cell)
        or _DECIMAL_POINT.match(cell)
        or cell.strip().lower() in ("nan", "n/a", "na", "inf", "-inf")
    )
