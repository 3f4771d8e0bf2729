"""Correction: a batch gone wrong comes right by additions alone, or the reason is given why it cannot."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.spectra import light, observer, weights, white_point
from screenproof.subtractive import (
    RECIPE_CAUTION,
    Ink,
    Pigment,
    Surface,
    Target,
    clear_extender,
    cloth,
    correct_batch,
    inks,
    paint,
)

LIGHTS = [light(name) for name in ("D65", "A", "FL11")]
EYE = observer("cie1964")
GLOSS = Surface.fresnel(1.5, "excluded")


def xyz(curve, grid):
    return curve @ weights(LIGHTS[0], EYE, grid)


def apart(a, b, grid):
    white = white_point(LIGHTS[0], EYE)
    return float(de2000(xyz_to_lab(xyz(a, grid), white), xyz_to_lab(xyz(b, grid), white)))


@pytest.fixture(scope="module")
def model(pigments):
    made, white = pigments(40, 1)
    return paint(made, white, GLOSS)


def total(model, correction, real):
    """The true curve once the additions are in the batch that really is there."""
    amounts = real.copy()
    for name, added in zip(correction.components, correction.add, strict=True):
        amounts[model.names.index(name)] += added
    return model.reflect(amounts / amounts.sum())


def test_five_percent_off_in_each_component_comes_within_three_tenths(model, grid):
    """Sixty batches of 10 kg, every component weighed 5 percent too high or too low, trial read with noise."""
    rng = np.random.default_rng(3)
    before, growth = [], []
    for _ in range(60):
        meant = np.zeros(41)
        used = rng.choice(40, rng.integers(2, 5), replace=False)
        meant[used] = rng.uniform(0.01, 0.15, used.size)
        meant[40] = 1.0 - meant.sum()
        target, real = model.reflect(meant), 10.0 * meant * (1.0 + 0.05 * rng.choice([-1.0, 1.0], 41))
        trial = model.reflect(real / real.sum())
        read = trial + (0.0003 + 0.001 * trial) * rng.standard_normal(grid.count)
        names = {model.names[i]: 10.0 * meant[i] for i in np.flatnonzero(meant)}
        done = correct_batch(model, names, read, Target.of_curve(target, grid), LIGHTS, EYE)
        assert (done.add >= 0.0).all()
        assert done.possible and done.reason is None
        assert apart(total(model, done, real), target, grid) <= 0.3
        assert done.growth == pytest.approx(done.add.sum() / 10.0)
        assert np.allclose(done.after, done.amounts + done.add)
        before.append(apart(trial, target, grid))
        growth.append(done.growth)
    assert max(before) > 1.0
    assert max(growth) < 0.2


def test_it_sees_what_is_in_the_batch(model, grid):
    meant = np.zeros(41)
    meant[[3, 20, 40]] = [0.1, 0.05, 0.85]
    real = meant * np.where(np.arange(41) == 3, 1.3, 1.0)
    read = model.reflect(real / real.sum())
    names = {model.names[i]: 10.0 * meant[i] for i in (3, 20, 40)}
    done = correct_batch(model, names, read, Target.of_curve(model.reflect(meant), grid), LIGHTS, EYE)
    seen = dict(zip(done.components, done.effective / done.effective.sum(), strict=True))
    for i in (3, 20, 40):
        assert seen[model.names[i]] == pytest.approx(real[i] / real.sum(), rel=0.02)
    assert any("times the amount of pigment 03" in note.what for note in done.notes)
    # Too much of one is mended by more of all the others, and the batch grows by about as much.
    added = dict(zip(done.components, done.add, strict=True))
    assert added["pigment 03"] == 0.0 and added["white"] > 1.0
    assert 0.1 < done.growth < 0.35
    assert any(note.what == RECIPE_CAUTION for note in done.notes)


def test_what_the_model_does_not_know_is_carried_over(model, grid):
    """A film that reads a little yellower than any mixture: the additions allow for it."""
    meant = np.zeros(41)
    meant[[3, 20, 40]] = [0.1, 0.05, 0.85]
    tinge = -0.02 * np.exp(-(((grid.wavelengths - 440.0) / 25.0) ** 2))
    target = model.reflect(meant)
    read = model.reflect(meant * np.where(np.arange(41) == 20, 0.85, 1.0)) + tinge
    names = {model.names[i]: 10.0 * meant[i] for i in (3, 20, 40)}
    done = correct_batch(model, names, read, Target.of_curve(target, grid), LIGHTS, EYE)
    after = model.reflect((done.effective + done.add) @ rows(model, done) / (done.effective + done.add).sum())
    assert done.de00 < done.de00_before
    # Without the rest of the reading the prediction would be the model's own.
    assert apart(done.curve, after, grid) > 0.2


def rows(model, done):
    """(k, n): from the components of a correction to those of the model."""
    out = np.zeros((len(done.components), len(model.names)))
    for i, name in enumerate(done.components):
        out[i, model.names.index(name)] = 1.0
    return out


def test_within_the_tolerance_nothing_is_added(model, grid):
    meant = np.zeros(41)
    meant[[3, 40]] = [0.1, 0.9]
    target = model.reflect(meant)
    done = correct_batch(
        model, {"pigment 03": 1.0, "white": 9.0}, target + 1e-4, Target.of_curve(target, grid), LIGHTS, EYE
    )
    assert done.possible and not done.add.any() and done.growth == 0.0
    assert any("nothing is to be added" in note.what for note in done.notes)


def test_a_trial_too_dark_says_how_far_the_batch_would_grow(model, grid):
    meant, dark = np.zeros(41), np.zeros(41)
    meant[[3, 20, 40]], dark[[3, 20, 40]] = [0.1, 0.05, 0.85], [0.5, 0.05, 0.45]
    done = correct_batch(
        model,
        {"pigment 03": 5.0, "pigment 20": 0.5, "white": 4.5},
        model.reflect(dark),
        Target.of_curve(model.reflect(meant), grid),
        LIGHTS,
        EYE,
    )
    assert not done.possible and "nothing can be taken out" in done.reason
    assert "more than the 50 allowed" in done.reason and done.growth <= 0.5
    # With leave to grow it is mended, and grows by no more than five times: 0.5 of 0.1.
    free = correct_batch(
        model,
        {"pigment 03": 5.0, "pigment 20": 0.5, "white": 4.5},
        model.reflect(dark),
        Target.of_curve(model.reflect(meant), grid),
        LIGHTS,
        EYE,
        most_growth=10.0,
    )
    assert free.possible and 3.0 < free.growth <= 4.01


def test_what_no_addition_mends(pigments, grid):
    """Inks without extender on a stock: nothing makes the print lighter. With one, it is mended."""
    made, _ = pigments(4, 5)
    bottles = [Ink(p.name, grid, np.exp(-0.8 * p.k)) for p in made]
    stock, names = np.full(grid.count, 0.8), [p.name for p in made]
    batch = {names[0]: 0.9, names[1]: 0.1}
    closed = inks(bottles, stock, None, GLOSS)
    extended = inks(bottles, stock, clear_extender(grid), GLOSS)
    target = Target.of_curve(extended.reflect([0.45, 0.05, 0.0, 0.0, 0.5]), grid)
    trial = closed.reflect([0.9, 0.1, 0.0, 0.0])
    done = correct_batch(closed, batch, trial, target, LIGHTS, EYE)
    assert not done.possible and "no addition mends it" in done.reason and "darker" in done.words_before
    helped = correct_batch(extended, batch, trial, target, LIGHTS, EYE, most_growth=2.0)
    added = dict(zip(helped.components, helped.add, strict=True))
    assert helped.possible and added["extender"] == pytest.approx(1.0, rel=0.1)


def test_another_component_may_be_allowed(model, grid):
    """A batch with too much of one pigment, and a target that needs a third that is not in it."""
    meant = np.zeros(41)
    meant[[3, 20, 12, 40]] = [0.1, 0.05, 0.04, 0.81]
    batch = {"pigment 03": 1.0, "pigment 20": 0.5, "white": 8.1}
    trial = model.reflect(np.where(np.arange(41) == 12, 0.0, meant) / 0.96)
    target = Target.of_curve(model.reflect(meant), grid)
    without = correct_batch(model, batch, trial, target, LIGHTS, EYE)
    assert not without.possible
    given = correct_batch(model, batch, trial, target, LIGHTS, EYE, allow=["pigment 12"])
    added = dict(zip(given.components, given.add, strict=True))
    assert given.possible and added["pigment 12"] == pytest.approx(0.4, rel=0.1)


def test_a_trial_known_by_its_colour_only(model, grid):
    meant = np.zeros(41)
    meant[[3, 20, 40]] = [0.1, 0.05, 0.85]
    real = 10.0 * meant * np.where(np.arange(41) == 20, 0.85, 1.0)
    trial, target = model.reflect(real / real.sum()), model.reflect(meant)
    names = {model.names[i]: 10.0 * meant[i] for i in (3, 20, 40)}
    done = correct_batch(
        model,
        names,
        Target.of_xyz(xyz(trial, grid), "D65", "cie1964"),
        Target.of_xyz(xyz(target, grid), "D65", "cie1964"),
        LIGHTS,
        EYE,
    )
    assert done.possible and apart(total(model, done, real), target, grid) < 0.3
    assert done.de00_before == pytest.approx(apart(trial, target, grid), abs=1e-9)


def test_a_cloth_takes_more_dye_but_gives_none_back(pigments, grid):
    made, _ = pigments(3, 5)
    dyes = [Pigment(p.name, grid, p.k, np.zeros(grid.count), "dye") for p in made]
    bath = cloth(dyes, Pigment("cloth", grid, np.full(grid.count, 0.02), np.ones(grid.count)))
    # 50 kg of cloth, 1 percent and 0.3 percent meant: half a kilogram and 150 grams.
    target = Target.of_curve(bath.reflect([1.0, 0.3, 0.0]), grid)
    batch = {made[0].name: 0.5, made[1].name: 0.15}
    weak = correct_batch(
        bath, batch, bath.reflect([0.9, 0.3, 0.0]), target, LIGHTS, EYE, batch=50.0, tolerance=0.1
    )
    added = dict(zip(weak.components, weak.add, strict=True))
    assert weak.possible and added[made[0].name] == pytest.approx(0.05, rel=0.15)
    strong = correct_batch(bath, batch, bath.reflect([1.3, 0.3, 0.0]), target, LIGHTS, EYE, batch=50.0)
    assert not strong.possible and "nothing can be taken out" in strong.reason


def test_additions_are_rounded_to_the_scale(model, grid):
    meant = np.zeros(41)
    meant[[3, 20, 40]] = [0.1, 0.05, 0.85]
    real = meant * np.where(np.arange(41) == 3, 0.9, 1.0)
    done = correct_batch(
        model,
        {model.names[i]: 10.0 * meant[i] for i in (3, 20, 40)},
        model.reflect(real / real.sum()),
        Target.of_curve(model.reflect(meant), grid),
        LIGHTS,
        EYE,
        resolution=0.005,
    )
    assert np.allclose(done.add / 0.005, np.round(done.add / 0.005)) and done.add.any()
