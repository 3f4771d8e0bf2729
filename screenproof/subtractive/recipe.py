"""The search: which components, how much of each, for a target colour on a given medium.

All sets of at most k components are looked at. First the problem is linearised about the mixture of *all*
components that comes nearest, and each set gets its best shares there by a small linear system; the best
thousands of each size are then solved as they are (:mod:`screenproof.subtractive.solve`), in rounds that keep
fewer and go further. Where the sets are more than can be looked at, a size is built on the best sets of the size
below, and a note says so.

No recipe is hidden: what is left out is a set in which a component has next to no share (the smaller set stands
for it), and one that adds a component to a listed recipe without bettering its score.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import difference_words, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Light, Observer, frozen
from screenproof.subtractive._checks import above_zero
from screenproof.subtractive.cautions import recipe_caution
from screenproof.subtractive.doubt import doubts
from screenproof.subtractive.mixing import MixingModel
from screenproof.subtractive.ranking import Importance, costs_per_kg, mean_cost, pareto_front, scores
from screenproof.subtractive.solve import FARTHEST, Indices, Sets, linear_start, linearised, mixture_near, refine
from screenproof.subtractive.target import CURVE_COUNTS_FULLY, Aim, Target

ALL_SETS = 250_000
"""Sets of one size up to which all are looked at: beyond, they are built on the best of the size below."""

PARENTS = 400
"""How many sets of a size serve to build the next, where not all are looked at."""

ROUNDS = ((5000, 2), (1500, 3), (300, 12))
"""How many sets of each size are kept, and for how many steps they are then bettered."""

SMALLEST = 2e-4
"""The share of the mixture below which a component counts as not there: two grams in ten kilograms."""


FAR_SETS = 20
"""Mixtures that are brought nearer to a target out of reach by CIEDE2000 as it is far off."""


@dataclass(frozen=True, eq=False)
class Recipe:
    """One recipe: components and amounts, and what is to be expected of it.

    components: names, the base last; shares: (k,), parts of 1 (of a cloth: concentrations); amounts: (k,) kg for
    the batch; litres: (k,) or None without densities; curve: (w,) predicted; de00: CIEDE2000 under the first
    light; words: how it differs there; shifts: for each other light its name and CIEDE2000 (pair shift, or colour
    inconstancy for a target that is XYZ); rms: of the curve against the target's, None without one; cost: of the
    batch, None if not known; doubt: CIEDE2000 (root mean square) by which the fit of the pigments leaves it
    uncertain; score, on_front: see :mod:`ranking`.
    """

    components: tuple[str, ...]
    shares: Array
    amounts: Array
    litres: Array | None
    curve: Array
    lab: Array
    de00: float
    words: str
    shifts: tuple[tuple[str, float], ...]
    rms: float | None
    cost: float | None
    doubt: float
    score: float
    on_front: bool
    notes: tuple[Note, ...] = ()

    @property
    def worst_shift(self) -> float:
        """The largest shift, 0 where no other light was asked for."""
        return max((value for _, value in self.shifts), default=0.0)


@dataclass(frozen=True, eq=False)
class RecipeSearch:
    """The recipes found, best first, and how they were looked for.

    reached: whether the best is within the tolerance; reason: if not, what stands in the way; searched: for each
    number of components (beside the base) how many sets were looked at and how many there are.
    """

    target: Target
    batch: float
    light: str
    observer: str
    recipes: tuple[Recipe, ...]
    reached: bool
    reason: str | None
    tolerance: float
    searched: tuple[tuple[int, int, int], ...]
    notes: tuple[Note, ...]


def search(
    model: MixingModel,
    target: Target,
    lights: Sequence[Light],
    observer: Observer,
    *,
    components: int = 4,
    batch: float = 1.0,
    count: int = 10,
    tolerance: float = 1.0,
    importance: Importance | None = None,
    resolution: float = 0.0,
) -> RecipeSearch:
    """The best recipes of at most so many ``components`` beside the base.

    lights: the first is the one in which the match is made. batch: kg of the mixture (of the cloth, for dyes).
    tolerance: CIEDE2000 within which the target counts as reached. resolution: of the scale, in kg; amounts are
    multiples of it, the base takes what is left of the batch, and everything is predicted from these amounts.

    A target outside every mixture is no error: ``reached`` is False then and ``reason`` says what stands in the
    way. Raises InputError for no component, a batch of 0 or below, unlike grids, and lights as :class:`Aim` does.
    """
    if components < 1 or int(components) != components:
        raise bad(f"recipes of {components:g} components", field="components", expected="1 or more")
    if count < 1:
        raise bad(f"{count:g} recipes", field="count", expected="1 or more")
    mass, within = above_zero(batch, "batch mass", " kg"), above_zero(tolerance, "tolerance")
    if not (np.isfinite(resolution) and 0.0 <= resolution <= mass):
        raise bad(
            f"a scale that reads to {resolution:g} kg for a batch of {mass:g} kg",
            field="resolution",
            expected="0 (exact) or a small part of the batch",
        )
    wish = importance or Importance()
    aim = Aim(target, model.grid, lights, observer)
    notes = [*aim.notes]
    found, searched = _candidates(model, aim, int(components), notes)
    shares = _weighed(model, found, mass, resolution)
    figures = _judged(model, aim, shares, wish, within)
    if figures.de00.min() > within:
        nearer = _nearer(model, aim, shares[figures.order[:FAR_SETS]])
        shares = np.vstack([shares, _weighed(model, nearer, mass, resolution)])
        figures = _judged(model, aim, shares, wish, within)
    recipes = _listed(model, aim, shares, figures, mass, count, resolution)
    reason = None if recipes[0].de00 <= within else _why(aim, model, recipes[0], int(components))
    if any(part.cost is None for part in model.components):
        unknown = [part.name for part in model.components if part.cost is None]
        text = f"the cost of {', '.join(unknown[:4])}{' and others' if len(unknown) > 4 else ''} is not known"
        notes.append(
            Note("info", f"{text}: recipes with them are ranked as if they cost the mean", about="recipe")
        )
    notes.append(recipe_caution())
    return RecipeSearch(
        target,
        mass,
        lights[0].name,
        observer.name,
        recipes,
        reason is None,
        reason,
        within,
        tuple(searched),
        tuple(notes),
    )


def _candidates(
    model: MixingModel, aim: Aim, components: int, notes: list[Note]
) -> tuple[Array, list[tuple[int, int, int]]]:
    """Shares (m, n) of the best sets of every size, and how many sets were looked at of how many."""
    fully = None
    if aim.target.curve is not None:
        fully = Aim(aim.target, aim.grid, aim.lights, aim.observer, CURVE_COUNTS_FULLY)
    rows, offset = linearised(model, aim, mixture_near(model, aim))
    pool = np.array([i for i in range(len(model.names)) if i != model.base], dtype=np.intp)
    kept: list[Array] = []
    searched: list[tuple[int, int, int]] = []
    parents: Indices | None = None
    alone = model.base is not None or not model.closed
    for size in range(0 if alone else 1, min(components, pool.size) + 1):
        there = comb(pool.size, size)
        if there <= ALL_SETS or parents is None:
            members = pool[_subsets(pool.size, size)]
        else:
            members = _built_on(parents, pool)
            notes.append(
                Note(
                    "info",
                    f"of the {there:,} sets of {size} components the {len(members):,} that contain one of the "
                    f"best {len(parents)} sets of {size - 1} were searched",
                    about="recipe",
                )
            )
        sets = Sets.of(model, members)
        linear_start(sets, rows, offset)
        for most, steps in ROUNDS:
            if len(sets) > most:
                sets = sets.select(np.argsort(sets.value, kind="stable")[:most])
            refine(model, aim, sets, steps)
        order = np.argsort(sets.value, kind="stable")
        parents = sets.members[order[:PARENTS]]
        kept.append(sets.shares(len(model.names)))
        if fully is not None:
            again = sets.select(np.arange(len(sets)))
            refine(model, fully, again, ROUNDS[-1][1])
            kept.append(again.shares(len(model.names)))
        searched.append((size, len(members), there))
    return np.vstack(kept), searched


@lru_cache(maxsize=8)
def _subsets(n: int, size: int) -> Indices:
    """All subsets (m, size) of 0 to n - 1, each in ascending order."""
    flat = np.fromiter(
        chain.from_iterable(combinations(range(n), size)), dtype=np.intp, count=comb(n, size) * size
    )
    return flat.reshape(comb(n, size), size)


def _built_on(parents: Indices, pool: Indices) -> Indices:
    """Every set of one component more that contains one of the parents."""
    together = np.concatenate(
        [np.repeat(parents, pool.size, axis=0), np.tile(pool, len(parents))[:, np.newaxis]], axis=1
    )
    together = np.sort(together, axis=1)
    return np.unique(together[(np.diff(together, axis=1) > 0).all(axis=1)], axis=0)


def _weighed(model: MixingModel, shares: Array, mass: float, resolution: float) -> Array:
    """The shares (m, n) that are left once traces are left out and amounts rounded; each set of components
    once."""
    total = np.maximum(shares.sum(axis=1, keepdims=True), 1e-12)
    least = np.maximum(SMALLEST, resolution / (2.0 * mass * model.unit)) if model.closed else SMALLEST * total
    used = shares >= least
    # A set with a trace in it stands for a smaller one, which was searched by itself. A trace of base is no base.
    counted = used.copy()
    asked = shares > 0.0
    if model.base is not None:
        counted[:, model.base] = asked[:, model.base] = True
    whole = (counted == asked).all(axis=1)
    shares, used = np.where(used, shares, 0.0)[whole], used[whole]
    if resolution > 0.0:
        steps = np.round(shares * mass * model.unit / resolution)
        return (
            _filled(model, steps, mass, resolution) if model.closed else steps * resolution / (mass * model.unit)
        )
    return shares / shares.sum(axis=1, keepdims=True) if model.closed else shares


def _whole(model: MixingModel, mass: float, resolution: float) -> float:
    """What shares of 1 weigh, in kg. A batch that is no whole number of the scale's steps becomes the nearest."""
    whole = mass * model.unit
    return float(np.round(whole / resolution) * resolution) if resolution > 0.0 and model.closed else whole


