"""The figures of screens: what a display is; greys, evenness and drift of one that was checked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.proof.judging import Judge
from screenproof.report.drawing import DASHES, INK, QUIET, RULE, locus, new_figure, titled, triangle

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.additive import Display
    from screenproof.additive.screen_check import ScreenCheck
    from screenproof.questions.screen.check import ScreenChecked

_NOTHING = "not read"


def draw_display(display: Display) -> Figure:
    """A display's chromaticities, its tones, and its spectra where they are known."""
    from screenproof.appearance import xyz_to_uv

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


def draw_check(answer: ScreenChecked) -> Figure:
    """Greys on their tone curve, the evenness of the white, and the white over time."""
    assert answer.found is not None
    figure, (tones, even, time) = new_figure(13.0, 4.4, 3)
    _tones(tones, answer, answer.found)
    _evenness(even, answer, answer.found)
    _over_time(time, answer, answer.found)
    return figure


def _verdict(answer: ScreenChecked, *keys: str) -> str:
    """The verdicts of some rows, as a title says them."""
    rows = [row for row in answer.rows if row.key in keys]
    names = {"exponent": "exponent ", "tone_curve": "largest difference "}
    said = [
        row.status
        if row.figure is None
        else f"{names.get(row.key, 'largest ')}{f'{row.figure:.3g} {row.unit}'.strip()}, {row.status}"
        for row in rows
    ]
    return "; ".join(said)


def _tones(axes: Axes, answer: ScreenChecked, found: ScreenCheck) -> None:
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
    titled(axes, f"Tones: {_verdict(answer, 'exponent', 'tone_curve')}", "drive", "luminance, cd/m²")


def _evenness(axes: Axes, answer: ScreenChecked, found: ScreenCheck) -> None:
    """A cell for each place with its departure in percent; how grey and how hatched says how large it is."""
    from screenproof.additive.screen_check_figures import places

    at, shape = places(found.readings, 1.0), found.readings.grid_shape
    title = f"Evenness of the white: {_verdict(answer, 'uniformity_white')}"
    axes.set_title(title, loc="left", fontsize=9, color=INK)
    axes.set_axis_off()
    if at is None or shape is None:
        axes.text(0.5, 0.5, _NOTHING, ha="center", color=QUIET, fontsize=9)
        return
    from matplotlib.patches import Rectangle

    xyz = found.readings.own_xyz
    middle = float(xyz[at.centre, 1].mean())
    limit = answer.row("uniformity_white").limit
    high = None if limit is None else limit.high
    for place, rows in at.places.items():
        r, c = (int(part) for part in place.split(","))
        off = 100.0 * (float(xyz[rows, 1].mean()) / middle - 1.0)
        beyond = Judge(None).bound("uniformity_white", abs(off), at_most=high).status == "fail"
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


def _over_time(axes: Axes, answer: ScreenChecked, found: ScreenCheck) -> None:
    from screenproof.additive.screen_check import WARM_AFTER, series_of

    readings = found.readings
    rows = series_of(readings)
    title = f"White over time: {_verdict(answer, 'drift')}"
    if not rows.size or readings.minutes is None:
        axes.set_axis_off()
        axes.set_title(title, loc="left", fontsize=9, color=INK)
        axes.text(0.5, 0.5, _NOTHING, ha="center", color=QUIET, fontsize=9)
        return
    minutes, light = readings.minutes[rows], readings.own_xyz[rows, 1]
    end = float(light[-3:].mean())
    axes.plot(minutes, 100.0 * (light / end - 1.0), "-o", color=INK, lw=0.8, ms=3.5, mfc="none")
    row = answer.row("drift")
    if row.limit is not None and row.limit.high is not None:
        span = [WARM_AFTER, max(float(minutes[-1]), WARM_AFTER)]
        for bound in (-row.limit.high, row.limit.high):
            axes.plot(span, [bound, bound], color=QUIET, lw=0.8, ls=DASHES[1])
    axes.axvline(WARM_AFTER, color=RULE, lw=0.8)
    titled(axes, title, "minutes from switching on", "luminance against the last readings, %")
