"""The figures over all: the u'v' diagram with gamuts and samples, and lightness over chroma by hue.

Displays are drawn as lines, presses as lines around a pale tone, so that what inks can print is told from what a
display can show without a key.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof.judged import TROUBLE
from screenproof.report.figures import DASHES, INK, QUIET, RULE, TEXT, Drawing, thin
from screenproof.report.placing import Box, beside_line, number_points, words_width
from screenproof.report.words import STANDARD_WORDS
from screenproof.spectra import Array, observer

if TYPE_CHECKING:
    from screenproof.proof.result import DisplayRecord, PressRecord, StandardGamut


@dataclass(frozen=True)
class Point:
    """A colour in a figure: its number, u'v', L*C*h, a page colour '#rrggbb' and its status.

    ``letter`` marks what is no sample in the place of the number; ``ringed``: it lies outside a display or press.
    """

    number: int
    uv: tuple[float, float]
    lch: tuple[float, float, float]
    colour: str
    status: str
    letter: str = ""
    ringed: bool = False

    @property
    def mark(self) -> str:
        """What stands beside it."""
        return self.letter or str(self.number)


@dataclass(frozen=True)
class HuePanel:
    """One figure of lightness over chroma: the middle of its hues [deg], half their breadth, and the SVG."""

    hue: float
    half: float
    count: int
    svg: str


_UNIT = 930.0  # points to 1 in u'v'
_ORIGIN = (40.0, 46.0)
_SIZE = (640.0, 622.0)
_LABEL_X, _LABEL_Y, _LABEL_ROW = 486.0, 190.0, 19.0
_PANEL = (236.0, 164.0)
_TONES = ("#efefef", "#e1e1e1", "#d4d4d4")
_PANEL_PLOT: Box = (26.0, 18.0, 232.0, 156.0)


def _uv(pairs: Sequence[Sequence[float]] | Array) -> Array:
    """Places (n, 2) in the figure of u'v' (n, 2); of one pair (2,) one place (2,)."""
    uv = np.asarray(pairs, dtype=float)
    placed: Array = (uv if uv.size else np.zeros((0, 2))) * _UNIT + np.array(_ORIGIN)
    return placed


def spectrum_locus() -> tuple[Array, Array]:
    """Wavelengths [nm] and u'v' of the single wavelengths for the CIE 1931 observer, 390 to 700 nm.

    u' = 4X / (X + 15Y + 3Z), v' = 9Y / (X + 15Y + 3Z) (ISO/CIE 11664-5).
    """
    eye = observer("cie1931")
    nm = eye.grid.wavelengths
    x, y, z = eye.curves[(nm >= 390) & (nm <= 700)].T
    below = x + 15 * y + 3 * z
    return nm[(nm >= 390) & (nm <= 700)], np.stack([4 * x / below, 9 * y / below], axis=1)


def chromaticity_figure(
    displays: Sequence[DisplayRecord],
    standards: Sequence[StandardGamut],
    points: Sequence[Point],
    *,
    title: str,
    presses: Sequence[PressRecord] = (),
) -> str:
    """The CIE 1976 u'v' diagram: spectrum locus, gamuts of displays, presses and standards, samples by number.

    Displays are dark lines, each of its own dash; presses are toned, with a thinner dark line around; standard
    gamuts are thin and grey. Every outline has its name in a column at the lower right, tied to it where it
    lies farthest from the others.
    """
    drawing = Drawing(*_SIZE)
    hulls = [_uv([*press.hull_uv, press.hull_uv[0]]) for press in presses]
    _tone(drawing, hulls)
    nm, locus = spectrum_locus()
    _uv_axes(drawing)
    outline = _uv(np.concatenate([locus, locus[:1]]))
    drawing.line(thin(outline, 0.2), width=0.9, ink=RULE)
    _mark_wavelengths(drawing, nm, locus)

    shapes = [_uv([*display.primaries_uv, display.primaries_uv[0]]) for display in displays]
    grey = [_uv([*gamut.primaries_uv, gamut.primaries_uv[0]]) for gamut in standards]
    for shape, index in zip(grey, range(len(grey)), strict=True):
        drawing.line(shape, width=0.7, ink="#8a8a8a", dash=DASHES[1 + index % 4])
    for index, shape in enumerate(shapes):
        drawing.line(shape, width=1.6, dash=DASHES[index % len(DASHES)])
    for index, shape in enumerate(hulls, len(shapes)):
        drawing.line(thin(shape, 0.2), width=1.1, dash=DASHES[index % len(DASHES)])
    dark = [*shapes, *hulls]
    names = [display.label or display.name for display in displays]
    names += [press.label or press.name for press in presses]
    names += [STANDARD_WORDS.get(gamut.name, gamut.name) for gamut in standards]
    sides = [_along(shape[[2, 0]])[3:-3] for shape in shapes]  # primaries stand in the order red, green, blue
    sides += [_along(hull) for hull in hulls]
    sides += [_along(shape[[2, 0]])[3:-3] for shape in grey]
    _name_gamuts(drawing, [*dark, *grey], sides, names, len(dark))

    white = _uv([display.white_uv for display in displays[:1]])
    for x, y in white:
        drawing.line(np.array([[x - 5, y], [x + 5, y]]), width=0.9)
        drawing.line(np.array([[x, y - 5], [x, y + 5]]), width=0.9)
    drawn = [_along(shape) for shape in dark]
    _draw_points(drawing, _uv([point.uv for point in points]), points, np.concatenate([*drawn, white[:0]]))
    return drawing.svg(title=title, css="chromaticity")


def _mark_wavelengths(drawing: Drawing, nm: Array, locus: Array) -> None:
    """Ticks across the locus, and the wavelengths where they have room, on the inner side."""
    ticks = []
    for mark in (450, 480, 500, 520, 540, 560, 580, 600, 620):
        at = int(np.abs(nm - mark).argmin())
        here = _uv(locus[at])
        along = _uv(locus[at + 1]) - _uv(locus[at - 1])
        across = np.array([along[1], -along[0]]) / np.hypot(*along)  # to the right of the way, which is inside
        ticks.append(np.array([here - 3 * across, here + 3 * across]))
        x, y = here - 10 * across
        if mark in (450, 480):
            drawing.write(x, y - 4, f"{mark} nm", anchor="end", size=11)
        elif mark in (520, 560, 600):
            drawing.write(x, y, str(mark), anchor="middle", size=11)
        elif mark == 500:
            x, y = here + 8 * across
            drawing.write(x, y - 4, str(mark), size=11)
    drawing.line(*ticks, width=0.8, ink=RULE)


def hue_panels(
    displays: Sequence[DisplayRecord],
    points: Sequence[Point],
    *,
    title: str,
    presses: Sequence[PressRecord] = (),
) -> list[HuePanel]:
    """L* over C*ab, one panel for every hue that has samples, with all outlines at that hue."""
    outlined: tuple[DisplayRecord | PressRecord, ...] = (*displays, *presses)
    hues = sorted({hue for one in outlined for hue, _ in one.lc_outline}) or list(range(0, 360, 30))
    middle = np.array(hues, dtype=float)
    apart = np.abs((np.array([point.lch[2] for point in points])[:, None] - middle + 180) % 360 - 180)
    nearest = apart.argmin(axis=1)
    chromas = [point.lch[1] for point in points]
    chromas += [c for one in outlined for _, edge in one.lc_outline for _, c in edge]
    widest = 10 * np.ceil(max([40.0, *chromas]) / 10)
    panels = []
    for index, hue in enumerate(hues):
        mine = [point for point, at in zip(points, nearest, strict=True) if at == index]
        if mine:
            named = f"{title}, hue {hue:.0f} degrees"
            svg = _hue_panel(displays, presses, mine, float(hue), float(widest), title=named)
            panels.append(HuePanel(float(hue), 180 / len(hues), len(mine), svg))
    return panels


def _hue_panel(
    displays: Sequence[DisplayRecord],
    presses: Sequence[PressRecord],
    points: Sequence[Point],
    hue: float,
    widest: float,
    *,
    title: str,
) -> str:
    drawing = Drawing(*_PANEL)
    left, bottom, right, top = _PANEL_PLOT

    def place(lc: Array) -> Array:
        across = left + lc[:, 1] / widest * (right - left)
        return np.stack([across, bottom + lc[:, 0] / 100 * (top - bottom)], axis=1)

    inks = [place(edge) for press in presses for edge in [_edge(press, hue)] if edge is not None]
    _tone(drawing, inks)
    strokes = [np.array([[left, top], [left, bottom], [right, bottom]])]
    for level in (0, 50, 100):
        y = bottom + level / 100 * (top - bottom)
        drawing.write(left - 4, y - 4, str(level), anchor="end", size=11)
    step = 20 if widest <= 80 else 40 if widest <= 160 else 50
    for chroma in np.arange(step, widest + 1, step):
        x = left + chroma / widest * (right - left)
        strokes.append(np.array([[x, bottom], [x, bottom - 3]]))
        if x < right - 50:
            drawing.write(x, bottom - 15, f"{chroma:.0f}", anchor="middle", size=11)
    drawing.line(*strokes, width=0.8, ink=QUIET)
    drawing.write(left - 4, top - 22, "L*", anchor="end", size=11)
    drawing.write(right, bottom - 15, "C*ab", anchor="end", size=11)
    outlines, names = [], []
    outlined: tuple[DisplayRecord | PressRecord, ...] = (*displays, *presses)
    for index, one in enumerate(outlined):
        edge = _edge(one, hue)
        if edge is not None:
            shape = place(edge)
            width = 1.3 if index < len(displays) else 1.0
            drawing.line(thin(shape, 0.2), width=width, dash=DASHES[index % len(DASHES)])
            outlines.append(_along(shape))
            names.append(one.name)
    where = place(np.array([point.lch[:2] for point in points]))
    margin = (0.0, 0.0, left, _PANEL[1])  # where the scale stands
    taken = _draw_points(
        drawing, where, points, np.concatenate([*outlines, where[:0]]), radius=4.5, taken=[margin]
    )
    if presses:
        _name_edges(drawing, outlines, names, taken, (left, bottom, right + 4, _PANEL[1]))
    return drawing.svg(title=title, css="hues")


def _edge(one: DisplayRecord | PressRecord, hue: float) -> Array | None:
    """The outline (n, 2) of L*, C*ab at ``hue``, or None where there is none."""
    for at, edge in one.lc_outline:
        if abs(at - hue) < 1e-6 and edge:
            return np.asarray(edge, dtype=float)
    return None


def _tone(drawing: Drawing, shapes: Sequence[Array]) -> None:
    """Lay a pale grey over each of ``shapes``, the largest first and the palest."""
    areas = [_area(shape) for shape in shapes]
    for rank, index in enumerate(sorted(range(len(shapes)), key=lambda i: -areas[i])):
        drawing.shape(thin(shapes[index], 0.2), fill=_TONES[min(rank, len(_TONES) - 1)], edge=None)


def _area(shape: Array) -> float:
    x, y = shape.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def _draw_points(
    drawing: Drawing,
    where: Array,
    points: Sequence[Point],
    lines: Array,
    radius: float = 5.0,
    taken: Sequence[Box] = (),
) -> list[Box]:
    """The samples as marks of their colour: a disc passes, a square fails, a diamond is undecided.

    A ring around the mark: it lies outside a gamut. Returned are ``taken``, the marks and the words beside them.
    """
    ringed = any(point.ringed for point in points)
    trouble = [point.status in TROUBLE for point in points]
    must = [point.status in TROUBLE or point.ringed for point in points]
    for (x, y), point in zip(where, points, strict=True):
        ring, turn, size = (4, np.pi / 4, 1.25 * radius) if point.status in TROUBLE else (24, 0.0, radius)
        turn = turn if point.status == "fail" else 0.0
        angles = turn + np.arange(ring) * 2 * np.pi / ring
        corners = np.stack([x + size * np.cos(angles), y + size * np.sin(angles)], axis=1)
        width = 1.6 if point.status in TROUBLE else 0.9
        drawing.shape(corners, fill=point.colour, width=width)
        if point.ringed:
            angles = np.arange(24) * np.pi / 12
            drawing.line(
                np.stack([x + 1.75 * radius * np.cos(angles), y + 1.75 * radius * np.sin(angles)], axis=1)[
                    [*range(24), 0]
                ],
                width=0.9,
            )
    texts = [point.mark for point in points]
    places = number_points(where, texts, TEXT, 1.75 * radius if ringed else radius, lines, must, taken)
    boxes = [*taken, *((x - 8, y - 8, x + 8, y + 8) for x, y in where)]
    for place, text, bold in zip(places, texts, trouble, strict=True):
        if place is not None:
            drawing.write(place[0], place[1], text, anchor=place[2], bold=bold, ink=INK)
            wide = words_width(text, TEXT)
            left = place[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[place[2]]
            boxes.append((left, place[1], left + wide, place[1] + 0.8 * TEXT))
    return boxes


def _name_edges(
    drawing: Drawing, outlines: Sequence[Array], names: Sequence[str], taken: Sequence[Box], frame: Box
) -> None:
    """The short names of outlines, each beside its own where it covers nothing; without room it stays away."""
    boxes = list(taken)
    for index, (own, name) in enumerate(zip(outlines, names, strict=True)):
        words = name if len(name) <= 16 else name[:15] + "…"
        others = [other for at, other in enumerate(outlines) if at != index]
        box = beside_line(own, others, words_width(words, 11), 9.0, boxes, frame)
        if box is not None:
            boxes.append(box)
            drawing.write(box[0], box[1], words, ink=INK, size=11)


def _name_gamuts(drawing: Drawing, shapes: list[Array], sides: list[Array], names: list[str], dark: int) -> None:
    """Names in a column at the lower right, each tied to a point of its outline's ``sides``.

    Of a display that is its side from blue to red.
    """
    tied = []
    for index, side in enumerate(sides):
        others = [_along(other) for other in shapes[:index] + shapes[index + 1 :]]
        if others:
            apart = [np.hypot(*(side[:, None] - other[None]).transpose(2, 0, 1)) for other in others]
            clear = np.min([distance.min(axis=1) for distance in apart], axis=0)
        else:
            clear = np.zeros(len(side))
        # Far enough from the others is enough: then the shorter tie is the better one.
        reach = np.hypot(*(side - (_LABEL_X, _LABEL_Y)).T)
        tied.append((side[int((np.minimum(clear, 6) - 0.03 * reach).argmax())], index))
    # In the order of the directions in which they lie from the column, the ties do not cross.
    tied.sort(key=lambda tie: np.arctan2(tie[0][1] - _LABEL_Y, tie[0][0] - _LABEL_X) % (2 * np.pi))
    top = _LABEL_Y + _LABEL_ROW * (len(tied) - 1) / 2
    for row, (anchor, index) in enumerate(tied):
        y = top - row * _LABEL_ROW
        name = names[index] if len(names[index]) <= 30 else names[index][:29] + "…"
        drawing.line(np.array([anchor, [_LABEL_X - 6, y + 4]]), width=0.5, ink="#8a8a8a")
        x, radius = anchor, 1.8
        angles = np.arange(12) * np.pi / 6
        dot = np.stack([x[0] + radius * np.cos(angles), x[1] + radius * np.sin(angles)], axis=1)
        drawing.shape(dot, fill=INK if index < dark else "#8a8a8a", edge=None)
        size = TEXT if words_width(name, TEXT) < _SIZE[0] - _LABEL_X else 10.0
        drawing.write(_LABEL_X, y, name, ink=INK if index < dark else QUIET, size=size)


def _along(shape: Array, step: float = 4.0) -> Array:
    """Points along ``shape`` (n, 2), no farther apart than ``step``."""
    pieces = [shape[:1]]
    for start, stop in zip(shape[:-1], shape[1:], strict=True):
        count = max(1, int(np.ceil(np.hypot(*(stop - start)) / step)))
        pieces.append(start + (stop - start) * np.arange(1, count + 1)[:, None] / count)
    return np.concatenate(pieces)


def _uv_axes(drawing: Drawing) -> None:
    left, bottom = _ORIGIN
    right, top = left + 0.63 * _UNIT, bottom + 0.6 * _UNIT
    strokes = [np.array([[left, top], [left, bottom], [right, bottom]])]
    for tenth in range(7):
        x, y = left + tenth / 10 * _UNIT, bottom + tenth / 10 * _UNIT
        strokes += [np.array([[x, bottom], [x, bottom - 4]]), np.array([[left, y], [left - 4, y]])]
        drawing.write(x, bottom - 18, f"0.{tenth}", anchor="middle", size=11)
        drawing.write(left - 7, y - 4, f"0.{tenth}", anchor="end", size=11)
    drawing.line(*strokes, width=0.8, ink=QUIET)
    drawing.write(right, bottom - 36, "u′", anchor="end", ink=INK)
    drawing.write(left - 7, top + 9, "v′", anchor="end", ink=INK)
