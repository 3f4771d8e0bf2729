"""How doubt of readings reaches the difference of two colours: linear propagation through R -> XYZ -> Lab.

A difference in Lab is a function of what was read: reflectance curves, and the screen's light. To first order it
moves by the sum of J e over the errors e, J its slopes (JCGM 100:2008, 5.1 and 5.2). The slopes of curves to XYZ
are the weights, exact; those of XYZ to the Lab that are compared (adaptation, appearance, correction of a pair
included) are central differences. Errors that two colours share meet in one sum before anything is squared: the
same object in two lights, two objects read by one instrument.

The screen. An error of its reading is one of luminance (relative) and of x and y. It is put on the emitted light
of the colour, without the room, and on that of the white, to which the basis relates it: independent for single
readings, the same for the instrument's agreement. For another observer than that of the readings the same errors
are put on that observer's chromaticity. What the display's model misses is taken as alike in all directions of
CIEDE2000: a mean length of e is that of three normal components of e / (2 sqrt(2 / pi)) each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.additive import Display, View
from screenproof.appearance import adaptation_matrix, lab_to_xyz, xyz_to_lab
from screenproof.proof.match import Match
from screenproof.proof.pairs import Correction, corrected_lab
from screenproof.proof.viewing import Viewing, adapts_by
from screenproof.spectra import (
    Array,
    ColorimetryDoubt,
    Light,
    Observer,
    ReflectanceDoubt,
    Samples,
    doubt_of,
    shares_instrument,
    weights,
    white_point,
)
from screenproof.subtractive.target import local_metric

MEAN_LENGTH = 2.0 * math.sqrt(2.0 / math.pi)
"""The mean length of a vector of three independent normal components with standard deviation 1."""


@dataclass(frozen=True, eq=False)
class Part:
    """What one thing that was read brings to the differences of n pairs of colours.

    name: 'sample', 'screen', 'a', 'b', or 'both' (the instrument that read a and b).
    random: (n, 3, 3) covariance in Lab, of the mean of ``readings`` (n,): more readings make it smaller.
    modes: (n, k, 3), fixed errors: one standard deviation of each of k causes, shared by all pairs.
    own: (n, 3, 3) covariance of fixed errors that each pair has of its own.
    """

    name: str
    random: Array
    modes: Array
    own: Array
    readings: NDArray[np.int64]

    @property
    def fixed(self) -> Array:
        """(n, 3, 3): what no number of readings makes smaller."""
        return np.asarray(np.einsum("nki,nkj->nij", self.modes, self.modes) + self.own)

    def with_extra(self, extra: ArrayLike) -> Array:
        """The random covariance (n, 3, 3) after ``extra`` more readings, a number or (n,)."""
        share = self.readings / (self.readings + np.asarray(extra, dtype=np.float64))
        return np.asarray(self.random * share[:, None, None])


@dataclass(frozen=True, eq=False)
class Spread:
    """The doubt of n differences in Lab, part by part."""

    parts: tuple[Part, ...]

    def __len__(self) -> int:
        return len(self.parts[0].readings)

    def covariance(self, extra: Mapping[str, ArrayLike] | None = None) -> Array:
        """(n, 3, 3) of the Lab difference; ``extra`` counts more readings of a part by its name."""
        more = extra or {}
        total = [part.with_extra(more.get(part.name, 0)) + part.fixed for part in self.parts]
        return np.asarray(np.sum(total, axis=0))

    def select(self, indices: Sequence[int] | ArrayLike) -> Spread:
        """The spread of the pairs at ``indices``."""
        at = np.atleast_1d(np.asarray(indices, dtype=np.intp))
        return Spread(
            tuple(Part(p.name, p.random[at], p.modes[at], p.own[at], p.readings[at]) for p in self.parts)
        )

    @classmethod
    def nothing(cls, count: int) -> Spread:
        """The spread of ``count`` pairs without any doubt, to be joined with others."""
        none = np.zeros((count, 3, 3))
        return cls((Part("sample", none, none, none, np.ones(count, dtype=np.int64)),))

    @classmethod
    def joined(cls, spreads: Sequence[Spread]) -> Spread:
        """The pairs of several spreads, one after the other; a part that one of them has not is 0 there.

        Parts of one name are taken as read by one instrument: their fixed errors are drawn together.
        """
        names = tuple(dict.fromkeys(part.name for spread in spreads for part in spread.parts))
        columns = [[spread._part(name) for spread in spreads] for name in names]
        return Spread(
            tuple(
                Part(
                    same[0].name,
                    np.concatenate([part.random for part in same]),
                    np.concatenate([part.modes for part in same]),
                    np.concatenate([part.own for part in same]),
                    np.concatenate([part.readings for part in same]),
                )
                for same in columns
            )
        )

    def _part(self, name: str) -> Part:
        found = next((part for part in self.parts if part.name == name), None)
        return replace(self.nothing(len(self)).parts[0], name=name) if found is None else found

    def draws(self, count: int, seed: int) -> Array:
        """(count, n, 3) errors of the Lab differences: the shared causes are drawn once for all pairs."""
        rng = np.random.default_rng(seed)
        total = np.zeros((count, len(self), 3))
        for part in self.parts:
            total += np.einsum("ck,nki->cni", rng.standard_normal((count, part.modes.shape[1])), part.modes)
            total += np.einsum("nij,cnj->cni", _root(part.random + part.own), rng.standard_normal(total.shape))
        return total


def match_spread(
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    *,
    light: Light | None = None,
    observer: Observer | None = None,
) -> Spread | None:
    """The spread of each sample against what the codes of ``matched`` show; None when no doubt is known.

    ``light`` and ``observer`` are those of a screen shift, by default those of ``viewing``: the match itself.
    Raises InputError as :func:`screenproof.proof.shift.screen_shift` refuses.
    """
    drive = matched.code / (2.0**matched.bits - 1.0)
    return screen_spread(samples, drive, display, viewing, light=light, observer=observer)


def excess_spread(samples: Samples, matched: Match, display: Display, viewing: Viewing) -> Spread | None:
    """The spread of each sample against the nearest colour that the display can show.

    A sample so far inside the gamut that the error of its reading cannot take it out (two standard deviations each
    way along the axes of its doubt) has no spread: its excess is 0 whatever the reading.
    """
    found = screen_spread(samples, np.clip(matched.drive, 0.0, 1.0), display, viewing)
    if found is None:
        return None
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    steps = np.swapaxes(2.0 * _root(found.covariance()), 1, 2)
    moved = matched.lab[:, None] + np.concatenate([steps, -steps], axis=1)
    _, inside = view.to_drive(bridge.to_display(lab_to_xyz(moved, viewing.white)))
    kept = 1.0 - np.asarray(inside.all(axis=1) & matched.in_gamut, dtype=np.float64)
    square, wide = kept[:, None, None], np.sqrt(kept)[:, None, None]
    return Spread(
        tuple(replace(p, random=p.random * square, modes=p.modes * wide, own=p.own * square) for p in found.parts)
    )


def screen_spread(
    samples: Samples,
    drive: Array,
    display: Display,
    viewing: Viewing,
    *,
    light: Light | None = None,
    observer: Observer | None = None,
) -> Spread | None:
    """The spread of each sample in a light against the screen showing ``drive`` (n, 3) 0..1.

    For matches, screen shifts and approvals. None when neither the samples' nor the display's doubt is known; when
    one is, the spread is its share alone.
    """
    under = viewing.light if light is None else light
    here = viewing if observer is None else viewing.seen_by(observer)
    who = here.observer

    def to_lab(xyz: Array) -> Array:
        return xyz_to_lab(here.carry(xyz, under, who), here.white)

    parts = [
        object_part("sample", samples, [under], who, to_lab),
        screen_part(drive, display, here),
    ]
    return _spread(parts)


def light_spread(samples: Samples, from_light: Light, to_light: Light, observer: Observer) -> Spread | None:
    """The spread of the light shift of each object: one error in both lights, which cancels in part."""
    home = Viewing(from_light, observer)
    method = adapts_by(observer, home.adaptation)
    matrix = adaptation_matrix(white_point(to_light, observer), home.white, method)

    def difference(xyz: Array) -> Array:
        return np.asarray(xyz_to_lab(xyz[:, 3:] @ matrix.T, home.white) - xyz_to_lab(xyz[:, :3], home.white))

    return _spread([object_part("sample", samples, [from_light, to_light], observer, difference)])


def pair_spread(a: Samples, b: Samples, light: Light, observer: Observer) -> Spread | None:
    """The spread of the difference of pairs as they are in one light: a[i] the standard, b[i] the sample."""
    white = white_point(light, observer)
    return _pair(
        a,
        b,
        object_part("a", a, [light], observer, lambda xyz: -xyz_to_lab(xyz, white)),
        object_part("b", b, [light], observer, lambda xyz: xyz_to_lab(xyz, white)),
    )


def pair_shift_spread(
    a: Samples,
    b: Samples,
    from_light: Light,
    to_light: Light,
    observer: Observer,
    correction: Correction = "multiplicative",
) -> Spread | None:
    """The spread of the corrected difference of pairs in ``to_light``; an object has one error in both lights."""
    lights = [from_light, to_light]
    whites = [white_point(light, observer) for light in lights]
    xyz_a, xyz_b = (side.xyz(lights, [observer])[:, :, 0] for side in (a, b))

    def difference(first: Array, second: Array) -> Array:
        corrected = corrected_lab(first[:, :3], second[:, :3], second[:, 3:], whites[0], whites[1], correction)
        return np.asarray(corrected - xyz_to_lab(first[:, 3:], whites[1]))

    flat_a, flat_b = xyz_a.reshape(-1, 6), xyz_b.reshape(-1, 6)
    return _pair(
        a,
        b,
        object_part("a", a, lights, observer, lambda xyz: difference(xyz, flat_b)),
        object_part("b", b, lights, observer, lambda xyz: difference(flat_a, xyz)),
    )


def object_part(
    name: str, samples: Samples, lights: Sequence[Light], observer: Observer, to_lab: Callable[[Array], Array]
) -> Part | None:
    """What the readings of objects bring to a Lab difference; None when nothing is known of them.

    to_lab: from XYZ (n, 3 L) of the objects in the lights, one light after the other, to (n, 3) in Lab.
    For samples of colorimetry only the doubt is in Lab already: it is that of one light, the samples' own.
    """
    doubt = doubt_of(samples)
    if doubt is None:
        return None
    n = len(samples)
    readings = np.broadcast_to(np.asarray(doubt.readings, dtype=np.int64), (n,))
    nothing = np.zeros((n, 3, 3))
    if isinstance(doubt, ColorimetryDoubt):
        repeats = np.broadcast_to(doubt.repeatability_de, (n,))
        random = (repeats**2 / readings)[:, None, None] * np.eye(3)
        # Only the side matters, so that what two objects share cancels: the Lab itself are the object's.
        sign = np.sign(np.trace(slopes(to_lab, samples.xyz(lights, [observer])[:, 0, 0]), axis1=1, axis2=2))
        modes = doubt.agreement_de * sign[:, None, None] * np.eye(3)
        return Part(name, random, modes, nothing, readings)
    assert samples.reflectance is not None and samples.grid is not None
    columns = np.concatenate([weights(light, observer, samples.grid) for light in lights], axis=1)
    by_curve = np.einsum("wx,nxl->nwl", columns, slopes(to_lab, samples.reflectance @ columns))
    return curve_part(name, samples, by_curve)


def curve_part(name: str, samples: Samples, by_curve: Array) -> Part | None:
    """What readings of curves bring to a Lab difference that moves with them by ``by_curve`` (n, w, 3); None when
    nothing is known of them."""
    doubt = doubt_of(samples)
    if samples.reflectance is None or samples.grid is None or not isinstance(doubt, ReflectanceDoubt):
        return None
    curves, nm = samples.reflectance, samples.grid.wavelengths
    readings = np.broadcast_to(np.asarray(doubt.readings, dtype=np.int64), (len(samples),))
    repeats = np.asarray(doubt.repeatability, dtype=np.float64)
    column = repeats if repeats.ndim == 2 else np.reshape(repeats, (-1, 1))
    spread = by_curve * np.broadcast_to(column, curves.shape)[:, :, None]
    together = band_correlation(nm, doubt.correlation_nm)
    random = np.einsum("nwi,wv,nvj->nij", spread, together, spread, optimize=True)
    bends = np.gradient(curves, samples.grid.step, axis=1)
    shapes = ((doubt.scale, curves), (doubt.zero, np.ones_like(curves)), (doubt.wavelength_nm, bends))
    modes = np.stack([sd * np.einsum("nw,nwl->nl", shape, by_curve) for sd, shape in shapes], axis=1)
    return Part(name, random / readings[:, None, None], modes, np.zeros_like(random), readings)


def screen_part(drive: Array, display: Display, viewing: Viewing) -> Part | None:
    """What the display's readings bring to sample minus screen in Lab, for drives (n, 3); None when unknown."""
    doubt = display.doubt
    if doubt is None or not doubt.known:
        return None
    view = display.seen_by(viewing.observer)
    light, white = view.to_xyz(drive) - view.room, view.white - view.room
    whites = np.broadcast_to(white, light.shape)

    def of_colour(xyz: Array) -> Array:
        return xyz_to_lab(viewing.bridge(view).to_reference(xyz + view.room), viewing.white)

    def of_white(moved: Array) -> Array:
        # The rows of a difference differ in one coordinate by a step relative to one and the same white.
        bridge = viewing.bridge(cast(View, SimpleNamespace(white=moved[0] + view.room)))
        return xyz_to_lab(bridge.to_reference(light + view.room), viewing.white)

    by_colour, by_white = slopes(of_colour, light), slopes(of_white, whites)
    once = np.array([doubt.luminance, doubt.chromaticity, doubt.chromaticity])
    always = np.array([doubt.luminance_agreement, doubt.chromaticity_agreement, doubt.chromaticity_agreement])
    of_light, of_its_white = _light_errors(light), _light_errors(whites)
    in_lab = np.einsum("nkx,nxl->nkl", of_light, by_colour), np.einsum("nkx,nxl->nkl", of_its_white, by_white)
    random = sum(np.einsum("nki,k,nkj->nij", side, once**2, side) for side in in_lab)
    metric = local_metric(of_colour(light))
    own = (doubt.model_de / MEAN_LENGTH) ** 2 * np.linalg.inv(metric)
    readings = np.full(len(light), doubt.readings, dtype=np.int64)
    modes = -always[:, None] * (in_lab[0] + in_lab[1])
    return Part("screen", np.asarray(random) / doubt.readings, modes, np.asarray(own), readings)


