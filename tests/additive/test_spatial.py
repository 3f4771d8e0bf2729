"""Patterns and what is still seen of them at a distance: exact areas, the filter's limits, independent blurs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from screenproof.additive import (
    PAPER,
    PATTERNS,
    REFERENCE_CODE,
    Seen,
    filtered_xyz,
    samples_per_degree,
    visibility,
)
from screenproof.additive.patterns import check, dots, sectors, stripes
from screenproof.additive.spatial import XYZ_TO_OPPONENT
from screenproof.appearance import de76, de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import light, observer, white_point
from tests.additive.blend_papers import papers

D50, EYE = light("D50"), observer("cie1931")
WHITE = white_point(D50, EYE)
XYZ = papers("Blue", "Yellow").xyz([D50], [EYE])[:, 0, 0]
THREE = papers("Blue", "Yellow", "Vermilion").xyz([D50], [EYE])[:, 0, 0]
MEAN = 0.5 * (XYZ[0] + XYZ[1])


# --- patterns ---


def all_patterns(areas=(0.25, 0.75), size=2.0):
    yield check(areas, size)
    yield stripes(areas, size)
    for angle in (0.0, 45.0, 15.0, -30.0):
        yield dots(areas, size, angle)
    yield sectors(areas, size)
    yield sectors(areas, size, repeats=3)


@pytest.mark.parametrize("areas", [(0.5, 0.5), (0.25, 0.75), (0.015625, 0.984375), (1.0, 0.0), (1 / 3, 2 / 3)])
def test_every_pattern_has_exactly_its_areas(areas):
    for pattern in all_patterns(areas):
        assert pattern.shares.min() >= 0.0
        np.testing.assert_allclose(pattern.shares.sum(axis=2), 1.0, atol=1e-12)
        np.testing.assert_allclose(pattern.shares.mean(axis=(0, 1)), areas, atol=1e-11)


@pytest.mark.parametrize("areas", [(0.137, 0.863), (0.9, 0.1), (0.785, 0.215)])
def test_dots_and_stripes_take_any_areas(areas):
    for pattern in (dots(areas, 1.0), dots(areas, 1.0, 26.565), stripes(areas, 1.0), sectors(areas, 50.0)):
        np.testing.assert_allclose(pattern.shares.mean(axis=(0, 1)), areas, atol=1e-11)


def test_a_chessboard_is_a_chessboard():
    board = check((0.5, 0.5), 2.0)
    half = board.shares.shape[0] // 2
    blue = board.shares[..., 0]
    expected = np.kron([[1, 0], [0, 1]], np.ones((half, half)))
    assert np.array_equal(blue, expected) or np.array_equal(blue, 1 - expected)
    assert half * board.pitch_mm == pytest.approx(2.0)


def test_a_check_of_unequal_parts_keeps_like_squares_apart():
    board = check((0.25, 0.75), 1.0)
    fine = round(1.0 / board.pitch_mm)
    blue = board.shares[::fine, ::fine, 0] > 0.5
    assert blue.sum() * 4 == blue.size
    for axis in (0, 1):
        assert not (blue & np.roll(blue, 1, axis=axis)).any()
    thirds = check((1 / 3, 1 / 3, 1 / 3), 1.0)
    np.testing.assert_allclose(thirds.shares.mean(axis=(0, 1)), 1 / 3)


def test_dots_are_round_and_as_wide_as_their_area_asks():
    for area in (0.1, 0.4, 0.7):
        pattern = dots((area, 1 - area), 1.0)
        radius = np.sqrt(area / np.pi)
        middle = pattern.shares.shape[0]
        # Along a row through the dots' centres (the tile's edge) and along a diagonal through one.
        across = pattern.shares[0, :, 0].sum() * pattern.pitch_mm
        assert across == pytest.approx(2 * radius, abs=2 * pattern.pitch_mm)
        slant = pattern.shares[np.arange(middle), np.arange(middle), 0].sum() * pattern.pitch_mm * np.sqrt(2)
        assert slant == pytest.approx(2 * radius, abs=3 * pattern.pitch_mm)


def test_dots_touch_at_a_quarter_of_pi_and_then_close():
    at_edge = {area: dots((area, 1 - area), 1.0).shares[0, :, 0].mean() for area in (0.6, np.pi / 4 + 0.005, 0.9)}
    assert at_edge[0.6] < 0.95
    assert at_edge[np.pi / 4 + 0.005] > 0.99 and at_edge[0.9] == 1.0


def test_rotated_rasters_have_their_dots_where_the_angle_says():
    pattern = dots((0.05, 0.95), 1.0, 45.0)
    count = pattern.shares.shape[0]
    assert pattern.angle == pytest.approx(45.0)
    assert count * pattern.pitch_mm == pytest.approx(np.sqrt(2.0))  # two dots in the tile: corner and middle
    assert pattern.shares[0, 0, 0] == 1.0 and pattern.shares[count // 2, count // 2, 0] == 1.0
    assert pattern.shares[0, count // 2, 0] == 0.0


def test_sectors_lie_at_their_angles():
    pattern = sectors((0.25, 0.5, 0.25), 100.0)
    count = pattern.shares.shape[0]
    for degrees, part in ((45, 0), (80, 0), (100, 1), (260, 1), (280, 2), (350, 2)):
        x, y = 30.0 * np.cos(np.radians(degrees)), 30.0 * np.sin(np.radians(degrees))
        column, row = (int(count / 2 + value / pattern.pitch_mm) for value in (x, y))
        assert pattern.shares[row, column, part] == 1.0
    np.testing.assert_allclose(pattern.shares[0, 0], (0.25, 0.5, 0.25))  # the ground
    inside = pattern.counted.sum() * pattern.pitch_mm**2
    assert inside == pytest.approx(np.pi * 50.0**2, rel=0.02)


def test_the_period_is_that_of_the_coarsest_grating():
    """Found again in the tile's own frequencies: nothing of note lies below 1 / period."""
    for pattern in (
        check((0.5, 0.5), 2.0),
        check((0.25, 0.75), 2.0),
        check((1 / 3, 2 / 3), 1.0),
        check((5 / 16, 11 / 16), 1.0),
        stripes((0.3, 0.7), 3.0),
        dots((0.3, 0.7), 0.5, 45.0),
        dots((0.3, 0.7), 0.5, 15.0),
    ):
        h, w, _ = pattern.shares.shape
        size = np.abs(np.fft.fft2(pattern.shares[..., 0])) / (h * w)
        frequency = np.hypot(np.fft.fftfreq(h)[:, None], np.fft.fftfreq(w)[None, :]) / pattern.pitch_mm
        present = frequency[(size > 1e-3) & (frequency > 0)]
        assert present.min() == pytest.approx(1.0 / pattern.period_mm, rel=1e-9), pattern.kind
    assert check((0.5, 0.5), 2.0).period_mm == pytest.approx(2.0 * np.sqrt(2.0))


