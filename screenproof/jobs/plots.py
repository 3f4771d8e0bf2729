"""The figures of ``--plot`` for what is in a file, for lights and for displays; as PNG or SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import bad
from screenproof.jobs.direct import DisplayWords, display_of
from screenproof.questions.sources import (
    existing_file,
    light_and_notes,
    open_light,
    open_samples,
    without_selector,
)
from screenproof.questions.writing import check_target, save_figure
from screenproof.report.drawing import DASHES, INK, MARKERS, curves, locus, new_figure, titled, triangle

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.spectra import Light


def plot_lights(names: Sequence[str] | None, path: Path, *, force: bool = False) -> None:
    """The spectra of lights, at equal luminance."""
    from screenproof.spectra import light_names

    check_target(path, force)
    lights = [open_light(name) for name in names or light_names()]
    save_figure(_draw_lights(lights), path, force)


def _draw_lights(lights: Sequence[Light]) -> Figure:
    from screenproof.spectra import emission_xyz, observer

    eye = observer("cie1931")
    named = []
    for light in lights:
        nm = light.grid.wavelengths
        seen = (nm >= 360) & (nm <= 830)
        luminance = float(emission_xyz(light.power, light.grid, eye)[0, 1])
        named.append((light.name, nm[seen], light.power[seen] * (1e4 / luminance)))
    return curves(named, "Lights at equal luminance", "wavelength, nm", "relative power")


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
    named = [(name, nm, row) for name, row in zip(samples.names, samples.reflectance, strict=True)]
    title = f"{Path(file).name}: {len(samples)} samples"
    return curves(named, title, "wavelength, nm", "reflectance factor")


def _lights_figure(file: str) -> Figure:
    from screenproof.formats import read_lights

    if without_selector(file) != file:
        return _draw_lights([light_and_notes(file)[0]])
    return _draw_lights(read_lights(existing_file(file))[0])


def _camera_figure(file: str) -> Figure:
    from screenproof.formats import read_camera

    camera = read_camera(existing_file(file))
    nm = camera.grid.wavelengths
    named = [(name, nm, column) for name, column in zip(("red", "green", "blue"), camera.curves.T, strict=True)]
    return curves(named, f"{camera.label or camera.name}", "wavelength, nm", "sensitivity")


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
    locus(panels[0])
    triangle(panels[0], xyz_to_uv(view.primaries), xyz_to_uv(view.white), display.label)
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
