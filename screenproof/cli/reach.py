"""The command ``reach``: can this colour be printed, how far is the nearest, what stands in the way."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _ink_options as ink
from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table
from screenproof.cli.press import percents

EPILOG = (
    "Example: screenproof reach press.json --display office.icc --code 12,140,96 --bits 8 --total 300 --limit 2"
)

Verbose = dict[str, Any]


def reach(
    press: ink.PressFile,
    samples: Annotated[
        str | None,
        typer.Option("--samples", metavar="SAMPLES", help="Ask for the samples of a file.", show_default=False),
    ] = None,
    only: opt.Only = None,
    display: Annotated[
        str | None,
        typer.Option(
            "--display", metavar="NAME_OR_FILE", help="Ask for colours of this display.", show_default=False
        ),
    ] = None,
    code: Annotated[
        list[str] | None,
        typer.Option("--code", metavar="R,G,B", help="A code on it; may be given again.", show_default=False),
    ] = None,
    bits: ink.Bits = 8,
    total: ink.Total = None,
    channel_limit: ink.ChannelLimit = None,
    black: ink.BlackGeneration = "smooth",
    own_stock: Annotated[
        bool, typer.Option("--own-stock", help="The display's white stands for the bare stock of the press.")
    ] = False,
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    basis: opt.Basis = "white",
    illuminance: opt.Illuminance = None,
    curve: opt.Curve = None,
    luminance: opt.Luminance = None,
    display_black: Annotated[
        float | None,
        typer.Option(
            "--display-black", metavar="CD/M2", help="Luminance of the display's black.", show_default=False
        ),
    ] = None,
    room: opt.Room = None,
    limit: opt.Limit = None,
    as_json: opt.Json = False,
) -> None:
    """Whether a press prints a colour on its stock, how far off the nearest is, and what stands in the way.

    For samples, or for colours that were approved on a display. Exit code 1 when one is farther than --limit.
    """
    from screenproof.jobs.direct import DisplayWords, ViewingWords
    from screenproof.jobs.separations import reach_answer

    say = progress()
    say("asking the press")
    screen = None if display is None else DisplayWords(display, curve, luminance, display_black, room)
    answer = reach_answer(
        press,
        samples=samples,
        only=only,
        display=screen,
        codes=code or (),
        bits=bits,
        viewing_words=ViewingWords(light, observer, basis, illuminance=illuminance),
        own_stock=own_stock,
        total=total,
        channel_limit=channel_limit,
        black=black,
        limit=limit,
    )
    say("")
    emit_json(answer) if as_json else emit(reach_text(answer))
    finish(any(entry["status"] == "fail" for entry in answer["samples"]))


def reach_text(answer: Verbose) -> str:
    """The reach as a table, what cannot be printed first, and a sentence for each of these."""
    entries = sorted(answer["samples"], key=lambda entry: (entry["printable"], -entry["excess"], 0))
    outside = [entry for entry in entries if not entry["printable"]]
    where = f" on {answer['display']}" if answer["display"] else ""
    lines = [
        f"Reach of {answer['press']}{where}: light {answer['light']}, observer {answer['observer']}, basis "
        f"{answer['basis']}, {percents(answer['limits'], answer['channels'])}",
        f"{len(outside)} of {len(entries)} cannot be printed."
        if outside
        else f"All {len(entries)} can be printed.",
    ]
    judged = answer["limit"] is not None
    header = ["colour", "L*", "a*", "b*", "printed", "excess", *answer["channels"], "total"]
    header += ["verdict"] if judged else []
    rows = [
        [
            entry["name"],
            *(number(value) for value in entry["lab"]),
            "yes" if entry["printable"] else "NO",
            number(entry["excess"]),
            *(number(100.0 * tint, 0) for tint in entry["tints"].values()),
            number(100.0 * entry["coverage"], 0),
            *([entry["status"]] if judged else []),
        ]
        for entry in entries
    ]
    lines += ["", table(header, rows), "", "excess in CIEDE2000; tints, which give the nearest colour, in percent"]
    if outside:
        lines += ["", *(entry["sentence"] for entry in outside)]
    notes = notes_text(answer["notes"])
    return "\n".join(lines + (["", notes] if notes else []))


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("reach", short_help="Can this colour be printed, and if not, why.", epilog=EPILOG)(reach)