def _filled(model: MixingModel, steps: Array, mass: float, resolution: float) -> Array:
    """Shares (m, n) of amounts in steps of the scale (m, n) that fill the batch: the base takes the remainder.

    Where there is no base, or too little of it, the largest amount does. So every amount stays on the scale.
    """
    whole = np.round(_whole(model, mass, resolution) / resolution)
    left = whole - steps.sum(axis=1)
    taker = steps.argmax(axis=1)
    if model.base is not None:
        base = steps[:, model.base]
        taker = np.where((base > 0.0) & (base + left > 0.0), model.base, taker)
    steps[np.arange(len(steps)), taker] += left
    return np.asarray(steps / whole)


def _nearer(model: MixingModel, aim: Aim, shares: Array) -> Array:
    """Shares (m, n) of the same sets, nearer to a target out of reach.

    The search makes a quadratic form of CIEDE2000 about the target small, which is good near it. Far off, the
    form about the middle between target and mixture is better, and from there CIEDE2000 itself is made small by a
    general method.
    """
    from scipy.optimize import minimize

    out = []
    for row in shares:
        members = np.array([i for i in np.flatnonzero(row) if i != model.base], dtype=np.intp)
        sets = Sets.of(model, members[np.newaxis])
        if sets.free.size:
            sets.set_shares(row[sets.free])
            middle = aim.about(model.reflect(sets.shares(row.size))[0])
            refine(model, middle, sets, ROUNDS[-1][1])

            def off(z: Array, sets: Sets = sets, size: int = row.size) -> float:
                sets.z = np.clip(z, -FARTHEST, FARTHEST)[np.newaxis]
                return float(aim.judged(model.reflect(sets.shares(size)))[0][0])

            off(minimize(off, sets.z[0], method="BFGS", options={"gtol": 1e-4, "maxiter": 40}).x)
        out.append(sets.shares(row.size)[0])
    return np.array(out)


