"""Transparent inks: overprints from curves alone, premixes, other stocks, underprints, trapping."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from screenproof.appearance import hue_name, xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import Grid, light, observer, weights, white_point
from screenproof.subtractive import (
    Ink,
    OpaqueFilm,
    Surface,
    Trapping,
    fit_trapping,
    fit_trappings,
    ink_from_readings,
    overprint,
    overprint_matrix,
    premix,
    restock,
)
from screenproof.subtractive.kubelka_munk import layer

GRID = Grid(400.0, 700.0, 10.0)
NM = GRID.wavelengths
GLOSS = Surface.fresnel(1.5, "excluded")
BOARD = 0.88 - 0.12 * np.exp(-(NM - 400.0) / 25.0)
KRAFT = 0.16 + 0.34 / (1.0 + np.exp(-(NM - 570.0) / 45.0))


def band(centre, width, height):
    return height * np.exp(-(((NM - centre) / width) ** 2))


# Invented process inks: what a cyan, a magenta and a yellow absorb in principle, of one pass.
ABSORBED = {
    "cyan": band(630, 60, 1.1) + band(550, 45, 0.2) + band(420, 50, 0.04),
    "magenta": band(545, 45, 1.2) + band(440, 50, 0.25),
    "yellow": 1.3 / (1.0 + np.exp((NM - 490.0) / 12.0)),
}


def on(stock, names, surface=GLOSS, weights_=None):
    """What a true double pass gives: the physics written out, not the package."""
    amounts = [1.0] * len(names) if weights_ is None else weights_
    inside = surface.to_internal(stock)
    for name, amount in zip(names, amounts, strict=True):
        inside = inside * np.exp(-2.0 * ABSORBED[name] * amount)
    return surface.to_measured(inside)


def made(name, surface=GLOSS, stock=BOARD):
    return ink_from_readings(on(stock, [name], surface), stock, GRID, surface, name, stock_name="board")


def lab(curve):
    lamp, eye = light("D50"), observer("cie1931")
    return xyz_to_lab(curve @ weights(lamp, eye, GRID), white_point(lamp, eye))


def test_cyan_and_yellow_make_green_from_their_curves_alone():
    """The product of the transmittances on the stock. Common practice, no source."""
    cyan, yellow = (made(name, Surface.NONE) for name in ("cyan", "yellow"))
    green = overprint(BOARD, [cyan, yellow])
    by_hand = on(BOARD, ["cyan"], Surface.NONE) * on(BOARD, ["yellow"], Surface.NONE) / BOARD
    assert np.allclose(green, by_hand, rtol=1e-12)
    assert [hue_name(lab(c)) for c in (on(BOARD, ["cyan"]), on(BOARD, ["yellow"]))] == ["blue", "yellow"]
    assert hue_name(lab(green)) == "green"


@pytest.mark.parametrize("surface", [Surface.NONE, GLOSS, Surface(0.04, 0.5, "included")])
def test_overprints_in_any_order_on_any_stock(surface):
    stock = BOARD if surface.specular == "excluded" or surface.k1 == 0 else 0.05 + 0.95 * BOARD
    inks = {name: ink_from_readings(on(stock, [name], surface), stock, GRID, surface, name) for name in ABSORBED}
    for names in permutations(ABSORBED):
        for ground in (stock, np.maximum(KRAFT, 0.06)):
            predicted = overprint(ground, [inks[n] for n in names], [1.0, 0.7, 1.2], surface)
            assert np.allclose(predicted, on(ground, names, surface, [1.0, 0.7, 1.2]), rtol=1e-10)


def test_the_film_weight_is_an_exponent_also_of_the_reading():
    twice = on(BOARD, ["cyan"], weights_=[2.0])
    from_thick = ink_from_readings(twice, BOARD, GRID, GLOSS, "cyan", film_weight=2.0)
    assert np.allclose(from_thick.transmittance, made("cyan").transmittance, rtol=1e-10)
    many = overprint(BOARD, [from_thick], np.linspace(0.0, 2.0, 5)[:, np.newaxis], GLOSS)
    assert many.shape == (5, GRID.count)
    assert np.allclose(many[0], BOARD) and np.allclose(many[-1], twice)


def test_the_matrix_holds_every_pair_once_each_way():
    inks = [made(name) for name in ABSORBED]
    matrix = overprint_matrix(BOARD, inks, surface=GLOSS, trapping=Trapping({("cyan", "yellow"): 0.8}))
    assert matrix.shape == (3, 3, GRID.count)
    for i, first in enumerate(ABSORBED):
        for j, second in enumerate(ABSORBED):
            factor = 0.8 if (first, second) == ("cyan", "yellow") else 1.0
            expected = on(BOARD, [first]) if i == j else on(BOARD, [first, second], weights_=[1.0, factor])
            assert np.allclose(matrix[i, j], expected, rtol=1e-10)


def test_a_premix_absorbs_by_concentration():
    cyan, yellow = made("cyan"), made("yellow")
    half = premix([cyan, yellow], [0.25, 0.75])
    assert np.allclose(half.absorbance, 2 * (0.25 * ABSORBED["cyan"] + 0.75 * ABSORBED["yellow"]), atol=1e-10)
    # One film of the premix is a quarter film and three quarters on top of each other.
    assert np.allclose(
        overprint(BOARD, [half], surface=GLOSS), overprint(BOARD, [cyan, yellow], [0.25, 0.75], GLOSS), rtol=1e-12
    )
    assert premix([cyan, yellow], [1.0, 0.0]).name == "1 cyan"
    with_costs = [Ink(i.name, GRID, i.transmittance, cost=c) for i, c in ((cyan, 8.0), (yellow, 4.0))]
    assert premix(with_costs, [0.25, 0.75]).cost == pytest.approx(5.0)


def test_the_same_ink_on_kraft_and_over_a_white_underprint():
    cyan = made("cyan")
    bare = restock(cyan, KRAFT, GLOSS, stock_name="kraft")
    assert np.allclose(bare.curve, on(KRAFT, ["cyan"]), rtol=1e-10)
    assert any("film weight and gloss" in n.what and n.kind == "assumed" for n in bare.notes)
    assert any(n.kind == "caution" and "food" in n.what for n in bare.notes)
    # A white of K and S over kraft, the cyan on top, all under one surface.
    white = OpaqueFilm("white", GRID, np.full(GRID.count, 0.01), np.full(GRID.count, 3.0))
    helped = restock(cyan, KRAFT, GLOSS, stock_name="kraft", underprint=[white])
    ground = layer(0.01, 3.0, 1.0, GLOSS.to_internal(KRAFT))
    assert np.allclose(helped.ground, GLOSS.to_measured(ground), rtol=1e-12)
    assert np.allclose(helped.curve, GLOSS.to_measured(ground * cyan.transmittance), rtol=1e-12)
    assert np.hypot(*lab(helped.curve)[1:]) > np.hypot(*lab(bare.curve)[1:])
    assert any("does not hide the stock" in n.what for n in helped.notes)
    # Enough of the white makes the stock not matter.
    heavy = [
        restock(cyan, stock, GLOSS, underprint=[white], underprint_weights=[60.0]).curve
        for stock in (KRAFT, BOARD)
    ]
    assert np.allclose(*heavy, atol=1e-6)


def test_an_underprint_from_its_drawdowns():
    black, paper = np.full(GRID.count, 0.04), np.full(GRID.count, 0.85)
    k, s = 0.02 + band(410, 20, 0.3), np.full(GRID.count, 1.4)
    over = [GLOSS.to_measured(layer(k, s, 1.0, GLOSS.to_internal(backing))) for backing in (black, paper)]
    white = OpaqueFilm.from_drawdowns(*over, black, paper, GRID, GLOSS, "white")
    assert np.allclose(white.k, k, atol=1e-9) and np.allclose(white.s, s, atol=1e-9)
    assert np.allclose(overprint(black, [white], surface=GLOSS), over[0], rtol=1e-9)
    assert 0.5 < white.contrast_ratio().min() < 1.0


def test_notes_say_what_the_readings_cannot_tell():
    dark = np.where(NM < 450, 0.05, 0.6)
    on_dark = ink_from_readings(on(dark, ["cyan"]), dark, GRID, GLOSS, "cyan", stock_name="brown")
    assert any("too dark at 400, 410, 420, 430, 440 nm" in n.what for n in on_dark.notes)
    # Three films of black-like absorption: too little light to be known.
    heavy = ink_from_readings(on(BOARD, ["magenta"], weights_=[2.0]), BOARD, GRID, GLOSS, "magenta")
    assert heavy.doubtful.any() and not heavy.doubtful.all()
    assert any("so little light comes back" in n.what for n in heavy.notes)
    assert any("came from too little light" in n.what for n in restock(heavy, BOARD, GLOSS).notes)
    # An ink that scatters reads lighter than a dark stock in some bands.
    lifted = np.where(NM > 650, BOARD + 0.03, on(BOARD, ["yellow"]))
    odd = ink_from_readings(lifted, BOARD, GRID, GLOSS, "yellow")
    assert any("lighter than its stock at 660, 670" in n.what for n in odd.notes)
    assert made("cyan").notes == ()


def test_the_spread_is_that_of_repeated_readings():
    rng, noise = np.random.default_rng(5), 0.002
    true = on(BOARD, ["cyan"])
    found = [
        ink_from_readings(
            true + noise * rng.standard_normal(GRID.count),
            BOARD + noise * rng.standard_normal(GRID.count),
            GRID,
            GLOSS,
            noise=noise,
        ).transmittance
        for _ in range(400)
    ]
    relative = np.std(found, axis=0) / np.mean(found, axis=0)
    assert np.allclose(relative, made("cyan").spread, rtol=0.2)


def test_trapping_is_found_again_pairs_before_triples():
    inks = [made(name) for name in ABSORBED]
    rng = np.random.default_rng(2)
    true = {("cyan", "magenta"): 0.82, ("cyan", "magenta", "yellow"): 0.7, ("magenta", "yellow"): 0.93}
    by_name = {ink.name: ink for ink in inks}
    read = {
        names: overprint(BOARD, [by_name[n] for n in names], surface=GLOSS, trapping=Trapping(true))
        + 0.001 * rng.standard_normal(GRID.count)
        for names in true
    }
    trapping, fits = fit_trappings(read, BOARD, inks, GLOSS)
    for fit in fits:
        assert fit.factor == pytest.approx(true[fit.inks], abs=0.02)
        assert fit.rms == pytest.approx(0.001, rel=0.5)
        assert fit.de00 < fit.de00_without
        assert not fit.notes
    assert trapping.factor(("cyan", "magenta")) == fits[0].factor
    assert trapping.factor(("yellow", "cyan")) == 1.0


def test_trapping_that_is_none_is_called_odd():
    cyan, yellow = made("cyan"), made("yellow")
    nothing_stays = on(BOARD, ["cyan"])
    fit = fit_trapping(nothing_stays, BOARD, [cyan, yellow], surface=GLOSS)
    assert fit.factor == pytest.approx(0.0, abs=1e-6)
    assert "not what trapping makes" in fit.notes[0].what
    covers = fit_trapping(on(BOARD, ["yellow"]), BOARD, [cyan, yellow], surface=GLOSS)
    assert any("still" in n.what and "CIEDE2000 off" in n.what for n in covers.notes)


def test_a_fluorescent_stock_is_carried_and_a_percentage_refused():
    bright = BOARD + np.where(np.abs(NM - 440) < 15, 0.3, 0.0)
    cyan = ink_from_readings(on(bright, ["cyan"], Surface.NONE), bright, GRID, name="cyan")
    assert np.allclose(overprint(bright, [cyan]), on(bright, ["cyan"], Surface.NONE))
    with pytest.raises(InputError, match="divide percentages by 100"):
        ink_from_readings(100 * on(BOARD, ["cyan"]), 100 * BOARD, GRID)
