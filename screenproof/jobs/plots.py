"""The figures of ``--plot``: chromaticity with gamut, shifts by light, spectra, tone curves; as PNG or SVG.

Lines are told apart by their dashes and by names beside them, not by hue: hue belongs to the colours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import bad
from screenproof.jobs.crowd_plots import draw_crowd
from screenproof.jobs.direct import DisplayWords, display_of
from screenproof.jobs.drawing import (
    DASHES,
    INK,
    MARKERS,
    MOST_NAMES,
    QUIET,
    RULE,
    check_target,
    new_figure,
    save_figure,
    short_name,
    titled,
)
from screenproof.jobs.sources import existing_file, light_and_notes, open_light, open_samples, without_selector

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.spectra import Array, Light

def plot_answer(answer: dict[str, Any], path: Path, *, force: bool = False) -> None:
    """The figure of a match, a gamut or a shift; of what people see, where a match or a shift was asked for it."""
    check_target(path, force)
    entries = answer.get("pairs") or answer.get("samples")
    if entries and "crowd" in entries[0]:
        draw = draw_crowd
    else:
        draw = _draw_shift if answer["schema"].startswith("screenproof-shift") else _draw_chromaticity
    save_figure(draw(answer), path, force)


def _draw_chromaticity(answer: dict[str, Any]) -> Figure:
    """u'v' with the display's gamut; samples that it cannot show are crosses."""
    figure, (axes,) = new_figure(6.4, 6.2)
    _locus(axes)
    _triangle(axes, answer["gamut"], answer["display"]["label"], 0)
    for entry in answer["samples"]:
        u, v = entry["uv"]
        shown = entry["in_gamut"]
        axes.plot(u, v, "o" if shown else "x", color=INK, ms=5, mfc="none" if shown else INK, mew=1.2)
        if len(answer["samples"]) <= MOST_NAMES:
            name = short_name(entry["name"])
            axes.annotate(name, (u, v), xytext=(5, 3), textcoords="offset points", fontsize=6.5, color=QUIET)
    outside = sum(not entry["in_gamut"] for entry in answer["samples"])
    title = (
        f"{answer['display']['label']}: {outside} of {len(answer['samples'])} samples (crosses) cannot be shown\n"
        f"light {answer['light']}, observer {answer['observer']}, basis {answer['basis']}"
    )
    titled(axes, title, "u′ (CIE 1976)", "v′")
    return figure


def _locus(axes: Axes) -> None:
    from screenproof.appearance import xyz_to_uv
    from screenproof.spectra import observer

    eye = observer("cie1931")
    nm = eye.grid.wavelengths
    seen = (nm >= 390) & (nm <= 700)
    uv = xyz_to_uv(eye.curves[seen])
    axes.plot(*np.vstack([uv, uv[:1]]).T, color=RULE, lw=0.8)
    axes.set_aspect("equal")
    axes.set_xlim(-0.02, 0.65)
    axes.set_ylim(-0.02, 0.62)


def _triangle(axes: Axes, gamut: dict[str, Any], label: str, dash: int) -> None:
    corners = np.array([*gamut["primaries_uv"], gamut["primaries_uv"][0]])
    axes.plot(*corners.T, color=INK, lw=1.2, ls=DASHES[dash % len(DASHES)], label=label)
    axes.plot(*gamut["white_uv"], "+", color=INK, ms=8)
    axes.legend(fontsize=7, frameon=False, loc="lower right")


