"""The fit finds the truth behind noisy readings of displays that add."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import Readings, fit_display
from screenproof.spectra import emission_xyz, observer
from tests.additive.fit_scenes import (
    BLACKS,
    CURVES,
    GRID,
    LEVEL,
    SRGB_MATRIX,
    additive,
    apart,
    bands,
    drives,
    noisy,
    noisy_spectra,
    unseen,
)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("name", sorted(CURVES))
def test_0_3_percent_noise_is_recovered_within_half_a_ciede2000(name, seed):
    # 140 readings of 124 colours: ramps and greys of 17 steps, a cube of 4 x 4 x 4, and repeats.
    truth = additive(name)
    display = fit_display(noisy(truth, drives(), seed), name)
    white = truth(np.ones((1, 3)))[0]
    error = apart(display.seen_by().to_xyz(unseen()), truth(unseen()), white)
    assert display.fit.model == "matrix"
    # The bar is 0.5; 0.05 to 0.16 was measured over 30 seeds.
    assert np.percentile(error, 95) < 0.2
    dark = 0.15 * unseen()
    assert np.percentile(apart(display.seen_by().to_xyz(dark), truth(dark), white), 95) < 0.5


@pytest.mark.parametrize("name", sorted(CURVES))
def test_matrix_black_and_curves_are_those_of_the_display(name):
    display = fit_display(noisy(additive(name), drives(), 5), name)
    view = display.seen_by()
    assert np.allclose(view.matrix, SRGB_MATRIX * LEVEL, rtol=0.01, atol=0.2)
    assert np.allclose(view.black, BLACKS[name], rtol=0.02, atol=1e-3)
    drive = np.linspace(0.0, 1.0, 41)[:, None] * np.ones(3)
    assert np.abs(view.curves.forward(drive) - CURVES[name](drive)).max() < 0.004
    assert np.all(np.diff(view.curves.forward(drive), axis=0) > 0)


def test_readings_without_noise_leave_almost_nothing():
    truth = additive("gamma")
    display = fit_display(Readings(drives(33), truth(drives(33))), "exact")
    error = apart(display.seen_by().to_xyz(unseen()), truth(unseen()), truth(np.ones((1, 3)))[0])
    assert error.max() < 0.02
    assert display.fit.held_out.mean < 0.02


def test_the_inverse_of_a_fitted_display_is_exact():
    display = fit_display(noisy(additive("s-shaped"), drives(), 4), "s")
    drive, inside = display.seen_by().to_drive(display.seen_by().to_xyz(unseen()))
    assert inside.all()
    assert np.abs(drive - unseen()).max() < 1e-9


@pytest.mark.parametrize("name", sorted(CURVES))
def test_spectral_readings_make_a_display_for_any_observer(name):
    primaries = bands()
    black = 6e-4 * primaries.sum(axis=0) + 5e-4 * primaries[2]

    def truth(drive: np.ndarray) -> np.ndarray:
        return CURVES[name](drive) @ primaries + black

    display = fit_display(noisy_spectra(truth, drives(), 7), name)
    assert display.spectral and display.fit.spectral
    full = truth(np.ones((1, 3)))
    for who in ("cie1931", "cie1964", "cie2015-10"):
        eye = observer(who)
        true, white = emission_xyz(truth(unseen()), GRID, eye), emission_xyz(full, GRID, eye)[0]
        # The bar is 0.5; 0.11 to 0.30 was measured over 8 seeds.
        assert np.percentile(apart(display.seen_by(eye).to_xyz(unseen()), true, white), 95) < 0.35
    assert np.allclose(display.spectrum(np.ones((1, 3))), full, atol=0.01 * full.max())


def test_published_tube_primaries_come_back_from_readings(colour):
    # Brainard 1997, as colour-science carries it: measured spectra of a colour tube's phosphors.
    tube = colour.MSDS_DISPLAY_PRIMARIES["Typical CRT Brainard 1997"]
    from screenproof.spectra import Grid

    grid = Grid.of(tube.wavelengths)
    primaries = tube.values.T * 1e-3
    drive = drives()
    spectra = drive**2.4 @ primaries
    generator = np.random.default_rng(8)
    readings = Readings(
        drive, spectra=spectra * (1 + 0.003 * generator.standard_normal((len(drive), 1))), grid=grid
    )
    display = fit_display(readings, "tube")
    assert display.fit.model == "matrix"
    assert np.allclose(display.spectrum(np.eye(3)), primaries, atol=0.004 * primaries.max())
    assert np.allclose(display.fit.gammas, 2.4, atol=0.02)


def test_the_order_of_readings_and_repeats_do_not_matter():
    readings = noisy(additive("gamma"), drives(), 11)
    order = np.random.default_rng(0).permutation(len(readings))
    shuffled = Readings(readings.drive[order], readings.xyz_cd[order])
    first, second = fit_display(readings, "a"), fit_display(shuffled, "a")
    told = first.seen_by().to_xyz(unseen()), second.seen_by().to_xyz(unseen())
    assert np.allclose(*told, rtol=1e-4)
    assert first.fit.patches == second.fit.patches == 124


def test_codes_and_drives_are_the_same_readings():
    truth = additive("gamma")
    code = np.round(drives() * 1023)
    by_code = Readings.from_codes(code, 10, xyz_cd=truth(code / 1023))
    by_drive = Readings(code / 1023, truth(code / 1023))
    told = [fit_display(r, "x").seen_by().to_xyz(unseen()) for r in (by_code, by_drive)]
    assert np.array_equal(*told)


def test_xyz_of_another_observer_are_kept_as_such():
    readings = noisy(additive("gamma"), drives(), 2)
    other = Readings(readings.drive, readings.xyz_cd, observer="cie1964")
    display = fit_display(other, "ten degrees")
    assert display.observer_name == "cie1964" and not display.spectral
    assert display.seen_by(observer("cie1964")).notes == ()
    assert display.seen_by(observer("cie1931")).notes[0].kind == "assumed"


UNEVEN = {
    "sparse at the top": [0, 16, 32, 48, 64, 96, 128, 160, 192, 224, 240, 255],
    "dense in the dark": [0, 4, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 255],
    "doubling": [0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 40, 48, 64, 80, 96, 128, 160, 192, 224, 255],
}


@pytest.mark.parametrize("name", sorted(UNEVEN))
def test_uneven_ramps_are_no_dependence_of_channels(name):
    steps = np.array(UNEVEN[name]) / 255.0
    mixtures = np.random.default_rng(5).integers(0, 256, (60, 3)) / 255.0
    rows = [level * axis for axis in [*np.eye(3), np.ones(3)] for level in steps]
    truth = additive("gamma")
    drive = np.vstack([rows, mixtures, np.ones((2, 3))])
    white = truth(np.ones((1, 3)))[0]
    report = fit_display(Readings(drive, truth(drive)), "uneven").fit
    # The truth adds exactly: what is left are the curves between the steps, most of all below the first.
    assert report.channel_independence_failure.mean < 0.02
    assert report.channel_independence_failure.max < 0.2
    # Without mixtures the ramps alone tell the curves between their steps.
    alone = fit_display(Readings(drive[: len(rows)], truth(drive[: len(rows)])), "ramps").seen_by()
    assert np.percentile(apart(alone.to_xyz(unseen()), truth(unseen()), white), 95) < 0.1
