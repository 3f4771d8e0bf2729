"""The group ``recipe``: find recipes, correct a batch, look into a library."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from screenproof.cli import _ink_options as ink
from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

FIND_EPILOG = (
    'Example: screenproof recipe find letdowns.csv --target lid.csv --name "Lid rose" --components 4 --batch 10 '
    "--to A,FL11"
)
CORRECT_EPILOG = (
    "Example: screenproof recipe correct letdowns.csv --batch batch.csv --trial trial.csv --target lid.csv "
    "--growth 20"
)
LIBRARY_EPILOG = "Example: screenproof recipe library letdowns.csv -o library.json"

Verbose = dict[str, Any]


def find(
    library: ink.LibraryFile,
    target: ink.TargetFile = None,
    name: ink.TargetName = None,
    display: ink.ScreenName = None,
    code: ink.Code = None,
    bits: ink.Bits = 8,
    components: Annotated[
        int, typer.Option("--components", metavar="N", help="The most components beside the base.")
    ] = 4,
    batch: Annotated[
        float, typer.Option("--batch", metavar="KG", help="Mass of the batch; of the cloth, for dyes.")
    ] = 1.0,
    count: Annotated[int, typer.Option("--count", metavar="N", help="How many recipes to show.")] = 5,
    light: opt.LightName = "D50",
    to: ink.Lights = "A,FL11",
    observer: opt.ObserverName = "cie1931",
    stock_file: ink.StockFile = None,
    stock: ink.StockName = None,
    thickness: ink.Thickness = None,
    film: ink.FilmWeight = None,
    without: Annotated[
        str | None,
        typer.Option("--without", metavar="NAME,...", help="Components that may not be used.", show_default=False),
    ] = None,
    tolerance: Annotated[
        float, typer.Option("--tolerance", metavar="DE00", help="Within this the target counts as reached.")
    ] = 1.0,
    resolution: ink.Resolution = 0.0,
    limit: opt.Limit = None,
    out: ink.SamplesOut = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The best recipes for a sample, or for a colour on a display, out of a library of pigments, dyes or inks.

    Ranked by the difference under the first light, the shift under the others, the number of components, cost. A
    screen's colour has no curve: any of its metamers is allowed, and the recipe that shifts least comes first.
    """
    from screenproof.jobs.recipe_targets import GroundWords, SceneWords
    from screenproof.jobs.recipes import find_answer

    say = progress()
    say("searching")
    answer = find_answer(
        library,
        _target(target, name, display, code, bits),
        GroundWords(stock_file, stock, thickness, film),
        SceneWords(light, to, observer),
        out,
        components=components,
        batch=batch,
        count=count,
        tolerance=tolerance,
        resolution=resolution,
        without=without,
        limit=limit,
        force=force,
    )
    say("")
    emit_json(answer) if as_json else emit(find_text(answer))
    finish(answer["status"] == "fail")


def correct(
    library: ink.LibraryFile,
    batch: Annotated[
        str,
        typer.Option(
            "--batch",
            metavar="FILE_OR_AMOUNTS",
            help="What was weighed: a file, or White=8.2,Red=0.31 in kg.",
            show_default=False,
        ),
    ],
    trial: Annotated[
        str,
        typer.Option("--trial", metavar="SAMPLES", help="The measured trial of that batch.", show_default=False),
    ],
    trial_name: Annotated[
        str | None,
        typer.Option(
            "--trial-name",
            metavar="NAME",
            help="The trial in that file, if there are several.",
            show_default=False,
        ),
    ] = None,
    target: ink.TargetFile = None,
    name: ink.TargetName = None,
    display: ink.ScreenName = None,
    code: ink.Code = None,
    bits: ink.Bits = 8,
    light: opt.LightName = "D50",
    to: ink.Lights = "A,FL11",
    observer: opt.ObserverName = "cie1931",
    stock_file: ink.StockFile = None,
    stock: ink.StockName = None,
    thickness: ink.Thickness = None,
    film: ink.FilmWeight = None,
    cloth: Annotated[
        float | None,
        typer.Option("--cloth", metavar="KG", help="Mass of the cloth, for dyes.", show_default=False),
    ] = None,
    allow: Annotated[
        str | None,
        typer.Option("--allow", metavar="NAME,...", help="What else may be added.", show_default=False),
    ] = None,
    growth: Annotated[
        float | None,
        typer.Option(
            "--growth",
            metavar="PERCENT",
            help="The most that the batch may grow; 50 unless given.",
            show_default=False,
        ),
    ] = None,
    tolerance: Annotated[
        float | None,
        typer.Option(
            "--tolerance",
            metavar="DE00",
            help="The correction is to come within this; 0.3 unless given.",
            show_default=False,
        ),
    ] = None,
    resolution: ink.Resolution = 0.0,
    as_json: opt.Json = False,
) -> None:
    """What to add to a batch whose trial was measured, and by how much the batch then grows.

    Nothing can be taken out. Exit code 1 when no addition brings it within the tolerance.
    """
    from screenproof.jobs.recipe_targets import GroundWords, SceneWords
    from screenproof.jobs.recipes import correct_answer

    say = progress()
    say("correcting")
    answer = correct_answer(
        library,
        _target(target, name, display, code, bits),
        GroundWords(stock_file, stock, thickness, film),
        SceneWords(light, to, observer),
        batch=batch,
        trial=trial,
        trial_name=trial_name,
        cloth=cloth,
        allow=allow,
        tolerance=tolerance,
        growth=growth,
        resolution=resolution,
    )
    say("")
    emit_json(answer) if as_json else emit(correct_text(answer))
    finish(answer["status"] == "fail")