def _draw_shift(answer: dict[str, Any]) -> Figure:
    """A row per sample or pair, a mark per light, a panel per observer; the largest on top."""
    entries = answer.get("pairs") or answer["samples"]
    entries = sorted(entries, key=lambda entry: max(item["de00"] for item in entry["shift"]))
    observers = list(dict.fromkeys(item["observer"] for entry in entries for item in entry["shift"]))
    lights = list(dict.fromkeys(item["light"] for entry in entries for item in entry["shift"]))
    height = min(1.6 + 0.24 * len(entries), 60.0)
    figure, panels = new_figure(3.2 + 3.2 * len(observers), height, len(observers))
    rows = np.arange(len(entries))
    for panel, who in zip(panels, observers, strict=True):
        for k, light in enumerate(lights):
            figures = [
                next(i["de00"] for i in entry["shift"] if (i["light"], i["observer"]) == (light, who))
                for entry in entries
            ]
            panel.plot(figures, rows, MARKERS[k % len(MARKERS)], color=INK, mfc="none", ms=5, label=light)
        if answer["limit"] is not None:
            panel.axvline(answer["limit"], color=QUIET, lw=0.8, ls=DASHES[1])
        panel.set_yticks(rows, [short_name(entry["name"]) for entry in entries] if panel is panels[0] else [])
        panel.hlines(rows, 0, panel.get_xlim()[1], color=RULE, lw=0.4, zorder=0)
        panel.set_xlim(left=0)
        titled(panel, f"observer {who}", f"CIEDE2000, from {answer['from']}", "")
    panels[-1].legend(fontsize=7, frameon=False, title="in", title_fontsize=7)
    return figure


