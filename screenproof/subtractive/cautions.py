"""What a recipe does not decide, in words that every output of one carries."""

from __future__ import annotations

from screenproof.errors import Note

RECIPE_CAUTION = (
    "A recipe here is about colour only. Whether its inks or pigments may touch food, be used on toys, migrate "
    "through a package, stand light, or serve as a safety colour is decided by the supplier's data, the local "
    "code and licensed practice. Mix a trial and measure it before you print or paint."
)
"""Goes with every recipe and every correction."""

OVERPRINT_CAUTION = (
    "A predicted overprint is about colour only, and holds for inks that are as transparent as they are taken "
    "to be. Whether an ink may touch food, be used on toys, migrate through a package, or stand light is "
    "decided by the supplier's data, the local code and licensed practice."
)
"""Goes with every predicted overprint and every ink carried to another stock."""


def recipe_caution() -> Note:
    """The caution as a note, for a result to carry."""
    return Note("caution", RECIPE_CAUTION, about="recipe")


def overprint_caution() -> Note:
    """The caution of predicted overprints as a note, for a result to carry."""
    return Note("caution", OVERPRINT_CAUTION, about="overprint")
