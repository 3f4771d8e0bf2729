"""The verdicts of a job: each figure against its limit, with the doubt that is known of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof import figure, judge

if TYPE_CHECKING:
    from screenproof.appearance import CamConditions
    from screenproof.jobs.eye_schema import DoubtTable
    from screenproof.proof import Match, PairShift, Shift, ToleranceSet, Verdict, Viewing
    from screenproof.proof.tolerance import What
    from screenproof.spectra import Array


@dataclass(frozen=True)
class Judge:
    """One tolerance set (None: nothing is judged) and the rules by which doubtful figures are decided."""

    tolerance: ToleranceSet | None
    doubt: DoubtTable

    def judges(self, what: What) -> bool:
        """Whether there is a limit for ``what``."""
        return self.tolerance is not None and self.tolerance.limit(what) is not None

    def rows(
        self,
        what: What,
        reference: Array,
        lab: Array,
        white: Array,
        conditions: CamConditions,
        spread: Callable[[], object],
        *,
        light: str,
        observer: str,
        names: Sequence[str],
    ) -> list[Verdict | None]:
        """A verdict for each row of Lab (n, 3) against Lab (n, 3); None where there is no limit for ``what``."""
        if self.tolerance is None or self.tolerance.limit(what) is None:
            return [None] * len(lab)
        amounts = figure(self.tolerance, reference, lab, white, conditions)
        return [judge(self.tolerance, what, float(amount), light=light, observer=observer) for amount in amounts]

    def shift(
        self,
        what: What,
        shift: Shift,
        spread: Callable[[str, str], object],
        home: tuple[str, str] | None = None,
    ) -> list[list[Verdict]]:
        """A verdict for every figure of a shift but the ``home`` (light, observer), by sample."""
        judged: list[list[Verdict]] = [[] for _ in shift.names]
        if not self.judges(what):
            return judged
        for o, observer in enumerate(shift.observers):
            for k, light in enumerate(shift.lights):
                if (light, observer) != home:
                    _append(
                        judged,
                        self.rows(
                            what,
                            shift.lab_reference[:, o],
                            shift.lab[:, k, o],
                            shift.whites[o],
                            shift.conditions[o],
                            lambda at=(light, observer): spread(*at),  # type: ignore[misc]
                            light=light,
                            observer=observer,
                            names=shift.names,
                        ),
                    )
        return judged

    def pair_shift(self, shift: PairShift, spread: Callable[[str, str], object]) -> list[list[Verdict]]:
        """A verdict for every figure of pairs in other lights, by pair."""
        judged: list[list[Verdict]] = [[] for _ in shift.names_a]
        if not self.judges("pair_shift"):
            return judged
        for o, observer in enumerate(shift.observers):
            for k, light in enumerate(shift.lights):
                conditions = shift.conditions[k][o]
                _append(
                    judged,
                    self.rows(
                        "pair_shift",
                        shift.lab_a[:, k, o],
                        shift.lab_corrected[:, k, o],
                        np.asarray(conditions.white),
                        conditions,
                        lambda at=(light, observer): spread(*at),  # type: ignore[misc]
                        light=light,
                        observer=observer,
                        names=shift.names_b,
                    ),
                )
        return judged

    def match(self, found: Match, viewing: Viewing, spread: Callable[[], object]) -> list[list[Verdict]]:
        """The verdicts on matches themselves: the excess, and what is left after rounding.

        What cannot be shown is judged by its excess alone where there is a limit for it, so that one trouble is
        not counted twice. The excess of what can be shown is exactly 0.
        """
        judged: list[list[Verdict]] = [[] for _ in found.names]
        if self.tolerance is None:
            return judged
        white, conditions = viewing.white, viewing.conditions()
        place = {"light": viewing.light.name, "observer": viewing.observer.name}
        excess = self.rows(
            "excess", found.lab, found.nearest_lab, white, conditions, spread, names=found.names, **place
        )
        left = self.rows(
            "match", found.lab, found.shown_lab, white, conditions, spread, names=found.names, **place
        )
        _append(judged, excess)
        _append(judged, [v if found.in_gamut[i] or excess[i] is None else None for i, v in enumerate(left)])
        return judged


def _append(judged: list[list[Verdict]], found: Sequence[Verdict | None]) -> None:
    for own, verdict in zip(judged, found, strict=True):
        if verdict is not None:
            own.append(verdict)
