"""The ink side of the demo's data: what the files hold, and that its stories come out of the numbers.

The data were made by other models than the package fits, in profiles_demo/invented_press.py. That is what the
answers are held against here: not the package's own prediction, but what the invented press and pigments do.
Colours and differences are those of colour-science.
"""

from __future__ import annotations

import csv
import sys
from itertools import product
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).parents[2] / "profiles_demo"
DATA = DEMO / "data"
NM = np.arange(380.0, 731.0, 10.0)


@pytest.fixture(scope="module")
def truth():
    """The module that invented the presses and pigments."""
    sys.path.insert(0, str(DEMO))
    try:
        import invented_press

        yield invented_press
    finally:
        sys.path.remove(str(DEMO))


@pytest.fixture(scope="module")
def making(truth):
    import make_ink_data

    return make_ink_data


def cgats_rows(name: str) -> tuple[list[str], list[list[str]]]:
    """Fields and rows of a CGATS file, by splitting at tabs."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split("\t")
    rows = [line.split("\t") for line in lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]]
    return fields, rows


def csv_rows(name: str) -> tuple[list[str], list[list[str]]]:
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    header, *rows = csv.reader(lines)
    return header, rows


def carton() -> dict[str, np.ndarray]:
    fields, rows = cgats_rows("inks_on_carton.cgats")
    assert fields[2:] == [f"SPECTRAL_NM{nm:.0f}" for nm in NM]
    return {row[1].strip('"'): np.array(row[2:], dtype=float) for row in rows}


def kraft() -> dict[str, np.ndarray]:
    header, rows = csv_rows("inks_on_kraft.csv")
    assert header[1:] == [f"{nm:g}" for nm in NM]
    return {row[0]: np.array(row[1:], dtype=float) / 100 for row in rows}


def chart(name: str) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Names, tints 0..1 and curves of a press chart."""
    fields, rows = cgats_rows(name)
    assert fields[2:6] == ["CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"]
    values = np.array([row[2:] for row in rows], dtype=float)
    return [row[1].strip('"') for row in rows], values[:, :4] / 100, values[:, 4:]


def lab_of(colour, curves: np.ndarray, light: str = "D50") -> np.ndarray:
    """CIELAB (n, 3) of curves (n, w) by colour-science's own observer and illuminant, summed at 10 nm."""
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    power = colour.SDS_ILLUMINANTS[light]
    fine = np.arange(380.0, 731.0)
    weights = np.interp(fine, power.wavelengths, power.values)[:, None] * np.stack(
        [np.interp(fine, cmfs.wavelengths, cmfs.values[:, i]) for i in range(3)], axis=1
    )
    weights /= weights[:, 1].sum()
    smooth = np.stack([np.interp(fine, NM, curve) for curve in np.atleast_2d(curves)])
    xyz, white = smooth @ weights, weights.sum(axis=0)
    return colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))


