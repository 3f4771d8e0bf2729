"""Options that the commands of the ink side share, each said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

SamplesOut = Annotated[
    Path | None,
    typer.Option(
        "-o", "--out", metavar="FILE", help="Write the curves: .csv, .cgats, .cxf or .json.", show_default=False
    ),
]
Lights = Annotated[
    str | None,
    typer.Option("--to", metavar="LIGHTS", help="The other lights, with commas between them.", show_default=False),
]
LibraryFile = Annotated[
    str,
    typer.Argument(
        metavar="LIBRARY",
        help="Letdowns as CSV or CGATS, or a library that 'recipe library' wrote.",
        show_default=False,
    ),
]
TargetFile = Annotated[
    str | None,
    typer.Option("--target", metavar="SAMPLES", help="The file with the wanted sample.", show_default=False),
]
TargetName = Annotated[
    str | None,
    typer.Option(
        "--name", metavar="NAME", help="The wanted sample in it, if there are several.", show_default=False
    ),
]
ScreenName = Annotated[
    str | None,
    typer.Option(
        "--display", metavar="NAME_OR_FILE", help="Or a colour of this display, by --code.", show_default=False
    ),
]
Code = Annotated[
    str | None,
    typer.Option("--code", metavar="R,G,B", help="The code on that display: 0,128,255.", show_default=False),
]
Bits = Annotated[int, typer.Option("--bits", metavar="N", help="Bits per channel of the code: 8, 10, 12 or 16.")]
StockFile = Annotated[
    str | None,
    typer.Option(
        "--stock-file", metavar="SAMPLES", help="The stock of inks, or below a film.", show_default=False
    ),
]
StockName = Annotated[
    str | None,
    typer.Option("--stock", metavar="NAME", help="The stock in that file, if it has several.", show_default=False),
]
Thickness = Annotated[
    float | None,
    typer.Option("--thickness", metavar="X", help="Of a film over a stock, as in the file.", show_default=False),
]
FilmWeight = Annotated[
    float | None,
    typer.Option(
        "--film", metavar="WEIGHT", help="Film weight of printed inks; 1 unless given.", show_default=False
    ),
]
Resolution = Annotated[
    float, typer.Option("--resolution", metavar="KG", help="Of the scale: amounts are rounded to it.")
]
