"""Recipes judged and told: for the command, for Python and for a job alike.

A recipe was made so that its prediction lies near the target. That its figure is small says nothing of how near
the mixed colour will be: that is in the doubt of the prediction. So the verdict is of the truth about the
figure, as of a match (:func:`screenproof.proof.doubt.followed`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof.covariance import MEAN_LENGTH
from screenproof.proof.ink_records import ComponentRecord, Curve, RecipeCard, RecipeShift
from screenproof.proof.judged import Judged, Remedy, Status, worst

if TYPE_CHECKING:
    from screenproof.proof import Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.recipe.target import RecipeTarget
    from screenproof.spectra import Array, Grid, Light
    from screenproof.subtractive import Recipe

MEAN_OF_RMS = MEAN_LENGTH / math.sqrt(3.0)
"""A recipe states its doubt as a root mean square, the judge takes a mean. Of the length of a vector of three
independent normal components alike the one is sqrt(3) of a component's standard deviation, the other
:data:`~screenproof.proof.covariance.MEAN_LENGTH`."""

MEASURE_IT = "mix this recipe and measure it"


def judged_recipes(
    judge: Judge, recipes: Sequence[Recipe], grid: Grid, wanted: RecipeTarget, others: Sequence[Light] = ()
) -> list[tuple[Judged, ...]]:
    """The verdicts on each recipe: its difference from the target, with its own doubt and that of the target's
    reading; then its shift in each light of ``others``, as it stands: no doubt of a shift is known.

    The shift is judged by ``pair_shift`` against a target with a curve, else by ``light_shift``.
    """
    viewing, count = wanted.viewing, len(recipes)
    said = {"sample": wanted.said.name, "screen": "" if wanted.display is None else wanted.display.label}
    first = judge.rows(
        "recipe",
        np.tile(wanted.said.lab, (count, 1)),
        np.stack([one.lab for one in recipes]),
        (viewing.white, viewing.conditions()),
        lambda: wanted.spread(count),
        (viewing.light.name, viewing.observer.name),
        {part: [name] * count for part, name in (said | {"model": MEASURE_IT}).items()},
        follows=True,
        model=MEAN_OF_RMS * np.array([one.doubt for one in recipes]),
    )
    if wanted.part is None:
        first = [_with_cure(one, recipe.doubt) for one, recipe in zip(first, recipes, strict=True)]
    shifts = [_judged_shifts(judge, recipe.curve, grid, wanted, others) for recipe in recipes]
    return [(one, *more) for one, more in zip(first, shifts, strict=True)]


def _with_cure(judged: Judged, doubt: float) -> Judged:
    """What decides where the recipe alone is in doubt: no reading of the target does."""
    if judged.status != "undecided":
        return judged
    words = (
        f"{MEASURE_IT[:1].upper()}{MEASURE_IT[1:]}: the fit of its components leaves {doubt:.2f} CIEDE2000 open."
    )
    return replace(judged, remedy=Remedy(words))


def _judged_shifts(
    judge: Judge, curve: Array, grid: Grid, wanted: RecipeTarget, others: Sequence[Light]
) -> list[Judged]:
    from screenproof.proof import light_shift, pair_shift
    from screenproof.spectra import Samples

    target, light, eye = wanted.target, wanted.viewing.light, wanted.viewing.observer
    if not others:
        return []
    made = Samples(("recipe",), reflectance=curve[np.newaxis], grid=grid)
    if target.curve is None:
        found = light_shift(made, light, others, [eye])
        return judge.shift("light_shift", found, {}, lambda *place: None)[0]
    aim = Samples((target.name,), reflectance=target.curve[np.newaxis], grid=target.grid)
    return judge.pair_shift(pair_shift(aim, made, light, others, [eye]), {}, lambda *place: None)[0]


def whole_status(statuses: Sequence[Status]) -> Status:
    """The status of all recipes for a target: one that passes is enough, else one that is undecided; else that of
    the first."""
    return next((status for status in ("pass", "undecided") if status in statuses), statuses[0])


def recipe_card(recipe: Recipe, grid: Grid, viewing: Viewing, judged: Sequence[Judged]) -> RecipeCard:
    """A recipe as a record."""
    from screenproof.proof import page_srgb_of_lab

    litres = [None] * len(recipe.components) if recipe.litres is None else recipe.litres.tolist()
    lab, srgb = (tuple(map(float, values)) for values in (recipe.lab, page_srgb_of_lab(recipe.lab, viewing)))
    parts = zip(recipe.components, recipe.shares.tolist(), recipe.amounts.tolist(), litres, strict=True)
    return RecipeCard(
        components=tuple(ComponentRecord(*part) for part in parts),
        reflectance=Curve.of(recipe.curve, grid),
        lab=lab,  # type: ignore[arg-type]
        srgb=srgb,  # type: ignore[arg-type]
        de00=recipe.de00,
        words=recipe.words,
        shifts=tuple(RecipeShift(light, shift) for light, shift in recipe.shifts),
        rms=recipe.rms,
        cost=recipe.cost,
        doubt=recipe.doubt,
        on_front=recipe.on_front,
        verdicts=tuple(judged),
        status=worst(one.status for one in judged),
        notes=recipe.notes,
    )
