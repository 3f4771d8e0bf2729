"""What would decide an undecided verdict: how many more readings of what, or something else.

The forecast. The truth is taken to lie where the readings say, as doubtfully as they say it. With more readings
of a part its random variance goes from s^2/m to s^2/(m + e), and the figure will move by a normal amount of
variance s^2/m e/(m + e). Futures are drawn so, each is judged by the same rules as the present, and the share that
is decided, either way, is counted. The advice is the smallest number of readings with which it is 82 %; they are
spent one by one, each on the part that it helps most.

Where no more than 50 readings do it, what the instruments disagree by, or the model misses, is too large, or the
figure too near its limit: the words say which, and what would help.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.proof.covariance import Part, Spread
from screenproof.proof.judged import Remedy
from screenproof.spectra import Array

GOOD_CHANCE = 0.82
"""The share of futures that must be decided, for 75 % to be kept: the smallest number with which enough
of some tens of them are is a little lucky."""

FAIR_CHANCE = 0.6
"""And for about half of all cases: told as well where 75 % take more readings than a person likes to make."""

MOST_EXTRA = 50
MANY = 12
SIZES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40, MOST_EXTRA)
"""The numbers of more readings that are tried."""

Extra = Mapping[str, NDArray[np.int64]]
"""More readings (rows,) of each part."""

Ahead = Callable[[NDArray[np.intp], Extra], Array]
"""Rows and more readings to the share of futures in which each is decided."""

_THINGS = {
    "sample": "the sample",
    "screen": "the patches of the screen",
    "a": "the standard",
    "b": "the sample",
    "model": "what the model was made from",
}
_MEASURE_IT = "make this colour and measure it: its model misses too much to say"


@dataclass(frozen=True, eq=False)
class _Shares:
    """Variances (parts, n) along the differences and across, of the parts that readings make smaller."""

    names: tuple[str, ...]
    readings: Array
    along: Array
    across: Array


def remedies(
    spread: Spread,
    to_metric: Array,
    figures: Array,
    limit: float,
    names: Sequence[str] | Mapping[str, Sequence[str]],
    ahead: Ahead,
) -> list[Remedy]:
    """The remedy of each of n undecided figures (n,) against ``limit``.

    to_metric: (n, 3, 3), Lab difference to coordinates along the difference (first) and across it, in which the
    colour difference is the length. names: of the samples; or by part, of what was read. ahead: the forecast.
    """
    shares = _shares(spread, to_metric, figures)
    if not shares.names:
        return [Remedy(_otherwise(spread, to_metric, i, float(f), limit, names)) for i, f in enumerate(figures)]
    path = _spent(shares, MOST_EXTRA)
    sizes = _fewest(path, shares.names, ahead, GOOD_CHANCE)
    fewer = _fewest(path, shares.names, ahead, FAIR_CHANCE) if (sizes > MANY).any() else sizes
    found = []
    for i, size in enumerate(sizes):
        if size:
            asked = tuple((name, int(e)) for name, e in zip(shares.names, path[size][i], strict=True) if e)
            told = " and ".join(_again(name, e, _thing(name, i, names), k) for k, (name, e) in enumerate(asked))
            words = f"{told[:1].upper()}{told[1:]}: that decides it with a chance of about 75 %"
            if size > MANY and 0 < fewer[i] <= size // 2:
                some = [(name, int(e)) for name, e in zip(shares.names, path[fewer[i]][i], strict=True) if e]
                few = " and ".join(f"{e} more of {_thing(name, i, names)}" for name, e in some)
                words += f"; {few} would do in about half of all cases"
            found.append(Remedy(f"{words}.", asked))
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
    none = np.zeros((0, len(spread)))
    return _Shares(
        tuple(part.name for part in moving),
        np.array([part.readings for part in moving], dtype=np.float64) if moving else none,
        np.array([side[0] for side in sides]) if moving else none,
        np.array([side[1] for side in sides]) if moving else none,
    )


def _spent(shares: _Shares, count: int) -> list[NDArray[np.int64]]:
    """(n, parts) of the first 0, 1, ... ``count`` more readings, each of the part that it helps most."""
    parts, n = shares.along.shape
    spent, path = np.zeros((parts, n), dtype=np.int64), [np.zeros((n, parts), dtype=np.int64)]
    single = (shares.along + 0.1 * shares.across) * shares.readings
    for _ in range(count):
        now = shares.readings + spent
        best = np.argmax(single / now - single / (now + 1.0), axis=0)
        spent[best, np.arange(n)] += 1
        path.append(spent.T.copy())
    return path


def _fewest(
    path: list[NDArray[np.int64]], names: tuple[str, ...], ahead: Ahead, wanted: float
) -> NDArray[np.int64]:
    """(n,) the least of ``SIZES`` readings that decides with the chance ``wanted``; 0 where none does."""
    n = len(path[0])
    low, high = np.zeros(n, dtype=np.intp), np.full(n, len(SIZES), dtype=np.intp)
    while (rows := np.flatnonzero(low < high)).size:
        middle = (low[rows] + high[rows]) // 2
        counts = np.array([path[SIZES[m]][r] for m, r in zip(middle, rows, strict=True)])
        good = ahead(rows, {name: counts[:, k] for k, name in enumerate(names)}) >= wanted
        high[rows] = np.where(good, middle, high[rows])
        low[rows] = np.where(good, low[rows], middle + 1)
    return np.array([0, *SIZES])[np.where(low < len(SIZES), low + 1, 0)]


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
    near = figure**2 < float(np.trace(to_metric[i] @ spread.covariance()[i] @ to_metric[i].T))
    fixed_of = {part.name: _fixed(part, to_metric[i], i, near) for part in spread.parts}
    for part in spread.parts:
        modes, own = fixed_of[part.name]
        thing = _thing(part.name, i, names) if part.name != "both" else "both"
        if part.name in ("a", "b") and all(fixed_of.get(side, (0.0, 0.0))[0] > 0.0 for side in ("a", "b")):
            weights.append((modes, "measure both with one and the same instrument, so that its own error cancels"))
        else:
            weights.append((modes, f"measure {thing} with an instrument of a better class"))
        cure = "make the display's model from more patches, or measure this colour on the screen"
        if part.name == "model":
            cure = str(names["model"][i]) if isinstance(names, Mapping) and "model" in names else _MEASURE_IT
        weights.append((own, cure))
    largest, cure = max(weights)
    room = "or agree with the client on a limit that leaves room for the doubt"
    stays = sum(value for value, _ in weights)
    if largest > 0.0 and 2.0 * np.sqrt(stays) > abs(figure - limit):
        return f"More readings alone will not decide it: {cure}, {room}."
    return (
        f"The figure is so near its limit that {MOST_EXTRA} more readings would not be enough: agree with the "
        f"client on a limit that leaves room for the doubt, or take a sample that is clearly better."
    )


def _fixed(part: Part, to_metric: Array, i: int, near: bool) -> tuple[float, float]:
    """Variances along the difference: of what an instrument brings, and of each pair's own.

    near: very near zero, where the direction is not known: over all directions.
    """
    axes = to_metric if near else to_metric[:1]
    modes = part.modes[i] @ axes.T
    return float((modes**2).sum()), float(np.trace(axes @ part.own[i] @ axes.T))
