"""The eye of CIE 170-1:2006 by age and field: from pigments and lens to three response curves.

Everything here is arrays: :func:`screenproof.spectra.physiological_observer` makes an observer of one eye, and
:func:`screenproof.spectra.population` a crowd of them.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import InputError, Problem, nearest
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.light import VISIBLE
from screenproof.spectra.tables import read_table

AGES = (20.0, 80.0)
FIELDS = (1.0, 10.0)
"""Where the model of CIE 170-1:2006 is defined: years of age, and degrees of field."""

LARGEST_SHIFT_NM = 20.0
"""The table's L and M pigments peak 20 nm apart: more would bring one past the other, be it one shift or both."""

SOURCE = "CIE 170-1:2006, CIE 170-2:2015"

MATRIX_2 = frozen([[1.94735469, -1.41445123, 0.36476327], [0.68990272, 0.34832189, 0], [0, 0, 1.93485343]])
MATRIX_10 = frozen([[1.93986443, -1.34664359, 0.43044935], [0.69283932, 0.34967567, 0], [0, 0, 2.14687945]])
"""LMS, each with a peak of 1, to XYZ for 2 and 10 degrees: CIE 170-2:2015 (from memory; they give the published
functions from the published fundamentals within 2e-6)."""

S_ENDS_NM = 615.0
"""Past it the table gives no absorbance of the S pigment, and what S cones take up counts as zero."""

_LIMITS = {
    "age": (*AGES, "years"),
    "field": (*FIELDS, "degrees"),
    "protan": (0.0, LARGEST_SHIFT_NM, "nm"),
    "deutan": (0.0, LARGEST_SHIFT_NM, "nm"),
    "tritan": (0.0, LARGEST_SHIFT_NM, "nm"),
}
_DEFECTS = {
    "protan": "L cones shifted by {:g} nm towards M",
    "deutan": "M cones shifted by {:g} nm towards L",
    "tritan": "S cones shifted by {:g} nm towards M",
}


@dataclass(frozen=True)
class Eye:
    """One eye: age 20..80 years, field 1..10 degrees, and how far its cones are shifted, each 0..20 nm.

    protan: L towards shorter wavelengths (to M); deutan: M towards longer ones (to L); tritan: S towards longer
    ones (to M). All zero: a normal trichromat. Raises InputError, with every value that is out of its range, and
    for L and M cones that are shifted past each other.
    """

    age: float = 32.0
    field: float = 2.0
    protan: float = 0.0
    deutan: float = 0.0
    tritan: float = 0.0

    def __post_init__(self) -> None:
        problems = []
        for key, (low, high, unit) in _LIMITS.items():
            value = float(getattr(self, key))
            object.__setattr__(self, key, value)
            if not low <= value <= high:
                why = ", where CIE 170-1:2006 defines its model" if key in ("age", "field") else ""
                said = f"{low:g} to {high:g} {unit}{why}"
                problems.append(Problem(f"{key} is {value:g}", field="observer", expected=said))
        if not problems and self.protan + self.deutan > LARGEST_SHIFT_NM:
            told = f"protan and deutan are {self.protan + self.deutan:g} nm together: L and M would change places"
            said = f"{LARGEST_SHIFT_NM:g} nm or less together"
            problems.append(Problem(told, field="observer", expected=said, mend="shift one of the two"))
        if problems:
            raise InputError(problems)

    @property
    def name(self) -> str:
        """How a command or a job names it: ``age=60,field=2``, and the shifts that are not zero."""
        shifts = [f"{key}={getattr(self, key):g}" for key in _DEFECTS if getattr(self, key)]
        return ",".join([f"age={self.age:g}", f"field={self.field:g}", *shifts])

    @property
    def label(self) -> str:
        """In words: ``60 years, 2 degrees``, and the kind of anomalous trichromat first."""
        plain = f"{self.age:g} years, {self.field:g} {'degree' if self.field == 1 else 'degrees'}"
        found = [
            f"{key}, {words.format(getattr(self, key))}" for key, words in _DEFECTS.items() if getattr(self, key)
        ]
        return f"anomalous trichromat ({'; '.join(found)}), {plain}" if found else plain


