"""Where on a screen and when a reading was made: the columns position (or row and column) and minutes."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from screenproof.errors import Note
from screenproof.formats._fields import plain
from screenproof.formats._text import Problems, number
from screenproof.spectra import Array

_POSITION = frozenset(("POSITION", "POS", "PLACE", "LOCATION", "SCREEN_POSITION"))
_ROW = frozenset(("ROW", "SCREEN_ROW"))
_COLUMN = frozenset(("COLUMN", "COL", "SCREEN_COLUMN"))
_MINUTES = frozenset(("MINUTES", "MINUTE", "TIME_MIN", "TIME_MINUTES", "ELAPSED_MINUTES", "MIN"))
_OTHER_TIMES = frozenset(("TIME", "SECONDS", "HOURS", "TIMESTAMP", "ELAPSED", "TIME_S", "TIME_H"))

_CELL = re.compile(r"R?\s*(\d{1,2})\s*[,;/\-_. ]?\s*[CS]?\s*(\d{1,2})\Z", re.IGNORECASE)
_LINES = {"top": 1, "upper": 1, "middle": 2, "centre": 2, "center": 2, "bottom": 3, "lower": 3}
_SIDES = {"left": 1, "middle": 2, "centre": 2, "center": 2, "right": 3}
_MEND = 'write row and column from the top left: 1-1 to 3-3, or "top left", "centre"'


def position_of(text: str) -> str | None:
    """``'row,column'``, counted from the top left, for the ways of writing a place on a screen, else None.

    ``1,1``, ``1-1``, ``r1c1`` are rows and columns of any grid; words such as 'top left' and 'centre' are those of
    three rows and three columns.
    """
    cell = _CELL.match(text.strip())
    if cell is not None and re.search(r"\D", text.strip()):
        row, column = int(cell[1]), int(cell[2])
        return f"{row},{column}" if row and column else None
    words = re.split(r"[\s\-_,]+", text.strip().lower())
    if len(words) == 1 and words[0] in ("centre", "center", "middle"):
        return "2,2"
    if len(words) == 2:
        for line, side in (words, words[::-1]):
            if line in _LINES and side in _SIDES:
                return f"{_LINES[line]},{_SIDES[side]}"
    return None


def positions_of(
    names: Sequence[str],
    rows: Sequence[tuple[int, list[str]]],
    problems: Problems,
    header_line: int,
) -> tuple[str | None, ...] | None:
    """The place of every row on the screen, None where a cell is empty; None without such columns."""
    where, row, column = (_column(names, words) for words in (_POSITION, _ROW, _COLUMN))
    if where is None and (row is None) != (column is None):
        there, missing = ("row", "column") if row is not None else ("column", "row")
        problems.add(
            f"a column {there!r} and no column {missing!r}",
            line=header_line,
            expected="both, for the place of each reading on the screen",
            mend=f"add the column {missing!r}, or a column 'position'",
        )
        return None
    if where is None and row is None:
        return None
    found: list[str | None] = []
    for line, cells in rows:
        if where is not None:
            text = cells[where].strip()
        elif row is not None and column is not None:
            text = "-".join(cells[c].strip() for c in (row, column)).strip("-")
        place = position_of(text) if text else None
        if text and place is None:
            problems.add(
                f"{text!r} is no place on a screen", line=line, field="position", expected=_MEND[6:], mend=_MEND
            )
        found.append(place)
    return tuple(found) if any(place is not None for place in found) else None


def minutes_of(
    names: Sequence[str],
    rows: Sequence[tuple[int, list[str]]],
    problems: Problems,
    notes: list[Note],
    *,
    comma: bool,
    header_line: int,
) -> Array | None:
    """The minutes of every row, NaN where a cell is empty; None without such a column."""
    column = _column(names, _MINUTES)
    if column is None:
        other = _column(names, _OTHER_TIMES)
        if other is not None:
            notes.append(
                Note(
                    "info",
                    f"the column {names[other].strip()!r} is not used",
                    file=problems.file,
                    line=header_line,
                    mend="for a series over time give a column 'minutes' with the minutes from switching on",
                )
            )
        return None
    found = np.full(len(rows), np.nan)
    for i, (line, cells) in enumerate(rows):
        text = cells[column].strip()
        value = number(text, comma=comma) if text else np.nan
        if value is None or value < 0:
            problems.add(
                f"{text!r} minutes",
                line=line,
                field="minutes",
                expected="the minutes from switching on, 0 or more",
                mend="write a number, or leave the cell empty where no time is meant",
            )
        else:
            found[i] = value
    return found if np.isfinite(found).any() else None


def _column(names: Sequence[str], words: frozenset[str]) -> int | None:
    return next((i for i, name in enumerate(names) if plain(name) in words), None)
