"""Full grids of tints in a characterisation: found by themselves, whatever the chart is called.

A chart holds, among ramps and odd patches, every combination of some levels of some channels; often several such
grids, for instance coarse over all four inks and finer over cyan, magenta and yellow at each of some blacks. Each
is a lattice on which a cellular model can stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array

STEPS = 100_000
"""Tints are told apart to this fraction: 0.001 %."""

Codes = NDArray[np.int64]


@dataclass(frozen=True)
class SubGrid:
    """Every combination of ``levels`` (one tuple per channel, tints 0..1) was measured.

    A channel with one level is held there.
    """

    channels: tuple[str, ...]
    levels: tuple[tuple[float, ...], ...]

    @property
    def count(self) -> int:
        """How many patches it has."""
        return prod(len(levels) for levels in self.levels)

    def __str__(self) -> str:
        varied: dict[tuple[float, ...], list[str]] = {}
        held = []
        for channel, levels in zip(self.channels, self.levels, strict=True):
            if len(levels) > 1:
                varied.setdefault(levels, []).append(channel)
            else:
                held.append(f"{channel} {100 * levels[0]:g}")
        parts = [f"{' '.join(names)} at {', '.join(f'{100 * v:g}' for v in lv)}" for lv, names in varied.items()]
        text = " and ".join(parts) + " %"
        return f"{text}, with {', '.join(held)} %" if held else text


def codes_of(device: Array) -> Codes:
    """Tints (n, c) in 0..1 as whole numbers, so that equal ones are equal."""
    return np.rint(np.asarray(device) * STEPS).astype(np.int64)


def fullest(codes: Codes) -> list[list[int]] | None:
    """The levels of the largest full grid over all columns that has 0 and full tint in each, or None.

    codes: (n, d), rows unlike. Levels are taken away until all combinations of the rest are there: always the one
    of whose combinations the smallest part is. 0 and full tint stay. Then each level is put back with which the
    grid is still full.
    """
    levels = [sorted(set(column.tolist())) for column in codes.T]
    if any(column[0] != 0 or column[-1] != STEPS for column in levels):
        return None
    every = [list(column) for column in levels]
    inside = np.ones(len(codes), dtype=bool)
    while True:
        size = prod(len(column) for column in levels)
        present = codes[inside]
        if len(present) == size:
            return _put_back(codes, levels, every)
        worst, place = 2.0, None
        for d, column in enumerate(levels):
            values, counts = np.unique(present[:, d], return_counts=True)
            found = dict(zip(values.tolist(), counts.tolist(), strict=True))
            for level in column[1:-1]:
                share = found.get(level, 0) * len(column) / size
                if share < worst:
                    worst, place = share, (d, level)
        if place is None:
            return None
        levels[place[0]].remove(place[1])
        inside &= codes[:, place[0]] != place[1]


def _put_back(codes: Codes, levels: list[list[int]], every: list[list[int]]) -> list[list[int]]:
    for d, column in enumerate(every):
        others = np.ones(len(codes), dtype=bool)
        for k, kept in enumerate(levels):
            if k != d:
                others &= np.isin(codes[:, k], kept)
        wanted = prod(len(kept) for k, kept in enumerate(levels) if k != d)
        here = codes[others, d]
        levels[d] = [level for level in column if np.count_nonzero(here == level) == wanted]
    return levels


def find_grids(device: Array, channels: Sequence[str]) -> tuple[SubGrid, ...]:
    """The full grids among tints (n, c) in 0..1, the one over all channels first if there is one.

    Looked for over all channels; over all but one, at each level of that one; and over each choice of two
    channels or more with the others at 0. Kept are those that have combinations which no other has, with at
    least three levels in one channel; the one over all channels is kept with two levels as well.
    """
    codes = np.unique(codes_of(device), axis=0)
    width = codes.shape[1]
    found: list[list[list[int]]] = []
    whole = fullest(codes)
    if whole is not None:
        found.append(whole)
    if width > 2:
        for channel in range(width):
            rest = [k for k in range(width) if k != channel]
            for level in np.unique(codes[:, channel]).tolist():
                part = fullest(codes[codes[:, channel] == level][:, rest])
                if part is not None:
                    found.append([*part[:channel], [level], *part[channel:]])
    for size in range(2, width - 1):
        for chosen in combinations(range(width), size):
            rest = [k for k in range(width) if k not in chosen]
            part = fullest(codes[(codes[:, rest] == 0).all(axis=1)][:, list(chosen)])
            if part is not None:
                by_channel = dict(zip(chosen, part, strict=True))
                found.append([by_channel.get(k, [0]) for k in range(width)])
    kept: list[list[list[int]]] = []
    largest_first = sorted(found, key=lambda grid: -prod(len(levels) for levels in grid))
    for grid in largest_first:
        if grid is not whole and max(len(levels) for levels in grid) < 3:
            continue
        if not any(_within(grid, other) for other in kept):
            kept.append(grid)
    if whole is not None:
        kept = [whole] + [grid for grid in kept if grid is not whole]
    return tuple(
        SubGrid(tuple(channels), tuple(tuple(level / STEPS for level in levels) for levels in grid))
        for grid in kept
    )


def _within(grid: list[list[int]], other: list[list[int]]) -> bool:
    return all(set(mine) <= set(theirs) for mine, theirs in zip(grid, other, strict=True))
