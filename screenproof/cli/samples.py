"""The commands that take a file of samples: ``match``, ``gamut`` and ``shift``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table
from screenproof.cli._crowd_text import crowd_lines, people_line, percent, shift_crowd_lines
from screenproof.cli._doubt_text import doubt_lines, figure_text, limit_line, verdict_at

MATCH_EPILOG = "Example: screenproof match inks.csv --display p3-d65 --light D50 --limit 2.0"
GAMUT_EPILOG = "Example: screenproof gamut inks.csv --display office.icc --room 64"
SHIFT_EPILOG = "Example: screenproof shift inks.csv --against reprint.cxf --from D65 --to A,FL2,FL11 --limit 2.0"

Verbose = dict[str, Any]


def match(
    samples: opt.SamplesFile,
    display: opt.DisplayName = "srgb",
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    basis: opt.Basis = "white",
    bits: opt.Bits = 8,
    limit: opt.Limit = None,
    only: opt.Only = None,
    object_white: opt.ObjectWhite = "diffuser",
    adaptation: opt.Adaptation = "cat16",
    surround: opt.Surround = "average",
    illuminance: opt.Illuminance = None,
    curve: opt.Curve = None,
    luminance: opt.Luminance = None,
    black: opt.Black = None,
    room: opt.Room = None,
    room_light: opt.RoomLight = None,
    screen_reflectance: opt.ScreenReflectance = None,
    population: opt.People = None,
    ages: opt.Ages = None,
    field: opt.Field = None,
    seed: opt.Seed = None,
    aim: Annotated[
        str | None,
        typer.Option(
            "--aim",
            metavar="WHOM",
            help="Make the drive values for the observer, or for the population's 95th percentile.",
            show_default=False,
        ),
    ] = None,
    cost: Annotated[
        float | None,
        typer.Option(
            "--cost",
            metavar="DE00",
            help="How much more the observer may see for that; 0.5 unless given.",
            show_default=False,
        ),
    ] = None,
    instrument: opt.Instrument = None,
    readings: opt.Readings = None,
    screen_instrument: opt.ScreenInstrument = None,
    risk: opt.Risk = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The drive values that show each sample on a display, and what is left of the difference.

    Samples that the display cannot show come first, with the CIEDE2000 to the nearest colour that it can show
    (excess). The residual is the CIEDE2000 between the sample and what its code shows. With --population: what
    people see of each sample beside the screen.
    """
    from screenproof.jobs.direct import DisplayWords, ViewingWords, failed, match_answer
    from screenproof.jobs.direct_doubt import DoubtWords
    from screenproof.jobs.direct_people import PeopleWords

    say = progress()
    say("matching")
    screen = DisplayWords(display, curve, luminance, black, room, room_light, screen_reflectance)
    seen = ViewingWords(light, observer, basis, adaptation, object_white, surround, illuminance)
    people = PeopleWords(population, ages, field, seed, aim, cost)
    doubt = DoubtWords(instrument, readings, screen_instrument, risk)
    answer = match_answer(samples, screen, seen, bits, limit, only, people, doubt)
    _draw(answer, plot, force)
    say("")
    emit_json(answer) if as_json else emit(match_text(answer))
    finish(failed(answer))