# --- the filter ---


def test_a_flat_colour_stays_as_it_is_for_the_weights_sum_to_one():
    flat = np.broadcast_to(MEAN, (24, 32, 3))
    for kernels in (REFERENCE_CODE, PAPER):
        np.testing.assert_allclose(kernels.response(0.0), 1.0, atol=1e-12)
        for edges in ("periodic", "mirror"):
            np.testing.assert_allclose(filtered_xyz(flat, 40.0, kernels, edges), flat, atol=1e-10)


@pytest.mark.parametrize("edges", ["periodic", "mirror"])
def test_the_mean_is_kept(edges):
    image = np.random.default_rng(3).uniform(0, 100, (40, 56, 3))
    blurred = filtered_xyz(image, 25.0, edges=edges)
    np.testing.assert_allclose(blurred.mean(axis=(0, 1)), image.mean(axis=(0, 1)), atol=1e-10)
    assert blurred.std() < image.std()


@pytest.mark.parametrize(("edges", "mode"), [("periodic", "wrap"), ("mirror", "reflect")])
@pytest.mark.parametrize("kernels", [REFERENCE_CODE, PAPER], ids=lambda k: k.name)
def test_against_gaussians_of_scipy_in_space(edges, mode, kernels):
    """scipy.ndimage blurs by kernels of points, ours by frequencies; the way to opponent and back is done anew."""
    image = np.random.default_rng(4).uniform(0, 100, (48, 64, 3))
    per_degree = 120.0
    opponent = np.einsum("ij,hwj->hwi", XYZ_TO_OPPONENT, image)
    blurred = np.zeros_like(opponent)
    for channel, parts in enumerate((kernels.luminance, kernels.red_green, kernels.blue_yellow)):
        for weight, spread in parts:
            sigma = spread / np.sqrt(2.0) * per_degree
            blurred[..., channel] += weight * gaussian_filter(
                opponent[..., channel], sigma, mode=mode, truncate=9.0
            )
    expected = np.linalg.solve(XYZ_TO_OPPONENT, blurred.reshape(-1, 3).T).T.reshape(image.shape)
    np.testing.assert_allclose(filtered_xyz(image, per_degree, kernels, edges), expected, atol=1e-8)