def with_model(spread: Spread | None, lab: Array, model_de: ArrayLike | None) -> Spread | None:
    """The spread of n differences with what the model misses that one side was calculated by.

    lab: (n, 3) of that side. model_de: () or (n,), the mean CIEDE2000 that it misses by, taken as alike in all
    directions; None or 0 where nothing is known of it.
    """
    if model_de is None or not np.any(np.asarray(model_de) > 0.0):
        return spread
    size = np.broadcast_to(np.asarray(model_de, dtype=np.float64), (len(lab),)) / MEAN_LENGTH
    none = np.zeros((len(lab), 3, 3))
    own = (size**2)[:, None, None] * np.linalg.inv(local_metric(lab))
    part = Part("model", none, np.zeros((len(lab), 0, 3)), np.asarray(own), np.ones(len(lab), dtype=np.int64))
    return Spread((part,) if spread is None else (*spread.parts, part))


def band_correlation(wavelengths: Array, correlation_nm: float) -> Array:
    """(w, w): exp(-|dl| / L) of bands; the unit matrix for L = 0."""
    apart = np.abs(wavelengths[:, None] - wavelengths[None, :])
    return np.asarray(np.exp(-apart / correlation_nm) if correlation_nm > 0.0 else np.eye(len(wavelengths)))


