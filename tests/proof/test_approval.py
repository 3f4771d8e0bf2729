from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.errors import InputError
from screenproof.proof import BASES, ToleranceSet, Viewing, approve, match
from screenproof.spectra import light, observer

D50, EYE = light("D50"), observer("cie1931")


@pytest.mark.parametrize("basis", BASES)
def test_the_codes_of_the_match_are_as_far_off_as_its_residual(samples, display, basis):
    viewing = Viewing(D50.with_illuminance(200.0), EYE, basis)
    matched = match(samples, display, viewing, bits=10)
    found = approve(samples, display, matched.code, 10, viewing)
    np.testing.assert_allclose(found.de00, matched.residual, atol=1e-8)
    np.testing.assert_allclose(found.approved_lab, matched.shown_lab, atol=1e-8)
    np.testing.assert_allclose(found.sample_lab, matched.lab, atol=1e-8)


def test_the_words_say_how_the_sample_differs_from_what_was_approved(samples, d50):
    display = standard_display("srgb")
    one = samples.select([int(match(samples, display, d50).lab[:, 0].argmax())])
    code = match(one, display, d50).code
    darker = approve(one, display, np.maximum(code - 40, 0), 8, d50)
    assert darker.sample_lab[0, 0] > darker.approved_lab[0, 0]
    assert "lighter" in darker.words[0]
    lighter = approve(one, display, np.minimum(code + 25, 255), 8, d50)
    assert "darker" in lighter.words[0]


def test_the_same_colour_at_two_depths(samples, d50):
    few = samples.select([0, 1])
    display = modelled_display("rgb-oled")
    eight = approve(few, display, [[0, 51, 255], [255, 102, 0]], 8, d50)
    sixteen = approve(few, display, [[0, 13107, 65535], [65535, 26214, 0]], 16, d50)
    np.testing.assert_allclose(eight.de00, sixteen.de00)
    np.testing.assert_allclose(eight.figure(ToleranceSet("t", "deab", approval=1.0)), eight.deab)
    np.testing.assert_allclose(
        eight.figure(ToleranceSet("t", "cam16ucs", approval=1.0)), eight.cam16ucs, atol=1e-7
    )


@pytest.mark.parametrize(
    ("codes", "bits", "said"),
    [
        ([[1, 2]], 8, "three for each"),
        ([[1, 2, 3], [4, 5, 6]], 8, "for 1 samples"),
        ([[1, 2, 256]], 8, "from 0 to 255"),
        ([[1, 2, -1]], 8, "from 0 to 255"),
        ([[1, 2, 3.5]], 8, "no integer"),
        ([[1, 2, float("nan")]], 8, "no integer"),
        ([[1, 2, 3]], 7, "8, 10, 12, 16"),
    ],
)
def test_wrong_codes_are_said(samples, d50, codes, bits, said):
    with pytest.raises(InputError, match=said):
        approve(samples.select([0]), standard_display("srgb"), codes, bits, d50)