@pytest.mark.parametrize("channel", [0, 1, 2])
def test_a_grating_is_left_by_the_closed_formula(channel):
    """A cosine of one opponent channel keeps its shape and loses what sum w exp(-(pi s f)^2) says."""
    count, cycles, per_degree = 256, 8, 60.0
    wave = np.cos(2 * np.pi * cycles * np.arange(count) / count)
    along = np.linalg.inv(XYZ_TO_OPPONENT)[:, channel]
    image = np.array([40.0, 42.0, 33.0]) + 5.0 * wave[None, :, None] * along
    frequency = cycles * per_degree / count
    parts = (REFERENCE_CODE.luminance, REFERENCE_CODE.red_green, REFERENCE_CODE.blue_yellow)[channel]
    left = sum(weight * np.exp(-((np.pi * spread * frequency) ** 2)) for weight, spread in parts)
    expected = np.array([40.0, 42.0, 33.0]) + 5.0 * left * wave[None, :, None] * along
    np.testing.assert_allclose(filtered_xyz(image, per_degree), expected, atol=1e-10)


def test_stripes_at_a_distance_are_the_fourier_series_of_a_square_wave():
    """At 12 cycles per degree only the first harmonics of the series are left: 2/pi (cos - cos3/3 + ...)."""
    period, cycles = 4.0, 12.0
    distance = cycles * period / np.tan(np.radians(1.0))
    found = visibility(stripes((0.5, 0.5), period), XYZ, WHITE, distance)
    place = (np.arange(512) + 0.5) / 512
    series = np.zeros((512, 3))
    step = XYZ_TO_OPPONENT @ (XYZ[0] - XYZ[1])
    for n in range(1, 20, 2):
        left = REFERENCE_CODE.response(n * cycles)
        series += (2 / (np.pi * n)) * np.sin(2 * np.pi * n * place)[:, None] * step * left
    image = MEAN + series @ np.linalg.inv(XYZ_TO_OPPONENT).T
    figures = de2000(xyz_to_lab(MEAN, WHITE), xyz_to_lab(image, WHITE))
    assert found.de00[0] == pytest.approx(float(figures.mean()), rel=1e-3)
    assert found.de00[2] == pytest.approx(float(figures.max()), rel=1e-3)
    assert found.cycles_per_degree == pytest.approx(cycles)


# --- visibility ---


@pytest.mark.parametrize("pattern", list(all_patterns((0.5, 0.5))), ids=lambda p: f"{p.kind} {p.angle:.0f}")
def test_from_far_nothing_is_left_and_from_near_all_of_it(pattern):
    seen = Seen(pattern, XYZ, WHITE)
    far = seen.at(1e4 * pattern.period_mm * 60)
    assert far.de00.max() < 1e-9 and far.deab.max() < 1e-9 and far.share < 1e-9
    near = seen.at(1e-5 * pattern.period_mm)
    np.testing.assert_allclose(near.de00[:2], near.unblurred_de00[:2], rtol=1e-5)
    np.testing.assert_allclose(near.deab[:2], near.unblurred_deab[:2], rtol=1e-5)
    assert near.share == pytest.approx(1.0, abs=1e-6)


def test_the_unblurred_difference_is_that_of_the_parts_from_their_mean():
    found = visibility(check((0.25, 0.75), 2.0), XYZ, WHITE, 1000.0)
    mean = xyz_to_lab(0.25 * XYZ[0] + 0.75 * XYZ[1], WHITE)
    parts = xyz_to_lab(XYZ, WHITE)
    for figures, formula in ((found.unblurred_de00, de2000), (found.unblurred_deab, de76)):
        each = formula(mean, parts)
        assert figures[0] == pytest.approx(float([0.25, 0.75] @ each))
        assert figures[2] == pytest.approx(float(each.max()))


def test_the_difference_falls_with_the_distance():
    seen = Seen(check((0.5, 0.5), 2.0), XYZ, WHITE)
    figures = [seen.at(distance).de00[0] for distance in np.geomspace(200.0, 8000.0, 25)]
    assert (np.diff(figures) < 0).all()


def test_only_size_over_distance_counts():
    one = visibility(dots((0.3, 0.7), 1.0), XYZ, WHITE, 1500.0)
    ten = visibility(dots((0.3, 0.7), 10.0), XYZ, WHITE, 15000.0)
    np.testing.assert_allclose(one.de00, ten.de00, rtol=1e-9)


def test_a_rotated_raster_is_seen_as_well_as_a_straight_one():
    """The filter is round. Where the two differ is in how the tile's points lie on the dots."""
    straight = visibility(dots((0.4, 0.6), 1.0), XYZ, WHITE, 900.0)
    for angle in (45.0, 26.565, 18.435):
        turned = visibility(dots((0.4, 0.6), 1.0, angle), XYZ, WHITE, 900.0)
        assert turned.de00[0] == pytest.approx(straight.de00[0], rel=2e-3)


