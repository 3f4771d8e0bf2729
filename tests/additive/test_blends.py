"""Blends by area: averages, discs, and the areas that match a colour, against other ways to the same numbers."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from scipy.optimize import linprog, minimize

from screenproof.additive import (
    area_average,
    blended,
    disc,
    flicker,
    match_areas,
    sector_angles,
    sets_of_sectors,
    spinning_cautions,
)
from screenproof.additive.blends import blend_of, checked_areas, to_degrees
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer, white_point
from tests.additive.blend_papers import CURVES, GRID, papers

D50, EYE = light("D50"), observer("cie1931")
WHITE = white_point(D50, EYE)


def lab_of(samples: Samples, under=D50, eye=EYE):
    return xyz_to_lab(samples.xyz([under], [eye])[:, 0, 0], white_point(under, eye))


def test_a_check_of_blue_and_yellow_is_the_average_of_the_curves_and_the_disc_the_same_grey():
    """Blue and yellow overprint to a green and blend to a grey: common practice, no source."""
    two = papers("Blue", "Yellow")
    check = blended(two, {"Blue": 0.5, "Yellow": 0.5})
    spun = disc(two, {"Blue": 180.0, "Yellow": 180.0})
    average = 0.5 * (CURVES["Blue"] + CURVES["Yellow"])
    np.testing.assert_allclose(check.reflectance[0], average, atol=1e-15)
    np.testing.assert_array_equal(check.reflectance, spun.reflectance)
    lab = lab_of(check)[0]
    assert np.hypot(lab[1], lab[2]) < 0.01  # the white's own rounding on this grid
    chroma = np.hypot(*lab_of(two)[:, 1:].T)
    assert (chroma > 50).all()


def test_the_same_parts_on_top_of_each_other_are_a_green_not_a_grey():
    """What the blend is not: both absorb, so that only what both leave is left."""
    product = Samples(("overprint",), CURVES["Blue"] * CURVES["Yellow"] / 0.88, GRID)
    lightness, a, b = lab_of(product)[0]
    assert a < -10 and abs(b) < 5
    assert lightness < lab_of(blended(papers(), {"Blue": 0.5, "Yellow": 0.5}))[0, 0] - 30


def test_a_disc_is_what_a_still_eye_gathers_over_a_turn():
    """The time average at one point of a turning disc, sector by sector in small steps (Talbot-Plateau)."""
    angles = {"Blue": 100.0, "Yellow": 37.5, "Black": 222.5}
    three = papers(*angles)
    steps = (np.arange(7200) + 0.5) / 20.0
    passing = np.searchsorted(np.cumsum(list(angles.values())), steps)
    gathered = three.reflectance[passing].mean(axis=0)
    np.testing.assert_allclose(disc(three, angles).reflectance[0], gathered, atol=1e-12)


def test_xyz_of_the_blend_is_that_of_colour_science_for_the_averaged_curve(colour):
    areas = {"Blue": 0.2, "Leaf green": 0.35, "Vermilion": 0.45}
    ours = blended(papers(), areas).xyz([D50], [EYE])[0, 0, 0]
    curve = sum(area * CURVES[name] for name, area in areas.items())
    spectrum = colour.SpectralDistribution(dict(zip(GRID.wavelengths, curve, strict=True)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.sd_to_XYZ(
            spectrum, colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"], colour.SDS_ILLUMINANTS["D50"]
        )
    np.testing.assert_allclose(ours, theirs, atol=0.02)  # E308 tables are carried onto the grid differently
    parts = papers(*areas).xyz([D50], [EYE])[:, 0, 0]
    np.testing.assert_allclose(area_average(parts, list(areas.values())), ours, atol=1e-12)


def test_area_averages_broadcast_and_are_linear():
    rng = np.random.default_rng(5)
    values, areas = rng.uniform(0, 1, (4, 31)), rng.dirichlet(np.ones(4), (2, 3))
    found = area_average(values, areas)
    assert found.shape == (2, 3, 31)
    for index in np.ndindex(2, 3):
        np.testing.assert_allclose(found[index], sum(areas[index][i] * values[i] for i in range(4)), atol=1e-15)
    np.testing.assert_allclose(to_degrees(areas).sum(axis=-1), 360.0)


def test_xyz_alone_blends_under_its_own_light_and_no_other():
    xyz = papers("Blue", "Yellow").xyz([D50], [EYE])[:, 0, 0]
    only = Samples(("Blue", "Yellow"), colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    blend = blended(only, {"Yellow": 0.25, "Blue": 0.75})
    assert not blend.is_spectral
    np.testing.assert_allclose(blend.xyz([D50], [EYE])[0, 0, 0], 0.75 * xyz[0] + 0.25 * xyz[1])
    with pytest.raises(InputError, match="cannot be known"):
        blend.xyz([light("A")], [EYE])


def test_a_rounding_error_of_six_decimals_is_spread():
    areas = checked_areas([0.333333, 0.333333, 0.333333])
    assert areas.sum() == pytest.approx(1.0, abs=1e-15)


# --- the areas that match a colour ---

FOUR = ("Vermilion", "Leaf green", "Blue", "Black")


def random_scene(rng, count):
    scale = WHITE / 100.0
    return rng.uniform(2.0, 90.0, (count, 3)) * scale


def test_sector_angles_are_the_solution_of_the_linear_equations():
    target, four = papers("Olive"), papers(*FOUR)
    match = sector_angles(target, four, D50, EYE)
    rows = np.vstack([four.xyz([D50], [EYE])[:, 0, 0].T, np.ones(4)])
    solved = np.linalg.solve(rows, np.append(target.xyz([D50], [EYE])[0, 0, 0], 1.0))
    assert (solved > 0).all()
    np.testing.assert_allclose(match.degrees, 360.0 * solved, atol=1e-8)
    assert match.exact and match.reason is None and match.free == 0
    assert match.degrees.sum() == pytest.approx(360.0)
    spun = disc(four, dict(zip(FOUR, match.degrees, strict=True)))
    assert float(de2000(lab_of(spun), lab_of(target))[0]) < 1e-6


def test_the_match_is_a_metamer_and_breaks_in_another_light():
    target, four = papers("Olive"), papers(*FOUR)
    match = sector_angles(target, four, D50, EYE)
    blend = blend_of(four, match.areas)
    for other in ("A", "FL11"):
        assert float(de2000(lab_of(blend, light(other)), lab_of(target, light(other)))[0]) > 2.0


@pytest.mark.parametrize("count", [2, 3, 4])
def test_mixtures_of_up_to_four_papers_are_found_again(count):
    rng = np.random.default_rng(count)
    for _ in range(50):
        parts, areas = random_scene(rng, count), rng.dirichlet(np.ones(count))
        match = match_areas(areas @ parts, parts, WHITE)
        assert match.exact and match.de00 < 1e-6
        np.testing.assert_allclose(match.areas, areas, atol=1e-8)


def test_reachable_is_what_linear_programming_says():
    """scipy's simplex knows nothing of our solver: feasible or not for 2 to 7 papers."""
    rng = np.random.default_rng(11)
    said = []
    for index in range(80):
        count = int(rng.integers(2, 8))
        parts = random_scene(rng, count)
        # Half of the targets lie among the papers, some near their border.
        inside = rng.dirichlet(np.ones(count)) @ parts
        target = inside if index % 2 else 0.5 * (inside + random_scene(rng, 1)[0])
        rows = np.vstack([parts.T, np.ones(count)])
        feasible = linprog(np.zeros(count), A_eq=rows, b_eq=np.append(target, 1.0), bounds=(0, None)).status == 0
        match = match_areas(target, parts, WHITE)
        assert match.exact == feasible, (index, count)
        assert (match.areas >= 0).all() and match.areas.sum() == pytest.approx(1.0, abs=1e-12)
        said.append(feasible)
    assert 40 < sum(said) < 72


