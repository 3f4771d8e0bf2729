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
Only = Annotated[
    list[str] | None,
    typer.Option("--only", metavar="NAME", help="Only this sample; may be given again.", show_default=False),
]
DisplayName = Annotated[
    str,
    typer.Option(
        "--display",
        metavar="NAME_OR_FILE",
        help="display-p3, srgb, oprgb, bt709, bt2020, p3-d65, dci-p3; a technology such as rgb-oled; "
        "an ICC profile; or a file of readings.",
        show_default=False,
    ),
]
Curve = Annotated[
    str | None,
    typer.Option(
        "--curve", help="Another tone curve for a standard: pq, hlg, bt1886, gamma2.2 ...", show_default=False
    ),
]
Luminance = Annotated[
    float | None,
    typer.Option("--luminance", metavar="CD/M2", help="Luminance of the display's white.", show_default=False),
]
Black = Annotated[
    float | None,
    typer.Option("--black", metavar="CD/M2", help="Luminance of the display's black.", show_default=False),
]
Room = Annotated[
    float | None,
    typer.Option("--room", metavar="LUX", help="Room light that falls on the screen.", show_default=False),
]
RoomLight = Annotated[
    str | None,
    typer.Option(
        "--room-light", metavar="LIGHT", help="Kind of the room light; D50 unless given.", show_default=False
    ),
]
ScreenReflectance = Annotated[
    float | None,
    typer.Option(
        "--screen-reflectance",
        metavar="0..1",
        help="Share that the screen reflects; 0.04 unless given.",
        show_default=False,
    ),
]
LightName = Annotated[
    str, typer.Option("--light", metavar="LIGHT", help="Viewing light: D50, A, FL11, D5000K, P3200K, or a file.")
]
Illuminance = Annotated[
    float | None,
    typer.Option("--illuminance", metavar="LUX", help="Illuminance of the viewing light.", show_default=False),
]
ObserverName = Annotated[
    str,
    typer.Option(
        "--observer",
        metavar="NAME",
        help="cie1931 (or 2), cie1964 (or 10), cie2015-2, cie2015-10, or an eye such as age=60,field=2.",
    ),
]
People = Annotated[
    int | None,
    typer.Option(
        "--population", metavar="N", help="What so many people see, 10 to 5000: 200 is good.", show_default=False
    ),
]
Ages = Annotated[
    str | None,
    typer.Option(
        "--ages", metavar="20-80", help="Youngest and oldest of them; 20-80 unless given.", show_default=False
    ),
]
Field = Annotated[
    float | None,
    typer.Option(
        "--field",
        metavar="DEGREES",
        help="How large a field they look at, 1 to 10; 2 unless given.",
        show_default=False,
    ),
]
Instrument = Annotated[
    str | None,
    typer.Option(
        "--instrument",
        metavar="CLASS",
        help="What read the samples: reference, laboratory, production or basic.",
        show_default=False,
    ),
]
Readings = Annotated[
    int | None,
    typer.Option(
        "--readings", metavar="N", help="Of how many readings each sample is the mean.", show_default=False
    ),
]
ScreenInstrument = Annotated[
    str | None,
    typer.Option(
        "--screen-instrument",
        metavar="CLASS",
        help="What read the screen: reference, laboratory, production or basic.",
        show_default=False,
    ),
]
Risk = Annotated[
    float | None,
    typer.Option(
        "--risk", metavar="SHARE", help="Risk of a wrong verdict; 0.05 unless given.", show_default=False
    ),
]
Seed = Annotated[
    int | None,
    typer.Option(
        "--seed", metavar="N", help="Another seed draws other people; 1 unless given.", show_default=False
    ),
]
Basis = Annotated[str, typer.Option("--basis", metavar="BASIS", help="white, absolute or appearance.")]
Adaptation = Annotated[
    str, typer.Option("--adaptation", metavar="NAME", help="For the basis white: cat16 or bradford.")
]
ObjectWhite = Annotated[
    str,
    typer.Option(
        "--object-white",
        metavar="WHITE",
        help="The objects' white: diffuser, or the name of the sample that is the stock.",
    ),
]
Surround = Annotated[str, typer.Option("--surround", metavar="NAME", help="average, dim or dark.")]
Bits = Annotated[int, typer.Option("--bits", metavar="N", help="Bits per channel of the codes: 8, 10, 12 or 16.")]
Limit = Annotated[
    float | None,
    typer.Option(
        "--limit", metavar="DE00", help="Exit with 1 when a CIEDE2000 is above this.", show_default=False
    ),
]
