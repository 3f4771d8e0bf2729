"""Printing: aligned tables, JSON, notes, and progress that only a waiting person sees."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import typer

from screenproof.english import fixed as number
from screenproof.errors import Note

__all__ = ["emit", "emit_json", "finish", "notes_text", "number", "printable", "progress", "table"]

# A name in a file must not steer the terminal: every control character but line end and tab is shown as a mark.
_CONTROLS = {code: "\N{REPLACEMENT CHARACTER}" for code in (*range(32), *range(127, 160)) if code not in (9, 10)}


def printable(text: str) -> str:
    """``text`` without control characters but line ends and tabs."""
    return text.translate(_CONTROLS)


def emit(text: str) -> None:
    """Print to standard output. A reader that has gone (head, a pager) is no error."""
    try:
        print(printable(text))
        sys.stdout.flush()
    except BrokenPipeError:
        # The interpreter flushes again when it ends; that must not meet the broken pipe.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def emit_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON without NaN; escaped to ASCII where the output is not UTF-8."""
    unicode = (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
    emit(json.dumps(answer, indent=1, ensure_ascii=not unicode, allow_nan=False))


def finish(failed: bool) -> None:
    """Leave with 1 when a tolerance failed; otherwise the command ends with 0."""
    if failed:
        raise typer.Exit(1)


def table(header: Sequence[str], rows: Iterable[Sequence[str]], left: Sequence[int] = (0,)) -> str:
    """Columns set apart by two blanks; see :func:`screenproof.report.table.aligned`."""
    from screenproof.report.table import aligned

    return aligned(header, rows, left)


def notes_text(notes: Iterable[dict[str, Any] | Note]) -> str:
    """Notes, one a line, each beginning with its kind."""
    lines = []
    for note in notes:
        shown = note if isinstance(note, Note) else Note(**note)
        lines.append(f"{shown.kind}: {shown}")
    return "\n".join(dict.fromkeys(lines))


def progress() -> Callable[[str], None]:
    """A function that shows what is being done, from the second that a person has waited half a second.

    It writes one line over itself on standard error, only to a terminal; called with '' it wipes the line.
    """
    if not sys.stderr.isatty():
        return lambda words: None
    begun = time.monotonic()

    def say(words: str) -> None:
        if time.monotonic() - begun > 0.5 or not words:
            print(f"\r\x1b[K{words[:100]}", end="", file=sys.stderr, flush=True)

    return say
