"""The figure of ``brightener --plot``: the curves with and without ultraviolet, and the ranges light by light."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.questions.writing import check_target, save_figure
from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, RULE, new_figure, short_name, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_CURVES = 5


def plot_brightener(answer: dict[str, Any], path: Path, *, force: bool = False) -> None:
    """Left: the strongest samples' M1 and M2, the brightener hatched; right: what each light may do."""
    check_target(path, force)
    entries = sorted(answer["samples"], key=lambda entry: entry["emission"])
    height = min(max(3.6, 1.6 + 0.3 * len(entries) * len(entries[0]["lights"] or [0])), 60.0)
    figure, (curves, ranges) = new_figure(9.6, height, 2)
    _curves(curves, answer, entries[::-1][:MOST_CURVES])
    _ranges(ranges, entries)
    save_figure(figure, path, force)


def _curves(axes: Axes, answer: dict[str, Any], entries: list[dict[str, Any]]) -> None:
    at = answer["wavelengths"]
    for k, entry in enumerate(entries):
        axes.plot(
            at["m1"], entry["m1"], color=INK, lw=1.1, ls=DASHES[k % len(DASHES)], label=short_name(entry["name"])
        )
        seen = np.array(at["m2"]) >= 420
        without = np.array(entry["m2"])[seen]
        axes.plot(np.array(at["m2"])[seen], without, color=QUIET, lw=0.8, ls=DASHES[k % len(DASHES)])
        whole = np.interp(np.array(at["m2"])[seen], at["m1"], entry["m1"])
        axes.fill_between(
            np.array(at["m2"])[seen], without, whole, facecolor="none", edgecolor=RULE, hatch="////", linewidth=0
        )
    axes.legend(fontsize=6.5, frameon=False)
    titled(axes, "M1 (black) above M2 (grey); between them brightener", "wavelength, nm", "reflectance factor")


def _ranges(axes: Axes, entries: list[dict[str, Any]]) -> None:
    lights = [at["light"] for at in entries[0]["lights"]]
    rows, names = 0, []
    for entry in entries:
        for k, at in reversed(list(enumerate(entry["lights"]))):
            names.append(f"{short_name(entry['name'])}, {at['light']}")
            if at["low"] is None:
                axes.text(0.0, rows, " cannot be known", fontsize=6.5, color=QUIET, va="center")
            else:
                mark = MARKERS[k % len(MARKERS)]
                axes.plot(
                    [at["low"], at["high"]],
                    [rows, rows],
                    color=INK,
                    lw=1.2,
                    marker=mark,
                    mfc="none",
                    ms=4,
                    clip_on=False,
                )
            rows += 1
    axes.set_yticks(range(rows), names, fontsize=6.5)
    axes.set_xlim(left=0)
    titled(axes, f"At least and at most, in {', '.join(lights)}", "CIEDE2000 from the colour as read with M1", "")
