"""The areas, or the sector angles of a disc, whose blend has a target's colour.

A blend's XYZ is linear in the areas, so that X, Y, Z and "the areas sum to 1" are four linear equations. Up to
four papers have one solution at most, and it counts if no area is negative. With more papers there may be many:
the one is taken whose curve is nearest to the target's, or that is most even. Where no areas give the colour,
those whose blend is nearest in CIEDE2000 are found, and what stands in the way is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.additive.blends import FULL_TURN, area_average
from screenproof.appearance import de2000, difference_words, xyz_to_lab
from screenproof.appearance.words import SAME
from screenproof.errors import bad
from screenproof.spectra import Array, Light, Observer, Samples, frozen, white_point
from screenproof.spectra.cielab import checked_white, triplets

EXACT_DE = 1e-6
"""CIEDE2000 up to which a blend is the target: rounding of the linear solve."""

_NEGATIVE = 1e-9  # an area this far below 0 is a rounding error
_RANK = 1e-9  # singular values below this part of the first are none: papers that are mixtures of each other
_MOST_TRIPLES = 400
_GRID = 24  # steps along the side of a triangle of papers
_SEEDS = 24  # points of the grid from which the search goes on
_ROUNDS = 400
_MOVES = np.stack(np.meshgrid(*[np.arange(-3, 4) / 3.0] * 2, indexing="ij"), axis=-1).reshape(-1, 2)


@dataclass(frozen=True, eq=False)
class AreaMatch:
    """Areas of papers whose blend has a target's colour, or comes nearest to it.

    names: (k,). areas: (k,) fractions; degrees: (k,) of a disc. xyz, lab: (3,) of the blend; target_xyz,
    target_lab: (3,) of the target, Lab relative to the light's white. de00: between the two. exact: whether the
    linear equations hold. reason: what stands in the way, None when it is exact. free: in how many directions
    other areas would do as well. linear: (k,) the only (or least-squares) solution of the equations, with its
    negative areas; None where the papers are mixtures of each other or more than four.
    per_degree: the largest CIEDE2000 that one degree makes which goes from a sector to another.
    """

    names: tuple[str, ...]
    areas: Array
    xyz: Array
    lab: Array
    target_xyz: Array
    target_lab: Array
    de00: float
    exact: bool
    reason: str | None
    free: int
    linear: Array | None
    per_degree: float

    @property
    def degrees(self) -> Array:
        """Sector angles (k,) in degrees; they sum to 360."""
        return np.asarray(FULL_TURN * self.areas)


@dataclass(frozen=True, eq=False)
class _Question:
    """XYZ of target (3,) and papers (k, 3), white (3,)."""

    target: Array
    papers: Array
    white: Array

    @property
    def target_lab(self) -> Array:
        return np.asarray(xyz_to_lab(self.target, self.white))

    def from_target(self, xyz: Array) -> Array:
        """CIEDE2000 (...) of XYZ (..., 3) from the target."""
        return np.asarray(de2000(self.target_lab, xyz_to_lab(xyz, self.white)))

    def away(self, areas: Array) -> Array:
        """CIEDE2000 (...) of blends with areas (..., k) from the target."""
        return self.from_target(areas @ self.papers)

    @property
    def equations(self) -> tuple[Array, Array]:
        """A (4, k) and b (4,) with A a = b: the three tristimulus values over the white's, and the sum."""
        rows = np.vstack([(self.papers / self.white).T, np.ones(len(self.papers))])
        return rows, np.append(self.target / self.white, 1.0)


