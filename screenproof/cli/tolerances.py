"""The command ``tolerances``: the presets of tolerance sets, with their sources."""

from __future__ import annotations

from typing import Annotated

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json

EPILOG = "Example: screenproof tolerances press-solids contract-proof"


def tolerances(
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[PRESET]...", help="Only these.", show_default=False),
    ] = None,
    as_json: opt.Json = False,
) -> None:
    """Tolerances by name: the limits of standards and of common practice, with where each comes from.

    In a job: [tolerances.NAME] with preset = "contract-proof"; keys beside it go before the preset's.
    """
    from screenproof.jobs.presets import tolerances_answer

    answer = tolerances_answer(names)
    if as_json:
        emit_json(answer)
        return
    for preset in answer["presets"]:
        limits = ", ".join(f"{key} {value:g}" for key, value in preset["limits"].items())
        emit(f"{preset['name']}: {preset['label']}")
        emit(f"  {preset['metric_label']}: {limits}")
        emit(f"  source: {preset['source']}")
        for remark in preset["remarks"]:
            emit(f"  {remark}")
    emit('\nUse one in a job: [tolerances.house] with preset = "NAME"; your own keys go before it.')


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("tolerances", short_help="Tolerances by name, with their sources.", epilog=EPILOG)(tolerances)
