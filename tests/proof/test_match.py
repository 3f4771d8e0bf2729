from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.proof import BASES, BIT_DEPTHS, Viewing, match
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer

D50, EYE = light("D50"), observer("cie1931")


def shown_by(found, viewing, display, drive):
    view = display.seen_by(viewing.observer)
    return xyz_to_lab(viewing.bridge(view).to_reference(view.to_xyz(drive)), viewing.white)


@pytest.mark.parametrize("basis", BASES)
def test_the_drive_shows_the_sample_and_the_codes_come_near(samples, display, basis):
    viewing = Viewing(D50.with_illuminance(200), EYE, basis)
    found = match(samples, display, viewing, bits=10)
    inside = found.in_gamut
    view = display.seen_by(EYE)
    np.testing.assert_allclose(found.lab, xyz_to_lab(samples.xyz([D50], [EYE])[:, 0, 0], viewing.white))
    np.testing.assert_allclose(view.to_xyz(found.drive[inside]), found.target_xyz_cd[inside], rtol=1e-7, atol=1e-9)
    assert found.drive.min() >= 0.0 and found.drive.max() <= 1.0
    assert np.all(found.excess[inside] == 0.0) and np.all(found.excess[~inside] > 0.0)
    lab = shown_by(found, viewing, display, found.code / 1023.0)
    np.testing.assert_allclose(found.shown_lab, lab, atol=1e-9)
    np.testing.assert_allclose(found.residual, de2000(found.lab, lab), atol=1e-9)
    # Nothing that the codes show is nearer than the nearest that the display can show.
    assert np.all(found.residual >= found.excess - 2e-3)
    np.testing.assert_allclose(found.nearest_lab, shown_by(found, viewing, display, found.drive), atol=1e-6)


def test_the_cases_of_the_fixtures_have_colours_inside_and_outside(samples, d50):
    found = match(samples, standard_display("srgb"), d50)
    assert 10 <= found.in_gamut.sum() <= 50


@pytest.mark.parametrize("bits", BIT_DEPTHS)
def test_the_code_is_the_best_of_itself_and_its_26_neighbours(samples, display, d50, bits):
    few = samples.select(range(12))
    found = match(few, display, d50, bits)
    top = 2**bits - 1
    assert found.code.min() >= 0 and found.code.max() <= top
    plain = np.rint(found.drive * top)
    assert np.abs(found.code - plain).max() <= 1
    for i in range(len(few)):
        around = np.clip(plain[i] + np.array(list(product((-1, 0, 1), repeat=3))), 0, top)
        distances = de2000(found.lab[i], shown_by(found, d50, display, around / top))
        assert found.residual[i] == pytest.approx(distances.min(), abs=1e-9)


def test_more_bits_leave_less(samples, d50):
    inside = match(samples, standard_display("srgb"), d50).in_gamut
    left = [match(samples, standard_display("srgb"), d50, bits).residual[inside].mean() for bits in BIT_DEPTHS]
    assert left[0] < 0.35
    assert left[1] < left[0] / 3 and left[2] < left[1] / 3 and left[3] < left[2] / 10


def test_the_perfect_diffuser_is_full_drive(display):
    white = Samples(("white",), np.ones((1, 36)), Grid.of(np.arange(380.0, 731.0, 10.0)))
    found = match(white, display, Viewing(light("FL11"), EYE))
    # With 10 nm bands the sum of the weights is the white but for its last digits.
    assert found.excess[0] < 0.01
    # PQ holds its full white from the code of its luminance on, so the light is compared and not the code.
    view = display.seen_by(EYE)
    np.testing.assert_allclose(view.to_xyz(found.code / 255.0)[0], view.white, rtol=1e-3)


def test_a_display_with_a_black_cannot_show_what_is_darker(d50):
    ink = Samples(("black ink",), np.full((1, 36), 0.0005), Grid.of(np.arange(380.0, 731.0, 10.0)))
    dark, lit = standard_display("srgb"), standard_display("srgb").with_room(200, "D50", 0.04)
    assert match(ink, dark, d50).in_gamut[0]
    found = match(ink, lit, d50)
    assert not found.in_gamut[0]
    assert found.excess[0] > 5.0
    # The room's reflection is yellowish on this bluish screen, so a little blue brings the black nearer to grey.
    assert found.code[0].max() < 30 and found.code[0, :2].max() == 0


def test_notes_say_what_was_assumed(samples):
    viewing = Viewing(D50, observer("cie1964"), "absolute")
    notes = match(samples.select([0]), standard_display("srgb"), viewing).notes
    assert {note.kind for note in notes} == {"assumed"}
    assert any("cie1964" in note.what for note in notes) and any("diffuser" in note.what for note in notes)


def test_colorimetry_is_matched_under_its_own_light_and_refused_under_another(d50):
    xyz = np.array([[20.0, 21.0, 15.0]])
    own = Samples(("a",), colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    found = match(own, standard_display("srgb"), d50)
    np.testing.assert_allclose(found.xyz, xyz)
    assert found.in_gamut[0] and found.residual[0] < 0.5
    with pytest.raises(InputError, match="expected: light D50 and observer cie1931"):
        match(own, standard_display("srgb"), Viewing(light("A"), EYE))


def test_a_band_that_is_no_number_is_refused_with_the_samples_name(samples, d50):
    values = samples.reflectance[:3].copy()
    values[1, 4] = np.nan
    broken = Samples(("one", "two", "three"), values, samples.grid, source="inks.csv")
    with pytest.raises(InputError, match="'two'") as caught:
        match(broken, standard_display("srgb"), d50)
    assert caught.value.problems[0].file == "inks.csv"


def test_another_bit_depth_is_refused(samples, d50):
    with pytest.raises(InputError, match="8, 10, 12, 16"):
        match(samples, standard_display("srgb"), d50, bits=9)
