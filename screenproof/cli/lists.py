"""The commands ``lights``, ``observers`` and ``tolerances``: what there is by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from screenproof.cli import _options as opt
from screenproof.cli._common import emit, emit_json

if TYPE_CHECKING:
    from screenproof.errors import Note
    from screenproof.proof.presets import Preset
    from screenproof.report.table import Table
    from screenproof.spectra import Light, Observer

LIGHTS_EPILOG = "Example: screenproof lights D50 FL11 lamp.spdx --plot lights.svg"
OBSERVERS_EPILOG = "Example: screenproof observers age=60,field=2 age=25,field=10,deutan=6"
TOLERANCES_EPILOG = "Example: screenproof tolerances press-solids contract-proof"

Names = list[str] | None


def _named(what: str, help: str) -> Any:
    return typer.Argument(metavar=f"[{what}]...", help=help, show_default=False)


def lights(
    names: Annotated[Names, _named("LIGHT", "Only these: names, D5000K, P3200K, or files.")] = None,
    plot: opt.Plot = None,
    force: opt.Force = False,
    as_json: opt.Json = False,
) -> None:
    """The standard lights by name, with their chromaticity (1931, 2 degrees) and colour temperature."""
    from screenproof.questions.opening import Open, each
    from screenproof.spectra import light_names

    found = each(Open().light, names or light_names())
    if plot is not None:
        from screenproof.cli.figures import draw_lights
        from screenproof.questions.writing import check_target, save_figure

        check_target(plot, force)
        save_figure(draw_lights(found), plot, force)
    entries = [_light(one) for one in found]
    if as_json:
        emit_json({"schema": "screenproof-lights/1", "observer": "cie1931", "lights": entries})
        return
    emit(_lights_table(entries).text())
    if not names:
        emit("\nBesides: CIE daylight as D5000K, a Planck radiator as P3200K, a measured light from a file.")


def _light(light: Light) -> dict[str, Any]:
    """A light with its xy for the 1931 observer and its correlated colour temperature [K]."""
    from screenproof.appearance import xyz_to_xy
    from screenproof.jobs.records import temperature
    from screenproof.spectra import observer, white_point

    return {
        "name": light.name,
        "label": light.label,
        "xy": xyz_to_xy(white_point(light, observer("cie1931"))).tolist(),
        "cct": temperature(light),
        "range_nm": [light.grid.start, light.grid.stop, light.grid.step],
        "source": light.source,
    }


def _lights_table(entries: Iterable[dict[str, Any]]) -> Table:
    from screenproof.report.table import Column, Table

    heads = Column("light", left=True), Column("x", 4), Column("y", 4), Column("temperature")
    kelvin = {one["name"]: None if one["cct"] is None else f"{one['cct']:.0f} K" for one in entries}
    rows = [(one["name"], *one["xy"], kelvin[one["name"]], one["label"]) for one in entries]
    return Table.of((*heads, Column("what it is", left=True)), rows)


def observers(
    names: Annotated[
        Names,
        _named(
            "OBSERVER", "Only these: names, eyes such as age=60,field=2, or files with a camera's sensitivities."
        ),
    ] = None,
    as_json: opt.Json = False,
) -> None:
    """The standard observers by name, or what an observer that you write means."""
    from screenproof.questions.opening import Open, each
    from screenproof.report.plain import notes_lines, notes_of, plain
    from screenproof.spectra import observer_names

    found = each(Open().observer, names or observer_names())
    entries = [_observer(one) for one in found]
    notes: tuple[Note, ...] = notes_of(*(one.notes for one in found))
    if as_json:
        emit_json({"schema": "screenproof-observers/1", "observers": entries, "notes": plain(notes)})
        return
    emit(_observers_table(entries).text())
    if notes:
        emit("\n" + "\n".join(notes_lines(notes)))
    if not names:
        emit("\nBesides, an eye by its age and field, as age=60,field=2 (20 to 80 years, 1 to 10 degrees), or one")
        emit("with shifted cones, as age=60,deutan=6 (protan, deutan or tritan, 0 to 20 nm); a camera's three")
        emit("sensitivities from a file; and in match, gamut and shift many people, with --population 200.")


def _observer(eye: Observer) -> dict[str, Any]:
    return {key: getattr(eye, key) for key in ("name", "label", "field", "age", "kind", "source")}


def _observers_table(entries: Iterable[dict[str, Any]]) -> Table:
    from screenproof.report.table import Column, Table

    heads = Column("observer", left=True), Column("field, degrees"), Column("age, years")
    rows = [(one["name"], one["field"], one["age"], one["label"] or one["kind"]) for one in entries]
    return Table.of((*heads, Column("what it is", left=True)), rows)


def tolerances(names: Annotated[Names, _named("PRESET", "Only these.")] = None, as_json: opt.Json = False) -> None:
    """Tolerances by name: the limits of standards and of common practice, with where each comes from.

    In a job: [tolerances.NAME] with preset = "contract-proof"; keys beside it go before the preset's.
    """
    from screenproof.proof.presets import tolerance_preset, tolerance_presets
    from screenproof.questions.opening import each

    found: Sequence[Preset] = each(tolerance_preset, names) if names else tolerance_presets()
    entries = [_preset(one) for one in found]
    if as_json:
        emit_json({"schema": "screenproof-tolerances/1", "presets": entries})
        return
    for preset in entries:
        limits = ", ".join(f"{key} {value:g}" for key, value in preset["limits"].items())
        emit(f"{preset['name']}: {preset['label']}")
        emit(f"  {preset['metric_label']}: {limits}")
        for line in (f"source: {preset['source']}", *preset["remarks"]):
            emit(f"  {line}")
    emit('\nUse one in a job: [tolerances.house] with preset = "NAME"; your own keys go before it.')


def _preset(preset: Preset) -> dict[str, Any]:
    """A preset with what the set that is made of it holds."""
    from screenproof.proof.tolerance import LIMITS, WHOLE_LIMITS, read_tolerances

    made = read_tolerances({preset.name: {"preset": preset.name}})[preset.name]
    limits = {key: getattr(made, key) for key in (*LIMITS, *WHOLE_LIMITS)}
    return {
        "name": preset.name,
        "label": preset.label,
        "metric": made.metric,
        "metric_label": made.metric_label,
        "limits": {key: value for key, value in limits.items() if value is not None},
        "source": preset.source,
        "remarks": list(preset.remarks),
    }


def add_to(app: typer.Typer) -> None:
    """Register the commands."""
    listed: tuple[tuple[Callable[..., None], str, str], ...] = (
        (lights, "The standard lights by name.", LIGHTS_EPILOG),
        (observers, "The standard observers by name.", OBSERVERS_EPILOG),
        (tolerances, "Tolerances by name, with their sources.", TOLERANCES_EPILOG),
    )
    for function, short, epilog in listed:
        app.command(function.__name__, short_help=short, epilog=epilog)(function)