def slopes(function: Callable[[Array], Array], at: Array) -> Array:
    """Derivatives (n, m, 3) of a function (n, m) -> (n, 3) by central differences; row k is by coordinate k."""
    # One step a coordinate for all rows, so that a function of one white can be asked; far below any threshold
    # of CIELAB (0.886 of Y = 100) and far above rounding.
    step = 1e-5 * np.maximum(np.abs(at).max(axis=0), 1.0)
    found = np.empty((*at.shape, 3))
    for k in range(at.shape[1]):
        moved = np.zeros(at.shape[1])
        moved[k] = step[k]
        found[:, k] = (function(at + moved) - function(at - moved)) / (2.0 * step[k])
    return found


def _light_errors(xyz: Array) -> Array:
    """(n, 3, 3): how XYZ (n, 3) of a light move by its relative luminance, by x, and by y, one a row."""
    total = np.maximum(xyz.sum(axis=1), 1e-30)
    x, y, luminance = xyz[:, 0] / total, np.maximum(xyz[:, 1] / total, 1e-6), xyz[:, 1]
    found = np.zeros((len(xyz), 3, 3))
    found[:, 0] = xyz
    found[:, 1, 0], found[:, 1, 2] = luminance / y, -luminance / y
    found[:, 2, 0], found[:, 2, 2] = -luminance * x / y**2, -luminance * (1.0 - x) / y**2
    return found


def _root(covariance: Array) -> Array:
    """(n, 3, 3) with root @ root^T = covariance, also for one that is singular."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :])


def _spread(parts: Sequence[Part | None]) -> Spread | None:
    known = tuple(part for part in parts if part is not None)
    return Spread(known) if known else None


def _pair(a: Samples, b: Samples, part_a: Part | None, part_b: Part | None) -> Spread | None:
    if part_a is None or part_b is None or not shares_instrument(a, b):
        return _spread([part_a, part_b])
    # One instrument: its fixed errors move both colours, and the difference by the sum of the two moves.
    none = np.zeros_like(part_a.modes)
    both = Part("both", np.zeros_like(part_a.own), part_a.modes + part_b.modes, part_a.own, part_a.readings)
    return Spread((replace(part_a, modes=none), replace(part_b, modes=none), both))
