"""The figures of one sample: the two spectra that make the same colour, or the object's reflectance alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from screenproof.report.placing import Box, beside_curve, words_width
from screenproof.report.svg import Words, lean_svg
from screenproof.spectra import Array

if TYPE_CHECKING:
    from screenproof.proof.result import Curve, TwoCurves

INK, QUIET, RULE = "#111111", "#5c5c5c", "#b4b4b4"
TEXT = 12.0
DASHES: tuple[object, ...] = ("-", (0, (5, 2.5)), (0, (7, 2.5, 1.5, 2.5)), (0, (1.5, 1.8)), (0, (12, 3)))

_SIZE = (470.0, 214.0)  # of a figure of spectra, in points
_PLOT: Box = (4.0, 36.0, 466.0, 208.0)  # its axes within
_SEEN = (380.0, 780.0)  # nm: beyond it nothing adds to the colour
_TALLEST = 6.0  # the screen's peak is cut off where it towers this far above the object's


class Drawing:
    """An empty figure in points, origin at bottom left, with the few strokes that the page's figures need.

    The strokes are laid straight on matplotlib's figure: its axes would cost ten times as long to set up as the
    whole drawing, which tells at a hundred figures a page.
    """

    def __init__(self, width: float, height: float) -> None:
        from matplotlib.figure import Figure

        self.figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        self.figure.patch.set_visible(False)
        self.words = Words()

    def line(self, *paths: Array, width: float = 1.0, ink: str = INK, dash: object = "-") -> None:
        """Draw lines through ``paths``, each (n, 2), as one stroke."""
        from matplotlib.lines import Line2D
        from matplotlib.transforms import IdentityTransform

        gap = np.full((1, 2), np.nan)
        points = np.concatenate([part for path in paths for part in (np.asarray(path, dtype=float), gap)][:-1])
        stroke = Line2D(points[:, 0], points[:, 1], color=ink, lw=width, ls=dash, transform=IdentityTransform())
        self.figure.add_artist(stroke)

    def shape(self, corners: Array, *, fill: str, edge: str | None = INK, width: float = 0.9) -> None:
        """Draw a filled polygon with ``corners`` (n, 2)."""
        from matplotlib.patches import Polygon
        from matplotlib.transforms import IdentityTransform

        polygon = Polygon(corners, fc=fill, ec=edge or "none", lw=width, transform=IdentityTransform())
        self.figure.add_artist(polygon)

    def write(self, x: float, y: float, words: str, *, anchor: str = "start", bold: bool = False,
              ink: str = QUIET, size: float = TEXT) -> None:  # fmt: skip
        """Put ``words`` with their baseline at (x, y)."""
        from matplotlib.text import Text
        from matplotlib.transforms import IdentityTransform

        align = {"start": "left", "middle": "center", "end": "right"}[anchor]
        weight = 700 if bold else 400
        text = Text(x, y, self.words.key(words), ha=align, va="baseline", size=size, color=ink, weight=weight)
        text.set_transform(IdentityTransform())
        self.figure.add_artist(text)

    def svg(self, *, title: str, css: str) -> str:
        """The drawing as lean inline SVG, named ``title`` for screen readers, with the class ``css``."""
        return lean_svg(self.figure, title=title, css=css, words=self.words)


def spectra_figure(curves: TwoCurves, *, title: str) -> str:
    """The light from the object (solid) and from the screen (dashed) over wavelength, named on the lines.

    Both are scaled to the same luminance, so heights compare within the figure and have no unit of their own.
    """
    wavelengths = np.asarray(curves.wavelengths)
    seen = (wavelengths >= _SEEN[0]) & (wavelengths <= _SEEN[1])
    nm = wavelengths[seen]
    both = np.array([np.asarray(curves.object)[seen], np.asarray(curves.screen)[seen]])
    tops = both.max(axis=1)
    ceiling = float(min(max(tops), _TALLEST * tops[0] if tops[0] > 0 else tops[1])) or 1.0
    drawing = Drawing(*_SIZE)
    _wavelength_axis(drawing)
    paths = [np.stack([_across(nm), _up(np.minimum(values, ceiling), ceiling)], axis=1) for values in both]
    drawing.line(thin(paths[0]), width=1.7)
    drawing.line(thin(paths[1]), width=1.2, dash=DASHES[1])
    cut = tops[1] > ceiling
    names = ["light from the object", "light from the screen"]
    if cut:
        names[1] += f", its peak {tops[1] / ceiling:.1f} times as high"
    taken: list[Box] = []
    lines = [dense(path) for path in paths]
    for own in (1, 0):
        box = beside_curve(
            lines[own], lines[1 - own], words_width(names[own], TEXT), 0.8 * TEXT, taken, (2, 40, 468, 212)
        )
        taken.append(box)
        drawing.write(box[0], box[1], names[own], ink=INK)
    return drawing.svg(title=title, css="spectra")


def reflectance_figure(curve: Curve, *, title: str) -> str:
    """The reflectance factor of the object over wavelength, from 0 to 100 percent."""
    nm, values = np.asarray(curve.wavelengths), np.asarray(curve.values)
    seen = (nm >= _SEEN[0]) & (nm <= _SEEN[1])
    drawing = Drawing(*_SIZE)
    _wavelength_axis(drawing)
    ceiling = max(1.0, float(values[seen].max()))
    for level in (0.5, 1.0):
        y = float(_up(np.array([level]), ceiling)[0])
        drawing.line(np.array([[_PLOT[0], y], [_PLOT[2], y]]), width=0.5, ink=RULE)
        drawing.write(_PLOT[2], y - 13, f"{100 * level:.0f} %", anchor="end")
    path = np.stack([_across(nm[seen]), _up(values[seen], ceiling)], axis=1)
    drawing.line(thin(path), width=1.7)
    name = "reflectance factor of the object"
    box = beside_curve(
        dense(path), np.array([[-1e4, -1e4]]), words_width(name, TEXT), 0.8 * TEXT, [], (2, 40, 420, 212)
    )
    drawing.write(box[0], box[1], name, ink=INK)
    return drawing.svg(title=title, css="spectra")


def thin(path: Array, tolerance: float = 0.12) -> Array:
    """``path`` (n, 2) without the points that lie within ``tolerance`` of the line through those kept.

    Ramer 1972, Douglas and Peucker 1973: the farthest point from the chord is kept, and so on both sides.
    """
    keep = np.zeros(len(path), dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, len(path) - 1)]
    while spans:
        start, stop = spans.pop()
        if stop - start < 2:
            continue
        chord = path[stop] - path[start]
        length = float(np.hypot(*chord))
        ahead = path[start + 1 : stop] - path[start]
        if length == 0:
            away = np.hypot(ahead[:, 0], ahead[:, 1])
        else:
            away = np.abs(chord[0] * ahead[:, 1] - chord[1] * ahead[:, 0]) / length
        farthest = int(away.argmax())
        if away[farthest] > tolerance:
            middle = start + 1 + farthest
            keep[middle] = True
            spans += [(start, middle), (middle, stop)]
    return path[keep]


def _across(nm: Array) -> Array:
    return _PLOT[0] + (nm - _SEEN[0]) / (_SEEN[1] - _SEEN[0]) * (_PLOT[2] - _PLOT[0])


def _up(values: Array, ceiling: float) -> Array:
    return _PLOT[1] + values / ceiling * (_PLOT[3] - _PLOT[1] - 12)


def dense(path: Array) -> Array:
    """``path`` with points no farther apart than about three points, for finding room beside it."""
    steps = np.maximum(1, np.ceil(np.hypot(*np.diff(path, axis=0).T) / 3).astype(int))
    pieces = [
        start + (stop - start) * np.arange(count)[:, None] / count
        for start, stop, count in zip(path[:-1], path[1:], steps, strict=True)
    ]
    return np.concatenate([*pieces, path[-1:]])


def _wavelength_axis(drawing: Drawing) -> None:
    left, bottom, right, _ = _PLOT
    marks = _across(np.arange(400.0, 751.0, 50.0))
    ticks = [np.array([[x, bottom], [x, bottom - 4]]) for x in marks]
    drawing.line(np.array([[left, bottom], [right, bottom]]), *ticks, width=0.8)
    for x, nm in zip(marks, range(400, 751, 50), strict=True):
        drawing.write(float(x), bottom - 17, str(nm), anchor="middle")
    drawing.write(right, bottom - 33, "wavelength, nm", anchor="end")
