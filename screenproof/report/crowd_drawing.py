"""The figure of a crowd: a strip per sample, from those who see least to those who see most, on one axis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from screenproof.report.drawing import DASHES, INK, QUIET, RULE, new_figure, short_name, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.proof.eye_records import CrowdRecord, PopulationRecord

_LOW, _HIGH = 1, 19  # 5 and 95 % among the quantiles at 0, 5, ... 100 %


def draw_crowd(
    rows: Sequence[tuple[str, Sequence[CrowdRecord]]], observer: str, what: str, people: PopulationRecord
) -> Figure:
    """What people see of each sample or pair in each light: 5 to 95 % of them, their median, the observer, the
    limit.

    A panel per light; where people see most is on top, and all panels have the same axis. what: what is seen.
    """
    rows = sorted(rows, key=lambda row: max(crowd.p95 for crowd in row[1]))
    panels_of = range(len(rows[0][1]))
    figure, panels = new_figure(4.2 + 3.4 * len(panels_of), min(2.2 + 0.3 * len(rows), 60.0), len(panels_of))
    widest = max(crowd.p95 for _, crowds in rows for crowd in crowds)
    limit = rows[0][1][0].limit
    right = 1.08 * max(widest, *(crowd.standard for _, crowds in rows for crowd in crowds), limit or 0.0, 0.1)
    for k, panel in zip(panels_of, panels, strict=True):
        _strips(panel, [crowds[k] for _, crowds in rows], observer, limit)
        panel.set_xlim(0.0, right)
        panel.set_yticks(range(len(rows)), [short_name(name) for name, _ in rows] if k == 0 else [])
        panel.set_ylim(-0.7, len(rows) - 0.3)
        titled(panel, f"in {rows[0][1][k].light}", "CIEDE2000", "")
    title = f"What people see of {what}\n{people.label} (seed {people.seed})"
    figure.suptitle(title, fontsize=9, color=INK, x=0.01, ha="left")
    handles, labels = panels[0].get_legend_handles_labels()
    figure.legend(handles, labels, fontsize=7, frameon=False, ncols=5, loc="outside lower left")
    return figure


def _strips(axes: Axes, crowds: Sequence[CrowdRecord], observer: str, limit: float | None) -> None:
    at = range(len(crowds))
    low, high = ([crowd.quantiles[i] for crowd in crowds] for i in (_LOW, _HIGH))
    axes.hlines(at, low, high, color=RULE, lw=7, label="5 to 95 % of the people")
    axes.plot([crowd.median for crowd in crowds], at, "|", color=INK, ms=11, mew=1.6, label="median")
    standard = [crowd.standard for crowd in crowds]
    axes.plot(standard, at, "D", color=INK, mfc="white", ms=4.5, clip_on=False, label=f"observer {observer}")
    old = [crowd.p95_before for crowd in crowds if crowd.p95_before is not None]
    if len(old) == len(crowds):
        axes.plot(old, at, "4", color=QUIET, ms=8, label="95 % before")
    if limit is not None:
        axes.axvline(limit, color=QUIET, lw=0.9, ls=DASHES[1], label=f"limit {limit:g}")
        column: dict[str, Any] = {"transform": axes.get_yaxis_transform(), "fontsize": 7, "color": QUIET}
        column["ha"] = "right"
        for row, crowd in zip(at, crowds, strict=True):
            axes.text(1.06, row, f"{100 * (crowd.share_above or 0.0):.0f} %", va="center", **column)
        axes.text(1.06, len(crowds) - 0.3, "above it", va="bottom", **column)
