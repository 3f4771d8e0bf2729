"""Options that several commands share, each said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="Print JSON and nothing else on standard output.")]
Plot = Annotated[
    Path | None,
    typer.Option("--plot", metavar="FILE", help="Draw it into a new .png or .svg file.", show_default=False),
]
Force = Annotated[bool, typer.Option("--force", help="Replace files that exist.")]
SamplesFile = Annotated[
    str, typer.Argument(metavar="SAMPLES", help="Measured samples: CSV, CGATS, CxF3 or JSON.", show_default=False)
]
LightName = Annotated[
    str, typer.Option("--light", metavar="LIGHT", help="Viewing light: D50, A, FL11, D5000K, P3200K, or a file.")
]
ObserverName = Annotated[
    str,
    typer.Option(
        "--observer",
        metavar="NAME",
        help="cie1931 (or 2), cie1964 (or 10), cie2015-2, cie2015-10, or an eye such as age=60,field=2.",
    ),
]
Limit = Annotated[
    float | None,
    typer.Option(
        "--limit", metavar="DE00", help="Exit with 1 when a CIEDE2000 is above this.", show_default=False
    ),
]
