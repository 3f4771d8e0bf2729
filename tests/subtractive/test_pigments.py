"""Pigments from readings: found again from letdowns, drawdowns and dyeings, with honest residuals and doubt."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.spectra import Grid
from screenproof.subtractive import (
    Letdowns,
    Pigment,
    Surface,
    fit_drawdowns,
    fit_pigments,
    fit_single_constant,
    fit_two_constant,
    fit_white,
)
from screenproof.subtractive.kubelka_munk import ks, layer, thick

GRID = Grid(400.0, 700.0, 10.0)
NM = GRID.wavelengths
GLOSS = Surface.fresnel(1.5, "excluded")
LEVELS = np.array([1.0, 0.5, 0.2, 0.1, 0.05, 0.01])


def band(centre, width, height):
    return height * np.exp(-(((NM - centre) / width) ** 2))


WHITE_K = 0.001 + 0.3 / (1.0 + np.exp((NM - 400.0) / 6.0))
BLUE_K = 0.05 + band(600, 50, 3.0) + band(420, 40, 0.5)
BLUE_S = 0.3 + band(460, 60, 0.3)


def white():
    return fit_white("white", GLOSS.to_measured(thick(WHITE_K, np.ones(NM.size))), GRID, GLOSS)


def readings(levels=LEVELS, weighing=None, noise=0.0, seed=0):
    """Readings of letdowns: the mixture written out, weighed a little wrong and read with noise where asked."""
    rng = np.random.default_rng(seed)
    c = np.clip(levels * (1.0 if weighing is None else weighing), 0.0, 1.0)[:, np.newaxis]
    r = GLOSS.to_measured(thick(c * BLUE_K + (1 - c) * WHITE_K, c * BLUE_S + (1 - c)))
    return r + noise * rng.standard_normal(r.shape)


def test_exact_letdowns_give_k_and_s_back():
    blue = fit_two_constant(Letdowns("blue", GRID, LEVELS, readings(), GLOSS), white())
    assert np.allclose(blue.k, BLUE_K, rtol=1e-8) and np.allclose(blue.s, BLUE_S, rtol=1e-8)
    assert blue.kind == "relative"
    assert blue.concentrations == (0.01, 1.0)
    assert blue.residual < 1e-10 and blue.strength_sd < 1e-8 and blue.notes == ()


def test_masstone_and_one_tint_are_enough():
    two = np.array([0.1, 1.0])
    blue = fit_two_constant(Letdowns("blue", GRID, two, readings(two), GLOSS), white())
    assert np.allclose(blue.k, BLUE_K, rtol=1e-8) and np.allclose(blue.s, BLUE_S, rtol=1e-8)


def test_the_doubt_is_that_of_repeated_fits():
    """The reported standard deviations of K and S against the scatter of 200 fits to noisy readings."""
    fits = [
        fit_two_constant(Letdowns("blue", GRID, LEVELS, readings(noise=0.001, seed=i), GLOSS), white())
        for i in range(200)
    ]
    for place, name in ((0, "k"), (1, "s")):
        scatter = np.std([getattr(fit, name) for fit in fits], axis=0)
        told = np.sqrt(np.mean([fit.covariance[:, place, place] for fit in fits], axis=0))
        assert np.allclose(told, scatter, rtol=0.35), name
        assert np.median(told / scatter) == pytest.approx(1.0, abs=0.15)
    # K and S err together, for their ratio is what a masstone shows.
    assert np.median([np.median(f.covariance[:, 0, 1]) for f in fits]) > 0.0


def test_wrong_weighings_show_as_strength_not_as_noise():
    weighing = np.array([1.0, 1.06, 0.95, 1.05, 0.94, 1.04])
    blue = fit_two_constant(Letdowns("blue", GRID, LEVELS, readings(weighing=weighing), GLOSS), white())
    assert 0.02 < blue.strength_sd < 0.09
    # Each letdown's strength is the weighing turned around, up to what the fit took as the pigment's own.
    # Letdowns are kept in ascending order; the masstone comes last and cannot tell.
    found = blue.fit.strength[:-1]
    meant = weighing[1:][::-1]
    assert np.corrcoef(np.log(found), np.log(meant))[0, 1] > 0.95
    assert blue.residual > 1e-3


def test_a_mislabelled_letdown_is_named():
    levels = np.array([1.0, 0.5, 0.2, 0.1, 0.05])
    curves = readings(levels)
    curves[2] = readings(np.array([0.08]))[0]
    blue = fit_two_constant(Letdowns("blue", GRID, levels, curves, GLOSS), white())
    assert any("the letdown 0.2 is" in note.what for note in blue.notes)
    assert blue.fit.concentrations[np.argmax(blue.fit.de00)] == 0.2
    assert any("recipes with this pigment are guesses" in note.what for note in blue.notes)


def test_the_range_leaves_out_what_does_not_fit():
    curves = readings()
    curves[-1] = readings(np.array([0.014]))[0]
    blue = fit_two_constant(Letdowns("blue", GRID, LEVELS, curves, GLOSS), white())
    # The weak letdown, and with it the masstone that the fit gave up for it.
    assert blue.concentrations == (0.05, 0.5)
    assert blue.fit.de00[[0, -1]].min() > 1.0 and blue.fit.de00[1:-1].max() <= 1.0
    assert any("from 0.05 to 0.5, not for all" in note.what for note in blue.notes)


def test_repeated_readings_of_a_letdown_are_averaged():
    levels = np.array([1.0, 0.1, 0.1])
    curves = readings(levels)
    curves[1] += 0.002
    curves[2] -= 0.002
    one = Letdowns("blue", GRID, levels, curves, GLOSS)
    assert one.concentrations.tolist() == [0.1, 1.0]
    assert np.allclose(one.reflectance[0], readings(np.array([0.1]))[0])
    assert "averaged" in one.notes[0].what


def dyeings(levels, bend=0.0):
    ground = 0.02 + 0.1 * np.exp(-(NM - 400.0) / 60.0)
    effective = levels / (1.0 + bend * levels)
    return thick(ground + effective[:, np.newaxis] * BLUE_K, np.ones((levels.size, NM.size)))


def test_dyes_follow_a_single_constant_as_far_as_they_do():
    levels = np.array([0.0, 0.1, 0.5, 1.0, 2.0, 4.0, 8.0])
    straight = fit_single_constant(Letdowns("dye", GRID, levels, dyeings(levels), dye=True))
    assert np.allclose(straight.k, BLUE_K, rtol=1e-6)
    assert straight.concentrations == (0.1, 8.0) and np.all(straight.s == 0.0)
    # Where the fibre fills up the strongest dyeings are left out and the range says so.
    bent = fit_single_constant(Letdowns("dye", GRID, levels, dyeings(levels, 0.08), dye=True))
    assert bent.concentrations[0] == 0.1 and bent.concentrations[1] < 8.0
    assert bent.fit.worst <= 1.0
    assert any("no longer follows the concentration" in note.what for note in bent.notes)


def test_drawdowns_over_black_and_white_give_absolute_k_and_s():
    black, paper = np.full(NM.size, 0.03), np.full(NM.size, 0.85)

    def over(k, s, backing, x=0.4):
        return GLOSS.to_measured(layer(k, s, x, GLOSS.to_internal(backing)))

    blue = fit_drawdowns(
        "blue", over(BLUE_K, BLUE_S, black), over(BLUE_K, BLUE_S, paper), black, paper, GRID, GLOSS, thickness=0.4
    )
    assert blue.kind == "absolute"
    assert np.allclose(blue.k, BLUE_K, rtol=1e-9) and np.allclose(blue.s, BLUE_S, rtol=1e-9)
    # A tint in a base that was drawn down by itself.
    base_s = np.full(NM.size, 2.0)
    base = fit_drawdowns(
        "base",
        over(WHITE_K, base_s, black),
        over(WHITE_K, base_s, paper),
        black,
        paper,
        GRID,
        GLOSS,
        thickness=0.4,
    )
    k, s = 0.2 * BLUE_K + 0.8 * WHITE_K, 0.2 * BLUE_S + 0.8 * base_s
    tint = fit_drawdowns(
        "blue",
        over(k, s, black),
        over(k, s, paper),
        black,
        paper,
        GRID,
        GLOSS,
        thickness=0.4,
        concentration=0.2,
        base=base,
    )
    assert np.allclose(tint.k, BLUE_K, rtol=1e-7) and np.allclose(tint.s, BLUE_S, rtol=1e-6)
    # The doubt of a reading of 0.001 against the scatter of repeated ones.
    rng = np.random.default_rng(1)
    many = [
        fit_drawdowns(
            "blue",
            over(BLUE_K, BLUE_S, black) + 0.001 * rng.standard_normal(NM.size),
            over(BLUE_K, BLUE_S, paper) + 0.001 * rng.standard_normal(NM.size),
            black,
            paper,
            GRID,
            GLOSS,
            thickness=0.4,
        ).s
        for _ in range(200)
    ]
    assert np.median(np.std(many, axis=0) / np.sqrt(blue.covariance[:, 1, 1])) == pytest.approx(1.0, abs=0.1)


def test_the_white_is_the_unit_of_scattering():
    assert np.all(white().s == 1.0)
    assert np.allclose(white().k, WHITE_K, rtol=1e-9)
    assert np.allclose(white().k, ks(thick(WHITE_K, np.ones(NM.size))), rtol=1e-9)


def test_many_letdowns_at_once():
    sets = [
        Letdowns("blue", GRID, LEVELS, readings(), GLOSS, cost=12.0, density=1.4),
        Letdowns("dye", GRID, [0.0, 1.0, 2.0], dyeings(np.array([0.0, 1.0, 2.0])), dye=True),
    ]
    blue, dye = fit_pigments(sets, white())
    assert isinstance(blue, Pigment) and (blue.cost, blue.density) == (12.0, 1.4)
    assert dye.kind == "dye"
