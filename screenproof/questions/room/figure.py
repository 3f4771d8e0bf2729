"""The figure of a room: contrast and gamut over the illuminance on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from screenproof.questions.room.findings import lux_words
from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, new_figure, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.questions.room.answer import RoomAnswer

_NAMES = {"contrast": "contrast", "on_off": "black on / off", "excess": "excess"}


def draw(answer: RoomAnswer) -> Figure:
    """Contrast and gamut over the illuminance on the screen, with this room and the limits."""
    assert answer.search is not None
    here, light = answer.room.illuminance, answer.room.light
    lux = np.concatenate([[0.0], np.geomspace(1.0, max(2.0 * here, 200.0), 60)])
    series = [answer.search.effect(at) for at in lux.tolist()]
    figure, (left, right) = new_figure(11.0, 4.2, 2)
    pairs = [(at, one.contrast) for at, one in zip(lux, series, strict=True) if one.contrast is not None]
    left.plot(*zip(*pairs, strict=True), color=INK, lw=1.1)
    left.set_yscale("log")
    left.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    _room_lines(left, answer)
    titled(left, "Contrast", f"lx of {light} on the screen", "white over black")
    for index, (key, label) in enumerate((("volume", "volume in CIELAB"), ("area", "area in u′v′"))):
        dark = getattr(series[0], key)
        shares = [100.0 * getattr(one, key) / dark for one in series]
        right.plot(lux, shares, color=INK, lw=1.1, ls=DASHES[index], label=label)
    right.set_ylim(0.0, 105.0)
    right.plot(here, answer.lit.volume_percent, MARKERS[0], color=INK, ms=6, label="this room")
    right.legend(fontsize=7, frameon=False)
    titled(right, "Gamut, share of the dark room's", f"lx of {light} on the screen", "%")
    return figure


def _room_lines(axes: Axes, answer: RoomAnswer) -> None:
    """This room as a mark on the curve, and where each limit ceases to hold as a named line."""
    here, contrast = answer.room.illuminance, answer.lit.contrast
    if contrast is not None:
        axes.plot(here, contrast, MARKERS[0], color=INK, ms=6)
        axes.annotate("this room", (here, contrast), xytext=(6, 6), textcoords="offset points", fontsize=7,
                      color=INK)  # fmt: skip
    low, high = axes.get_xlim()
    for step, one in enumerate(limit for limit in answer.limits if limit.key in _NAMES):
        at = one.to_lux if one.to_lux is not None else one.from_lux
        if at is None or not max(low, 0.1) < at <= high:
            continue
        until = "until" if one.to_lux is not None else "from"
        axes.axvline(at, color=QUIET, lw=0.8, ls=DASHES[1 + step % 4], zorder=1)
        words = f"{_NAMES[one.key]} holds {until} {lux_words(at, up=until == 'from')}"
        axes.annotate(words, (at, 0.97 - 0.07 * step), xytext=(5, 0), xycoords=("data", "axes fraction"),
                      textcoords="offset points", fontsize=7, color=QUIET, va="top", zorder=3,
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})  # fmt: skip
