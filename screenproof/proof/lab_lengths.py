"""Colour differences near a figure as lengths: a tolerance's metric in coordinates along the axes of the doubt.

The local quadratic form of the metric, bent so that its value and the direction of its slope at the figure are the
metric's own (the update of Broyden, Fletcher, Goldfarb and Shanno). The length to the power by which the metric
grows there is the difference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from screenproof.appearance import CamConditions
from screenproof.proof.difference import figure
from screenproof.proof.near_zero import Lengths, floored, raised_to_noise
from screenproof.proof.tolerance import ToleranceSet
from screenproof.spectra import Array

FAR = 0.02
"""A difference is far from zero where errors across it lengthen it by less than this share of its standard
uncertainty: a chance of 5 % is then right to 0.2 %."""

CLEAR = 5.0
"""And where it is longer than this many standard deviations of the most doubtful direction."""

_CERTAIN = 1e-6
"""A standard uncertainty below this, in units of the metric, is none."""

Moved = Literal["lab", "reference"]


@dataclass(frozen=True, eq=False)
class Local:
    """Differences (n, 3) in coordinates in which the metric is the length, along the axes of the doubt.

    y: (n, 3) with standard deviations u (n, 3). forth: (n, 3, 3) from Lab to there. known: (n,) rows with doubt.
    bend: (n,), by which power of the length the metric grows at the figure: 1 for a metric that is a length, below
    it where differences in chroma count ever less.
    """

    figures: Array
    y: Array
    u: Array
    forth: Array
    known: np.ndarray
    bend: Array

    def length_of(self, difference: float) -> Array:
        """(n,) the length in these coordinates of a difference in the metric, and the same at the figure."""
        least = np.maximum(self.figures, 1e-12)
        return np.asarray(self.figures * (difference / least) ** (1.0 / self.bend))

    def difference_of(self, length: Array) -> Array:
        """(n,) the difference in the metric of lengths (n,)."""
        least = np.maximum(self.figures, 1e-12)
        return np.asarray(np.where(self.bend == 1.0, length, self.figures * (length / least) ** self.bend))

    @property
    def along(self) -> Array:
        """(n,) standard uncertainty along the difference; where that is no longer than its doubt, of all."""
        square = (self.y**2).sum(axis=1)
        variances = self.u**2
        along = (variances * self.y**2).sum(axis=1) / np.maximum(square, 1e-30)
        near = square < variances.sum(axis=1)
        return np.asarray(self.bend * np.sqrt(np.where(near, variances.mean(axis=1), along)))

    def far(self, length: Array) -> np.ndarray:
        """(n,) whether the linear calculation holds at this length (n,)."""
        s, least = self.along, np.minimum(length, self.figures)
        across = np.maximum((self.u**2).sum(axis=1) - s**2, 0.0)
        return np.asarray((across < FAR * 2.0 * least * s) & (least > CLEAR * self.u.max(axis=1)))

    def lengths(self, rows: np.ndarray) -> Lengths:
        """The readings of some rows."""
        return Lengths(self.y[rows], self.u[rows])

    @cached_property
    def raised(self) -> Local:
        """The same with readings no shorter than errors alone make them: :func:`.near_zero.raised_to_noise`."""
        rows = np.flatnonzero(self.known & ((self.y**2).sum(axis=1) < (self.u**2).sum(axis=1)))
        if not rows.size:
            return self
        y, figures, bend = self.y.copy(), self.figures.copy(), self.bend.copy()
        y[rows] = raised_to_noise(self.y[rows], self.u[rows])
        moved = rows[(y[rows] != self.y[rows]).any(axis=1)]
        figures[moved], bend[moved] = np.sqrt((y[moved] ** 2).sum(axis=1)), 1.0
        return replace(self, y=y, figures=figures, bend=bend)


class LabMetric:
    """A tolerance's colour difference under one white, for rows of Lab.

    moved: which side the errors are on. Far from zero it matters: chroma counts ever less, so that a side that is
    nearer to grey moves the difference more.
    """

    def __init__(
        self, tolerance: ToleranceSet, white: Array, conditions: CamConditions, moved: Moved = "lab"
    ) -> None:
        self.tolerance, self.white, self.conditions, self.moved = tolerance, white, conditions, moved

    def __call__(self, reference: Array, lab: Array) -> Array:
        return figure(self.tolerance, reference, lab, self.white, self.conditions)

    def quadratic(self, reference: Array, lab: Array) -> tuple[Array, Array]:
        """M (n, 3, 3) with d^2 near x M x for the Lab difference x, with the value of d and the direction of its
        slope at x; and (n,) the power of the length by which d grows there."""
        form = self._form(reference, lab)
        x, d = lab - reference, self(reference, lab)
        length = np.linalg.norm(x, axis=1)
        step = np.clip(0.01 * length, 1e-6, 0.05)[:, None]
        rise = [self._at(reference, lab, step * e) - self._at(reference, lab, -step * e) for e in np.eye(3)]
        slope = np.stack(rise, axis=1) / (2.0 * step)
        along = (slope * x).sum(axis=1)
        good = (length > 1e-3) & (along > 0.1 * d)
        safe = np.where(good, along, 1.0)
        v = slope * (d**2 / safe)[:, None]
        mx = np.einsum("nij,nj->ni", form, x)
        xmx = np.where(good, (mx * x).sum(axis=1), 1.0)
        bent = form - mx[:, :, None] * mx[:, None, :] / xmx[:, None, None]
        bent += v[:, :, None] * v[:, None, :] / np.where(good, d**2, 1.0)[:, None, None]
        power = np.where(good, np.clip(along / np.maximum(d, 1e-12), 0.25, 4.0), 1.0)
        return np.asarray(np.where(good[:, None, None], bent, form)), power

    def _at(self, reference: Array, lab: Array, longer: Array) -> Array:
        """The metric where the difference is longer by ``longer`` (n, 3) on the side of the errors."""
        return self(reference, lab + longer) if self.moved == "lab" else self(reference - longer, lab)

    def _form(self, reference: Array, lab: Array) -> Array:
        """The form without the bend: CMC is about its reference, the others about the middle of both."""
        of_reference = self.tolerance.metric == "cmc"
        centre, step = (reference if of_reference else 0.5 * (reference + lab)), 0.05
        basis = np.eye(3) * step

        def square(move: Array) -> Array:
            if of_reference:
                return np.asarray(0.5 * (self(centre, centre + move) ** 2 + self(centre, centre - move) ** 2))
            return np.asarray(self(centre - 0.5 * move, centre + 0.5 * move) ** 2)

        single = [square(axis) for axis in basis]
        form = np.empty((len(lab), 3, 3))
        for i in range(3):
            form[:, i, i] = single[i]
            for j in range(i):
                form[:, i, j] = (square(basis[i] + basis[j]) - single[i] - single[j]) / 2.0
                form[:, j, i] = form[:, i, j]
        values, vectors = np.linalg.eigh(form / step**2)
        kept = np.maximum(values, 1e-4 * values[:, -1:])
        return np.asarray(np.einsum("nik,nk,njk->nij", vectors, kept, vectors))


def local_rows(metric: LabMetric, reference: Array, lab: Array, covariance: Array) -> Local:
    form, bend = metric.quadratic(reference, lab)
    root = np.linalg.cholesky(form)
    turned = np.swapaxes(root, 1, 2) @ covariance @ root
    variances, axes = np.linalg.eigh(0.5 * (turned + np.swapaxes(turned, 1, 2)))
    known = variances[:, -1] > _CERTAIN**2
    forth = np.swapaxes(root @ axes, 1, 2)
    y = np.einsum("nij,nj->ni", forth, lab - reference)
    # Rows without doubt get some, so that nothing divides by zero; they are put right by who asks.
    u = np.sqrt(np.where(known[:, None], np.maximum(variances, 0.0), 1.0))
    return Local(metric(reference, lab), y, floored(u), forth, known, bend)
