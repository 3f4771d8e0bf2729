"""Lights: CIE illuminants by name, daylight and Planck radiators by temperature, measured lights."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad, near_words
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.grid import Grid
from screenproof.spectra.tables import read_table

VISIBLE = Grid(360.0, 830.0, 1.0)
"""The 1 nm wavelengths on which weights are made: the range of the CIE observers (ISO/CIE 11664-1)."""

C2_TODAY = 1.4388e-2
"""Second radiation constant in m K, as CIE 15:2018 uses it for the Planckian locus."""

_DAYLIGHT_RANGE_K = (4000.0, 25000.0)
_PLANCK_RANGE_K = (500.0, 100000.0)
_NOTHING_VISIBLE = 1e-12


@dataclass(frozen=True, eq=False)
class Light:
    """What falls on an object: the spectrum of a light, in relative power per nm.

    ``power`` is (w,) on ``grid``; only its shape counts. ``illuminance`` in lx says how much of it falls, where
    that is known. Between its nodes a light is linear (it has lines, and a smoother curve would overshoot
    below zero); past its ends it keeps its last value, as ASTM E308-18 does with missing data.

    Raises InputError for a light that is zero, negative or not finite, or whose illuminance is not above 0.
    """

    name: str
    grid: Grid
    power: Array
    label: str = ""
    illuminance: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        power = frozen(self.power)
        object.__setattr__(self, "power", power)
        field = f"light {self.name!r}"
        if power.shape != (self.grid.count,):
            raise bad(
                f"{power.size} powers for {self.grid.count} wavelengths", file=self.source or None, field=field
            )
        if not np.all(np.isfinite(power)):
            raise bad("a power that is no number", file=self.source or None, field=field)
        if power.min() < -0.01 * power.max() or power.max() <= 0:
            what = "a light of zeros" if not power.any() else f"negative power ({power.min():g})"
            raise bad(
                what,
                file=self.source or None,
                field=field,
                expected="power of 0 or more at every wavelength, and above 0 somewhere",
                mend="check the columns; subtract the dark reading of the instrument",
            )
        if self.illuminance is not None and not self.illuminance > 0:
            raise bad(
                f"an illuminance of {self.illuminance:g} lx", field=field, expected="an illuminance above 0 lx"
            )
        # A dark reading's noise may dip below zero by a hair: that is no light, so it is none here.
        object.__setattr__(self, "power", frozen(np.maximum(power, 0.0)))
        if not np.any(self.at(VISIBLE.wavelengths) > _NOTHING_VISIBLE * power.max()):
            raise bad(
                f"no power between {VISIBLE.start:g} and {VISIBLE.stop:g} nm",
                file=self.source or None,
                field=field,
                expected="a light that can be seen",
            )

    def __repr__(self) -> str:
        words = f"{self.label}; " if self.label and self.label != self.name else ""
        lit = "" if self.illuminance is None else f", {self.illuminance:g} lx"
        return f"Light({self.name!r}: {words}{self.grid}{lit})"

    def at(self, wavelengths: ArrayLike) -> Array:
        """Relative power at ``wavelengths`` (m,) in nm: linear between the nodes, held past the ends.

        A light measured finer than 1 nm is first averaged onto 1 nm with triangular weights, so that no
        narrow line falls between two wavelengths.
        """
        nm = np.asarray(wavelengths, dtype=np.float64)
        if self.grid.step >= 1.0:
            return np.interp(nm, self.grid.wavelengths, self.power)
        coarse = np.arange(np.ceil(self.grid.start), np.floor(self.grid.stop) + 1.0)
        hat = np.maximum(0.0, 1.0 - np.abs(coarse[:, None] - self.grid.wavelengths[None, :]))
        averaged: Array = hat @ self.power / hat.sum(axis=1)
        return np.interp(nm, coarse, averaged)

    def with_illuminance(self, illuminance: float) -> Light:
        """The same light, falling with ``illuminance`` in lx."""
        return replace(self, illuminance=illuminance)

    @classmethod
    def from_readings(
        cls, name: str, wavelengths: ArrayLike, power: ArrayLike, *, label: str = "", source: str = ""
    ) -> Light:
        """A measured light on any ascending ``wavelengths`` (m,) in nm, even or not, with ``power`` (m,).

        An uneven light is carried onto 1 nm by straight lines, which moves no reading; one that is anywhere
        finer than 1 nm by its mean over each 1 nm, so that a line between two whole wavelengths keeps its power.
        """
        nm = np.asarray(wavelengths, dtype=np.float64).ravel()
        values = np.asarray(power, dtype=np.float64).ravel()
        steps = np.diff(nm)
        if nm.size >= 2 and np.all(steps > 0) and np.ptp(steps) > 0.01:
            even = np.arange(np.ceil(nm[0]), np.floor(nm[-1]) + 1.0)
            if steps.min() < 1.0:
                # The integral of straight lines is known exactly at the nodes, and a parabola in between.
                edges = np.clip(np.stack([even - 0.5, even + 0.5]), nm[0], nm[-1])
                nodes = np.union1d(nm, edges.ravel())
                heights = np.interp(nodes, nm, values)
                areas = np.concatenate([[0.0], np.cumsum(0.5 * (heights[1:] + heights[:-1]) * np.diff(nodes))])
                low, high = np.interp(edges, nodes, areas)
                values, nm = (high - low) / (edges[1] - edges[0]), even
            else:
                values, nm = np.interp(even, nm, values), even
        return cls(name, Grid.of(nm, file=source or None), frozen(values), label, None, source)


def planck(wavelengths: ArrayLike, kelvin: float, c2: float = C2_TODAY) -> Array:
    """Relative spectral radiance of a black body, 100 at 560 nm.

    ``wavelengths`` (m,) in nm, ``kelvin`` in K, ``c2`` in m K. Planck's law, CIE 15:2018, 3.1.
    """
    metres = np.asarray(wavelengths, dtype=np.float64) * 1e-9
    at_560 = 560e-9

    def law(lam: Array | float) -> Array:
        # exp(-x) / (1 - exp(-x)) is 1 / (exp(x) - 1) without overflow at low temperatures.
        x = c2 / (np.asarray(lam) * kelvin)
        return np.asarray(lam) ** -5.0 * np.exp(-x) / -np.expm1(-x)

    # Relative to 560 nm in the exponent, so that a very cool radiator does not underflow to nothing.
    return np.asarray(100.0 * law(metres) / law(at_560), dtype=np.float64)


def daylight(wavelengths: ArrayLike, kelvin: float) -> Array:
    """Relative spectral power of a phase of CIE daylight, 100 at 560 nm.

    ``kelvin`` is the correlated colour temperature, 4000 to 25000 K. CIE 15:2018, 4.1.2, equations 4.5 to 4.9:
    chromaticity on the daylight locus, then S = S0 + M1 S1 + M2 S2, linear between the 5 nm of Table T.2.
    Raises InputError outside the range.
    """
    low, high = _DAYLIGHT_RANGE_K
    if not low <= kelvin <= high:
        raise bad(
            f"CIE daylight of {kelvin:g} K",
            expected=f"{low:g} to {high:g} K",
            mend=f"below {low:g} K use a Planck radiator, such as P{kelvin:g}K",
        )
    t = 1000.0 / kelvin
    if kelvin <= 7000.0:
        x = ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244063
    else:
        x = ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237040
    y = (-3.000 * x + 2.870) * x - 0.275
    denominator = 0.0241 + 0.2562 * x - 0.7341 * y
    # CIE 15 rounds M1 and M2 to three decimals; the published tables are reproduced only if we do too.
    m1 = round((-1.3515 - 1.7703 * x + 5.9114 * y) / denominator, 3)
    m2 = round((0.0300 - 31.4424 * x + 30.0717 * y) / denominator, 3)
    _, table = read_table("cie_daylight_components")
    power = table[:, 1] + m1 * table[:, 2] + m2 * table[:, 3]
    return np.interp(np.asarray(wavelengths, dtype=np.float64), table[:, 0], power)


_LABELS = {
    "A": "CIE illuminant A, incandescent lamp",
    "C": "CIE illuminant C, daylight of the older standards",
    "D50": "CIE daylight D50, the light of the graphic trade",
    "D55": "CIE daylight D55",
    "D65": "CIE daylight D65, average daylight",
    "D75": "CIE daylight D75",
    "E": "equal energy",
    "ID50": "CIE indoor daylight, D50 behind window glass",
    "ID65": "CIE indoor daylight, D65 behind window glass",
}
_FAMILIES = (
    ("FL3.", "CIE fluorescent lamp of the 2004 set"),
    ("FL", "CIE fluorescent lamp"),
    ("HP", "CIE high-pressure discharge lamp"),
    ("LED-BH", "CIE LED, blue with red hybrid"),
    ("LED-B", "CIE LED, blue pumped"),
    ("LED-RGB", "CIE LED, red, green and blue mixed"),
    ("LED-V", "CIE LED, violet pumped"),
)
_OLDER_SPELLING = re.compile(r"F(\d{1,2}|3\.\d{1,2})")
_BY_TEMPERATURE = re.compile(r"^([DP])(\d+(?:\.\d+)?)K$")


@functools.cache
def light_names() -> tuple[str, ...]:
    """The standard names, in the order in which the CIE lists them. `D5000K` and `P3200K` come beside them."""
    columns, _ = read_table("cie_illuminants")
    tabulated = columns[1:]
    return ("A", *tabulated[:5], "E", *tabulated[5:])


def _label(name: str) -> str:
    if name in _LABELS:
        return _LABELS[name]
    for start, text in _FAMILIES:
        if name.startswith(start):
            return f"{text}, {name}"
    return name


def light(name: str) -> Light:
    """The light called ``name``, in capitals or not: a CIE illuminant, ``D5000K`` or ``P3200K``.

    ``D`` with a temperature is CIE daylight (4000 to 25000 K), ``P`` a Planck radiator (500 to 100000 K).
    ``F2`` is taken as ``FL2``, its older spelling. Raises InputError that lists the nearest names.
    """
    key = name.strip().upper()
    return _light(f"FL{key[1:]}" if _OLDER_SPELLING.fullmatch(key) else key, name.strip())


def as_light(given: Light | str, field: str = "light") -> Light:
    """A light that may be given by its name. Raises InputError, about ``field``, for what is neither."""
    if isinstance(given, Light):
        return given
    if isinstance(given, str):
        return light(given)
    raise bad(
        f"a {type(given).__name__} is no light",
        field=field,
        expected="a Light, or the name of one such as 'D50'",
        mend="make a measured light with Light(name, grid, power)",
    )


def _light(key: str, written: str) -> Light:
    known = _known(key)
    if known is None:
        near = near_words(key, light_names(), 4)
        raise bad(
            f"no light is called {written!r}",
            expected="a CIE illuminant (A, D50, D65, FL2, LED-B3 ...), daylight such as D5000K, a Planck radiator "
            "such as P3200K, or a file with a measured light",
            mend=f"nearest names: {', '.join(near)}" if near else "list them with: screenproof lights",
        )
    return known


@functools.cache
def _known(name: str) -> Light | None:
    grid, nm = VISIBLE, VISIBLE.wavelengths
    by_temperature = _BY_TEMPERATURE.match(name)
    if by_temperature:
        kelvin = float(by_temperature.group(2))
        if by_temperature.group(1) == "D":
            own = Grid(300.0, 830.0, 5.0)
            power = daylight(own.wavelengths, kelvin)
            return Light(name, own, power, f"CIE daylight of {kelvin:g} K", None, "CIE 15:2018")
        low, high = _PLANCK_RANGE_K
        if not low <= kelvin <= high:
            raise bad(f"a Planck radiator of {kelvin:g} K", expected=f"{low:g} to {high:g} K")
        return Light(name, grid, planck(nm, kelvin), f"Planck radiator of {kelvin:g} K", None, "Planck's law")
    if name == "A":
        # CIE 15:2018 equation 4.1: the constant and the temperature as the standard writes them.
        power = planck(nm, 2848.0, c2=1.435e-2)
        return Light("A", grid, power, _label("A"), None, "ISO/CIE 11664-2:2022")
    if name == "E":
        return Light("E", grid, frozen(np.full(nm.size, 100.0)), _label("E"), None, "CIE 15:2018")
    columns, table = read_table("cie_illuminants")
    if name not in columns[1:]:
        return None
    column = table[:, columns.index(name)]
    known = np.isfinite(column)
    measured = Grid.of(table[known, 0])
    return Light(name, measured, frozen(column[known]), _label(name), None, "ISO/CIE 11664-2:2022, CIE 15:2018")
