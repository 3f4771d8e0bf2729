"""The command ``blend``: small areas side by side, or the sectors of a spinning disc, seen as one colour."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json, finish, notes_text, number, progress, table

EPILOG = (
    'Examples: screenproof blend papers.csv --parts "Blue=0.5,Yellow=0.5" --pattern check --size 2mm '
    "--distance 3m; screenproof blend papers.csv --match Olive --of Red,Green,Blue,Black --rpm 4000"
)

Verbose = dict[str, Any]


def blend(
    samples: opt.SamplesFile,
    parts: Annotated[
        list[str] | None,
        typer.Option(
            "--parts",
            metavar="NAME=AREA,...",
            help="The parts with their areas: 0.5, 1/3, 50%, 180deg, or rest. They fill the surface.",
            show_default=False,
        ),
    ] = None,
    match: Annotated[
        str | None,
        typer.Option(
            "--match", metavar="TARGET", help="Find the areas that match this sample.", show_default=False
        ),
    ] = None,
    of: Annotated[
        list[str] | None,
        typer.Option(
            "--of", metavar="NAME,...", help="The papers to match it with, best four or more.", show_default=False
        ),
    ] = None,
    target_file: Annotated[
        str | None,
        typer.Option("--target-file", metavar="FILE", help="The target is in this file.", show_default=False),
    ] = None,
    pattern: Annotated[
        str | None,
        typer.Option(
            "--pattern",
            metavar="NAME",
            help="check, stripes, dots (of the first part) or sectors; check unless it is a disc.",
            show_default=False,
        ),
    ] = None,
    size: Annotated[
        str | None,
        typer.Option(
            "--size",
            metavar="LENGTH",
            help="2mm, 0.5cm or 60/cm: side of a square, period of the stripes, spacing of the dots, or "
            "diameter of the disc.",
            show_default=False,
        ),
    ] = None,
    distance: Annotated[
        str | None,
        typer.Option("--distance", metavar="LENGTH", help="Seen from there: 3m, 120cm.", show_default=False),
    ] = None,
    angle: Annotated[
        float | None,
        typer.Option("--angle", metavar="DEGREES", help="Of the rows of dots.", show_default=False),
    ] = None,
    light: opt.LightName = "D50",
    observer: opt.ObserverName = "cie1931",
    to: Annotated[
        str | None,
        typer.Option(
            "--to", metavar="LIGHTS", help="How a match holds in these lights: A,FL11.", show_default=False
        ),
    ] = None,
    rpm: Annotated[
        float | None,
        typer.Option("--rpm", metavar="N", help="Flicker at so many rev/min of a disc.", show_default=False),
    ] = None,
    sectors: Annotated[
        int | None,
        typer.Option(
            "--sectors",
            metavar="N",
            help="Sectors on the disc; one of each unless given.",
            show_default=False,
        ),
    ] = None,
    illuminance: Annotated[
        float | None,
        typer.Option("--illuminance", metavar="LUX", help="On the disc: its luminances.", show_default=False),
    ] = None,
    limit: opt.Limit = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The colour of checks, stripes, dots or a spinning disc that the eye sees as one.

    With --parts: their average by area. With --match: the areas, or sector angles, that give a sample's colour, or
    come nearest to it, with the reason. With --size: from where the pattern fuses. With --distance: what is still
    seen of it there. A spinning disc needs a guard, and its flicker can harm: read the cautions.
    """
    from screenproof.jobs.blends import BlendWords, blend_answer, failed

    say = progress()
    say("blending")
    words = BlendWords(
        parts=tuple(parts or ()),
        match=match,
        of=tuple(of or ()),
        target_file=target_file,
        pattern=pattern,
        size=size,
        distance=distance,
        angle=angle,
        light=light,
        observer=observer,
        to=to,
        rpm=rpm,
        sectors=sectors,
        illuminance=illuminance,
        limit=limit,
    )
    if plot is not None:
        from screenproof.jobs.blend_plots import plot_blend

        answer = plot_blend(samples, words, plot, force=force)
    else:
        answer = blend_answer(samples, words)
    say("")
    emit_json(answer) if as_json else emit(blend_text(answer))
    finish(failed(answer))


def blend_text(answer: Verbose) -> str:
    """A blend as lines of text: the verdict first if something fails, then the colours, then how they are seen."""
    lines = [f"Blend: light {answer['light']}, observer {answer['observer']}"]
    if answer["match"] is not None:
        lines += _match_lines(answer["match"])
    lines += _judged_lines(answer)
    lines += ["", _colours(answer)]
    if answer["fusion"] is not None:
        lines += ["", *_fusion_lines(answer)]
    if answer["visibility"] is not None:
        lines += ["", *_visibility_lines(answer["visibility"])]
    if answer["disc"] is not None and answer["disc"]["flicker"] is not None:
        lines += ["", *_flicker_lines(answer["disc"])]
    notes = notes_text(answer["notes"])
    return "\n".join(lines + (["", notes] if notes else []))


