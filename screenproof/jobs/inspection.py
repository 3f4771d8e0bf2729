"""The answer of the command ``inspect``: a file's kind, its facts, and what is odd about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.jobs.direct import plain_notes
from screenproof.questions.sources import existing_file, without_selector

if TYPE_CHECKING:
    from screenproof.jobs.job import Job


def inspect_any(file: str) -> dict[str, Any]:
    """What is in ``file``: samples, a light, a camera, readings, a profile, or a job.

    Raises InputError when it is none of them, or damaged.
    """
    from screenproof.formats import inspect_file
    from screenproof.jobs.records import plain

    path = existing_file(without_selector(file))
    if path.suffix.lower() == ".toml":
        return {"schema": "screenproof-inspection/1", "file": file, **_job(path)}
    found = inspect_file(path)
    return {
        "schema": "screenproof-inspection/1",
        "file": file,
        "kind": found.kind,
        "summary": plain(found.summary),
        "notes": plain_notes(found.notes),
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
    from screenproof.jobs.load import load_job

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
        "notes": plain_notes(notes),
    }