def test_what_cannot_be_matched_gets_the_nearest_blend_in_ciede2000():
    """Against a general-purpose optimiser over all areas at once, from the best of thousands of random blends."""
    rng = np.random.default_rng(2)
    worst, outside = 0.0, 0
    for _ in range(40):
        count = int(rng.integers(2, 8))
        parts, target = random_scene(rng, count), random_scene(rng, 1)[0]
        match = match_areas(target, parts, WHITE)
        if match.exact:
            continue
        outside += 1
        lab = xyz_to_lab(target, WHITE)

        def away(areas, lab=lab, parts=parts):
            return float(de2000(lab, xyz_to_lab(areas @ parts, WHITE)))

        tried = rng.dirichlet(np.full(count, 0.5), 3000)
        figures = de2000(lab, xyz_to_lab(tried @ parts, WHITE))
        sums = {"type": "eq", "fun": lambda areas: areas.sum() - 1.0}
        best = min(
            minimize(away, tried[i], bounds=[(0, 1)] * count, constraints=sums, method="SLSQP").fun
            for i in np.argsort(figures)[:4]
        )
        worst = max(worst, match.de00 - best)
    assert outside > 20
    assert worst < 1e-5


def test_of_many_exact_areas_those_with_the_nearest_curve_are_taken():
    """Six papers leave freedom; scipy's SLSQP solves the same quadratic problem."""
    names = ("Vermilion", "Leaf green", "Blue", "Yellow", "White", "Black")
    target, six = papers("Olive"), papers(*names)
    match = sector_angles(target, six, D50, EYE)
    assert match.exact and match.free == 2 and match.linear is None
    xyz = six.xyz([D50], [EYE])[:, 0, 0]
    rows, wanted = np.vstack([xyz.T / 100, np.ones(6)]), np.append(target.xyz([D50], [EYE])[0, 0, 0] / 100, 1.0)

    def apart(areas):
        return float(((six.reflectance.T @ areas - target.reflectance[0]) ** 2).sum())

    best = minimize(
        apart,
        np.full(6, 1 / 6),
        bounds=[(0, 1)] * 6,
        constraints={"type": "eq", "fun": lambda areas: rows @ areas - wanted},
        method="SLSQP",
        options={"ftol": 1e-15, "maxiter": 500},
    )
    assert apart(match.areas) <= best.fun + 1e-6
    four = sector_angles(target, papers("Vermilion", "Leaf green", "Blue", "Black"), D50, EYE)
    others = np.zeros(6)
    others[[0, 1, 2, 5]] = four.areas
    assert apart(match.areas) < apart(others)


