"""What the fit reports: held-out errors, repeatability, failures, and the notes on readings that are odd."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.additive import Readings, fit_display
from tests.additive.fit_scenes import (
    SRGB_MATRIX,
    additive,
    apart,
    crosstalk,
    drives,
    noisy,
    power_limited,
    unseen,
    white_pixel,
)

TABLES = {"white pixel": white_pixel, "power limited": power_limited, "crosstalk": crosstalk}


@pytest.mark.parametrize("name", sorted(TABLES))
def test_a_display_that_does_not_add_is_noticed_and_gets_a_table(name):
    truth = TABLES[name]
    display = fit_display(noisy(truth, drives(17, 6), 3), name)
    report = display.fit
    assert report.model == "table"
    assert report.table_held_out.mean < 0.5 * report.matrix_held_out.mean
    assert report.held_out == report.table_held_out
    assert any("does not add" in note.what for note in display.notes)
    white = truth(np.ones((1, 3)))[0]
    error = apart(display.seen_by().to_xyz(unseen()), truth(unseen()), white)
    assert error.mean() < 0.35 and np.percentile(error, 95) < 0.8
    # The table is far better than the matrix on colours that neither saw.
    assert error.mean() < 0.35 * report.matrix_held_out.mean


def test_a_table_can_be_inverted():
    display = fit_display(noisy(white_pixel, drives(9, 4), 3), "white pixel")
    assert display.fit.model == "table"
    drive = 0.05 + 0.9 * unseen(100)
    view = display.seen_by()
    back, inside = view.to_drive(view.to_xyz(drive))
    assert inside.all()
    assert np.abs(view.to_xyz(back) - view.to_xyz(drive)).max() < 1e-6 * view.white[1]


def test_a_spectral_table_serves_every_observer():
    from screenproof.spectra import emission_xyz, observer
    from tests.additive.fit_scenes import GRID, bands, noisy_spectra

    nm = GRID.wavelengths
    extra = np.exp(-0.5 * ((nm - 455) / 10) ** 2) * 9e-4 + np.exp(-0.5 * ((nm - 560) / 50) ** 2) * 7e-4

    def truth(drive: np.ndarray) -> np.ndarray:
        linear = drive**2.2
        return linear @ bands() + linear.min(axis=1, keepdims=True) ** 1.1 * extra + 1e-3 * bands().sum(axis=0)

    display = fit_display(noisy_spectra(truth, drives(13, 4), 6), "white pixel")
    assert display.fit.model == "table" and display.spectral
    for who in ("cie1931", "cie2015-10"):
        eye = observer(who)
        true, white = emission_xyz(truth(unseen()), GRID, eye), emission_xyz(truth(np.ones((1, 3))), GRID, eye)[0]
        error = apart(display.seen_by(eye).to_xyz(unseen()), true, white)
        assert np.percentile(error, 95) < 0.6
    # The white pixel's own spectrum is in the display's white.
    assert np.abs(display.spectrum(np.ones((1, 3)))[0] - truth(np.ones((1, 3)))[0]).max() < 0.02 * extra.max()


def test_the_failures_are_those_that_were_put_in():
    report = fit_display(Readings(drives(), white_pixel(drives())), "white pixel").fit
    # The white has 0.35 x 1.05 of the primaries' luminance more than their sum.
    expected = 100.0 * ((120.0 + 0.1) / (120.0 + 0.1 + 0.35 * 1.05 * 120.0) - 1.0)
    assert report.additivity_failure.luminance_percent == pytest.approx(expected, abs=0.01)
    assert report.additivity_failure.de00 > 5
    assert min(report.channel_independence_failure.channel_percent) > 25
    plain = fit_display(noisy(additive("gamma"), drives(), 1), "gamma").fit
    assert abs(plain.additivity_failure.luminance_percent) < 1.0
    assert max(abs(change) for change in plain.channel_independence_failure.channel_percent) < 1.0
    assert plain.channel_independence_failure.mean < 0.6


def test_the_held_out_error_is_honest():
    """It must be near the error on new readings, not the smaller one of readings that were fitted."""
    truth = additive("bt1886")
    display = fit_display(noisy(truth, drives(), 21), "x")
    fresh = noisy(truth, unseen(2000), 99)
    white = truth(np.ones((1, 3)))[0]
    error = apart(display.seen_by().to_xyz(fresh.drive), fresh.xyz_cd, white)
    mixtures = display.fit.held_out
    assert 0.4 * error.mean() < mixtures.mean < 1.6 * error.mean()
    # White, black, primaries and their full mixtures are always fitted: 8 of the 124.
    assert mixtures.count == display.fit.patches - 8


def test_repeatability_is_told_from_repeats():
    drive = np.vstack([drives(), np.repeat(unseen(20), 6, axis=0)])
    report = fit_display(noisy(additive("gamma"), drive, 4), "x").fit
    assert report.repeatability_percent == pytest.approx(0.3, rel=0.15)
    lone = np.unique(drives().round(9), axis=0)
    silent = fit_display(noisy(additive("gamma"), lone, 4), "x")
    assert silent.fit.repeatability_percent is None
    assert any("nothing was read twice" in note.what for note in silent.notes)


def test_a_falling_ramp_is_said_with_its_patches_and_made_monotone():
    drive = drives()
    truth = additive("gamma")(drive)
    where = np.flatnonzero((drive == [0.0, 0.625, 0.0]).all(axis=1))
    truth[where] *= 0.7
    names = tuple(f"patch {i}" for i in range(len(drive)))
    display = fit_display(Readings(drive, truth, names=names), "x")
    note = next(note for note in display.notes if "falls" in note.what)
    assert note.kind == "odd" and note.about == "green"
    assert "drive 0.5625 to 0.625" in note.what and f"patch {where[0]}" in note.what
    assert display.fit.monotone == (True, False, True)
    view = display.seen_by()
    assert np.all(np.diff(view.curves.forward(np.linspace(0, 1, 500)[:, None] * np.ones(3)), axis=0) >= 0)


def test_a_fall_within_the_noise_is_information():
    steps = np.linspace(0.0, 1.0, 129)
    rows = [level * np.eye(3)[c] for c in range(3) for level in steps]
    drive = np.vstack([rows, drives(5, 3), np.repeat([[0.5, 0.5, 0.5], [1, 1, 1]], 8, axis=0)])
    display = fit_display(noisy(additive("gamma"), drive, 12, percent=1.0), "x")
    falls = [note for note in display.notes if "falls" in note.what]
    assert falls and all(note.kind == "info" for note in falls)
    assert display.fit.monotone == (True, True, True)


def test_a_slip_in_one_patch_is_said():
    readings = noisy(additive("gamma"), drives(), 3)
    xyz = readings.xyz_cd.copy()
    where = int(np.flatnonzero(np.abs(readings.drive - [1 / 3, 2 / 3, 1 / 3]).max(axis=1) < 1e-9)[0])
    xyz[where] *= [1.6, 0.9, 1.0]
    display = fit_display(Readings(readings.drive, xyz), "x")
    note = next(note for note in display.notes if "contradict" in note.what)
    assert "0.3333 0.6667 0.3333" in note.what and note.mend == "read these patches again"


def test_a_steep_curve_is_no_slip():
    drive = drives()
    display = fit_display(Readings(drive, drive**0.5 @ (SRGB_MATRIX.T * 120.0) + 0.1), "steep")
    assert not any("contradict" in note.what for note in display.notes)


def test_an_unsteady_display_is_said():
    drive = np.vstack([drives(), np.repeat(unseen(5), 8, axis=0)])
    generator = np.random.default_rng(1)
    wavering = additive("gamma")(drive) * (1 + 0.06 * generator.standard_normal((len(drive), 1)))
    display = fit_display(Readings(drive, wavering), "x")
    note = next(note for note in display.notes if "differ by" in note.what)
    assert note.kind == "odd" and "warm up" in note.mend


def test_many_readings_are_interpolated_from_neighbours(monkeypatch):
    from screenproof.additive import correction
    from screenproof.additive.patches import patches_of
    from screenproof.additive.table_fit import fit_table

    patches = patches_of(noisy(power_limited, drives(17, 6), 3))
    white = power_limited(np.ones((1, 3)))[0]

    def error() -> float:
        told = fit_table(patches, np.ones(len(patches), dtype=bool), 0.01).to_xyz(unseen())
        return float(apart(told, power_limited(unseen()), white).mean())

    at_once = error()
    monkeypatch.setattr(correction, "_MOST_AT_ONCE", 150)
    monkeypatch.setattr(correction, "_MOST_FOR_CHOICE", 120)
    assert at_once < 0.35 and error() < 1.3 * at_once


def test_what_was_not_read_is_said():
    drive = np.array([row for row in drives() if row.any()])
    display = fit_display(noisy(additive("gamma"), drive, 3), "x")
    assert any("no black was read" in note.what for note in display.notes)
    drive = np.array([row for row in drives() if not (row.max() == 1.0 and np.count_nonzero(row) == 1)])
    display = fit_display(noisy(additive("gamma"), drive, 3), "x")
    assert display.fit.additivity_failure is None
    assert any("full red, green, blue alone was not read" in note.what for note in display.notes)


def test_the_report_is_plain_data():
    report = fit_display(noisy(white_pixel, drives(), 3), "x").fit
    plain = json.loads(json.dumps(report.as_dict()))
    assert plain["model"] == "table"
    assert set(plain["held_out"]) == {"mean", "p95", "max", "count", "worst"}
    assert plain["black"][1] == pytest.approx(0.1, rel=0.05)
    assert plain["notes"] and all(isinstance(note, str) for note in plain["notes"])


def test_the_same_seed_gives_the_same_display():
    readings = noisy(white_pixel, drives(9, 3), 3)
    first, second = (fit_display(readings, "x", seed=4) for _ in range(2))
    assert np.array_equal(first.seen_by().to_xyz(unseen()), second.seen_by().to_xyz(unseen()))
    assert first.fit.model == "table" and first.fit.held_out == second.fit.held_out
    assert fit_display(readings, "x", seed=5).fit.held_out != first.fit.held_out


def without_mixtures(steps: int = 17) -> np.ndarray:
    """Ramps, greys and repeats, and no colour between."""
    drive = drives(steps, 2)
    unlike = (np.sort(drive, axis=1)[:, 1] > 0) & (np.ptp(drive, axis=1) > 0)
    return drive[~unlike]


@pytest.mark.parametrize("name", sorted(TABLES))
def test_no_table_is_made_without_mixtures(name):
    truth = TABLES[name]
    display = fit_display(noisy(truth, without_mixtures(), 3), name)
    assert display.fit.model == "matrix" and display.fit.table_held_out is None
    note = next(note for note in display.notes if "do not add up" in note.what)
    assert note.kind == "odd" and "no mixtures of unlike drives" in note.what and "4 x 4 x 4" in note.mend
    assert f"{abs(display.fit.additivity_failure.luminance_percent):.1f} %" in note.what
    # A table from such readings was wrong by up to 45 CIEDE2000 here; the matrix stays near.
    error = apart(display.seen_by().to_xyz(unseen()), truth(unseen()), truth(np.ones((1, 3)))[0])
    assert error.mean() < 3.5


def test_a_display_that_adds_needs_no_mixtures():
    display = fit_display(noisy(additive("gamma"), without_mixtures(), 3), "gamma")
    assert not any("add up" in note.what for note in display.notes)


def test_mixtures_in_one_corner_make_no_table():
    dark = 0.45 * np.random.default_rng(6).random((40, 3))
    display = fit_display(noisy(white_pixel, np.vstack([without_mixtures(), dark]), 3), "white pixel")
    assert display.fit.model == "matrix"
    note = next(note for note in display.notes if "do not add up" in note.what)
    assert "nothing was read near drive" in note.what


def test_the_mixtures_that_are_asked_for_make_a_table():
    solids = 1.0 - np.eye(3)
    some = np.random.default_rng(7).random((20, 3))
    drive = np.vstack([without_mixtures(), solids, some])
    display = fit_display(noisy(white_pixel, drive, 3), "white pixel")
    assert display.fit.model == "table"
    error = apart(display.seen_by().to_xyz(unseen()), white_pixel(unseen()), white_pixel(np.ones((1, 3)))[0])
    assert error.mean() < 0.5 and error.max() < 3.0


def test_a_table_that_runs_away_is_seen():
    from screenproof.additive.patches import patches_of
    from screenproof.additive.table_fit import fit_table, runs_away

    patches = patches_of(noisy(white_pixel, drives(9, 4), 3))
    sound = fit_table(patches, np.ones(len(patches), dtype=bool), 1e-3)
    assert runs_away(sound, patches) is None
    few = patches_of(noisy(white_pixel, without_mixtures(), 3))
    for sign, said in ((-1.0, "negative light"), (1.0, "run away")):
        fit = fit_table(few, np.ones(len(few), dtype=bool), 1e-3)
        # Light that red and green have in common, less what all three have: nothing on ramps and greys.
        fit.correction.shares = np.zeros((8, 3))
        fit.correction.shares[4], fit.correction.shares[7] = 9.0 * sign, -9.0 * sign
        assert said in runs_away(fit, few)


def test_a_gross_error_in_a_primary_is_said():
    readings = noisy(additive("gamma"), drives(), 3)
    xyz = readings.xyz_cd.copy()
    where = (readings.drive == [0.0, 1.0, 0.0]).all(axis=1)
    xyz[where] *= 10.0
    display = fit_display(Readings(readings.drive, xyz), "x")
    odd = [note for note in display.notes if note.kind == "odd"]
    adds = next(note for note in odd if "do not add up" in note.what)
    assert f"{display.fit.additivity_failure.luminance_percent:.1f} % more" in adds.what
    assert "read white and the full primaries again" in adds.mend
    assert any("contradict" in note.what and "drive 0 1 0" in note.what for note in odd)


@pytest.mark.parametrize(
    ("order", "said"),
    [
        ((2, 1, 0), "red gives blue light"),
        ((0, 2, 1), "green gives blue light"),
        ((1, 2, 0), "green gives red light"),
    ],
)
def test_swapped_channels_are_said(order, said):
    truth = additive("gamma")
    drive = drives(9, 3)
    display = fit_display(Readings(drive, truth(drive[:, order])), "x")
    notes = [note for note in display.notes if "in this order" in note.what]
    assert len(notes) == 1 and notes[0].kind == "odd" and said in notes[0].what


def test_channels_in_order_are_not_said_to_be_swapped(colour):
    # Primaries of published colour spaces, narrow and wide, as colour-science carries them.
    from screenproof.additive.fit_notes import hue_notes

    for name in ("sRGB", "ITU-R BT.2020", "P3-D65", "SMPTE C", "NTSC (1953)"):
        space = colour.RGB_COLOURSPACES[name]
        matrix = np.asarray(space.matrix_RGB_to_XYZ)
        assert hue_notes(matrix, matrix.sum(axis=1), None) == []
        assert len(hue_notes(matrix[:, ::-1], matrix.sum(axis=1), None)) == 1