def gamut(
    samples: opt.SamplesFile,
    display: opt.DisplayName = "srgb",
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    basis: opt.Basis = "white",
    limit: opt.Limit = None,
    only: opt.Only = None,
    object_white: opt.ObjectWhite = "diffuser",
    adaptation: opt.Adaptation = "cat16",
    surround: opt.Surround = "average",
    illuminance: opt.Illuminance = None,
    curve: opt.Curve = None,
    luminance: opt.Luminance = None,
    black: opt.Black = None,
    room: opt.Room = None,
    room_light: opt.RoomLight = None,
    screen_reflectance: opt.ScreenReflectance = None,
    population: opt.People = None,
    ages: opt.Ages = None,
    field: opt.Field = None,
    seed: opt.Seed = None,
    instrument: opt.Instrument = None,
    readings: opt.Readings = None,
    screen_instrument: opt.ScreenInstrument = None,
    risk: opt.Risk = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """Which samples a display can show, how far it falls short of the others, and which standard would do.

    The excess is the CIEDE2000 to the nearest colour that the display can show. Exit code 0, unless a --limit
    for the excess is given and exceeded. With --population: for how many people a colour is outside.
    """
    from screenproof.jobs.direct import DisplayWords, ViewingWords, failed, gamut_answer
    from screenproof.jobs.direct_doubt import DoubtWords
    from screenproof.jobs.direct_people import PeopleWords

    say = progress()
    say("looking for what can be shown")
    screen = DisplayWords(display, curve, luminance, black, room, room_light, screen_reflectance)
    seen = ViewingWords(light, observer, basis, adaptation, object_white, surround, illuminance)
    people = PeopleWords(population, ages, field, seed)
    doubt = DoubtWords(instrument, readings, screen_instrument, risk)
    answer = gamut_answer(samples, screen, seen, limit, only, people, doubt)
    _draw(answer, plot, force)
    say("")
    emit_json(answer) if as_json else emit(gamut_text(answer))
    finish(failed(answer))


def shift(
    samples: opt.SamplesFile,
    against: Annotated[
        str | None,
        typer.Option(
            "--against",
            metavar="OTHER",
            help="The partners: a pair shift. By name, else in order.",
            show_default=False,
        ),
    ] = None,
    from_light: Annotated[
        str, typer.Option("--from", metavar="LIGHT", help="The first light, in which all is to be well.")
    ] = "D65",
    to: Annotated[
        str, typer.Option("--to", metavar="LIGHTS", help="The other lights, with commas between them.")
    ] = "A,FL2,FL11",
    observer: Annotated[
        str,
        typer.Option(
            "--observer", metavar="NAMES", help="Observers with commas between: cie1931,age=60,field=2,age=25."
        ),
    ] = "cie1931",
    display: Annotated[
        str | None,
        typer.Option(
            "--display",
            metavar="NAME_OR_FILE",
            help="Against the match on this display: a screen shift.",
            show_default=False,
        ),
    ] = None,
    correction: Annotated[
        str | None,
        typer.Option(
            "--correction",
            metavar="NAME",
            help="For pairs that do not quite match: multiplicative (unless given), additive, none.",
            show_default=False,
        ),
    ] = None,
    limit: opt.Limit = None,
    only: opt.Only = None,
    population: opt.People = None,
    ages: opt.Ages = None,
    field: opt.Field = None,
    seed: opt.Seed = None,
    instrument: opt.Instrument = None,
    readings: opt.Readings = None,
    screen_instrument: opt.ScreenInstrument = None,
    risk: opt.Risk = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """How far colours part when the light changes.

    With --against: pairs that match in the first light (CIE special metamerism index, change in illuminant).
    With --display: each sample against its match on that display, which stays as it is. With neither: each
    sample against itself in the first light (colour inconstancy). With --population: what people see of the pairs,
    or of the samples beside the screen, in every light.
    """
    from screenproof.jobs.direct import DisplayWords, ViewingWords, failed
    from screenproof.jobs.direct_doubt import DoubtWords
    from screenproof.jobs.direct_people import PeopleWords
    from screenproof.jobs.shifts import shift_answer
    from screenproof.spectra import observer_specs

    say = progress()
    say("changing the light")
    answer = shift_answer(
        samples,
        against=against,
        display_words=None if display is None else DisplayWords(display),
        viewing_words=None if display is None else ViewingWords(from_light, (observer_specs(observer) or [""])[0]),
        from_light=from_light,
        to=to,
        observer=observer,
        correction=correction,
        limit=limit,
        only=only,
        people_words=PeopleWords(population, ages, field, seed),
        doubt_words=DoubtWords(instrument, readings, screen_instrument, risk),
    )
    _draw(answer, plot, force)
    say("")
    emit_json(answer) if as_json else emit(shift_text(answer))
    finish(failed(answer))


def _draw(answer: Verbose, plot: Path | None, force: bool) -> None:
    if plot is not None:
        from screenproof.jobs.plots import plot_answer

        plot_answer(answer, plot, force=force)


def _heading(answer: Verbose, what: str) -> str:
    basis = answer["basis"] + (f" ({answer['adaptation']})" if answer["adaptation"] else "")
    room = answer["display"]["room"]
    lit = "" if room is None else f" with {room['illuminance']:g} lx of {room['light']} on it"
    return (
        f"{what} on {answer['display']['label']}{lit}: light {answer['light']}, observer {answer['observer']}, "
        f"basis {basis}"
    )


def _ending(answer: Verbose) -> list[str]:
    notes = notes_text(answer["notes"])
    return ["", notes] if notes else []


_TROUBLE = {"fail": 0, "undecided": 1, "pass": 2, None: 2}


def _verdict(status: str | None) -> list[str]:
    return [] if status is None else [status]


def match_text(answer: Verbose) -> str:
    """The match as a table: what cannot be shown first, then what fails, then the rest in the file's order."""
    entries = sorted(answer["samples"], key=lambda e: (e["in_gamut"], _TROUBLE[e["status"]], -e["excess"]))
    outside = [entry for entry in entries if not entry["in_gamut"]]
    lines = [_heading(answer, "Match"), _shown(len(entries), len(outside))]
    if answer["limit"] is not None:
        lines.append(limit_line("Limit for the residual", answer["limit"], entries))
    header = ["sample", f"R {answer['bits']} bit", "G", "B", "drive R", "G", "B", "L*", "a*", "b*"]
    header += ["shown", "excess", "residual", *_verdict("verdict" if answer["limit"] is not None else None)]
    rows = [
        [
            entry["name"],
            *(str(value) for value in entry["code"]),
            *(number(value, 4) for value in entry["drive"]),
            *(number(value) for value in entry["lab"]),
            "yes" if entry["in_gamut"] else "NO",
            number(entry["excess"]),
            figure_text(entry["residual"], verdict_at(entry, answer["light"], answer["observer"])),
            *_verdict(entry["status"]),
        ]
        for entry in entries
    ]
    lines += ["", table(header, rows), "", "excess and residual in CIEDE2000; drive 0 to 1"]
    lines += [*doubt_lines(answer, entries), *crowd_lines(answer)]
    return "\n".join(lines + _ending(answer))


def _shown(count: int, outside: int) -> str:
    if not outside:
        return f"All {count} samples can be shown." if count > 1 else "The sample can be shown."
    return f"{outside} of {count} samples cannot be shown; the nearest colour stands in its place."


def gamut_text(answer: Verbose) -> str:
    """The gamut as a table, the largest excess first."""
    entries = sorted(answer["samples"], key=lambda entry: -entry["excess"])
    outside = sum(not entry["in_gamut"] for entry in entries)
    count = len(entries)
    first = f"{outside} of {count} samples cannot be shown." if outside else f"All {count} samples can be shown."
    lines = [_heading(answer, "Gamut"), first]
    people = "population" in answer
    header = ["sample", "shown", *(["outside for"] if people else []), "excess", "nearest is", "suffices"]
    header += _verdict("verdict" if answer["limit"] is not None else None)
    rows = [
        [
            entry["name"],
            "yes" if entry["in_gamut"] else "NO",
            *([percent(entry["share_outside"])] if people else []),
            figure_text(entry["excess"], verdict_at(entry, answer["light"], answer["observer"])),
            entry["direction"] or "-",
            ", ".join(entry["suffices"]) or "none of the standards",
            *_verdict(entry["status"]),
        ]
        for entry in entries
    ]
    lines += [
        "",
        table(header, rows, left=(0, 4, 5) if people else (0, 3, 4)),
        "",
        "excess in CIEDE2000; suffices: the standard displays that can show it",
    ]
    if people:
        lines.append(f"{people_line(answer)}; outside for: the share of them to whom the display cannot show it")
    lines += doubt_lines(answer, entries)
    return "\n".join(lines + _ending(answer))


_KINDS = {
    "pair_shift": "Pair shift",
    "light_shift": "Light shift of each sample against itself",
    "screen_shift": "Screen shift of each sample against its match",
}


def shift_text(answer: Verbose) -> str:
    """The shift as a table, a row per sample or pair and observer, a column per light, the largest first."""
    entries = answer.get("pairs") or answer.get("samples") or []
    lights = list(dict.fromkeys(item["light"] for entry in entries for item in entry["shift"]))
    observers = list(dict.fromkeys(item["observer"] for entry in entries for item in entry["shift"]))
    entries = sorted(entries, key=lambda entry: -max(item["de00"] for item in entry["shift"]))
    first = f"{_KINDS[answer['kind']]}: from {answer['from']}, CIEDE2000"
    if answer["kind"] == "pair_shift":
        first += f", correction {answer['correction']}"
    if answer["kind"] == "screen_shift":
        first += f", on {answer['display']['label']}"
    pairs = answer["kind"] == "pair_shift"
    header = ["pair" if pairs else "sample", "observer"]
    header += ([f"in {answer['from']}"] if pairs else []) + lights
    header += _verdict("verdict" if answer["limit"] is not None else None)
    rows = []
    for entry in entries:
        figures = {(item["light"], item["observer"]): item["de00"] for item in entry["shift"]}
        starts = {start["observer"]: start["de00"] for start in entry.get("from", ())}
        for who in observers:
            label = entry["name"]
            if pairs and entry["partner"] != label:
                label = f"{label} / {entry['partner']}"
            rows.append(
                [
                    label,
                    who,
                    *([number(starts[who])] if pairs else []),
                    *(figure_text(figures[light, who], verdict_at(entry, light, who)) for light in lights),
                    *_verdict(entry["status"]),
                ]
            )
    lines = [first, "", table(header, rows, left=(0, 1))]
    if answer["limit"] is not None:
        lines += ["", limit_line("Limit", answer["limit"], entries)]
    lines += [*doubt_lines(answer, entries), *shift_crowd_lines(answer)]
    return "\n".join(lines + _ending(answer))


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("match", short_help="The drive values that show samples on a display.", epilog=MATCH_EPILOG)(match)
    app.command("gamut", short_help="Which samples a display can show.", epilog=GAMUT_EPILOG)(gamut)
    app.command("shift", short_help="How far colours part when the light changes.", epilog=SHIFT_EPILOG)(shift)
