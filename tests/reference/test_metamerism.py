"""The special metamerism index against the worked examples of ISO 18314-4 and against colour-science."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import de76, de2000, lab_to_xyz, xyz_to_lab
from screenproof.proof import corrected_lab, pair_shift
from screenproof.spectra import Grid, Samples, light, observer, white_point


def example(row):
    def three(name):
        return np.array([float(row[f"{name}_{i}"]) for i in (1, 2, 3)])

    return tuple(three(name) for name in ("std_ref", "std_test", "spl_ref", "spl_test"))


def rows_of(published, scale):
    return [row for row in published("metamerism_examples") if row["scale"] == scale]


def test_the_lab_examples_of_iso_18314_4(published):
    # Lab is taken to XYZ and back under any white: the correction is in Lab, so the white must not matter.
    rows = rows_of(published, "Lab")
    assert [row["correction"] for row in rows] == ["additive", "none"]
    for row in rows:
        std_ref, std_test, spl_ref, spl_test = example(row)
        for white_ref, white_test in ((light("D65"), light("A")), (light("D50"), light("FL11"))):
            whites = white_point(white_ref, observer("cie1931")), white_point(white_test, observer("cie1931"))
            corrected = corrected_lab(
                lab_to_xyz(std_ref, whites[0]),
                lab_to_xyz(spl_ref, whites[0]),
                lab_to_xyz(spl_test, whites[1]),
                *whites,
                row["correction"],
            )
            assert de76(std_test, corrected) == pytest.approx(float(row["index_deab"]), abs=5e-7)
            if row["index_de00"]:
                assert de2000(std_test, corrected) == pytest.approx(float(row["index_de00"]), abs=5e-7)


def test_the_xyz_example_of_iso_18314_4(published, colour):
    # The example's light A is given by its chromaticity with four decimals, as colour-science has it.
    x, y = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["A"]
    white = np.array([x / y, 1.0, (1 - x - y) / y]) * 100.0
    (row,) = rows_of(published, "XYZ")
    std_ref, std_test, spl_ref, spl_test = example(row)
    corrected = corrected_lab(std_ref, spl_ref, spl_test, white, white, row["correction"])
    assert de76(xyz_to_lab(std_test, white), corrected) == pytest.approx(float(row["index_deab"]), abs=5e-8)


@pytest.mark.parametrize("correction", ["multiplicative", "additive"])
@pytest.mark.parametrize(("metric", "method"), [("deab", "CIE 1976"), ("de00", "CIE 2000")])
def test_pairs_of_curves_against_colour_science(colour, correction, metric, method):
    # The same XYZ go to both sides, so this checks the index and not the integration (tests of weights do).
    nm = np.arange(380.0, 731.0, 10.0)
    rng = np.random.default_rng(5)
    bands = np.exp(-(((nm - rng.uniform(400, 700, (20, 1))) / rng.uniform(20, 90, (20, 1))) ** 2))
    a = Samples(tuple(f"a{i}" for i in range(20)), 0.05 + 0.8 * bands, Grid.of(nm))
    b = Samples(tuple(f"b{i}" for i in range(20)), a.reflectance + rng.uniform(0, 0.04, (20, 36)), a.grid)
    d65, tests, eyes = light("D65"), [light("A"), light("FL2"), light("FL11")], [observer("cie1964")]
    ours = pair_shift(a, b, d65, tests, eyes, correction)
    for i, lamp in enumerate(tests):
        xyz = {
            side: (samples.xyz([d65], eyes)[:, 0, 0], samples.xyz([lamp], eyes)[:, 0, 0])
            for side, samples in (("a", a), ("b", b))
        }
        white = white_point(lamp, eyes[0])
        if correction == "multiplicative":
            theirs = colour.difference.XYZ_to_metamerism_index(
                xyz["b"][1] / 100, xyz["a"][1] / 100, xyz["b"][0] / 100, xyz["a"][0] / 100,
                correction=correction, method=method, illuminant=colour.XYZ_to_xy(white),
            )  # fmt: skip
        else:
            whites = white_point(d65, eyes[0]), white
            lab = {
                side: [
                    colour.XYZ_to_Lab(values / 100, colour.XYZ_to_xy(under))
                    for values, under in zip(xyz[side], whites, strict=True)
                ]
                for side in "ab"
            }
            theirs = colour.difference.Lab_to_metamerism_index(
                lab["b"][1], lab["a"][1], lab["b"][0], lab["a"][0], correction=correction, method=method
            )
        np.testing.assert_allclose(getattr(ours, metric)[:, i, 0], theirs, atol=1e-9)
