"""The command ``light check``: is a light fit to judge colours in."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._checks import checks_table
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress

EPILOG = "Example: screenproof light check booth.csv --illuminance 2100 --plot booth.png"


def check(
    spectrum: Annotated[
        str,
        typer.Argument(metavar="SPECTRUM", help="A measured light (CSV or SPDX), or a name.", show_default=False),
    ],
    aim: Annotated[str, typer.Option("--aim", metavar="LIGHT", help="The light that it stands for.")] = "D50",
    illuminance: Annotated[
        float | None,
        typer.Option(
            "--illuminance", metavar="LUX", help="Read where the samples lie; else the file's.", show_default=False
        ),
    ] = None,
    level: Annotated[
        str | None,
        typer.Option(
            "--level",
            metavar="P1|P2",
            help="The level that is wanted: P1, 2000 lx, or P2, 500 lx; else either will do.",
            show_default=False,
        ),
    ] = None,
    specimens: Annotated[
        str | None,
        typer.Option(
            "--specimens",
            metavar="SAMPLES",
            help="Pairs that match in the aim, called NAME a and NAME b.",
            show_default=False,
        ),
    ] = None,
    partners: Annotated[
        str | None,
        typer.Option(
            "--partners", metavar="SAMPLES", help="The other halves, if in another file.", show_default=False
        ),
    ] = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """Check a light against ISO 3664: colour, rendering, metamerism, illuminance. Exit code 1 if one fails."""
    from screenproof.jobs.light_check import light_answer

    say = progress()
    say("checking the light")
    if plot is not None:
        from screenproof.questions.writing import check_target

        check_target(plot, force)
    answer = light_answer(
        spectrum, aim=aim, illuminance=illuminance, level=level, specimens=specimens, partners=partners
    )
    if plot is not None:
        from screenproof.jobs.check_plots import plot_light_check

        plot_light_check(spectrum, answer, plot, force=force)
    say("")
    emit_json(answer) if as_json else emit(check_text(answer))
    finish(any(row["status"] == "fail" for row in answer["rows"]))


def check_text(answer: dict[str, Any]) -> str:
    """The check as a table, the rendering indices on a line, and the notes."""
    name = answer["light"] if not answer["label"] else f"{answer['light']}, {answer['label']}"
    low, high, step = answer["range_nm"]
    lines = [
        f"Check of {name}, {low:g} to {high:g} nm by {step:g}, against {answer['aim']} and ISO 3664:2009",
        "",
        checks_table(answer["rows"]),
        "",
        "R1 to R14   " + " ".join(number(value, 0).rjust(4) for value in answer["rendering"]["special"]),
        "",
        notes_text(answer["notes"]),
    ]
    return "\n".join(lines)


def add_to(app: typer.Typer) -> None:
    """Register the group."""
    group = typer.Typer(rich_markup_mode=None, no_args_is_help=True)
    group.callback()(lambda: None)
    group.command("check", short_help="Check a light against ISO 3664.", epilog=EPILOG)(check)
    app.add_typer(group, name="light", help="One light: check whether it is fit to judge colours in.")
