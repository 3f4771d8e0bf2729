"""Where a word can stand in a figure without covering what it is about.

All positions and sizes are in the figure's own points with y upwards; a box is (x0, y0, x1, y1). The face of
the page is not known when the figure is made, so widths of words are estimates on the generous side.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

import numpy as np

from screenproof.spectra import Array

Box = tuple[float, float, float, float]


def words_width(words: str, size: float) -> float:
    """About how wide ``words`` are at a font size [points]."""
    wide = sum(unicodedata.east_asian_width(letter) in "WF" for letter in words)
    return (0.56 * (len(words) - wide) + 1.05 * wide) * size


def overlap(box: Box, others: list[Box] | Array) -> float:
    """The area that ``box`` shares with all of ``others``, boxes in a list or as rows (m, 4)."""
    rows = np.asarray(others, dtype=np.float64).reshape(-1, 4)
    wide = np.minimum(box[2], rows[:, 2]) - np.maximum(box[0], rows[:, 0])
    high = np.minimum(box[3], rows[:, 3]) - np.maximum(box[1], rows[:, 1])
    return float((np.maximum(wide, 0.0) * np.maximum(high, 0.0)).sum())


def points_inside(box: Box, points: Array) -> int:
    """How many of ``points`` (n, 2) lie in ``box``."""
    inside = (points[:, 0] > box[0]) & (points[:, 0] < box[2]) & (points[:, 1] > box[1]) & (points[:, 1] < box[3])
    return int(inside.sum())


def beside_curve(own: Array, other: Array, width: float, height: float, taken: list[Box], frame: Box) -> Box:
    """A box of ``width`` x ``height`` near the curve ``own`` (n, 2), off both curves and off ``taken``.

    Of all places above and beside its curve the one wins that covers nothing and is clearly nearer to its own
    curve than to ``other``, so that no reader takes it for the other's name. The curves are taken as dense.
    """
    spots = own[:: max(1, len(own) // 40)]
    lefts = spots[:, :1] + np.array([7.0, -7.0 - width, -width / 2])
    bottoms = spots[:, 1:] + np.array([6.0, -height / 2, 12.0, 18.0])
    left, bottom = (
        np.repeat(lefts, bottoms.shape[1], axis=1).ravel(),
        np.tile(bottoms, (1, lefts.shape[1])).ravel(),
    )
    start = np.repeat(spots, lefts.shape[1] * bottoms.shape[1], axis=0)
    inside = (left >= frame[0]) & (left + width <= frame[2])
    inside &= (bottom >= frame[1]) & (bottom + height <= frame[3])
    if not inside.any():
        return (frame[0], frame[3] - height, frame[0] + width, frame[3])
    left, bottom, start = left[inside], bottom[inside], start[inside]

    both = np.concatenate([own, other])
    x, y = both.T[:, None, :]
    covered = (x > left[:, None] - 3) & (x < left[:, None] + width + 3)
    covered &= (y > bottom[:, None] - 5) & (y < bottom[:, None] + height + 2)  # letters reach below the line
    middle = np.stack([np.clip(start[:, 0], left, left + width), bottom + height / 2], axis=1)
    reach = np.hypot(both[None, :, 0] - middle[:, :1], both[None, :, 1] - middle[:, 1:])
    to_own, to_other = reach[:, : len(own)].min(axis=1), reach[:, len(own) :].min(axis=1)
    corners = zip(left, bottom, strict=True)
    clash = [overlap((a - 3, b - 2, a + width + 3, b + height + 2), taken) for a, b in corners]
    cost = 60.0 * covered.sum(axis=1) + 5 * np.array(clash) + to_own
    cost += 40 * np.maximum(0, 1.6 - to_other / (to_own + 1))
    cost -= 15 * start[:, 1] / max(own[:, 1].max(), 1.0)  # the peaks are what a reader looks at
    best = int(cost.argmin())
    return (float(left[best]), float(bottom[best]), float(left[best]) + width, float(bottom[best]) + height)


def beside_line(
    own: Array, others: list[Array], width: float, height: float, taken: list[Box], frame: Box
) -> Box | None:
    """A box of ``width`` x ``height`` beside the line ``own`` (n, 2) that covers nothing, or None without room.

    Unlike :func:`beside_curve` it rather gives no place than one that a reader could take for the name of one of
    ``others``. The lines are taken as dense.
    """
    rest = np.concatenate(others) if others else np.full((1, 2), -1e4)
    spots = own[:: max(1, len(own) // 40)]
    steps = np.array([(0.0, 4.0), (-width, 4.0), (-width / 2, 4.0), (0.0, -4.0 - height), (-width, -4.0 - height),
                      (-width / 2, -4.0 - height), (5.0, -height / 2), (-5.0 - width, -height / 2)])  # fmt: skip
    corners = (spots[:, None, :] + steps).reshape(-1, 2)
    size = np.array([width, height])
    inside = (corners >= frame[:2]).all(axis=1) & (corners + size <= frame[2:]).all(axis=1)
    corners = corners[inside]
    if not len(corners):
        return None

    def away(points: Array) -> Array:
        """How far the nearest of ``points`` is from each box."""
        over = np.maximum(corners[:, None] - points, points - corners[:, None] - size)
        return np.asarray(np.hypot(*np.maximum(over, 0.0).transpose(2, 0, 1)).min(axis=1))

    to_own, to_rest = away(own), away(rest)
    clear = (to_own >= 2.0) & (to_rest >= 1.5 * to_own)
    clear &= np.array([overlap((x - 2, y - 2, x + width + 2, y + height + 2), taken) == 0 for x, y in corners])
    if not clear.any():
        return None
    # The farther out the better: there the outlines are apart, and the samples are mostly farther in.
    worth = np.where(clear, np.minimum(to_rest - to_own, 12.0) + 0.05 * corners[:, 0], -np.inf)
    x, y = corners[int(worth.argmax())]
    return (float(x), float(y), float(x) + width, float(y) + height)


def number_points(
    points: Array,
    words: list[str],
    size: float,
    radius: float,
    lines: Array,
    must: list[bool],
    taken: Iterable[Box] = (),
) -> list[tuple[float, float, str] | None]:
    """For every point (n, 2) the place (x, baseline y, anchor) of its number, or None where there is no room.

    ``radius`` is that of the points' marks, ``lines`` (m, 2) points along drawn lines that are better left
    clear, ``taken`` boxes in which other words stand. A point that ``must`` have its number gets one even if
    it has to lie on a line or a neighbour.
    """
    marks: list[Box] = [(x - radius, y - radius, x + radius, y + radius) for x, y in points]
    words_at = list(taken)
    # Marks first, then the boxes of words: one array that is filled as numbers find their places.
    boxes = np.array([*marks, *words_at, *[(0.0, 0.0, 0.0, 0.0)] * len(points)])
    filled = len(marks) + len(words_at)
    places: list[tuple[float, float, str] | None] = [None] * len(points)
    crowd = [int((np.hypot(*(points - point).T) < 6 * radius).sum()) for point in points]
    for index in sorted(range(len(points)), key=lambda i: (not must[i], crowd[i], i)):
        x, y = points[index]
        width, height = words_width(words[index], size), 0.74 * size
        best: tuple[float, float, str] | None = None
        best_box, best_cost = marks[index], np.inf
        known = boxes[:filled]
        for rank, (dx, dy) in enumerate(_AROUND):
            gap = radius + 3
            anchor = "start" if dx > 0.5 else "end" if dx < -0.5 else "middle"
            left = {"start": x + dx * gap, "end": x + dx * gap - width, "middle": x - width / 2}[anchor]
            bottom = y + dy * (gap + height / 2) - height / 2
            box = (left, bottom, left + width, bottom + height)
            clash = overlap(box, known) - overlap(box, [marks[index]])
            clash = clash if clash > 1e-9 else 0.0
            cost = 10 * clash + 2 * points_inside(box, lines) + 0.3 * rank
            if cost < best_cost and (must[index] or clash == 0):
                best, best_box, best_cost = (float(x + dx * gap), float(bottom), anchor), box, cost
        places[index] = best
        if best is not None:
            boxes[filled] = best_box
            filled += 1
    return places


_AROUND = ((1, 0), (-1, 0), (0.8, 0.8), (0.8, -0.8), (-0.8, 0.8), (-0.8, -0.8), (0, 1), (0, -1))
