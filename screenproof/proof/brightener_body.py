"""All the colours that a sample with brightener may have in a light, and how near and far they are.

Band by band the emission may go its own way, as it does when there are several brighteners: the XYZ that are
possible are the sum, over the bands, of the hulls of a few vectors each. That is a convex body (without M0 it is
close to a zonotope), and the point of it that is furthest in a direction is the sum of the furthest of each band.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from screenproof.appearance import adaptation_matrix, de2000, de2000_terms, lab_to_xyz, xyz_to_lab
from screenproof.proof.brightener_readings import NOTHING, BrightenerReadings
from screenproof.spectra import VISIBLE, Array, Light, Observer, light, weights, white_point
from screenproof.spectra.brightener import Assumed, EmissionRange, emission_range, uv_power

DIRECTIONS = 60
ALMOST = 0.02
"""CIEDE2000 by which a bound is widened for what the search may have missed."""


class Carried:
    """XYZ in a light, carried to the white of the viewing light."""

    def __init__(self, one: Light, observer: Observer, viewing: Light) -> None:
        self.light, self.observer = one, observer
        self.white = white_point(viewing, observer)
        self.matrix = adaptation_matrix(white_point(one, observer), self.white)

    def weights(self, readings: BrightenerReadings) -> Array:
        """Weights (w, 3) of reflectances."""
        assert readings.samples.grid is not None
        return np.asarray(weights(self.light, self.observer, readings.samples.grid) @ self.matrix.T)

    def xyz(self, curve: Array, readings: BrightenerReadings) -> Array:
        return np.asarray(curve @ self.weights(readings))


class Lit:
    """All that a sample may be in one light."""

    def __init__(
        self,
        one: Light,
        readings: BrightenerReadings,
        observer: Observer,
        viewing: Light,
        assumed: Assumed,
        without_uv: bool,
    ) -> None:
        self.readings, self.assumed = readings, assumed
        self.carried = Carried(one, observer, viewing)
        self.reflected = self.carried.weights(readings)
        # Emission is light of its own, which does not follow the lines of the lamp: it has the weights of D50, the
        # light in which it was read, on the scale of the lamp at hand.
        day = light("D50")
        assert readings.samples.grid is not None
        visible = VISIBLE.wavelengths
        scale = (day.at(visible) @ observer.at_1nm[:, 1]) / (one.at(visible) @ observer.at_1nm[:, 1])
        emitted = weights(day, observer, readings.samples.grid) @ self.carried.matrix.T
        self.emitted = scale * emitted
        self.range: EmissionRange = emission_range(one, assumed, without_uv=without_uv)
        self.sliced = (
            emission_range(one, assumed, without_uv=without_uv, incandescent=True)
            if readings.lamp is not None
            else None
        )
        self.ratio = day.at(readings.nm) / uv_power(light("A"), readings.nm)

    def body(self, i: int) -> tuple[Body, bool]:
        """The sample's body, and whether M0 (where there is one) agrees with M1 and M2."""
        readings = self.readings
        emission = readings.emission[i]
        at = np.flatnonzero(emission > 0)
        parts: list[Array] = []
        told = fitting = 0.0
        for w in at:
            points = self.range.candidates()
            if self.sliced is not None and readings.lamp is not None and not readings.edge[w]:
                seen = readings.lamp[i, w] - readings.m2[i, w]
                # Where the sample hardly emits, a ratio of two differences is noise.
                if emission[w] > NOTHING and np.isfinite(seen):
                    low, high = (
                        (seen - self.assumed.noise) / emission[w],
                        (seen + self.assumed.noise) / emission[w],
                    )
                    slice_of = self.sliced.candidates(float(self.ratio[w]), float(low), float(high))
                    told += emission[w]
                    if len(slice_of):
                        points, fitting = slice_of, fitting + emission[w]
            here, left = points.T
            vectors = here[:, None] * self.emitted[w] - (1.0 + left)[:, None] * self.reflected[w]
            vectors = emission[w] * vectors
            parts.append(np.vstack([vectors, np.zeros(3)]) if readings.edge[w] else vectors)
        start = readings.m1[i] @ self.reflected
        return Body(start, tuple(parts)), told == 0 or fitting > 0.8 * told


