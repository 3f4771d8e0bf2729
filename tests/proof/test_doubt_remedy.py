"""Undecided verdicts and their cure: the readings that are asked for decide, simulated from known truth."""

from __future__ import annotations

import re

import numpy as np
import pytest

from screenproof.appearance import xyz_to_lab
from screenproof.proof import Decision, Part, Spread, ToleranceSet, Viewing, judge_doubted, pair_spread
from screenproof.proof.doubt import LabMetric
from screenproof.spectra import Grid, ReflectanceDoubt, Samples, light, observer

VIEWING = Viewing(light("D50"), observer("cie1931"))
WHITE, CONDITIONS = VIEWING.white, VIEWING.conditions()
BASE = np.array([60.0, 20.0, -10.0])


class Pairs:
    """n pairs at the CIEDE2000 ``truths`` (n,), read once each; sd of the standard's and the sample's readings."""

    def __init__(self, truths, limit, sd=(0.3, 0.2), fixed=0.0, seed=1):
        self.rng, self.n, self.sd, self.fixed = np.random.default_rng(seed), len(truths), sd, fixed
        self.tolerance = ToleranceSet("t", "de00", pair=limit)
        length = LabMetric(self.tolerance, WHITE, CONDITIONS)
        self.truth = self.rng.standard_normal((self.n, 3))
        for _ in range(30):
            self.truth *= (truths / length(BASE[None], BASE + self.truth))[:, None]
        self.offset = fixed * self.rng.standard_normal((self.n, 3))
        self.sums = [s * self.rng.standard_normal((self.n, 3)) for s in sd]
        self.counts = [np.ones(self.n, dtype=np.int64) for _ in sd]

    def read_more(self, extra):
        """Add ``extra`` (n,) readings of a side, drawn from the truth."""
        for side, more in enumerate(extra):
            self.sums[side] += self.sd[side] * np.sqrt(more)[:, None] * self.rng.standard_normal((self.n, 3))
            self.counts[side] = self.counts[side] + more

    def verdicts(self):
        none, eye = np.zeros((self.n, 3, 3)), np.broadcast_to(np.eye(3), (self.n, 3, 3))
        parts = [
            Part(name, eye * (sd**2 / count)[:, None, None], eye * (self.fixed / np.sqrt(2.0)), none, count)
            for name, sd, count in zip(("a", "b"), self.sd, self.counts, strict=True)
        ]
        means = [total / count[:, None] for total, count in zip(self.sums, self.counts, strict=True)]
        lab = BASE + self.truth + self.offset + means[0] + means[1]
        names = {"a": ["Aim red"] * self.n, "b": ["Proof red"] * self.n}
        reference = np.broadcast_to(BASE, lab.shape)
        spread = Spread(tuple(parts))
        return judge_doubted(
            self.tolerance, "pair", reference, lab, WHITE, CONDITIONS, spread, Decision(draws=500), names=names
        )


def followed(pairs):
    """(undecided with a cure (n,), its advice, the verdicts after it)."""
    before = pairs.verdicts()
    cured = np.array([v.status == "undecided" and bool(v.remedy.extra) for v in before])
    extra = [np.array([dict(v.remedy.extra).get(side, 0) if v.remedy else 0 for v in before]) for side in "ab"]
    pairs.read_more(extra)
    return cured, before, pairs.verdicts()


@pytest.mark.parametrize(("truth", "limit", "right"), [(0.7, 1.0, "pass"), (1.4, 1.0, "fail"), (3.2, 3.8, "pass")])
def test_undecided_with_one_reading_decided_with_those_asked_for(truth, limit, right):
    cured, before, after = followed(Pairs(np.full(600, truth), limit))
    assert cured.mean() > 0.2, "there must be something to cure"
    statuses = np.array([v.status for v in after])[cured]
    assert (statuses != "undecided").mean() >= 0.8
    # And decided rightly: a wrong one keeps to the risk.
    assert (statuses == right).mean() >= (statuses != "undecided").mean() - 0.05
    asked = [sum(count for _, count in v.remedy.extra) for v, c in zip(before, cured, strict=True) if c]
    assert min(asked) >= 1 and max(asked) <= 100


