"""The job's recipes: each target searched for in its library, and the best judged.

What is judged, for every recipe that is shown: by ``recipe`` its difference from the target under the viewing
light, with its own doubt and that of the target's reading; by ``pair_shift`` its shift against a target with a
curve under the other lights, by ``light_shift`` its own colour inconstancy where the target has none. The status
of the whole is that of the best recipe that passes, else of the best that is undecided, else of the first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs.records import renamed_notes, triple
from screenproof.jobs.running import decision_of
from screenproof.proof import page_srgb_of_lab
from screenproof.proof.ink_records import RecipeRecord
from screenproof.proof.judging import Judge
from screenproof.questions.recipe.cards import judged_recipes, recipe_card, whole_status
from screenproof.questions.recipe.target import RecipeTarget, of_code, of_sample

if TYPE_CHECKING:
    from screenproof.jobs.ink_side import JobRecipe
    from screenproof.jobs.job import Job
    from screenproof.proof import Viewing
    from screenproof.spectra import Light

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
    wanted = _target(job, one)
    if wanted.display is not None:
        keep(wanted.notes)
    viewing = wanted.viewing
    lights = _lights(job, one, viewing)
    name = table.tolerance or job.default_tolerance
    tolerance = None if name is None else job.tolerances[name]
    within = tolerance.recipe if tolerance is not None and tolerance.metric == "de00" else None
    found = search(
        one.model,
        wanted.target,
        lights,
        viewing.observer,
        components=table.mix.components,
        batch=table.mix.batch,
        count=table.mix.count,
        tolerance=within or WITHIN,
        resolution=table.mix.scale.resolution,
    )
    keep([note for note in found.notes if note.kind == "odd"])
    judge = Judge(tolerance, decision_of(job.doubt))
    judged = judged_recipes(judge, found.recipes, one.model.grid, wanted, lights[1:])
    cards = tuple(
        recipe_card(recipe, one.model.grid, viewing, [verdict for verdict in own if verdict.limited])
        for recipe, own in zip(found.recipes, judged, strict=True)
    )
    said = wanted.said
    return RecipeRecord(
        name=table.name,
        library=table.library,
        medium=one.library.medium,
        target=wanted.target.name if table.approval is None else table.approval,
        target_kind="sample" if table.approval is None else "approval",
        target_lab=triple(said.lab),
        target_srgb=triple(page_srgb_of_lab(said.lab, viewing)),
        target_reflectance=said.reflectance,
        shift_kind="inconstancy" if said.reflectance is None else "pair_shift",
        light=lights[0].name,
        observer=viewing.observer.name,
        lights=tuple(light.name for light in lights[1:]),
        batch=table.mix.batch,
        max_components=table.mix.components,
        pigments=len(one.library.library.components),
        reached=found.reached,
        reason=found.reason,
        tolerance=found.tolerance,
        searched=found.searched,
        recipes=cards,
        caution=RECIPE_CAUTION,
        display=None if wanted.display is None else wanted.display.name,
        stock=one.stock,
        status=whole_status([card.status for card in cards]),
        notes=renamed_notes(
            dict.fromkeys([*one.library.notes, *(note for note in found.notes if note.kind != "caution")]), job
        ),
        sample=wanted.target.name if wanted.display is None else None,
    )


def _lights(job: Job, one: JobRecipe, viewing: Viewing) -> list[Light]:
    """The viewing light, then those that the recipe names; all of the job's unless it does."""
    wanted = one.table.lights
    others = [light for light in job.lights if light.name != viewing.light.name]
    return [viewing.light, *(light for light in others if wanted is None or light.name in wanted)]


def _target(job: Job, one: JobRecipe) -> RecipeTarget:
    """The target in the viewing that it is seen in: the code that was approved, or a sample."""
    table = one.table
    approval = next((entry for entry in job.approvals if entry.name == table.approval), None)
    if approval is not None and approval.display is not None:
        assert approval.code is not None
        display = next(display for display in job.displays if display.name == approval.display)
        viewing = replace(job.viewings[0], object_white=None)
        return of_code(display, approval.code, approval.bits, viewing, approval.name)
    name = table.sample if approval is None else approval.sample
    assert name is not None
    g, i = job.find(name)
    found = of_sample(job.groups[g].samples.select([i]), job.viewings[g])
    return replace(found, target=replace(found.target, name=job.name_of(g, i)))
