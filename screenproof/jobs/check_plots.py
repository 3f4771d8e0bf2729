"""The figure of a screen in its room."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.jobs.direct import DisplayWords
from screenproof.questions.writing import check_target, save_figure
from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, new_figure, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_room(screen: DisplayWords, answer: dict[str, Any], path: Path, *, force: bool = False) -> None:
    """Contrast and gamut over the illuminance on the screen, with this room and the limits."""
    check_target(path, force)
    from screenproof.jobs.room import room_series

    here = answer["room"]["illuminance"]
    top = max(2.0 * here, 200.0)
    lux = np.concatenate([[0.0], np.geomspace(1.0, top, 60)])
    series = room_series(screen, lux.tolist())
    figure, (left, right) = new_figure(11.0, 4.2, 2)
    pairs = [(at, one.contrast) for at, one in zip(lux, series, strict=True) if one.contrast is not None]
    left.plot(*zip(*pairs, strict=True), color=INK, lw=1.1)
    left.set_yscale("log")
    left.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    _room_lines(left, answer, {"contrast": "contrast", "on_off": "black on / off", "excess": "excess"})
    titled(left, "Contrast", f"lx of {answer['room']['light']} on the screen", "white over black")
    for index, (key, label) in enumerate((("volume", "volume in CIELAB"), ("area", "area in u′v′"))):
        dark = getattr(series[0], key)
        right.plot(lux, [100.0 * getattr(one, key) / dark for one in series], color=INK, lw=1.1, ls=DASHES[index],
                   label=label)  # fmt: skip
    right.set_ylim(0.0, 105.0)
    right.plot(here, answer["lit"]["volume_percent"], MARKERS[0], color=INK, ms=6, label="this room")
    right.legend(fontsize=7, frameon=False)
    titled(right, "Gamut, share of the dark room's", f"lx of {answer['room']['light']} on the screen", "%")
    save_figure(figure, path, force)


def _room_lines(axes: Axes, answer: dict[str, Any], names: dict[str, str]) -> None:
    """This room as a mark on the curve, and where each limit ceases to hold as a named line."""
    from screenproof.jobs.room import lux_words

    here = answer["room"]["illuminance"]
    if answer["lit"]["contrast"] is not None:
        axes.plot(here, answer["lit"]["contrast"], MARKERS[0], color=INK, ms=6)
        axes.annotate("this room", (here, answer["lit"]["contrast"]), xytext=(6, 6), textcoords="offset points",
                      fontsize=7, color=INK)  # fmt: skip
    low, high = axes.get_xlim()
    shown = [entry for entry in answer["limits"] if entry["key"] in names]
    for step, entry in enumerate(shown):
        at = entry["to_lux"] if entry["to_lux"] is not None else entry["from_lux"]
        if at is None or not max(low, 0.1) < at <= high:
            continue
        until = "until" if entry["to_lux"] is not None else "from"
        axes.axvline(at, color=QUIET, lw=0.8, ls=DASHES[1 + step % 4], zorder=1)
        words = f"{names[entry['key']]} holds {until} {lux_words(at, up=until == 'from')}"
        axes.annotate(words, (at, 0.97 - 0.07 * step), xytext=(5, 0), xycoords=("data", "axes fraction"),
                      textcoords="offset points", fontsize=7, color=QUIET, va="top", zorder=3,
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})  # fmt: skip
