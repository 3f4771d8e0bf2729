"""The commands around a job file: ``run`` and ``new``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from screenproof.cli._common import emit, emit_json, finish, notes_text, progress
from screenproof.cli._options import Json

RUN_EPILOG = "Example: screenproof run profiles_demo/packaging.toml"
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
        for sentence in result.summary.sentences:
            emit(sentence)
        emit("")
        main_file = "index.html" if loaded.output.page else "result.json"
        emit(f"written: {(folder / main_file).as_posix()}")
        if result.notes:
            emit(notes_text(result.notes))
        for caution in result.cautions:
            emit(f"caution: {caution}")
    finish(result.summary.status == "fail")


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
