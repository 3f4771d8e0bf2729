"""What would decide an undecided verdict: how many more readings of what, or something else.

The forecast. The truth is taken to lie where the readings say, as doubtfully as they say it. With more readings
of a part its random variance goes from s^2/m to s^2/(m + e), and the figure will move by a normal amount of
variance s^2/m e/(m + e). It is decided when it lands outside the guard band that is left. The advice is the
smallest total of extra readings that decides, either way, with a chance of at least 80 %; of equal totals the
likeliest. Variances are those along the difference; those across it make the figure of a small difference longer,
by the root of the sum of squares, and that share shrinks too.

Where no more than 50 readings of each part do it, what the instruments disagree by, or the model misses, is too
large, or the figure too near its limit: the words say which, and what would help.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.proof.covariance import Part, Spread
from screenproof.proof.doubt_records import Remedy
from screenproof.spectra import Array

GOOD_CHANCE = 0.87
"""What the forecast must promise, for 80 % to be kept: near zero, where it is too simple, it promises too much."""

FAIR_CHANCE = 0.7
"""And for about two cases of three: told as well where 80 % take more readings than a person likes to make."""

MOST_EXTRA = 50
MANY = 12
_ROWS = 64

_THINGS = {"sample": "the sample", "screen": "the patches of the screen", "a": "the standard", "b": "the sample"}


@dataclass(frozen=True, eq=False)
class _Shares:
    """Variances (n,) along the differences and across: of parts that readings make smaller, and of what stays."""

    names: tuple[str, ...]
    readings: Array
    along: Array
    across: Array
    fixed_along: Array
    fixed_across: Array


def remedies(
    spread: Spread,
    to_metric: Array,
    figures: Array,
    limit: float,
    risk: float,
    names: Sequence[str] | Mapping[str, Sequence[str]],
) -> list[Remedy]:
    """The remedy of each of n undecided figures (n,) against ``limit``.

    to_metric: (n, 3, 3), Lab difference to coordinates along the difference (first) and across it, in which the
    colour difference is the length. names: of the samples; or by part, of what was read.
    """
    shares = _shares(spread, to_metric, figures)
    counts, chances = _cheapest(shares, figures, limit, risk, GOOD_CHANCE)
    fewer = counts
    if (counts.sum(axis=1) > MANY).any():
        fewer, _ = _cheapest(shares, figures, limit, risk, FAIR_CHANCE)
    found = []
    for i, extra in enumerate(counts):
        if chances[i] >= GOOD_CHANCE:
            asked = tuple((name, int(e)) for name, e in zip(shares.names, extra, strict=True) if e)
            told = " and ".join(_again(name, e, _thing(name, i, names), k) for k, (name, e) in enumerate(asked))
            words = f"{told[:1].upper()}{told[1:]}: that decides it with a chance of about 80 %"
            if extra.sum() > MANY and fewer[i].sum() < extra.sum():
                some = [(name, int(e)) for name, e in zip(shares.names, fewer[i], strict=True) if e]
                few = " and ".join(f"{e} more of {_thing(name, i, names)}" for name, e in some)
                words += f"; {few} would do in about two cases of three"
            words += "."
            found.append(Remedy(words, asked))
        else:
            found.append(Remedy(_otherwise(spread, to_metric, i, float(figures[i]), limit, names)))
    return found


def _shares(spread: Spread, to_metric: Array, figures: Array) -> _Shares:
    moving = [part for part in spread.parts if np.any(part.random > 0.0)]
    total = _in_metric(to_metric, spread.covariance())
    # Very near zero the direction of the difference is itself not known: then all directions count alike.
    near = figures**2 < np.trace(total, axis1=1, axis2=2)

    def split(covariance: Array) -> tuple[Array, Array]:
        turned = _in_metric(to_metric, covariance)
        trace = np.trace(turned, axis1=1, axis2=2)
        along = np.where(near, trace / 3.0, turned[:, 0, 0])
        return along, np.maximum(trace - along, 0.0)

    sides = [split(part.random) for part in moving]
    fixed = split(np.asarray(np.sum([part.fixed for part in spread.parts], axis=0)))
    none = np.zeros((0, len(spread)))
    return _Shares(
        tuple(part.name for part in moving),
        np.array([part.readings for part in moving], dtype=np.float64) if moving else none,
        np.array([side[0] for side in sides]) if moving else none,
        np.array([side[1] for side in sides]) if moving else none,
        *fixed,
    )


def _cheapest(
    shares: _Shares, figures: Array, limit: float, risk: float, wanted: float
) -> tuple[NDArray[np.int64], Array]:
    """The fewest extra readings (n, parts) that decide with the chance ``wanted``, and their chance (n,)."""
    from scipy.special import ndtr, ndtri

    n, parts = len(figures), len(shares.names)
    if parts == 0:
        return np.zeros((n, 0), dtype=np.int64), np.zeros(n)
    axes = np.meshgrid(*[np.arange(MOST_EXTRA + 1)] * parts, indexing="ij")
    tried = np.stack([axis.ravel() for axis in axes])
    tried = tried[:, np.argsort(tried.sum(axis=0), kind="stable")][:, 1:]
    cost = tried.sum(axis=0)
    z = float(ndtri(1.0 - risk))
    best, chances = np.zeros((n, parts), dtype=np.int64), np.zeros(n)
    for first in range(0, n, _ROWS):
        rows = slice(first, first + _ROWS)
        left = shares.readings[:, rows, None] / (shares.readings[:, rows, None] + tried[:, None, :])
        along = (shares.along[:, rows, None] * left).sum(axis=0) + shares.fixed_along[rows, None]
        across = (shares.across[:, rows, None] * left).sum(axis=0) + shares.fixed_across[rows, None]
        before = (shares.across[:, rows].sum(axis=0) + shares.fixed_across[rows])[:, None]
        moves = np.sqrt(np.maximum((shares.along[:, rows, None] * (1.0 - left)).sum(axis=0), 1e-30))
        centre = np.sqrt(np.maximum(figures[rows, None] ** 2 - before, 0.0) + across)
        edge = np.sqrt(limit**2 + across)
        guard = np.maximum(z, _short_of(shares, rows, figures, limit)[:, None]) * np.sqrt(along)
        passes = ndtr((np.minimum(edge - guard, limit) - centre) / moves)
        chance = passes + ndtr((centre - np.maximum(edge + guard, limit)) / moves)
        good = chance >= wanted
        cheapest = np.where(good, cost, MOST_EXTRA * parts + 1).min(axis=1, keepdims=True)
        # Of those that cost as little the likeliest; where none is good enough, the likeliest of all.
        eligible = np.where(good.any(axis=1, keepdims=True), good & (cost == cheapest), True)
        at = np.where(eligible, chance, -1.0).argmax(axis=1)
        best[rows], chances[rows] = tried[:, at].T, chance[np.arange(len(at)), at]
    return best, chances


def _short_of(shares: _Shares, rows: slice, figures: Array, limit: float) -> Array:
    """(n,) how many standard uncertainties the figures are from the limit as they stand.

    They are undecided: the guard band is at least as wide, also where this forecast, simpler than the verdict,
    would have it narrower.
    """
    across = shares.across[:, rows].sum(axis=0) + shares.fixed_across[rows]
    along = shares.along[:, rows].sum(axis=0) + shares.fixed_along[rows]
    return np.asarray(np.abs(np.sqrt(limit**2 + across) - figures[rows]) / np.sqrt(np.maximum(along, 1e-30)))


def _in_metric(to_metric: Array, covariance: Array) -> Array:
    return np.asarray(to_metric @ covariance @ np.swapaxes(to_metric, 1, 2))


def _thing(name: str, i: int, names: Sequence[str] | Mapping[str, Sequence[str]]) -> str:
    if isinstance(names, Mapping):
        return str(names[name][i]) if name in names else _THINGS[name]
    return str(names[i]) if name in ("sample", "b") and len(names) > i else _THINGS[name]


def _again(name: str, extra: int, thing: str, place: int) -> str:
    times = "once more" if extra == 1 else f"{extra} more times"
    return f"{'measure ' if place == 0 else ''}{thing} {times}"


def _otherwise(
    spread: Spread,
    to_metric: Array,
    i: int,
    figure: float,
    limit: float,
    names: Sequence[str] | Mapping[str, Sequence[str]],
) -> str:
    """What helps where readings do not: the largest of what stays is the one to mend."""
    weights: list[tuple[float, str]] = []
    fixed_of = {part.name: _fixed_along(part, to_metric, i) for part in spread.parts}
    for part in spread.parts:
        modes, own = fixed_of[part.name]
        thing = _thing(part.name, i, names) if part.name != "both" else "both"
        if part.name in ("a", "b") and all(fixed_of.get(side, (0.0, 0.0))[0] > 0.0 for side in ("a", "b")):
            weights.append((modes, "measure both with one and the same instrument, so that its own error cancels"))
        else:
            weights.append((modes, f"measure {thing} with an instrument of a better class"))
        weights.append((own, "make the display's model from more patches, or measure this colour on the screen"))
    largest, cure = max(weights)
    room = "or agree with the client on a limit that leaves room for the doubt"
    stays = sum(value for value, _ in weights)
    if largest > 0.0 and 2.0 * np.sqrt(stays) > abs(figure - limit):
        return f"More readings alone will not decide it: {cure}, {room}."
    return (
        f"The figure is so near its limit that {MOST_EXTRA} more readings would not be enough: agree with the "
        f"client on a limit that leaves room for the doubt, or take a sample that is clearly better."
    )


def _fixed_along(part: Part, to_metric: Array, i: int) -> tuple[float, float]:
    """Variances along the difference: of what an instrument brings, and of each pair's own."""
    modes = part.modes[i] @ to_metric[i, 0]
    return float(modes @ modes), float(to_metric[i, 0] @ part.own[i] @ to_metric[i, 0])
