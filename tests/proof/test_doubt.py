"""Intervals and verdicts held against 10,000 simulated readings of known truth, and the three calculations against
each other, against SciPy's noncentral chi-squared distribution, and against draws."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import ncx2

from screenproof.errors import InputError
from screenproof.proof import Decision, Part, Spread, ToleranceSet, Viewing, doubtful, figure, judge, judge_doubted
from screenproof.proof.doubt import LabMetric, chances_at_limit, counted_at_limit, local_rows, statuses_of
from screenproof.proof.near_zero import Lengths, upper_tail
from screenproof.spectra import light, observer

VIEWING = Viewing(light("D50"), observer("cie1931"))
WHITE, CONDITIONS = VIEWING.white, VIEWING.conditions()
N = 10_000
U = 0.3
"""Root mean square standard uncertainty over the directions, in the metric."""

SHAPES = {
    "alike": np.eye(3),
    "lightness": np.diag([1.0, 0.1, 0.1]),
    "tilted": np.array([[0.2, 0.1, 0.0], [0.1, 1.0, 0.6], [0.0, 0.6, 0.8]]),
    "flat": np.diag([1.0, 1.0, 0.05]),
}
BASES = {
    "rose": (60.0, 20.0, -10.0),
    "grey": (55.0, 0.5, 0.3),
    "red": (40.0, 60.0, 35.0),
    "blue": (30.0, 20.0, -60.0),
}


def spread_of(covariance, count, readings=1):
    none = np.zeros((count, 3, 3))
    random = np.broadcast_to(covariance, (count, 3, 3))
    return Spread((Part("sample", random, none, none, np.full(count, readings)),))


class Scene:
    """Readings of one truth at a distance of ``k`` U from a base colour, in a metric, with errors of a shape."""

    def __init__(self, metric, base, shape, k, seed, count=N):
        self.metric = ToleranceSet("sim", metric, match=k * U)
        self.base, rng = np.array(BASES[base]), np.random.default_rng(seed)
        length = LabMetric(self.metric, WHITE, CONDITIONS)
        # The form by the metric itself: how far errors of the shape reach on average.
        errors = 0.02 * rng.standard_normal((4000, 3)) @ np.linalg.cholesky(SHAPES[shape]).T
        reach = np.sqrt(np.mean(length(self.base[None], self.base + errors) ** 2) / 3.0) / 0.02
        self.covariance = SHAPES[shape] * (U / reach) ** 2
        step = rng.standard_normal(3)
        for _ in range(40 if k else 0):
            step *= k * U / length(self.base[None], (self.base + step)[None])[0]
        self.truth, self.distance = self.base + (step if k else 0.0), k * U
        noise = rng.standard_normal((count, 3)) @ np.linalg.cholesky(self.covariance).T
        self.reference, self.lab = np.broadcast_to(self.base, (count, 3)), self.truth + noise
        self.spread = spread_of(self.covariance, count)

    def judged(self, limit, decision, cures=False):
        tolerance = ToleranceSet("sim", self.metric.metric, match=limit)
        return judge_doubted(
            tolerance, "match", self.reference, self.lab, WHITE, CONDITIONS, self.spread, decision, cures=cures
        )

    def coverage(self):
        found = doubtful(self.metric, self.reference, self.lab, WHITE, CONDITIONS, self.spread, Decision())
        return float(((found.low <= self.distance) & (self.distance <= found.high)).mean())


CELLS = [
    (metric, shape, base, k)
    for metric, shape, base, distances in (
        ("de00", "alike", "grey", (0.0, 1.0, 20.0)),
        ("de00", "tilted", "rose", (0.0, 0.3, 1.0, 2.0, 12.0)),
        ("deab", "alike", "grey", (0.3, 2.0)),
        ("deab", "tilted", "grey", (0.0, 1.0, 12.0)),
        ("cmc", "alike", "red", (0.0, 2.0, 12.0)),
        ("cmc", "tilted", "red", (0.3, 1.0)),
        ("de00", "flat", "blue", (1.0,)),
        ("de00", "lightness", "grey", (5.0,)),
    )
    for k in distances
]


def test_the_interval_holds_the_truth_at_zero_near_and_far():
    found = {cell: Scene(cell[0], cell[2], cell[1], cell[3], seed=i).coverage() for i, cell in enumerate(CELLS)}
    outside = {cell: coverage for cell, coverage in found.items() if not 0.93 <= coverage <= 0.97}
    assert not outside
    # A sure overstatement would pass the lower bar: on the whole the stated 95 % are 95 %.
    assert np.mean(list(found.values())) == pytest.approx(0.952, abs=0.006)


@pytest.mark.parametrize(
    ("metric", "base", "shape", "k"),
    [
        ("de00", "rose", "alike", 2.0),
        ("de00", "blue", "tilted", 6.0),
        ("deab", "grey", "alike", 1.0),
        ("cmc", "red", "lightness", 3.0),
    ],
)
def test_wrong_verdicts_of_truths_at_the_limit_keep_the_risk(metric, base, shape, k):
    """The worst place: a hair above the limit none may pass, a hair below none fail, but for the risk."""
    scene = Scene(metric, base, shape, k, seed=7)
    length = LabMetric(scene.metric, WHITE, CONDITIONS)
    local = local_rows(length, scene.reference, scene.lab, scene.spread.covariance())
    for risk in (0.05, 0.01):
        found = statuses_of(length, scene.reference, local, scene.distance, Decision(risk=risk, draws=1000))
        accepts, rejects = found.count("pass") / N, found.count("fail") / N
        # What 10,000 readings can tell: twice the standard deviation of a share.
        allowed = risk + 2.0 * np.sqrt(risk * (1.0 - risk) / N)
        assert accepts <= allowed and rejects <= allowed, (risk, accepts, rejects)
        assert rejects > 0.1 * risk, "a rule that never fails anything keeps no risk worth the name"


def test_wrong_accepts_among_bad_samples_are_below_the_risk():
    """Truths spread from the limit to twice the limit, each read once: of all bad samples at most 5 % pass."""
    rng = np.random.default_rng(3)
    limit, base = 1.0, np.array(BASES["rose"])
    direction = rng.standard_normal((N, 3))
    length = LabMetric(ToleranceSet("x", "de00", match=limit), WHITE, CONDITIONS)
    wanted = limit * rng.uniform(1.0, 2.0, N)
    for _ in range(20):
        direction *= (wanted / length(base[None], base + direction))[:, None]
    covariance = 0.35**2 * SHAPES["tilted"]
    lab = base + direction + rng.standard_normal((N, 3)) @ np.linalg.cholesky(covariance).T
    for risk in (0.05, 0.01):
        found = judge_doubted(
            ToleranceSet("x", "de00", match=limit), "match", np.broadcast_to(base, (N, 3)), lab, WHITE, CONDITIONS,
            spread_of(covariance, N), Decision(risk=risk, draws=500), cures=False,
        )  # fmt: skip
        assert [v.status for v in found].count("pass") / N <= risk


def test_the_tail_of_a_length_is_the_noncentral_chi_squared_of_scipy():
    k = np.array([0.0, 0.3, 1.0, 3.0, 10.0])
    for chance, error in ((0.01, 0.002), (0.05, 0.002), (0.5, 0.004), (0.95, 0.002), (0.99, 0.002)):
        square = ncx2.isf(chance, 3, np.maximum(k**2, 1e-12))
        mean = k[:, None] * np.array([0.6, 0.0, 0.8])
        assert upper_tail(square, mean, np.ones((5, 3))) == pytest.approx(chance, abs=error)


def test_the_tail_of_a_length_with_unlike_errors_is_that_of_draws():
    z = np.random.default_rng(5).standard_normal((200_000, 3))
    for variances in ((1.0, 0.3, 0.1), (1.0, 0.01, 0.01), (1.0, 1.0, 1e-4)):
        for mean in ((0.0, 0.0, 0.0), (1.0, 0.5, 0.2), (0.0, 2.0, 2.0), (6.0, 0.0, 1.0)):
            squares = np.sort(((mean + np.sqrt(variances) * z) ** 2).sum(axis=1))
            for chance, error in ((0.01, 0.004), (0.05, 0.004), (0.5, 0.02), (0.95, 0.004), (0.99, 0.004)):
                at = squares[int((1.0 - chance) * len(squares))]
                assert upper_tail(np.array([at]), np.array([mean]), np.array([variances])) == pytest.approx(
                    chance, abs=error
                )


def test_an_interval_of_errors_alike_is_that_of_the_noncentral_chi_squared():
    """Both ends by their own definition, with SciPy's distribution in the place of ours."""
    y = np.array([[0.4, 0.0, 0.0], [2.0, 0.5, 0.0], [4.0, -3.0, 1.0], [0.0, 12.0, 0.0]])
    low, high = Lengths(y, np.ones((4, 3))).interval(0.95)
    square = (y**2).sum(axis=1)
    for ends, is_low in ((low, True), (high, False)):
        for q, end in zip(square, ends, strict=True):
            above = 0.05 * (0.5 + 0.5 * np.exp(-0.5 * end**2 / 3.0))
            beyond = float(ncx2.sf(q, 3, max(end**2, 1e-12)))
            if is_low and end == 0.0:
                assert beyond >= 0.05 - 0.002
                continue
            chance, share = (beyond, above) if is_low else (1.0 - beyond, 0.05 - above)
            assert chance == pytest.approx(share, abs=0.005)
    assert np.all(np.diff(low) >= 0.0) and np.all(np.diff(high) > 0.0)
    assert low[0] == 0.0 and 9.5 < low[3] < 12.0 < high[3] < 14.5