EYE_KEYS = tuple(field.name for field in fields(Eye))


def eye_from_spec(text: str) -> Eye:
    """The eye that ``age=60,field=2,deutan=6`` means; a missing age is 32 years, a missing field 2 degrees.

    Raises InputError with every mistake: an unknown key (with the near one), one that stands twice, a value that
    is no number or out of its range.
    """
    values: dict[str, float] = {}
    problems: list[Problem] = []

    def wrong(what: str, expected: str | None = None, mend: str | None = None) -> None:
        problems.append(Problem(what, field=f"observer {text!r}", expected=expected, mend=mend))

    for token in (part.strip() for part in text.split(",")):
        key, equals, value = (part.strip() for part in token.partition("="))
        key = key.lower()
        if not equals:
            wrong(f"{token!r} has no value" if token else "a comma with nothing beside it", "age=60,field=2")
        elif key not in EYE_KEYS:
            near = nearest(key, EYE_KEYS, 0.4)
            mend = f"did you mean {near}={value}?" if near else None
            wrong(f"an eye has no {key!r}", f"any of {', '.join(EYE_KEYS)}", mend)
        elif key in values:
            wrong(f"{key} stands twice", mend="keep one of the two")
        else:
            try:
                values[key] = float(value)
            except ValueError:
                low, high, unit = _LIMITS[key]
                wrong(f"{key} is {value!r}", f"a number, {low:g} to {high:g} {unit}")
                values[key] = getattr(Eye, key)
    if problems:
        raise InputError(problems)
    return Eye(**values)


@functools.cache
def _splines() -> tuple[tuple[Callable[[Array], Array], ...], Array]:
    """log10 absorbance of L, M, S at any wavelength, and macula, lens 1, lens 2 (471, 3) by 1 nm.

    Cubic splines through the 5 nm of the table give the published 1 nm fundamentals within 0.002 of their peak;
    a line or a monotone cubic through the lens densities is off by 0.006 and more.
    """
    from scipy.interpolate import CubicSpline

    _, table = read_table("cie_2006_cones")
    nm = table[:, 0]
    pigments = []
    for column in (1, 2, 3):
        known = np.isfinite(table[:, column])
        pigments.append(_continued(CubicSpline(nm[known], table[known, column])))
    inside = np.clip(VISIBLE.wavelengths, nm[0], nm[-1])
    media = np.maximum(CubicSpline(nm, table[:, 4:7])(inside), 0.0)
    return tuple(pigments), frozen(media)


def _continued(spline: Callable[..., Array]) -> Callable[[Array], Array]:
    """``spline``, and past its ends a straight line: a shifted pigment is asked for more than is tabulated."""
    ends: Array = spline.x[[0, -1]]  # type: ignore[attr-defined]
    slopes = spline(ends, 1)

    def values(nm: Array) -> Array:
        inside = np.clip(nm, ends[0], ends[1])
        return np.asarray(spline(inside) + np.where(nm < ends[0], slopes[0], slopes[1]) * (nm - inside))

    return values


def media_density(ages: ArrayLike) -> Array:
    """Optical density (P, 471) of the lens and the other media at 360 to 830 nm by 1 nm for ``ages`` (P,) [years].

    D = D1 (1 + 0.02 (age - 32)) + D2 up to 60 years, D1 (1.56 + 0.0667 (age - 60)) + D2 above; small pupil.
    Source: CIE 170-1:2006. Past 390 and 780 nm, where the table ends, the value of the end (the eye is taken as
    blind there, see :func:`cone_fundamentals`).
    """
    years = np.atleast_1d(np.asarray(ages, dtype=np.float64))
    _, media = _splines()
    growth = np.where(years <= 60.0, 1.0 + 0.02 * (years - 32.0), 1.56 + 0.0667 * (years - 60.0))
    return np.asarray(growth[:, None] * media[:, 1] + media[:, 2])


