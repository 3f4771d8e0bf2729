"""Samples with brightener in other lights: what can be told from readings with and without ultraviolet.

M1 reads a sample in D50, M2 without ultraviolet, M0 in a lamp like illuminant A (ISO 13655, from memory). The
emission that M1 - M2 shows becomes more or less in another light. :mod:`screenproof.spectra.brightener` says what it
may become at one band; here the bands together give all the XYZ that the sample may have (a zonotope: band by band
the emission may go its own way, as it does when there are several brighteners), and of these the least and the
greatest CIEDE2000 from the sample's colour as M1 read it.

Taken for granted besides what :class:`~screenproof.spectra.brightener.Assumed` says: no emission below 400 nm;
emission that rises from 400 to 420 nm, where M2 has little light to read by and is not used; readings without
doubt (their own doubt comes on top).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from screenproof.appearance import (
    adaptation_matrix,
    de2000,
    de2000_terms,
    difference_words,
    lab_to_xyz,
    xyz_to_lab,
)
from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import BrightenerLight, BrightenerRecord
from screenproof.spectra import VISIBLE, Array, Light, Observer, Samples, light, weights, white_point
from screenproof.spectra.brightener import CLEAR_NM, CUT_NM, Assumed, EmissionRange, emission_range, uv_unknown
from screenproof.spectra.brightener import uv_power as power_of

NOTHING = 0.01
"""M1 and M2 that differ by no more than this reflectance factor show no brightener that counts."""

SWAPPED = -0.02
"""M2 above M1 by more than this where brighteners emit: the readings do not belong together."""

DIRECTIONS = 60
ALMOST = 0.02
"""CIEDE2000 by which a bound is widened for what the search may have missed."""


@dataclass(frozen=True)
class Brightened:
    """A record for each sample of M1 in its order, None for one that M2 does not have; and what is odd."""

    records: tuple[BrightenerRecord | None, ...]
    notes: tuple[Note, ...] = ()


def brightener(
    m1: Samples,
    m2: Samples,
    m0: Samples | None,
    lights: Sequence[Light],
    observer: Observer,
    viewing: Light,
    *,
    without_uv: Collection[str] = (),
    assumed: Assumed | None = None,
) -> Brightened:
    """What brightener does to samples in each of ``lights``, for an observer adapted to the light ``viewing``.

    m1, m2, m0: readings of the same samples with M1, M2 and (or None) M0; partners have the same name, and the
        same bands where M2 and M0 have any. without_uv: names of lights that are stated to have no power below the
        first wavelength of their spectrum.
    The figure of a light is the CIEDE2000 between the sample's colour as M1 read it (under D50) and its colour in
    that light, both carried by CAT16 to the white of ``viewing``; where it cannot be known, the reason.
    Raises InputError for readings that are no curves, of another measuring condition, on other bands, without a
    common name, or whose M2 lies above M1 where brighteners emit.
    """
    assumed = assumed or Assumed()
    readings = _Readings.of(m1, m2, m0)
    ready = [
        uv_unknown(one, assumed, one.name in without_uv)
        or _Lit(one, readings, observer, viewing, assumed, one.name in without_uv)
        for one in lights
    ]
    home = _Carried(light("D50"), observer, viewing)
    records: list[BrightenerRecord | None] = []
    unlike: list[str] = []
    for i in range(len(m1)):
        if not readings.known[i]:
            records.append(None)
            continue
        reference = xyz_to_lab(home.xyz(readings.m1[i], readings), home.white)
        there: list[BrightenerLight] = []
        agrees = True
        for one, made in zip(lights, ready, strict=True):
            if isinstance(made, str):
                there.append(BrightenerLight(one.name, None, None, made))
                continue
            body, fits = made.body(i)
            agrees &= fits
            there.append(_bounded(one, body, reference, home.white, made.carried.xyz(readings.m1[i], readings)))
        if not agrees:
            unlike.append(m1.names[i])
        records.append(_record(readings, i, reference, home, tuple(there)))
    return Brightened(tuple(records), _notes(m1, readings, unlike, lights, without_uv, assumed))


@dataclass(frozen=True, eq=False)
class _Readings:
    """Readings on M1's bands. emission: M1 - M2, 0 or more; below 420 nm the most that it may be, as ``edge`` says."""

    nm: Array
    m1: Array
    m2: Array
    known: np.ndarray
    emission: Array
    edge: np.ndarray
    lamp: Array | None
    grid_of: Samples

    @classmethod
    def of(cls, m1: Samples, m2: Samples, m0: Samples | None) -> _Readings:
        _check(m1, "M1")
        _check(m2, "M2")
        shared = [name in m2.names for name in m1.names]
        if not any(shared):
            raise bad(
                "no sample of the readings without ultraviolet (M2) has the name of one with it (M1)",
                file=m2.source or None,
                expected=f"names such as {', '.join(map(repr, m1.names[:3]))}",
                mend="give the readings of one sample the same name in both files",
            )
        assert m1.grid is not None and m1.reflectance is not None
        nm = m1.grid.wavelengths
        cut = _on_bands(m1, m2, "M2")
        day = light("D50").at(nm)
        clear = nm >= CLEAR_NM - 1e-9
        known = np.array(shared)
        emission = np.where(np.isfinite(cut), m1.reflectance - cut, 0.0)
        _check_order(m1, emission, known, nm)
        emission = np.maximum(emission, 0.0)
        first = int(np.argmax(clear))
        edge = (nm >= CUT_NM - 1e-9) & ~clear
        emission[:, ~clear] = 0.0
        emission[:, edge] = emission[:, first, None] * (day[first] / day[edge])
        lamp = None if m0 is None else _on_bands(m1, m0, "M0")
        below = np.where(clear, m1.reflectance - emission, np.where(edge & np.isfinite(cut), cut, m1.reflectance))
        return cls(nm, m1.reflectance, below, known, emission, edge, lamp, m1)


