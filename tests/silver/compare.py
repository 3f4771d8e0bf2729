"""Which numbers of one JSON file are nowhere in another, whatever the layout of both.

``python -m tests.silver.compare OLD.json NEW.json``; exit code 1 if a number is missing.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.silver.silver import text_of

Rows = dict[str, dict[str, list[str]]]


def numbers_of(data: Any) -> Rows:
    """All numbers by row, each by its value to the last bit with the keys at which it stands (a multiset).

    A row is an object with a "name", and has what is not in a row within it; what is in no row is in row "".
    """
    rows: Rows = {}
    for row, key, value in _walk(data, "", ""):
        rows.setdefault(row, {}).setdefault(_bits(value), []).append(key)
    return rows


def _walk(data: Any, row: str, key: str) -> Iterator[tuple[str, str, int | float]]:
    if isinstance(data, dict):
        if isinstance(data.get("name"), str):
            row, key = data["name"], ""
        for own, value in data.items():
            yield from _walk(value, row, f"{key}.{own}".lstrip("."))
    elif isinstance(data, list):
        for i, value in enumerate(data):
            yield from _walk(value, row, f"{key}[{i}]")
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield row, key, data


def _bits(value: int | float) -> str:
    """A number to the last bit; a whole number is the same with and without a point."""
    return repr(int(value)) if value == int(value) else repr(value)


def missing(old: Any, new: Any) -> list[str]:
    """The numbers of ``old`` that its row of ``new`` has not, or not so often, a line each."""
    before, after, lines = numbers_of(old), numbers_of(new), []
    anywhere = {value for values in after.values() for value in values}
    for row, values in before.items():
        for value, keys in values.items():
            now = len(after.get(row, {}).get(value, []))
            if now < len(keys):
                where = "in other rows" if value in anywhere else "nowhere"
                where = f"{now} of {len(keys)} in the row" if now else where
                lines.append(f"{row or '(no row)'}: {', '.join(keys[:3])} = {value}: {where}")
    return lines


def main() -> None:
    if len(sys.argv) != 3:
        sys.exit("python -m tests.silver.compare OLD.json NEW.json")
    old, new = (json.loads(text_of(Path(name))) for name in sys.argv[1:])
    lines = missing(old, new)
    print("\n".join(lines) or "every number is there")
    sys.exit(1 if lines else 0)


if __name__ == "__main__":
    main()