def cone_fundamentals(
    ages: ArrayLike, field: float, *, deviations: ArrayLike | None = None, shifts: ArrayLike | None = None
) -> Array:
    """L, M, S (P, 471, 3) in terms of energy, each with a peak of 1, at 360 to 830 nm by 1 nm.

    ages (P,) in years; field in degrees; deviations (P, 5): relative departures, -1 and up, of the density of the
    lens, the density of the macula, and the densities of the L, M and S pigments (0: the average eye); shifts
    (P, 3): of the L, M and S pigments in nm, above 0 towards longer wavelengths. Zero below 390 and above 780 nm.

    absorptance a = 1 - 10^(-d 10^A(l - shift)), d = 0.38 + 0.54 exp(-field / 1.333) for L and M, 0.30 + 0.45
    exp(-field / 1.333) for S; fundamental = l a 10^(-macula - media), macula = 0.485 exp(-field / 6.132) m(l).
    Source: CIE 170-1:2006; the departures as in Asano, Fairchild and Blonde, PLoS ONE 11(2) e0145671 (2016).
    """
    years = np.atleast_1d(np.asarray(ages, dtype=np.float64))
    people = years.size
    parts = np.zeros((people, 5)) if deviations is None else np.asarray(deviations, dtype=np.float64)
    moved = np.zeros((people, 3)) if shifts is None else np.asarray(shifts, dtype=np.float64)
    nm = VISIBLE.wavelengths
    pigments, media = _splines()
    macula = 0.485 * np.exp(-field / 6.132) * (1.0 + parts[:, 1, None]) * media[:, 0]
    passed = 10.0 ** -(macula + media_density(years) * (1.0 + parts[:, 0, None]))
    passed *= nm * ((nm >= 390.0) & (nm <= 780.0))
    thin = np.exp(-field / 1.333)
    peak = np.array([0.38 + 0.54 * thin, 0.38 + 0.54 * thin, 0.30 + 0.45 * thin]) * (1.0 + parts[:, 2:])
    lms = np.empty((people, nm.size, 3))
    for cone, absorbance in enumerate(pigments):
        at = nm - moved[:, cone, None]
        taken = 1.0 - 10.0 ** (-peak[:, cone, None] * 10.0 ** absorbance(at))
        if cone == 2:
            taken[at > S_ENDS_NM] = 0.0
        lms[:, :, cone] = taken * passed
    return np.asarray(lms / lms.max(axis=1, keepdims=True))


def matrix_to_xyz(field: float) -> Array:
    """LMS with peaks of 1 to XYZ: CIE 170-2:2015 for 2 and 10 degrees; in between we go linearly over the field.

    Below 2 degrees the matrix for 2 degrees stands. CIE 170-2 says nothing of other fields; for differences from
    an eye's own white the choice matters little, because every stimulus takes the same matrix.
    """
    part = min(max((field - 2.0) / 8.0, 0.0), 1.0)
    return np.asarray((1.0 - part) * MATRIX_2 + part * MATRIX_10)


def curves_of(eye: Eye) -> Array:
    """The three response curves (471, 3) of one eye, like XYZ, at 360 to 830 nm by 1 nm."""
    shifts = [[-eye.protan, eye.deutan, eye.tritan]]
    return np.asarray(cone_fundamentals([eye.age], eye.field, shifts=shifts)[0] @ matrix_to_xyz(eye.field).T)


def observer_specs(text: str) -> list[str]:
    """The observers of a comma-separated list: ``cie1931,age=60,field=2,age=25,field=10`` are three.

    A part with '=' belongs to the eye before it, when that has not got its key yet; any other part is an observer
    of its own. What each means is told by :func:`screenproof.spectra.observer`.

    >>> observer_specs("cie1931,age=60,field=2,age=25,field=10")
    ['cie1931', 'age=60,field=2', 'age=25,field=10']
    """
    specs: list[str] = []
    keys: set[str] = set()
    for token in (part.strip() for part in text.split(",")):
        key = token.partition("=")[0].strip().lower() if "=" in token else None
        if key is not None and keys and key not in keys:
            specs[-1] += f",{token}"
            keys.add(key)
        elif token:
            specs.append(token)
            keys = set() if key is None else {key}
    return specs
