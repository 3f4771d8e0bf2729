"""Sets judged as a whole: their statistics against those of SciPy, their limits, and what doubt does to them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats.mstats import mquantiles

from screenproof.errors import InputError
from screenproof.proof.tolerance import ToleranceSet, read_tolerances
from screenproof.proof.whole import judge_whole, statistics

FIGURES = np.array([0.4, 1.2, 0.9, 3.1, 0.2, 0.7, 1.9, 2.4, 0.3, 1.1])
NAMES = [f"patch {i}" for i in range(10)]


def judged(figures=FIGURES, names=NAMES, intervals=None, **limits: float):
    limits_of = ToleranceSet("strip", **limits)
    return judge_whole(limits_of, figures, names, "strip", "match", "desk", intervals=intervals)


def test_the_statistics_are_those_of_a_general_library():
    rng = np.random.default_rng(6)
    many = rng.gamma(2.0, 1.0, size=(50, 37))
    mean, p95, largest = np.moveaxis(statistics(many), -1, 0)
    assert mean == pytest.approx(many.mean(axis=1)) and np.array_equal(largest, many.max(axis=1))
    # Position (k - 1) / (n - 1) is alphap = betap = 1 in SciPy's terms.
    assert p95 == pytest.approx(np.array([mquantiles(row, 0.95, alphap=1, betap=1)[0] for row in many]))


def test_each_limit_is_judged_and_the_worst_counts():
    record = judged(mean=1.22, p95=2.8, worst=3.1)
    assert [f.statistic for f in record.figures] == ["mean", "p95", "worst"]
    assert [f.status for f in record.figures] == ["pass"] * 3
    assert [f.figure for f in record.figures] == pytest.approx([1.22, 2.785, 3.1]), "on the limit passes"
    assert (record.status, record.worst_name, record.count, record.display) == ("pass", "patch 3", 10, "desk")
    assert (record.tolerance, record.metric, record.what) == ("strip", "de00", "match")
    only = judged(p95=2.5)
    assert [f.status for f in only.figures] == ["not judged", "fail", "not judged"] and only.status == "fail"
    assert only.figures[0].limit is None and only.figures[0].figure == pytest.approx(1.22), "told, not judged"


def test_the_presets_of_proofs_judge_a_whole():
    sets = read_tolerances({"strip": {"preset": "contract-proof"}, "chart": {"preset": "contract-proof-chart"}})
    # 4 % of a chart far away: a strip would fail by its largest, a chart is told by its 95th percentile.
    figures = np.concatenate([np.full(96, 1.0), np.full(4, 9.0)])
    names = [str(i) for i in range(100)]
    strip, chart = (judge_whole(sets[name], figures, names, name, "pairs") for name in ("strip", "chart"))
    assert (strip.status, chart.status) == ("fail", "pass")
    assert chart.display is None and chart.what == "pairs"


def test_an_interval_across_the_limit_is_undecided():
    known = {"mean": (1.0, 1.4), "p95": (2.2, 3.3), "worst": (2.6, 3.6)}
    record = judged(intervals=known, mean=1.4, p95=3.0, worst=2.5)
    assert [f.status for f in record.figures] == ["pass", "undecided", "fail"] and record.status == "fail"
    assert (record.figures[1].low, record.figures[1].high) == (2.2, 3.3)
    assert judged(intervals=known, p95=3.0).status == "undecided"


def test_nothing_to_judge_and_what_cannot_be():
    assert judged(match=1.0) is None, "a set without a limit for a whole"
    assert judged([], [], mean=1.0) is None
    with pytest.raises(InputError, match="10 figures for 2 names"):
        judged(FIGURES, ["a", "b"], mean=1.0)
    with pytest.raises(ValueError, match="not finite"):
        judged([1.0, np.nan], ["a", "b"], mean=1.0)
