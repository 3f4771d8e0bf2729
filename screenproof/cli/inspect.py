"""The command ``inspect``: what is in a file, and what is odd about it."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, notes_text

EPILOG = "Example: screenproof inspect characterisation.txt --plot curves.svg"


def inspect(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE", help="Samples, a light, a camera, readings, a profile, or a job.", show_default=False
        ),
    ],
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What is in a file and what is odd about it. The kind is found from the content, not from the name."""
    from screenproof.jobs.inspection import inspect_any

    answer = inspect_any(file)
    if plot is not None:
        from screenproof.jobs.plots import plot_file

        plot_file(answer, plot, force=force)
    emit_json(answer) if as_json else emit(inspection_text(answer))


def inspection_text(answer: dict[str, Any]) -> str:
    """The summary, a line per fact, and the notes."""
    facts = {key.replace("_", " "): _fact(value) for key, value in answer["summary"].items()}
    width = max((len(key) for key in facts), default=0)
    lines = [f"{answer['file']}: {answer['kind']}", ""]
    lines += [f"  {key.ljust(width)}  {value}" for key, value in facts.items() if value]
    notes = notes_text(answer["notes"])
    lines += ["", notes or "nothing odd"]
    return "\n".join(lines)


def _fact(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {_fact(item)}" for key, item in value.items() if item is not None)
    if isinstance(value, (list, tuple)):
        shown = ", ".join(_fact(item) for item in value[:8])
        return shown + (f", and {len(value) - 8} more" if len(value) > 8 else "")
    return str(value)


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("inspect", short_help="What is in a file, and what is odd about it.", epilog=EPILOG)(inspect)
