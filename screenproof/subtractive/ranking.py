"""In which order recipes stand: a score with stated weights, and the front of those that no other beats in
everything.

The score is in CIEDE2000 and is a sum of what a user minds (smaller is better; the weights are our choice, and
yours to change):

    score = colour difference under the first light
          + 0.5 x the largest shift under the other lights
          + 0.25 x number of components beside the base    (one more must gain what a good eye just sees)
          + 0.1 x cost relative to the mean of the library (1 where costs are not known)
          + 1.0 x percent of reflectance by which the curve misses, root mean square (for a target with a curve)

The last term stands for all the lights that were not named: among recipes that look alike under those that were,
the one whose curve is nearest is the least metameric.

Recipes within the tolerance come first. Those outside follow by the score without shift and curve: of a recipe
that does not match, neither says much.

The Pareto front holds every recipe that no other one beats or equals in colour difference, largest shift, number
of components *and* cost at once: who weighs these otherwise will find the best one there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.errors import bad
from screenproof.spectra import Array
from screenproof.subtractive.mixing import MixingModel


@dataclass(frozen=True)
class Importance:
    """The weights of the score, each 0 or above: see the module. The colour difference under the first light has
    1."""

    shift: float = 0.5
    component: float = 0.25
    cost: float = 0.1
    curve: float = 1.0

    def __post_init__(self) -> None:
        for name in ("shift", "component", "cost", "curve"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value >= 0.0):
                raise bad(f"{value:g}", field=f"importance of {name}", expected="a number, 0 or above")


def costs_per_kg(model: MixingModel, shares: Array) -> Array:
    """Cost (m,) of shares (m, n): per kg of a mixture, or of cloth at concentration units; NaN where one is not
    known."""
    prices = np.array([np.nan if part.cost is None else part.cost for part in model.components])
    used = shares > 0.0
    known = np.where(np.isnan(prices), 0.0, prices)
    return np.where((used & np.isnan(prices)).any(axis=1), np.nan, shares @ known)


def mean_cost(model: MixingModel) -> float:
    """The mean cost of the components whose cost is known; NaN if there is none."""
    prices = [part.cost for part in model.components if part.cost is not None]
    return float(np.mean(prices)) if prices else float("nan")


def scores(
    importance: Importance, de00: Array, worst_shift: Array, count: Array, relative_cost: Array, rms: Array
) -> Array:
    """The score (m,): see the module. relative_cost: NaN where not known, and then taken as 1."""
    cost = np.where(np.isnan(relative_cost), 1.0, relative_cost)
    return np.asarray(
        de00
        + importance.shift * worst_shift
        + importance.component * count
        + importance.cost * cost
        + importance.curve * 100.0 * rms
    )


def pareto_front(figures: Array) -> NDArray[np.bool_]:
    """Which rows of (m, q) no other row beats: as small or smaller in every column, and smaller in one."""
    front = np.ones(len(figures), dtype=bool)
    for i, row in enumerate(figures):
        beaten = (figures <= row).all(axis=1) & (figures < row).any(axis=1)
        front[i] = not beaten.any()
    return front
