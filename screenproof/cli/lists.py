"""The commands ``lights`` and ``observers``: what there is by name."""

from __future__ import annotations

from typing import Annotated

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, notes_text, number, table

LIGHTS_EPILOG = "Example: screenproof lights D50 FL11 lamp.spdx --plot lights.svg"
OBSERVERS_EPILOG = "Example: screenproof observers age=60,field=2 age=25,field=10,deutan=6"


def lights(
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[LIGHT]...", help="Only these: names, D5000K, P3200K, or files.", show_default=False
        ),
    ] = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The standard lights by name, with their chromaticity (1931, 2 degrees) and colour temperature."""
    from screenproof.jobs.lists import lights_answer

    answer = lights_answer(names)
    if plot is not None:
        from screenproof.jobs.plots import plot_lights

        plot_lights(names, plot, force=force)
    if as_json:
        emit_json(answer)
        return
    rows = [
        [
            light["name"],
            *(number(value, 4) for value in light["xy"]),
            "-" if light["cct"] is None else f"{light['cct']:.0f} K",
            light["label"],
        ]
        for light in answer["lights"]
    ]
    emit(table(["light", "x", "y", "temperature", "what it is"], rows, left=(0, 4)))
    if not names:
        emit("\nBesides: CIE daylight as D5000K, a Planck radiator as P3200K, a measured light from a file.")


def observers(
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[OBSERVER]...",
            help="Only these: names, eyes such as age=60,field=2, or files with a camera's sensitivities.",
            show_default=False,
        ),
    ] = None,
    as_json: opt.Json = False,
) -> None:
    """The standard observers by name, or what an observer that you write means."""
    from screenproof.jobs.lists import observers_answer

    answer = observers_answer(names)
    if as_json:
        emit_json(answer)
        return
    rows = [
        [
            item["name"],
            *("-" if item[key] is None else f"{item[key]:g}" for key in ("field", "age")),
            item["label"] or item["kind"],
        ]
        for item in answer["observers"]
    ]
    notes = notes_text(answer["notes"])
    emit(table(["observer", "field, degrees", "age, years", "what it is"], rows, left=(0, 3)))
    if notes:
        emit(f"\n{notes}")
    if not names:
        emit("\nBesides, an eye by its age and field, as age=60,field=2 (20 to 80 years, 1 to 10 degrees), or one")
        emit("with shifted cones, as age=60,deutan=6 (protan, deutan or tritan, 0 to 20 nm); a camera's three")
        emit("sensitivities from a file; and in match, gamut and shift many people, with --population 200.")


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("lights", short_help="The standard lights by name.", epilog=LIGHTS_EPILOG)(lights)
    app.command("observers", short_help="The standard observers by name.", epilog=OBSERVERS_EPILOG)(observers)
