"""Samples from CGATS.17 and ISO 28178 text, whatever its file identifier says.

Layout of the standard: an identifier line, keywords with a value each, the names of the fields between
BEGIN_DATA_FORMAT and END_DATA_FORMAT, the rows between BEGIN_DATA and END_DATA. A file may hold several
tables; ``file.txt#2`` names the second.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from screenproof.errors import Note
from screenproof.formats._assemble import Sheet, samples_of
from screenproof.formats._fields import classify
from screenproof.formats._stated import Found, canonical, filter_of, light_of, state
from screenproof.formats._text import Problems, decode, read_bytes, split_lines, split_selector
from screenproof.spectra import Samples, stated_observer

_TOKEN = re.compile(r'"((?:[^"]|"")*)"|(\S+)')
# A line may end in CR alone, which re's own multi-line mode does not know.
_MARKS = re.compile(r"(?:\A|[\r\n])[ \t]*(?:BEGIN_DATA_FORMAT|BEGIN_DATA|NUMBER_OF_SETS|NUMBER_OF_FIELDS)\b")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+\Z")


@dataclass
class CgatsTable:
    """One table of a file: its keywords (first statement of each, with its line), fields and rows."""

    line: int
    keywords: dict[str, list[tuple[str, int]]] = field(default_factory=dict)
    fields: list[str] = field(default_factory=list)
    fields_line: int | None = None
    raw: list[tuple[int, str]] = field(default_factory=list)
    data_line: int | None = None
    ended: bool = False

    def first(self, keyword: str) -> tuple[str, int] | None:
        """The first value of a keyword and its line."""
        values = self.keywords.get(keyword)
        return values[0] if values else None


def is_cgats(text: str) -> bool:
    """Whether ``text`` has the marks of the format, be it cut short."""
    return _MARKS.search(text) is not None


def tokens(line: str) -> list[str]:
    """Words of a line; a quoted string is one word, and ``""`` in it is one mark."""
    if '"' not in line:
        return line.split()
    return [m[2] if m[2] is not None else m[1].replace('""', '"') for m in _TOKEN.finditer(line)]


def parse_cgats(text: str, problems: Problems) -> tuple[str, list[CgatsTable]]:
    """The file identifier and the tables of a text. What breaks the layout goes to ``problems``."""
    identifier = ""
    tables: list[CgatsTable] = []
    table: CgatsTable | None = None
    mode = "keywords"
    for place, line in enumerate(split_lines(text), start=1):
        stripped = line.strip()
        if not stripped or stripped.startswith("#"):
            continue
        words = tokens(stripped)
        first = words[0].upper() if words else ""
        if table is None or (mode == "keywords" and table.ended):
            if not tables and not identifier and len(words) == 1 and not first.startswith(("BEGIN_", "NUMBER_")):
                identifier = words[0]
                continue
            table = CgatsTable(place)
            tables.append(table)
        if mode == "data":
            if first == "END_DATA":
                mode, table.ended = "keywords", True
            else:
                table.raw.append((place, line))
        elif mode == "format":
            if first == "END_DATA_FORMAT":
                mode = "keywords"
            elif first == "BEGIN_DATA":
                problems.add(
                    "BEGIN_DATA before END_DATA_FORMAT",
                    line=place,
                    expected="END_DATA_FORMAT after the field names",
                    mend="close the list of field names",
                )
                mode, table.data_line = "data", place
            else:
                table.fields.extend(words)
        elif first == "BEGIN_DATA_FORMAT":
            mode, table.fields_line = "format", place
            table.fields = words[1:]
        elif first == "BEGIN_DATA":
            mode, table.data_line = "data", place
        elif first and first != "KEYWORD" and len(words) > 1:
            table.keywords.setdefault(first, []).append((" ".join(words[1:]).strip(), place))
    # A trailing identifier or keyword after the last END_DATA is no table.
    return identifier, [t for i, t in enumerate(tables) if i == 0 or t.data_line is not None or t.fields]


def read_cgats(path: str | Path, data: bytes | None = None) -> Samples:
    """The samples of a CGATS file (of its first table that holds colours, or of ``file#2``).

    Raises InputError with every problem of the table; what was assumed or odd is in ``notes``.
    """
    place, selector = split_selector(path)
    file = str(place)
    text, read_notes = decode(read_bytes(place) if data is None else data, place)
    problems = Problems(file)
    notes = list(read_notes)
    _, tables = parse_cgats(text, problems)
    table = choose_table(tables, selector, problems, notes)
    rows, comma = rows_of(table, problems, notes)
    found = found_in(table, notes, file)
    stated = state(found, problems, notes)
    fields = classify(table.fields, problems, line=table.fields_line, channels=stated.channels)
    if fields.ignored:
        listed = ", ".join(fields.ignored[:12]) + (", ..." if len(fields.ignored) > 12 else "")
        notes.append(Note("info", f"fields not used: {listed}", file=file, line=table.fields_line))
    sheet = Sheet(file, fields, table.fields_line or table.line, rows, comma, notes)
    return samples_of(sheet, stated, problems)


def choose_table(
    tables: list[CgatsTable], selector: str | None, problems: Problems, notes: list[Note]
) -> CgatsTable:
    """The table that ``selector`` names, else the first that holds colours, which is said of several."""
    if not tables:
        problems.add("no keywords and no data", expected="BEGIN_DATA_FORMAT and BEGIN_DATA")
        problems.raise_any()
    if selector is not None:
        if not selector.isdigit() or not 1 <= int(selector) <= len(tables):
            problems.add(
                f"there is no table {selector!r}",
                expected=f"a number from 1 to {len(tables)} after the #",
                mend="count the BEGIN_DATA lines",
            )
            problems.raise_any()
        return tables[int(selector) - 1]
    chosen = 0
    for index, table in enumerate(tables):
        fields = classify(table.fields, Problems(problems.file))
        if fields.is_spectral or fields.is_colorimetric:
            chosen = index
            break
    if len(tables) > 1:
        notes.append(
            Note(
                "assumed",
                f"the file holds {len(tables)} tables; table {chosen + 1} was read",
                file=problems.file,
                line=tables[chosen].line,
                mend=f"name another as {Path(problems.file).name}#2",
            )
        )
    return tables[chosen]


def rows_of(table: CgatsTable, problems: Problems, notes: list[Note]) -> tuple[list[tuple[int, list[str]]], bool]:
    """Rows of the table, each as wide as there are fields, and whether the decimal mark is a comma."""
    width = len(table.fields)
    if table.fields_line is None or not width:
        problems.add(
            "no field names",
            line=table.fields_line or table.line,
            expected="BEGIN_DATA_FORMAT, the field names, END_DATA_FORMAT",
            mend="name the fields of the data",
        )
    if table.data_line is None:
        problems.add(
            "no BEGIN_DATA",
            line=table.fields_line or table.line,
            expected="rows between BEGIN_DATA and END_DATA",
            mend="export the file again: it may be cut short",
        )
    problems.raise_any()
    rows = []
    for place, line in table.raw:
        tabbed = [_unquoted(cell.strip()) for cell in line.strip(" \r").split("\t")]
        while len(tabbed) > width and not tabbed[-1]:
            tabbed.pop()
        rows.append((place, tabbed if "\t" in line and len(tabbed) == width else tokens(line)))
    rows = _unwrapped(table, rows, width)
    _check_counts(table, rows, width, problems, notes)
    for _, cells in rows:
        del cells[width:]
        cells.extend([""] * (width - len(cells)))
    numeric = [cell for _, cells in rows for cell in cells if "," in cell and _DECIMAL_COMMA.match(cell)]
    comma = bool(numeric) and not any(
        re.fullmatch(r"[+-]?\d*\.\d+", cell) for _, cells in rows for cell in cells if "." in cell
    )
    if comma:
        notes.append(
            Note(
                "odd",
                "decimal commas, where the standard has points; read as decimal commas",
                file=problems.file,
                line=rows[0][0],
            )
        )
    return rows, comma


def _unquoted(cell: str) -> str:
    if len(cell) > 1 and cell.startswith('"') and cell.endswith('"'):
        return cell[1:-1].replace('""', '"')
    return cell


def _unwrapped(table: CgatsTable, rows: list[tuple[int, list[str]]], width: int) -> list[tuple[int, list[str]]]:
    """Rows that were wrapped over several lines put together, where the declared number of sets proves it."""
    declared = table.first("NUMBER_OF_SETS")
    total = sum(len(cells) for _, cells in rows)
    if (
        declared is None
        or not declared[0].isdigit()
        or len(rows) == int(declared[0])
        or total != width * int(declared[0])
    ):
        return rows
    cells = [(place, cell) for place, row in rows for cell in row]
    return [
        (cells[start][0], [cell for _, cell in cells[start : start + width]]) for start in range(0, total, width)
    ]


def _check_counts(
    table: CgatsTable, rows: list[tuple[int, list[str]]], width: int, problems: Problems, notes: list[Note]
) -> None:
    for place, cells in rows:
        if len(cells) != width:
            problems.add(
                f"the row has {len(cells)} values, there are {width} fields",
                line=place,
                expected=f"{width} values",
                mend="put names with blanks in quotation marks; add or remove values",
            )
    declared = table.first("NUMBER_OF_FIELDS")
    if declared is not None and declared[0] != str(width):
        problems.add(
            f"NUMBER_OF_FIELDS says {declared[0]}, but {width} fields are named",
            line=declared[1],
            expected="the number of names between BEGIN_DATA_FORMAT and END_DATA_FORMAT",
            mend="correct the number, or add the missing field names",
        )
    sets = table.first("NUMBER_OF_SETS")
    complete = sets is not None and sets[0] == str(len(rows))
    if not table.ended:
        if complete:
            notes.append(Note("odd", "END_DATA is missing, but all declared sets are there", file=problems.file))
        else:
            problems.add(
                f"END_DATA is missing after {len(rows)} rows" + (f" of {sets[0]} declared" if sets else ""),
                line=rows[-1][0] if rows else table.data_line,
                expected="END_DATA after the last row",
                mend="export the file again: it is cut short",
            )
    elif sets is not None and not complete:
        problems.add(
            f"NUMBER_OF_SETS says {sets[0]}, but there are {len(rows)} rows",
            line=sets[1],
            expected="the number of rows between BEGIN_DATA and END_DATA",
            mend="restore the missing rows, or correct the number",
        )


def found_in(table: CgatsTable, notes: list[Note], file: str) -> Found:
    """What the keywords state. WEIGHTING_FUNCTION holds the light and the observer; so may INSTRUMENTATION."""
    found: Found = {}
    for keyword, values in table.keywords.items():
        key = canonical(keyword)
        if key is not None:
            found.setdefault(key, values[0])
    for value, place in table.keywords.get("WEIGHTING_FUNCTION", []):
        kind, _, rest = value.partition(",")
        kind = kind.strip().upper()
        if kind.startswith("ILLUMINANT") and rest:
            found.setdefault("light", (rest.strip(), place))
        elif kind.startswith("OBSERVER") and rest:
            found.setdefault("observer", (rest.strip(), place))
    for keyword in ("FILTER", "MEASUREMENT_SOURCE", "INSTRUMENTATION"):
        for value, place in table.keywords.get(keyword, []):
            if "filter" not in found and filter_of(value):
                found["filter"] = (value, place)
    # A filter keyword that names no condition gives way to another keyword that does.
    if "filter" in found and filter_of(found["filter"][0]) is None:
        for keyword in ("MEASUREMENT_SOURCE", "INSTRUMENTATION"):
            for value, place in table.keywords.get(keyword, []):
                if filter_of(value):
                    found["filter"] = (value, place)
    text = table.first("INSTRUMENTATION")
    if text is not None:
        _from_prose(text, found, notes, file)
    return found


def _from_prose(text: tuple[str, int], found: Found, notes: list[Note], file: str) -> None:
    """Light, observer, geometry and backing from the free text of INSTRUMENTATION, where nothing else has them."""
    prose, place = text
    told = []
    if "light" not in found and (match := re.search(r"\b(D50|D55|D65|D75)\b", prose)):
        found["light"] = (match[1], place)
        told.append(f"light {light_of(match[1])}")
    if "observer" not in found and (match := re.search(r"\b(2|10)\s*(?:degrees?\b|deg\b|\u00b0)", prose)):
        found["observer"] = (match[1], place)
        told.append(f"observer {stated_observer(match[1])}")
    if "geometry" not in found and (
        match := re.search(r"\b(45[ac]?[/:]0|0[/:]45[ac]?|d[ie]?[/:]8)(?:\u00b0)?", prose)
    ):
        found["geometry"] = (match[1], place)
        told.append(f"geometry {match[1]}")
    if "backing" not in found and (match := re.search(r"(?i)\b(white|black|self)[ -]backing", prose)):
        found["backing"] = (match[1].lower(), place)
        told.append(f"{match[1].lower()} backing")
    if told:
        notes.append(
            Note("info", f"taken from the text of INSTRUMENTATION: {', '.join(told)}", file=file, line=place)
        )