def _check(samples: Samples, filter_name: str) -> None:
    where = samples.source or None
    if not samples.is_spectral:
        raise bad(
            f"the {filter_name} readings are XYZ or Lab, and the brightener shows only in the curves",
            file=where,
            expected="reflectance curves",
            mend="export the spectra from the instrument",
        )
    stated = samples.condition.filter
    if stated is not None and stated != filter_name:
        raise bad(
            f"the file says that it was measured with {stated}, and is used as {filter_name}",
            file=where,
            expected=f"readings with {filter_name}",
            mend="exchange the files, or measure with the condition that is asked for",
        )
    assert samples.reflectance is not None
    finite = np.isfinite(samples.reflectance).all(axis=1)
    if not finite.all():
        raise bad(
            f"a band of {samples.names[int(np.argmin(finite))]!r} has no reading",
            file=where,
            expected="a reading at every band",
            mend="measure it again, or leave the sample out",
        )


def _on_bands(m1: Samples, other: Samples, filter_name: str) -> Array:
    """Readings (n, w) of ``other`` at M1's samples and bands; NaN where it has none."""
    _check(other, filter_name)
    assert m1.grid is not None and other.grid is not None and other.reflectance is not None
    place = (m1.grid.wavelengths - other.grid.start) / other.grid.step
    nearest = np.round(place).astype(np.intp)
    there = (np.abs(place - nearest) < 1e-3) & (nearest >= 0) & (nearest < other.grid.count)
    needed = (m1.grid.wavelengths >= CLEAR_NM - 1e-9) & (m1.grid.wavelengths <= 700.0)
    if not there[needed].all():
        raise bad(
            f"the {filter_name} readings are at {other.grid}, those with M1 at {m1.grid}",
            file=other.source or None,
            expected="the same bands from 420 to 700 nm: nothing is resampled",
            mend="export both with the same bands",
        )
    found = np.full((len(m1), m1.grid.count), np.nan)
    for i, name in enumerate(m1.names):
        if name in other.names:
            found[i, there] = other.reflectance[other.names.index(name), nearest[there]]
    return found


