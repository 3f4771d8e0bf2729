"""Plausible primaries' spectra by display technology, for when a display was not measured.

Two displays of one white and one gamut can have quite different spectra, and other observers then see them
differently. These models show how much, for a technology and not for a device: emission peaks and filter
edges are written down from memory of the literature on phosphors, light-emitting diodes, quantum dots and
colour filters, and then set so that the gamut is that of common displays of the kind. Every
display made of them is of kind 'modelled' and carries a note that says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from screenproof.additive.display import Display, display_from_primaries
from screenproof.additive.models import STANDARD_OBSERVER
from screenproof.additive.transfer import named_transfer
from screenproof.errors import Note, bad, did_you_mean
from screenproof.spectra import Array, Grid, emission_xyz, light, observer, white_point

FINE_GRID = Grid(380.0, 780.0, 1.0)
"""1 nm: the narrow peaks need it."""


@dataclass(frozen=True)
class Peak:
    """One emission peak: a Gaussian in wavelength, with its own width on either side.

    centre: nm. width: full width at half height in nm; red_width: of the side of longer wavelengths, the
    same when not given. height: at the centre, in relative spectral radiance.
    """

    centre: float
    width: float
    height: float = 1.0
    red_width: float | None = None

    def at(self, nm: Array) -> Array:
        """Relative spectral radiance at the wavelengths."""
        width = np.where(nm < self.centre, self.width, self.red_width or self.width)
        result: Array = self.height * np.exp(-4.0 * np.log(2.0) * ((nm - self.centre) / width) ** 2)
        return result


@dataclass(frozen=True)
class Band:
    """A colour filter: passes from ``low`` to ``high`` nm with logistic edges; None is an open side.

    low_edge, high_edge: steepness in nm, the transmittance goes from 12 to 88 percent in four of them.
    leak: transmittance far outside the band.
    """

    low: float | None
    high: float | None
    low_edge: float = 6.0
    high_edge: float = 9.0
    leak: float = 0.003

    def at(self, nm: Array) -> Array:
        """Transmittance 0..1 at the wavelengths."""
        passed = np.ones_like(nm)
        if self.low is not None:
            passed = passed / (1.0 + np.exp((self.low - nm) / self.low_edge))
        if self.high is not None:
            passed = passed / (1.0 + np.exp((nm - self.high) / self.high_edge))
        result: Array = self.leak + (1.0 - self.leak) * passed
        return result


@dataclass(frozen=True)
class Technology:
    """How a kind of display makes its three primaries.

    channels: peaks of red, green and blue where each makes its own light; one set for all three where
    filters cut them out of a common white. filters: of red, green, blue, or none.
    curve, luminance (cd/m2) and contrast are typical ones, taken when none are asked for; contrast None is a
    black without light.
    """

    label: str
    channels: tuple[tuple[Peak, ...], ...]
    filters: tuple[Band, ...] = ()
    curve: str = "gamma2.2"
    luminance: float = 250.0
    contrast: float | None = 1000.0

    def spectra(self, grid: Grid = FINE_GRID) -> Array:
        """Relative spectral radiance (3, w) of red, green and blue."""
        nm = grid.wavelengths
        emitted = [np.sum([peak.at(nm) for peak in peaks], axis=0) for peaks in self.channels]
        if not self.filters:
            return np.stack(emitted)
        return np.stack([emitted[0] * band.at(nm) for band in self.filters])


_TECHNOLOGIES: dict[str, Technology] = {
    # Zinc sulphide phosphors for blue (silver) and green (copper), europium's lines for red.
    "phosphor-tube": Technology(
        "Phosphor tube",
        (
            (
                Peak(626, 4), Peak(616, 4, 0.32), Peak(594, 5, 0.13), Peak(583, 5, 0.07),
                Peak(556, 5, 0.03), Peak(538, 5, 0.04), Peak(705, 5, 0.16),
            ),
            (Peak(531, 72, 1.0, 84),),
            (Peak(450, 54, 1.0, 68),),
        ),
        curve="gamma2.4", luminance=100.0, contrast=2000.0,
    ),
    # A blue diode with a yellow garnet phosphor, behind colour filters.
    "white-led-lcd": Technology(
        "White-LED LCD",
        ((Peak(448, 19), Peak(548, 78, 0.55, 130)),),
        (Band(594, None), Band(492, 584, 9, 10), Band(None, 500)),
    ),
    # A blue diode with a narrow green phosphor and the five lines of a manganese fluoride red.
    "narrow-red-lcd": Technology(
        "Narrow-red-phosphor LCD",
        (
            (
                Peak(448, 19), Peak(537, 48, 0.55, 58), Peak(613, 4, 0.45), Peak(631, 4.5, 1.6),
                Peak(635, 4, 0.7), Peak(648, 4, 0.4),
            ),
        ),
        (Band(588, None), Band(492, 588, 8, 10), Band(None, 505)),
        luminance=350.0,
    ),
    # A blue diode, green and red quantum dots, behind colour filters.
    "quantum-dot-lcd": Technology(
        "Quantum-dot LCD",
        ((Peak(450, 19), Peak(532, 38, 0.75), Peak(632, 34, 0.8)),),
        (Band(588, None), Band(490, 588, 7, 9), Band(None, 503, 6, 8)),
        luminance=500.0, contrast=3000.0,
    ),
    # Three emitters in microcavities, each with a longer red flank.
    "rgb-oled": Technology(
        "RGB OLED",
        ((Peak(620, 32, 1.0, 44),), (Peak(530, 32, 1.0, 50),), (Peak(460, 19, 1.0, 30),)),
        luminance=400.0, contrast=None,
    ),
    # A white stack of blue, green and red emitters, behind colour filters.
    "white-oled": Technology(
        "White OLED with colour filters",
        ((Peak(458, 20, 1.0, 30), Peak(535, 38, 0.55, 60), Peak(618, 50, 0.75, 64)),),
        (Band(595, None, 5, 9, 0.001), Band(497, 580, 7, 8, 0.001), Band(None, 500, 6, 7, 0.001)),
        luminance=150.0, contrast=None,
    ),
    # The wavelengths of the BT.2020 primaries, 2 nm wide.
    "laser": Technology(
        "Laser", ((Peak(630, 2),), (Peak(532, 2),), (Peak(467, 2),)), luminance=100.0, contrast=2000.0
    ),
}  # fmt: skip
TECHNOLOGIES: tuple[str, ...] = tuple(_TECHNOLOGIES)
"""Names that :func:`technology` and :func:`modelled_display` know."""


def technology(name: str) -> Technology:
    """The model of a technology by name, any case. Raises InputError that lists the names."""
    key = name.strip().lower()
    if key not in _TECHNOLOGIES:
        raise bad(
            f"no display technology is called '{name}'",
            field="technology",
            expected="one of " + ", ".join(TECHNOLOGIES),
            mend=did_you_mean(key, TECHNOLOGIES) or "use one of these names, or give measured spectra",
        )
    return _TECHNOLOGIES[key]


def _white_xyz(white: str | Sequence[float]) -> Array:
    """XYZ with Y = 1 of a white given as a light's name or as CIE 1931 xy."""
    if isinstance(white, str):
        return white_point(light(white), observer(STANDARD_OBSERVER)) / 100.0
    x, y = (float(value) for value in white)
    if not (x >= 0 and y > 0 and x + y <= 1):
        raise bad(
            f"a white point of x = {x:g}, y = {y:g}",
            field="white",
            expected="CIE 1931 x and y, for instance 0.3127 and 0.3290",
            mend="give x and y as fractions, or the name of a light",
        )
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def modelled_display(
    technology_name: str | Technology,
    *,
    curve: str | None = None,
    luminance: float | None = None,
    black: float | None = None,
    white: str | Sequence[float] = "D65",
    name: str | None = None,
) -> Display:
    """A plausible display of a technology, with spectra, so that any observer sees it.

    technology_name: one of :data:`TECHNOLOGIES`, or a :class:`Technology` of one's own. curve: a tone curve by
    name. luminance, black: of full white (black included) and drive 0 in cd/m2; typical ones when not
    given. white: the white point for the CIE 1931 observer, a light's name or xy.

    Raises InputError for an unknown name, a white that the primaries cannot mix, or a black above the white.

    >>> display = modelled_display("laser", luminance=120.0)
    >>> [display.seen_by(observer(who)).white[1].round(1).item() for who in ("cie1931", "cie2015-10")]
    [120.0, 131.5]
    """
    model = technology(technology_name) if isinstance(technology_name, str) else technology_name
    level = float(model.luminance if luminance is None else luminance)
    if black is None:
        dark = 0.0 if model.contrast is None else level / model.contrast
    else:
        dark = float(black)
    transfer = named_transfer(curve or model.curve, level, dark)
    spectra = model.spectra()
    xyz = emission_xyz(spectra, FINE_GRID, observer(STANDARD_OBSERVER))
    goal = _white_xyz(white)
    gains = np.linalg.solve(xyz.T, goal)
    if (gains <= 0).any():
        raise bad(
            f"{model.label} cannot mix the white point {white if isinstance(white, str) else tuple(white)}",
            field="white",
            expected="a white point inside the triangle of the primaries",
            mend="choose a white between about 3000 K and 10000 K, for instance D50 or D65",
        )
    key = name or (technology_name if isinstance(technology_name, str) else model.label)
    note = Note(
        "assumed",
        f"{model.label}: spectra modelled for the technology, with peaks from memory of the literature, "
        "not measured on a device",
        about=key,
        mend="give spectral readings of your display for figures that are its own",
    )
    return display_from_primaries(
        spectra * gains[:, None],
        FINE_GRID,
        transfer,
        black=dark,
        luminance=level,
        name=key,
        label=f"{model.label} (modelled)",
        kind="modelled",
        source="modelled from Gaussian emission peaks and logistic filter edges",
        notes=(note,),
    )
