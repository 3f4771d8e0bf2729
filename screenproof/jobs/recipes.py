"""The answers of the commands ``recipe find``, ``recipe correct`` and ``recipe library``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Note, Problem, nearest
from screenproof.jobs.direct import (
    Answer,
    check_limit,
    plain_notes,
    several,
    status_of,
)
from screenproof.jobs.ink_words import refuse_existing
from screenproof.jobs.recipe_targets import (
    GroundWords,
    SceneWords,
    TargetWords,
    lights_of,
    mixture_of,
    open_library,
    sample_target,
    target_of,
    target_plain,
)
from screenproof.questions.ink_names import amounts_of, no_sample, one_sample
from screenproof.questions.parsing import parsed, weights_kg
from screenproof.questions.sources import existing_file, looks_like_file, open_samples

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.spectra import Grid
    from screenproof.subtractive import Recipe


def find_answer(
    library_file: str,
    target: TargetWords,
    ground: GroundWords,
    scene: SceneWords,
    out: Path | None = None,
    *,
    components: int = 4,
    batch: float = 1.0,
    count: int = 5,
    tolerance: float = 1.0,
    resolution: float = 0.0,
    without: str | None = None,
    limit: float | None = None,
    force: bool = False,
) -> Answer:
    """The best recipes for a target out of a library, with what is to be expected of each.

    without: components that may not be used. Raises InputError for words that cannot be, and as the search does.
    """
    from screenproof.subtractive import search

    check_limit(limit)
    path = existing_file(library_file)
    refuse_existing(out, [path], force)
    found = open_library(library_file)
    lights, eye = lights_of(scene)
    wanted, notes = target_of(target, found.library.grid, lights[0], eye)
    library = found if without is None else _without(found, without)
    model, stock = mixture_of(library, ground)
    answer = search(
        model,
        wanted,
        lights,
        eye,
        components=components,
        batch=batch,
        count=count,
        tolerance=tolerance,
        resolution=resolution,
    )
    if out is not None:
        _write_curves(out, answer.recipes, model.grid, force)
    first = answer.recipes[0]
    return {
        "schema": "screenproof-recipe/1",
        "library": library_file,
        "medium": found.medium,
        "pigments": len(library.library.components),
        "stock": stock,
        "target": target_plain(wanted, lights[0], eye),
        "light": lights[0].name,
        "lights": [light.name for light in lights[1:]],
        "observer": eye.name,
        "batch": batch,
        "reached": answer.reached,
        "reason": answer.reason,
        "tolerance": answer.tolerance,
        "searched": [list(one) for one in answer.searched],
        "limit": limit,
        "recipes": [
            {**recipe_plain(one, model.grid), "status": status_of(one.de00, limit)} for one in answer.recipes
        ],
        "status": status_of(first.de00, limit),
        "written": None if out is None else out.as_posix(),
        "notes": plain_notes(eye.notes, found.notes, notes, answer.notes),
    }


def _without(found: LibraryFile, without: str) -> LibraryFile:
    names = [one.name for one in found.library.components]
    barred = several(without, "--without")
    unknown = [name for name in barred if name not in names]
    if unknown:
        raise InputError(no_sample(name, names, "--without", found.source) for name in unknown)
    kept = tuple(one for one in found.library.components if one.name not in barred)
    library = replace(found.library, components=kept)  # type: ignore[arg-type]
    return replace(found, library=library)


def recipe_plain(one: Recipe, grid: Grid) -> Answer:
    """A recipe as plain data."""
    litres = [None] * len(one.components) if one.litres is None else one.litres.tolist()
    return {
        "components": [
            {"name": name, "share": share, "amount": amount, "litres": volume}
            for name, share, amount, volume in zip(
                one.components, one.shares.tolist(), one.amounts.tolist(), litres, strict=True
            )
        ],
        "lab": one.lab.tolist(),
        "reflectance": {"wavelengths": grid.wavelengths.tolist(), "values": one.curve.tolist()},
        "de00": one.de00,
        "words": one.words,
        "shifts": [{"light": light, "de00": shift} for light, shift in one.shifts],
        "rms": one.rms,
        "cost": one.cost,
        "doubt": one.doubt,
        "on_front": one.on_front,
        "notes": plain_notes(one.notes),
    }


def _write_curves(out: Path, recipes: Sequence[Recipe], grid: Grid, force: bool) -> None:
    from screenproof.formats import write_samples
    from screenproof.spectra import Samples as Made

    names = tuple(f"Recipe {i + 1}" for i in range(len(recipes)))
    write_samples(Made(names, reflectance=np.stack([one.curve for one in recipes]), grid=grid), out, force=force)


def correct_answer(
    library_file: str,
    target: TargetWords,
    ground: GroundWords,
    scene: SceneWords,
    *,
    batch: str,
    trial: str,
    trial_name: str | None = None,
    cloth: float | None = None,
    allow: str | None = None,
    tolerance: float | None = None,
    growth: float | None = None,
    resolution: float = 0.0,
) -> Answer:
    """What to add to a batch that was mixed and measured. batch: a file of amounts, or 'White=8.2,Red=0.31'
    in kg.

    Raises InputError for words that cannot be, and as the correction does.
    """
    from screenproof.formats import read_batch
    from screenproof.subtractive import correct_batch
    from screenproof.subtractive.correct import MOST_GROWTH, TOLERANCE

    found = open_library(library_file)
    lights, eye = lights_of(scene)
    wanted, notes = target_of(target, found.library.grid, lights[0], eye)
    model, stock = mixture_of(found, ground)
    more: tuple[Note, ...] = ()
    if looks_like_file(batch) and "=" not in batch:
        read = read_batch(existing_file(batch))
        amounts, more = read.amounts, read.notes
        unknown = [name for name in amounts if name not in model.names]
        if unknown:
            raise InputError(_no_component(name, model.names, read.source) for name in unknown)
    else:
        amounts = amounts_of(parsed(weights_kg, batch, "--batch"), model.names, "--batch")
    measured, said = sample_target(one_sample(open_samples(trial), trial_name, "--trial-name"), lights[0], eye)
    answer = correct_batch(
        model,
        amounts,
        measured,
        wanted,
        lights,
        eye,
        batch=cloth,
        allow=[] if allow is None else several(allow, "--allow"),
        tolerance=TOLERANCE if tolerance is None else tolerance,
        most_growth=MOST_GROWTH if growth is None else growth / 100.0,
        resolution=resolution,
    )
    rows = zip(
        answer.components, answer.amounts.tolist(), answer.effective.tolist(), answer.add.tolist(),
        answer.after.tolist(), strict=True,
    )  # fmt: skip
    return {
        "schema": "screenproof-recipe-correct/1",
        "library": library_file,
        "medium": found.medium,
        "stock": stock,
        "target": target_plain(wanted, lights[0], eye),
        "trial": target_plain(measured, lights[0], eye),
        "light": lights[0].name,
        "lights": [light.name for light in lights[1:]],
        "observer": eye.name,
        "components": [
            {"name": name, "amount": amount, "effective": effective, "add": add, "after": after}
            for name, amount, effective, add, after in rows
        ],
        "batch": float(answer.amounts.sum()),
        "added": float(answer.add.sum()),
        "growth": answer.growth,
        "de00_before": answer.de00_before,
        "words_before": answer.words_before,
        "de00": answer.de00,
        "words": answer.words,
        "shifts": [{"light": light, "de00": shift} for light, shift in answer.shifts],
        "reflectance": {"wavelengths": model.grid.wavelengths.tolist(), "values": answer.curve.tolist()},
        "possible": answer.possible,
        "reason": answer.reason,
        "status": "pass" if answer.possible else "fail",
        "notes": plain_notes(eye.notes, found.notes, notes, said, more, answer.notes),
    }


def _no_component(name: str, known: Sequence[str], file: str) -> Problem:
    near = nearest(name, list(known))
    return Problem(
        f"the library has no component {name!r}",
        file,
        None,
        "component",
        f"one of {', '.join(list(known)[:8])}",
        f"did you mean {near!r}?" if near else "name it as the library does",
    )


def library_answer(library_file: str, out: Path | None = None, *, force: bool = False) -> Answer:
    """What a library holds: each component with its fit, its good range, cost and density; written to ``out``
    as JSON."""
    from screenproof.formats import write_beside
    from screenproof.subtractive import Pigment
    from screenproof.subtractive.cautions import recipe_caution

    path = existing_file(library_file)
    refuse_existing(out, [path], force)
    found = open_library(library_file)
    entries: list[Answer] = []
    for one in [*found.library.components, *([] if found.library.base is None else [found.library.base])]:
        fit = one.fit if isinstance(one, Pigment) else None
        entries.append(
            {
                "name": one.name,
                "base": one is found.library.base,
                "kind": one.kind if isinstance(one, Pigment) else "ink",
                "letdowns": None if fit is None else len(fit.concentrations),
                "worst_de00": None if fit is None else fit.worst,
                "rms": one.residual if isinstance(one, Pigment) and fit is not None else None,
                "concentrations": list(one.concentrations) if isinstance(one, Pigment) else None,
                "cost": one.cost,
                "density": one.density if isinstance(one, Pigment) else None,
            }
        )
    written = None
    if out is not None:
        written = write_beside(out, found.library.to_json() + "\n", force=force).as_posix()
    surface = found.library.surface
    return {
        "schema": "screenproof-recipe-library/1",
        "file": library_file,
        "medium": found.medium,
        "readings": found.readings,
        "wavelengths": str(found.library.grid),
        "surface": {"k1": surface.k1, "k2": surface.k2, "specular": surface.specular},
        "components": entries,
        "written": written,
        "notes": plain_notes(found.notes, [recipe_caution()]),
    }