def _check_order(m1: Samples, emission: Array, known: np.ndarray, nm: Array) -> None:
    where_emitted = (nm >= CLEAR_NM) & (nm <= 500.0)
    part = np.where(known[:, None], emission[:, where_emitted], 0.0).mean(axis=1)
    if part.min() < SWAPPED:
        raise bad(
            f"without ultraviolet (M2) {m1.names[int(np.argmin(part))]!r} reads {-part.min():.3f} higher than with it "
            "(M1), in the mean from 420 to 500 nm",
            file=m1.source or None,
            expected="M1 at or above M2: what ultraviolet excites only adds light",
            mend="exchange the files, and look whether both are of the same samples and the same white calibration",
        )


class _Carried:
    """XYZ in a light, carried to the white of the viewing light."""

    def __init__(self, one: Light, observer: Observer, viewing: Light) -> None:
        self.light, self.observer = one, observer
        self.white = white_point(viewing, observer)
        self.matrix = adaptation_matrix(white_point(one, observer), self.white)

    def weights(self, readings: _Readings) -> Array:
        """Weights (w, 3) of reflectances."""
        assert readings.grid_of.grid is not None
        return np.asarray(weights(self.light, self.observer, readings.grid_of.grid) @ self.matrix.T)

    def xyz(self, curve: Array, readings: _Readings) -> Array:
        return np.asarray(curve @ self.weights(readings))


class _Lit:
    """All that a sample may be in one light."""

    def __init__(
        self,
        one: Light,
        readings: _Readings,
        observer: Observer,
        viewing: Light,
        assumed: Assumed,
        without_uv: bool,
    ) -> None:
        self.readings, self.assumed = readings, assumed
        self.carried = _Carried(one, observer, viewing)
        self.reflected = self.carried.weights(readings)
        # Emission is light of its own, which does not follow the lines of the lamp: it has the weights of D50, the
        # light in which it was read, on the scale of the lamp at hand.
        day = light("D50")
        assert readings.grid_of.grid is not None
        visible = VISIBLE.wavelengths
        scale = (day.at(visible) @ observer.at_1nm[:, 1]) / (one.at(visible) @ observer.at_1nm[:, 1])
        emitted = weights(day, observer, readings.grid_of.grid) @ self.carried.matrix.T
        self.emitted = scale * emitted
        # M0 has lower bounds to go by where the sample emits; elsewhere the ratio of two differences is noise.
        self.range: EmissionRange = emission_range(one, assumed, without_uv=without_uv)
        self.sliced = (
            emission_range(one, assumed, without_uv=without_uv, incandescent=True)
            if readings.lamp is not None
            else None
        )
        self.ratio = day.at(readings.nm) / power_of(light("A"), readings.nm)

    def body(self, i: int) -> tuple[_Body, bool]:
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
        return _Body(start, tuple(parts)), told == 0 or fitting > 0.8 * told


@dataclass(frozen=True, eq=False)
class _Body:
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
    the body, and is looked for uphill from the furthest of many. The least is found by least squares over mixtures of
    the extreme points (fully corrective Frank-Wolfe), which also says how far from it the search may still be: that
    much, and 0.02, is taken off.
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


def _bounded(one: Light, body: _Body, reference: Array, white: Array, plain: Array) -> BrightenerLight:
    """The figures of one light. plain: XYZ that the M1 curve alone would give there."""
    low, high, points = difference_range(body.support, reference, white)
    alone = float(de2000(reference, xyz_to_lab(plain, white)))
    middle = xyz_to_lab(points.mean(axis=0), white)
    span = f"between {low:.1f} and {high:.1f}" if high - low >= 0.15 else f"about {0.5 * (low + high):.1f}"
    if high < 0.5:
        words = f"stays as it was read, within {high:.1f}"
    else:
        words = f"{span} from its colour as read, {difference_words(reference, middle)}"
    if not low - 0.05 <= alone <= high + 0.05:
        words += f"; the M1 curve alone would say {alone:.1f}, which cannot be"
    elif high - low >= 0.5:
        words += f"; the M1 curve alone would say {alone:.1f}"
    return BrightenerLight(one.name, low, high, "", words)


