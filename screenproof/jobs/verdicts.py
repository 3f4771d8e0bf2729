"""The verdicts of a job: each figure against its limit, with the doubt that is known of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof.covariance import Spread
from screenproof.proof.doubt import Decision, judge_doubted
from screenproof.proof.lab_lengths import Moved

if TYPE_CHECKING:
    from screenproof.appearance import CamConditions
    from screenproof.proof import Match, PairShift, Shift, ToleranceSet, Verdict, Viewing
    from screenproof.proof.tolerance import What
    from screenproof.questions.tables import DoubtTable
    from screenproof.spectra import Array

Names = Mapping[str, Sequence[str]]
"""What was read for each row, by the part of the doubt that it brings: samples, the screen, the two of a pair."""


@dataclass(frozen=True)
class Judge:
    """One tolerance set (None: nothing is judged) and the rules by which doubtful figures are decided."""

    tolerance: ToleranceSet | None
    doubt: DoubtTable

    @cached_property
    def decision(self) -> Decision:
        """The rules in the words of the room below."""
        return Decision(self.doubt.risk, self.doubt.coverage, self.doubt.draws, self.doubt.seed)

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
    ) -> list[Verdict | None]:
        """A verdict for each row of Lab (n, 3) against Lab (n, 3); None where there is no limit for ``what``.

        viewed: the white of the Lab and the conditions of CAM16-UCS. spread: asked for only when something is
        judged. place: light and observer. moved: the side that the doubt is on.
        follows: whether one side was made from the reading of the other, as the codes of a match are.
        """
        if self.tolerance is None or self.tolerance.limit(what) is None:
            return [None] * len(lab)
        light, observer = place
        return judge_doubted(
            self.tolerance,
            what,
            reference,
            lab,
            *viewed,
            spread(),
            self.decision,
            light=light,
            observer=observer,
            names=names,
            moved=moved,
            follows=follows,
        )

    def shift(
        self,
        what: What,
        shift: Shift,
        names: Names,
        spread: Callable[[str, str], Spread | None],
        home: tuple[str, str] | None = None,
    ) -> list[list[Verdict]]:
        """A verdict for every figure of a shift but the ``home`` (light, observer), by sample."""
        n = len(shift.names)
        judged: list[list[Verdict]] = [[] for _ in range(n)]
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
                _append(judged, [None if v is None else replace(v, light=shift.lights[k]) for v in there])
        return judged

    def pair_shift(
        self, shift: PairShift, names: Names, spread: Callable[[str, str], Spread | None]
    ) -> list[list[Verdict]]:
        """A verdict for every figure of pairs in other lights, by pair."""
        judged: list[list[Verdict]] = [[] for _ in shift.names_a]
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
    ) -> list[list[Verdict]]:
        """The verdicts on matches themselves: the excess, and what is left after rounding.

        What cannot be shown is judged by its excess alone where there is a limit for it, so that one trouble is
        not counted twice. The excess of what can be shown is exactly 0.
        """
        judged: list[list[Verdict]] = [[] for _ in found.names]
        place, viewed = (viewing.light.name, viewing.observer.name), (viewing.white, viewing.conditions())
        side: Moved = "reference"
        excess = self.rows("excess", found.lab, found.nearest_lab, viewed, excess_spread, place, names, side)
        left = self.rows("match", found.lab, found.shown_lab, viewed, match_spread, place, names, side, True)
        _append(judged, excess)
        _append(judged, [v if found.in_gamut[i] or excess[i] is None else None for i, v in enumerate(left)])
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


def _append(judged: list[list[Verdict]], found: Sequence[Verdict | None]) -> None:
    for own, verdict in zip(judged, found, strict=True):
        if verdict is not None:
            own.append(verdict)
