"""Blends by area: what an eye sees that no longer parts the checks, dots, threads or sectors it looks at.

Light from small neighbouring areas adds up before it is seen, each area with its share: the reflectance of a
blend is the average of its parts' reflectances, weighted by area, and so are X, Y and Z. On a disc that spins
fast enough it is the time that is shared, in proportion to the sectors' angles (the law of Talbot and Plateau;
Maxwell 1857, Trans. R. Soc. Edinb. 21, 275-298, matched colours with it; both from memory). Nothing is taken
away as by one ink on top of another: blue and yellow that overprint to a green blend to a grey (common
practice, no source).

The average holds for opaque areas with sharp borders. Light also spreads sideways in paper, by some tenths of
a millimetre: dots finer than that come out darker than their average, and are a matter of press models.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import InputError, Problem, bad
from screenproof.spectra import Array, Colorimetry, Samples

SUM_TOLERANCE = 5e-6
"""How far areas may stray from a sum of 1: rounding of the sixth decimal of ten parts."""

FULL_TURN = 360.0


def checked_areas(areas: ArrayLike, names: Sequence[str] | None = None, *, whole: float = 1.0) -> Array:
    """Areas (..., k) as fractions, finite, not below 0, and ``whole`` in sum; InputError otherwise.

    names: (k,) of the parts, for the error's text. whole: what a full surface is: 1, or 360 for sectors in
    degrees. Returns fractions that sum to 1 exactly (a rounding error within the tolerance is spread).
    """
    values = np.asarray(areas, dtype=np.float64)
    if values.ndim == 0 or values.shape[-1] == 0 or (names is not None and values.shape[-1] != len(names)):
        raise bad(
            f"areas of shape {values.shape}",
            field="areas",
            expected="one area for each part" if names is None else f"one area for each of {', '.join(names)}",
        )
    what = "areas" if whole == 1.0 else "angles"
    unit = "" if whole == 1.0 else " degrees"
    problems = []
    for part in range(values.shape[-1]):
        column = values[..., part]
        called = names[part] if names is not None else f"part {part + 1}"
        wrong = ~(np.isfinite(column) & (column >= 0.0))
        if wrong.any():
            mend = "leave the part out, or give it an area of 0 or more"
            value = float(np.atleast_1d(column)[np.atleast_1d(wrong)][0])
            problems.append(Problem(f"an area of {value:g}{unit}", field=called, expected="0 or more", mend=mend))
    if problems:
        raise InputError(problems)
    total = values.sum(axis=-1, keepdims=True)
    off = np.abs(total - whole) > SUM_TOLERANCE * whole
    if off.any():
        found = float(total[off][0])
        raise bad(
            f"{what} that sum to {found:.6g}{unit}",
            field=what,
            expected=f"a sum of {whole:g}{unit}: the parts cover all of the surface",
            mend=_sum_mend(found, whole, unit),
        )
    return np.asarray(values / total)


def _sum_mend(found: float, whole: float, unit: str) -> str:
    for other, said in ((100.0, "divide percentages by 100"), (360.0, "divide degrees by 360")):
        if whole == 1.0 and abs(found - other) <= 0.005 * other:
            return said
    if found <= 0.0:
        return "give the areas of the parts"
    missing = whole - found
    if missing > 0.0:
        return f"{missing:.6g}{unit} has no part yet: give it one, or divide each by {found / whole:.6g}"
    return f"{-missing:.6g}{unit} is too much: divide each by {found / whole:.6g}"


def area_average(values: ArrayLike, areas: ArrayLike, names: Sequence[str] | None = None) -> Array:
    """The average of parts by area: sum of a_i V_i.

    values: (k, m), one row for each part: reflectance factors, or XYZ of one light and observer. Lab and drive
    values do not average so. areas: (..., k), fractions that sum to 1. Returns (..., m).
    The equation is that of Neugebauer for one value (1937), without spread of light in the stock.
    Raises InputError for areas that are negative or do not sum to 1, and for shapes that do not fit.

    >>> area_average([[0.2, 0.8], [0.6, 0.4]], [0.5, 0.5]).round(6).tolist()
    [0.4, 0.6]
    """
    rows = np.asarray(values, dtype=np.float64)
    if rows.ndim != 2:
        raise bad(f"values of shape {rows.shape}", field="values", expected="one row for each part")
    shares = checked_areas(areas, names)
    if shares.shape[-1] != rows.shape[0]:
        raise bad(
            f"{shares.shape[-1]} areas for {rows.shape[0]} parts", field="areas", expected="one area for each part"
        )
    return np.asarray(shares @ rows)


def _parts(samples: Samples, named: Mapping[str, float], whole: float) -> tuple[Samples, Array]:
    """The named samples in their order, and their areas as fractions; all unknown names in one InputError."""
    problems: list[Problem] = []
    indices = []
    for name in named:
        try:
            indices.append(samples.index(name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    if not indices:
        raise bad("no part", field="areas", expected="a name and an area for each part")
    chosen = samples.select(indices)
    return chosen, checked_areas(list(named.values()), chosen.names, whole=whole)


def blend_of(samples: Samples, areas: ArrayLike, name: str = "blend") -> Samples:
    """One sample: the blend of all ``samples`` (k) with areas (k,), fractions that sum to 1.

    Curves are averaged where there are curves, else the XYZ of the light and observer for which they hold.
    """
    shares = checked_areas(areas, samples.names)
    colorimetry = samples.colorimetry
    return Samples(
        names=(name,),
        reflectance=None if samples.reflectance is None else area_average(samples.reflectance, shares)[None],
        grid=samples.grid,
        colorimetry=None
        if colorimetry is None
        else Colorimetry(area_average(colorimetry.xyz, shares)[None], colorimetry.light, colorimetry.observer),
        condition=samples.condition,
        fluorescent=samples.fluorescent,
        source=samples.source,
        notes=samples.notes,
    )


def blended(samples: Samples, areas: Mapping[str, float], name: str = "blend") -> Samples:
    """One sample: the blend of named parts by area, as checks, dots or threads side by side.

    areas: name of a sample to its fraction of the surface; the fractions sum to 1.
    Raises InputError for unknown names (with the nearest), and as :func:`checked_areas` does.
    """
    chosen, shares = _parts(samples, areas, 1.0)
    return blend_of(chosen, shares, name)


def disc(samples: Samples, degrees: Mapping[str, float], name: str = "disc") -> Samples:
    """One sample: a disc of sectors that spins too fast to flicker.

    degrees: name of a sample to the angle of its sector (or of all its sectors together); they sum to 360.
    Talbot-Plateau: each part is seen for the share of the time that its sector takes to pass, so that the
    blend is that of the same areas at rest. Raises InputError as :func:`blended` does.
    """
    chosen, shares = _parts(samples, degrees, FULL_TURN)
    return blend_of(chosen, shares, name)


def to_degrees(areas: ArrayLike) -> Array:
    """Sector angles in degrees of areas (..., k) as fractions of the disc."""
    return np.asarray(FULL_TURN * checked_areas(areas))
