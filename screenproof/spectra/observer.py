"""Observers: the CIE standard observers by name, eyes by age and field, cameras by their three sensitivities."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import VISIBLE
from screenproof.spectra.observer_names import STANDARD, no_observer, standard_name
from screenproof.spectra.physiological import SOURCE, Eye, curves_of, eye_from_spec
from screenproof.spectra.tables import read_table


@dataclass(frozen=True, eq=False)
class Observer:
    """Three response curves: an eye's colour-matching functions, or a camera's sensitivities.

    ``curves`` is (w, 3) on ``grid``. The second curve sets the scale: it gives 100 for the perfect diffuser
    (Y of an eye, green of a camera). ``field`` in degrees and ``age`` in years belong to eyes. ``notes`` are what
    was assumed when its name was read.

    Raises InputError for curves of the wrong shape, that are not finite, or of which one is zero throughout.
    """

    name: str
    grid: Grid
    curves: Array
    label: str = ""
    kind: Literal["eye", "camera"] = "eye"
    field: float | None = None
    age: float | None = None
    source: str = ""
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        curves = frozen(self.curves)
        object.__setattr__(self, "curves", curves)
        where = self.source or None
        field = f"observer {self.name!r}"
        if curves.shape != (self.grid.count, 3):
            raise bad(
                f"curves of shape {curves.shape} for {self.grid.count} wavelengths",
                file=where,
                field=field,
                expected="three curves over the wavelengths",
            )
        if not np.all(np.isfinite(curves)):
            raise bad("a sensitivity that is no number", file=where, field=field)
        empty = [str(index + 1) for index in range(3) if not np.any(curves[:, index] > 0)]
        if empty:
            raise bad(
                f"curve {', '.join(empty)} has no value above zero",
                file=where,
                field=field,
                expected="three curves, each above 0 somewhere",
            )

    def __repr__(self) -> str:
        return f"Observer({self.name!r}: {self.label or self.kind})"

    def at(self, wavelengths: ArrayLike) -> Array:
        """Curves (m, 3) at ``wavelengths`` (m,) in nm: linear between the nodes, zero past the ends."""
        nm = np.asarray(wavelengths, dtype=np.float64)
        columns = [np.interp(nm, self.grid.wavelengths, self.curves[:, i], left=0.0, right=0.0) for i in range(3)]
        return np.stack(columns, axis=-1)

    @functools.cached_property
    def at_1nm(self) -> Array:
        """Curves (471, 3) at 360 to 830 nm by 1 nm."""
        return frozen(self.at(VISIBLE.wavelengths))


@functools.lru_cache(maxsize=256)
def _seen_by(eye: Eye) -> Observer:
    return Observer(eye.name, VISIBLE, curves_of(eye), eye.label, "eye", eye.field, eye.age, SOURCE)


def physiological_observer(
    age: float = 32, field: float = 2, *, protan: float = 0, deutan: float = 0, tritan: float = 0
) -> Observer:
    """The average eye of ``age`` 20..80 years for a ``field`` of 1..10 degrees: CIE 170-1:2006, 170-2:2015.

    protan, deutan, tritan: by how many nm (0..20) the L cones are shifted towards M, the M cones towards L, the S
    cones towards M: an anomalous trichromat. Its name is ``age=60,field=2`` and the shifts, as :func:`observer`
    takes it. Raises InputError for values out of these ranges.

    >>> physiological_observer(60, deutan=6).label
    'anomalous trichromat (deutan, M cones shifted by 6 nm towards L), 60 years, 2 degrees'
    """
    return _seen_by(Eye(age, field, protan, deutan, tritan))


@functools.lru_cache(maxsize=1024)
def observer(name: str) -> Observer:
    """The observer called ``name``: ``cie1931``, ``cie1964``, ``cie2015-2``, ``cie2015-10``, or an eye by its age.

    ``2`` and ``10`` are taken as cie1931 and cie1964, and a note says so. ``age=60,field=2`` and
    ``age=60,field=10,deutan=6`` mean what :func:`physiological_observer` says; what is left out is 32 years,
    2 degrees, no shift. Raises InputError that lists the names, says what an observer of an old name is called
    now, or what is wrong of the eye.

    >>> observer("10").name, str(observer("10").notes[0])
    ('cie1964', "observer '10' is taken as cie1964 (10 degrees)")
    """
    key = name.strip()
    if "=" in key:
        return _seen_by(eye_from_spec(key))
    meant = standard_name(key)
    if meant not in STANDARD:
        raise no_observer(name)
    table_name, label, field = STANDARD[meant]
    notes: tuple[Note, ...] = ()
    if meant != key:
        notes = (Note("assumed", f"observer {key!r} is taken as {meant} ({field:g} degrees)"),)
    _, table = read_table(table_name)
    grid = Grid.of(table[:, 0])
    return Observer(meant, grid, table[:, 1:], label, "eye", field, None, "ISO/CIE 11664-1, CIE 170-2", notes)


def as_observer(given: Observer | str, field: str = "observer") -> Observer:
    """An observer that may be given by its name. Raises InputError, about ``field``, for what is neither."""
    if isinstance(given, Observer):
        return given
    if isinstance(given, str):
        return observer(given)
    raise bad(
        f"a {type(given).__name__} is no observer",
        field=field,
        expected=f"an Observer, or the name of one: {', '.join(STANDARD)}, or an eye such as 'age=60,field=2'",
        mend="make an eye with physiological_observer(age, field)",
    )