def test_without_curves_the_most_even_areas_are_taken_and_a_doubled_paper_shares_its_area():
    xyz = papers(*FOUR).xyz([D50], [EYE])[:, 0, 0]
    target = papers("Olive").xyz([D50], [EYE])[0, 0, 0]
    single = match_areas(target, xyz, WHITE)
    doubled = match_areas(target, np.vstack([xyz, xyz[1:2]]), WHITE)
    assert doubled.exact and doubled.free == 1
    np.testing.assert_allclose(doubled.areas[[1, 4]], 0.5 * single.areas[1], atol=1e-6)
    np.testing.assert_allclose(doubled.areas[[0, 2, 3]], single.areas[[0, 2, 3]], atol=1e-6)


@pytest.mark.parametrize(
    ("of", "says"),
    [
        (("Vermilion", "Yellow"), ["one line only", "CIEDE2000"]),
        (("Vermilion", "Yellow", "White"), ["one plane only", "lighter"]),
        (("Blue", "Leaf green", "White", "Black"), ["negative area", "Blue -", "redder"]),
        (("Vermilion", "Leaf green", "Yellow", "Blue", "White", "Black"), ["outside", "stronger"]),
    ],
)
def test_the_reason_says_what_stands_in_the_way(of, says):
    match = sector_angles(papers("Signal orange"), papers(*of), D50, EYE)
    assert not match.exact and match.de00 > 1.0
    for piece in says:
        assert piece in match.reason, match.reason


def test_forty_papers_are_done_too():
    rng = np.random.default_rng(8)
    parts = random_scene(rng, 40)
    inside = match_areas(rng.dirichlet(np.ones(40)) @ parts, parts, WHITE)
    assert inside.exact and inside.free == 36
    outside = match_areas(np.array([1.0, 1.0, 1.0]) * 99.0, parts, WHITE)
    lab = xyz_to_lab(outside.target_xyz, WHITE)
    tried = xyz_to_lab(rng.dirichlet(np.full(40, 0.05), 20000) @ parts, WHITE)
    assert not outside.exact and outside.de00 <= float(de2000(lab, tried).min())


def test_how_much_a_degree_counts_is_what_a_degree_does():
    match = sector_angles(papers("Olive"), papers(*FOUR), D50, EYE)
    moves = []
    for i in range(4):
        for j in range(4):
            if i != j:
                degrees = match.degrees.copy()
                degrees[i] -= 1.0
                degrees[j] += 1.0
                spun = disc(papers(*FOUR), dict(zip(FOUR, degrees, strict=True)))
                moves.append(float(de2000(match.lab, lab_of(spun)[0])))
    assert match.per_degree == pytest.approx(max(moves), rel=1e-9)
    assert 0.1 < match.per_degree < 1.0


# --- the spinning disc ---


def test_flicker_is_revolutions_times_sets_of_sectors():
    slow = flicker(1500.0)
    assert slow.frequency_hz == 25.0 and not slow.fused and slow.flashes and slow.fusing_rpm == 3600.0
    assert sets_of_sectors(12, 4) == 3
    fast = flicker(1500.0, sets_of_sectors(12, 4))
    assert fast.frequency_hz == 75.0 and fast.fused and not fast.flashes and fast.fusing_rpm == 1200.0
    assert not flicker(120.0).flashes  # two in a second
    assert flicker(1500.0).luminances is None and flicker(1500.0).strong is None


