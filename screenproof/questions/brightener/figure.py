"""The figure of brightener: the curves with and without ultraviolet, and the ranges light by light."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, RULE, new_figure, short_name, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.questions.brightener.answer import BrightenerAnswer

MOST_CURVES = 5


def draw(answer: BrightenerAnswer) -> Figure:
    """Left: the strongest samples' M1 and M2, the brightener hatched; right: what each light may do."""
    height = min(max(3.6, 1.6 + 0.3 * len(answer.names) * len(answer.lights[0])), 60.0)
    figure, (curves, ranges) = new_figure(9.6, height, 2)
    _curves(curves, answer)
    _ranges(ranges, answer)
    return figure


def _curves(axes: Axes, answer: BrightenerAnswer) -> None:
    at = answer.wavelengths
    seen = at.m2 >= 420
    clear = at.m2[seen]
    for k, i in enumerate(answer.order[:MOST_CURVES]):
        m1, without, dash = answer.m1[i], answer.m2[i][seen], DASHES[k % len(DASHES)]
        axes.plot(at.m1, m1, color=INK, lw=1.1, ls=dash, label=short_name(answer.names[i]))
        axes.plot(clear, without, color=QUIET, lw=0.8, ls=dash)
        whole = np.interp(clear, at.m1, m1)
        axes.fill_between(clear, without, whole, facecolor="none", edgecolor=RULE, hatch="////", linewidth=0)
    axes.legend(fontsize=6.5, frameon=False)
    titled(axes, "M1 (black) above M2 (grey); between them brightener", "wavelength, nm", "reflectance factor")


def _ranges(axes: Axes, answer: BrightenerAnswer) -> None:
    names: list[str] = []
    for i in reversed(answer.order):
        for k, at in reversed(list(enumerate(answer.lights[i]))):
            row = len(names)
            names.append(f"{short_name(answer.names[i])}, {at.light}")
            if at.low is None or at.high is None:
                axes.text(0.0, row, " cannot be known", fontsize=6.5, color=QUIET, va="center")
                continue
            mark = MARKERS[k % len(MARKERS)]
            axes.plot([at.low, at.high], [row, row], color=INK, lw=1.2, marker=mark, mfc="none", ms=4,
                      clip_on=False)  # fmt: skip
    axes.set_yticks(range(len(names)), names, fontsize=6.5)
    axes.set_xlim(left=0)
    lights = ", ".join(at.light for at in answer.lights[0])
    titled(axes, f"At least and at most, in {lights}", "CIEDE2000 from the colour as read with M1", "")
