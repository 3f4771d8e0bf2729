"""What the commands that are not questions yet have in common."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from screenproof.errors import Note, bad

Answer = dict[str, Any]


def plain_notes(*sources: Sequence[Note]) -> list[Answer]:
    """Notes as dicts, each once, without their empty parts."""
    seen = dict.fromkeys(note for notes in sources for note in notes)
    return [{key: value for key, value in asdict(note).items() if value is not None} for note in seen]


def check_limit(limit: float | None) -> None:
    """InputError unless the limit is a number of 0 or more."""
    if limit is not None and not 0 <= limit < math.inf:
        raise bad(f"a limit of {limit:g}", field="--limit", expected="a CIEDE2000 of 0 or more")


def status_of(figure: float, limit: float | None) -> str | None:
    """'pass' or 'fail' against a limit, by the rule of the tolerance sets; None without a limit."""
    if limit is None:
        return None
    return "pass" if figure <= limit else "fail"


def several(text: str, what: str) -> list[str]:
    """The names of a comma-separated option. InputError: none, or one of them twice."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    expected = "names with commas between them, such as A,FL2,FL11"
    if not names:
        raise bad("no name is given", field=what, expected=expected)
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        raise bad(f"{', '.join(twice)} stands twice", field=what, expected=expected)
    return names
