"""What users get wrong with inks, pigments and recipes: each is named, with what was expected."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import Grid, light, observer
from screenproof.subtractive import (
    Importance,
    Ink,
    Letdowns,
    Library,
    OpaqueFilm,
    Pigment,
    Surface,
    Target,
    Trapping,
    cloth,
    correct_batch,
    film,
    fit_drawdowns,
    fit_pigments,
    fit_single_constant,
    fit_trapping,
    fit_trappings,
    fit_two_constant,
    fit_white,
    ink_from_readings,
    inks,
    overprint,
    paint,
    premix,
    search,
)

GRID, OTHER = Grid(400.0, 700.0, 10.0), Grid(400.0, 700.0, 5.0)
W = GRID.count


def flat(value, grid=GRID):
    return np.full(grid.count, value)


def ink(name="cyan", value=0.5, grid=GRID):
    return Ink(name, grid, flat(value, grid))


def pigment(name="blue", kind="relative", grid=GRID, k=1.0, s=0.5):
    return Pigment(name, grid, flat(k, grid), flat(s, grid), kind)


WHITE = fit_white("white", flat(0.9), GRID)
MODEL = paint([pigment()], WHITE)
D50, EYE = light("D50"), observer("cie1931")
TARGET = Target.of_curve(flat(0.5), GRID)


def find(model=MODEL, target=TARGET, lights=(D50,), **options):
    return search(model, target, lights, EYE, **options)


def mend(amounts=None, trial=None, target=TARGET, **options):
    return correct_batch(
        MODEL,
        {"blue": 1.0, "white": 9.0} if amounts is None else amounts,
        flat(0.4) if trial is None else trial,
        target,
        [D50],
        EYE,
        **options,
    )


MISTAKES = {
    # Transparent inks.
    "concentrations that sum to less": (
        lambda: premix([ink("a"), ink("b")], [0.5, 0.4]),
        "concentrations that sum to 0.9",
    ),
    "concentrations in percent": (lambda: premix([ink("a"), ink("b")], [60, 40]), "divide percentages by 100"),
    "a concentration below 0": (lambda: premix([ink("a"), ink("b")], [1.2, -0.2]), "-0.2 of b"),
    "a stock darker than the ink": (
        lambda: ink_from_readings(flat(0.8), flat(0.4), GRID, name="cyan", stock_name="kraft"),
        "kraft is darker than cyan on it, at 31 of 31",
    ),
    "a reading of 0": (lambda: ink_from_readings(flat(0.0), flat(0.8), GRID), "reflectance of 0 at 400, 410"),
    "a stock of 0": (lambda: overprint(flat(0.0), [ink()]), "reflectance of 0"),
    "a reading below the surface's own": (
        lambda: ink_from_readings(flat(0.03), flat(0.8), GRID, Surface(0.04, 0.6)),
        "more than 0.04 in every band",
    ),
    "a missing band": (
        lambda: ink_from_readings(np.append(flat(0.2)[1:], np.nan), flat(0.8), GRID),
        "no reading at 700 nm",
    ),
    "a stock measured in percent": (lambda: overprint(flat(85.0), [ink()]), "divide percentages by 100"),
    "inks on unlike grids": (
        lambda: overprint(flat(0.8), [ink("a"), ink("b", grid=OTHER)]),
        "nothing is resampled",
    ),
    "a stock on another grid": (
        lambda: overprint(flat(0.8), [ink()], stock_grid=OTHER),
        "cyan is on 400 to 700 nm by 10 nm, stock on 400 to 700 nm by 5 nm",
    ),
    "a film weight below 0": (lambda: overprint(flat(0.8), [ink()], [-1.0]), "film weight of -1"),
    "film weights for other inks": (lambda: overprint(flat(0.8), [ink()], [1.0, 1.0]), r"for 1 inks"),
    "no ink": (lambda: overprint(flat(0.8), []), "no ink to print"),
    "a curve of another length": (lambda: ink_from_readings([0.2, 0.3], flat(0.8), GRID), r"for 31 wavelengths"),
    "an underprint of negative K": (
        lambda: OpaqueFilm("white", GRID, flat(-0.1), flat(1.0)),
        "K of shape",
    ),
    "a trapping factor below 0": (lambda: Trapping({("a", "b"): -0.5}), "factor of -0.5"),
    "trapping of one ink": (lambda: Trapping({("a",): 0.5}), "nothing to be trapped on"),
    "trapping fitted to one ink": (lambda: fit_trapping(flat(0.2), flat(0.8), [ink()]), "two inks or more"),
    "an overprint of an unknown ink": (
        lambda: fit_trappings({("cyan", "yellow"): flat(0.2)}, flat(0.8), [ink("cyan")]),
        "no ink is called 'yellow'",
    ),
    # Letdowns and pigments.
    "no masstone": (
        lambda: fit_two_constant(Letdowns("blue", GRID, [0.1, 0.5], [flat(0.4), flat(0.3)]), WHITE),
        "no masstone: the highest concentration is 0.5",
    ),
    "one concentration": (
        lambda: fit_two_constant(Letdowns("blue", GRID, [1.0], [flat(0.1)]), WHITE),
        r"one concentration \(1\) only",
    ),
    "letdowns in percent": (
        lambda: Letdowns("blue", GRID, [10.0, 100.0], [flat(0.4), flat(0.3)]),
        "divide percentages by 100",
    ),
    "duplicate letdowns that disagree": (
        lambda: Letdowns("blue", GRID, [0.1, 0.1, 1.0], [flat(0.4), flat(0.5), flat(0.1)]),
        "2 readings that disagree by [0-9.]+ CIEDE2000",
    ),
    "a letdown of 0": (lambda: Letdowns("blue", GRID, [0.1, 1.0], [flat(0.4), flat(0.0)]), "reflectance of 0"),
    "a letdown above 1": (
        lambda: Letdowns("blue", GRID, [0.1, 1.0], [flat(1.1), flat(0.1)]),
        "reflectance of 1.1",
    ),
    "letdowns on another grid than the white": (
        lambda: fit_two_constant(Letdowns("blue", OTHER, [0.1, 1], [flat(0.4, OTHER), flat(0.1, OTHER)]), WHITE),
        "nothing is resampled",
    ),
    "letdowns without a white": (
        lambda: fit_pigments([Letdowns("blue", GRID, [0.1, 1.0], [flat(0.4), flat(0.1)])]),
        "no white to which the letdowns belong",
    ),
    "dyeings without the cloth": (
        lambda: fit_single_constant(Letdowns("dye", GRID, [1.0, 2.0], [flat(0.4), flat(0.3)], dye=True)),
        "the undyed cloth is missing",
    ),
    "one dyeing": (
        lambda: fit_single_constant(Letdowns("dye", GRID, [0.0, 2.0], [flat(0.8), flat(0.3)], dye=True)),
        "at least two dyeings",
    ),
    "a drawdown that hides": (
        lambda: fit_drawdowns("blue", flat(0.5), flat(0.5), flat(0.05), flat(0.8), GRID),
        "measure a thinner film",
    ),
    "a tint drawn down without its base": (
        lambda: fit_drawdowns("blue", flat(0.3), flat(0.5), flat(0.05), flat(0.8), GRID, concentration=0.2),
        "no absolute base for the rest",
    ),
    "negative K": (lambda: pigment(k=-1.0), "K of shape"),
    "negative surface coefficients": (lambda: Surface(-0.04, 0.6), "k1 = -0.04"),
    "surface coefficients of 1 together": (lambda: Surface(0.4, 0.6), "k1 [+] k2 = 1"),
    "a density of 0": (lambda: Pigment("p", GRID, flat(1.0), flat(1.0), density=0.0), "density of 0"),
    # Models and libraries.
    "an empty library": (lambda: paint([], WHITE), "an empty library"),
    "an empty library object": (lambda: Library("shop", ()), "an empty library"),
    "relative pigments in a film": (lambda: film([pigment()], flat(0.8), 1.0), "measure drawdowns over black and"),
    "relative beside absolute": (lambda: paint([pigment(), pigment("red", "absolute")]), "on one scale"),
    "a pigment as a dye": (lambda: cloth([pigment()], WHITE), "kind dye for a cloth"),
    "a film of no thickness": (lambda: film([pigment(kind="absolute")], flat(0.8), 0.0), "thickness of 0"),
    "a name twice": (lambda: paint([pigment(), pigment()]), "'blue' stands twice"),
    "inks without a stock": (lambda: Library("inks", (ink(),)).mixture(), "the curve of the stock"),
    "inks beside pigments": (lambda: Library("shop", (ink(), pigment())), "inks and pigments in one library"),
    "ink recipes on a black stock": (lambda: inks([ink()], flat(0.0)), "reflectance of 0"),
    "a file of something else": (lambda: Library.from_json('{"schema": "x/1"}', file="a.json"), "a.json, schema"),
    "a file cut short": (lambda: Library.from_json('{"schema": '), "no JSON"),
    "a file with a part missing": (
        lambda: Library.from_json('{"schema": "screenproof-library/1", "grid": [400, 700, 10]}'),
        "'surface' is missing",
    ),
    # Targets and searches.
    "no component": (lambda: find(components=0), "recipes of 0 components"),
    "a batch of nothing": (lambda: find(batch=0.0), "batch mass of 0 kg"),
    "a negative batch": (lambda: find(batch=-2.0), "batch mass of -2 kg"),
    "a target on another grid": (
        lambda: find(target=Target.of_curve(flat(0.5, OTHER), OTHER)),
        "the target is on",
    ),
    "XYZ of another light": (
        lambda: find(target=Target.of_xyz([20, 20, 20], "D65", "cie1931")),
        "XYZ for D65 and observer cie1931, asked for D50",
    ),
    "XYZ brighter than white": (lambda: Target.of_xyz([90, 120, 80], "D50", "cie1931"), "Y above 0 up to 100"),
    "a target of neither kind": (lambda: Target("t"), "needs a curve or XYZ"),
    "no light": (lambda: find(lights=()), "at least the light in which the match is made"),
    "a light twice": (lambda: find(lights=(D50, D50)), "'D50' stands twice"),
    "a scale coarser than the batch": (lambda: find(resolution=5.0), "a scale that reads to 5 kg"),
    "no recipe wanted": (lambda: find(count=0), "0 recipes"),
    "a weight below 0": (lambda: Importance(shift=-1.0), "importance of shift"),
    "a tolerance of 0": (lambda: find(tolerance=0.0), "tolerance of 0"),
    # Corrections.
    "a batch with an unknown pigment": (lambda: mend({"green": 1.0}), "no component is called 'green'"),
    "a batch of less than nothing": (lambda: mend({"blue": -1.0, "white": 9.0}), "-1 kg of blue"),
    "an empty batch": (lambda: mend({"blue": 0.0}), "a batch of nothing"),
    "a trial of the wrong length": (lambda: mend(trial=[0.4, 0.5]), "for 31 wavelengths"),
    "a trial under another light": (
        lambda: mend(trial=Target.of_xyz([20, 20, 20], "A", "cie1931")),
        "the trial's XYZ is for A",
    ),
    "no growth allowed": (lambda: mend(most_growth=0.0), "largest growth of 0"),
    "dyes without the mass of cloth": (
        lambda: correct_batch(cloth([pigment("dye", "dye")], WHITE), {"dye": 0.1}, flat(0.4), TARGET, [D50], EYE),
        "the mass of the cloth is missing",
    ),
}


@pytest.mark.parametrize("what", MISTAKES)
def test_a_mistake_is_named(what):
    make, words = MISTAKES[what]
    with pytest.raises(InputError, match=words) as caught:
        make()
    assert all(p.what and (p.field or p.file or p.line) for p in caught.value.problems)
    assert any(p.expected or p.mend for p in caught.value.problems)


def test_all_mistakes_of_many_letdowns_come_at_once():
    sets = [
        Letdowns("no masstone", GRID, [0.1, 0.5], [flat(0.4), flat(0.3)]),
        Letdowns("one only", GRID, [1.0], [flat(0.1)]),
        Letdowns("good", GRID, [0.1, 1.0], [flat(0.4), flat(0.1)]),
    ]
    with pytest.raises(InputError) as caught:
        fit_pigments(sets, WHITE)
    assert [p.field for p in caught.value.problems] == ["letdowns of no masstone", "letdowns of one only"]
