"""What a recipe is to reach, and how far a curve is from it: under the first light, and under the others.

A target is a curve, or XYZ for one light and observer. For a curve every light has its own target colour, and
what a recipe misses under another light than the first is a *pair shift* (CIE 15:2018, 9.2.2). XYZ has no curve:
any metamer of it will do, and what can be asked is that the recipe itself shifts little, its *colour
inconstancy*: its colour under each light, adapted to the first by CAT16, against its own colour there.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import adaptation_matrix, de2000, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Grid, Light, Observer, frozen, weights, white_point
from screenproof.subtractive._checks import checked_curve, no_doubles

CURVE_COUNTS = 0.1
"""CIEDE2000 that a percent of reflectance (root mean square) counts while shares are sought for a curve. The
colour comes first; the curve decides what the lights that were named leave open."""

CURVE_COUNTS_FULLY = 1.0
"""The same where the curve counts as much as the colour: what a reading's noise does to the colour is then not
followed."""

SHIFT_COUNTS = 0.15
"""CIEDE2000 that one of shift counts while shares are sought: the match under the first light is not given away
for less shift, where the components allow both."""


@dataclass(frozen=True, eq=False)
class Target:
    """A colour to reach: a curve (w,) on a grid, or XYZ (3,), Y = 100 for the perfect diffuser, with its light
    and observer.

    Raises InputError when it is neither or both, or for XYZ below 0 or with a Y of 0 or above 100.
    """

    name: str
    curve: Array | None = None
    grid: Grid | None = None
    xyz: Array | None = None
    light: str | None = None
    observer: str | None = None

    def __post_init__(self) -> None:
        what = f"target {self.name}"
        if (self.curve is None) == (self.xyz is None):
            raise bad("a target needs a curve or XYZ, and not both", field=what, expected="one of the two")
        if self.curve is not None:
            if self.grid is None:
                raise bad("a curve without its wavelengths", field=what, expected="the grid of the curve")
            object.__setattr__(self, "curve", checked_curve(self.curve, self.grid, what, least=-1e-12))
            return
        xyz = frozen(self.xyz)  # type: ignore[arg-type]
        if self.light is None or self.observer is None:
            raise bad("XYZ without light and observer", field=what, expected="the names of both")
        if xyz.shape != (3,) or not (np.isfinite(xyz).all() and (xyz >= 0.0).all() and 0.0 < xyz[1] <= 100.0):
            raise bad(
                f"XYZ {np.array2string(xyz, precision=4)}",
                field=what,
                expected="three numbers, Y above 0 up to 100, the perfect diffuser",
                mend="scale Y = 1 to 100; put XYZ of a screen on the scale of its white",
            )
        object.__setattr__(self, "xyz", xyz)

    @classmethod
    def of_curve(cls, curve: ArrayLike, grid: Grid, name: str = "target") -> Target:
        """A measured reflectance curve (w,), fractions."""
        return cls(name, np.asarray(curve, dtype=np.float64), grid)

    @classmethod
    def of_xyz(cls, xyz: ArrayLike, light: str, observer: str, name: str = "target") -> Target:
        """XYZ (3,) under a light for an observer, such as a screen's colour carried to the object's white."""
        return cls(name, xyz=np.asarray(xyz, dtype=np.float64), light=light, observer=observer)


def local_metric(lab: Array) -> Array:
    """The quadratic form (..., 3, 3) of CIEDE2000 about a colour: de00^2 is near d M d for a small step d in
    CIELAB."""
    step = 0.05
    basis = np.eye(3) * step
    square = np.empty((*lab.shape[:-1], 3, 3))
    single = [np.asarray(de2000(lab - basis[i] / 2, lab + basis[i] / 2)) ** 2 for i in range(3)]
    for i in range(3):
        square[..., i, i] = single[i]
        for j in range(i):
            both = np.asarray(de2000(lab - (basis[i] + basis[j]) / 2, lab + (basis[i] + basis[j]) / 2)) ** 2
            square[..., i, j] = square[..., j, i] = (both - single[i] - single[j]) / 2.0
    return square / step**2


def _factor(metric: Array) -> Array:
    """F (..., 3, 3) with F^T F = M, for a form that rounding may have bent a little below zero."""
    values, vectors = np.linalg.eigh(metric)
    return np.asarray(np.sqrt(np.maximum(values, 1e-8))[..., np.newaxis] * np.swapaxes(vectors, -1, -2))


class Aim:
    """A target under the lights of a search, and the residuals that a search makes small.

    lights (L): the first is the one in which the match is made. For XYZ the others are seen through CAT16 as from
    the first. ``matrix`` (w, L, 3) gives the XYZ to compare, ``whites`` (L, 3) what it is relative to, ``labs``
    (L, 3) the target's.

    curve_counts: CIEDE2000 that a percent of reflectance counts, for a target with a curve.

    Raises InputError for no light, one that stands twice, XYZ of another light or observer than the first, or
    unlike grids.
    """

    def __init__(
        self,
        target: Target,
        grid: Grid,
        lights: Sequence[Light],
        observer: Observer,
        curve_counts: float = CURVE_COUNTS,
    ) -> None:
        if not lights:
            raise bad("no light", field="lights", expected="at least the light in which the match is made")
        no_doubles([light.name for light in lights], "lights")
        self.target, self.grid, self.lights, self.observer = target, grid, tuple(lights), observer
        self.notes: list[Note] = []
        stack = np.stack([weights(light, observer, grid) for light in lights], axis=1)
        self.whites = np.stack([white_point(light, observer) for light in lights])
        if target.curve is not None:
            if target.grid != grid:
                raise bad(
                    f"the target is on {target.grid}, the components on {grid}",
                    field=f"target {target.name}",
                    expected="one grid: nothing is resampled",
                    mend="measure or export the target with the wavelengths of the library",
                )
            self.matrix = stack
            self.labs = xyz_to_lab(np.einsum("w,wlc->lc", target.curve, stack), self.whites)
        else:
            assert target.xyz is not None
            own = (lights[0].name, observer.name)
            if (target.light, target.observer) != own:
                raise bad(
                    f"XYZ for {target.light} and observer {target.observer}, asked for {own[0]} and {own[1]}",
                    field=f"target {target.name}",
                    expected=f"{target.light} as the first light, and observer {target.observer}",
                    mend="XYZ cannot be carried to another light: give the light it holds for first",
                )
            adapted = adaptation_matrix(self.whites, self.whites[0])
            self.matrix = np.einsum("wlc,ldc->wld", stack, adapted)
            self.whites = np.broadcast_to(self.whites[0], self.whites.shape).copy()
            self.labs = np.broadcast_to(xyz_to_lab(target.xyz, self.whites[0]), self.whites.shape).copy()
            self.notes.append(
                Note(
                    "info",
                    "the target is a colour, not a curve: any of its metamers is allowed, and of recipes that "
                    "match it alike the one whose own colour shifts least under the other lights (CAT16) is "
                    "preferred",
                    about=target.name,
                )
            )
        others = max(1, len(lights) - 1)
        importance = np.array([1.0, *[SHIFT_COUNTS / np.sqrt(others)] * (len(lights) - 1)])
        self._importance = importance[:, np.newaxis, np.newaxis]
        self._set_form(self.labs)
        self.flat = np.ascontiguousarray((self.matrix / self.whites).reshape(grid.count, -1))
        self.curve_weight = 0.0 if target.curve is None else curve_counts * 100.0 / np.sqrt(grid.count)

    def _set_form(self, about: Array) -> None:
        """From the cube roots of CIELAB straight to the weighted differences: one matrix (3, 3) for each light."""
        factors = _factor(local_metric(about)) * self._importance
        self.turn = np.ascontiguousarray(np.swapaxes(factors @ _LAB_OF_ROOTS, -1, -2))
        self.goal = np.einsum("lij,lj->li", factors, self.labs + _LAB_OFFSET)

    def about(self, curve: Array) -> Aim:
        """The same aim for a target out of reach: the form of CIEDE2000 is that about the middle between the
        target and a curve (w,), and the colour counts almost alone."""
        seen = xyz_to_lab((curve @ self.flat).reshape(-1, 3) * self.whites, self.whites)
        other = copy(self)
        # Out of reach there is no choice among matches, for which shift and curve are there.
        other._importance = self._importance * np.where(np.arange(len(self.lights)) > 0, 0.1, 1.0)[:, None, None]
        other.curve_weight = 0.1 * self.curve_weight
        other._set_form((self.labs + seen) / 2.0)
        return other

    def residuals(self, curves: Array) -> Array:
        """(m, 3L): the differences of curves (m, w), so scaled that their sum of squares is near the squared
        CIEDE2000 under the first light and the mean of those under the others, by what they count."""
        roots = _root((curves @ self.flat).reshape(-1, len(self.lights), 3))
        return np.asarray((np.einsum("mlj,lji->mli", roots, self.turn) - self.goal).reshape(len(curves), -1))

    def with_slopes(self, curves: Array, slopes: Array) -> tuple[Array, Array]:
        """Residuals (m, 3L), and their derivatives (m, f, 3L) for the derivatives (m, f, w) of the curves."""
        m, f, count = slopes.shape
        ratio = curves @ self.flat
        by = (slopes.reshape(m * f, count) @ self.flat).reshape(m, f, ratio.shape[1])
        by *= _root_slope(ratio)[:, np.newaxis]
        roots = _root(ratio)
        residual, turned = np.empty_like(ratio), np.empty_like(by)
        for i, (turn, goal) in enumerate(zip(self.turn, self.goal, strict=True)):
            part = slice(3 * i, 3 * i + 3)
            residual[:, part] = roots[:, part] @ turn - goal
            turned[..., part] = (by[..., part].reshape(-1, 3) @ turn).reshape(m, f, 3)
        return residual, turned

    def judged(self, curves: Array) -> tuple[Array, Array]:
        """CIEDE2000 (m,) under the first light, and the shift (m, L - 1) under each other, of curves (m, w).

        For a curve the shift is that of the pair, the recipe being first corrected by multiplication for what it
        misses under the first light (CIE 15:2018, 9.2.2); for XYZ it is the recipe's colour inconstancy.
        """
        matrix = self.matrix.reshape(self.grid.count, -1)
        xyz = (curves @ matrix).reshape(len(curves), -1, 3)
        lab = xyz_to_lab(xyz, self.whites)
        de00 = np.asarray(de2000(lab[:, 0], self.labs[0]))
        if self.target.curve is None:
            return de00, np.asarray(de2000(lab[:, 1:], lab[:, :1]))
        own = (self.target.curve @ matrix).reshape(-1, 3)
        corrected = xyz[:, 1:] * (own[0] / np.maximum(xyz[:, :1], 1e-9))
        return de00, np.asarray(de2000(xyz_to_lab(corrected, self.whites[1:]), self.labs[1:]))

    def curve_rms(self, curves: Array) -> Array:
        """Root mean square of the difference in reflectance (m,); NaN-free: zeros for a target without a curve."""
        if self.target.curve is None:
            return np.zeros(len(curves))
        return np.asarray(np.sqrt(((curves - self.target.curve) ** 2).mean(axis=1)))


_LAB_OF_ROOTS = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
_LAB_OFFSET = np.array([16.0, 0.0, 0.0])
_BOUND, _LINE = (6.0 / 29.0) ** 3, (29.0 / 6.0) ** 2 / 3.0


def _root(ratio: Array) -> Array:
    """f(t) of CIELAB, ISO/CIE 11664-4:2019, for t of 0 or above, as every curve here gives it."""
    return np.asarray(np.where(ratio > _BOUND, np.cbrt(ratio), _LINE * ratio + 4.0 / 29.0))


def _root_slope(ratio: Array) -> Array:
    """The derivative of f(t)."""
    return np.asarray(np.where(ratio > _BOUND, np.cbrt(np.maximum(ratio, _BOUND)) ** -2.0 / 3.0, _LINE))
