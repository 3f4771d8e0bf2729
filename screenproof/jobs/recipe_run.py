"""The job's recipes: each target searched for in its library, and the best judged.

What is judged, for every recipe that is shown: by ``recipe`` its difference from the target under the viewing
light; by ``pair_shift`` its shift against a target with a curve under the other lights, by ``light_shift``
its own colour inconstancy where the target has none. The status of the whole is that of the best recipe that
passes, or of the first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import Note
from screenproof.jobs.overprint_run import curve_record
from screenproof.jobs.recipe_targets import sample_target, screen_target, target_plain
from screenproof.jobs.records import renamed_notes, triple
from screenproof.proof import figure, judge, light_shift, page_srgb_of_lab, pair_shift, worst
from screenproof.proof.ink_records import ComponentRecord, RecipeCard, RecipeRecord, RecipeShift

if TYPE_CHECKING:
    from screenproof.jobs.ink_side import JobRecipe
    from screenproof.jobs.job import Job
    from screenproof.proof import Judged, ToleranceSet, Viewing
    from screenproof.proof.tolerance import What
    from screenproof.spectra import Array, Light, Samples
    from screenproof.subtractive import Recipe, Target

WITHIN = 1.0
"""CIEDE2000 within which a target counts as reached where the job has no limit for it: just visible."""


def recipe_records(
    job: Job, say: Callable[[str], None], keep: Callable[[Sequence[Note]], None]
) -> tuple[RecipeRecord, ...]:
    """A record for each recipe that the job wants."""
    return tuple(_record(job, one, say, keep) for one in job.ink.recipes)


def _record(
    job: Job, one: JobRecipe, say: Callable[[str], None], keep: Callable[[Sequence[Note]], None]
) -> RecipeRecord:
    from screenproof.subtractive import RECIPE_CAUTION, search

    table = one.table
    say(f"recipe {table.name}")
    target, viewing, display = _target(job, one, keep)
    lights = _lights(job, one, viewing)
    tolerance = _tolerance(job, one)
    within = tolerance.recipe if tolerance is not None and tolerance.metric == "de00" else None
    found = search(
        one.model,
        target,
        lights,
        viewing.observer,
        components=table.components,
        batch=table.batch,
        count=table.count,
        tolerance=within or WITHIN,
        resolution=table.resolution,
    )
    keep([note for note in found.notes if note.kind == "odd"])
    cards = tuple(_card(one, recipe, target, viewing, lights, tolerance) for recipe in found.recipes)
    passing = next((card for card in cards if card.status == "pass"), cards[0])
    wanted = target_plain(target, lights[0], viewing.observer)
    lab = np.array(wanted["lab"])
    has_curve = target.curve is not None and target.grid is not None
    return RecipeRecord(
        name=table.name,
        library=table.library,
        medium=one.library.medium,
        target=target.name if table.approval is None else table.approval,
        target_kind="sample" if table.approval is None else "approval",
        target_lab=triple(lab),
        target_srgb=triple(page_srgb_of_lab(lab, viewing)),
        target_curve=curve_record(target.curve, target.grid) if target.curve is not None and target.grid else None,
        shift_kind="pair_shift" if has_curve else "inconstancy",
        light=lights[0].name,
        observer=viewing.observer.name,
        lights=tuple(light.name for light in lights[1:]),
        batch=table.batch,
        max_components=table.components,
        pigments=len(one.library.library.components),
        reached=found.reached,
        reason=found.reason,
        tolerance=found.tolerance,
        searched=found.searched,
        recipes=cards,
        caution=RECIPE_CAUTION,
        display=display,
        stock=one.stock,
        status=passing.status,
        notes=renamed_notes(
            dict.fromkeys([*one.library.notes, *(note for note in found.notes if note.kind != "caution")]), job
        ),
        sample=target.name if display is None else None,
    )


def _tolerance(job: Job, one: JobRecipe) -> ToleranceSet | None:
    name = one.table.tolerance or job.default_tolerance
    return None if name is None else job.tolerances[name]


def _lights(job: Job, one: JobRecipe, viewing: Viewing) -> list[Light]:
    """The viewing light, then those that the recipe names; all of the job's unless it does."""
    wanted = one.table.lights
    others = [light for light in job.lights if light.name != viewing.light.name]
    return [viewing.light, *(light for light in others if wanted is None or light.name in wanted)]


