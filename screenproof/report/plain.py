"""Plain data: dataclasses over arrays as dicts, lists, numbers and texts with a version, as JSON has them.

The fields of an answer that have a value for each of its rows are made by :func:`row`: in plain data they stand
together, one dict a row.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from screenproof.errors import Note


def row(key: str = "", default: Any = dataclasses.MISSING) -> Any:
    """A field with a value for each row; ``key``: what it is called there, unless it is the field's own name.

    An empty one is left out.
    """
    return dataclasses.field(default=default, metadata={"row": True, "key": key})


def hidden(default: Any = None) -> Any:
    """A field that is at hand in Python and is no part of the plain data."""
    return dataclasses.field(default=default, repr=False, metadata={"hidden": True})


def maybe() -> Any:
    """A field that is left out of the plain data where it is None."""
    return dataclasses.field(default=None, metadata={"maybe": True})


def plain(value: Any) -> Any:
    """A value of dataclasses and arrays as dicts, lists, numbers and texts, without NaN (None instead)."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        if isinstance(value, Note):
            return {key: item for key, item in dataclasses.asdict(value).items() if item is not None}
        return {item.name.rstrip("_"): plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float):
        return value if np.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    return value if isinstance(value, (str, int, bool, type(None))) else str(value)


def answer_dict(answer: Any, rows_key: str) -> dict[str, Any]:
    """An answer as plain data: its schema, its own fields in their order, its rows under ``rows_key``."""
    found: dict[str, Any] = {"schema": answer.schema}
    columns: dict[str, Sequence[Any]] = {}
    for one in dataclasses.fields(answer):
        value, said = getattr(answer, one.name), one.metadata
        if said.get("hidden") or (said.get("maybe") and value is None):
            continue
        key = said.get("key") or one.name.rstrip("_")
        if not said.get("row"):
            found[key] = plain(value)
            continue
        found.setdefault(rows_key, [])  # the rows stand where their first field does
        if len(value):
            columns[key] = value
    if columns:
        count = len(next(iter(columns.values())))
        found[rows_key] = [{key: plain(column[i]) for key, column in columns.items()} for i in range(count)]
    return found


def notes_of(*sources: Iterable[Note]) -> tuple[Note, ...]:
    """Notes of several sources, each once, in their order."""
    return tuple(dict.fromkeys(note for notes in sources for note in notes))


def notes_lines(notes: Iterable[Note]) -> list[str]:
    """Notes, one a line, each beginning with its kind."""
    return list(dict.fromkeys(f"{note.kind}: {note}" for note in notes))


def json_text(data: Mapping[str, Any], *, ascii_only: bool = False) -> str:
    """Plain data as JSON without NaN."""
    return json.dumps(data, indent=1, ensure_ascii=ascii_only, allow_nan=False)
