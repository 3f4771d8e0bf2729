"""Matter that takes light away: transparent layers, pigments, halftones, presses, recipes.

The public names are loaded from their modules when they are first asked for, so that a user of one ink does not
pay for a press.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screenproof.subtractive.cautions import OVERPRINT_CAUTION as OVERPRINT_CAUTION
    from screenproof.subtractive.cautions import RECIPE_CAUTION as RECIPE_CAUTION
    from screenproof.subtractive.correct import Correction as Correction
    from screenproof.subtractive.correct import correct_batch as correct_batch
    from screenproof.subtractive.drawdowns import fit_drawdowns as fit_drawdowns
    from screenproof.subtractive.halftone import corners as corners
    from screenproof.subtractive.halftone import coverage as coverage
    from screenproof.subtractive.halftone import coverage_from_density as coverage_from_density
    from screenproof.subtractive.halftone import demichel as demichel
    from screenproof.subtractive.halftone import mixed as mixed
    from screenproof.subtractive.halftone import neugebauer as neugebauer
    from screenproof.subtractive.halftone import process_tone_value as process_tone_value
    from screenproof.subtractive.halftone import spot_tone_value as spot_tone_value
    from screenproof.subtractive.halftone import tone_value_increase as tone_value_increase
    from screenproof.subtractive.ink_gamut import InkGamut as InkGamut
    from screenproof.subtractive.ink_gamut import Printability as Printability
    from screenproof.subtractive.ink_gamut import gamut_of_inks as gamut_of_inks
    from screenproof.subtractive.ink_gamut import reach as reach
    from screenproof.subtractive.layers import Ink as Ink
    from screenproof.subtractive.layers import OpaqueFilm as OpaqueFilm
    from screenproof.subtractive.layers import ink_from_readings as ink_from_readings
    from screenproof.subtractive.layers import overprint as overprint
    from screenproof.subtractive.layers import overprint_matrix as overprint_matrix
    from screenproof.subtractive.layers import premix as premix
    from screenproof.subtractive.letdowns import Letdowns as Letdowns
    from screenproof.subtractive.library import Library as Library
    from screenproof.subtractive.mixing import MixingModel as MixingModel
    from screenproof.subtractive.mixing import Mixture as Mixture
    from screenproof.subtractive.mixing import clear_extender as clear_extender
    from screenproof.subtractive.mixing import cloth as cloth
    from screenproof.subtractive.mixing import film as film
    from screenproof.subtractive.mixing import inks as inks
    from screenproof.subtractive.mixing import paint as paint
    from screenproof.subtractive.pigment_fit import fit_pigments as fit_pigments
    from screenproof.subtractive.pigment_fit import fit_single_constant as fit_single_constant
    from screenproof.subtractive.pigment_fit import fit_two_constant as fit_two_constant
    from screenproof.subtractive.pigment_fit import fit_white as fit_white
    from screenproof.subtractive.pigments import LetdownFit as LetdownFit
    from screenproof.subtractive.pigments import Pigment as Pigment
    from screenproof.subtractive.press import HeldOut as HeldOut
    from screenproof.subtractive.press import Press as Press
    from screenproof.subtractive.press import TintLimits as TintLimits
    from screenproof.subtractive.press_file import press_from_dict as press_from_dict
    from screenproof.subtractive.press_file import press_to_dict as press_to_dict
    from screenproof.subtractive.press_fit import fit_press as fit_press
    from screenproof.subtractive.ranking import Importance as Importance
    from screenproof.subtractive.recipe import Recipe as Recipe
    from screenproof.subtractive.recipe import RecipeSearch as RecipeSearch
    from screenproof.subtractive.recipe import search as search
    from screenproof.subtractive.separation import Separation as Separation
    from screenproof.subtractive.separation import separate as separate
    from screenproof.subtractive.separation_spectral import SpectralSeparation as SpectralSeparation
    from screenproof.subtractive.separation_spectral import separate_spectra as separate_spectra
    from screenproof.subtractive.stocks import Restocked as Restocked
    from screenproof.subtractive.stocks import restock as restock
    from screenproof.subtractive.surface import Surface as Surface
    from screenproof.subtractive.target import Target as Target
    from screenproof.subtractive.trapping import Trapping as Trapping
    from screenproof.subtractive.trapping_fit import TrappingFit as TrappingFit
    from screenproof.subtractive.trapping_fit import fit_trapping as fit_trapping
    from screenproof.subtractive.trapping_fit import fit_trappings as fit_trappings

_MODULES: dict[str, tuple[str, ...]] = {
    "cautions": ("OVERPRINT_CAUTION", "RECIPE_CAUTION"),
    "correct": ("Correction", "correct_batch"),
    "drawdowns": ("fit_drawdowns",),
    "halftone": (
        "corners",
        "coverage",
        "coverage_from_density",
        "demichel",
        "mixed",
        "neugebauer",
        "process_tone_value",
        "spot_tone_value",
        "tone_value_increase",
    ),
    "ink_gamut": ("InkGamut", "Printability", "gamut_of_inks", "reach"),
    "layers": ("Ink", "OpaqueFilm", "ink_from_readings", "overprint", "overprint_matrix", "premix"),
    "letdowns": ("Letdowns",),
    "library": ("Library",),
    "mixing": ("MixingModel", "Mixture", "clear_extender", "cloth", "film", "inks", "paint"),
    "pigment_fit": ("fit_pigments", "fit_single_constant", "fit_two_constant", "fit_white"),
    "pigments": ("LetdownFit", "Pigment"),
    "press": ("HeldOut", "Press", "TintLimits"),
    "press_file": ("press_from_dict", "press_to_dict"),
    "press_fit": ("fit_press",),
    "ranking": ("Importance",),
    "recipe": ("Recipe", "RecipeSearch", "search"),
    "separation": ("Separation", "separate"),
    "separation_spectral": ("SpectralSeparation", "separate_spectra"),
    "stocks": ("Restocked", "restock"),
    "surface": ("Surface",),
    "target": ("Target",),
    "trapping": ("Trapping",),
    "trapping_fit": ("TrappingFit", "fit_trapping", "fit_trappings"),
}
"""The public names of the room, by the module that holds them."""

_HOME = {name: module for module, names in _MODULES.items() for name in names}

__all__ = sorted(_HOME)  # pyright: ignore[reportUnsupportedDunderAll]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
