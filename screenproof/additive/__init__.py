"""Light that adds: display models, their inverse, standard and modelled displays, and the room they stand in."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from screenproof.additive.curves import ToneCurve, bt1886, power, pq, srgb_curve
from screenproof.additive.display import Display, Room, View, display_from_primaries
from screenproof.additive.models import ColourModel, EmissionModel, MatrixModel, SpectralModel
from screenproof.additive.standards import STANDARD_DISPLAYS, primaries_matrix, standard_display
from screenproof.additive.transfer import (
    CURVE_NAMES,
    ChannelCurves,
    Transfer,
    hlg,
    named_transfer,
    same_curve,
)

if TYPE_CHECKING:
    from screenproof.additive.fit import FitReport, Readings, fit_display

_FIT = ("FitReport", "Readings", "fit_display")

__all__ = [
    "CURVE_NAMES",
    "STANDARD_DISPLAYS",
    "ChannelCurves",
    "ColourModel",
    "Display",
    "EmissionModel",
    "FitReport",
    "MatrixModel",
    "Readings",
    "Room",
    "SpectralModel",
    "ToneCurve",
    "Transfer",
    "View",
    "bt1886",
    "display_from_primaries",
    "fit_display",
    "hlg",
    "named_transfer",
    "power",
    "pq",
    "primaries_matrix",
    "same_curve",
    "srgb_curve",
    "standard_display",
]


def __getattr__(name: str) -> Any:
    """The fit costs an import of SciPy: it is loaded when it is first asked for."""
    if name in _FIT:
        return getattr(import_module("screenproof.additive.fit"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
