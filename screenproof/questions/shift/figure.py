"""The figure of shifts: a row per sample or pair, a mark per light, a panel per observer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from screenproof.report.crowd_drawing import draw_crowd
from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, RULE, new_figure, short_name, titled

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.questions.shift.answer import ShiftAnswer


def draw(answer: ShiftAnswer) -> Figure:
    """What people see, where that was asked; else the shifts, the largest on top."""
    if answer.population is not None and answer.seen_by is not None:
        rows = list(zip(answer.names, answer.crowd, strict=True))
        screen = "" if answer.display is None else f"each sample beside {answer.display.label}"
        what = "two partners side by side" if answer.kind == "pair_shift" else screen
        return draw_crowd(rows, answer.seen_by, what, answer.population)
    order = sorted(range(len(answer.names)), key=lambda i: max(one.de00 for one in answer.shift[i]))
    observers = list(dict.fromkeys(one.observer for one in answer.shift[0]))
    lights = list(dict.fromkeys(one.light for one in answer.shift[0]))
    height = min(1.6 + 0.24 * len(order), 60.0)
    figure, panels = new_figure(3.2 + 3.2 * len(observers), height, len(observers))
    rows_at = np.arange(len(order))
    for panel, who in zip(panels, observers, strict=True):
        for k, light in enumerate(lights):
            at = [
                next(one.de00 for one in answer.shift[i] if (one.light, one.observer) == (light, who))
                for i in order
            ]
            panel.plot(at, rows_at, MARKERS[k % len(MARKERS)], color=INK, mfc="none", ms=5, label=light)
        if answer.limit is not None:
            panel.axvline(answer.limit, color=QUIET, lw=0.8, ls=DASHES[1])
        panel.set_yticks(rows_at, [short_name(answer.names[i]) for i in order] if panel is panels[0] else [])
        panel.hlines(rows_at, 0, panel.get_xlim()[1], color=RULE, lw=0.4, zorder=0)
        panel.set_xlim(left=0)
        titled(panel, f"observer {who}", f"CIEDE2000, from {answer.from_}", "")
    panels[-1].legend(fontsize=7, frameon=False, title="in", title_fontsize=7)
    return figure