@dataclass(frozen=True, eq=False)
class _Figures:
    """What mixtures (m,) are judged by, and the order in which they stand."""

    curves: Array
    de00: Array
    shift: Array
    rms: Array
    cost: Array
    score: Array
    front: NDArray[np.bool_]
    order: Indices


def _judged(model: MixingModel, aim: Aim, shares: Array, wish: Importance, within: float) -> _Figures:
    curves = model.reflect(shares)
    de00, shift = aim.judged(curves)
    rms = aim.curve_rms(curves)
    worst = shift.max(axis=1) if shift.shape[1] else np.zeros(len(shares))
    used = shares > 0.0
    number = used.sum(axis=1) - (used[:, model.base] if model.base is not None else 0)
    price = costs_per_kg(model, shares)
    # Dyes have no sum of 1: their cost is relative to that of the usual amount of a mean dye.
    usual = 1.0 if model.closed else max(float(np.median(shares.sum(axis=1))), 1e-12)
    relative = price / (mean_cost(model) * usual)
    score = scores(wish, de00, worst, number, relative, rms)
    # Out of reach, the colour comes first: neither shift nor curve says much of a recipe that does not match.
    nothing = np.zeros(len(shares))
    far = scores(wish, de00, nothing, number, relative, nothing)
    outside = de00 > within
    order = np.lexsort([np.where(outside, far, score), outside])
    front = pareto_front(np.column_stack([de00, worst, number, np.nan_to_num(price, nan=np.inf)]))
    return _Figures(curves, de00, shift, rms, price, score, front, order)


