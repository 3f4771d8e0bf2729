"""What a population sees: the difference between each object and its screen match, or of pairs, for each person.

A standard observer is a mean of a few dozen eyes. Two lights of unlike spectra that are one colour for it are two
for most people: the crowd says by how much, for how many it exceeds a limit, and at what age most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import Display
from screenproof.appearance import difference_words, xyz_to_lab
from screenproof.errors import bad
from screenproof.proof.difference import figure
from screenproof.proof.eye_records import AgeRecord, CrowdOnDisplay, CrowdRecord
from screenproof.proof.eyes import CIEDE2000, Beholders, Onlookers, Whites, no_crowd
from screenproof.proof.match import Match, seen_xyz
from screenproof.proof.result import Refusal
from screenproof.proof.shift import refuse_colorimetry
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Light, Observer, Population, Samples, observer

_QUANTILES = np.linspace(0.0, 1.0, 21)
_FEWEST_OF_AN_AGE = 5
_OTHERS = 0.25  # of those who see most: from this share on, those who see it the other way round are told of
_PAIRS_AT_ONCE = 500_000


@dataclass(frozen=True, eq=False)
class CrowdDifferences:
    """Differences (n, P) that each person sees, and the colours (n, k, 3) that the tenth who see most see.

    standard: (n,), what the viewing observer sees. reference, other: Lab of the screen (the first of a pair) and
    of the object (the second).
    """

    light: str
    tolerance: ToleranceSet
    people: Population
    figures: Array
    standard: Array
    reference: Array
    other: Array

    @property
    def median(self) -> Array:
        """(n,), of the population."""
        return np.asarray(np.median(self.figures, axis=1))

    @property
    def p95(self) -> Array:
        """(n,), the 95th percentile of the population."""
        return percentile95(self.figures)

    def share_above(self, limit: float) -> Array:
        """(n,), the share 0..1 of people for whom the difference exceeds ``limit``."""
        return np.asarray(np.mean(self.figures > limit, axis=1))

    def words(self, sample: int) -> str:
        """How the object (the second of a pair) looks to the tenth who see most.

        Where a quarter of them or more see it the other way round, both are told.
        """
        reference, other = self.reference[sample], self.other[sample]
        step = other - reference
        # The direction along which these people differ most, whichever way each of them sees it.
        along = step @ np.linalg.svd(step, full_matrices=False)[2][0]
        sides = [np.flatnonzero(along >= 0), np.flatnonzero(along < 0)]
        sides.sort(key=len, reverse=True)
        told = [
            difference_words(reference[who].mean(axis=0), other[who].mean(axis=0)) for who in sides if len(who)
        ]
        if len(told) == 2 and len(sides[1]) >= _OTHERS * len(along) and told[0] != told[1]:
            return f"{told[0]}; to others {told[1]}"
        return told[0]

    def record(self, sample: int, limit: float | None = None) -> CrowdRecord:
        """One sample as a result holds it; ``limit`` in the metric of the figures."""
        figures = self.figures[sample]
        ages = by_age(self.people.ages, figures, limit)
        return CrowdRecord(
            light=self.light,
            metric=self.tolerance.metric,
            median=float(np.median(figures)),
            p95=float(percentile95(figures)),
            standard=float(self.standard[sample]),
            quantiles=tuple(float(q) for q in np.quantile(figures, _QUANTILES)),
            limit=limit,
            share_above=None if limit is None else float(np.mean(figures > limit)),
            worst_age=worst_age(ages),
            by_age=ages,
            words=self.words(sample),
        )


@dataclass(frozen=True, eq=False)
class Crowd:
    """What a population sees of samples beside their match on one display, in the viewing light.

    figures: (n, P), for each person. standard: (n,), for the viewing observer. Both in the metric of
    ``tolerance``.
    refused: why there is nothing; the figures are (n, 0) then, and only then.
    """

    names: tuple[str, ...]
    display: str
    tolerance: ToleranceSet
    people: Population
    whites: Whites
    seen: CrowdDifferences | None
    refused: Refusal | None = None

    def _known(self) -> CrowdDifferences:
        if self.seen is None:
            assert self.refused is not None
            raise ValueError(self.refused.reason)
        return self.seen

    @property
    def figures(self) -> Array:
        return np.empty((len(self.names), 0)) if self.seen is None else self.seen.figures

    @property
    def standard(self) -> Array:
        return np.empty(0) if self.seen is None else self.seen.standard

    @property
    def median(self) -> Array:
        """(n,). Raises ValueError when the crowd is refused."""
        return self._known().median

    @property
    def p95(self) -> Array:
        """(n,), the 95th percentile. Raises ValueError when the crowd is refused."""
        return self._known().p95

    def record(self, sample: int, limit: float | None = None) -> CrowdRecord:
        """One sample as a result holds it. Raises ValueError when the crowd is refused."""
        return self._known().record(sample, limit)


@dataclass(frozen=True, eq=False)
class PairCrowd:
    """What a population sees of pairs of objects: figures (n, L, P), standard (n, L). ``refused``: see Crowd."""

    names_a: tuple[str, ...]
    names_b: tuple[str, ...]
    people: Population
    seen: tuple[CrowdDifferences, ...]
    refused: Refusal | None = None

    @property
    def figures(self) -> Array:
        if not self.seen:
            return np.empty((len(self.names_a), 0, 0))
        return np.stack([seen.figures for seen in self.seen], axis=1)

    @property
    def standard(self) -> Array:
        if not self.seen:
            return np.empty((len(self.names_a), 0))
        return np.stack([seen.standard for seen in self.seen], axis=1)

    def records(self, pair: int, limit: float | None = None) -> tuple[CrowdRecord, ...]:
        """One pair as a result holds it, light by light; empty when refused."""
        return tuple(seen.record(pair, limit) for seen in self.seen)


def percentile95(figures: Array) -> Array:
    """The 95th percentile over the last axis."""
    return np.asarray(np.quantile(figures, 0.95, axis=-1))


def by_age(ages: Array, figures: Array, limit: float | None = None) -> tuple[AgeRecord, ...]:
    """Ages (P,) and figures (P,) decade by decade; the first and last end at the youngest's and oldest's year."""
    low, high = float(np.floor(ages.min())), float(np.ceil(ages.max()))
    # Whoever is exactly 80 belongs to the decade before, unless there is nobody else.
    edges = np.arange(10.0 * np.floor(low / 10.0), max(high, low + 1e-9), 10.0)
    decade = np.searchsorted(edges, ages, side="right") - 1
    found = []
    for i, edge in enumerate(edges):
        some = figures[decade == i]
        if some.size:
            found.append(
                AgeRecord(
                    ages=(max(low, float(edge)), min(high, float(edge) + 10.0)),
                    count=int(some.size),
                    median=float(np.median(some)),
                    p95=float(percentile95(some)),
                    share_above=None if limit is None else float(np.mean(some > limit)),
                )
            )
    return tuple(found)


def worst_age(ages: Sequence[AgeRecord]) -> float:
    """The middle of the decade with the largest median, among those with 5 people or more if there are any."""
    enough = [age for age in ages if age.count >= _FEWEST_OF_AN_AGE] or list(ages)
    return sum(max(enough, key=lambda age: age.median).ages) / 2.0


def crowd(
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    people: Population,
    *,
    tolerance: ToleranceSet | None = None,
    drive: Array | None = None,
    whites: Whites = "shared",
) -> Crowd:
    """The difference that each person sees between the samples and the screen that shows ``matched.code``.

    In the viewing light and by its basis; ``drive`` (n, 3) are shown instead of the codes if given. The metric is
    that of ``tolerance``, CIEDE2000 without one. ``whites``: 'shared' is what people see who have both sides in
    view at once; 'own' who look at one after the other (see :mod:`screenproof.proof.eyes`), and then each
    person's figures are those of :func:`~screenproof.proof.shift.screen_shift` with that person as the observer.
    In the basis 'absolute' both are one, and a screen shift, which sets the light's power anew for each observer,
    is some tenths away.

    Refused for samples without curves, and for a display without spectra.
    """
    metric = tolerance or CIEDE2000
    refused = no_crowd(samples, display, viewing, whites)
    if refused is not None:
        return Crowd(samples.names, display.name, metric, people, whites, None, refused)
    shown = matched.code / (2.0**matched.bits - 1.0) if drive is None else np.asarray(drive, dtype=np.float64)
    if shown.shape != (len(samples), 3):
        raise bad(f"drive values of shape {shown.shape} for {len(samples)} samples", expected="three for each")
    onlookers = Onlookers(people, viewing, display, whites)
    view = display.seen_by(viewing.observer)
    standard = figure(
        metric,
        xyz_to_lab(viewing.bridge(view).to_reference(view.to_xyz(shown)), viewing.white),
        xyz_to_lab(seen_xyz(samples, viewing), viewing.white),
        viewing.white,
        viewing.conditions(),
    )
    gathered = _Gathering(onlookers, metric, len(samples))
    for rows in gathered.pieces():
        gathered.add(rows, onlookers.screen(shown[rows]), onlookers.objects(samples.select(rows)))
    return Crowd(samples.names, display.name, metric, people, whites, gathered.seen(standard))


def pair_crowd(
    a: Samples,
    b: Samples,
    lights: Sequence[Light],
    people: Population,
    tolerance: ToleranceSet | None = None,
    *,
    viewed_by: Observer | None = None,
) -> PairCrowd:
    """The difference that each person sees between a[i] and b[i] side by side, in each light, uncorrected.

    Each adapts to the light. ``viewed_by`` is the observer of ``standard``, the 1931 one unless given. Refused for
    samples without curves. Raises InputError when ``a`` and ``b`` are not equally many.
    """
    if len(a) != len(b):
        raise bad(f"{len(a)} standards for {len(b)} samples", expected="as many on both sides")
    for side in (a, b):
        refused = refuse_colorimetry(side)
        if refused is not None:
            return PairCrowd(a.names, b.names, people, (), refused)
    metric, who = tolerance or CIEDE2000, viewed_by or observer("cie1931")
    found = []
    for light in lights:
        viewing = Viewing(light, who)
        first, second = (xyz_to_lab(seen_xyz(side, viewing), viewing.white) for side in (a, b))
        standard = figure(metric, first, second, viewing.white, viewing.conditions())
        beholders = Beholders(people, viewing)
        gathered = _Gathering(beholders, metric, len(a))
        for rows in gathered.pieces():
            gathered.add(rows, *(beholders.objects(side.select(rows)) for side in (a, b)))
        found.append(gathered.seen(standard))
    return PairCrowd(a.names, b.names, people, tuple(found))


class _Gathering:
    """Figures piece by piece, so that no array of all colours of all people is held."""

    def __init__(self, beholders: Beholders, tolerance: ToleranceSet, count: int) -> None:
        self.beholders, self.tolerance, self.count = beholders, tolerance, count
        crowd = len(beholders.people)
        self.top = -(-crowd // 10)
        self.figures = np.empty((count, crowd))
        self.reference, self.other = (np.empty((count, self.top, 3)) for _ in range(2))

    def pieces(self) -> list[NDArray[np.intp]]:
        step = max(1, _PAIRS_AT_ONCE // self.figures.shape[1])
        return [np.arange(first, min(first + step, self.count)) for first in range(0, self.count, step)]

    def add(self, rows: NDArray[np.intp], reference: Array, other: Array) -> None:
        """Reference XYZ (m, P, 3) of the samples ``rows`` on both sides."""
        found = self.beholders.differences(reference, other, self.tolerance)
        self.figures[rows] = found
        most = np.argpartition(found, -self.top, axis=1)[:, -self.top :, None]
        white = self.beholders.white[most[..., 0]]
        self.reference[rows] = xyz_to_lab(np.take_along_axis(reference, most, axis=1), white)
        self.other[rows] = xyz_to_lab(np.take_along_axis(other, most, axis=1), white)

    def seen(self, standard: Array) -> CrowdDifferences:
        light = self.beholders.viewing.light.name
        return CrowdDifferences(
            light, self.tolerance, self.beholders.people, self.figures, standard, self.reference, self.other
        )


def gamut_share(
    samples: Samples, display: Display, viewing: Viewing, people: Population, *, whites: Whites = "shared"
) -> Array:
    """The share 0..1 (n,) of people for whom a sample's colour is outside of what the display can show them.

    Raises InputError for samples without curves and displays without spectra.
    """
    refused = no_crowd(samples, display, viewing, whites)
    if refused is not None:
        raise bad(refused.reason, field=display.name)
    onlookers = Onlookers(people, viewing, display, whites)
    return np.asarray(np.mean(~onlookers.shows(onlookers.objects(samples)), axis=1))


def crowd_on_display(
    display: str, crowds: Sequence[Crowd], limits: Sequence[float | None] | None = None
) -> CrowdOnDisplay | None:
    """A display for the whole job: the crowds of its groups of samples, with one limit for each group.

    The share above the limit is over all judgements that have a limit. None when no crowd has figures.
    """
    judged = list(zip(crowds, limits or [None] * len(crowds), strict=True))
    known = [(one, limit) for one, limit in judged if one.seen is not None and len(one.names)]
    if not known:
        return None
    medians, p95 = (np.concatenate([getattr(one, name) for one, _ in known]) for name in ("median", "p95"))
    names = [name for one, _ in known for name in one.names]
    above = [(one.figures > limit).ravel() for one, limit in known if limit is not None]
    worst = int(np.argmax(p95))
    return CrowdOnDisplay(
        display=display,
        median=float(np.median(medians)),
        p95=float(np.median(p95)),
        largest=float(p95[worst]),
        largest_sample=names[worst],
        share_above=float(np.mean(np.concatenate(above))) if above else None,
    )


def kindest(displays: Sequence[CrowdOnDisplay]) -> str | None:
    """The display with the smallest 95th percentile, in the median over the samples; None for fewer than two."""
    return min(displays, key=lambda one: one.p95).display if len(displays) > 1 else None
