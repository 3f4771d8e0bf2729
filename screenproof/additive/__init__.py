"""Light that adds: display models, their inverse, standard and modelled displays, and the room they stand in."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from screenproof.additive.curves import ToneCurve, bt1886, power, pq, pq_eotf, pq_inverse_eotf, srgb_curve
from screenproof.additive.display import Display, Room, View, display_from_primaries
from screenproof.additive.models import ColourModel, EmissionModel, MatrixModel, SpectralModel
from screenproof.additive.parametric import icc_parametric
from screenproof.additive.primaries import TECHNOLOGIES, Band, Peak, Technology, modelled_display, technology
from screenproof.additive.sampled import check_monotone, sampled
from screenproof.additive.standards import (
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
    "STANDARDS",
    "STANDARD_DISPLAYS",
    "TECHNOLOGIES",
    "Band",
    "ChannelCurves",
    "ColourModel",
    "Display",
    "DisplayStandard",
    "EmissionModel",
    "FitReport",
    "MatrixModel",
    "Peak",
    "ProfileModel",
    "Readings",
    "Room",
    "SpectralModel",
    "SpectralTable",
    "TableModel",
    "Technology",
    "ToneCurve",
    "Transfer",
    "View",
    "bt1886",
    "check_monotone",
    "display_from_primaries",
    "fit_display",
    "hlg",
    "hlg_inverse_oetf",
    "hlg_oetf",
    "icc_parametric",
    "modelled_display",
    "named_transfer",
    "power",
    "pq",
    "pq_eotf",
    "pq_inverse_eotf",
    "primaries_matrix",
    "same_curve",
    "sampled",
    "srgb_curve",
    "standard_display",
    "technology",
]


def __getattr__(name: str) -> Any:
    """The fit costs an import of SciPy: it is loaded when it is first asked for."""
    if name in _FIT:
        return getattr(import_module("screenproof.additive.fit"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