def match_areas(
    target_xyz: ArrayLike,
    papers_xyz: ArrayLike,
    white: ArrayLike,
    names: tuple[str, ...] | None = None,
    *,
    curves: ArrayLike | None = None,
    target_curve: ArrayLike | None = None,
) -> AreaMatch:
    """The areas of papers whose blend has the XYZ of a target.

    target_xyz: (3,); papers_xyz: (k, 3), k of 2 or more; white: (3,) of the light; one scale. names: (k,).
    curves, target_curve: (k, w) and (w,) reflectance factors on one grid, by which one of many solutions is
    chosen; without them it is the most even.
    Raises InputError for fewer than two papers and for shapes or values that are no colours.
    """
    target, papers = triplets(target_xyz, "target"), triplets(papers_xyz, "papers")
    if papers.ndim != 2 or target.ndim != 1 or not (np.isfinite(papers).all() and np.isfinite(target).all()):
        raise bad(
            f"XYZ of shapes {target.shape} and {papers.shape}",
            field="papers",
            expected="three finite numbers for the target and for each paper",
        )
    if len(papers) < 2:
        raise bad(
            f"{len(papers)} paper(s) to blend",
            field="papers",
            expected="two or more; four for any colour between them, such as a red, a green, a blue and a black",
        )
    called = names if names is not None else tuple(f"part {i + 1}" for i in range(len(papers)))
    question = _Question(target, papers, checked_white(white))
    rows, wanted = question.equations
    free = len(papers) - int(np.linalg.matrix_rank(rows, tol=_RANK * np.linalg.norm(rows, 2)))
    linear = np.asarray(np.linalg.lstsq(rows, wanted, rcond=None)[0], dtype=np.float64) if free == 0 else None
    areas = linear if linear is not None else _chosen(rows, wanted, _goal(len(papers), curves, target_curve))
    exact = areas is not None and bool(areas.min() >= -_NEGATIVE)
    if exact:
        assert areas is not None
        areas = np.maximum(areas, 0.0) / np.maximum(areas, 0.0).sum()
        exact = bool(question.away(areas) <= EXACT_DE)
    if not exact:
        areas = _nearest(question)
    assert areas is not None
    xyz = area_average(papers, areas)
    lab = xyz_to_lab(xyz, question.white)
    de00 = float(question.away(areas))
    reason = None if exact else _reason(question, called, linear, lab, de00)
    return AreaMatch(
        names=called,
        areas=frozen(areas),
        xyz=frozen(xyz),
        lab=frozen(lab),
        target_xyz=frozen(target),
        target_lab=frozen(question.target_lab),
        de00=de00,
        exact=exact,
        reason=reason,
        free=free if exact else 0,
        linear=None if linear is None else frozen(linear),
        per_degree=_per_degree(question, areas),
    )


def sector_angles(target: Samples, papers: Samples, light: Light, observer: Observer) -> AreaMatch:
    """The sectors of a spinning disc (or the areas of a pattern) that match a target under a light.

    target: one sample. papers: (k) samples. The match holds for this light and observer: another curve of the
    same colour parts from it in another light, as any pair of metamers does.
    Raises InputError for more than one target, a target that is one of the papers, and as
    :func:`match_areas` and :meth:`Samples.xyz` do.
    """
    if len(target) != 1:
        raise bad(f"{len(target)} targets", field="target", expected="one sample", mend="match them one by one")
    on_one_grid = papers.is_spectral and target.is_spectral and papers.grid == target.grid
    return match_areas(
        target.xyz([light], [observer])[0, 0, 0],
        papers.xyz([light], [observer])[:, 0, 0],
        white_point(light, observer),
        papers.names,
        curves=papers.reflectance if on_one_grid else None,
        target_curve=target.reflectance[0] if on_one_grid and target.reflectance is not None else None,
    )


def _goal(count: int, curves: ArrayLike | None, target_curve: ArrayLike | None) -> tuple[Array, Array]:
    """C and d: among the areas that match, |C a - d| is to be least."""
    if curves is None or target_curve is None:
        return np.eye(count), np.full(count, 1.0 / count)
    return np.asarray(curves, dtype=np.float64).T, np.asarray(target_curve, dtype=np.float64)


def _chosen(rows: Array, wanted: Array, goal: tuple[Array, Array]) -> Array | None:
    """The areas of many solutions that come nearest to the goal; None when there is no solution.

    Non-negative least squares finds which areas are not 0, with the equations weighted far above the goal; the
    equations are then solved exactly on those.
    """
    from scipy.optimize import nnls

    areas, left = nnls(rows, wanted)
    if left > 1e-8:
        return None
    towards, aim = goal
    # A trace of evenness keeps the choice from being torn between papers that are each other's mixtures.
    trace = 1e-4 * np.linalg.norm(towards, 2)
    towards = np.vstack([towards, trace * np.eye(rows.shape[1])])
    aim = np.append(aim, np.full(rows.shape[1], trace / rows.shape[1]))
    weight = 1e3 * np.linalg.norm(towards, 2)
    rough, _ = nnls(np.vstack([weight * rows, towards]), np.append(weight * wanted, aim))
    support = rough > 1e-7
    while support.any():
        solved = _constrained(rows[:, support], wanted, towards[:, support], aim)
        if solved.min() >= -_NEGATIVE:
            found = np.zeros(rows.shape[1])
            found[support] = solved
            return found if np.abs(rows @ found - wanted).max() < 1e-9 else areas
        support[np.flatnonzero(support)[int(np.argmin(solved))]] = False
    return np.asarray(areas)


