"""What a press prints, in CIELAB under one light for one observer, with slopes; and the tints that limits
allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import large, xyz_to_lab
from screenproof.errors import bad
from screenproof.spectra import Array, Light, Observer
from screenproof.spectra.cielab import SLOPE, THRESHOLD
from screenproof.subtractive.press import Press, TintLimits
from screenproof.subtractive.press_model import values, values_and_slopes

COMPILED_ROWS = 200
"""Colours to be separated from which on the compiled kernels are used throughout: a search reads each many
times."""

_AT = 1e-7

# CIELAB of f(X), f(Y), f(Z): ISO/CIE 11664-4:2019, equations 3 to 5.
_OF_F = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])


@dataclass(frozen=True, eq=False)
class InkColours:
    """A press as a map from tints to CIELAB.

    matrix: (w, 3) from its values to XYZ; white: (3,) of the perfect diffuser. compiled: whether the kernels are
    used whatever the size.
    """

    press: Press
    matrix: Array
    white: Array
    compiled: bool = False

    @classmethod
    def of(
        cls, press: Press, under: Light | None = None, seen_by: Observer | None = None, *, rows: int = 0
    ) -> InkColours:
        """For a light and observer (see Press.weights); rows: how many colours are to be separated."""
        compiled = rows >= COMPILED_ROWS and large.can_compile()
        return cls(press, np.array(press.weights(under, seen_by)), np.array(press.white(under, seen_by)), compiled)

    def lab(self, tints: Array) -> Array:
        """CIELAB (..., 3) of tints (..., c) in 0..1."""
        flat = np.ascontiguousarray(tints.reshape(-1, tints.shape[-1]))
        if self.compiled:
            from screenproof.subtractive.press_kernel import compiled_values

            xyz = compiled_values(self.press, flat, self.matrix)
        else:
            xyz = values(self.press, flat, self.matrix)
        return xyz_to_lab(xyz, self.white).reshape(*tints.shape[:-1], 3)

    def lab_and_slopes(self, tints: Array) -> tuple[Array, Array]:
        """CIELAB (n, 3) of tints (n, c) in 0..1 and its derivatives (n, 3, c) by each tint."""
        if self.compiled:
            from screenproof.subtractive.press_kernel import compiled_slopes

            xyz, slopes = compiled_slopes(self.press, tints, self.matrix)
        else:
            xyz, slopes = values_and_slopes(self.press, tints, self.matrix)
        ratio = xyz / self.white
        rate = np.where(ratio > THRESHOLD, np.cbrt(np.maximum(ratio, THRESHOLD)) ** -2 / 3.0, SLOPE) / self.white
        return xyz_to_lab(xyz, self.white), np.einsum("pq,nq,nqc->npc", _OF_F, rate, slopes, optimize=True)


@dataclass(frozen=True, eq=False)
class TintBounds:
    """The tints that may be printed: low <= tint <= high (c,) each, and total in sum."""

    low: Array
    high: Array
    total: float

    @classmethod
    def of(cls, press: Press, limits: TintLimits | None) -> TintBounds:
        """From limits, or from what was measured. Raises InputError when they do not fit the press."""
        chosen = limits or press.limits
        if len(chosen.channels) != len(press.channels):
            raise bad(
                f"limits of {len(chosen.channels)} channels for a press with {len(press.channels)}",
                field="channels",
                expected=f"one limit for each of {', '.join(press.channels)}",
            )
        high = np.array(chosen.channels, dtype=np.float64)
        return cls(np.zeros(len(high)), high, min(float(chosen.total), float(high.sum())))

    def narrowed(self, channels: list[int]) -> TintBounds:
        """With all channels but these held at 0."""
        high = np.zeros_like(self.high)
        high[channels] = self.high[channels]
        return TintBounds(self.low, high, min(self.total, float(high.sum())))

    def kept(self, start: Array, end: Array) -> Array:
        """Tints (..., c) on the way from ``start``, which is allowed, to ``end``: the last that is allowed too."""
        held: Array = np.clip(end, self.low, self.high)
        before, after = start.sum(axis=-1), held.sum(axis=-1)
        over = after > self.total
        grows = np.maximum(after - before, 1e-12)
        share = np.where(over, np.maximum(self.total - before, 0.0) / grows, 1.0)
        return np.asarray(start + np.clip(share, 0.0, 1.0)[..., None] * (held - start))

    def held(self, tints: Array) -> NDArray[np.intp]:
        """How many limits hold each of tints (n, c): a tint at its lowest or highest, the total reached.

        A channel that may not print is held twice, below and above, and counts for nothing.
        """
        count = (tints <= self.low + _AT).sum(axis=1) + (tints >= self.high - _AT).sum(axis=1)
        count += tints.sum(axis=1) >= self.total - _AT
        return np.asarray(count - 2 * int((self.high <= self.low).sum()))

    def cornered(self, tints: Array) -> NDArray[np.bool_]:
        """Whether tints (n, c) cannot move without changing their colour: it takes three numbers that are free."""
        return np.asarray(self.held(tints) >= int((self.high > self.low).sum()) - 3)

    def allowed(self, tints: Array) -> Array:
        """Tints (n, c) brought into the room: each clipped, then all scaled down to the total where they exceed
        it."""
        held: Array = np.clip(tints, self.low, self.high)
        over = np.maximum(held.sum(axis=-1, keepdims=True) / self.total, 1.0)
        return np.asarray(held / over)
