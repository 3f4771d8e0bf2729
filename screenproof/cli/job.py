"""The commands around a job file: ``run`` and ``new``."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screenproof.cli._common import emit, emit_json, finish, notes_text, progress
from screenproof.cli._options import Json

if TYPE_CHECKING:
    from screenproof.proof.finding import Finding

RUN_EPILOG = "Example: screenproof run profiles_demo/packaging.toml"
MOST_FINDINGS = 30
"""So many findings are printed; all of them stand in result.json."""

NEW_EPILOG = "Example: screenproof new first-job && screenproof run first-job/job.toml"


def run(
    job: Annotated[Path, typer.Argument(metavar="JOB.toml", help="The job file.", show_default=False)],
    as_json: Json = False,
) -> None:
    """Run a job: result.json, the proof page index.html, drive values and patch images in its output folder.

    Exit code 0: every tolerance passed; 1: one failed; 2: the job or one of its inputs cannot be used.
    """
    from screenproof.jobs import check_outputs, load_job, run_job, write_outputs

    say = progress()
    loaded = load_job(job, say)
    check_outputs(loaded)
    result = run_job(loaded, say)
    say("writing")
    folder = write_outputs(
        result,
        loaded.output_folder,
        {display.name: display for display in loaded.displays},
        patches=loaded.output.patches,
        page=loaded.output.page,
    )
    say("")
    if as_json:
        emit_json(result.to_dict())
    else:
        emit(result.title)
        emit("")
        emit(result.summary.first)
        emit(findings_text(result.findings))
        emit("")
        main_file = "index.html" if loaded.output.page else "result.json"
        emit(f"written: {(folder / main_file).as_posix()}")
        if result.notes:
            emit(notes_text(result.notes))
        for caution in result.cautions:
            emit(f"caution: {caution}")
    finish(result.summary.status == "fail")


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings, one a paragraph, each with what to do; where the next ones ask for the same it stands once."""
    shown = findings[:MOST_FINDINGS]
    lines = []
    for one, follower in zip_longest(shown, shown[1:]):
        lines += ["", one.says]
        if one.do and (follower is None or follower.do != one.do):
            lines.append(f"  next: {one.do}")
    if len(findings) > len(shown):
        lines += ["", f"{len(findings) - len(shown)} more findings stand in result.json."]
    return "\n".join(lines)


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new or empty folder.", show_default=False)],
    as_json: Json = False,
) -> None:
    """Write a starter job with invented data into a new folder. It runs at once, and is there to be changed."""
    from screenproof.jobs.starter import new_job

    paths = new_job(folder)
    if as_json:
        emit_json(
            {"schema": "screenproof-new/1", "job": paths[0].as_posix(), "files": [p.as_posix() for p in paths]}
        )
        return
    for path in paths:
        emit(f"written: {path.as_posix()}")
    emit(f"next:    screenproof run {paths[0].as_posix()}")


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("run", short_help="Run a job and write its proof page.", epilog=RUN_EPILOG)(run)
    app.command("new", short_help="Write a starter job that runs at once.", epilog=NEW_EPILOG)(new)
