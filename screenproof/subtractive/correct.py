"""Correction of a batch from a measured trial: what to add, for nothing can be taken out.

The trial tells two things. What is in the batch *in effect*: the amounts are fitted to its reading, each by a
factor near 1 (a weighing, or a strength, that was off). And what the model does not know: the rest of the
reading, which is carried over to the corrected batch. Then the additions, none below 0, that bring the batch to
the target with the least growth:

    least   |colour difference from the target|^2 + L (added mass / mass of the batch)^2

with L as large as the tolerance allows. An error in strength and one in weighing look alike in one trial;
additions are taken to have the strength of the library.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import de2000, difference_words, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Light, Observer, frozen
from screenproof.subtractive._checks import above_zero, checked_curve
from screenproof.subtractive.cautions import recipe_caution
from screenproof.subtractive.mixing import MixingModel
from screenproof.subtractive.target import Aim, Target

TOLERANCE = 0.3
"""CIEDE2000 within which a corrected batch is to come."""

INSIDE = 0.5
"""The part of the tolerance that a prediction may use up: the rest is left for noise and weighing."""

MOST_GROWTH = 0.5
"""Added mass relative to the batch, where nothing else is asked."""

USUAL_ERROR = 0.05
"""Relative standard deviation of what is in a batch from what was meant. Common practice, no source."""

NOISE = 0.002
"""Standard deviation of a trial's reading in reflectance factor, its surface and drawdown included."""

_PENALTIES = 10.0 ** np.arange(3.0, -6.5, -0.5)
_UNBOUNDED = 50.0  # growth up to which it is looked whether a batch could be mended at all


@dataclass(frozen=True, eq=False)
class Correction:
    """What to add to a batch, and what it then should be. Amounts in kg, (k,) for ``components``.

    amounts: as they were put in; effective: as the trial shows them; add: what to add, none below 0; growth:
    added mass relative to the batch; curve: (w,) of the corrected batch; de00_before, de00: CIEDE2000 from the
    target under the first light; words_before: how the trial differs; shifts: after the correction, as in a
    recipe. possible: whether the correction comes within the tolerance; reason: what stands in the way if not.
    ``add`` is then the best that may be added, and better not done if it gains little.
    """

    components: tuple[str, ...]
    amounts: Array
    effective: Array
    add: Array
    growth: float
    curve: Array
    de00_before: float
    words_before: str
    de00: float
    words: str
    shifts: tuple[tuple[str, float], ...]
    possible: bool
    reason: str | None
    notes: tuple[Note, ...]

    @property
    def after(self) -> Array:
        """Amounts (k,) in kg once the additions are in."""
        return self.amounts + self.add


class _Batch:
    """A batch on its model: from amounts in kg to a curve."""

    def __init__(self, model: MixingModel, at: Array, mass: float) -> None:
        self.model, self.at, self.mass = model, at.astype(np.intp), mass

    def curves(self, amounts: Array) -> Array:
        """Curves (m, w) of amounts (m, k)."""
        shares = np.zeros((len(amounts), len(self.model.names)))
        total = amounts.sum(axis=1, keepdims=True) if self.model.closed else self.mass * self.model.unit
        shares[:, self.at] = amounts / total
        return np.asarray(self.model.reflect(shares))