def test_linear_quadratic_and_drawn_chances_agree_where_they_meet():
    """At the switch to the linear calculation all three give one chance; nearer, the two that hold there."""
    for metric, k, far in (
        ("deab", 70.0, True),
        ("de00", 3.0, False),
        ("cmc", 4.0, False),
        ("cam16ucs", 2.0, False),
    ):
        scene = Scene(metric, "rose", "alike", k, seed=11, count=40)
        length = LabMetric(scene.metric, WHITE, CONDITIONS)
        local = local_rows(length, scene.reference, scene.lab, scene.spread.covariance())
        rows, limit = np.arange(40), scene.distance
        assert bool(np.all(local.far(np.full(40, limit)))) is far
        counted = counted_at_limit(length, scene.reference, local, limit, Decision(draws=20_000), rows)
        raised = local.raised
        quadratic = Lengths(raised.y, raised.u)
        longer = [quadratic.chance_longer(truth) for truth in quadratic.truths_at(np.full(40, limit))]
        below = local.figures <= limit
        near = np.max([np.where(below, 1.0 - p, p) for p in longer], axis=0)
        assert np.abs(near - counted).max() < 0.02
        tails = counted < 0.1
        assert tails.any() and np.abs(near - counted)[tails].max() < 0.006
        if far:
            # The bias that the linear calculation leaves out is a hundredth of a standard deviation.
            assert np.abs(chances_at_limit(local, limit) - counted).max() < 0.02