def _constrained(rows: Array, wanted: Array, towards: Array, aim: Array) -> Array:
    """Least |C x - d| with A x = b, in the null space of A."""
    start = np.linalg.lstsq(rows, wanted, rcond=None)[0]
    _, values, across = np.linalg.svd(rows)
    rank = int((values > _RANK * values[0]).sum())
    null = across[rank:].T
    if null.shape[1] == 0:
        return np.asarray(start)
    along = np.linalg.lstsq(towards @ null, aim - towards @ start, rcond=None)[0]
    return np.asarray(start + null @ along)


def _faces(papers: Array) -> NDArray[np.intp]:
    """Triples (f, 3) of papers on which the nearest blend can lie: a colour outside is nearest to a face."""
    count = len(papers)
    if count == 2:
        return np.array([[0, 1, 1]], dtype=np.intp)
    if count * (count - 1) * (count - 2) // 6 <= _MOST_TRIPLES:
        return np.array(list(combinations(range(count), 3)), dtype=np.intp)
    from scipy.spatial import ConvexHull, QhullError

    try:
        return np.asarray(ConvexHull(papers).simplices, dtype=np.intp)
    except QhullError:  # all in one plane
        return np.array(list(combinations(range(count), 3)), dtype=np.intp)


def _nearest(question: _Question) -> Array:
    """The areas (k,) whose blend has the least CIEDE2000: a grid over every face, then finer round the best."""
    faces = _faces(question.papers)
    steps = np.arange(_GRID + 1) / _GRID
    u, v = (part.ravel() for part in np.meshgrid(steps, steps, indexing="ij"))
    start = np.stack([u, v, 1.0 - u - v], axis=-1)[u + v <= 1.0 + 1e-12]
    corners = question.papers[faces]  # (f, 3, 3)
    away = question.from_target(np.einsum("gi,fij->fgj", start, corners))
    face, point = np.unravel_index(np.argsort(away, axis=None)[:_SEEDS], away.shape)
    here, corners = start[point], corners[face]
    nearest = away[face, point]
    step = np.full(len(here), 1.0 / _GRID)
    for _ in range(_ROUNDS):
        tried = np.clip(here[:, None, :2] + step[:, None, None] * _MOVES, 0.0, 1.0)
        tried = tried / np.maximum(tried.sum(axis=-1, keepdims=True), 1.0)
        tried = np.concatenate([tried, 1.0 - tried.sum(axis=-1, keepdims=True)], axis=-1)
        away = question.from_target(np.einsum("sgi,sij->sgj", tried, corners))
        best = away.argmin(axis=1)
        found = np.take_along_axis(away, best[:, None], axis=1)[:, 0]
        better = found < nearest
        here = np.where(better[:, None], np.take_along_axis(tried, best[:, None, None], axis=1)[:, 0], here)
        nearest = np.minimum(nearest, found)
        # A step that still gains is kept: a narrow valley is followed to its end.
        step = np.where(better, step, 0.5 * step)
        if step.max() < 1e-10:
            break
    chosen = int(nearest.argmin())
    areas = np.zeros(len(question.papers))
    np.add.at(areas, faces[face[chosen]], np.maximum(here[chosen], 0.0))
    return np.asarray(areas / areas.sum())


def _per_degree(question: _Question, areas: Array) -> float:
    """The largest CIEDE2000 from the blend itself when one degree goes from a sector to another."""
    unit, degree = np.eye(areas.size), 1.0 / FULL_TURN
    given = np.flatnonzero(areas >= degree)
    taken = np.flatnonzero(areas > 0.0) if given.size > 1 else np.arange(areas.size)
    moved = [areas + degree * (unit[j] - unit[i]) for i in given for j in taken if i != j]
    here = xyz_to_lab(areas @ question.papers, question.white)
    return float(de2000(here, xyz_to_lab(np.array(moved) @ question.papers, question.white)).max())


def _reason(question: _Question, names: tuple[str, ...], linear: Array | None, lab: Array, de00: float) -> str:
    """Why the target cannot be matched, in words."""
    words = difference_words(lab, question.target_lab)
    if words == SAME:
        said = f"no areas of these papers have quite this colour; the nearest blend is CIEDE2000 {de00:.2g} away"
    else:
        said = f"no areas of these papers have this colour; it is {words} than the nearest blend, "
        said += f"CIEDE2000 {de00:.2f}"
    count = len(names)
    if count < 4:
        shape = "line" if count == 2 else "plane"
        return f"{said}. {count} papers blend to the colours of one {shape} only; a paper beside it would help"
    if linear is not None:
        short = [f"{names[i]} {100 * linear[i]:.1f} %" for i in np.flatnonzero(linear < -_NEGATIVE)]
        if short:
            return f"{said}. The equations ask for a negative area: {', '.join(short)}"
    return f"{said}. It lies outside all that these papers blend to"