@dataclass(frozen=True, eq=False)
class Body:
    """The Minkowski sum of ``start`` (3,) and the hulls of parts (c, 3): all XYZ that are possible."""

    start: Array
    parts: tuple[Array, ...]

    def support(self, directions: Array) -> Array:
        """The points (k, 3) furthest along directions (k, 3)."""
        points = np.tile(self.start, (len(directions), 1))
        for part in self.parts:
            points += part[np.argmax(part @ directions.T, axis=0)]
        return points


def _sphere(count: int) -> Array:
    """Directions (count, 3) spread evenly: a golden spiral."""
    z = 1.0 - (2.0 * np.arange(count) + 1.0) / count
    turn = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(count)
    return np.stack([np.sqrt(1.0 - z * z) * np.cos(turn), np.sqrt(1.0 - z * z) * np.sin(turn), z], axis=1)


def difference_range(
    support: Callable[[Array], Array], reference: Array, white: Array
) -> tuple[float, float, Array]:
    """The least and greatest CIEDE2000 from Lab ``reference`` (3,) in a convex body of XYZ, and its points (k, 3).

    support: the points (k, 3) of the body furthest along directions (k, 3). The greatest is at an extreme point of
    the body, and is looked for uphill from the furthest of many. The least is found by least squares over mixtures
    of the extreme points (fully corrective Frank-Wolfe), which also says how far from it the search may still be:
    that much, and 0.02, is taken off.
    """
    from scipy.optimize import nnls

    def away(xyz: Array) -> Array:
        return np.asarray(de2000(reference, xyz_to_lab(xyz, white)))

    def slope(f: Callable[[Array], Array], xyz: Array) -> Array:
        step = 1e-4 * np.eye(3)
        return np.asarray((f(xyz + step) - f(xyz - step)) / 2e-4)

    centre = support(_sphere(8)).mean(axis=0)
    jacobian = slope(lambda xyz: xyz_to_lab(xyz, white), centre)  # row: which of X, Y, Z moves
    directions = _sphere(DIRECTIONS) @ jacobian.T
    points = support(directions)
    far = away(points)
    for i in np.argsort(far)[-3:]:
        here, value = points[i], far[i]
        for _ in range(8):
            further = support(slope(away, here)[None])[0]
            if away(further) <= value + 1e-6:
                break
            here, value = further, away(further)
        points = np.vstack([points, here])
    high = float(away(points).max())

    # CIEDE2000 squared is close to a quadratic form around where the search stands.
    nearest, low = points[int(np.argmin(away(points)))], float(away(points).min())
    gap = low
    for _ in range(6):
        metric = _metric(reference, nearest, white)
        target = lab_to_xyz(reference, white)
        heavy = 1e4
        rows = np.vstack([metric @ (points - target).T, np.full((1, len(points)), heavy)])
        shares, _ = nnls(rows, np.array([0.0, 0.0, 0.0, heavy]))
        mixed = (shares / shares.sum()) @ points
        value = float(away(mixed))
        if value <= low:
            nearest, low = mixed, value
        if low < ALMOST:
            gap = low
            break
        downhill = -slope(away, nearest)
        better = support(downhill[None])[0]
        gap = float(downhill @ (better - nearest))
        if gap < 0.25 * ALMOST:
            break
        points = np.vstack([points, better])
    return max(0.0, low - max(gap, 0.0) - ALMOST), high + ALMOST, points


def _metric(reference: Array, xyz: Array, white: Array) -> Array:
    """A matrix (3, 3) with |M (xyz - xyz of reference)| about CIEDE2000 between them, good around ``xyz``."""
    target = lab_to_xyz(reference, white)
    gap = xyz - target
    span = float(np.linalg.norm(gap))
    step = max(1e-3, 0.3 * span)
    columns = []
    for axis in np.eye(3):
        ahead, behind = (xyz_to_lab(target + sign * step * axis, white) for sign in (1.0, -1.0))
        columns.append(de2000_terms(behind, ahead) / (2.0 * step))
    return np.asarray(np.stack(columns, axis=1))
