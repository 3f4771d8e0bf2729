"""The group ``press``: fit one, predict what it prints, find tints for colours."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from screenproof.cli import _ink_options as ink
from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

FIT_EPILOG = "Example: screenproof press fit characterisation.txt -o press.json --json"
PREDICT_EPILOG = "Example: screenproof press predict press.json tints.csv --json"
SEPARATE_EPILOG = (
    "Example: screenproof press separate press.json colours.csv --total 300 --channel-limit K=95 --black most "
    "-o tints.csv"
)

Verbose = dict[str, Any]


def fit(
    characterisation: Annotated[
        str,
        typer.Argument(
            metavar="CHARACTERISATION",
            help="Patches with their tints and curves, XYZ or Lab: CSV, CGATS, CxF3 or JSON.",
            show_default=False,
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="PRESS.json", help="Write the press.", show_default=False),
    ] = None,
    name: Annotated[
        str | None, typer.Option("--name", metavar="NAME", help="Of the press.", show_default=False)
    ] = None,
    n: Annotated[
        float | None,
        typer.Option("--n", metavar="N", help="Yule-Nielsen factor; found unless given.", show_default=False),
    ] = None,
    channels: Annotated[
        str | None,
        typer.Option(
            "--channels", metavar="A,B,...", help="Only these, and patches of them alone.", show_default=False
        ),
    ] = None,
    levels: Annotated[
        str | None,
        typer.Option(
            "--levels",
            metavar="PERCENT,...",
            help="Fit on ramps and patches at these levels, judge by the others: 0,40,100.",
            show_default=False,
        ),
    ] = None,
    limit: Annotated[
        float | None,
        typer.Option(
            "--limit",
            metavar="DE00",
            help="Exit with 1 when the 95th percentile held out is above this.",
            show_default=False,
        ),
    ] = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """Fit a press to a characterisation of 1 to 8 inks, and say how well it predicts patches it did not see.

    Tone value curves and a Yule-Nielsen Neugebauer model, spectral where there are curves, cellular where the
    file holds a full grid, which is found by itself.
    """
    from screenproof.jobs.presses import fit_answer

    say = progress()
    say("fitting")
    answer = fit_answer(
        characterisation,
        out,
        name=name,
        n=n,
        channels=channels,
        levels=levels,
        limit=limit,
        force=force,
    )
    say("")
    emit_json(answer) if as_json else emit(fit_text(answer))
    finish(answer["status"] == "fail")


def predict(
    press: ink.PressFile,
    tints: Annotated[
        str,
        typer.Argument(
            metavar="TINTS", help="A list of tints, a column a channel: CSV or CGATS.", show_default=False
        ),
    ],
    light: ink.PressLight = None,
    observer: ink.PressObserver = None,
    against: Annotated[
        str | None,
        typer.Option(
            "--against",
            metavar="SAMPLES",
            help="Measured samples of the same names: how far they are.",
            show_default=False,
        ),
    ] = None,
    limit: opt.Limit = None,
    out: ink.SamplesOut = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What a press prints for each row of tints: XYZ, Lab and, where it is spectral, the curve.

    It is said which tints stand on overprints that were never measured. Exit code 1 when a measured sample is
    farther than --limit.
    """
    from screenproof.jobs.presses import predict_answer

    say = progress()
    say("predicting")
    answer = predict_answer(
        press, tints, out, light=light, observer=observer, against=against, limit=limit, force=force
    )
    say("")
    emit_json(answer) if as_json else emit(predict_text(answer))
    finish(any(entry.get("status") == "fail" for entry in answer["samples"]))


