"""A result with people, doubt, brightener and sets judged as a whole, put together by hand from the records.

The people are 200 ages and a factor each, so that quantiles, shares and decades hang together as in a real job.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from screenproof.proof.result import (
    AgeRecord,
    BrightenerLight,
    BrightenerRecord,
    CrowdOnDisplay,
    CrowdRecord,
    DoubtRecord,
    DoubtSource,
    PopulationRecord,
    Remedy,
    Result,
    TrustRecord,
    WholeFigure,
    WholeRecord,
)
from screenproof.proof.tolerance import Judged

LIMIT = 3.0
_random = np.random.default_rng(4)
AGES = _random.uniform(20, 80, 200)
FACTOR = np.exp(0.5 * _random.standard_normal(200)) * (0.6 + AGES / 100)
TYPICAL = {"office": (0.4, 0.7, 1.1, 0.5, 2.6, 0.9, 0.2, 0.1), "wide": (1.2, 9.0, 2.3, 0.8, 2.9, 3.4, 0.3, 0.2)}
MORE = Remedy("Measure Rust 4 more times and Office LCD twice more.", (("Rust", 4), ("Office LCD", 2)))


def crowd_of(
    typical: float, light: str = "D50", limit: float | None = LIMIT, words: str = "yellower"
) -> CrowdRecord:
    """What 200 people see of something that is ``typical`` for the middle one, the old seeing more."""
    seen = typical * FACTOR / np.median(FACTOR)
    decades = []
    for low in range(20, 80, 10):
        some = seen[(low <= AGES) & (low + 10 > AGES)]
        share = None if limit is None else float((some > limit).mean())
        median, p95 = float(np.median(some)), float(np.quantile(some, 0.95))
        decades.append(AgeRecord((low, low + 10), len(some), median, p95, share))
    return CrowdRecord(
        light,
        "de00",
        float(np.median(seen)),
        float(np.quantile(seen, 0.95)),
        0.3 * typical,
        tuple(float(q) for q in np.quantile(seen, np.linspace(0, 1, 21))),
        limit,
        None if limit is None else float((seen > limit).mean()),
        sum(max(decades, key=lambda age: age.median).ages) / 2,
        tuple(decades),
        words,
    )


@pytest.fixture(scope="session")
def make_crowd() -> Callable[..., CrowdRecord]:
    """``make_crowd(typical, light="D50", limit=3.0)``: what 200 people see."""
    return crowd_of


@pytest.fixture(scope="session")
def eyes_result(result: Result) -> Result:
    """Eight samples on two displays for 200 people: one undecided, several argued about, two sets judged."""
    samples = []
    for index, sample in enumerate(result.samples):
        on = tuple(replace(one, crowd=crowd_of(TYPICAL[one.display][index])) for one in sample.on)
        samples.append(replace(sample, on=on))
    rust = samples[2]
    doubted = tuple(
        Judged(v.what, 0.9 if v.what == "match" else 0.8 * v.limit, v.limit, v.metric,
                "undecided" if v.what == "match" else "pass", v.light, v.observer, 0.25, v.tolerance,
                0.65 if v.what == "match" else 0.8 * v.limit - 0.25, 1.15 if v.what == "match" else None,
                MORE if v.what == "match" else None)
        for v in rust.on[0].verdicts
    )  # fmt: skip
    near = tuple(
        replace(v, figure=0.2, status="pass", low=0.0, high=0.6, uncertainty=0.4) for v in rust.on[1].verdicts
    )
    samples[2] = replace(
        rust,
        on=(
            replace(rust.on[0], verdicts=doubted, status="undecided"),
            replace(rust.on[1], verdicts=near, status="pass", excess=0.2, residual=0.2),
        ),
        verdicts=(),
        status="undecided",
        brightener=BrightenerRecord(
            0.12,
            440.0,
            4.2,
            (
                BrightenerLight(
                    "shop tubes", 0.6, 2.4, "", "between 0.6 and 2.4 from its colour as read, yellower"
                ),
                BrightenerLight("shop LED", None, None, "its light below 400 nm is not known"),
            ),
            "brightener adds up to 0.120 of reflectance factor (at 440 nm)",
        ),
    )
    pair = replace(result.pairs[0], crowd=(crowd_of(1.0), crowd_of(2.6, "shop tubes"), crowd_of(1.4, "home lamp")))
    crowds = {name: [crowd_of(t) for t in typical] for name, typical in TYPICAL.items()}
    shown = tuple(
        CrowdOnDisplay(name, float(np.median([c.median for c in seen])), float(np.median([c.p95 for c in seen])),
                       max(c.p95 for c in seen), "Lake teal", float(np.mean([c.share_above for c in seen])))
        for name, seen in crowds.items()
    )  # fmt: skip
    wholes = (
        WholeRecord(
            "coated carton", "match", "office", 4, "de00",
            (
                WholeFigure("mean", 0.62, 1.0, "pass", 0.50, 0.75),
                WholeFigure("p95", 1.9, 2.0, "undecided", 1.7, 2.2),
                WholeFigure("worst", 2.1, None, "not judged"),
            ),
            "Lake teal", "undecided", "brand",
        ),
        WholeRecord(
            "kraft", "match", "wide", 4, "de00",
            (WholeFigure("mean", 1.62, 1.0, "fail", 1.50, 1.75), WholeFigure("worst", 2.9, 4.0, "pass", 2.6, 3.2)),
            "Plum", "fail", "brand",
        ),
    )  # fmt: skip
    return replace(
        result,
        samples=tuple(samples),
        pairs=(pair,),
        population=PopulationRecord(
            200, 1, (20, 80), 2.0, "200 people of 20 to 80 years, 2 degrees", "CIE 170-1:2006", "observer", None,
            shown, "office", ("Third display is known by its XYZ only",),
        ),
        trust=(
            TrustRecord("office", True, (), "cie2015-2", 0.3, 0.6, "Plum"),
            TrustRecord("wide", False, ("its primaries are narrow (24, 30, 21 nm wide at half their height)",),
                        "cie2015-2", 1.4, 3.9, "Lake teal"),
        ),
        doubt=DoubtRecord(0.05, 0.95, 2000, (
            DoubtSource("samples", "inks.cgats", "one reading repeats within 0.001 in R", "class"),
            DoubtSource("display", "wide", "", "unknown"),
        ), ("one instrument read both of the pair, so its agreement cancels",)),
        wholes=wholes,
    )  # fmt: skip