def apart(colour, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    return np.asarray(colour.difference.delta_E_CIE2000(one, other))


# ------------------------------------------------------------------------------------------------ the files


@pytest.mark.parametrize(("curves", "stock"), [(carton, "Coated carton"), (kraft, "Kraft board")])
def test_inks_are_darker_than_their_stock(curves, stock):
    read = curves()
    for name, curve in read.items():
        assert curve.min() > 0 and (curve - read[stock]).max() < 0.006, name
    # An ink on another only takes light away from it. (Not so seen from the upper ink: it may lie thinner.)
    for name in read:
        below, plus, upper = name.rpartition(" + ")
        if plus:
            below += " on kraft" if upper.endswith(" on kraft") else ""
            assert (read[name] - read[below]).max() < 0.006, name


def test_the_press_chart_has_ramps_and_a_full_grid():
    names, tints, curves = chart("carton_press.cgats")
    there = {tuple(row) for row in np.round(100 * tints).astype(int).tolist()}
    assert len(there) == 125 and len(names) == len(set(names)) == 129
    assert set(product((0, 40, 100), repeat=4)) <= there
    for channel in range(4):
        ramp = (tints[:, [i for i in range(4) if i != channel]] == 0).all(axis=1)
        order = np.argsort(tints[ramp, channel], kind="stable")
        assert np.diff(curves[ramp][order].mean(axis=1)).max() < 0.004 and ramp.sum() == 15


def test_no_mixture_of_the_check_is_in_the_chart():
    _, chart_tints, _ = chart("carton_press.cgats")
    names, tints, _ = chart("carton_check.cgats")
    assert len(names) == 120 and tints.sum(axis=1).max() <= 3.2 and ((tints > 0).sum(axis=1) > 1).all()
    same = (np.abs(tints[:, None] - chart_tints[None]) < 1e-9).all(axis=2)
    assert not same.any()


def test_twenty_pigments_each_with_masstone_and_tints(colour):
    header, rows = csv_rows("lacquer_letdowns.csv")
    assert header[:5] == ["name", "pigment", "concentration", "cost", "density"]
    pigments: dict[str, list[tuple[float, np.ndarray]]] = {}
    for row in rows:
        pigments.setdefault(row[1], []).append((float(row[2]), np.array(row[5:], dtype=float) / 100))
    assert len(pigments) == 21 and len(pigments.pop("Chalk white")) == 1
    for name, letdowns in pigments.items():
        assert [share for share, _ in letdowns] == [1.0, 0.4, 0.1, 0.02], name
        light = lab_of(colour, np.stack([curve for _, curve in letdowns]))[:, 0]
        assert (np.diff(light) > 3).all(), name


def test_the_label_of_the_batch_adds_up():
    header, rows = csv_rows("lid_batch.csv")
    assert header == ["component", "amount"]
    assert sum(float(row[1]) for row in rows) == pytest.approx(10_000)


# ------------------------------------------------------------------------------------- layers and trapping


def test_the_green_follows_from_cyan_and_yellow_and_its_trapping_is_found(truth):
    from screenproof.spectra import Grid
    from screenproof.subtractive import Surface, fit_trappings, ink_from_readings

    read, grid, below = carton(), Grid.of(NM), Surface(0.04, 0.6, "excluded")
    stock = read["Coated carton"]
    inks = [ink_from_readings(read[name], stock, grid, below, name) for name in truth.INKS]
    measured = {tuple(name.split(" + ")): curve for name, curve in read.items() if " + " in name}
    assert set(truth.KEPT) <= set(measured)
    trapping, fits = fit_trappings(measured, stock, inks, below)
    for fit in fits:
        # The invented press keeps this much. The stray gloss, of which the surface does not know, costs a little,
        # and more where three inks leave hardly any light.
        within = 0.035 if len(fit.inks) == 2 else 0.06
        assert trapping.factor(fit.inks) == pytest.approx(truth.KEPT[fit.inks], abs=within), fit.inks
        assert fit.de00 < 1.0 and fit.de00 < fit.de00_without


def test_a_rough_board_drinks_ink_so_that_a_restocked_ink_is_too_strong(colour):
    from screenproof.spectra import Grid
    from screenproof.subtractive import Surface, ink_from_readings, restock

    white, brown, grid, below = carton(), kraft(), Grid.of(NM), Surface(0.04, 0.6, "excluded")
    cyan = ink_from_readings(white["Cyan"], white["Coated carton"], grid, below, "Cyan", stock_name="carton")
    as_heavy = restock(cyan, brown["Kraft board"], below, stock_name="kraft")
    weaker = restock(cyan, brown["Kraft board"], below, stock_name="kraft", film_weight=0.78)
    off = apart(
        colour, lab_of(colour, np.stack([as_heavy.curve, weaker.curve])), lab_of(colour, brown["Cyan on kraft"])
    )
    assert off[0] > 5 and off[1] < 2
    assert any("drinks ink" in note.what for note in as_heavy.notes)


# ------------------------------------------------------------------------------------------------ the press


@pytest.fixture(scope="module")
def presses():
    from screenproof.formats import read_samples
    from screenproof.subtractive import fit_press

    return {key: fit_press(read_samples(DATA / f"{key}_press.cgats")) for key in ("carton", "kraft")}


def test_the_press_predicts_mixtures_that_it_has_not_seen(presses, colour):
    _, tints, curves = chart("carton_check.cgats")
    off = apart(colour, lab_of(colour, presses["carton"].predict(tints)), lab_of(colour, curves))
    assert off.mean() < 0.45 and np.percentile(off, 95) < 1.0 and off.max() < 2.5
    # What the fit says of itself is no boast.
    assert presses["carton"].held_out.mean > 0.6 * off.mean()


def office_lab(codes: list[tuple[int, int, int]]) -> np.ndarray:
    """CIELAB (n, 3), D50, of codes on the office display, adapted from its white."""
    from screenproof.additive import fit_display
    from screenproof.appearance import adapt, xyz_to_lab
    from screenproof.formats import read_readings
    from screenproof.spectra import light, observer, white_point

    white = white_point(light("D50"), observer("cie1931"))
    view = fit_display(read_readings(DATA / "office_readings.csv"), "office").seen_by()
    return xyz_to_lab(adapt(view.to_xyz(np.array(codes) / 255), view.white, white), white)


LANTERN_BLUE, MARIGOLD, OOLONG_BROWN, LID_PLUM = (40, 70, 230), (245, 198, 70), (110, 75, 50), (98, 84, 126)


def nearest_by_trial(truth, colour, key: str, wanted: np.ndarray) -> np.ndarray:
    """CIEDE2000 (n,) of the nearest of 60,000 tints on the invented press itself."""
    generator = np.random.default_rng(3)
    tints = np.round(generator.beta(0.5, 0.5, (60_000, 4)), 3)
    tints[tints.sum(axis=1) > 3.2] *= 0.7
    lab = lab_of(colour, truth.halftones(truth.stocks(NM)[key], NM, tints))
    return np.array([apart(colour, lab, aim).min() for aim in wanted])


def test_no_ink_reaches_the_lantern_and_kraft_kills_the_marigold(truth, presses, colour):
    from screenproof.subtractive import reach

    wanted = office_lab([LANTERN_BLUE, MARIGOLD, OOLONG_BROWN])
    found = {key: reach(press, wanted) for key, press in presses.items()}
    assert found["carton"].printable.tolist() == [False, True, True]
    assert found["kraft"].printable.tolist() == [False, False, True]
    for key in presses:
        tried = nearest_by_trial(truth, colour, key, wanted)
        # Random tints come near an outside colour, and only roughly to one inside; nothing beats the reach.
        assert (tried > found[key].de00 - 0.5).all(), (key, tried)
        outside = ~found[key].printable
        assert (tried[outside] < found[key].de00[outside] + 1.0).all()
        assert (tried[~outside] < 2.0).all()
    assert found["carton"].de00[0] > 10 and found["kraft"].de00[1] > 15


def test_the_tints_that_reach_answers_print_the_colour_on_the_invented_press(truth, presses, colour):
    from screenproof.subtractive import separate

    wanted = office_lab([MARIGOLD, OOLONG_BROWN])
    for black in ("least", "smooth", "most"):
        tints = separate(presses["carton"], wanted, black=black).tints
        printed = truth.halftones(truth.stocks(NM)["carton"], NM, tints)
        assert (apart(colour, lab_of(colour, printed), wanted) < 1.2).all(), black


# ---------------------------------------------------------------------------------------------- the recipe


@pytest.fixture(scope="module")
def recipes():
    from screenproof.appearance import lab_to_xyz
    from screenproof.formats import read_light
    from screenproof.formats.letdowns import read_library
    from screenproof.spectra import light, observer, white_point
    from screenproof.subtractive import Target, search

    library = read_library(DATA / "lacquer_letdowns.csv").library
    booth, eye = light("D50"), observer("cie1931")
    xyz = lab_to_xyz(office_lab([LID_PLUM])[0], white_point(booth, eye))
    target = Target.of_xyz(xyz, "D50", "cie1931", "lid")
    lights = [booth, light("FL11"), read_light(DATA / "shop_led.csv")]
    found = search(library.mixture(), target, lights, eye, components=3, batch=10, count=60, resolution=0.001)
    return library, target, lights, eye, found


def test_two_recipes_match_alike_and_shift_very_differently(truth, recipes, colour):
    """Mixed from the invented pigments themselves: one colour in the booth, two under the tubes."""
    *_, found = recipes
    alike = [recipe for recipe in found.recipes if recipe.de00 < 0.3]
    ends = [pick(alike, key=lambda recipe: dict(recipe.shifts)["FL11"]) for pick in (min, max)]
    mixed = [
        truth.lacquer(
            NM, {n: float(c) for n, c in zip(r.components, r.shares, strict=True) if n != truth.WHITE_NAME}
        )
        for r in ends
    ]
    for recipe, curve in zip(ends, mixed, strict=True):
        assert np.abs(recipe.curve - curve).max() < 0.01
    booth, tubes = (lab_of(colour, np.stack(mixed), light) for light in ("D50", "FL11"))
    assert apart(colour, booth, office_lab([LID_PLUM])[0]).max() < 0.6
    assert apart(colour, tubes[0], tubes[1]) > 3
    steady, unsteady = (dict(recipe.shifts)["FL11"] for recipe in ends)
    assert steady < 1.7 and unsteady > 5


def test_the_label_of_the_batch_is_the_best_recipe(recipes, making):
    *_, found = recipes
    best = found.recipes[0]
    grams = dict(zip(best.components, 1000 * best.amounts, strict=True))
    # The best amounts lie in a flat valley: a hair's breadth in the display's fit moves them by grams.
    assert grams == pytest.approx(making.BATCH, rel=0.02)


def test_the_batch_is_off_and_the_addition_mends_it(truth, making, recipes, colour):
    from screenproof.formats import read_samples
    from screenproof.formats.batches import read_batch
    from screenproof.subtractive import correct_batch

    library, target, lights, eye, _ = recipes
    trial = read_samples(DATA / "lid_trial.csv").reflectance[0]
    wanted = office_lab([LID_PLUM])[0]
    assert apart(colour, lab_of(colour, trial), wanted) > 1.2
    put_in = read_batch(DATA / "lid_batch.csv").amounts
    answer = correct_batch(library.mixture(), put_in, trial, target, lights, eye, resolution=0.001)
    assert answer.possible and (answer.add >= 0).all() and answer.growth < 0.1
    # What really is in the pot, once the additions are.
    pot = {
        name: 1000 * kg * making.REALLY[name] + 1000 * added
        for name, kg, added in zip(answer.components, answer.amounts, answer.add, strict=True)
    }
    total = sum(pot.values())
    curve = truth.lacquer(NM, {name: grams / total for name, grams in pot.items() if name != truth.WHITE_NAME})
    assert apart(colour, lab_of(colour, curve), wanted) < 0.4
