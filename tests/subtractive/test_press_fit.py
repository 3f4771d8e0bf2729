"""Presses whose truth is known (conftest.InventedPress), fitted to charts and asked for other tints."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import Colorimetry, light, observer
from screenproof.subtractive import corners, fit_press
from screenproof.subtractive.press_grids import find_grids

TENTHS = np.arange(1, 11) / 10.0
ALL = ("C", "M", "Y", "K", "Orange", "Green", "Violet", "Pink")


def random_tints(count, channels, seed=7, share=0.6):
    rng = np.random.default_rng(seed)
    return np.round(rng.random((count, channels)) * (rng.random((count, channels)) < share), 4)


def truth_error(press, invented, tints):
    white = press.white()
    true = xyz_to_lab(invented.curves(tints) @ press.weights(), white)
    return np.asarray(de2000(true, press.lab(tints)))


@pytest.mark.parametrize("count", range(1, 9))
def test_one_to_eight_channels_from_ramps_and_overprints(invented_press, count):
    """Two Yule-Nielsen numbers, dot gain, trapping, a surface: found well enough from 2^c solids and ramps."""
    invented = invented_press(ALL[:count])
    chart = np.vstack([invented.ramps(TENTHS), corners(count)])
    press = fit_press(invented.samples(chart), folds=5)
    assert press.channels == ALL[:count]
    error = truth_error(press, invented, random_tints(300, count))
    assert error.mean() < 0.08 and error.max() < 0.35
    assert press.n == pytest.approx(1.9, abs=0.16)
    assert not press.notes_on(random_tints(50, count))


def test_a_single_ink_is_its_ramp(invented_press):
    invented = invented_press(("Orange",))
    press = fit_press(invented.samples(invented.ramps(TENTHS)))
    assert np.allclose(press.predict(TENTHS[:, None]), invented.curves(TENTHS[:, None]), atol=2e-4)


def test_scattered_patches_are_used(invented_press):
    """200 tints in no grid: nearly all of the error of the plain model goes; and it says that it estimates."""
    invented = invented_press(ALL[:4], n=2.6, gain=0.2, trapping=0.8)
    plain = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(4)])), n=1.0)
    chart = np.vstack([invented.ramps(TENTHS), corners(4), random_tints(200, 4, seed=1)])
    press = fit_press(invented.samples(chart), n=1.0, folds=4)
    assert min(len(level) for level in press.levels) >= 5
    tints = random_tints(300, 4)
    before, after = truth_error(plain, invented, tints), truth_error(press, invented, tints)
    assert after.mean() < 0.2 * before.mean()
    # The error that it states does not flatter it: fitted to fewer patches it was a little worse.
    assert after.mean() < press.held_out.mean < 3.0 * after.mean()


def test_missing_overprints_are_the_product_of_transmittances_and_say_so(invented_press):
    """Without trapping and surface the product is exact: common practice, no source."""
    invented = invented_press(("C", "Y"), trapping=1.0)
    ramps = invented.ramps(TENTHS)
    press = fit_press(invented.samples(ramps))
    stock, c, y = press.predict([[0, 0], [1, 0], [0, 1]])
    assert np.allclose(press.predict([[1, 1]])[0], c * y / stock, rtol=1e-6)
    assert any("C + Y" in note.what and "product of transmittances" in note.what for note in press.notes)
    assert "error on those is not known" in press.held_out.how
    notes = press.notes_on([[0.5, 0.5], [0.7, 0.9], [0.8, 0.0]])
    assert len(notes) == 1 and notes[0].about == "C + Y" and notes[0].what.startswith("2 tint(s)")
    assert not press.notes_on([[0.4, 0.0], [0.0, 1.0]])


def test_tints_of_the_same_inks_mend_a_missing_overprint(invented_press):
    invented = invented_press(("C", "M", "Y"), trapping=0.75)
    ramps = invented.ramps(TENTHS)
    inner = 0.7 * random_tints(60, 3, seed=2, share=0.8)
    solids = corners(3)
    product = truth_error(fit_press(invented.samples(ramps)), invented, solids)
    mended = truth_error(fit_press(invented.samples(np.vstack([ramps, inner])), folds=4), invented, solids)
    assert product.max() > 3.0 and mended.max() < 0.35 * product.max()


def test_higher_overprints_keep_what_pairs_were_found_to_differ_by(invented_press):
    """CMY from C, M, Y and their pairs is nearer than the product of the three solids."""
    invented = invented_press(("C", "M", "Y"), trapping=0.8)
    ramps, solids = invented.ramps(TENTHS), corners(3)
    pairs = solids[solids.sum(axis=1) == 2]
    alone = fit_press(invented.samples(ramps))
    paired = fit_press(invented.samples(np.vstack([ramps, pairs])))
    black = np.array([[1.0, 1.0, 1.0]])
    assert truth_error(paired, invented, black) < 0.6 * truth_error(alone, invented, black)
    assert [note.what for note in paired.notes if "C + M + Y" in note.what and "1 overprint" in note.what]


@pytest.mark.parametrize("scattered", [False, True], ids=["grid", "scattered"])
def test_noise_of_readings_is_not_magnified(invented_press, scattered):
    """Readings with 0.5 % of noise: the press is off by no more than they are, where patches lie close too."""
    invented = invented_press(("C", "M", "Y", "K"))
    levels = np.array([0.0, 0.4, 1.0])
    grid = np.stack(np.meshgrid(*[levels] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    inner = random_tints(300, 4, seed=9)
    close = np.clip(inner[:40] + 0.004, 0.0, 1.0)
    more = np.vstack([corners(4), inner, close]) if scattered else grid
    chart = np.vstack([invented.ramps(TENTHS), more])
    samples = invented.samples(chart, noise=0.005, seed=3)
    press = fit_press(samples, folds=4)
    white, weights = press.white(), press.weights()
    true = xyz_to_lab(invented.curves(chart) @ weights, white)
    noise = de2000(xyz_to_lab(samples.reflectance @ weights, white), true)
    error = truth_error(press, invented, random_tints(300, 4))
    assert error.mean() < 1.2 * noise.mean() + 0.03 and error.max() < 2.0 * noise.max() + 0.3


def test_xyz_serves_where_there_are_no_curves(invented_press):
    invented = invented_press(("C", "M", "Y"))
    chart = np.vstack([invented.ramps(TENTHS), corners(3)])
    spectral = invented.samples(chart)
    d50, eye = light("D50"), observer("cie1931")
    xyz = spectral.xyz([d50], [eye])[:, 0, 0]
    plain = replace(spectral, reflectance=None, grid=None, colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    press = fit_press(plain)
    assert not press.is_spectral and press.predict(chart).shape == (len(chart), 3)
    error = truth_error(fit_press(spectral), invented, random_tints(200, 3))
    tints = random_tints(200, 3)
    true = xyz_to_lab(invented.curves(tints) @ fit_press(spectral).weights(), press.white())
    assert de2000(true, press.lab(tints)).mean() < error.mean() + 0.5
    with pytest.raises(InputError, match="only known by XYZ for D50"):
        press.xyz(tints, under=light("A"))


def test_doubles_are_averaged_and_their_disagreement_said(invented_press):
    invented = invented_press(("C", "M"))
    chart = np.vstack([invented.ramps(TENTHS), corners(2)[-1:], corners(2)[-1:]])
    samples = invented.samples(chart)
    spoilt = samples.reflectance.copy()
    spoilt[-1] *= 1.25
    samples = replace(samples, reflectance=spoilt)
    press = fit_press(samples)
    assert np.allclose(press.predict([[1.0, 1.0]])[0], spoilt[-2:].mean(axis=0), rtol=1e-9)
    pair = xyz_to_lab(spoilt[-2:] @ press.weights(), press.white())
    apart = float(de2000(pair[0], pair[1]))
    assert apart > 1.0
    note = next(note for note in press.notes if "more than once" in note.what)
    assert note.kind == "odd" and f"{apart:.2f} CIEDE2000" in note.what and "C 100, M 100" in note.what


def test_a_fit_set_is_kept_apart_from_what_measures_it(invented_press):
    """Spoiling the patches outside the fit changes the stated error and nothing else."""
    invented = invented_press(("C", "M", "Y"))
    chart = np.vstack([invented.ramps(TENTHS), corners(3)[4:], random_tints(80, 3, seed=5, share=1.0)])
    fit = np.arange(len(chart)) < len(chart) - 60
    samples = invented.samples(chart)
    spoilt = samples.reflectance.copy()
    spoilt[~fit] *= 1.3
    clean, other = fit_press(samples, fit=fit), fit_press(replace(samples, reflectance=spoilt), fit=fit)
    assert np.array_equal(clean.nodes, other.nodes) and clean.n == other.n
    assert clean.held_out.count == 60 and "outside the fit" in clean.held_out.how
    assert other.held_out.mean > clean.held_out.mean + 2.0


def test_grids_are_found_by_themselves():
    levels = [np.array([0, 0.3, 0.7, 1.0]), np.array([0, 0.5, 1.0]), np.array([0, 1.0])]
    grid = np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, 3)
    odd = np.array([[0.1, 0.2, 0.3], [0.3, 0.9, 0.0], [0.77, 0, 0]])
    order = np.random.default_rng(0).permutation(len(grid) + 3)
    found = find_grids(np.vstack([grid, odd])[order], ("a", "b", "c"))
    assert found[0].levels == ((0.0, 0.3, 0.7, 1.0), (0.0, 0.5, 1.0), (0.0, 1.0))
    assert "a at 0, 30, 70, 100" in str(found[0])
    # One node less, and the level that misses it is no level of the grid.
    short = find_grids(
        np.delete(grid, np.flatnonzero((grid == [0.3, 0.5, 1.0]).all(axis=1)), axis=0), ("a", "b", "c")
    )
    assert short[0].count == 18 and short[0].levels[0] == (0.0, 0.7, 1.0)


def test_the_order_of_the_patches_does_not_matter(invented_press):
    invented = invented_press(("C", "M", "Y"))
    samples = invented.samples(np.vstack([invented.ramps(TENTHS), corners(3)[3:]]))
    turned = samples.select(np.random.default_rng(1).permutation(len(samples)))
    tints = random_tints(50, 3)
    assert np.allclose(fit_press(samples).predict(tints), fit_press(turned).predict(tints), atol=1e-10)
