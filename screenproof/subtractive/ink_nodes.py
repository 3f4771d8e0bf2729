"""A lattice of tints inside the limits, with its colours: where searches start."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screenproof.spectra import Array
from screenproof.subtractive.aims import ColourAim
from screenproof.subtractive.ink_colours import InkColours, TintBounds

PER_CHANNEL = {1: 65, 2: 33, 3: 17, 4: 9, 5: 6, 6: 4, 7: 3, 8: 3}
"""Nodes along each channel, by how many channels may print."""

STARTS = 3
"""The most descents for one colour that the first did not reach."""

_HUES = 8
_NEUTRAL = 12.0
_PAIRS = 1_500_000


@dataclass(frozen=True, eq=False)
class InkNodes:
    """tints: (m, c), in equal steps of coverage, the total kept; lab: (m, 3) their colours."""

    colours: InkColours
    room: TintBounds
    tints: Array
    lab: Array

    @classmethod
    def of(cls, colours: InkColours, room: TintBounds) -> InkNodes:
        """The lattice of a press in its limits."""
        open_to = np.flatnonzero(room.high > 0.0)
        steps = np.linspace(0.0, 1.0, PER_CHANNEL[max(1, len(open_to))])
        axes = []
        for channel, curve in enumerate(colours.press.curves):
            most = float(curve.whole_at(room.high[channel : channel + 1])[0])
            axes.append(curve.tint_of(most * steps) if channel in open_to else np.zeros(1))
        nodes = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes))
        # Rounded so that nodes drawn in onto the total are one where they meet, which may lift them past it.
        tints = room.allowed(np.unique(np.round(room.allowed(nodes), 9), axis=0))
        return cls(colours, room, tints, colours.lab(tints))

    @cached_property
    def _tree(self) -> Any:
        from scipy.spatial import cKDTree

        return cKDTree(self.lab)

    def nearest(self, wanted: Array) -> Array:
        """The nodes (n, c) that are nearest to wanted colours (n, 3) in CIELAB."""
        return np.array(self.tints[self._tree.query(wanted)[1]])

    @cached_property
    def _outer(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Nodes that may lie on the boundary of what can be printed, by hue, and where each hue begins.

        A map from c tints to three coordinates can only have its boundary where c - 2 limits hold.
        """
        free = int((self.room.high > self.room.low).sum())
        chosen = np.flatnonzero(self.room.held(self.tints) >= free - 2)
        a, b = self.lab[chosen, 1], self.lab[chosen, 2]
        hue = np.floor((np.degrees(np.arctan2(b, a)) % 360.0) * _HUES / 360.0).astype(np.intp)
        group = np.where(np.hypot(a, b) < _NEUTRAL, _HUES, hue)
        order = np.argsort(group, kind="stable")
        return chosen[order], np.unique(group[order], return_index=True)[1]

    def starts(self, wanted: Array, keep_hue: bool = False) -> tuple[NDArray[np.intp], Array]:
        """For wanted colours (n, 3): to which of them a start belongs (s,), and the starts (s, c).

        The best outer node of every hue, and of these the best few.
        """
        nodes, begins = self._outer
        ends = [*begins[1:].tolist(), len(nodes)]
        lab = self.lab[nodes]
        owners, found = [], []
        step = max(1, _PAIRS // len(nodes))
        for first in range(0, len(wanted), step):
            part = wanted[first : first + step]
            costs = ColourAim(self.colours, part, keep_hue).cost_of(lab[None, :, :], np.arange(len(part)))
            place = np.stack(
                [costs[:, s:e].argmin(axis=1) + s for s, e in zip(begins.tolist(), ends, strict=True)], axis=1
            )
            best = np.take_along_axis(costs, place, axis=1)
            order = np.argsort(best, axis=1)[:, :STARTS]
            ranked = np.take_along_axis(best, order, axis=1)
            # A hue that starts at more than twice the distance does not win.
            row, column = np.nonzero(ranked <= 4.0 * ranked[:, :1] + 25.0)
            owners.append(row + first)
            found.append(nodes[np.take_along_axis(place, order, axis=1)[row, column]])
        return np.concatenate(owners), np.array(self.tints[np.concatenate(found)])
