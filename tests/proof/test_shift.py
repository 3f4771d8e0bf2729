from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.appearance import adapt, cam16_to_ucs, de76, de2000, de_cam16ucs, xyz_to_cam16, xyz_to_lab
from screenproof.proof import BASES, ToleranceSet, Viewing, light_shift, match, screen_shift
from screenproof.spectra import Colorimetry, Samples, light, observer, white_point

D50, D65, A, FL11 = light("D50"), light("D65"), light("A"), light("FL11")
TWO, TEN, NEW = observer("cie1931"), observer("cie1964"), observer("cie2015-2")


def grey(samples):
    return Samples(("grey",), np.full((1, samples.grid.count), 0.3), samples.grid)


def test_light_shift_is_the_adapted_colour_against_the_first(samples):
    found = light_shift(samples, D65, [A, FL11], [TWO, TEN])
    assert (
        found.de00.shape == (60, 2, 2)
        and found.lights == ("A", "FL11")
        and found.observers == ("cie1931", "cie1964")
    )
    for i, lamp in enumerate((A, FL11)):
        for o, who in enumerate((TWO, TEN)):
            white = white_point(D65, who)
            moved = adapt(samples.xyz([lamp], [who])[:, 0, 0], white_point(lamp, who), white)
            first = samples.xyz([D65], [who])[:, 0, 0]
            sides = xyz_to_lab(first, white), xyz_to_lab(moved, white)
            np.testing.assert_allclose(found.de00[:, i, o], de2000(*sides), atol=1e-8)
            np.testing.assert_allclose(found.deab[:, i, o], de76(*sides), atol=1e-8)
            np.testing.assert_allclose(found.lab[:, i, o], sides[1], atol=1e-8)
            cam = [xyz_to_cam16(xyz, Viewing(D65, who).conditions()) for xyz in (first, moved)]
            ucs = de_cam16ucs(*(cam16_to_ucs(c.J, c.M, c.h) for c in cam))
            np.testing.assert_allclose(found.cam16ucs[:, i, o], ucs, atol=1e-8)
    assert found.de00.max() > 5.0


def test_a_grey_and_the_first_light_do_not_shift(samples):
    assert light_shift(grey(samples), D65, [A, FL11, D50], [TWO]).de00.max() < 0.05
    still = light_shift(samples, D65, [D65], [TWO, TEN])
    assert max(still.de00.max(), still.deab.max(), still.cam16ucs.max()) < 1e-9


def test_samples_of_colorimetry_are_refused_with_the_reason():
    samples = Samples(("a",), colorimetry=Colorimetry(np.array([[20.0, 21.0, 15.0]]), "D50", "cie1931"))
    display, viewing = modelled_display("laser"), Viewing(D50, TWO)
    matched = match(samples, display, viewing)
    for found in (
        light_shift(samples, D50, [A], [TWO]),
        screen_shift(samples, matched, display, viewing, [D50, A], [TWO]),
    ):
        assert found.observers == () and found.de00.shape == (1, found.de00.shape[1], 0)
        (refusal,) = found.refused
        assert "D50" in refusal.reason and "reflectance curve" in refusal.reason and refusal.observer is None
        assert found.figures(0) == ()
        assert found.figure(ToleranceSet("a", "cmc", match=1.0)).size == 0


@pytest.mark.parametrize("basis", BASES)
def test_in_the_viewing_light_for_its_observer_the_screen_shift_is_the_residual(samples, display, basis):
    viewing = Viewing(D50.with_illuminance(200.0), TWO, basis)
    matched = match(samples, display, viewing)
    found = screen_shift(samples, matched, display, viewing, [viewing.light], [TWO])
    np.testing.assert_allclose(found.de00[:, 0, 0], matched.residual, atol=1e-7)
    np.testing.assert_allclose(found.lab[:, 0, 0], matched.lab, atol=1e-7)
    np.testing.assert_allclose(found.lab_reference[:, 0], matched.shown_lab, atol=1e-7)


@pytest.mark.parametrize("basis", BASES)
def test_the_screen_stays_and_the_object_moves(samples, basis):
    display, viewing = modelled_display("rgb-oled"), Viewing(D50.with_illuminance(200.0), TWO, basis)
    matched = match(samples, display, viewing)
    found = screen_shift(samples, matched, display, viewing, [D50, A], [TWO, TEN])
    for o, who in enumerate((TWO, TEN)):
        here, view = viewing.seen_by(who), display.seen_by(who)
        screen = here.bridge(view).to_reference(view.to_xyz(matched.code / 255.0))
        np.testing.assert_allclose(found.xyz_reference[:, o], screen, rtol=1e-9)
        for i, lamp in enumerate((D50, A)):
            moved = here.carry(samples.xyz([lamp], [who])[:, 0, 0], lamp, who)
            np.testing.assert_allclose(found.xyz[:, i, o], moved, rtol=1e-9, atol=1e-9)
            sides = xyz_to_lab(screen, here.white), xyz_to_lab(moved, here.white)
            np.testing.assert_allclose(found.de00[:, i, o], de2000(*sides), atol=1e-7)


