"""The figure of a recipe: its predicted reflectance over the target's."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from screenproof.report.figures import DASHES, INK, RULE, TEXT, Drawing, dense, thin
from screenproof.report.placing import Box, beside_curve, words_width
from screenproof.spectra import Array

if TYPE_CHECKING:
    from screenproof.proof.result import Curve

_SIZE = (330.0, 178.0)
_PLOT: Box = (4.0, 34.0, 290.0, 172.0)
_SEEN = (380.0, 780.0)


def ceiling(curves: Sequence[Curve], targets: Sequence[Curve | None]) -> float:
    """The reflectance factor at the top of a figure that is to hold all these curves: a round tenth."""
    tops = [max(curve.values) for curve in (*curves, *targets) if curve is not None and curve.values]
    return float(np.ceil(10 * max([0.1, *tops]) - 1e-9) / 10)


def recipe_figure(curve: Curve, target: Curve | None, top: float, *, title: str) -> str:
    """The predicted reflectance factor (solid) and the target's (dashed) over wavelength, up to ``top``."""
    ends = [*curve.wavelengths, *(target.wavelengths if target is not None else ())]
    low, high = max(_SEEN[0], min(ends)), min(_SEEN[1], max(ends))
    drawing = Drawing(*_SIZE)
    _axes(drawing, low, high, top)
    own = _path(curve, low, high, top)
    drawing.line(thin(own), width=1.7)
    drawn = [(own, "predicted")]
    if target is not None:
        wanted = _path(target, low, high, top)
        drawing.line(thin(wanted), width=1.2, dash=DASHES[1])
        drawn.append((wanted, "target"))
    taken: list[Box] = []
    for place, (path, name) in enumerate(drawn):
        others = [other for index, (other, _) in enumerate(drawn) if index != place]
        other = dense(others[0]) if others else np.array([[-1e4, -1e4]])
        width = words_width(name, TEXT)
        frame = (2.0, _PLOT[1] + 2, _PLOT[2], _SIZE[1] - 2)
        box = beside_curve(dense(path), other, width, 0.8 * TEXT, taken, frame)
        taken.append(box)
        drawing.write(box[0], box[1], name, ink=INK)
    return drawing.svg(title=title, css="curve")


def _axes(drawing: Drawing, low: float, high: float, top: float) -> None:
    left, bottom, right, upper = _PLOT
    marks = np.arange(np.ceil(low / 50) * 50, high + 1, 50)
    across = _across(marks, low, high)
    ticks = [np.array([[x, bottom], [x, bottom - 4]]) for x in across]
    drawing.line(np.array([[left, bottom], [right, bottom]]), *ticks, width=0.8)
    for x, nm in zip(across, marks, strict=True):
        if left + 8 < x < right - 10:
            drawing.write(float(x), bottom - 16, f"{nm:.0f}", anchor="middle", size=11)
    drawing.write(right, bottom - 31, "wavelength, nm", anchor="end", size=11)
    for level in (top / 2, top):
        y = bottom + level / top * (upper - bottom - 2)
        drawing.line(np.array([[left, y], [right, y]]), width=0.5, ink=RULE)
        drawing.write(_SIZE[0], y - 4, f"{100 * level:.0f} %", anchor="end", size=11)


def _across(nm: Array, low: float, high: float) -> Array:
    return _PLOT[0] + (nm - low) / (high - low) * (_PLOT[2] - _PLOT[0])


def _path(curve: Curve, low: float, high: float, top: float) -> Array:
    nm, values = np.asarray(curve.wavelengths), np.asarray(curve.values)
    seen = (nm >= low) & (nm <= high)
    up = _PLOT[1] + values[seen] / top * (_PLOT[3] - _PLOT[1] - 2)
    return np.stack([_across(nm[seen], low, high), up], axis=1)
