"""The command ``inspect``: a file's kind, its facts, and what is odd about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, notes_text

if TYPE_CHECKING:
    from screenproof.jobs.job import Job

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
    answer = inspect_any(file)
    if plot is not None:
        from screenproof.cli.figures import draw_file
        from screenproof.questions.writing import check_target, save_figure

        check_target(plot, force)
        save_figure(draw_file(answer), plot, force)
    emit_json(answer) if as_json else emit(inspection_text(answer))


def inspect_any(file: str) -> dict[str, Any]:
    """What is in ``file``: samples, a light, a camera, readings, a profile, or a job.

    Raises InputError when it is none of them, or damaged.
    """
    from screenproof.formats import inspect_file
    from screenproof.questions.sources import existing_file, without_selector
    from screenproof.report.plain import notes_of, plain

    path = existing_file(without_selector(file))
    if path.suffix.lower() == ".toml":
        return {"schema": "screenproof-inspection/1", "file": file, **_job(path)}
    found = inspect_file(path)
    return {
        "schema": "screenproof-inspection/1",
        "file": file,
        "kind": found.kind,
        "summary": plain(found.summary),
        "notes": plain(notes_of(found.notes)),
    }


def _eyes(job: Job) -> dict[str, Any]:
    """The people of a job and what it knows of its readings, as far as it has them."""
    from screenproof.jobs.doubts import doubt_record

    found: dict[str, Any] = {}
    if job.people is not None:
        found["population"] = job.people.table.label or job.people.population.label
    doubt = doubt_record(job)
    if doubt is not None:
        found["readings"] = {source.name: source.stated for source in doubt.sources}
    return found


def _ink(job: Job) -> dict[str, Any]:
    """What a job has of inks, if it has any."""
    if not job.ink:
        return {}
    return {
        "stocks": [stock.name for stock in job.ink.stocks],
        "inks": {one.table.name: len(one.inks) for one in job.ink.sets},
        "presses": {one.table.name: " ".join(one.press.channels) for one in job.ink.presses},
        "recipes": [one.table.name for one in job.ink.recipes],
    }


def _job(path: Path) -> dict[str, Any]:
    """A job file with its inputs, all of them read and checked."""
    from screenproof.jobs import load_job
    from screenproof.report.plain import notes_of, plain

    job = load_job(path)
    notes = [
        *job.notes,
        *(note for group in job.groups for note in group.samples.notes),
        *(note for display in job.displays for note in display.notes),
        *(note for one in job.ink.sets for ink in one.inks for note in ink.notes),
        *(note for one in job.ink.presses for note in one.press.notes),
        *(note for one in job.ink.recipes for note in one.library.notes),
    ]
    return {
        "kind": "job",
        "summary": {
            "title": job.title,
            "samples": {group.group: len(group.samples) for group in job.groups},
            "displays": [f"{display.name} ({display.kind})" for display in job.displays],
            "lights": [light.name for light in job.lights],
            "observers": [observer.name for observer in job.observers],
            "approvals": len(job.approvals),
            "pairs": sum(len(entry.sides) for entry in job.pairs),
            "tolerance_sets": list(job.tolerances),
            **_eyes(job),
            **_ink(job),
            "output": job.output_folder.as_posix(),
        },
        "notes": plain(notes_of(notes)),
    }


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
