"""The commands ``overprint`` and ``restock``: transparent inks on each other, and on another stock."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _ink_options as ink
from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

OVERPRINT_EPILOG = (
    'Example: screenproof overprint inks.cgats --stock "Coated carton" --inks Cyan,Magenta,Yellow --film Cyan=0.9'
)
RESTOCK_EPILOG = (
    'Example: screenproof restock inks.cgats --ink "Ember orange" --stock "Coated carton" --onto "Kraft board" '
    "--onto-file kraft.csv"
)

Verbose = dict[str, Any]

StockOption = Annotated[
    str,
    typer.Option("--stock", metavar="NAME", help="The sample that is the bare stock.", show_default=False),
]


def overprint(
    samples: opt.SamplesFile,
    stock: StockOption,
    inks: Annotated[
        str,
        typer.Option("--inks", metavar="A,B,...", help="The inks, in the order of printing.", show_default=False),
    ],
    film: ink.Film = None,
    k1: ink.K1 = None,
    k2: ink.K2 = None,
    index: ink.Index = None,
    specular: ink.Specular = None,
    measured: Annotated[
        str | None,
        typer.Option(
            "--measured",
            metavar="NAME",
            help="The measured overprint of all these inks; one called 'A + B' is found by itself.",
            show_default=False,
        ),
    ] = None,
    fit_trapping: Annotated[
        bool, typer.Option("--fit-trapping", help="Find how much of an ink stays on others, where measured.")
    ] = False,
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    limit: opt.Limit = None,
    out: ink.SamplesOut = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """What inks give on top of each other, from the curve of each on the stock and that of the stock.

    Each ink is a transparent layer: its internal transmittance multiplies what is below it. Every overprint
    of the inks is told, in the order in which they are given. Exit code 1 when a measured partner is farther
    than --limit.
    """
    from screenproof.jobs.overprints import OverprintWords, overprint_answer

    say = progress()
    say("overprinting")
    words = OverprintWords(
        stock,
        inks,
        film,
        {"k1": k1, "k2": k2, "index": index, "specular": specular},
        measured,
        fit_trapping,
        light,
        observer,
        limit,
    )
    answer = overprint_answer(samples, words, out, force=force)
    say("")
    emit_json(answer) if as_json else emit(overprint_text(answer))
    finish(any(entry["status"] == "fail" for entry in answer["samples"]))


def restock(
    samples: opt.SamplesFile,
    ink_name: Annotated[
        str, typer.Option("--ink", metavar="NAME,...", help="The ink, or several.", show_default=False)
    ],
    stock: StockOption,
    onto: Annotated[
        str,
        typer.Option("--onto", metavar="NAME", help="The sample that is the other stock.", show_default=False),
    ],
    onto_file: Annotated[
        str | None,
        typer.Option(
            "--onto-file",
            metavar="SAMPLES",
            help="Where the other stock is; the same file unless given.",
            show_default=False,
        ),
    ] = None,
    underprint: Annotated[
        str | None,
        typer.Option(
            "--underprint",
            metavar="SAMPLES",
            help="A white below the ink: it 'over black' and 'over white', and the two cards.",
            show_default=False,
        ),
    ] = None,
    underprint_weight: Annotated[
        float | None,
        typer.Option(
            "--underprint-weight", metavar="WEIGHT", help="Its film weight; 1 unless given.", show_default=False
        ),
    ] = None,
    film: ink.Film = None,
    k1: ink.K1 = None,
    k2: ink.K2 = None,
    index: ink.Index = None,
    specular: ink.Specular = None,
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    out: ink.SamplesOut = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The same ink on another stock: coated to kraft, on film, over a white underprint.

    The ink keeps its transmittance, the stock below it changes. It is said where the other stock is too dark,
    the ink not transparent, or its transmittance known from too little light.
    """
    from screenproof.jobs.overprints import RestockWords, restock_answer

    say = progress()
    say("changing the stock")
    words = RestockWords(
        ink_name, stock, onto, onto_file, film, underprint, underprint_weight,
        {"k1": k1, "k2": k2, "index": index, "specular": specular}, light, observer,
    )  # fmt: skip
    answer = restock_answer(samples, words, out, force=force)
    say("")
    emit_json(answer) if as_json else emit(restock_text(answer))


def _surface(answer: Verbose) -> str:
    surface = answer["surface"]
    if surface["k1"] == surface["k2"] == 0:
        return "surface not corrected"
    return f"surface k1 {surface['k1']:.3f}, k2 {surface['k2']:.3f}, specular {surface['specular']}"


def _tail(answer: Verbose) -> list[str]:
    notes = notes_text(answer["notes"])
    written = [] if answer["written"] is None else ["", f"written: {answer['written']}"]
    return [*written, *(["", notes] if notes else [])]


def overprint_text(answer: Verbose) -> str:
    """Overprints as a table, and what was found of trapping."""
    weighed = [f"{one['name']} {one['film_weight']:g}" for one in answer["inks"] if one["film_weight"] != 1.0]
    lines = [
        f"Overprints on {answer['stock']}: light {answer['light']}, observer {answer['observer']}, "
        f"{_surface(answer)}"
    ]
    if weighed:
        lines.append(f"Film weights: {', '.join(weighed)}")
    judged = answer["limit"] is not None
    measured = any(entry["measured"] for entry in answer["samples"])
    header = ["overprint", "L*", "a*", "b*", *(["CIEDE2000", "predicted is"] if measured else [])]
    rows = [
        [
            entry["name"],
            *(number(value) for value in entry["lab"]),
            *([number(entry["de00"]), entry["words"] or "-"] if measured else []),
            *([entry["status"] or "-"] if judged else []),
        ]
        for entry in answer["samples"]
    ]
    header += ["verdict"] if judged else []
    lines += ["", table(header, rows, left=(0, 5))]
    if measured:
        lines += ["", "CIEDE2000 from the measured overprint of that name"]
    if answer["trapping"]:
        shown = [
            [
                " + ".join(fit["inks"]),
                number(fit["factor"]),
                number(fit["de00_without"]),
                number(fit["de00"]),
            ]
            for fit in answer["trapping"]
        ]
        lines += ["", table(["trapping", "factor", "without", "with"], shown)]
    return "\n".join(lines + _tail(answer))


def restock_text(answer: Verbose) -> str:
    """Inks on the other stock as a table."""
    white = f", over {answer['underprint']}" if answer["underprint"] else ""
    lines = [
        f"From {answer['stock']} to {answer['onto']}{white}: light {answer['light']}, "
        f"observer {answer['observer']}, {_surface(answer)}"
    ]
    rows = [
        [
            entry["ink"],
            *(number(value) for value in entry["was_lab"]),
            *(number(value) for value in entry["lab"]),
            number(entry["de00"]),
            entry["words"],
        ]
        for entry in answer["samples"]
    ]
    header = ["ink", "was L*", "a*", "b*", "becomes L*", "a*", "b*", "CIEDE2000", "it becomes"]
    lines += ["", table(header, rows, left=(0, 8))]
    return "\n".join(lines + _tail(answer))


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    app.command("overprint", short_help="Inks on top of each other, from single curves.", epilog=OVERPRINT_EPILOG)(
        overprint
    )
    app.command("restock", short_help="The same ink on another stock.", epilog=RESTOCK_EPILOG)(restock)