def correct_batch(
    model: MixingModel,
    amounts: Mapping[str, float],
    trial: ArrayLike | Target,
    target: Target,
    lights: Sequence[Light],
    observer: Observer,
    *,
    batch: float | None = None,
    allow: Sequence[str] = (),
    tolerance: float = TOLERANCE,
    most_growth: float = MOST_GROWTH,
    noise: float = NOISE,
    resolution: float = 0.0,
) -> Correction:
    """What to add to a batch so that it comes to the target.

    amounts: kg by name, as they were put in; trial: the measured curve (w,) of the batch, or a :class:`Target`
    with its XYZ under the first light; batch: kg of cloth, for dyes only; allow: components that may be added
    besides those of the batch (its base is always allowed); most_growth: added mass relative to the batch; noise:
    standard deviation of the trial's reading; resolution: of the scale in kg, to which additions are rounded.

    A trial that cannot be mended is no error: ``possible`` is False and ``reason`` says why.
    Raises InputError for unknown names, amounts below 0 or none above 0, a growth of 0 or below, unlike grids.
    """
    within, limit = above_zero(tolerance, "tolerance"), above_zero(most_growth, "largest growth")
    aim = Aim(target, model.grid, lights, observer)
    names, put_in = _checked_batch(model, amounts, allow)
    at = np.array([model.names.index(name) for name in names])
    mass = float(put_in.sum())
    if not model.closed:
        if batch is None:
            raise bad("the mass of the cloth is missing", field="batch", expected="kg of cloth for these dyes")
        mass = above_zero(batch, "batch mass", " kg")
    if not (np.isfinite(resolution) and resolution >= 0.0):
        raise bad(f"a scale that reads to {resolution:g} kg", field="resolution", expected="0 or above")
    mix = _Batch(model, at, mass)
    measured, seen = _trial(trial, aim)
    effective, notes = _effective(mix, put_in, measured, seen, aim, above_zero(noise, "noise"))
    fitted = mix.curves(effective[np.newaxis])[0]
    rest = np.zeros_like(fitted) if measured is None else measured - fitted
    lab_before = xyz_to_lab(seen, aim.whites[0])
    before = float(de2000(aim.labs[0], lab_before))

    def after(add: Array) -> Array:
        return np.asarray(np.maximum(mix.curves((effective + add)[np.newaxis]) + rest, 1e-6))

    if before <= within:
        add, reason = np.zeros(len(names)), None
        notes.append(
            Note("info", f"the trial is within {within:g} CIEDE2000: nothing is to be added", about="batch")
        )
    else:
        add, reason = _additions(after, aim, len(names), mass, within, limit)
        if resolution > 0.0:
            add = np.round(add / resolution) * resolution
    curve = after(add)
    de00, shift = aim.judged(curve)
    lab = xyz_to_lab(curve[0] @ aim.matrix[:, 0], aim.whites[0])
    notes.append(recipe_caution())
    return Correction(
        names,
        frozen(put_in),
        frozen(effective),
        frozen(add),
        float(add.sum() / mass),
        frozen(curve[0]),
        before,
        difference_words(aim.labs[0], lab_before),
        float(de00[0]),
        difference_words(aim.labs[0], lab),
        tuple((light.name, float(v)) for light, v in zip(aim.lights[1:], shift[0], strict=True)),
        reason is None,
        reason,
        (*aim.notes, *notes),
    )


def _checked_batch(
    model: MixingModel, amounts: Mapping[str, float], allow: Sequence[str]
) -> tuple[tuple[str, ...], Array]:
    """The names in the batch and those that may be added, with their amounts."""
    together = dict.fromkeys([*amounts, *allow])
    if model.base is not None:
        together.setdefault(model.names[model.base])
    for name in together:
        if name not in model.names:
            raise bad(
                f"no component is called {name!r}",
                field="batch",
                expected=f"one of {', '.join(model.names[:8])} ...",
            )
    values = np.array([float(amounts.get(name, 0.0)) for name in together])
    for name, value in zip(together, values, strict=True):
        if not (np.isfinite(value) and value >= 0.0):
            raise bad(f"{value:g} kg of {name}", field="batch", expected="a number, 0 or above")
    if not values.sum() > 0.0:
        raise bad("a batch of nothing", field="batch", expected="the amounts that were put in, in kg")
    return tuple(together), values


def _trial(trial: ArrayLike | Target, aim: Aim) -> tuple[Array | None, Array]:
    """The trial's curve, if it has one, and its XYZ under the first light."""
    if isinstance(trial, Target):
        if trial.curve is None:
            assert trial.xyz is not None
            own = (aim.lights[0].name, aim.observer.name)
            if (trial.light, trial.observer) != own:
                raise bad(
                    f"the trial's XYZ is for {trial.light} and observer {trial.observer}",
                    field="trial",
                    expected=f"{own[0]} and {own[1]}",
                )
            return None, np.asarray(trial.xyz)
        if trial.grid != aim.grid:
            raise bad(f"the trial is on {trial.grid}", field="trial", expected=f"{aim.grid}, as the library")
        trial = trial.curve
    curve = checked_curve(trial, aim.grid, "trial", least=-1e-12)
    return curve, curve @ aim.matrix[:, 0]


