"""Drive values for a population: the smallest 95th percentile of what people see, at a stated cost.

The match of a standard observer is exact for it and for nobody else. Of all drive values, those are sought for
which the 95th percentile of the differences that a population sees is smallest, while the viewing observer sees
more than before by ``cost`` at most.

The 95th percentile is no smooth function: its value is one person's difference, and where it passes to the next
person there is a ridge on which a descent by slopes, or along fixed axes, stops short. So the search polls a star
of directions, turned anew at each round, at steps that shrink when no direction improves (after the mesh adaptive
direct search of Audet and Dennis 2006, SIAM J. Optim. 17(1) 188-217, from memory). It goes over the positions of
:mod:`.reach`, in which equal steps look about equal, kept in the cube, and ends among codes: what is compared at
last is what is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import Display
from screenproof.appearance import xyz_to_lab
from screenproof.errors import bad
from screenproof.proof.crowd import percentile95
from screenproof.proof.difference import figure
from screenproof.proof.eye_records import CrowdRecord
from screenproof.proof.eyes import CIEDE2000, Onlookers, Whites, no_crowd
from screenproof.proof.match import Match, check_bits, round_to_code
from screenproof.proof.reach import Reach, reach_of
from screenproof.proof.result import Refusal
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Population, Samples

_ROUNDS = 60
_FIRST_STEP, _LONGEST, _SHORTEST = 0.02, 0.1, 2e-4
_CODE_ROUNDS = 8
_PAIRS_AT_ONCE = 2_000_000
_SEED = 5

# Six directions along axes and eight along diagonals, each of length 1.
_STAR = np.array([step for step in product((-1.0, 0.0, 1.0), repeat=3) if sum(map(abs, step)) in (1.0, 3.0)])
_STAR /= np.linalg.norm(_STAR, axis=1, keepdims=True)
# Round the place that was found, codes two steps away are tried first: where the limit of the viewing observer
# cuts close by, the nearest codes may all be beyond it.
_WIDE = np.array(list(product((-2, -1, 0, 1, 2), repeat=3)))
_NEAR = np.array(list(product((-1, 0, 1), repeat=3)))


@dataclass(frozen=True, eq=False)
class RobustMatch:
    """A match made for a population; arrays (n,) in the metric that was asked for.

    match: as the one given, with ``drive``, ``code``, ``shown_lab`` and ``residual`` for the population where
        ``changed``; gamut and excess are the display's and stay. p95_before, p95_after: the population's 95th
        percentile with the codes of the match given and with these: never more. standard_before, standard_after:
        what the viewing observer sees: more by the cost at most.
    refused: why nothing was done; the match is the one given then, and the arrays are empty.
    """

    match: Match
    changed: NDArray[np.bool_]
    p95_before: Array
    p95_after: Array
    standard_before: Array
    standard_after: Array
    refused: Refusal | None = None

    def records(self, seen: Sequence[CrowdRecord]) -> tuple[CrowdRecord, ...]:
        """What people see of each sample, with what they and the observer saw before."""
        rows = zip(seen, self.standard_before.tolist(), self.p95_before.tolist(), strict=True)
        return tuple(
            replace(one, aim="population", standard_before=standard, p95_before=p95) for one, standard, p95 in rows
        )


def robust_match(
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    people: Population,
    *,
    cost: float = 1.0,
    bits: int | None = None,
    tolerance: ToleranceSet | None = None,
    whites: Whites = "shared",
) -> RobustMatch:
    """The drive values and codes with the smallest 95th percentile of what ``people`` see of the samples.

    matched: the match for the viewing observer, of these samples on this display. cost: by how much the viewing
    observer may see more than with the codes of ``matched``, in the metric of ``tolerance`` (CIEDE2000 without
    one). bits: those of ``matched`` unless given. whites: see :func:`~screenproof.proof.crowd.crowd`. Where
    nothing is better than the codes of ``matched`` within the cost, those are kept.

    Raises InputError for a cost that is negative or no number, and for another depth than 8, 10, 12 or 16 bits.
    """
    if not 0 <= cost < np.inf:
        raise bad(f"a cost of {cost:g}", field="cost", expected="0 or more, in units of colour difference")
    depth = matched.bits if bits is None else bits
    check_bits(depth)
    refused = no_crowd(samples, display, viewing, whites)
    if refused is not None:
        none, kept = np.empty(0), np.zeros(len(samples), dtype=np.bool_)
        return RobustMatch(matched, kept, none, none, none, none, refused)
    search = _Search(samples, matched, display, viewing, people, tolerance or CIEDE2000, whites)
    if depth != matched.bits:
        code, shown_lab, residual = round_to_code(matched.drive, matched.lab, search.reach, depth)
        matched = replace(matched, bits=depth, code=code, shown_lab=shown_lab, residual=residual)
    every = np.arange(len(samples))
    before, standard = (values[:, 0] for values in search.of_codes(every, matched.code[:, None], depth))
    limit = standard + cost
    position = search.lowest(search.reach.position(matched.drive), limit)
    found = search.best_code(position, matched.code, limit, depth)
    after, standard_after = (values[:, 0] for values in search.of_codes(every, found[:, None], depth))
    # The same arithmetic on both sides, so that equal codes have equal figures; a change must be a gain.
    changed = (after < before) & (standard_after <= limit)
    code = np.where(changed[:, None], found, matched.code)
    shown = xyz_to_lab(search.reach.xyz_of_codes(code, depth), viewing.white)
    plain = figure(CIEDE2000, shown, matched.lab, viewing.white, viewing.conditions())
    match = replace(
        matched,
        drive=np.where(changed[:, None], search.reach.drive(position), matched.drive),
        code=code,
        shown_lab=np.where(changed[:, None], shown, matched.shown_lab),
        residual=np.where(changed, plain, matched.residual),
    )
    return RobustMatch(
        match,
        changed,
        before,
        np.where(changed, after, before),
        standard,
        np.where(changed, standard_after, standard),
    )


class _Search:
    """The search on one display: 95th percentiles and what the viewing observer sees, (m, K) for K trials each."""

    def __init__(
        self,
        samples: Samples,
        matched: Match,
        display: Display,
        viewing: Viewing,
        people: Population,
        metric: ToleranceSet,
        whites: Whites,
    ) -> None:
        self.viewing, self.metric = viewing, metric
        self.onlookers = Onlookers(people, viewing, display, whites)
        self.objects = self.onlookers.objects(samples)
        self.lab, self.conditions = matched.lab, viewing.conditions()
        view = display.seen_by(viewing.observer)
        self.reach: Reach = reach_of(view, viewing.bridge(view), viewing.white)

    def standard(self, who: NDArray[np.intp], shown_lab: Array) -> Array:
        """What the viewing observer sees (m, K) of samples ``who`` beside reference Lab (m, K, 3)."""
        return figure(self.metric, shown_lab, self.lab[who, None], self.viewing.white, self.conditions)

    def p95(self, who: NDArray[np.intp], drive: Array) -> Array:
        """The 95th percentile (m, K) of what people see of samples ``who`` beside drives (m, K, 3)."""
        found = np.empty(drive.shape[:2])
        rows = max(1, _PAIRS_AT_ONCE // (drive.shape[1] * self.objects.shape[1]))
        for first in range(0, len(who), rows):
            part = slice(first, first + rows)
            found[part] = percentile95(self.onlookers.figures(drive[part], self.objects[who[part]], self.metric))
        return found

    def of_codes(self, who: NDArray[np.intp], code: NDArray[np.int64], bits: int) -> tuple[Array, Array]:
        """Both, (m, K), for codes (m, K, 3)."""
        lab = xyz_to_lab(self.reach.xyz_of_codes(code, bits), self.viewing.white)
        return self.p95(who, code / (2.0**bits - 1.0)), self.standard(who, lab)

    def allowed(self, who: NDArray[np.intp], position: Array, limit: Array) -> Array:
        """The 95th percentile (m, K) at positions (m, K, 3), infinite where the viewing observer sees too much."""
        dear = self.standard(who, self.reach.lab(position)) > limit[who, None]
        return np.where(dear, np.inf, self.p95(who, self.reach.drive(position)))

    def lowest(self, start: Array, limit: Array) -> Array:
        """The best positions (n, 3) that are found from the start."""
        random = np.random.default_rng(_SEED)
        position = start.copy()
        active = np.arange(len(start))
        value = self.allowed(active, position[:, None], limit)[:, 0]
        step = np.full(len(start), _FIRST_STEP)
        for _ in range(_ROUNDS):
            turned = _STAR @ np.linalg.qr(random.standard_normal((3, 3)))[0]
            tried = np.clip(position[active, None] + step[active, None, None] * turned, 0.0, 1.0)
            values = self.allowed(active, tried, limit)
            rows, best = np.arange(len(active)), values.argmin(axis=1)
            better = values[rows, best] < value[active]
            moved = active[better]
            position[moved], value[moved] = tried[rows, best][better], values[rows, best][better]
            step[active] = np.where(better, np.minimum(step[active] * 2.0, _LONGEST), step[active] / 2.0)
            active = active[step[active] >= _SHORTEST]
            if not active.size:
                break
        return position

    def best_code(self, position: Array, code: NDArray[np.int64], limit: Array, bits: int) -> NDArray[np.int64]:
        """The best codes (n, 3) round the positions, or ``code`` where none that is allowed is better."""
        top = 2**bits - 1
        best, value = code.copy(), np.full(len(code), np.inf)
        middle = np.rint(self.reach.drive(position) * top).astype(np.int64)
        active = np.arange(len(code))
        for around in (_WIDE, *(_NEAR,) * _CODE_ROUNDS):
            tried = np.clip(middle[active, None] + around, 0, top)
            p95, standard = self.of_codes(active, tried, bits)
            values = np.where(standard <= limit[active, None], p95, np.inf)
            rows, which = np.arange(len(active)), values.argmin(axis=1)
            better = values[rows, which] < value[active]
            moved = active[better]
            best[moved], value[moved] = tried[rows, which][better], values[rows, which][better]
            middle[moved] = best[moved]
            active = moved
            if not active.size:
                break
        return best
