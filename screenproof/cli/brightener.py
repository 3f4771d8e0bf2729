"""The command ``brightener``: samples with brightener in lights with and without ultraviolet."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, notes_text, number, progress, table
from screenproof.errors import bad

EPILOG = "Example: screenproof brightener m1.csv --uv-excluded m2.csv --to D65,A,FL11 --without-uv FL11"


def brightener(
    samples: Annotated[
        str, typer.Argument(metavar="M1", help="Samples as read in D50 with its ultraviolet.", show_default=False)
    ],
    uv_excluded: Annotated[
        str,
        typer.Option(
            "--uv-excluded", metavar="M2", help="The same, read without ultraviolet.", show_default=False
        ),
    ],
    incandescent: Annotated[
        str | None,
        typer.Option("--incandescent", metavar="M0", help="The same, read in a lamp like A.", show_default=False),
    ] = None,
    to: Annotated[str, typer.Option("--to", metavar="LIGHTS", help="Lights, with commas between them.")] = "D65,A",
    without_uv: Annotated[
        str | None,
        typer.Option(
            "--without-uv",
            metavar="LIGHTS",
            help="Those of them that have no power below the first wavelength of their spectrum.",
            show_default=False,
        ),
    ] = None,
    observer: opt.ObserverName = "cie1931",
    viewing: Annotated[
        str, typer.Option("--viewing", metavar="LIGHT", help="Light to whose white colours are carried.")
    ] = "D50",
    excitation: Annotated[
        str | None,
        typer.Option(
            "--excitation",
            metavar="NM,NM",
            help="What excites the brightener; 300,420 unless given.",
            show_default=False,
        ),
    ] = None,
    near: Annotated[
        float | None,
        typer.Option(
            "--near",
            metavar="0..0.6",
            help="Most of the excitation in D50 above 400 nm; 0.3 unless given.",
            show_default=False,
        ),
    ] = None,
    m1_uv: Annotated[
        float | None,
        typer.Option(
            "--m1-uv",
            metavar="0..0.6",
            help="How far M1's ultraviolet may be from D50's; 0.15 unless given.",
            show_default=False,
        ),
    ] = None,
    m0_uv: Annotated[
        float | None,
        typer.Option(
            "--m0-uv",
            metavar="0..0.6",
            help="How far M0's ultraviolet may be from A's; 0.3 unless given.",
            show_default=False,
        ),
    ] = None,
    only: opt.Only = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """How much of each curve is brightener, and what it does in other lights: at least and at most.

    The figures are the CIEDE2000 from the colour as read with M1. They are bounds: how much a brightener gives
    in another light depends on which ultraviolet excites it, and the readings do not say. A light whose
    ultraviolet is not known is refused, unless it is stated to have none. Lamps of ultraviolet can hurt eyes
    and skin: keep to the local rules for optical radiation.
    """
    from screenproof.jobs.brightener import assumed_of, brightener_answer

    if m0_uv is not None and incandescent is None:
        raise bad(
            "there are no M0 readings to use it for", field="--m0-uv", mend="add --incandescent and its file"
        )
    say = progress()
    say("changing the ultraviolet")
    answer = brightener_answer(
        samples,
        uv_excluded,
        incandescent,
        to=to,
        without_uv=without_uv,
        observer=observer,
        from_light=viewing,
        assumed=assumed_of(excitation, near, m1_uv, m0_uv),
        only=only,
    )
    if plot is not None:
        from screenproof.jobs.brightener_plot import plot_brightener

        plot_brightener(answer, plot, force=force)
    say("")
    emit_json(answer) if as_json else emit(brightener_text(answer))


def brightener_text(answer: dict[str, Any]) -> str:
    """The brightener as a table, the strongest first; then, light by light, what is known in words."""
    entries = sorted(answer["samples"], key=lambda entry: -entry["emission"])
    lights = [at["light"] for at in entries[0]["lights"]] if entries else []
    rows = [
        [
            entry["name"],
            number(entry["emission"], 3),
            number(entry["peak_nm"], 0),
            number(entry["de00"]),
            *(
                "not known" if at["low"] is None else f"{at['low']:.1f} to {at['high']:.1f}"
                for at in entry["lights"]
            ),
        ]
        for entry in entries
    ]
    taken = answer["assumed"]
    lines = [
        f"Brightener of {answer['file']} (M1) against {answer['uv_excluded']} (M2)"
        + (f" and {answer['incandescent']} (M0)" if answer["incandescent"] else "")
        + f": observer {answer['observer']}, carried to the white of {answer['viewing']}",
        "",
        table(["sample", "emission", "at nm", "M1 to M2", *(f"in {name}" for name in lights)], rows),
        "",
        "emission: largest part of the curve that is brightener, reflectance factor; the others in CIEDE2000,",
        "from M1 to M2 as read, and at least to at most from the colour as read with M1 to that in the light",
        "",
    ]
    for k, name in enumerate(lights):
        known = [entry for entry in entries if entry["lights"][k]["low"] is not None]
        if not known:
            lines.append(f"in {name}: cannot be known: {entries[0]['lights'][k]['reason']}")
        else:
            lines.append(f"in {name}: {known[0]['name']}: {known[0]['lights'][k]['words']}")
    lines += [
        "",
        f"taken for granted: excitation within {taken['low_nm']:g} to {taken['high_nm']:g} nm, at most "
        f"{taken['near']:.0%} of it in D50 above 400 nm; M1's",
        f"ultraviolet within {taken['m1_uv']:.0%} of D50's"
        + (f", M0's within {taken['m0_uv']:.0%} of illuminant A's" if answer["incandescent"] else "")
        + "; the doubt of the readings comes on top",
    ]
    notes = notes_text(answer["notes"])
    return "\n".join(lines + (["", notes] if notes else []))


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("brightener", short_help="Samples with brightener in other lights.", epilog=EPILOG)(brightener)
