"""How every figure of ``--plot`` begins and ends: its sheet, its titles, its file. PNG or SVG.

Lines are told apart by their dashes and by names beside them, not by hue: hue belongs to the colours.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.spectra import Array

INK, QUIET, RULE = "#111111", "#5c5c5c", "#b4b4b4"
DASHES: tuple[Any, ...] = ("-", (0, (5, 2)), (0, (1.5, 1.5)), (0, (7, 2, 1.5, 2)), (0, (12, 3)))
MARKERS = "osD^v<>Pph"
MOST_NAMES = 40


def figure_bytes(figure: Figure, suffix: str) -> bytes:
    """A figure as PNG or SVG, by its suffix; the same figure gives the same bytes: neither time nor chance is in
    it."""
    from matplotlib import rc_context

    stream = io.BytesIO()
    with rc_context({"svg.hashsalt": "screenproof", "svg.fonttype": "none"}):
        figure.savefig(
            stream,
            format=suffix.lower()[1:],
            dpi=150,
            metadata={"Date": None} if suffix.lower() == ".svg" else None,
        )
    return stream.getvalue()


def new_figure(width: float, height: float, columns: int = 1) -> tuple[Figure, list[Axes]]:
    """A sheet of ``width`` by ``height`` inches with panels side by side, in quiet greys."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained")
    axes = [figure.add_subplot(1, columns, index + 1) for index in range(columns)]
    for one in axes:
        one.spines[["top", "right"]].set_visible(False)
        one.spines[["left", "bottom"]].set_color(RULE)
        one.tick_params(colors=QUIET, labelsize=8)
    return figure, axes


def titled(axes: Axes, title: str, x: str, y: str) -> None:
    """A panel's title and the words at its axes."""
    axes.set_title(title, loc="left", fontsize=9, color=INK)
    axes.set_xlabel(x, fontsize=8, color=QUIET)
    axes.set_ylabel(y, fontsize=8, color=QUIET)


def short_name(name: str) -> str:
    """A sample's name, cut where it would be too long for a figure."""
    return name if len(name) <= 28 else name[:27] + "…"


def locus(axes: Axes) -> None:
    """The spectrum locus in CIE 1976 u'v'."""
    import numpy as np

    from screenproof.appearance import xyz_to_uv
    from screenproof.spectra import observer

    eye = observer("cie1931")
    nm = eye.grid.wavelengths
    seen = (nm >= 390) & (nm <= 700)
    uv = xyz_to_uv(eye.curves[seen])
    axes.plot(*np.vstack([uv, uv[:1]]).T, color=RULE, lw=0.8)
    axes.set_aspect("equal")
    axes.set_xlim(-0.02, 0.65)
    axes.set_ylim(-0.02, 0.62)


def triangle(axes: Axes, primaries_uv: Array, white_uv: Array, label: str) -> None:
    """A display's gamut and white in CIE 1976 u'v'."""
    import numpy as np

    corners = np.vstack([primaries_uv, primaries_uv[:1]])
    axes.plot(*corners.T, color=INK, lw=1.2, ls=DASHES[0], label=label)
    axes.plot(*white_uv, "+", color=INK, ms=8)
    axes.legend(fontsize=7, frameon=False, loc="lower right")


def curves(
    named: Sequence[tuple[str, Array, Array]], title: str, x: str, y: str, floor: float | None = 0.0
) -> Figure:
    """Named lines over x."""
    figure, (axes,) = new_figure(7.2, 4.2)
    for index, (name, at, values) in enumerate(named):
        grey = 0.08 + 0.5 * (index // len(DASHES)) / max(1, (len(named) - 1) // len(DASHES))
        axes.plot(at, values, color=str(grey), lw=1.1, ls=DASHES[index % len(DASHES)], label=short_name(name))
    if floor is not None:
        axes.set_ylim(bottom=floor)
    titled(axes, title, x, y)
    if 1 < len(named) <= MOST_NAMES:
        axes.legend(fontsize=6.5, frameon=False, ncols=1 + len(named) // 14, loc="best")
    return figure
