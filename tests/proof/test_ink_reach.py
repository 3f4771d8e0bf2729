"""What a press reaches of samples and screen colours, against a dense search, and what stands in the way.

The press is invented and made by Neugebauer's equation as written out in tests/ink_scenes.py; CIEDE2000 of the
dense search is colour-science's.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.errors import InputError
from screenproof.formats import read_characterisation
from screenproof.proof import (
    Viewing,
    ink_reach,
    lc_outline,
    match,
    on_stock_of,
    press_outlines,
    primaries_uv,
    wanted_of_codes,
    wanted_of_samples,
)
from screenproof.spectra import Grid, Samples, light, observer, weights, white_point
from screenproof.subtractive import TintLimits, fit_press
from tests.conftest import SHARED
from tests.ink_scenes import chart_csv, halftone

INKS = ("Cyan", "Magenta", "Yellow")
GRID = Grid(400.0, 700.0, 20.0)


@pytest.fixture(scope="module")
def press(tmp_path_factory):
    path = tmp_path_factory.mktemp("reach") / "press.csv"
    path.write_text(chart_csv(INKS), encoding="utf-8")
    return fit_press(read_characterisation(path), name="shop press")


@pytest.fixture(scope="module")
def kraft(tmp_path_factory):
    path = tmp_path_factory.mktemp("reach") / "kraft.csv"
    path.write_text(chart_csv(INKS, "Kraft"), encoding="utf-8")
    return fit_press(read_characterisation(path), name="kraft press")


@pytest.fixture(scope="module")
def d50():
    return Viewing(light("D50"), observer("cie1931"))


def curves(*values):
    return Samples(tuple(f"s{i}" for i in range(len(values))), reflectance=np.array(values), grid=GRID)


def lab_of(curve):
    from screenproof.appearance import xyz_to_lab

    lamp, eye = light("D50"), observer("cie1931")
    return xyz_to_lab(curve @ weights(lamp, eye, GRID), white_point(lamp, eye))


def test_what_the_press_printed_is_printable_with_its_tints(press, d50):
    tints = [(0.3, 0.55, 0.2), (0.0, 0.25, 0.8), (0.7, 0.4, 0.4)]
    samples = curves(*(halftone(row, INKS) for row in tints))
    found = ink_reach(press, wanted_of_samples(samples, d50), d50, samples.names)
    assert found.printable.all() and (found.excess == 0.0).all() and found.words == ("", "", "")
    # The model was fitted to other tints: within a percent it finds those that were printed.
    np.testing.assert_allclose(found.tints, tints, atol=0.012)
    np.testing.assert_allclose(found.coverage, np.sum(tints, axis=1), atol=0.03)
    assert "can be printed on shop press: Cyan 3" in found.sentence(0) and found.obstacles == ((), (), ())


def test_the_nearest_is_that_of_a_dense_search(press, d50, colour):
    wanted = np.array([[60.0, 70.0, 10.0], [45.0, -60.0, -30.0], [96.0, 0.0, 0.0], [20.0, 10.0, -60.0]])
    found = ink_reach(press, wanted, d50, ["a", "b", "c", "d"])
    assert not found.printable.any()
    steps = np.linspace(0.0, 1.0, 61)
    dense = press.lab(np.array(list(product(steps, repeat=3))), d50.light, d50.observer)
    for row, lab in enumerate(wanted):
        apart = colour.delta_E(lab, dense, method="CIE 2000")
        assert found.excess[row] <= apart.min() + 0.05
        near = colour.delta_E(lab, found.nearest_lab[row], method="CIE 2000")
        assert found.excess[row] == pytest.approx(float(near), abs=1e-6)


def test_screen_colours_are_brought_to_the_object_as_a_match_goes_the_other_way(press, d50):
    display = standard_display("srgb")
    samples = curves(halftone((0.3, 0.55, 0.2), INKS), halftone((0.1, 0.1, 0.3), INKS))
    shown = match(samples, display, d50, 16)
    lab, notes = wanted_of_codes(display, shown.code, 16, d50)
    np.testing.assert_allclose(lab, wanted_of_samples(samples, d50), atol=0.01)
    assert ink_reach(press, lab, d50, samples.names).printable.all() and notes == ()


@pytest.mark.parametrize("code", [[0, 0, 256], [0, 0], [0.5, 0, 0], [-1, 0, 0]])
def test_codes_that_are_none_are_refused(d50, code):
    with pytest.raises(InputError, match="three integers from 0 to 255"):
        wanted_of_codes(standard_display("srgb"), [code], 8, d50)


def test_a_kraft_stock_kills_what_white_board_prints(press, kraft, d50):
    clean = lab_of(halftone((0.5, 0.05, 0.0), INKS))
    assert ink_reach(press, clean, d50, ["sky"]).printable[0]
    found = ink_reach(kraft, clean, d50, ["sky"])
    assert not found.printable[0] and found.excess[0] > 5.0
    assert any("the stock is darker than the colour" in way for way in found.obstacles[0])
    assert any("on a white stock these inks" in way for way in found.obstacles[0])
    assert found.sentence(0).startswith("sky cannot be printed on kraft press, the nearest is ")
    # Without its darkness the stock is named by its colour.
    darker = lab_of(halftone((1.0, 0.3, 0.0), INKS))
    told = ink_reach(kraft, darker, d50, ["blue"])
    assert any(way.startswith("the stock is ") and "than white" in way for way in told.obstacles[0])


def test_a_limit_on_the_total_is_told_with_what_it_costs(press, d50):
    dark = lab_of(halftone((1.0, 1.0, 1.0), INKS))
    free = ink_reach(press, dark, d50, ["dark"])
    assert free.printable[0] and free.coverage[0] == pytest.approx(3.0, abs=0.02)
    held = ink_reach(press, dark, d50, ["dark"], limits=TintLimits(2.0, (1.0, 1.0, 1.0)))
    assert not held.printable[0] and held.coverage[0] <= 2.0 + 1e-9
    (way,) = [way for way in held.obstacles[0] if "total coverage" in way]
    assert way == "the total coverage of 200 % is reached, without that limit the nearest would be 0.0 off"
    capped = ink_reach(
        press, lab_of(halftone((1.0, 0.0, 0.0), INKS)), d50, ["c"], limits=TintLimits(3.0, (0.8, 1, 1))
    )
    assert not capped.printable[0] and any(
        "Cyan at the limit of the channel" in way for way in capped.obstacles[0]
    )


def test_a_colour_that_is_too_strong_is_told_so(press, d50):
    found = ink_reach(press, [[55.0, 95.0, 5.0]], d50, ["pink"])
    assert any(way.startswith("the inks are not as strong there, C* ") for way in found.obstacles[0])
    assert "weaker" in found.words[0]


def test_what_misses_by_less_than_can_be_seen_is_told_so(press, d50):
    edge = lab_of(halftone((1.0, 0.0, 0.0), INKS))
    found = ink_reach(press, edge + np.array([0.0, -0.4, -0.4]), d50, ["edge"])
    assert 0.02 < found.excess[0] < 0.5
    assert found.sentence(0) == f"edge just misses what shop press prints, by {found.excess[0]:.2f} CIEDE2000."


def test_a_press_known_by_xyz_answers_for_its_own_light_and_refuses_another():
    press = fit_press(read_characterisation(SHARED / "FOGRA39L.txt"))
    d50 = Viewing(light("D50"), observer("cie1931"))
    # The red and green of sRGB lie outside offset printing on coated paper: common practice, no source.
    lab, _ = wanted_of_codes(standard_display("srgb"), [[255, 0, 0], [0, 255, 0], [128, 110, 100]], 8, d50)
    found = ink_reach(press, lab, d50, ["red", "green", "taupe"])
    assert found.printable.tolist() == [False, False, True]
    assert not any("white stock" in way for ways in found.obstacles for way in ways)
    with pytest.raises(InputError, match="only known by XYZ for D50"):
        ink_reach(press, lab, Viewing(light("A"), observer("cie1931")), ["red", "green", "taupe"])


def test_the_screens_white_is_the_bare_stock_where_one_looks_so(press, kraft, d50):
    display = standard_display("srgb")
    for one in (press, kraft):
        own = on_stock_of(one, d50)
        lab, _ = wanted_of_codes(display, [[255, 255, 255]], 8, own)
        stock = one.lab(np.zeros((1, 3)))
        np.testing.assert_allclose(lab, stock, atol=1e-6)
        assert ink_reach(one, lab, own, ["white"]).printable[0]


def test_outlines_hold_what_is_printed_and_nothing_far_beyond(press, d50):
    hull, outline = press_outlines(press, d50)
    random = np.random.default_rng(5).random((4000, 3))
    lab = press.lab(random, d50.light, d50.observer)
    from matplotlib.path import Path

    from screenproof.appearance import lab_to_xyz, xyz_to_uv

    uv = np.asarray(xyz_to_uv(lab_to_xyz(lab, d50.white)))
    grown = np.array(hull) + 0.003 * (np.array(hull) - uv.mean(axis=0)) / np.linalg.norm(
        np.array(hull) - uv.mean(axis=0), axis=1, keepdims=True
    )
    assert Path(grown).contains_points(uv).mean() > 0.999
    # Along each hue, a little inside of the outline is printable and well beyond it is not.
    for hue, points in outline[::3]:
        level, chroma = max(points, key=lambda point: point[1])
        turn = np.radians(hue)
        inside, beyond = ([level, c * np.cos(turn), c * np.sin(turn)] for c in (chroma - 1.5, chroma + 3.0))
        found = ink_reach(press, [inside, beyond], d50, ["in", "out"])
        assert found.printable.tolist() == [True, False], hue


def test_outlines_have_the_form_of_a_displays(press, d50):
    hull, outline = press_outlines(press, d50)
    display = lc_outline(standard_display("srgb"), d50)
    assert [hue for hue, _ in outline] == [hue for hue, _ in display]
    assert len(hull) > 20 and all(len(point) == 2 for point in hull)
    assert np.asarray(primaries_uv(standard_display("srgb"), d50)[0]).shape == (3, 2)
