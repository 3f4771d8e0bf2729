"""Observers: the CIE standard observers by name, and cameras by their three sensitivities."""

from __future__ import annotations

import difflib
import functools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import VISIBLE
from screenproof.spectra.tables import read_table

_STANDARD = {
    "1931-2": ("cie_1931_2", "CIE 1931, 2 degrees", 2.0),
    "1964-10": ("cie_1964_10", "CIE 1964, 10 degrees", 10.0),
    "2015-2": ("cie_2015_2", "CIE 2015, 2 degrees", 2.0),
    "2015-10": ("cie_2015_10", "CIE 2015, 10 degrees", 10.0),
}


@dataclass(frozen=True, eq=False)
class Observer:
    """Three response curves: an eye's colour-matching functions, or a camera's sensitivities.

    ``curves`` is (w, 3) on ``grid``. The second curve sets the scale: it gives 100 for the perfect diffuser
    (Y of an eye, green of a camera). ``field`` in degrees and ``age`` in years belong to eyes.

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

    def at(self, wavelengths: ArrayLike) -> Array:
        """Curves (m, 3) at ``wavelengths`` (m,) in nm: linear between the nodes, zero past the ends."""
        nm = np.asarray(wavelengths, dtype=np.float64)
        columns = [
            np.interp(nm, self.grid.wavelengths, self.curves[:, i], left=0.0, right=0.0) for i in range(3)
        ]
        return np.stack(columns, axis=-1)

    @functools.cached_property
    def at_1nm(self) -> Array:
        """Curves (471, 3) at 360 to 830 nm by 1 nm."""
        return frozen(self.at(VISIBLE.wavelengths))


def observer_names() -> tuple[str, ...]:
    """The standard observers: year of the standard and field in degrees."""
    return tuple(_STANDARD)


@functools.cache
def observer(name: str) -> Observer:
    """The standard observer called ``name``: ``1931-2``, ``1964-10``, ``2015-2`` or ``2015-10``.

    Raises InputError that lists the names.
    """
    key = name.strip()
    if key not in _STANDARD:
        near = difflib.get_close_matches(key, _STANDARD, n=1, cutoff=0.3)
        raise bad(
            f"no observer is called {name!r}",
            expected=f"one of {', '.join(_STANDARD)}, or a file with a camera's three sensitivities",
            mend=f"did you mean {near[0]}?" if near else None,
        )
    table_name, label, field = _STANDARD[key]
    _, table = read_table(table_name)
    grid = Grid.of(table[:, 0])
    return Observer(key, grid, table[:, 1:], label, "eye", field, None, "ISO/CIE 11664-1, CIE 170-2")