def test_the_light_moves_and_the_observer_moves_apart(samples):
    # Three things kept apart: nothing moves, other eyes only, another light only.
    display, viewing = modelled_display("laser"), Viewing(D50, TWO)
    inside = match(samples, display, viewing, 16)
    found = screen_shift(samples, inside, display, viewing, [D50, A], [TWO, NEW])
    shown = inside.in_gamut
    assert found.de00[shown, 0, 0].max() < 0.05
    assert found.de00[shown, 0, 1].mean() > 0.5
    assert found.de00[shown, 1, 0].mean() > 1.0


def test_a_display_without_spectra_is_refused_for_other_observers(samples):
    display, viewing = standard_display("srgb"), Viewing(D50, TWO)
    found = screen_shift(samples, match(samples, display, viewing), display, viewing, [D50, A], [TEN, TWO, NEW])
    assert found.observers == ("cie1931",) and found.de00.shape == (60, 2, 1)
    assert [refusal.observer for refusal in found.refused] == ["cie1964", "cie2015-2"]
    assert all("its spectra, which are not known" in refusal.reason for refusal in found.refused)
    assert np.isfinite(found.de00).all()


def test_the_viewings_own_observer_is_kept_with_what_was_assumed(samples):
    display, viewing = standard_display("srgb"), Viewing(D50, TEN)
    found = screen_shift(samples, match(samples, display, viewing), display, viewing, [D50], [TEN])
    assert found.observers == ("cie1964",)
    assert any(note.kind == "assumed" and "cie1964" in note.what for note in found.notes)


def test_a_stock_known_by_its_xyz_is_refused_where_it_is_not_known(samples):
    display = modelled_display("laser")
    viewing = Viewing(D50, TWO, object_white=np.array([80.0, 83.0, 66.0]))
    matched = match(samples, display, viewing)
    found = screen_shift(samples, matched, display, viewing, [D50], [TWO, TEN])
    assert found.observers == ("cie1931",) and found.refused[0].observer == "cie1964"
    assert screen_shift(samples, matched, display, viewing, [A], [TWO]).observers == ()


def test_a_stock_known_by_its_curve_never_shifts_against_its_white(samples):
    paper = Samples(
        ("paper",), 0.8 - 0.2 * np.exp(-(((samples.grid.wavelengths - 400) / 60) ** 2))[None], samples.grid
    )
    display, viewing = modelled_display("laser"), Viewing(D50, TWO, object_white=paper)
    found = screen_shift(paper, match(paper, display, viewing), display, viewing, [D50, A, FL11], [TWO, TEN])
    assert found.de00.max() < 1e-6


def test_figures_and_words_say_where_it_goes(samples):
    display, viewing = modelled_display("white-led-lcd"), Viewing(D50, TWO)
    found = screen_shift(samples, match(samples, display, viewing), display, viewing, [D50, A], [TWO])
    worst = int(found.de00[:, 1, 0].argmax())
    figures = found.figures(worst)
    assert [(f.light, f.observer) for f in figures] == [("D50", "cie1931"), ("A", "cie1931")]
    assert figures[1].de00 == pytest.approx(found.de00[worst, 1, 0])
    assert figures[1].words == found.words(worst, 1, 0) != ""
    lighter = found.lab[worst, 1, 0, 0] > found.lab_reference[worst, 0, 0]
    if abs(found.lab[worst, 1, 0, 0] - found.lab_reference[worst, 0, 0]) > 1.0:
        assert ("lighter" if lighter else "darker") in figures[1].words


@pytest.mark.parametrize("metric", ["de00", "deab", "cmc", "cam16ucs"])
def test_a_shift_in_the_metric_of_a_tolerance(samples, metric):
    from screenproof.appearance import de_cmc

    found = light_shift(samples, D65, [A, FL11], [TWO, TEN])
    figures = found.figure(ToleranceSet("a", metric, light_shift=1.0))
    if metric == "cmc":
        expected = de_cmc(found.lab_reference[:, None], found.lab, 2.0, 1.0)
    else:
        expected = getattr(found, metric)
    np.testing.assert_allclose(figures, expected, atol=1e-7)
