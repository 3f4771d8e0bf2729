"""Verdicts on samples that fluoresce: undecided where one reading cannot tell, bounded where two can."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof.brightener_readings import NOTHING
from screenproof.proof.doubt_records import BrightenerLight, BrightenerRecord
from screenproof.proof.judged import Judged, Remedy, decided
from screenproof.proof.tolerance import ToleranceSet

if TYPE_CHECKING:
    from screenproof.proof.viewing import Viewing
    from screenproof.spectra import Light, Samples


@dataclass(frozen=True)
class Unread:
    """Which samples fluoresce without a reading that tells what this does in other lights; where they are known.

    samples: one for each. known: names of the lights that are the light of the reading. home: the first light.
    """

    samples: tuple[bool, ...]
    known: frozenset[str]
    home: str

    @classmethod
    def of(cls, samples: Samples, lights: Sequence[Light], told: Sequence[object | None] = ()) -> Unread:
        """Of samples in ``lights``, the first of which is where shifts begin.

        told: what readings without ultraviolet told of each sample, None where there are none.
        """
        from screenproof.proof.brightener import fluoresces

        bright = fluoresces(samples)
        if told:
            bright = tuple(one and record is None for one, record in zip(bright, told, strict=True))
        own = _READ_IN.get(samples.condition.filter or "M1")
        known = frozenset(one.name for one in lights if own is not None and _is_standard(one, own))
        return cls(bright, known, lights[0].name)

    def beside(self, other: Unread) -> Unread:
        """Of pairs: known where both of the two are."""
        either = tuple(a or b for a, b in zip(self.samples, other.samples, strict=True))
        spoilt = [side.known for side in (self, other) if any(side.samples)]
        return Unread(either, frozenset.intersection(*spoilt) if spoilt else self.known, self.home)

    def judged(self, i: int, verdicts: Sequence[Judged]) -> tuple[Judged, ...]:
        """The verdicts of one sample, undecided where its colour in the light cannot be known: a fail as well.

        What an object's shift starts from must be known too; what a screen shows is.
        """
        if not self.samples[i]:
            return tuple(verdicts)
        return tuple(
            replace(v, status="undecided", uncertainty=None, low=None, high=None, remedy=Remedy(READ_M2))
            if v.what in _SHIFTS
            and (v.light not in self.known or (v.what != "observer_shift" and self.home not in self.known))
            else v
            for v in verdicts
        )


_READ_IN = {"M0": "A", "M1": "D50"}
_SHIFTS = ("light_shift", "pair_shift", "observer_shift")

READ_M2 = (
    "it fluoresces, and what that does in another light cannot be known from one reading: read it without "
    "ultraviolet (M2) as well, and give both (uv_excluded in a job; the command brightener)"
)


def bounded(
    verdicts: Sequence[Judged],
    record: BrightenerRecord | None,
    viewing: Viewing,
    tolerance: ToleranceSet | None,
) -> tuple[Judged, ...]:
    """The verdicts on light shifts of a sample with brightener, decided by what its brightener may do.

    The figure of a curve read in D50 does not hold in another light. Where the least and the most that the shift
    may be are on one side of the limit, that decides; otherwise the verdict is undecided, whatever the curve alone
    says, and its figure is the nearest to the curve's that is possible. Where the doubt of the readings is known,
    both ends are further out by the expanded uncertainty of the curve's figure. The bounds are CIEDE2000 for the
    viewing observer under D50: other verdicts stay as they are.
    """
    if record is None or record.emission <= NOTHING or tolerance is None or not _alike(tolerance, viewing):
        return tuple(verdicts)
    bounds = {light.light: light for light in record.lights}
    return tuple(
        _bounded(verdict, bounds[verdict.light])
        if verdict.light in bounds and verdict.observer == viewing.observer.name
        else verdict
        for verdict in verdicts
    )


def _alike(tolerance: ToleranceSet, viewing: Viewing) -> bool:
    """Whether bounds are in the metric of a tolerance set, and from the light in which M1 was read."""
    plain = tolerance.metric == "de00" and (tolerance.kl, tolerance.kc, tolerance.kh) == (1.0, 1.0, 1.0)
    return plain and _is_standard(viewing.light, "D50")


def _is_standard(one: Light, name: str) -> bool:
    """Whether a light, whatever it is called, is the standard one of that name."""
    from screenproof.spectra import light

    standard = light(name)
    return one.grid == standard.grid and bool(np.allclose(one.power, standard.power))


def _bounded(verdict: Judged, bound: BrightenerLight) -> Judged:
    """A verdict on a light shift within its bounds; undecided, with what would tell, where they do not decide."""
    if bound.low is None or bound.high is None:
        mend = f"{bound.light}: measure the light down to 300 nm, or judge the sample in it"
        return replace(verdict, status="undecided", remedy=Remedy(mend))
    # The interval of the M1 curve alone need not hold anything possible: its doubt is taken, not its place.
    doubt = verdict.uncertainty or 0.0
    low, high = max(0.0, bound.low - doubt), bound.high + doubt
    status = decided(verdict.figure, verdict.limit, low, high)
    mend = (
        "its brightener may do more or less than the readings tell: read it with M0 too, or judge it in this light"
    )
    remedy = Remedy(mend) if status == "undecided" else None
    figure = min(max(verdict.figure, bound.low), bound.high)
    return replace(verdict, figure=figure, status=status, low=low, high=high, remedy=remedy)