def library(
    library_file: ink.LibraryFile,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="LIBRARY.json", help="Write what was fitted.", show_default=False),
    ] = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What a library holds: how well each component's letdowns fit, and at which concentrations it is good."""
    from screenproof.jobs.recipes import library_answer

    say = progress()
    say("fitting")
    answer = library_answer(library_file, out, force=force)
    say("")
    emit_json(answer) if as_json else emit(library_text(answer))


def _target(target: str | None, name: str | None, display: str | None, code: str | None, bits: int) -> Any:
    from screenproof.jobs.direct import DisplayWords
    from screenproof.jobs.recipe_targets import TargetWords

    return TargetWords(target, name, None if display is None else DisplayWords(display), code, bits)


def _tail(answer: Verbose) -> list[str]:
    notes = notes_text(answer["notes"])
    written = [] if answer.get("written") is None else ["", f"written: {answer['written']}"]
    return [*written, *(["", notes] if notes else [])]


def _kilograms(value: float) -> str:
    return f"{value:.4f}" if value < 10.0 else f"{value:.3f}"


def find_text(answer: Verbose) -> str:
    """Recipes, best first: each with its figures, then its components."""
    lights = f" against {', '.join(answer['lights'])}" if answer["lights"] else ""
    stock = f" on {answer['stock']}" if answer["stock"] else ""
    lines = [
        f"Recipes for {answer['target']['name']}{stock}: light {answer['light']}{lights}, "
        f"observer {answer['observer']}",
        f"{answer['pigments']} components in the library, {answer['medium']}; a batch of {answer['batch']:g} kg",
    ]
    lines.append(
        f"Reached within {answer['tolerance']:g} CIEDE2000."
        if answer["reached"]
        else f"NOT reached within {answer['tolerance']:g} CIEDE2000: {answer['reason']}."
    )
    unit = "percent" if answer["medium"] == "cloth" else "share"
    for place, one in enumerate(answer["recipes"], start=1):
        shifts = "".join(f", {shift['light']} {shift['de00']:.2f}" for shift in one["shifts"])
        cost = "" if one["cost"] is None else f", cost {one['cost']:.2f}"
        words = f" ({one['words']})" if one["de00"] >= 0.05 and one["words"] else ""
        front = ", not beaten" if one["on_front"] else ""
        verdict = "" if one["status"] is None else f", {one['status']}"
        lines += [
            "",
            f"{place}. CIEDE2000 {one['de00']:.2f}{words}{shifts}, doubt {one['doubt']:.2f}{cost}{front}{verdict}",
        ]
        rows = [
            [
                part["name"],
                number(part["share"] if unit == "percent" else 100.0 * part["share"], 3),
                _kilograms(part["amount"]),
                "-" if part["litres"] is None else _kilograms(part["litres"]),
            ]
            for part in one["components"]
        ]
        lines.append(table(["component", "percent", "kg", "litres"], rows))
        lines += [f"   {note['kind']}: {note.get('about', '')}: {note['what']}" for note in one["notes"]]
    return "\n".join(lines + _tail(answer))


def correct_text(answer: Verbose) -> str:
    """What to add, as a table."""
    words = f" ({answer['words_before']})" if answer["words_before"] else ""
    lines = [
        f"Correction towards {answer['target']['name']}: light {answer['light']}, observer {answer['observer']}",
        f"The trial is {answer['de00_before']:.2f} CIEDE2000 off{words}.",
    ]
    if answer["possible"] and answer["added"] > 0.0:
        lines.append(
            f"Add {_kilograms(answer['added'])} kg, the batch grows by {100.0 * answer['growth']:.1f} %; "
            f"it should then be {answer['de00']:.2f} off."
        )
    elif answer["possible"]:
        lines.append("Add nothing.")
    else:
        lines.append(f"NOT mended: {answer['reason']}.")
    rows = [
        [part["name"], *(_kilograms(part[key]) for key in ("amount", "effective", "add", "after"))]
        for part in answer["components"]
    ]
    lines += ["", table(["component, kg", "put in", "as if", "ADD", "then"], rows)]
    shifts = ", ".join(f"{shift['light']} {shift['de00']:.2f}" for shift in answer["shifts"])
    lines += ["", f"in other lights then, CIEDE2000: {shifts}"] if shifts else []
    return "\n".join(lines + _tail(answer))


def library_text(answer: Verbose) -> str:
    """A library as a table."""
    surface = answer["surface"]
    corrected = f", surface k1 {surface['k1']:g}, k2 {surface['k2']:g}" if surface["k1"] or surface["k2"] else ""
    lines = [f"{answer['file']}: {answer['medium']}, {answer['wavelengths']}{corrected}", ""]
    rows = [
        [
            part["name"] + (" (base)" if part["base"] else ""),
            "-" if part["letdowns"] is None else str(part["letdowns"]),
            number(part["worst_de00"]),
            "-" if part["concentrations"] is None else "{:g} to {:g}".format(*part["concentrations"]),
            number(part["cost"]),
            number(part["density"]),
        ]
        for part in answer["components"]
    ]
    header = ["component", "letdowns", "worst fit", "good at", "cost/kg", "kg/l"]
    lines += [table(header, rows), "", "worst fit: the largest CIEDE2000 of a letdown from its fit"]
    return "\n".join(lines + _tail(answer))


def add_to(app: typer.Typer) -> None:
    """Register the group."""
    group = typer.Typer(rich_markup_mode=None, no_args_is_help=True)
    group.command("find", short_help="Recipes for a colour.", epilog=FIND_EPILOG)(find)
    group.command("correct", short_help="What to add to a batch.", epilog=CORRECT_EPILOG)(correct)
    group.command("library", short_help="What a library holds, and how well it fits.", epilog=LIBRARY_EPILOG)(
        library
    )
    app.add_typer(
        group, name="recipe", help="Recipes: find them, correct a batch, look into a library. About colour only."
    )