def test_the_chance_told_is_the_share_that_is_decided():
    """Over truths from 0.2 to 2.2 times the limit, with fixed errors besides: no place is favoured beforehand."""
    rng = np.random.default_rng(5)
    cured, before, after = followed(Pairs(rng.uniform(0.2, 2.2, 2000), 1.0, fixed=0.08, seed=6))
    assert all("a chance of about 75 %" in v.remedy.words for v, c in zip(before, cured, strict=True) if c)
    decided = np.mean([v.status != "undecided" for v, c in zip(after, cured, strict=True) if c])
    assert cured.sum() > 200
    assert decided == pytest.approx(0.75, abs=0.04)


def test_what_fewer_readings_would_do_is_told_and_holds():
    """Where more than a dozen are asked for, the fewer that are told too decide in about half of all cases."""
    pairs = Pairs(np.random.default_rng(5).uniform(0.2, 2.2, 3000), 1.0, fixed=0.08, seed=7)
    before = pairs.verdicts()
    told = [
        re.search(
            r"; (?:(\d+) more of Aim red)?(?: and )?(?:(\d+) more of Proof red)? would do in", v.remedy.words
        )
        if v.remedy is not None
        else None
        for v in before
    ]
    pairs.read_more([np.array([int(m[side] or 0) if m else 0 for m in told]) for side in (1, 2)])
    decided = [v.status != "undecided" for v, m in zip(pairs.verdicts(), told, strict=True) if m]
    assert len(decided) > 100
    assert np.mean(decided) == pytest.approx(0.52, abs=0.08)


def test_the_cheapest_is_asked_for():
    """Almost all doubt is the sample's: only it is read again; one less reading would not be told as enough."""
    found = Pairs(np.full(400, 0.75), 1.0, sd=(0.02, 0.3)).verdicts()
    asked = [dict(v.remedy.extra) for v in found if v.status == "undecided" and v.remedy.extra]
    assert len(asked) > 100
    # An even split would be dearer: what the standard brings is a 200th of the sample's variance.
    assert np.mean([extra.get("a", 0) for extra in asked]) < 0.05 * np.mean([extra.get("b", 0) for extra in asked])
    first = next(v.remedy for v in found if v.status == "undecided" and v.remedy.extra)
    assert "Proof red" in first.words and "chance of" in first.words


def test_where_no_reading_helps_the_words_say_what_does():
    grid = Grid(400.0, 700.0, 10.0)
    nm = grid.wavelengths
    curve = 0.1 + 0.6 / (1.0 + np.exp(-(nm - 560.0) / 12.0))
    sides = []
    for name, values in (("one", curve), ("two", curve + 0.008)):
        doubt = ReflectanceDoubt(0.0005, scale=0.02, wavelength_nm=1.0, instrument=name)
        sides.append(Samples((name,), values[None], grid, doubt=doubt))
    spread = pair_spread(*sides, VIEWING.light, VIEWING.observer)
    labs = [xyz_to_lab(side.xyz([VIEWING.light], [VIEWING.observer])[:, 0, 0], WHITE) for side in sides]
    tolerance = ToleranceSet("t", "de00", pair=0.8)
    verdict = judge_doubted(tolerance, "pair", *labs, WHITE, CONDITIONS, spread, Decision())[0]
    assert verdict.status == "undecided" and verdict.remedy.extra == ()
    assert "one and the same instrument" in verdict.remedy.words and "client" in verdict.remedy.words
    # And it helps: the same pair by one instrument.
    same = [
        Samples(side.names, side.reflectance, grid, doubt=ReflectanceDoubt(0.0005, scale=0.02, wavelength_nm=1.0,
                instrument="one"))
        for side in sides
    ]  # fmt: skip
    shared = pair_spread(*same, VIEWING.light, VIEWING.observer)
    cured = judge_doubted(tolerance, "pair", *labs, WHITE, CONDITIONS, shared, Decision())[0]
    assert cured.status != "undecided" and cured.uncertainty < 0.2 * verdict.uncertainty
    # On the limit itself, with nothing fixed: too near for any number of readings.
    near = Pairs(np.array([1.0]), 1.0, sd=(0.01, 0.01))
    near.sums = [np.zeros((1, 3)), np.zeros((1, 3))]
    words = near.verdicts()[0].remedy.words
    assert "so near its limit" in words or "chance of" in words