def test_luminances_are_those_of_a_matt_surface_in_the_light():
    """ISO 3664's levels on a stock of Y = 87.6: 139.42 cd/m2 at 500 lx, 557.68 at 2000 lx (derived)."""
    for lux, printed in ((500.0, 139.42), (2000.0, 557.68)):
        found = flicker(1000.0, luminous=[4.0, 87.6], lux=lux)
        assert found.luminances[1] == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("luminous", "lux", "strong"),
    [
        ((3.0, 80.0), 500.0, True),
        ((3.0, 80.0), 50.0, False),  # 12.3 cd/m2 apart
        ((60.0, 90.0), 1000.0, False),  # the darker at 191 cd/m2
        ((40.0, 47.0), 1000.0, True),  # 22.3 apart, the darker at 127
    ],
)
def test_a_strong_flash_is_twenty_candela_apart_with_the_darker_below_160(luminous, lux, strong):
    assert flicker(600.0, luminous=luminous, lux=lux).strong is strong


def test_a_disc_carries_its_cautions():
    notes = spinning_cautions()
    assert all(note.kind == "caution" for note in notes)
    text = " ".join(note.what for note in notes)
    for piece in ("fingers", "guard", "epilepsy", "BT.1702", "local code", "licensed practice"):
        assert piece in text


# --- what cannot be used ---

TWO = papers("Blue", "Yellow")
MISTAKES = [
    (lambda: blended(TWO, {"Blue": 0.5, "Yellow": 0.4}), ["sum to 0.9", "a sum of 1", "0.1 has no part"]),
    (lambda: blended(TWO, {"Blue": 0.7, "Yellow": 0.4}), ["sum to 1.1", "0.1 is too much", "divide each by 1.1"]),
    (lambda: blended(TWO, {"Blue": 50.0, "Yellow": 50.0}), ["sum to 100", "divide percentages by 100"]),
    (lambda: blended(TWO, {"Blue": 180.0, "Yellow": 180.0}), ["sum to 360", "divide degrees by 360"]),
    (lambda: blended(TWO, {"Blue": 0.0, "Yellow": 0.0}), ["sum to 0", "give the areas"]),
    (lambda: blended(TWO, {"Blue": 1.2, "Yellow": -0.2}), ["Yellow", "area of -0.2", "0 or more"]),
    (lambda: blended(TWO, {"Blue": float("nan"), "Yellow": 0.5}), ["Blue", "nan"]),
    (lambda: blended(TWO, {"Bleu": 0.5, "Yelow": 0.5}), ["'Bleu'", "Blue", "'Yelow'", "Yellow"]),
    (lambda: blended(TWO, {}), ["no part"]),
    (lambda: disc(TWO, {"Blue": 180.0, "Yellow": 90.0}), ["sum to 270 degrees", "90 degrees has no part"]),
    (lambda: area_average(np.ones(3), [0.5, 0.5]), ["one row for each part"]),
    (lambda: area_average(np.ones((3, 31)), [0.5, 0.5]), ["2 areas for 3 parts"]),
    (lambda: checked_areas(0.5), ["areas of shape ()"]),
    (lambda: checked_areas([0.5, 0.5], ["a", "b", "c"]), ["one area for each of a, b, c"]),
    (lambda: match_areas(WHITE, [WHITE], WHITE), ["1 paper(s)", "two or more"]),
    (lambda: match_areas(WHITE, np.ones((4, 2)), WHITE), ["papers of shape (4, 2)"]),
    (lambda: match_areas([np.nan, 1.0, 1.0], np.ones((4, 3)), WHITE), ["finite"]),
    (lambda: match_areas(WHITE, np.ones((4, 3)), [0.0, 1.0, 1.0]), ["no white"]),
    (lambda: sector_angles(TWO, papers(*FOUR), D50, EYE), ["2 targets", "one sample"]),
    (lambda: flicker(0.0), ["0 revolutions", "above 0"]),
    (lambda: flicker(float("inf")), ["inf revolutions"]),
    (lambda: flicker(100.0, 0), ["0 sets of sectors"]),
    (lambda: flicker(100.0, luminous=[1.0, 2.0], lux=-5.0), ["illuminance of -5 lx"]),
    (lambda: sets_of_sectors(7, 3), ["7 sectors for 3 parts", "multiple of 3", "cut 6 sectors"]),
    (lambda: sets_of_sectors(2, 3), ["2 sectors for 3 parts", "cut 3 sectors"]),
]


@pytest.mark.parametrize(("call", "says"), MISTAKES, ids=range(len(MISTAKES)))
def test_a_mistake_is_told_with_what_was_expected(call, says):
    with pytest.raises(InputError) as caught:
        call()
    for piece in says:
        assert piece in str(caught.value), str(caught.value)


def test_papers_on_another_grid_than_the_target_still_match():
    """The match is in XYZ: curves on unlike grids are never put on one."""
    fine = Grid(400.0, 700.0, 5.0)
    olive = np.interp(fine.wavelengths, GRID.wavelengths, CURVES["Olive"])
    names = ("Vermilion", "Leaf green", "Blue", "Yellow", "White", "Black")
    match = sector_angles(Samples(("Olive",), olive, fine), papers(*names), D50, EYE)
    assert match.exact and match.de00 < 1e-6
