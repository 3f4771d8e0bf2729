"""Light that adds: displays, their models, inverse and room; and blends of small areas."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from screenproof.additive.area_match import AreaMatch, match_areas, sector_angles
from screenproof.additive.blends import area_average, blended, disc
from screenproof.additive.curves import ToneCurve, bt1886, power, pq, pq_eotf, pq_inverse_eotf, srgb_curve
from screenproof.additive.display import Display, Room, View, display_from_primaries
from screenproof.additive.fusion import fusion_distance, visual_angle
from screenproof.additive.models import ColourModel, EmissionModel, MatrixModel, SpectralModel
from screenproof.additive.parametric import icc_parametric
from screenproof.additive.patterns import PATTERNS, Pattern
from screenproof.additive.primaries import TECHNOLOGIES, Band, Peak, Technology, modelled_display, technology
from screenproof.additive.sampled import check_monotone, sampled
from screenproof.additive.spatial import (
    PAPER,
    REFERENCE_CODE,
    Kernels,
    Seen,
    Visibility,
    filtered_xyz,
    samples_per_degree,
    visibility,
)
from screenproof.additive.spinning import Flicker, flicker, sets_of_sectors, spinning_cautions
from screenproof.additive.standards import (
    GAMUT_STANDARDS,
    STANDARD_DISPLAYS,
    STANDARDS,
    DisplayStandard,
    primaries_matrix,
    standard_display,
)
from screenproof.additive.tables import ProfileModel, SpectralTable, TableModel
from screenproof.additive.transfer import (
    CURVE_NAMES,
    ChannelCurves,
    Transfer,
    hlg,
    hlg_inverse_oetf,
    hlg_oetf,
    named_transfer,
    same_curve,
)

if TYPE_CHECKING:
    from screenproof.additive.fit import FitReport, Readings, fit_display

_FIT = ("FitReport", "Readings", "fit_display")

__all__ = [
    "CURVE_NAMES",
    "PAPER",
    "PATTERNS",
    "REFERENCE_CODE",
    "STANDARDS",
    "GAMUT_STANDARDS",
    "STANDARD_DISPLAYS",
    "TECHNOLOGIES",
    "AreaMatch",
    "Band",
    "ChannelCurves",
    "ColourModel",
    "Display",
    "DisplayStandard",
    "EmissionModel",
    "FitReport",
    "Flicker",
    "Kernels",
    "MatrixModel",
    "Pattern",
    "Peak",
    "ProfileModel",
    "Readings",
    "Room",
    "Seen",
    "SpectralModel",
    "SpectralTable",
    "TableModel",
    "Technology",
    "ToneCurve",
    "Transfer",
    "View",
    "Visibility",
    "area_average",
    "blended",
    "bt1886",
    "check_monotone",
    "disc",
    "display_from_primaries",
    "filtered_xyz",
    "fit_display",
    "flicker",
    "fusion_distance",
    "hlg",
    "hlg_inverse_oetf",
    "hlg_oetf",
    "icc_parametric",
    "match_areas",
    "modelled_display",
    "named_transfer",
    "power",
    "pq",
    "pq_eotf",
    "pq_inverse_eotf",
    "primaries_matrix",
    "same_curve",
    "sampled",
    "samples_per_degree",
    "sector_angles",
    "sets_of_sectors",
    "spinning_cautions",
    "srgb_curve",
    "standard_display",
    "technology",
    "visibility",
    "visual_angle",
]


def __getattr__(name: str) -> Any:
    """The fit costs an import of SciPy: it is loaded when it is first asked for."""
    if name in _FIT:
        return getattr(import_module("screenproof.additive.fit"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
