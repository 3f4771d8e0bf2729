"""What a separation makes small: the colour difference, alone or with a preference among tints of one colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from screenproof.spectra import Array
from screenproof.subtractive.colour_cost import laid_through, quadratic, squared_difference
from screenproof.subtractive.descent import Rows
from screenproof.subtractive.ink_colours import InkColours

SANE, COS_FAR_HUE = 10.0, 0.5
"""Where hue is to be kept: colours farther than this (CIEDE2000) *and* of a hue more than 60 degrees away cost
more."""

_HUELESS, _HUED = 5.0, 10.0
_REPULSION = 1000.0


def astray(wanted: Array, lab: Array, square: Array) -> Array:
    """What far colours of a far hue cost above their squared difference (...), as on the side of the displays."""
    strength = np.hypot(wanted[..., 1], wanted[..., 2])
    hued = np.clip((strength - _HUELESS) / (_HUED - _HUELESS), 0.0, 1.0)
    along = (wanted[..., 1] * lab[..., 1] + wanted[..., 2] * lab[..., 2]) / np.maximum(strength, _HUELESS)
    turned = np.maximum(COS_FAR_HUE * np.hypot(lab[..., 1], lab[..., 2]) - along, 0.0)
    return np.asarray(_REPULSION * hued * turned * np.maximum(np.sqrt(square) - SANE, 0.0))


@dataclass(frozen=True, eq=False)
class ColourAim:
    """The square of CIEDE2000 from wanted colours (n, 3) CIELAB; with ``keep_hue``, and what :func:`astray`
    adds."""

    colours: InkColours
    wanted: Array
    keep_hue: bool = False

    def select(self, rows: Rows) -> ColourAim:
        """The same aim at some of the colours."""
        return replace(self, wanted=self.wanted[rows])

    def cost(self, tints: Array, rows: Rows) -> Array:
        """Cost (m, ...) of tints (m, ..., c): see descent.Objective."""
        return self.cost_of(self.colours.lab(tints), rows)

    def cost_of(self, lab: Array, rows: Rows) -> Array:
        """Cost (m, ...) of colours (m, ..., 3)."""
        wanted = self.wanted[rows].reshape(len(rows), *(1,) * (lab.ndim - 2), 3)
        square = squared_difference(wanted, lab)
        return square + astray(wanted, lab, square) if self.keep_hue else square

    def model(self, tints: Array, rows: Rows) -> tuple[Array, Array]:
        """Slope (m, c) and curvature (m, c, c): see descent.Objective."""
        lab, slopes = self.colours.lab_and_slopes(tints)
        if self.keep_hue:
            slope, bend = laid_through(lambda around: self.cost_of(around, rows), lab)[1:]
        else:
            slope, bend = quadratic(self.wanted[rows], lab)[1:]
        turned = np.matmul(slopes.transpose(0, 2, 1), bend)
        return np.einsum("npc,np->nc", slopes, slope), np.matmul(turned, slopes)


@dataclass(frozen=True, eq=False)
class WeighedAim:
    """The first aim, and ``weight`` times the sum of the others."""

    first: ColourAim
    others: Sequence[ColourAim]
    weight: float

    def cost(self, tints: Array, rows: Rows) -> Array:
        """See descent.Objective."""
        return np.asarray(
            self.first.cost(tints, rows) + self.weight * sum(a.cost(tints, rows) for a in self.others)
        )

    def model(self, tints: Array, rows: Rows) -> tuple[Array, Array]:
        """See descent.Objective."""
        slope, bend = self.first.model(tints, rows)
        for aim in self.others:
            more, curved = aim.model(tints, rows)
            slope, bend = slope + self.weight * more, bend + self.weight * curved
        return slope, bend


@dataclass(frozen=True, eq=False)
class TintAim:
    """The colour, and ``weight`` times a share (c,) of each tint: with 1 for black, the least black.

    A share below 0 wants much of a tint; ``high`` (c,) keeps the cost above 0.
    """

    colour: ColourAim
    share: Array
    high: Array
    weight: float

    def cost(self, tints: Array, rows: Rows) -> Array:
        """See descent.Objective."""
        wanted = np.where(self.share < 0.0, tints - self.high, tints) @ self.share
        return np.asarray(self.colour.cost(tints, rows) + self.weight * wanted)

    def model(self, tints: Array, rows: Rows) -> tuple[Array, Array]:
        """See descent.Objective."""
        slope, bend = self.colour.model(tints, rows)
        return slope + self.weight * self.share, bend


@dataclass(frozen=True, eq=False)
class GoalAim:
    """The colour, and ``weight`` times the square of how far one tint is from its goal (n,)."""

    colour: ColourAim
    channel: int
    goal: Array
    weight: float

    def cost(self, tints: Array, rows: Rows) -> Array:
        """See descent.Objective."""
        mine = tints[..., self.channel]
        goal = self.goal[rows].reshape(len(rows), *(1,) * (mine.ndim - 1))
        return np.asarray(self.colour.cost(tints, rows) + self.weight * (mine - goal) ** 2)

    def model(self, tints: Array, rows: Rows) -> tuple[Array, Array]:
        """See descent.Objective."""
        slope, bend = self.colour.model(tints, rows)
        slope[:, self.channel] += 2.0 * self.weight * (tints[:, self.channel] - self.goal[rows])
        bend[:, self.channel, self.channel] += 2.0 * self.weight
        return slope, bend