def _draw_curves(
    curves: Sequence[tuple[str, Array, Array]], title: str, x: str, y: str, floor: float | None = 0.0
) -> Figure:
    """Named lines over x."""
    figure, (axes,) = new_figure(7.2, 4.2)
    for index, (name, at, values) in enumerate(curves):
        grey = 0.08 + 0.5 * (index // len(DASHES)) / max(1, (len(curves) - 1) // len(DASHES))
        axes.plot(at, values, color=str(grey), lw=1.1, ls=DASHES[index % len(DASHES)], label=short_name(name))
    if floor is not None:
        axes.set_ylim(bottom=floor)
    titled(axes, title, x, y)
    if 1 < len(curves) <= MOST_NAMES:
        axes.legend(fontsize=6.5, frameon=False, ncols=1 + len(curves) // 14, loc="best")
    return figure


def plot_lights(names: Sequence[str] | None, path: Path, *, force: bool = False) -> None:
    """The spectra of lights, at equal luminance."""
    from screenproof.spectra import light_names

    check_target(path, force)
    lights = [open_light(name) for name in names or light_names()]
    save_figure(_draw_lights(lights), path, force)


def _draw_lights(lights: Sequence[Light]) -> Figure:
    from screenproof.spectra import emission_xyz, observer

    eye = observer("cie1931")
    curves = []
    for light in lights:
        nm = light.grid.wavelengths
        seen = (nm >= 360) & (nm <= 830)
        luminance = float(emission_xyz(light.power, light.grid, eye)[0, 1])
        curves.append((light.name, nm[seen], light.power[seen] * (1e4 / luminance)))
    return _draw_curves(curves, "Lights at equal luminance", "wavelength, nm", "relative power")


def plot_file(answer: dict[str, Any], path: Path, *, force: bool = False) -> None:
    """The figure of an inspected file: reflectances, lights, a camera's curves, readings, or a profile."""
    check_target(path, force)
    draw = _file_drawings().get(answer["kind"])
    if draw is None:
        raise bad(
            f"there is no figure for: {answer['kind']}",
            file=answer["file"],
            field="--plot",
            expected=", ".join(sorted(_file_drawings())),
            mend="leave --plot out",
        )
    save_figure(draw(answer["file"]), path, force)


def _file_drawings() -> dict[str, Callable[[str], Figure]]:
    return {
        "spectral samples": _samples_figure,
        "light": _lights_figure,
        "lights": _lights_figure,
        "camera": _camera_figure,
        "display readings": _readings_figure,
        "ICC profile": lambda file: _display_figure(DisplayWords(file)),
    }


def _samples_figure(file: str) -> Figure:
    samples = open_samples(file)
    assert samples.reflectance is not None and samples.grid is not None
    nm = samples.grid.wavelengths
    curves = [(name, nm, row) for name, row in zip(samples.names, samples.reflectance, strict=True)]
    title = f"{Path(file).name}: {len(samples)} samples"
    return _draw_curves(curves, title, "wavelength, nm", "reflectance factor")


def _lights_figure(file: str) -> Figure:
    from screenproof.formats import read_lights

    if without_selector(file) != file:
        return _draw_lights([light_and_notes(file)[0]])
    return _draw_lights(read_lights(existing_file(file))[0])


def _camera_figure(file: str) -> Figure:
    from screenproof.formats import read_camera

    camera = read_camera(existing_file(file))
    nm = camera.grid.wavelengths
    curves = [(name, nm, column) for name, column in zip(("red", "green", "blue"), camera.curves.T, strict=True)]
    return _draw_curves(curves, f"{camera.label or camera.name}", "wavelength, nm", "sensitivity")


def _readings_figure(file: str) -> Figure:
    from screenproof.formats import read_readings
    from screenproof.spectra import observer

    readings = read_readings(existing_file(file))
    drive = np.asarray(readings.drive)
    luminance = np.asarray(readings.xyz(observer("cie1931")))[:, 1]
    figure, (axes,) = new_figure(7.2, 4.2)
    groups = {
        "red": (drive[:, 1:] == 0).all(axis=1),
        "green": (drive[:, [0, 2]] == 0).all(axis=1),
        "blue": (drive[:, :2] == 0).all(axis=1),
        "grey": np.ptp(drive, axis=1) == 0,
    }
    for index, (name, chosen) in enumerate(groups.items()):
        order = np.argsort(drive[chosen].max(axis=1))
        at, values = drive[chosen].max(axis=1)[order], luminance[chosen][order]
        axes.plot(at, values, color=INK, lw=0.8, ls=DASHES[index], marker=MARKERS[index], ms=3, label=name)
    axes.legend(fontsize=7, frameon=False)
    titled(axes, f"{Path(file).name}: {len(drive)} readings, ramps and greys", "drive", "luminance, cd/m²")
    return figure


def plot_display(words: DisplayWords, path: Path, *, force: bool = False) -> None:
    """A display's chromaticities, its tones, and its spectra where they are known."""
    check_target(path, force)
    save_figure(_display_figure(words), path, force)


def _display_figure(words: DisplayWords) -> Figure:
    from screenproof.appearance import xyz_to_uv

    display = display_of(words)
    view = display.seen_by()
    figure, panels = new_figure(13.0 if display.spectral else 9.0, 4.4, 3 if display.spectral else 2)
    _locus(panels[0])
    gamut = {"primaries_uv": xyz_to_uv(view.primaries).tolist(), "white_uv": xyz_to_uv(view.white).tolist()}
    _triangle(panels[0], gamut, display.label, 0)
    titled(panels[0], f"{display.label}, observer {view.observer.name}", "u′ (CIE 1976)", "v′")
    drive = np.linspace(0.0, 1.0, 129)
    channels = (*np.eye(3), np.ones(3))
    for index, (name, channel) in enumerate(zip(("red", "green", "blue", "grey"), channels, strict=True)):
        luminance = view.to_xyz(drive[:, None] * channel)[:, 1]
        share = (luminance - luminance[0]) / (luminance[-1] - luminance[0])
        panels[1].plot(drive, share, color=INK, lw=1.0, ls=DASHES[index], label=name)
    panels[1].legend(fontsize=7, frameon=False)
    titled(panels[1], "Tones", "drive", "luminance above black, share of full")
    if display.spectral:
        nm = display.spectral_grid.wavelengths
        spectra = display.spectrum(np.eye(3))
        for index, (name, spectrum) in enumerate(zip(("red", "green", "blue"), spectra, strict=True)):
            panels[2].plot(nm, spectrum, color=INK, lw=1.0, ls=DASHES[index], label=name)
        panels[2].legend(fontsize=7, frameon=False)
        titled(panels[2], "Spectra at full drive", "wavelength, nm", "radiance, W/(sr m² nm)")
    return figure
