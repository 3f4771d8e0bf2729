"""The commands about one display: ``display fit``, ``display show`` and ``display check``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._checks import checks_table
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

FIT_EPILOG = "Example: screenproof display fit office.csv -o office.icc"
SHOW_EPILOG = "Example: screenproof display show p3-d65 --luminance 160 --room 64"
CHECK_EPILOG = "Example: screenproof display check office.csv --against soft-proof --instrument production"


def fit(
    readings: Annotated[
        str,
        typer.Argument(metavar="READINGS", help="Drive values with XYZ or spectra, as CSV.", show_default=False),
    ],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="PROFILE.icc", help="Write an ICC v4 profile.", show_default=False),
    ] = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """Find a display's primaries, black and tone curves from readings, and say how well they explain them."""
    from screenproof.jobs.displays import fit_answer

    say = progress()
    say("fitting")
    answer = fit_answer(readings, out, force=force)
    say("")
    emit_json(answer) if as_json else emit(fit_text(answer))


def show(
    display: Annotated[
        str,
        typer.Argument(
            metavar="NAME_OR_FILE",
            help="A standard, a technology, an ICC profile, or readings.",
            show_default=False,
        ),
    ],
    curve: opt.Curve = None,
    luminance: opt.Luminance = None,
    black: opt.Black = None,
    room: opt.Room = None,
    room_light: opt.RoomLight = None,
    screen_reflectance: opt.ScreenReflectance = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What a display is: its white, primaries, black and tone curves, as it stands in its room."""
    from screenproof.jobs.direct import DisplayWords
    from screenproof.jobs.displays import show_answer

    say = progress()
    say("opening the display")
    words = DisplayWords(display, curve, luminance, black, room, room_light, screen_reflectance)
    answer = show_answer(words)
    if plot is not None:
        from screenproof.jobs.plots import plot_display

        plot_display(words, plot, force=force)
    say("")
    emit_json(answer) if as_json else emit(show_text(answer))


def check(
    readings: Annotated[
        str,
        typer.Argument(metavar="READINGS", help="Drive values with XYZ or spectra, as CSV.", show_default=False),
    ],
    against: Annotated[
        str, typer.Option("--against", metavar="LIMITS", help="iso12646, soft-proof or broadcast.")
    ] = "iso12646",
    curve: Annotated[
        str | None,
        typer.Option("--curve", help="Aim of the tone curve: srgb, gamma2.2, bt1886 ...", show_default=False),
    ] = None,
    white: Annotated[
        str | None,
        typer.Option(
            "--white", metavar="WHITE", help="Aim of the white: D50, D65, a light, or x,y.", show_default=False
        ),
    ] = None,
    luminance: Annotated[
        float | None,
        typer.Option(
            "--luminance", metavar="CD/M2", help="Aim of the white, held within 10 %.", show_default=False
        ),
    ] = None,
    off: Annotated[
        float | None,
        typer.Option(
            "--off", metavar="CD/M2", help="The screen switched off, read in its room.", show_default=False
        ),
    ] = None,
    instrument: Annotated[
        str | None,
        typer.Option(
            "--instrument",
            metavar="CLASS",
            help="Class of the instrument: reference, laboratory, production or basic.",
            show_default=False,
        ),
    ] = None,
    risk: Annotated[float, typer.Option("--risk", help="Chance of a wrong pass, and of a wrong fail.")] = 0.05,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """Check a screen: white, black, greys, uniformity, drift, additivity. Exit code 1 if one fails.

    Readings at other places than the centre have a column position (1,1 to 3,3), a series over time has minutes.
    What was not read is said, with what to read.
    """
    from screenproof.jobs.screen_check import screen_check, screen_check_answer

    say = progress()
    say("checking")
    if plot is not None:
        from screenproof.questions.writing import check_target

        check_target(plot, force)
    found = screen_check(
        readings,
        against,
        curve=curve,
        white=white,
        luminance=luminance,
        off=off,
        instrument=instrument,
        risk=risk,
    )
    answer = screen_check_answer(found, readings, instrument, risk)
    if plot is not None:
        from screenproof.jobs.check_plots import plot_screen_check

        plot_screen_check(found, plot, force=force)
    say("")
    emit_json(answer) if as_json else emit(check_text(answer))
    finish(answer["counts"]["fail"] > 0)


def check_text(answer: dict[str, Any]) -> str:
    """A check of a screen as lines of text: the count, the table, the notes."""
    counts = answer["counts"]
    told = ", ".join(f"{counts[key]} {key}" for key in ("fail", "undecided", "pass", "not checked") if counts[key])
    lines = [f"Check of {answer['file']} against {answer['label']}: {told}", ""]
    repeats = answer["repeatability"]
    if answer["instrument"] is not None or repeats is not None:
        parts = [f"instrument of the class {answer['instrument']}"] if answer["instrument"] else []
        if repeats is not None:
            percent, xy = repeats["luminance_percent"], repeats["xy"]
            parts.append(f"readings repeat within {percent:.2g} % in luminance and {xy:.1g} in x, y")
        lines += [f"{'; '.join(parts)}; +/- is twice the standard uncertainty, risk {answer['risk']:g}", ""]
    lines.append(checks_table(answer["rows"]))
    return "\n".join([*lines, "", notes_text(answer["notes"])])


def _figures(answer: dict[str, Any]) -> list[str]:
    """The numbers of a display, a line each."""
    rows = [
        [name, *(number(value, 4) for value in answer["xy"][name]), number(answer["luminances"][name])]
        for name in ("white", "red", "green", "blue")
    ]
    black = answer["luminances"]["black"]
    lines = [table(["", "x", "y", "cd/m2"], rows), ""]
    contrast = answer["contrast"]
    lines.append(f"black      {black:.4g} cd/m2" + ("" if contrast is None else f", contrast {contrast:.0f} : 1"))
    if answer["white_temperature"] is not None:
        lines.append(f"white      {answer['white_temperature']:.0f} K")
    lines.append(f"curves     {', '.join(answer['curves']) or 'a table, no curves of its own'}")
    lines.append(f"spectra    {'known' if answer['spectral'] else 'not known: other observers are refused'}")
    if answer["source"]:
        lines.append(f"source     {answer['source']}")
    return lines


def show_text(answer: dict[str, Any]) -> str:
    """A display as lines of text."""
    room = answer["room"]
    kind = "" if answer["kind"] in answer["label"] else f" ({answer['kind']})"
    heading = f"{answer['label']}{kind}, observer {answer['observer']}"
    heading += "" if room is None else f", {room['illuminance']:g} lx of {room['light']} on the screen"
    lines = [heading, "", *_figures(answer)]
    if answer["fit"] is not None:
        lines += ["", *_fit_lines(answer["fit"])]
    notes = notes_text(answer["notes"])
    return "\n".join(lines + (["", notes] if notes else []))


def fit_text(answer: dict[str, Any]) -> str:
    """The report of a fit as lines of text."""
    display = answer["display"]
    lines = [f"Fit of {answer['file']}, observer {display['observer']}", "", *_fit_lines(answer["fit"]), ""]
    lines += _figures(display)
    notes = notes_text(display["notes"])
    lines += ["", notes] if notes else []
    if answer["profile"] is not None:
        lines += ["", f"written: {answer['profile']}"]
    return "\n".join(lines)


def _fit_lines(fit: dict[str, Any]) -> list[str]:
    """How well the model explains the readings; every error is of patches that the fit did not see."""
    models = {
        "matrix": "a matrix with tone curves",
        "table": "a table, for a matrix does not explain the readings",
    }
    rows = [("model", models[fit["model"]])]
    rows.append(("readings", f"{fit['readings']} of {fit['patches']} patches, spectra {_known(fit['spectral'])}"))
    for key, name in (("matrix_held_out", "matrix"), ("table_held_out", "table")):
        if fit[key] is not None:
            rows.append((f"{name}, held out", _errors(fit[key])))
    if fit["repeatability_de00"] is not None:
        percent, de00 = fit["repeatability_percent"], fit["repeatability_de00"]
        rows.append(("repeatability", f"{percent:.2g} % in luminance, {de00:.2g} CIEDE2000"))
    if (failure := fit["additivity_failure"]) is not None:
        off = f"{failure['luminance_percent']:+.2f} % in luminance, {failure['de00']:.2f} CIEDE2000"
        rows.append(("additivity", f"white against the sum of the primaries: {off}"))
    if (failure := fit["channel_independence_failure"]) is not None:
        rows.append(("independence", f"mixtures against the ramps: {_errors(failure)}"))
    rows.append(("gammas", ", ".join(f"{gamma:.2f}" for gamma in fit["gammas"])))
    if not all(fit["monotone"]):
        falls = [name for name, rises in zip(("red", "green", "blue"), fit["monotone"], strict=True) if not rises]
        rows.append(("not monotone", ", ".join(falls)))
    return [f"{key.ljust(17)}{value}" for key, value in rows]


def _known(spectral: bool) -> str:
    return "known" if spectral else "not known"


def _errors(figures: dict[str, Any]) -> str:
    worst = f" ({figures['worst']})" if figures.get("worst") else ""
    return (
        f"mean {figures['mean']:.2f}, 95 % {figures['p95']:.2f}, largest {figures['max']:.2f}{worst} "
        f"CIEDE2000 of {figures['count']}"
    )


def add_to(app: typer.Typer) -> None:
    """Register the group."""
    group = typer.Typer(rich_markup_mode=None, no_args_is_help=True)
    group.command("fit", short_help="Fit a display to readings.", epilog=FIT_EPILOG)(fit)
    group.command("show", short_help="What a display is.", epilog=SHOW_EPILOG)(show)
    group.command("check", short_help="Check a screen against a standard.", epilog=CHECK_EPILOG)(check)
    app.add_typer(group, name="display", help="One display: fit it, show what it is, or check it.")
