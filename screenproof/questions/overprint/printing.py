"""What transparent inks give on top of each other, as a viewing shows it: of commands and jobs alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Problem, bad

if TYPE_CHECKING:
    from screenproof.proof import Viewing
    from screenproof.spectra import Array, Grid, Samples
    from screenproof.subtractive import Ink, Surface, Trapping, TrappingFit

Parts = tuple[str, ...]
"""The names of inks in the order in which they are printed."""


@dataclass(frozen=True, eq=False)
class SeenCurve:
    """A curve (w,), measured reflectance factor, with its XYZ (3,) and its Lab (3,) relative to the light's
    white."""

    curve: Array
    xyz: Array
    lab: Array

    @classmethod
    def of(cls, curve: Array, grid: Grid, viewing: Viewing) -> SeenCurve:
        """A curve under the light of a viewing, for its observer."""
        from screenproof.appearance import xyz_to_lab
        from screenproof.spectra import weights

        xyz = np.asarray(curve @ weights(viewing.light, viewing.observer, grid))
        return cls(curve, xyz, xyz_to_lab(xyz, viewing.white))

    def apart(self, other: SeenCurve) -> tuple[float, str]:
        """The CIEDE2000 of another colour from this one, and how that one differs."""
        from screenproof.appearance import de2000, difference_words

        return float(de2000(self.lab, other.lab)), difference_words(self.lab, other.lab)


@dataclass(frozen=True, eq=False)
class InksOnStock:
    """Transparent inks on a bare stock (w,), and how their prints are seen; film: weights, 1 where silent."""

    stock: Array
    inks: tuple[Ink, ...]
    film: Mapping[str, float]
    surface: Surface
    viewing: Viewing
    trapping: Trapping | None = None

    @property
    def grid(self) -> Grid:
        """The wavelengths of all curves."""
        return self.inks[0].grid

    def chosen(self, parts: Parts) -> list[Ink]:
        """The inks of these names."""
        by_name = {ink.name: ink for ink in self.inks}
        return [by_name[name] for name in parts]

    def weights(self, parts: Parts) -> list[float]:
        """Their film weights."""
        return [self.film.get(name, 1.0) for name in parts]

    def amounts(self, parts: Parts) -> list[float]:
        """How much of each lies in their overprint: the film weight by the trapping on those below."""
        from screenproof.subtractive.trapping import NO_TRAPPING

        kept = self.trapping or NO_TRAPPING
        return [weight * kept.factor(parts[: i + 1]) for i, weight in enumerate(self.weights(parts))]

    def printed(self, parts: Parts) -> SeenCurve:
        """The overprint of some of the inks."""
        from screenproof.subtractive import overprint

        curve = overprint(self.stock, self.chosen(parts), self.weights(parts), self.surface, self.trapping)
        return self.seen(curve)

    def seen(self, curve: Array) -> SeenCurve:
        """A curve (w,) on the grid of the inks, such as a measured overprint."""
        return SeenCurve.of(curve, self.grid, self.viewing)

    def trapped(self, measured: Mapping[Parts, Array]) -> tuple[InksOnStock, tuple[TrappingFit, ...]]:
        """The same with trapping fitted to measured overprints (w,) by their inks."""
        from screenproof.subtractive import fit_trappings

        weights = self.weights(tuple(ink.name for ink in self.inks))
        trapping, fits = fit_trappings(measured, self.stock, self.inks, self.surface, film_weights=weights)
        return replace(self, trapping=trapping), fits


def parts_of(name: str, inks: Sequence[str]) -> Parts:
    """The inks that a sample called 'Cyan + Yellow' is printed with, in that order; () unless all are known."""
    parts = tuple(part.strip() for part in name.split("+"))
    return parts if set(parts) <= set(inks) and len(set(parts)) == len(parts) else ()


def spectral(samples: Samples, what: str) -> tuple[Array, Grid]:
    """The curves and wavelengths of samples. Raises InputError for samples of XYZ or Lab."""
    if samples.reflectance is None or samples.grid is None:
        raise bad(
            "only XYZ or Lab are known of these samples",
            file=samples.source or None,
            expected=f"reflectance curves: {what} is calculated band by band",
            mend="export the curves of the measurement",
        )
    return np.asarray(samples.reflectance), samples.grid


def curve_of(samples: Samples, name: str) -> Array:
    """The curve (w,) of one sample."""
    curves, _ = spectral(samples, "an overprint")
    return np.asarray(curves[samples.names.index(name)])


def inks_of(samples: Samples, names: Sequence[str], stock: str, surface: Surface) -> tuple[Ink, ...]:
    """The inks of some samples on a stock among them, with the problems of all of them at once."""
    from screenproof.subtractive import ink_from_readings

    _, grid = spectral(samples, "an ink")
    bare = curve_of(samples, stock)
    made: list[Ink] = []
    problems: list[Problem] = []
    for name in names:
        try:
            made.append(ink_from_readings(curve_of(samples, name), bare, grid, surface, name, stock_name=stock))
        except InputError as error:
            problems += [replace(p, file=p.file or samples.source or None) for p in error.problems]
    if problems:
        raise InputError(list(dict.fromkeys(problems)))
    return tuple(made)


def curves_as_samples(names: Sequence[str], curves: Sequence[Array], like: Samples) -> Samples:
    """Calculated curves as samples, with the grid, the condition and the source of those that they come of."""
    from screenproof.spectra import Samples

    return Samples(
        tuple(names), reflectance=np.stack(curves), grid=like.grid, condition=like.condition, source=like.source
    )
