from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import de76, de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.proof import ToleranceSet, pair_shift
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer, weights, white_point

D65, A, FL11 = light("D65"), light("A"), light("FL11")
TWO, TEN = observer("cie1931"), observer("cie1964")
NM = np.arange(380.0, 731.0, 10.0)


def metameric_pair():
    """Two invented curves with the same XYZ under D65 for cie1964: their difference is a metameric black."""
    w = weights(D65, TEN, Grid.of(NM))
    wiggle = 0.12 * np.sin((NM - 380) / 35.0)
    black = wiggle - w @ np.linalg.solve(w.T @ w, w.T @ wiggle)
    base = np.full(NM.size, 0.4)
    return Samples(("a",), base[None], Grid.of(NM)), Samples(("b",), (base + black)[None], Grid.of(NM))


def test_a_metameric_pair_matches_under_the_first_light_only():
    a, b = metameric_pair()
    found = pair_shift(a, b, D65, [D65, A, FL11], [TEN, TWO])
    assert found.from_de00[0, 0] < 1e-9 and found.de00[0, 0, 0] < 1e-9
    assert found.de00[0, 1:, 0].min() > 1.0
    # For other eyes they do not match to begin with: the index takes that out, the plain difference has it.
    assert found.from_deab[0, 1] > 0.5
    assert found.de00[0, 0, 1] < 1e-9
    assert found.de00_uncorrected[0, 0, 1] == pytest.approx(found.from_de00[0, 1])


@pytest.mark.parametrize("correction", ["multiplicative", "additive", "none"])
def test_every_correction(samples, correction):
    a, b = samples.select(range(0, 30)), samples.select(range(30, 60))
    found = pair_shift(a, b, D65, [A, FL11], [TWO, TEN], correction)
    for i, lamp in enumerate((A, FL11)):
        for o, who in enumerate((TWO, TEN)):
            xyz = [[s.xyz([under], [who])[:, 0, 0] for under in (D65, lamp)] for s in (a, b)]
            ref, test = white_point(D65, who), white_point(lamp, who)
            b_lab = xyz_to_lab(xyz[1][1], test)
            if correction == "multiplicative":
                b_lab = xyz_to_lab(xyz[1][1] * xyz[0][0] / xyz[1][0], test)
            elif correction == "additive":
                b_lab = b_lab + xyz_to_lab(xyz[0][0], ref) - xyz_to_lab(xyz[1][0], ref)
            a_lab = xyz_to_lab(xyz[0][1], test)
            np.testing.assert_allclose(found.de00[:, i, o], de2000(a_lab, b_lab), atol=1e-8)
            np.testing.assert_allclose(found.deab[:, i, o], de76(a_lab, b_lab), atol=1e-8)
            plain = de2000(a_lab, xyz_to_lab(xyz[1][1], test))
            np.testing.assert_allclose(found.de00_uncorrected[:, i, o], plain, atol=1e-8)


def test_figures_and_starts_of_one_pair(samples):
    a, b = samples.select([0, 1]), samples.select([2, 3])
    found = pair_shift(a, b, D65, [A, FL11], [TWO, TEN])
    assert [(f.light, f.observer) for f in found.figures(1)] == [
        ("A", "cie1931"), ("FL11", "cie1931"), ("A", "cie1964"), ("FL11", "cie1964"),
    ]  # fmt: skip
    assert found.figures(1)[2].de00 == pytest.approx(found.de00[1, 0, 1])
    assert [(s.light, s.observer) for s in found.start(0)] == [("D65", "cie1931"), ("D65", "cie1964")]
    assert found.start(0)[1].deab == pytest.approx(found.from_deab[0, 1])
    for metric in ("de00", "deab"):
        np.testing.assert_allclose(
            found.figure(ToleranceSet("t", metric, pair_shift=1.0)), getattr(found, metric), atol=1e-9
        )


def test_a_pair_without_curves_is_refused_with_the_reason(samples):
    a = samples.select([0])
    b = Samples(("b",), colorimetry=Colorimetry(np.array([[20.0, 21.0, 15.0]]), "D65", "cie1931"))
    for pair in ((a, b), (b, a), (b, b)):
        found = pair_shift(*pair, D65, [A], [TWO])
        assert found.observers == () and found.figures(0) == () and found.de00.shape == (1, 1, 0)
        assert len(found.refused) == 1 and "was not measured" in found.refused[0].reason


def test_mistakes_are_said(samples):
    a = samples.select([0])
    with pytest.raises(InputError, match="1 standards for 2 samples"):
        pair_shift(a, samples.select([0, 1]), D65, [A], [TWO])
    with pytest.raises(InputError, match="multiplicative, additive, none"):
        pair_shift(a, a, D65, [A], [TWO], "subtractive")
    black = Samples(("black",), np.zeros((1, 36)), samples.grid)
    with pytest.raises(InputError, match="use the additive correction"):
        pair_shift(a, black, D65, [A], [TWO])
    assert pair_shift(a, black, D65, [A], [TWO], "additive").de00.shape == (1, 1, 1)