def _record(
    readings: _Readings, i: int, reference: Array, home: _Carried, lights: tuple[BrightenerLight, ...]
) -> BrightenerRecord:
    clear = np.where(readings.edge, 0.0, readings.emission[i])
    peak = int(np.argmax(clear))
    without = xyz_to_lab(home.xyz(readings.m2[i], readings), home.white)
    apart = float(de2000(reference, without))
    emission = float(clear[peak])
    if emission <= NOTHING:
        words = f"no brightener to speak of: M1 and M2 differ by {emission:.3f} at most"
    else:
        words = (
            f"brightener adds up to {emission:.3f} of reflectance factor (at {readings.nm[peak]:g} nm); with it the "
            f"sample is {difference_words(without, reference)}, by {apart:.1f} CIEDE2000"
        )
    return BrightenerRecord(emission, float(readings.nm[peak]), apart, lights, words)


def _notes(
    m1: Samples,
    readings: _Readings,
    unlike: Sequence[str],
    lights: Sequence[Light],
    without_uv: Collection[str],
    assumed: Assumed,
) -> tuple[Note, ...]:
    notes = []
    alone = [name for name, known in zip(m1.names, readings.known, strict=True) if not known]
    if alone:
        notes.append(Note("info", f"not read without ultraviolet (M2): {_listed(alone)}", file=m1.source or None))
    if unlike:
        notes.append(
            Note(
                "odd",
                f"M0 does not go with M1 and M2 for {_listed(unlike)}: no excitation from {assumed.low_nm:g} to "
                f"{assumed.high_nm:g} nm gives all three with a lamp within {assumed.m0_uv:.0%} of illuminant A; M0 "
                "is left out where it does not",
                mend="M0's ultraviolet differs by make: state how far the instrument's lamp may be from A",
            )
        )
    notes += [
        Note("assumed", f"no ultraviolet below {one.grid.start:g} nm, as stated", about=one.name)
        for one in lights
        if one.name in without_uv and one.grid.start > assumed.low_nm
    ]
    return (*notes, *uv_cautions(lights))


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")


def uv_cautions(lights: Sequence[Light]) -> tuple[Note, ...]:
    """The caution for lights that are mostly ultraviolet: more of it, for the visible, than blue sky has.

    The share of power from 300 to 400 nm in that from 300 to 700 nm is 0.15 in D75 and 0.25 in equal energy; above 0.3
    a light is taken for a viewing lamp for fluorescence (a choice, no source).
    """
    notes = []
    for one in lights:
        nm = np.arange(max(300.0, np.ceil(one.grid.start)), 701.0)
        power = power_of(one, nm)
        share = power[nm < CUT_NM].sum() / power.sum()
        if share > 0.3:
            notes.append(
                Note(
                    "caution",
                    f"{share:.0%} of its power from {nm[0]:g} to 700 nm is ultraviolet: such viewing lamps can hurt "
                    "eyes and skin, and the light that hurts is not seen",
                    about=one.name,
                    mend="shield the lamp, keep to its maker's distances and times and to the local rules for "
                    "optical radiation, and leave its setting up to a qualified person",
                )
            )
    return tuple(notes)


def unknowable(samples: Samples) -> tuple[Note, ...]:
    """A note when samples fluoresce, as far as can be seen, and were not read without ultraviolet.

    Seen by what the file declares, or by a reflectance factor above 1.01 from 420 to 500 nm, which no white gives
    that only reflects. Their figures under a light with another ultraviolet than that of the reading do not hold.
    """
    found: list[str] = []
    if samples.reflectance is not None and samples.grid is not None:
        nm = samples.grid.wavelengths
        blue = (nm >= CLEAR_NM) & (nm <= 500.0)
        if blue.any():
            above = samples.reflectance[:, blue].max(axis=1) > 1.01
            found = [name for name, bright in zip(samples.names, above, strict=True) if bright]
    if not found and not samples.fluorescent:
        return ()
    who = _listed(found) if found else "samples declared fluorescent"
    return (
        Note(
            "caution",
            f"{who}: how the colour changes in another light cannot be known from these readings, for brightener "
            "gives more or less with the light's ultraviolet",
            file=samples.source or None,
            mend="read the same samples without ultraviolet (M2) as well, and name those readings",
        ),
    )
