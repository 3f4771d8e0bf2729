"""Presses in and out: JSON of the schema ``screenproof-press/1``."""

from __future__ import annotations

import json
from pathlib import Path

from screenproof.errors import bad
from screenproof.formats._text import decode, read_bytes
from screenproof.formats._write import write_beside
from screenproof.formats.detect import json_schema
from screenproof.subtractive import Press, press_from_dict, press_to_dict


def is_press(path: str | Path) -> bool:
    """Whether a file is JSON that says to be a press, be it damaged."""
    return json_schema(path).startswith("screenproof-press/")


def read_press(path: str | Path) -> Press:
    """The press of a JSON file. Raises InputError with every problem: no JSON, another schema, a damaged field."""
    text, _ = decode(read_bytes(path), path)
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        raise bad(
            f"this is no JSON: {error.msg}",
            file=path,
            line=error.lineno,
            expected="a press that 'press fit' wrote",
            mend="fit the press again; the file is cut short or was edited",
        ) from None
    return press_from_dict(data, file=path)


def write_press(press: Press, path: str | Path, *, force: bool = False) -> Path:
    """Write a press as JSON and give the path back. An existing file is refused unless ``force``."""
    return write_beside(path, _json(press_to_dict(press)), force=force)


def _json(plain: dict[str, object]) -> str:
    """JSON with a row of numbers on a line, so that a person can read it and a program compare it."""
    parts = []
    for key, value in plain.items():
        if isinstance(value, list) and value and isinstance(value[0], (list, dict)):
            rows = ",\n  ".join(json.dumps(row, ensure_ascii=False, allow_nan=False) for row in value)
            parts.append(f" {json.dumps(key)}: [\n  {rows}\n ]")
        else:
            parts.append(f" {json.dumps(key)}: {json.dumps(value, ensure_ascii=False, allow_nan=False)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"
