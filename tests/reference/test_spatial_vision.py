"""Visual acuity, S-CIELAB and blends against published figures and an implementation built from them alone."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import circulant

from screenproof.additive import PAPER, PATTERNS, REFERENCE_CODE, area_average, fusion_distance, visibility
from screenproof.additive.spatial import HALF_WIDTH, XYZ_TO_OPPONENT
from screenproof.additive.spinning import DARKER_CD, FLASH_CD, MOST_FLASHES_HZ
from screenproof.appearance import lab_to_xyz, xyz_to_lab
from screenproof.spectra import light, observer, white_point

CHANNELS = ("luminance", "red-green", "blue-yellow")
D50, EYE = light("D50"), observer("cie1931")
WHITE = white_point(D50, EYE)


# --- visual acuity ---


@pytest.mark.parametrize(
    ("column", "counted", "minutes"),
    [
        ("distance_mm_feature_1arcmin", "feature", 1.0),
        ("distance_mm_half_period_1arcmin", "half_period", 1.0),
        ("distance_mm_feature_2arcmin", "feature", 2.0),
    ],
)
def test_fusion_distances_have_the_printed_digits(published, column, counted, minutes):
    rows = published("fusion_distance")
    assert len(rows) == 13
    for row in rows:
        found = float(fusion_distance(float(row["size_mm"]), counted, minutes=minutes))
        # Half a unit of the printed decimal. Two minutes are 2e-8 more than twice one, far below it.
        assert found == pytest.approx(float(row[column]), abs=0.0500001), row["feature"]


def test_the_factor_of_one_minute():
    assert float(fusion_distance(1.0)) == pytest.approx(3437.7467, abs=5e-5)


# --- S-CIELAB: the constants ---


def ours(kernels, channel):
    return dict(zip(CHANNELS, (kernels.luminance, kernels.red_green, kernels.blue_yellow), strict=True))[channel]


def table_of(published, channel):
    return [row for row in published("scielab") if row["channel"] == channel]


@pytest.mark.parametrize("channel", CHANNELS)
def test_weights_and_half_widths_are_those_of_the_authors_code(published, channel):
    rows = table_of(published, channel)
    parts = ours(REFERENCE_CODE, channel)
    assert len(rows) == len(parts)
    for row, (weight, spread) in zip(rows, parts, strict=True):
        assert weight == pytest.approx(float(row["weight_code"]), abs=5e-6)
        assert HALF_WIDTH * spread == pytest.approx(float(row["halfwidth_deg_code"]), rel=1e-12)


@pytest.mark.parametrize("channel", CHANNELS)
def test_weights_and_spreads_are_those_of_the_paper_normalised(published, channel):
    for row, (weight, spread) in zip(table_of(published, channel), ours(PAPER, channel), strict=True):
        assert weight == pytest.approx(float(row["weight_normalised"]), abs=5.0001e-7)
        assert spread == float(row["spread_deg_paper"])
        assert HALF_WIDTH * spread == pytest.approx(float(row["halfwidth_from_spread"]), rel=3e-4)


@pytest.mark.parametrize("channel", CHANNELS)
def test_the_weights_sum_to_one(channel):
    for kernels in (REFERENCE_CODE, PAPER):
        assert sum(weight for weight, _ in ours(kernels, channel)) == pytest.approx(1.0, abs=1e-15)


def test_paper_and_code_agree_as_the_table_says():
    """Weights to 3e-4, widths to 6.1 percent."""
    for channel in CHANNELS:
        for (w1, s1), (w2, s2) in zip(ours(PAPER, channel), ours(REFERENCE_CODE, channel), strict=True):
            assert abs(w1 - w2) < 3e-4
            assert abs(s2 / s1 - 1.0) < 0.0615


def test_the_opponent_matrix_is_the_published_one_and_its_sign_makes_white_neutral(published):
    rows = published("scielab_matrix")
    matrix = np.array([[float(row[axis]) for axis in "XYZ"] for row in rows])
    np.testing.assert_array_equal(XYZ_TO_OPPONENT, matrix)
    d65 = np.array([0.95047, 1.0, 1.08883])
    red_green = (XYZ_TO_OPPONENT @ d65)[1]
    assert red_green == pytest.approx(-0.053, abs=5e-4)
    other = matrix.copy()
    other[1, 2] = -0.0771569
    assert (other @ d65)[1] == pytest.approx(-0.221, abs=5e-4)


# --- S-CIELAB: the whole way, built anew from the table ---


def circle(count, per_degree, weights, half_widths):
    """One-dimensional kernels of a channel as matrices (count, count) on a repeating tile: sampled Gaussians."""
    for weight, half_width in zip(weights, half_widths, strict=True):
        spread = half_width / (2.0 * np.sqrt(np.log(2.0)))
        reach = int(np.ceil(8.0 * spread * per_degree)) + 1
        at = np.arange(-reach, reach + 1)
        kernel = np.exp(-((at / per_degree / spread) ** 2))
        folded = np.zeros(count)
        np.add.at(folded, at % count, kernel / kernel.sum())
        yield weight, circulant(folded)


def independent(published, colour, image, per_degree):
    """CIEDE2000 (h, w) of a tile from its mean: kernels in space from the table, the rest by colour-science."""
    matrix = np.array([[float(row[axis]) for axis in "XYZ"] for row in published("scielab_matrix")])
    opponent = image @ matrix.T
    blurred = np.zeros_like(opponent)
    for index, channel in enumerate(CHANNELS):
        rows = table_of(published, channel)
        weights = np.array([float(row["weight_code"]) for row in rows])
        widths = [float(row["halfwidth_deg_code"]) for row in rows]
        downs = circle(image.shape[0], per_degree, weights / weights.sum(), widths)
        acrosses = circle(image.shape[1], per_degree, weights, widths)
        for (weight, down), (_, across) in zip(downs, acrosses, strict=True):
            blurred[..., index] += weight * down @ opponent[..., index] @ across.T
    xyz = blurred @ np.linalg.inv(matrix).T
    xy = colour.XYZ_to_xy(WHITE / 100.0)
    lab = colour.XYZ_to_Lab(xyz / 100.0, xy)
    mean = colour.XYZ_to_Lab(image.mean(axis=(0, 1)) / 100.0, xy)
    return colour.delta_E(lab, np.broadcast_to(mean, lab.shape), method="CIE 2000")


@pytest.mark.parametrize("name", ["check", "stripes", "dots"])
@pytest.mark.parametrize("per_degree", [80.0, 400.0, 1200.0, 3000.0])
def test_visibility_is_that_of_an_implementation_in_space(published, colour, name, per_degree):
    lab = np.array([[45.0, 7.0, -58.0], [77.0, -3.0, 61.0]])
    xyz = lab_to_xyz(lab, WHITE)
    pattern = PATTERNS[name]((0.5, 0.5), 2.0)
    distance = per_degree * pattern.pitch_mm / np.tan(np.radians(1.0))
    found = visibility(pattern, xyz, WHITE, distance)
    assert found.samples_per_degree == pytest.approx(per_degree)
    theirs = independent(published, colour, pattern.image(xyz), per_degree)
    expected = [theirs.mean(), np.percentile(theirs, 95), theirs.max()]
    # At 80 points a degree the narrowest kernel is 1.7 points wide, and sampling it costs 1.4e-7.
    np.testing.assert_allclose(found.de00, expected, rtol=1e-9, atol=3e-7 if per_degree < 100 else 1e-9)


# --- blends ---


def test_the_average_by_area_has_the_printed_lab_of_neugebauer_without_spread(published):
    """Demichel areas of c .5 m .3 y .2 on the solids of FOGRA51, n = 1: an average of eight colours by area."""
    (row,) = [r for r in published("halftones") if r["kind"] == "neugebauer" and r["n"] == "1"]
    c, m, y = (float(row[ink]) for ink in "cmy")
    solids = {
        r["patch"].split(" ")[0]: [float(r[axis]) for axis in ("L", "a", "b")]
        for r in published("iso12647_aims")
        if "FOGRA51 data set" in r["substrate"]
    }
    areas = {
        "paper": (1 - c) * (1 - m) * (1 - y), "C": c * (1 - m) * (1 - y), "M": (1 - c) * m * (1 - y),
        "Y": (1 - c) * (1 - m) * y, "R": (1 - c) * m * y, "G": c * (1 - m) * y, "B": c * m * (1 - y),
        "CMY": c * m * y,
    }  # fmt: skip
    white = np.array([96.422, 100.0, 82.521])
    xyz = lab_to_xyz([solids[patch] for patch in areas], white)
    lab = xyz_to_lab(area_average(xyz, list(areas.values())), white)
    np.testing.assert_allclose(lab, [float(row[axis]) for axis in ("L", "a", "b")], atol=5.0001e-5)


def test_flash_limits_are_those_of_bt_1702():
    """Found in ITU-R BT.1702 and Ofcom's text: 20 cd/m2 apart, the darker below 160 cd/m2, three in a second."""
    assert (FLASH_CD, DARKER_CD, MOST_FLASHES_HZ) == (20.0, 160.0, 3.0)