def test_blue_and_yellow_of_one_lightness_vanish_before_black_and_white():
    """Colour is blurred more than lightness: common knowledge of vision, and what the wider spreads say."""
    grey = np.array([[20.0], [60.0]]) * WHITE / 100.0
    lightness = Seen(stripes((0.5, 0.5), 2.0), grey, WHITE).vanishes_from()
    lab = np.array([[64.0, 0.0, -25.0], [64.0, 0.0, 25.0]])
    from screenproof.appearance import lab_to_xyz

    colour = Seen(stripes((0.5, 0.5), 2.0), lab_to_xyz(lab, WHITE), WHITE).vanishes_from()
    assert colour < 0.75 * lightness


def test_the_vanishing_distance_is_where_the_limit_is_met():
    seen = Seen(check((0.5, 0.5), 2.0), XYZ, WHITE)
    for limit in (0.5, 1.0, 5.0):
        where = seen.vanishes_from(limit)
        assert seen.at(where).de00[1] == pytest.approx(limit, rel=2e-3)
        for further in (1.01, 1.5, 4.0, 50.0):
            assert seen.at(where * further).de00[1] < limit
    assert seen.vanishes_from(0.5) > seen.vanishes_from(1.0) > seen.vanishes_from(5.0)
    assert seen.vanishes_from(500.0) == 0.0
    assert Seen(check((0.5, 0.5), 2.0), np.stack([MEAN, MEAN]), WHITE).vanishes_from() == 0.0


def test_acuity_and_filter_agree_on_the_order_of_the_distance():
    """A black and white grating: the filter loses it between half a period and a whole one within a minute."""
    grey = np.array([[3.0], [85.0]]) * WHITE / 100.0
    pattern = stripes((0.5, 0.5), 1.0)
    gone = Seen(pattern, grey, WHITE).vanishes_from()
    half_period = 0.5 / np.tan(np.radians(1 / 60))
    assert 0.6 * half_period < gone < 2.0 * half_period


def test_a_disc_at_rest_is_seen_until_it_is_a_point():
    seen = Seen(sectors((0.3, 0.3, 0.4), 100.0), THREE, WHITE)
    assert seen.at(2000.0).share > 0.9
    assert seen.at(1e6).de00[2] < 0.01


# --- what cannot be used ---

IMAGE = np.ones((8, 8, 3))
MISTAKES = [
    (lambda: check((0.5, 0.5), 0.0), ["side of a square of 0 mm"]),
    (lambda: check((0.123, 0.877), 1.0), ["no whole squares", "up to 64", "take stripes"]),
    (lambda: check((0.6, 0.6), 1.0), ["sum to 1.2"]),
    (lambda: stripes((0.5, 0.5), -1.0), ["period of -1 mm"]),
    (lambda: dots((0.3, 0.3, 0.4), 1.0), ["dots of 3 parts", "the dots, and the ground"]),
    (lambda: dots((0.5, 0.5), float("nan")), ["spacing of nan mm"]),
    (lambda: dots((0.5, 0.5), 1.0, float("inf")), ["angle of inf"]),
    (lambda: sectors((0.5, 0.5), 1.0, 0), ["0 sets of sectors"]),
    (lambda: sectors((0.5, 0.5), 1.0, 1.5), ["1.5 sets of sectors", "whole number"]),
    (lambda: PATTERNS["check"]((0.5, 0.5), 1.0).image(THREE), ["shape (3, 3) for 2 parts"]),
    (lambda: samples_per_degree(0.0, 100.0), ["pitch of 0 mm"]),
    (lambda: samples_per_degree(1.0, 0.0), ["distance of 0 mm"]),
    (lambda: filtered_xyz(np.ones((8, 8)), 10.0), ["image of shape (8, 8)", "X Y Z last"]),
    (lambda: filtered_xyz(np.ones((0, 8, 3)), 10.0), ["image of shape (0, 8, 3)"]),
    (lambda: filtered_xyz(IMAGE, 0.0), ["0 points per degree"]),
    (lambda: filtered_xyz(IMAGE, 10.0, edges="wrap"), ["'wrap'", "periodic or mirror"]),
    (lambda: visibility(check((0.5, 0.5), 1.0), XYZ, WHITE, 0.0), ["distance of 0 mm"]),
    (lambda: visibility(check((0.5, 0.5), 1.0), XYZ, [1.0, 0.0, 1.0], 100.0), ["no white"]),
    (lambda: Seen(check((0.5, 0.5), 1.0), XYZ, WHITE).vanishes_from(0.0), ["limit of 0", "0.001"]),
]


@pytest.mark.parametrize(("call", "says"), MISTAKES, ids=range(len(MISTAKES)))
def test_a_mistake_is_told_with_what_was_expected(call, says):
    with pytest.raises(InputError) as caught:
        call()
    for piece in says:
        assert piece in str(caught.value), str(caught.value)