def _target(
    job: Job, one: JobRecipe, keep: Callable[[Sequence[Note]], None]
) -> tuple[Target, Viewing, str | None]:
    """The target, the viewing that it is seen in, and the display of an approved code."""
    from dataclasses import replace

    from screenproof.appearance import lab_to_xyz
    from screenproof.jobs.ink_run import approved_lab

    table = one.table
    approval = next((entry for entry in job.approvals if entry.name == table.approval), None)
    if approval is not None and approval.display is not None:
        viewing = replace(job.viewings[0], object_white=None)
        lab, notes = approved_lab(job, approval, viewing)
        keep(notes)
        xyz = lab_to_xyz(lab, viewing.white)
        return screen_target(xyz, approval.name, viewing.light, viewing.observer), viewing, approval.display
    name = table.sample if approval is None else approval.sample
    assert name is not None
    g, i = job.find(name)
    viewing = job.viewings[g]
    target, _ = sample_target(job.groups[g].samples.select([i]), viewing.light, viewing.observer)
    return replace(target, name=job.name_of(g, i)), viewing, None


def _card(
    one: JobRecipe,
    recipe: Recipe,
    target: Target,
    viewing: Viewing,
    lights: Sequence[Light],
    tolerance: ToleranceSet | None,
) -> RecipeCard:
    litres: list[float | None] = [None] * len(recipe.components)
    if recipe.litres is not None:
        litres = recipe.litres.tolist()
    verdicts = () if tolerance is None else _verdicts(tolerance, one, recipe, target, viewing, lights)
    return RecipeCard(
        components=tuple(
            ComponentRecord(name, share, amount, volume)
            for name, share, amount, volume in zip(
                recipe.components, recipe.shares.tolist(), recipe.amounts.tolist(), litres, strict=True
            )
        ),
        curve=curve_record(recipe.curve, one.model.grid),
        lab=triple(recipe.lab),
        srgb=triple(page_srgb_of_lab(recipe.lab, viewing)),
        de00=recipe.de00,
        words=recipe.words,
        shifts=tuple(RecipeShift(light, shift) for light, shift in recipe.shifts),
        rms=recipe.rms,
        cost=recipe.cost,
        doubt=recipe.doubt,
        on_front=recipe.on_front,
        verdicts=verdicts,
        status=worst(verdict.status for verdict in verdicts),
        notes=recipe.notes,
    )


def _verdicts(
    tolerance: ToleranceSet,
    one: JobRecipe,
    recipe: Recipe,
    target: Target,
    viewing: Viewing,
    lights: Sequence[Light],
) -> tuple[Judged, ...]:
    """The recipe against its target under the first light, and its shift under each other."""
    from screenproof.spectra import Samples

    eye = viewing.observer
    lab = np.array(target_plain(target, lights[0], eye)["lab"])
    amount = float(figure(tolerance, lab, recipe.lab, viewing.white, viewing.conditions()))
    found = [judge(tolerance, "recipe", amount, light=lights[0].name, observer=eye.name)]
    made = Samples(("recipe",), reflectance=recipe.curve[np.newaxis], grid=one.model.grid)
    what: What = "light_shift" if target.curve is None else "pair_shift"
    if lights[1:] and tolerance.limit(what) is not None:
        figures = _shift_figures(tolerance, made, target, viewing, lights)
        found += [
            judge(tolerance, what, float(value), light=light.name, observer=eye.name)
            for value, light in zip(figures, lights[1:], strict=True)
        ]
    return tuple(verdict for verdict in found if verdict is not None)


def _shift_figures(
    tolerance: ToleranceSet, made: Samples, target: Target, viewing: Viewing, lights: Sequence[Light]
) -> Array:
    """The shift under each light but the first, in the metric of the tolerance set."""
    from screenproof.spectra import Samples

    if target.curve is None or target.grid is None:
        own = light_shift(made, lights[0], list(lights[1:]), [viewing.observer])
        return np.asarray(own.figure(tolerance)[0, :, 0])
    wanted = Samples((target.name,), reflectance=target.curve[np.newaxis], grid=target.grid)
    both = pair_shift(wanted, made, lights[0], list(lights[1:]), [viewing.observer])
    return np.asarray(both.figure(tolerance)[0, :, 0])
