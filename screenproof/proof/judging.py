"""The one judge: each figure against its limit, with the doubt of its readings and of the model that it rests
on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.proof.covariance import Spread, with_model
from screenproof.proof.difference import figure
from screenproof.proof.doubt import Decision, judge_doubted
from screenproof.proof.judged import Bounded, Judged, Status, decided, worst
from screenproof.proof.lab_lengths import Moved
from screenproof.proof.tolerance import LIMITS, WHOLE_LIMITS, ToleranceSet

if TYPE_CHECKING:
    from screenproof.appearance import CamConditions
    from screenproof.proof.doubt_records import WholeRecord
    from screenproof.proof.match import Match
    from screenproof.proof.pairs import PairShift
    from screenproof.proof.shift import Shift
    from screenproof.proof.tolerance import What, WholeLimit
    from screenproof.proof.viewing import Viewing
    from screenproof.spectra import Array

Names = Mapping[str, Sequence[str]]
"""What was read for each row, by the part of the doubt that it brings: samples, the screen, the two of a pair."""


@dataclass(frozen=True)
class Judge:
    """One tolerance set (None: nothing is judged) and the rules by which doubtful figures are decided."""

    tolerance: ToleranceSet | None
    decision: Decision = Decision()

    @classmethod
    def of_limit(cls, limit: float | None, risk: float | None = None) -> Judge:
        """The judge of an answer that has one limit [CIEDE2000] for whatever it judges; None: nothing is
        judged."""
        decision = Decision() if risk is None else Decision(risk)
        if limit is None:
            return cls(None, decision)
        every = dict.fromkeys((*LIMITS, *WHOLE_LIMITS), limit)
        return cls(ToleranceSet("the limit", **every), decision)  # type: ignore[arg-type]

    def judges(self, what: What) -> bool:
        """Whether there is a limit for ``what``."""
        return self.tolerance is not None and self.tolerance.limit(what) is not None

    def rows(
        self,
        what: What,
        reference: Array,
        lab: Array,
        viewed: tuple[Array, CamConditions],
        spread: Callable[[], Spread | None],
        place: tuple[str, str],
        names: Names,
        moved: Moved = "lab",
        follows: bool = False,
        model: ArrayLike | None = None,
    ) -> list[Judged]:
        """Each row of Lab (n, 3) against Lab (n, 3); 'not judged' where there is no limit for ``what``.

        viewed: the white of the Lab and the conditions of CAM16-UCS. spread: asked for only when something is
        judged. place: light and observer. moved: the side that the doubt is on.
        follows: whether one side was made from the reading of the other, as the codes of a match are.
        model: () or (n,), the mean CIEDE2000 by which the model misses that the reference was calculated by.
        """
        light, observer = place
        if self.tolerance is None or self.tolerance.limit(what) is None:
            tolerance = self.tolerance or ToleranceSet("")
            figures = figure(tolerance, reference, lab, *viewed)
            metric = tolerance.metric
            return [Judged(what, float(one), metric=metric, light=light, observer=observer) for one in figures]
        found = judge_doubted(
            self.tolerance,
            what,
            reference,
            lab,
            *viewed,
            with_model(spread(), reference, model),
            self.decision,
            light=light,
            observer=observer,
            names=names,
            moved=moved,
            follows=follows,
        )
        return [one for one in found if one is not None]

    def plain(self, what: What | WholeLimit, figure: float, **said: Any) -> Judged:
        """A figure that is no difference of two colours at hand, such as a mean: against its limit as it stands.

        NaN is what could not be calculated. said: light, observer, and low, high of its interval if one is known.
        """
        tolerance = self.tolerance or ToleranceSet("")
        limit = tolerance.limit(what)
        if limit is None:
            return Judged(what, figure, metric=tolerance.metric, **said)
        known = math.isfinite(figure)
        status: Status = decided(figure, limit, said.get("low"), said.get("high")) if known else "not known"
        return Judged(what, figure, limit, tolerance.metric, status, tolerance=tolerance.name, **said)

    def whole(
        self,
        name: str,
        names: Sequence[str],
        reference: Array,
        lab: Array,
        viewed: tuple[Array, CamConditions],
        spread: Spread | None,
        *,
        what: Literal["match", "pairs"] = "pairs",
        display: str | None = None,
    ) -> WholeRecord | None:
        """Lab (n, 3) against reference Lab (n, 3) as one set, called ``name``; None without a limit for wholes."""
        from screenproof.proof.whole import judge_whole
        from screenproof.proof.whole_doubt import whole_interval

        if self.tolerance is None or not self.tolerance.judges_wholes:
            return None
        figures = figure(self.tolerance, reference, lab, *viewed)
        intervals = whole_interval(
            self.tolerance, reference, lab, *viewed, spread, self.decision, follows=what == "match"
        )
        return judge_whole(self.tolerance, figures, names, name, what, display, intervals=intervals)

    def bound(
        self,
        what: str,
        figure: float,
        unit: str = "",
        *,
        at_least: float | None = None,
        at_most: float | None = None,
        doubt: float | None = None,
        among: int = 1,
        **said: Any,
    ) -> Bounded:
        """A figure in any unit against bounds of its own, both included; without any it is not judged.

        NaN is what could not be known; an infinite figure is judged. doubt: its standard uncertainty: it passes,
        or fails, where the risk of a wrong verdict is small enough. among: it is the largest of so many readings;
        noise makes the largest larger, so a fail asks for the risk / among (Bonferroni). said: light, observer,
        tolerance, remedy.
        """
        bounds = [one for one in (at_least, at_most) if one is not None]
        if not bounds:
            return Bounded(what, figure, metric=unit, **said)
        passes = fails = 0.0
        if doubt:
            risk, quantile = self.decision.risk, NormalDist().inv_cdf
            passes, fails = quantile(1.0 - risk) * doubt, quantile(1.0 - risk / among) * doubt
            expanded = quantile(0.5 + self.decision.coverage / 2.0) * doubt
            said |= {"uncertainty": expanded, "low": figure - expanded, "high": figure + expanded}
        statuses: dict[float, Status] = {}
        for one, way in ((at_least, -1.0), (at_most, 1.0)):
            if one is not None:
                # A hair of rounding is no failure: 10 % of 160 is not exactly 16.
                limit, at = way * one + 1e-9 * max(abs(one), 1e-3), way * figure
                statuses[one] = decided(at, limit, at - fails, at + passes)
        status: Status = "not known" if math.isnan(figure) else worst(statuses.values())
        near = min(bounds, key=lambda one: (statuses[one] != status, abs(figure - one)))
        return Bounded(what, figure, near, unit, status, at_least=at_least, at_most=at_most, **said)

    def shift(
        self,
        what: What,
        shift: Shift,
        names: Names,
        spread: Callable[[str, str], Spread | None],
        home: tuple[str, str] | None = None,
    ) -> list[list[Judged]]:
        """A verdict for every figure of a shift but the ``home`` (light, observer), by sample."""
        n = len(shift.names)
        judged: list[list[Judged]] = [[] for _ in range(n)]
        if not self.judges(what):
            return judged
        for o, observer in enumerate(shift.observers):
            wanted = [k for k, light in enumerate(shift.lights) if (light, observer) != home]
            if not wanted:
                continue
            # All lights in one go: the search for intervals costs by the step, hardly by the figure.
            found = self.rows(
                what,
                np.tile(shift.lab_reference[:, o], (len(wanted), 1)),
                np.concatenate([shift.lab[:, k, o] for k in wanted]),
                (shift.whites[o], shift.conditions[o]),
                _in_lights(spread, [shift.lights[k] for k in wanted], observer),
                ("", observer),
                {part: [*own] * len(wanted) for part, own in names.items()},
                follows=what == "observer_shift",
            )
            for place, k in enumerate(wanted):
                there = found[place * n : (place + 1) * n]
                _append(judged, [replace(v, light=shift.lights[k]) for v in there])
        return judged

    def pair_shift(
        self, shift: PairShift, names: Names, spread: Callable[[str, str], Spread | None]
    ) -> list[list[Judged]]:
        """A verdict for every figure of pairs in other lights, by pair."""
        judged: list[list[Judged]] = [[] for _ in shift.names_a]
        if not self.judges("pair_shift"):
            return judged
        for o, observer in enumerate(shift.observers):
            for k, light in enumerate(shift.lights):
                place, conditions = (light, observer), shift.conditions[k][o]
                sides = shift.lab_a[:, k, o], shift.lab_corrected[:, k, o]
                viewed = np.asarray(conditions.white), conditions
                _append(judged, self.rows("pair_shift", *sides, viewed, _at(spread, place), place, names))
        return judged

    def match(
        self,
        found: Match,
        viewing: Viewing,
        names: Names,
        excess_spread: Callable[[], Spread | None],
        match_spread: Callable[[], Spread | None],
    ) -> list[list[Judged]]:
        """The verdicts on matches themselves: the excess, and what is left after rounding.

        What cannot be shown is judged by its excess alone where there is a limit for it, so that one trouble is
        not counted twice. The excess of what can be shown is exactly 0.
        """
        judged: list[list[Judged]] = [[] for _ in found.names]
        place, viewed = (viewing.light.name, viewing.observer.name), (viewing.white, viewing.conditions())
        side: Moved = "reference"
        excess = self.rows("excess", found.lab, found.nearest_lab, viewed, excess_spread, place, names, side)
        left = self.rows("match", found.lab, found.shown_lab, viewed, match_spread, place, names, side, True)
        _append(judged, excess)
        only = self.judges("excess")
        _append(judged, [v if found.in_gamut[i] or not only else None for i, v in enumerate(left)])
        return judged


def _in_lights(
    spread: Callable[[str, str], Spread | None], lights: Sequence[str], observer: str
) -> Callable[[], Spread | None]:
    """The spreads in several lights one after the other. Whether any is known does not depend on the light."""

    def joined() -> Spread | None:
        found = [one for light in lights if (one := spread(light, observer)) is not None]
        return Spread.joined(found) if found else None

    return joined


def _at(spread: Callable[[str, str], Spread | None], place: tuple[str, str]) -> Callable[[], Spread | None]:
    return lambda: spread(*place)


def _append(judged: list[list[Judged]], found: Sequence[Judged | None]) -> None:
    """Add each figure that there is a limit for to those of its row."""
    for own, verdict in zip(judged, found, strict=True):
        if verdict is not None and verdict.limited:
            own.append(verdict)