def _listed(
    model: MixingModel, aim: Aim, shares: Array, figures: _Figures, mass: float, count: int, resolution: float
) -> tuple[Recipe, ...]:
    """The first recipes in order, without those that only add to one above them."""
    used = shares > 0.0
    curves, de00, shift, rms, price = figures.curves, figures.de00, figures.shift, figures.rms, figures.cost
    chosen: list[int] = []
    listed: list[frozenset[int]] = []
    for i in figures.order:
        parts = frozenset(np.flatnonzero(used[i]).tolist()) - {model.base}
        if any(other <= parts for other in listed):
            continue
        listed.append(parts)
        chosen.append(int(i))
        if len(chosen) == count:
            break
    first = aim.matrix[:, 0]
    doubt = doubts(model, shares[chosen], first, aim.whites[0])
    lab = xyz_to_lab(curves[chosen] @ first, aim.whites[0])
    recipes, whole = [], _whole(model, mass, resolution)
    for place, i in enumerate(chosen):
        at = np.flatnonzero(used[i])
        amounts = shares[i, at] * whole
        if resolution > 0.0:  # last, so that what is printed stands on the scale
            amounts = np.round(np.round(amounts / resolution) * resolution, 12)
        densities = [model.components[j].density for j in at]
        litres = None if None in densities else frozen(amounts / np.array(densities, dtype=np.float64))
        recipes.append(
            Recipe(
                tuple(model.names[j] for j in at),
                frozen(shares[i, at]),
                frozen(amounts),
                litres,
                frozen(curves[i]),
                frozen(lab[place]),
                float(de00[i]),
                difference_words(aim.labs[0], lab[place]),
                tuple((light.name, float(v)) for light, v in zip(aim.lights[1:], shift[i], strict=True)),
                None if aim.target.curve is None else float(rms[i]),
                None if np.isnan(price[i]) else float(price[i] * whole),
                float(doubt[place]),
                float(figures.score[i]),
                bool(figures.front[i]),
                _outside(model, shares[i], at),
            )
        )
    return tuple(recipes)


def _outside(model: MixingModel, shares: Array, at: Indices) -> tuple[Note, ...]:
    """Notes on components whose concentration was never measured, or does not fit there."""
    notes = []
    for j in at:
        part = model.components[j]
        low, high = part.concentrations
        if j == model.base or low - 1e-9 <= shares[j] <= high + 1e-9:
            continue
        side = "below the lowest" if shares[j] < low else "above the highest"
        notes.append(
            Note(
                "odd",
                f"a concentration of {shares[j]:.4g} is {side} at which it is known ({low:g} to {high:g})",
                about=part.name,
                mend="mix a trial and measure it, or measure a letdown there",
            )
        )
    return tuple(notes)


def _why(aim: Aim, model: MixingModel, best: Recipe, components: int) -> str:
    """What stands in the way: how far the nearest mixture is, and in which direction."""
    rest = "" if model.base is None else f" and {model.names[model.base]}"
    there = len(model.names) - (0 if model.base is None else 1)
    return (
        f"no mixture of up to {min(components, there)} of {there} components{rest} reaches {aim.target.name}: "
        f"the best is {best.de00:.1f} CIEDE2000 off ({best.words}) under {aim.lights[0].name} for observer "
        f"{aim.observer.name}"
    )
