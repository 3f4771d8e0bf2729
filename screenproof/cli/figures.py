"""The figures of ``--plot`` for lights, and for what is in a file; as PNG or SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import bad
from screenproof.questions.sources import existing_file, light_and_notes, open_samples, without_selector
from screenproof.report.drawing import DASHES, INK, MARKERS, curves, new_figure, titled

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.spectra import Light


def draw_lights(lights: Sequence[Light]) -> Figure:
    """The spectra of lights, at equal luminance."""
    from screenproof.spectra import emission_xyz, observer

    eye = observer("cie1931")
    named = []
    for light in lights:
        nm = light.grid.wavelengths
        seen = (nm >= 360) & (nm <= 830)
        luminance = float(emission_xyz(light.power, light.grid, eye)[0, 1])
        named.append((light.name, nm[seen], light.power[seen] * (1e4 / luminance)))
    return curves(named, "Lights at equal luminance", "wavelength, nm", "relative power")


def draw_file(answer: dict[str, Any]) -> Figure:
    """The figure of an inspected file: reflectances, lights, a camera's curves, readings, or a profile."""
    draw = _file_drawings().get(answer["kind"])
    if draw is None:
        raise bad(
            f"there is no figure for: {answer['kind']}",
            file=answer["file"],
            field="--plot",
            expected=", ".join(sorted(_file_drawings())),
            mend="leave --plot out",
        )
    return draw(answer["file"])


def _file_drawings() -> dict[str, Callable[[str], Figure]]:
    return {
        "spectral samples": _samples_figure,
        "light": _lights_figure,
        "lights": _lights_figure,
        "camera": _camera_figure,
        "display readings": _readings_figure,
        "ICC profile": _profile_figure,
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
        return draw_lights([light_and_notes(file)[0]])
    return draw_lights(read_lights(existing_file(file))[0])


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


def _profile_figure(file: str) -> Figure:
    from screenproof.questions.opening import Open
    from screenproof.questions.screen.figure import draw_display

    return draw_display(Open().plain_display(file))
