"""Where light that adds meets matter that takes away: match, gamut, shift, tolerance, verdict."""

from screenproof.proof.approval import Approvals, approve
from screenproof.proof.crowd import Crowd, PairCrowd, crowd, crowd_on_display, gamut_share, kindest, pair_crowd
from screenproof.proof.difference import Differences, compare, figure
from screenproof.proof.gamut import OUTLINE_HUES, Gamut, gamut, lc_outline, primaries_uv
from screenproof.proof.ink_reach import (
    InkReach,
    ink_reach,
    on_stock_of,
    press_outlines,
    wanted_of_codes,
    wanted_of_samples,
)
from screenproof.proof.match import BIT_DEPTHS, Match, match, round_to_code
from screenproof.proof.nearest import nearest
from screenproof.proof.pairs import CORRECTIONS, PairShift, corrected_lab, pair_shift
from screenproof.proof.reach import Reach, reach_of
from screenproof.proof.result import SCHEMA, Refusal, Result, result_from_json
from screenproof.proof.robust import RobustMatch, robust_match
from screenproof.proof.shift import Shift, light_shift, screen_shift
from screenproof.proof.sides import object_patches, page_srgb, page_srgb_of_lab, two_curves
from screenproof.proof.tolerance import METRICS, ToleranceSet, Verdict, judge, read_tolerances, worst
from screenproof.proof.trust import trust
from screenproof.proof.viewing import ADAPTATIONS, BASES, SURROUNDS, Bridge, Viewing

__all__ = [
    "ADAPTATIONS",
    "BASES",
    "BIT_DEPTHS",
    "CORRECTIONS",
    "METRICS",
    "OUTLINE_HUES",
    "SCHEMA",
    "SURROUNDS",
    "Approvals",
    "Bridge",
    "Crowd",
    "Differences",
    "Gamut",
    "InkReach",
    "Match",
    "PairCrowd",
    "PairShift",
    "Reach",
    "Refusal",
    "Result",
    "RobustMatch",
    "Shift",
    "ToleranceSet",
    "Verdict",
    "Viewing",
    "approve",
    "compare",
    "corrected_lab",
    "crowd",
    "crowd_on_display",
    "figure",
    "gamut",
    "gamut_share",
    "ink_reach",
    "judge",
    "kindest",
    "lc_outline",
    "light_shift",
    "match",
    "nearest",
    "object_patches",
    "on_stock_of",
    "page_srgb",
    "page_srgb_of_lab",
    "pair_crowd",
    "pair_shift",
    "press_outlines",
    "primaries_uv",
    "reach_of",
    "read_tolerances",
    "result_from_json",
    "robust_match",
    "round_to_code",
    "screen_shift",
    "trust",
    "two_curves",
    "wanted_of_codes",
    "wanted_of_samples",
    "worst",
]
