"""The surface of a layer: what it throws back before the light goes in, and again before it comes out.

Light that falls on an ink or a paint meets its surface twice. A part k1 is reflected outside and never sees the
pigment. Of the diffuse light that comes from inside, a part k2 is thrown back in. A model of what happens
inside (transmittances, absorption and scattering) holds for the *internal* reflectance, an instrument gives the
*measured* one:

    specular included   Rm = k1 + (1 - k1)(1 - k2) R / (1 - k2 R)
    specular excluded   Rm =      (1 - k1)(1 - k2) R / (1 - k2 R)

Saunderson 1942, J. Opt. Soc. Am. 32, 727-736. An instrument of geometry 45:0, or a sphere with a gloss trap,
leaves the mirror reflection out (excluded); a sphere without a trap has it in (included).

k1 and k2 follow from the refractive index by Fresnel's equations (Judd 1942, J. Res. NBS 29, 329-332, for diffuse
light). Practice often takes k2 of 0.4 to 0.6, less than the 0.596 of an ideal surface of index 1.5, for the light
inside a thin layer is not wholly diffuse.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array

Specular = Literal["included", "excluded"]
Incidence = Literal["normal", "45", "diffuse"]
SPECULAR = ("included", "excluded")
INCIDENCE = ("normal", "45", "diffuse")

_NODES = 400  # of the quadrature: the answer is then exact to 1e-9 in spite of the steep end at grazing angles


def fresnel(n: float, degrees: float | Array = 0.0) -> Array:
    """Reflectance of an ideal surface for unpolarised light that comes from the air.

    n: refractive index of the layer relative to air, 1 or above. degrees: angle of incidence, 0 to 90; any shape.
    Mean of the two polarisations, Fresnel's equations (Born & Wolf, Principles of Optics, 1.5.2).
    Raises InputError for an index below 1.

    >>> float(fresnel(1.5).round(5)), float(fresnel(1.5, 45.0).round(5))
    (0.04, 0.05024)
    """
    n = checked_index(n)
    cosine = np.cos(np.radians(np.asarray(degrees, dtype=np.float64)))
    inside = np.sqrt(1.0 - (1.0 - cosine**2) / n**2)
    across = ((cosine - n * inside) / (cosine + n * inside)) ** 2
    along = ((n * cosine - inside) / (n * cosine + inside)) ** 2
    return np.asarray((across + along) / 2.0)


def checked_index(n: float) -> float:
    if not (np.isfinite(n) and 1.0 <= n <= 4.0):
        raise bad(
            f"a refractive index of {n:g}",
            field="n",
            expected="1 to 4; about 1.5 for printing inks, paints and films",
        )
    return float(n)


@cache
def fresnel_diffuse(n: float) -> float:
    """Reflectance of an ideal surface for diffuse light that comes from the air.

    The integral of :func:`fresnel` over the hemisphere, weighted by sin 2x. n: refractive index, 1 or above.

    >>> round(fresnel_diffuse(1.5), 5)
    0.09178
    """
    nodes, shares = np.polynomial.legendre.leggauss(_NODES)
    angle = 45.0 * (nodes + 1.0)
    weight = shares * np.pi / 4.0 * np.sin(2.0 * np.radians(angle))
    return float(weight @ fresnel(n, angle))


def fresnel_diffuse_internal(n: float) -> float:
    """Reflectance of an ideal surface for diffuse light that comes from inside the layer.

    1 - (1 - r) / n^2, with r of :func:`fresnel_diffuse`: what gets out is what gets in, over the wider cone
    inside, and what comes at more than the critical angle is thrown back whole (Judd 1942).

    >>> round(fresnel_diffuse_internal(1.5), 5)
    0.59635
    """
    return 1.0 - (1.0 - fresnel_diffuse(n)) / checked_index(n) ** 2


@dataclass(frozen=True)
class Surface:
    """The surface coefficients of a layer, and whether the readings have the mirror reflection in them.

    k1: share of the light that is reflected outside, 0 or above; k2: share of the light inside that is thrown
    back. ``Surface.NONE`` corrects nothing.

    Raises InputError for a coefficient below 0 or of 1, and for k1 + k2 of 1 or more: the Fresnel values of a
    surface reach that only above a refractive index of 2.1, which no ink or paint has.
    """

    k1: float = 0.0
    k2: float = 0.0
    specular: Specular = "included"

    NONE: ClassVar[Surface]

    def __post_init__(self) -> None:
        for name, value in (("k1", self.k1), ("k2", self.k2)):
            if not (np.isfinite(value) and 0.0 <= value < 1.0):
                raise bad(
                    f"{name} = {value:g}",
                    field=f"surface {name}",
                    expected="a share from 0 to below 1; k1 is about 0.04, k2 0.4 to 0.6",
                )
        if self.k1 + self.k2 >= 1.0:
            raise bad(
                f"k1 + k2 = {self.k1 + self.k2:g}",
                field="surface",
                expected="a sum below 1: no ink or paint has a surface that reflects so much",
                mend="k1 is about 0.04 and k2 0.4 to 0.6 for a refractive index of 1.5",
            )
        if self.specular not in SPECULAR:
            raise bad(
                f"specular {self.specular!r}",
                field="surface specular",
                expected=" or ".join(SPECULAR),
                mend="'excluded' for geometry 45:0 and for a sphere with a gloss trap",
            )

    @classmethod
    def fresnel(cls, n: float = 1.5, specular: Specular = "excluded", incidence: Incidence = "normal") -> Surface:
        """The coefficients of an ideal surface of refractive index ``n``.

        incidence: how the light of the instrument falls: 'normal' (0:45, 8:di and, by reciprocity, di:8), '45'
        (45:0), or 'diffuse'. Raises InputError for an index below 1 or an unknown incidence.
        """
        if incidence not in INCIDENCE:
            raise bad(f"incidence {incidence!r}", field="surface incidence", expected=", ".join(INCIDENCE))
        k1 = (
            fresnel_diffuse(n) if incidence == "diffuse" else float(fresnel(n, 45.0 if incidence == "45" else 0.0))
        )
        return cls(k1, fresnel_diffuse_internal(n), specular)

    @property
    def outside(self) -> float:
        """What is measured of a layer that gives nothing back from inside: k1 if it is included, else 0."""
        return self.k1 if self.specular == "included" else 0.0

    def to_measured(self, internal: ArrayLike) -> Array:
        """Measured reflectance factor of an internal one. Any shape, fractions."""
        inside = np.asarray(internal, dtype=np.float64)
        passed = (1.0 - self.k1) * (1.0 - self.k2) * inside / (1.0 - self.k2 * inside)
        return np.asarray(self.outside + passed)

    def to_internal(self, measured: ArrayLike, what: str = "reflectance") -> Array:
        """Internal reflectance of a measured reflectance factor: the exact inverse of :meth:`to_measured`.

        Raises InputError for a reading below what the surface alone reflects: nothing can be inside then.

        >>> float(Surface(0.04, 0.6).to_internal(0.4).round(6))
        0.6
        """
        passed = np.asarray(measured, dtype=np.float64) - self.outside
        if not (passed >= 0.0).all():
            low = float(np.min(np.asarray(measured)))
            raise bad(
                f"a reading of {low:g}, less than the {self.outside:g} that the surface alone reflects",
                field=what,
                expected=f"readings above {self.outside:g}" if self.outside else "readings of 0 or above",
                mend="take the specular as excluded if the instrument is 45:0 or has a gloss trap, or lower k1",
            )
        return np.asarray(passed / ((1.0 - self.k1) * (1.0 - self.k2) + self.k2 * passed))

    def slope(self, internal: ArrayLike) -> Array:
        """The derivative of the measured reflectance with respect to the internal one. Any shape."""
        inside = np.asarray(internal, dtype=np.float64)
        return np.asarray((1.0 - self.k1) * (1.0 - self.k2) / (1.0 - self.k2 * inside) ** 2)


Surface.NONE = Surface()
