"""Pigments: absorption and scattering of each, what they cost, and how far they can be trusted.

In a mixture K and S add up by concentration (Duncan 1940, Proc. Phys. Soc. 52, 390-401):

    K = c1 K1 + c2 K2 + ...      S = c1 S1 + c2 S2 + ...      c1 + c2 + ... = 1

Three kinds of pigment differ in what their K and S are relative to:

* ``relative``: to the scattering of the white, which is 1 in every band. From letdowns with that white. Good for
  opaque layers, whose reflectance depends on K/S alone.
* ``absolute``: per unit of film thickness. From drawdowns over black and over white. Good for films as well.
* ``dye``: K/S added to that of a cloth (or any ground) per unit of concentration: single-constant, S is that
  of the ground. For textiles.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from screenproof.errors import Note, bad
from screenproof.spectra import Array, Grid, frozen

Kind = Literal["relative", "absolute", "dye"]
KINDS = ("relative", "absolute", "dye")


@dataclass(frozen=True, eq=False)
class LetdownFit:
    """How well a pigment's letdowns are described by its K and S.

    concentrations: (m,); rms: (m,) root mean square of measured minus fitted reflectance factor; de00: (m,)
    CIEDE2000 for D50 and the 2 degree observer; strength: (m,) the factor on the concentration that would bring
    each letdown nearest to its fit (1 where the concentration does not matter, as for a masstone).
    """

    concentrations: Array
    rms: Array
    de00: Array
    strength: Array

    @property
    def worst(self) -> float:
        """The largest CIEDE2000."""
        return float(self.de00.max())


@dataclass(frozen=True, eq=False)
class Pigment:
    """One pigment, dye or white: K and S (w,) at concentration 1, and what is known of them.

    concentrations: the lowest and highest at which it was measured and fits; cost: per kg, in any currency;
    density: kg per litre; covariance: (w, 2, 2) of K and S in each band, from the noise of the letdowns;
    strength_sd: relative standard deviation of its strength, the same in all bands, from the spread of the
    letdowns; fit: how well they fit.

    Raises InputError for K or S below 0 or of the wrong length, for a band in which both are 0 in a pigment, and
    for an unknown kind.
    """

    name: str
    grid: Grid
    k: Array
    s: Array
    kind: Kind = "relative"
    cost: float | None = None
    density: float | None = None
    concentrations: tuple[float, float] = (0.0, 1.0)
    covariance: Array = field(default_factory=lambda: np.zeros(0))
    strength_sd: float = 0.0
    fit: LetdownFit | None = None
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        w = self.grid.count
        if self.kind not in KINDS:
            raise bad(f"kind {self.kind!r}", field=f"pigment {self.name}", expected=", ".join(KINDS))
        for name in ("k", "s"):
            values = frozen(getattr(self, name))
            if values.shape != (w,) or not (np.isfinite(values) & (values >= 0.0)).all():
                raise bad(
                    f"{name.upper()} of shape {values.shape}, least {values.min(initial=0.0):g}",
                    field=f"pigment {self.name}",
                    expected=f"{w} finite numbers, 0 or above, one for each wavelength",
                )
            object.__setattr__(self, name, values)
        if self.kind != "dye" and not (self.k + self.s > 0.0).all():
            raise bad("a band with neither absorption nor scattering", field=f"pigment {self.name}")
        covariance = frozen(self.covariance)
        if covariance.size == 0:
            covariance = frozen(np.zeros((w, 2, 2)))
        if covariance.shape != (w, 2, 2):
            raise bad(f"covariance of shape {covariance.shape}", field=f"pigment {self.name}")
        object.__setattr__(self, "covariance", covariance)
        for what, value in (("cost", self.cost), ("density", self.density)):
            if value is not None and not (np.isfinite(value) and value >= 0.0 and (value > 0.0 or what == "cost")):
                raise bad(f"a {what} of {value:g}", field=f"pigment {self.name}", expected="a number above 0")

    @property
    def residual(self) -> float:
        """Root mean square of measured minus fitted reflectance over all letdowns, 0 if it was not fitted."""
        return 0.0 if self.fit is None else float(np.sqrt(np.mean(self.fit.rms**2)))
