"""Each surface matched and judged alone: what is worked out for some of the rows works for none of them too.

The surfaces are the 99 colour evaluation samples of CIE 224:2017, curves of real things of all hues, as
colour-science has them.
"""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.proof import Judge, Viewing, match
from screenproof.proof.near_zero import Lengths, length_quantile, upper_tail
from screenproof.questions.groups import DoubtOptions
from screenproof.questions.match.answer import judged_match
from screenproof.questions.opening import Open
from screenproof.spectra import Grid, Samples, light, observer

CLASSES = ("reference", "laboratory", "production", "basic")
LIMIT = 2.0


@pytest.fixture(scope="module")
def surfaces(colour):
    from colour.quality.cfi2017 import load_TCS_CIE2017

    curves = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    names = tuple(f"CES {i + 1}" for i in range(curves.values.shape[1]))
    return Samples(names, curves.values.T[:, ::2], Grid.of(curves.wavelengths[::2]), source="CIE 224:2017")


def verdicts_of(samples, display, viewing, kinds):
    """By class, the verdict of each sample that is matched on the display."""
    matched, found = match(samples, display, viewing), {}
    for kind in kinds:
        doubt = DoubtOptions(instrument=kind)
        read = Open().read(samples, doubt)
        found[kind] = [
            asdict(one) for (one,) in judged_match(Judge.of_limit(LIMIT), "match", read, matched, display, viewing)
        ]
    return found


def test_a_surface_alone_is_judged_as_among_others(surfaces):
    display, viewing = standard_display("srgb"), Viewing(light("D50"), observer("cie1931"))
    together = verdicts_of(surfaces, display, viewing, CLASSES)
    seen = set()
    for i in range(len(surfaces)):
        alone = verdicts_of(surfaces.select([i]), display, viewing, CLASSES)
        for kind in CLASSES:
            (one,), among, where = alone[kind], together[kind][i], (kind, surfaces.names[i])
            assert np.isfinite([one["low"], one["high"], one["figure"], one["uncertainty"]]).all(), where
            assert 0.0 <= one["low"] <= one["figure"] <= one["high"] and one["low"] < one["high"], where
            assert one["status"] == among["status"], where
            for key in ("figure", "low", "high", "uncertainty"):
                assert one[key] == pytest.approx(among[key], rel=1e-4, abs=1e-6), (where, key)
            seen.add(one["status"])
    assert seen == {"pass", "fail", "undecided"}


def test_nothing_is_said_of_no_vectors():
    none = np.empty((0, 3))
    assert length_quantile(none, none, 0.5).shape == (0,)
    assert upper_tail(np.empty(0), none, none).shape == (0,)
    assert [end.shape for end in Lengths(none, none).interval(0.95)] == [(0,), (0,)]
