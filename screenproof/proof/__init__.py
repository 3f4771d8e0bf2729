"""Where light that adds meets matter that takes away: match, gamut, shift, tolerance, verdict."""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

from screenproof.proof.approval import Approvals, approve
from screenproof.proof.covariance import (
    Part,
    Spread,
    excess_spread,
    light_spread,
    match_spread,
    pair_shift_spread,
    pair_spread,
    screen_spread,
)
from screenproof.proof.crowd import Crowd, PairCrowd, crowd, crowd_on_display, gamut_share, kindest, pair_crowd
from screenproof.proof.difference import Differences, compare, figure
from screenproof.proof.doubt import Decision, Doubtful, doubtful, judge_doubted
from screenproof.proof.finding import Finding, trouble_first
from screenproof.proof.gamut import OUTLINE_HUES, Gamut, gamut, lc_outline, primaries_uv
from screenproof.proof.ink_reach import (
    InkReach,
    ink_reach,
    on_stock_of,
    press_outlines,
    wanted_of_codes,
    wanted_of_samples,
)
from screenproof.proof.judged import Bounded, Judged, Remedy, Status, worst
from screenproof.proof.judging import Judge
from screenproof.proof.match import BIT_DEPTHS, Match, match, round_to_code
from screenproof.proof.nearest import nearest
from screenproof.proof.pairs import CORRECTIONS, PairShift, corrected_lab, pair_shift
from screenproof.proof.reach import Reach, reach_of
from screenproof.proof.result import SCHEMA, Refusal, Result, result_from_json
from screenproof.proof.robust import RobustMatch, robust_match
from screenproof.proof.shift import Shift, light_shift, screen_shift
from screenproof.proof.sides import object_patches, page_srgb, page_srgb_of_lab, two_curves
from screenproof.proof.tolerance import METRICS, ToleranceSet, judge, read_tolerances
from screenproof.proof.trust import trust
from screenproof.proof.viewing import ADAPTATIONS, BASES, SURROUNDS, Bridge, Viewing
from screenproof.proof.whole_doubt import whole_interval

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
    "Bounded",
    "Bridge",
    "Crowd",
    "Decision",
    "Differences",
    "Finding",
    "Judge",
    "Remedy",
    "Status",
    "trouble_first",
    "Doubtful",
    "Gamut",
    "InkReach",
    "Match",
    "PairCrowd",
    "PairShift",
    "Part",
    "Reach",
    "Refusal",
    "Result",
    "RobustMatch",
    "Shift",
    "Spread",
    "ToleranceSet",
    "Judged",
    "Viewing",
    "approve",
    "compare",
    "corrected_lab",
    "crowd",
    "crowd_on_display",
    "doubtful",
    "excess_spread",
    "figure",
    "gamut",
    "gamut_share",
    "ink_reach",
    "judge",
    "judge_doubted",
    "kindest",
    "lc_outline",
    "light_shift",
    "light_spread",
    "match",
    "match_spread",
    "nearest",
    "object_patches",
    "on_stock_of",
    "page_srgb",
    "page_srgb_of_lab",
    "pair_crowd",
    "pair_shift",
    "pair_shift_spread",
    "pair_spread",
    "press_outlines",
    "primaries_uv",
    "reach_of",
    "read_tolerances",
    "result_from_json",
    "robust_match",
    "round_to_code",
    "screen_shift",
    "screen_spread",
    "trust",
    "two_curves",
    "wanted_of_codes",
    "wanted_of_samples",
    "whole_interval",
    "worst",
]


class _Room(ModuleType):
    """This room, which can be called as well: ``sp.proof([answers], title=...)`` puts answers together.

    The face has a function of the same name, and an import of the room would hide it.
    """

    def __call__(self, answers: Any, **said: Any) -> Any:
        """See :func:`screenproof.face.proof`."""
        made: Any = import_module("screenproof.face")
        return made.proof(answers, **said)


sys.modules[__name__].__class__ = _Room
