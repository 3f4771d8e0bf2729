"""White points, chromatic adaptation, colour spaces, appearance, colour differences and their names."""

from screenproof.appearance.adaptation import adapt, adaptation_matrix, degree_of_adaptation
from screenproof.appearance.cam16 import (
    AVERAGE,
    DARK,
    DIM,
    Cam16,
    CamConditions,
    Surround,
    cam16_to_ucs,
    cam16_to_xyz,
    xyz_to_cam16,
)
from screenproof.appearance.difference import de76, de2000, de2000_terms, de_cam16ucs, de_cmc
from screenproof.appearance.shift import cam16ucs_shift, lab_de2000_shift, lab_shift
from screenproof.appearance.spaces import lab_to_lch, lch_to_lab, xyz_to_luv, xyz_to_uv, xyz_to_xy
from screenproof.appearance.words import difference_words, difference_words_many, hue_name, hue_names
from screenproof.spectra.cielab import lab_to_xyz, xyz_to_lab

__all__ = [
    "AVERAGE",
    "DARK",
    "DIM",
    "Cam16",
    "CamConditions",
    "Surround",
    "adapt",
    "adaptation_matrix",
    "cam16_to_ucs",
    "cam16_to_xyz",
    "cam16ucs_shift",
    "de2000",
    "de2000_terms",
    "de76",
    "de_cam16ucs",
    "de_cmc",
    "degree_of_adaptation",
    "difference_words",
    "difference_words_many",
    "hue_name",
    "hue_names",
    "lab_de2000_shift",
    "lab_shift",
    "lab_to_lch",
    "lab_to_xyz",
    "lch_to_lab",
    "xyz_to_cam16",
    "xyz_to_lab",
    "xyz_to_luv",
    "xyz_to_uv",
    "xyz_to_xy",
]
