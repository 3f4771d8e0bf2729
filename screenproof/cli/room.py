"""The command ``room``: what the light of a room does to a screen, and how far to dim it."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

EPILOG = "Example: screenproof room inks.csv --display office.icc --room 500 --excess 2"


def room(
    samples: Annotated[
        str | None,
        typer.Argument(
            metavar="[SAMPLES]", help="Samples that are matched on the screen, if any.", show_default=False
        ),
    ] = None,
    display: opt.DisplayName = "srgb",
    lux: opt.Room = None,
    room_light: opt.RoomLight = None,
    screen_reflectance: opt.ScreenReflectance = None,
    contrast: Annotated[
        float | None,
        typer.Option("--contrast", metavar="RATIO", help="Contrast that must be kept.", show_default=False),
    ] = None,
    on_off: Annotated[
        float | None,
        typer.Option(
            "--on-off",
            metavar="PERCENT",
            help="Most that the black may be, in percent of the screen switched off.",
            show_default=False,
        ),
    ] = None,
    excess: Annotated[
        float | None,
        typer.Option("--excess", metavar="DE00", help="Most that a sample may be off.", show_default=False),
    ] = None,
    only: opt.Only = None,
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    basis: opt.Basis = "white",
    curve: opt.Curve = None,
    luminance: opt.Luminance = None,
    black: opt.Black = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What the room's light does to a screen's black, contrast and gamut, and to a match; how far to dim it.

    Exit code 1 when a limit that was asked for (--contrast, --on-off, --excess) does not hold in this room.
    """
    from screenproof.jobs.direct import DisplayWords, ViewingWords
    from screenproof.jobs.room import RoomLimits, room_answer

    say = progress()
    say("lighting the room")
    if plot is not None:
        from screenproof.questions.writing import check_target

        check_target(plot, force)
    screen = DisplayWords(display, curve, luminance, black, lux, room_light, screen_reflectance)
    answer = room_answer(
        screen,
        file=samples,
        only=only,
        seen=ViewingWords(light, observer, basis),
        limits=RoomLimits(contrast, on_off, excess),
    )
    if plot is not None:
        from screenproof.jobs.check_plots import plot_room

        plot_room(screen, answer, plot, force=force)
    say("")
    emit_json(answer) if as_json else emit(room_text(answer))
    finish(any(entry["status"] == "fail" for entry in answer["limits"]))


def room_text(answer: dict[str, Any]) -> str:
    """The screen in the dark and in the room, its samples, and what to do."""
    lit = answer["room"]
    lines = [
        f"{answer['display']['label']} with {lit['illuminance']:g} lx of {lit['light']} on a screen that reflects "
        f"{100.0 * lit['reflectance']:g} %, observer {answer['observer']}",
        "",
    ]
    keys = [
        ("white, cd/m2", "white", 1),
        ("black, cd/m2", "black", 3),
        ("contrast, : 1", "contrast", 0),
        ("black on / off, %", "on_off", 0),
        ("gamut, u'v' area, %", "area_percent", 1),
        ("gamut, CIELAB volume, %", "volume_percent", 1),
    ]
    rows = [[name, *(number(answer[side][key], digits) for side in ("dark", "lit"))] for name, key, digits in keys]
    lines += [table(["", "dark room", "this room"], rows)]
    if answer["samples"]:
        ordered = sorted(answer["samples"], key=lambda entry: (-entry["lit"]["excess"], -entry["moved"]))
        rows = [
            [
                entry["name"],
                number(entry["dark"]["excess"]),
                number(entry["lit"]["excess"]),
                number(entry["lit"]["residual"]),
                number(entry["moved"]),
            ]
            for entry in ordered
        ]
        header = ["sample", "excess, dark", "excess, here", "residual, here", "codes of the dark, here"]
        lines += ["", table(header, rows), "", "in CIEDE2000; the last column is a match made for a dark room"]
    lines += ["", *(_limit_line(entry) for entry in answer["limits"]), "", notes_text(answer["notes"])]
    return "\n".join(lines)


def _limit_line(entry: dict[str, Any]) -> str:
    source = f"{entry['source']}, {entry['obtained']}" if entry["source"] else entry["obtained"]
    mark = {"fail": "FAIL", "pass": "pass", "told": "told"}[entry["status"]]
    return f"{mark}  {entry['sentence']} ({source})"


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("room", short_help="What room light does to a screen, and how far to dim it.", epilog=EPILOG)(room)
