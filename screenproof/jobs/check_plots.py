"""The figures of the checks: a screen's greys, evenness and drift, and a light's spectrum."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.questions.writing import check_target, save_figure
from screenproof.report.drawing import DASHES, INK, QUIET, RULE, new_figure, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from screenproof.additive.screen_check import ScreenCheck

_NOTHING = "not read"


def plot_screen_check(found: ScreenCheck, path: Path, *, force: bool = False) -> None:
    """Greys on their tone curve, the evenness of the white, and the white over time."""
    check_target(path, force)
    figure, (tones, even, time) = new_figure(13.0, 4.4, 3)
    _tones(tones, found)
    _evenness(even, found)
    _over_time(time, found)
    save_figure(figure, path, force)


def _verdict(found: ScreenCheck, *keys: str) -> str:
    """The verdicts of some rows, as a title says them."""
    rows = [row for row in found.rows if row.key in keys]
    names = {"exponent": "exponent ", "tone_curve": "largest difference "}
    said = [
        row.status
        if row.figure is None
        else f"{names.get(row.key, 'largest ')}{f'{row.figure:.3g} {row.unit}'.strip()}, {row.status}"
        for row in rows
    ]
    return "; ".join(said)


def _tones(axes: Axes, found: ScreenCheck) -> None:
    from screenproof.additive import named_transfer
    from screenproof.additive.screen_check_figures import Rests
    from screenproof.additive.screen_check_limits import screen_limits

    readings = found.readings
    usual = Rests(readings)
    greys = usual.greys(0.0, 1.0)
    level = np.array([drive for drive, _ in greys])
    light = np.array([float(readings.own_xyz[rows, 1].mean()) for _, rows in greys])
    axes.plot(level, light, "o", color=INK, mfc="none", ms=4, label="greys as read")
    name = found.curve or screen_limits(found.against).curve
    fine = np.linspace(0.0, 1.0, 200)
    grey = np.repeat(fine[:, None], 3, axis=1)
    low = max(float(light[0]), 0.0) if level[0] == 0.0 else 0.0
    for index, curve in enumerate([name] if name else ["gamma1.8", "gamma2.4"]):
        transfer = named_transfer(curve, float(light[-1]), low)
        share = transfer.forward(grey)[:, 1]
        aim = low + (light[-1] - low) * share
        axes.plot(fine, aim, color=QUIET, lw=0.9, ls=DASHES[index], label=transfer.name)
    axes.legend(fontsize=7, frameon=False)
    titled(axes, f"Tones: {_verdict(found, 'exponent', 'tone_curve')}", "drive", "luminance, cd/m²")


def _evenness(axes: Axes, found: ScreenCheck) -> None:
    """A cell for each place with its departure in percent; how grey and how hatched says how large it is."""
    from screenproof.additive.screen_check_figures import places

    at, shape = places(found.readings, 1.0), found.readings.grid_shape
    title = f"Evenness of the white: {_verdict(found, 'uniformity_white')}"
    axes.set_title(title, loc="left", fontsize=9, color=INK)
    axes.set_axis_off()
    if at is None or shape is None:
        axes.text(0.5, 0.5, _NOTHING, ha="center", color=QUIET, fontsize=9)
        return
    from matplotlib.patches import Rectangle

    xyz = found.readings.own_xyz
    middle = float(xyz[at.centre, 1].mean())
    row = next((row for row in found.rows if row.key == "uniformity_white"), None)
    high = row.limit.high if row is not None and row.limit is not None else None
    for place, rows in at.places.items():
        r, c = (int(part) for part in place.split(","))
        off = 100.0 * (float(xyz[rows, 1].mean()) / middle - 1.0)
        beyond = high is not None and abs(off) > high
        shade = str(max(0.55, 1.0 - abs(off) / 40.0))
        edge: dict[str, Any] = {"ec": INK, "lw": 1.6, "hatch": "///"} if beyond else {"ec": RULE, "lw": 0.8}
        axes.add_patch(Rectangle((c - 0.5, r - 0.5), 1, 1, fc=shade, **edge))
        box = {"facecolor": "white", "edgecolor": "none", "pad": 1.5} if beyond else None
        said = "0.0 %" if abs(off) < 0.05 else f"{off:+.1f} %"
        axes.text(c, r, said, ha="center", va="center", fontsize=9, color=INK, bbox=box)
    axes.text((shape[1] + 1) / 2, (shape[0] + 1) / 2, f"{middle:.1f}\ncd/m²", ha="center", va="center", fontsize=9)
    told = "departure from the centre" + ("" if high is None else f"; hatched beyond {high:g} %")
    axes.text((shape[1] + 1) / 2, shape[0] + 0.58, told, ha="center", va="top", fontsize=8, color=QUIET)
    axes.set_xlim(0.4, shape[1] + 0.6)
    axes.set_ylim(shape[0] + 0.8, 0.4)
    axes.set_aspect("equal")


def _over_time(axes: Axes, found: ScreenCheck) -> None:
    from screenproof.additive.screen_check import WARM_AFTER, series_of

    readings = found.readings
    rows = series_of(readings)
    title = f"White over time: {_verdict(found, 'drift')}"
    if not rows.size or readings.minutes is None:
        axes.set_axis_off()
        axes.set_title(title, loc="left", fontsize=9, color=INK)
        axes.text(0.5, 0.5, _NOTHING, ha="center", color=QUIET, fontsize=9)
        return
    minutes, light = readings.minutes[rows], readings.own_xyz[rows, 1]
    end = float(light[-3:].mean())
    axes.plot(minutes, 100.0 * (light / end - 1.0), "-o", color=INK, lw=0.8, ms=3.5, mfc="none")
    row = next(row for row in found.rows if row.key == "drift")
    if row.limit is not None and row.limit.high is not None:
        span = [WARM_AFTER, max(float(minutes[-1]), WARM_AFTER)]
        for bound in (-row.limit.high, row.limit.high):
            axes.plot(span, [bound, bound], color=QUIET, lw=0.8, ls=DASHES[1])
    axes.axvline(WARM_AFTER, color=RULE, lw=0.8)
    titled(axes, title, "minutes from switching on", "luminance against the last readings, %")


def plot_light_check(named: str, answer: dict[str, Any], path: Path, *, force: bool = False) -> None:
    """A light's spectrum beside its aim's at equal luminance, and its rendering indices."""
    check_target(path, force)
    from screenproof.jobs.light_check import opened_light
    from screenproof.questions.sources import open_light
    from screenproof.spectra import emission_xyz, observer

    figure, (spectrum, bars) = new_figure(11.0, 4.2, 2)
    eye = observer("cie1931")
    for index, light in enumerate((opened_light(named)[0], open_light(answer["aim"]))):
        nm = light.grid.wavelengths
        seen = (nm >= 300) & (nm <= 800)
        level = float(emission_xyz(light.power, light.grid, eye)[0, 1])
        spectrum.plot(nm[seen], light.power[seen] * (1e4 / level), color=INK if index == 0 else QUIET, lw=1.1,
                      ls=DASHES[index], label=light.name if index == 0 else f"{light.name}, the aim")  # fmt: skip
    spectrum.set_ylim(bottom=0.0)
    spectrum.legend(fontsize=7, frameon=False)
    figures = {row["key"]: row["figure"] for row in answer["rows"]}
    titled(spectrum, f"At equal luminance; SSI {figures['similarity']:.0f}", "wavelength, nm", "relative power")
    _bars(bars, answer)
    save_figure(figure, path, force)


def _bars(axes: Axes, answer: dict[str, Any]) -> None:
    """Ra, then R1 to R14; those below their limit are hatched, and their figures stand over them."""
    special = answer["rendering"]["special"]
    values = [answer["rendering"]["ra"], *special]
    names = ["Ra", *(f"R{i + 1}" for i in range(len(special)))]
    floors = [90.0, *[80.0] * 8, *[None] * (len(special) - 8)]
    for i, (value, floor) in enumerate(zip(values, floors, strict=True)):
        low = floor is not None and value < floor
        face = "white" if low else ("0.75" if floor else "0.92")
        axes.bar(i, max(value, 0.0), width=0.7, fc=face, ec=INK, lw=0.8, hatch="////" if low else None)
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
        said = f"{value:.{1 if low else 0}f}"
        axes.text(i, max(value, 0.0) + 1.8, said, ha="center", fontsize=6.5, color=INK, bbox=ground, zorder=3)
        if floor is not None:
            axes.plot([i - 0.45, i + 0.45], [floor, floor], color=INK, lw=1.2)
    axes.set_xticks(range(len(names)), names, fontsize=7)
    axes.set_ylim(0.0, 112.0)
    titled(axes, "Colour rendering, CIE 13.3; lines: ISO 3664 (from memory)", "", "index")