def separate(
    press: ink.PressFile,
    targets: Annotated[
        str,
        typer.Argument(
            metavar="TARGETS", help="Samples to be printed: CSV, CGATS, CxF3 or JSON.", show_default=False
        ),
    ],
    total: ink.Total = None,
    channel_limit: ink.ChannelLimit = None,
    black: ink.BlackGeneration = "smooth",
    light: ink.PressLight = None,
    observer: ink.PressObserver = None,
    to: Annotated[
        str | None,
        typer.Option(
            "--to",
            metavar="LIGHTS",
            help="For curves: the tints that shift least in these lights.",
            show_default=False,
        ),
    ] = None,
    only: opt.Only = None,
    limit: opt.Limit = None,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="TINTS.csv", help="Write the tints, in percent.", show_default=False),
    ] = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The tints that print each sample within the limits; of one that cannot be printed, those of the nearest.

    Exit code 1 when a print is farther than --limit from its sample.
    """
    from screenproof.jobs.separations import separate_answer

    say = progress()
    say("separating")
    answer = separate_answer(
        press,
        targets,
        out,
        total=total,
        channel_limit=channel_limit,
        black=black,
        light=light,
        observer=observer,
        to=to,
        only=only,
        limit=limit,
        force=force,
    )
    say("")
    emit_json(answer) if as_json else emit(separate_text(answer))
    finish(any(entry["status"] == "fail" for entry in answer["samples"]))


def _tail(answer: Verbose, key: str = "written") -> list[str]:
    notes = notes_text(answer["notes"])
    written = [] if answer[key] is None else ["", f"written: {answer[key]}"]
    return [*written, *(["", notes] if notes else [])]


def percents(limits: Verbose, channels: list[str]) -> str:
    """Limits in percent: 'total 300 %, K 95 %'; channels at 100 are left out."""
    parts = [f"total {100.0 * limits['total']:.0f} %"]
    parts += [
        f"{name} {100.0 * most:.0f} %"
        for name, most in zip(channels, limits["channels"], strict=True)
        if most < 1.0
    ]
    return ", ".join(parts)


def fit_text(answer: Verbose) -> str:
    """The report of a fit as lines of text."""
    lines = [f"Fit of {answer['file']}: {', '.join(answer['channels'])}", ""]
    rows = [("patches", f"{answer['fitted_on']} fitted, {'curves' if answer['spectral'] else 'XYZ'} known")]
    if not answer["spectral"]:
        rows.append(("holds for", f"{answer['light']}, observer {answer['observer']}"))
    rows.append(("Yule-Nielsen n", f"{answer['n']:g}"))
    for cells in answer["cells"]:
        rows.append(("full grid", cells))
    held = answer["held_out"]
    if held is not None and held["count"]:
        rows.append(
            (
                "held out",
                f"mean {held['mean']:.2f}, 95 % {held['p95']:.2f}, largest {held['max']:.2f} ({held['worst']}) "
                f"CIEDE2000 of {held['count']}, {held['light']}, observer {held['observer']}",
            )
        )
        rows.append(("", held["how"]))
    elif held is not None:
        rows.append(("held out", held["how"]))
    rows.append(("limits", percents(answer["limits"], answer["channels"])))
    for tone in answer["tone_values"]:
        shown = ", ".join(
            f"{100.0 * tint:.0f} prints {100.0 * value:.0f} %"
            for tint, value in zip(tone["tint"], tone["value"], strict=True)
        )
        rows.append((f"tone of {tone['channel']}", shown))
    width = max(len(key) for key, _ in rows)
    lines += [f"{key.ljust(width)}  {value}" for key, value in rows]
    if answer["status"] is not None:
        lines += ["", f"Limit {answer['limit']:g} CIEDE2000 for the 95th percentile: {answer['status']}."]
    return "\n".join(lines + _tail(answer, "press"))


def predict_text(answer: Verbose) -> str:
    """Predictions as a table, and how far measured samples are from them."""
    lines = [f"Printed by {answer['press']}: light {answer['light']}, observer {answer['observer']}", ""]
    compared = answer["differences"] is not None
    judged = answer["limit"] is not None
    header = ["sample", *answer["channels"], "L*", "a*", "b*", *(["CIEDE2000"] if compared else [])]
    header += ["verdict"] if judged else []
    rows = [
        [
            entry["name"],
            *(number(100.0 * tint, 1) for tint in entry["tints"]),
            *(number(value) for value in entry["lab"]),
            *([number(entry["de00"])] if compared else []),
            *([entry["status"]] if judged else []),
        ]
        for entry in answer["samples"]
    ]
    lines += [table(header, rows), "", "tints in percent"]
    if compared:
        found = answer["differences"]
        lines.append(
            f"from what was measured: mean {found['mean']:.2f}, 95 % {found['p95']:.2f}, "
            f"largest {found['max']:.2f} ({found['worst']}) CIEDE2000 of {found['count']}"
        )
    return "\n".join(lines + _tail(answer))


def separate_text(answer: Verbose) -> str:
    """Tints as a table, what cannot be printed first."""
    entries = sorted(answer["samples"], key=lambda entry: (entry["printable"], -entry["de00"], 0))
    outside = sum(not entry["printable"] for entry in entries)
    black = "least shift" if answer["black"] is None else f"black {answer['black']}"
    lines = [
        f"Tints of {answer['press']}: light {answer['light']}, observer {answer['observer']}, "
        f"{percents(answer['limits'], answer['channels'])}, {black}",
        f"{outside} of {len(entries)} cannot be printed; the nearest stands in its place."
        if outside
        else f"All {len(entries)} can be printed.",
    ]
    others = [shift["light"] for shift in entries[0]["shift"]]
    judged = answer["limit"] is not None
    header = ["sample", *answer["channels"], "total", "printed", "CIEDE2000", *(f"in {light}" for light in others)]
    header += ["verdict"] if judged else []
    rows = [
        [
            entry["name"],
            *(number(100.0 * tint, 1) for tint in entry["tints"].values()),
            number(100.0 * entry["coverage"], 0),
            "yes" if entry["printable"] else "NO",
            number(entry["de00"]),
            *(number(shift["de00"]) for shift in entry["shift"]),
            *([entry["status"]] if judged else []),
        ]
        for entry in entries
    ]
    lines += ["", table(header, rows), "", "tints and total in percent"]
    return "\n".join(lines + _tail(answer))


def add_to(app: typer.Typer) -> None:
    """Register the group."""
    group = typer.Typer(rich_markup_mode=None, no_args_is_help=True)
    group.command("fit", short_help="Fit a press to a characterisation.", epilog=FIT_EPILOG)(fit)
    group.command("predict", short_help="What tints print.", epilog=PREDICT_EPILOG)(predict)
    group.command("separate", short_help="The tints for colours.", epilog=SEPARATE_EPILOG)(separate)
    app.add_typer(group, name="press", help="A press: fit it, predict what it prints, find tints for colours.")