def test_without_doubt_the_verdict_is_the_plain_one():
    scene = Scene("de00", "rose", "alike", 2.0, seed=1, count=50)
    tolerance = ToleranceSet("plain", "de00", match=0.6)
    found = judge_doubted(
        tolerance, "match", scene.reference, scene.lab, WHITE, CONDITIONS, None, Decision(), light="D50"
    )
    amounts = figure(tolerance, scene.reference, scene.lab, WHITE, CONDITIONS)
    assert found == [judge(tolerance, "match", float(amount), light="D50") for amount in amounts]
    none = judge_doubted(
        tolerance, "excess", scene.reference, scene.lab, WHITE, CONDITIONS, scene.spread, Decision()
    )
    assert none == [None] * 50, "a set that does not judge the excess gives no verdict"
    certain = judge_doubted(
        tolerance, "match", scene.reference, scene.lab, WHITE, CONDITIONS, Spread.nothing(50), Decision()
    )
    assert [v.status for v in certain] == [v.status for v in found]
    assert all(v.uncertainty == 0.0 and v.low == v.high == v.figure for v in certain)


def test_a_smaller_risk_and_a_larger_doubt_decide_less_and_never_otherwise():
    scene = Scene("de00", "blue", "tilted", 4.0, seed=2, count=400)
    # The order of the answers: what is decided at the small risk is decided alike at the large one.
    wide, narrow = (scene.judged(1.0, Decision(risk=risk), cures=True) for risk in (0.1, 0.01))
    assert all(b.status in ("undecided", a.status) for a, b in zip(wide, narrow, strict=True))
    counts = [[v.status for v in found].count("undecided") for found in (wide, narrow)]
    assert 0 < counts[0] < counts[1] < 400
    for v in narrow:
        assert v.low <= v.high and v.uncertainty > 0.0
        assert (v.remedy is not None) == (v.status == "undecided")
        assert v.status != "pass" or v.figure <= v.limit
        assert v.status != "fail" or v.figure > v.limit


@pytest.mark.parametrize("metric", ["de00", "cmc"])
def test_a_worse_instrument_never_gives_the_surer_verdict(metric):
    """Two colours that read almost alike, or wholly: the interval grows with the doubt, a pass is lost by it."""
    base = np.array([BASES["rose"], BASES["grey"], BASES["red"]])
    for apart in (0.0, 0.02, 0.2):
        highs, passed = [], []
        for sd in (0.001, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0):
            spread = spread_of(SHAPES["tilted"] * sd**2, len(base))
            tolerance = ToleranceSet("t", metric, match=0.5)
            found = judge_doubted(tolerance, "match", base, base + apart, WHITE, CONDITIONS, spread, Decision())
            highs.append([v.high for v in found])
            passed.append([v.status == "pass" for v in found])
        assert (np.diff(highs, axis=0) > 0.0).all()
        assert (np.diff(np.array(passed, dtype=int), axis=0) <= 0).all()
        assert all(passed[0]) and not any(passed[-1])


def test_a_decision_out_of_range_is_told():
    with pytest.raises(InputError) as caught:
        Decision(risk=0.0, coverage=1.0, draws=3, seed=-1)
    assert [problem.field for problem in caught.value.problems] == ["risk", "coverage", "draws", "seed"]