def _effective(
    mix: _Batch, put_in: Array, measured: Array | None, seen: Array, aim: Aim, noise: float
) -> tuple[Array, list[Note]]:
    """The amounts that the trial shows: most likely ones, given the reading's noise and the usual error of a
    batch."""
    from scipy.optimize import least_squares

    there = put_in > 0.0
    lab = xyz_to_lab(seen, aim.whites[0])

    def gap(factors: Array) -> Array:
        amounts = put_in.copy()
        amounts[there] *= np.exp(factors)
        curve = mix.curves(amounts[np.newaxis])[0]
        if measured is not None:
            off = (curve - measured) / noise
        else:
            off = (xyz_to_lab(curve @ aim.matrix[:, 0], aim.whites[0]) - lab) / 0.1
        return np.append(off, factors / USUAL_ERROR)

    found = least_squares(gap, np.zeros(int(there.sum())), bounds=(-2.0, 2.0)).x
    effective = put_in.copy()
    effective[there] *= np.exp(found)
    if mix.model.closed:
        # A reading tells shares; the mass of the batch is what was weighed.
        effective *= put_in.sum() / effective.sum()
    notes = []
    factors = effective[there] / put_in[there]
    worst = int(np.argmax(np.abs(np.log(factors))))
    if abs(np.log(factors[worst])) > 4.0 * USUAL_ERROR:
        name = mix.model.names[mix.at[there][worst]]
        notes.append(
            Note(
                "odd",
                f"the trial looks as if {factors[worst]:.2f} times the amount of {name} were in it",
                about="batch",
                mend="check what was weighed, and the strength of this component",
            )
        )
    left = xyz_to_lab(mix.curves(effective[np.newaxis])[0] @ aim.matrix[:, 0], aim.whites[0])
    unexplained = float(np.linalg.norm(left - lab))
    if unexplained > 1.0:
        how = (
            "is carried over to the correction"
            if measured is not None
            else "cannot be carried over without a curve"
        )
        notes.append(
            Note(
                "odd",
                f"the trial differs by {unexplained:.1f} CIELAB units from what any amounts of its components "
                f"give; this {how}",
                about="batch",
                mend="something else is in the batch, or the film, gloss or stock is not that of the library",
            )
        )
    return effective, notes


def _additions(
    after: Callable[[Array], Array], aim: Aim, size: int, mass: float, within: float, limit: float
) -> tuple[Array, str | None]:
    """The least additions (k,) in kg that come within the tolerance, or the best there are and the reason why
    not."""
    from scipy.optimize import least_squares

    def solved(penalty: float, bound: float, start: Array) -> Array:
        """Additions relative to the mass."""

        def gap(x: Array) -> Array:
            return np.append(aim.residuals(after(x * mass))[0], np.sqrt(penalty) * x.sum())

        inside = np.clip(start, 1e-4 * bound, 0.999 * bound)
        x = least_squares(gap, inside, bounds=(0.0, bound), x_scale=0.05).x
        return np.asarray(np.where(x < 1e-4 * max(1.0, x.sum()), 0.0, x))

    def off(x: Array) -> float:
        return float(aim.judged(after(x * mass))[0][0])

    # From no growth towards any: the first that comes inside is, but for the step of the penalty, the least.
    x, wanted, before = np.zeros(size), INSIDE * within, (_PENALTIES[0] * 10.0, np.zeros(size))
    tried: list[Array] = [x]
    for penalty in _PENALTIES:
        x = solved(penalty, limit, x)
        tried.append(x)
        if off(x) <= wanted or x.sum() > limit:
            high, low = before[0], penalty
            for _ in range(6):
                middle = float(np.sqrt(high * low))
                y = solved(middle, limit, x)
                tried.append(y)
                if off(y) <= wanted or y.sum() > limit:
                    low = middle
                else:
                    high = middle
            break
        before = (penalty, x)
    allowed = [x for x in tried if x.sum() <= limit]
    good = [x for x in allowed if off(x) <= wanted] or [x for x in allowed if off(x) <= within]
    if good:
        return min(good, key=lambda x: float(x.sum())) * mass, None
    best = min(allowed, key=off)
    free, start = best, np.full(size, 0.2)
    for penalty in (1e-1, 1e-2, 1e-3, 1e-4, 1e-6):
        free = start = solved(penalty, _UNBOUNDED, start)
        if off(free) <= within:
            break
    if off(free) <= within:
        return best * mass, (
            f"it can be mended only if the batch grows by {100.0 * free.sum():.0f} percent, more than the "
            f"{100.0 * limit:.0f} allowed: nothing can be taken out"
        )
    lab = xyz_to_lab(after(free * mass)[0] @ aim.matrix[:, 0], aim.whites[0])
    return best * mass, (
        f"no addition mends it, for nothing can be taken out: at best it stays {off(free):.1f} CIEDE2000 off "
        f"({difference_words(aim.labs[0], lab)}) under {aim.lights[0].name}"
    )
