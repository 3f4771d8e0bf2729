"""Displays by definition: the standards' primaries, white point, tone curve and luminance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from screenproof.additive.curves import check_levels
from screenproof.additive.display import Display
from screenproof.additive.models import MatrixModel
from screenproof.additive.transfer import named_transfer
from screenproof.errors import bad, did_you_mean
from screenproof.spectra import Array


@dataclass(frozen=True)
class DisplayStandard:
    """What a standard says: CIE 1931 xy of primaries and white, tone curve, luminance of white in cd/m2."""

    label: str
    red: tuple[float, float]
    green: tuple[float, float]
    blue: tuple[float, float]
    white: tuple[float, float]
    curve: str
    luminance: float
    source: str

    @property
    def matrix(self) -> Array:
        """(3, 3) linear RGB to XYZ with white at Y = 1; see :func:`primaries_matrix`."""
        return primaries_matrix((self.red, self.green, self.blue), self.white)


_D65 = (0.3127, 0.3290)
_BT709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
# Luminance when none is asked for. PQ and HLG are for bright displays: BT.2100 takes 1000 cd/m2 as nominal.
_HDR_LUMINANCE = 1000.0

STANDARDS: dict[str, DisplayStandard] = {
    "srgb": DisplayStandard("sRGB", *_BT709, _D65, "srgb", 80.0, "IEC 61966-2-1:1999 with Amd 1:2003"),
    "bt709": DisplayStandard("BT.709", *_BT709, _D65, "bt1886", 100.0, "ITU-R BT.709-6, BT.1886, BT.2035"),
    "p3-d65": DisplayStandard(
        "P3-D65", *_P3, _D65, "gamma2.6", 48.0, "SMPTE EG 432-1:2010, SMPTE RP 431-2:2011"
    ),
    "bt2020": DisplayStandard(
        "BT.2020", (0.708, 0.292), (0.170, 0.797), (0.131, 0.046), _D65, "bt1886", 100.0,
        "ITU-R BT.2020-2, BT.1886, BT.2035",
    ),
    # W3C gives no luminance; that of the standard of its curve is taken.
    "display-p3": DisplayStandard(
        "Display P3", *_P3, _D65, "srgb", 80.0,
        "W3C CSS Color Module Level 4 (primaries of SMPTE RP 431-2:2011, curve of IEC 61966-2-1:1999)",
    ),
    "dci-p3": DisplayStandard("DCI-P3", *_P3, (0.314, 0.351), "gamma2.6", 48.0, "SMPTE RP 431-2:2011"),
    # The exponent is 2 + 51/256.
    "oprgb": DisplayStandard(
        "opRGB", (0.64, 0.33), (0.21, 0.71), (0.15, 0.06), _D65, "gamma2.19921875", 160.0,
        "IEC 61966-2-5:2007 (luminance from memory)",
    ),
}  # fmt: skip
STANDARD_DISPLAYS: tuple[str, ...] = tuple(STANDARDS)
"""Names that :func:`standard_display` knows."""

GAMUT_STANDARDS: tuple[str, ...] = ("srgb", "bt709", "p3-d65", "bt2020")
"""The standards that a gamut is held against, from the smallest to the largest. Those with the primaries of one of
them are left out, and opRGB, which lies across their order."""


def primaries_matrix(primaries: ArrayLike, white: ArrayLike) -> Array:
    """The matrix from linear RGB to XYZ that puts the white at Y = 1.

    primaries: (3, 2) CIE 1931 xy of red, green, blue. white: (2,) xy. SMPTE RP 177:1993: the columns are the
    primaries' (x/y, 1, z/y), scaled so that they add up to the white's.

    Raises InputError when the primaries lie on one line or the white is not inside their triangle.

    >>> primaries_matrix([(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)], (0.3127, 0.3290)).round(4).tolist()
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    """

    def xyz(xy: Array) -> Array:
        return np.stack([xy[..., 0], xy[..., 1], 1.0 - xy[..., 0] - xy[..., 1]], axis=-1)

    corners = xyz(np.asarray(primaries, dtype=np.float64)).T
    w = xyz(np.asarray(white, dtype=np.float64))
    if w[1] <= 0 or abs(np.linalg.det(corners)) < 1e-9:
        raise bad(
            "the primaries lie on one line, or the white point has no luminance",
            expected="three primaries that span a triangle, and a white point with y above 0",
            mend="give CIE 1931 x and y of red, green, blue and white",
        )
    gains = np.linalg.solve(corners, w / w[1])
    if (gains <= 0).any():
        raise bad(
            f"the white point x = {w[0]:g}, y = {w[1]:g} lies outside the triangle of the primaries",
            field="white",
            expected="a white that a mixture of all three primaries can make",
            mend="choose a white inside the triangle, or primaries that enclose it",
        )
    matrix: Array = corners * gains
    return matrix


def standard_display(
    name: str, *, curve: str | None = None, luminance: float | None = None, black: float | None = None
) -> Display:
    """A display as a standard defines it.

    name: one of :data:`STANDARD_DISPLAYS`, any case. curve: another tone curve by name, for instance 'pq',
    'hlg', 'bt1886', 'srgb', 'gamma2.2'. luminance: of full white in cd/m2, black included; by default the
    standard's, from 48 for cinema to 160 for opRGB, or 1000 with PQ or HLG. black: in cd/m2, with the white's
    chromaticity; none unless asked for.

    Raises InputError for an unknown name or curve, or a black that is not below the white.

    >>> view = standard_display("srgb").with_room(64, "D50", reflectance=0.04).seen_by()
    >>> view.white.round(2).tolist(), view.black.round(2).tolist()
    ([76.82, 80.81, 87.8], [0.79, 0.81, 0.67])
    """
    key = name.strip().lower()
    standard = STANDARDS.get(key)
    if standard is None:
        raise bad(
            f"no standard display is called '{name}'",
            field="display",
            expected="one of " + ", ".join(STANDARD_DISPLAYS),
            mend=did_you_mean(key, STANDARD_DISPLAYS)
            or "use one of these names, or give a profile or readings of your display",
        )
    chosen = curve if curve is not None else standard.curve
    usual = _HDR_LUMINANCE if chosen.lower() in ("pq", "hlg") else standard.luminance
    white = float(usual if luminance is None else luminance)
    dark = 0.0 if black is None else float(black)
    check_levels(white, dark)
    transfer = named_transfer(chosen, white, dark)
    unit = standard.matrix
    model = MatrixModel(transfer, unit * (white - dark), unit.sum(axis=1) * dark)
    label = standard.label if chosen == standard.curve else f"{standard.label}, {transfer.name}"
    return Display(key, label, "standard", model, source=standard.source)