def _match_lines(match: Verbose) -> list[str]:
    if match["exact"]:
        lines = [f"{match['target']} is matched: the areas solve X, Y and Z exactly."]
    else:
        lines = [f"{match['target']} is not matched: {match['reason']}."]
    lines.append(f"One degree between two sectors changes the blend by up to {match['per_degree']:.2g} CIEDE2000.")
    for item in match["shift"]:
        said = "" if item["words"] == "the same" else f", the blend is {item['words']}"
        lines.append(f"In {item['light']}: {number(item['de00'])} CIEDE2000 apart{said}.")
    return lines


def _judged_lines(answer: Verbose) -> list[str]:
    return [
        f"Limit {item['limit']:g} CIEDE2000, {item['what']}: {number(item['figure'])}, {item['status']}."
        for item in answer["judged"]
    ]


def _colours(answer: Verbose) -> str:
    """The parts, the blend, and the target."""
    rows = [
        [part["name"], number(part["area"], 4), number(part["degrees"]), *_numbers(part["xyz"], part["lab"])]
        for part in answer["parts"]
    ]
    blend = answer["blend"]
    rows.append([f"blend, {blend['hue']}", "", "", *_numbers(blend["xyz"], blend["lab"])])
    if answer["match"] is not None:
        match = answer["match"]
        rows.append([f"target, {match['target']}", "", "", *_numbers(match["target_xyz"], match["target_lab"])])
    return table(["part", "area", "degrees", "X", "Y", "Z", "L*", "a*", "b*"], rows)


def _numbers(xyz: list[float], lab: list[float]) -> list[str]:
    return [number(value) for value in (*xyz, *lab)]


_SIZES = {
    "check": "A check of squares of {size} fuses",
    "stripes": "Stripes that repeat after {size} fuse",
    "dots": "Dots {size} apart fuse",
    "sectors": "A disc of {size} at rest fuses",
}


def _fusion_lines(answer: Verbose) -> list[str]:
    pattern, fusion = answer["pattern"], answer["fusion"]
    lines = [_SIZES[pattern["kind"]].format(size=length(pattern["size_mm"]))]
    lines.append(f"  from {length(fusion['feature_mm'])}: this size within one minute of arc, the cautious figure")
    half = length(fusion["half_period_mm"])
    lines.append(f"  from {half}: half a period of {length(pattern['period_mm'])} within it, an ideal eye")
    gone = fusion["vanishes_from_mm"]
    if gone is not None:
        where = f"  from {length(gone)}" if gone > 0 else "  from anywhere"
        lines.append(f"{where}: less than {fusion['vanishing_de00']:g} CIEDE2000 left for 95 % of it (S-CIELAB)")
    return lines


def length(mm: float) -> str:
    """A length with three digits, in mm below a metre."""
    if mm >= 1e6:
        return f"{mm / 1e6:.3g} km"
    return f"{mm / 1000:.3g} m" if mm >= 1000 else f"{mm:.3g} mm"


def _visibility_lines(seen: Verbose) -> list[str]:
    head = f"Seen from {length(seen['distance_mm'])}, {seen['cycles_per_degree']:.3g} cycles per degree: "
    head += f"{100 * seen['share']:.3g} % of the difference is left"
    rows = [
        [what, *(number(seen[key][figure]) for figure in ("mean", "p95", "max"))]
        for what, key in (("from there", "de00"), ("from very near", "unblurred_de00"))
    ]
    return [head, "", table(["from the mean colour, CIEDE2000", "mean", "95 %", "largest"], rows)]


def _flicker_lines(disc: Verbose) -> list[str]:
    found = disc["flicker"]
    lines = [f"Flicker at {found['rpm']:g} rev/min, {disc['sectors']} sectors: {found['frequency_hz']:.3g} Hz"]
    if found["fused"]:
        lines.append("  fast enough for hardly anybody to see it (60 Hz, common practice)")
    else:
        lines.append(f"  too slow: it is seen to flicker below 60 Hz, {found['fusing_rpm']:.4g} rev/min")
    if found["flashes"]:
        lines.append("  it flashes more than 3 times in a second: see the caution below")
    if found["luminances"] is not None:
        low, high = found["luminances"]
        reach = "reaches" if found["strong"] else "is below"
        limit = "the limit of ITU-R BT.1702 for screens (20 apart, the darker below 160)"
        lines.append(f"  {low:.3g} to {high:.3g} cd/m2: {reach} {limit}")
    return lines


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command("blend", short_help="The colour of checks, dots or a disc, seen as one.", epilog=EPILOG)(blend)
