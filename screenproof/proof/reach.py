"""The colours that a screen can show, as Lab of the reference side, over a cube of even positions.

A search for a colour wants a cube in which equal steps look about equal and in which no step is lost. Drive
values are neither on every display (linear, PQ, a table). So each channel gets a position 0..1 that goes as
the L* of its own light: light share = f(position), f the inverse of CIE L* with its straight part near black.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar, Protocol

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import ChannelCurves, View
from screenproof.appearance import xyz_to_lab
from screenproof.proof.viewing import Bridge, LinearBridge
from screenproof.spectra import Array

_KNOTS = 513
_DEEPEST_TABLE = 16

# CIE 1976 L* (ISO/CIE 11664-4): L* = 116 t^(1/3) - 16 above t = (6/29)^3, (29/3)^3 t below.
_TOE = 8.0
_SLOPE = (29.0 / 3.0) ** 3


def light_of(position: Array) -> Array:
    """Share of a channel's light, 0..1, at a position 0..1: the inverse of CIE L*/100."""
    star = 100.0 * position
    return np.asarray(np.where(star > _TOE, ((star + 16.0) / 116.0) ** 3, star / _SLOPE))


def position_of(light: Array) -> Array:
    """Position 0..1 of a share of light 0..1: CIE L*/100."""
    share = np.maximum(light, 0.0)
    star = np.where(share > _TOE / _SLOPE, 116.0 * np.cbrt(share) - 16.0, share * _SLOPE)
    return np.asarray(star / 100.0)


class Reach(Protocol):
    """What the searches need of a display. Positions, drives and Lab are (..., 3).

    ``smooth`` says that Lab has no edges over the positions, so that derivatives lead a search all the way.
    """

    @property
    def smooth(self) -> bool: ...

    def drive(self, position: Array) -> Array:
        """Drive values 0..1 at a position 0..1."""
        ...

    def position(self, drive: Array) -> Array:
        """The inverse of :meth:`drive`."""
        ...

    def lab(self, position: Array) -> Array:
        """Lab (reference side) of what the display shows at a position."""
        ...

    @property
    def white(self) -> Array:
        """XYZ (3,) that Lab is relative to."""
        ...

    def xyz_of_codes(self, codes: NDArray[np.int64], bits: int) -> Array:
        """Reference XYZ of integer codes 0..2^bits - 1."""
        ...


def reach_of(view: View, bridge: Bridge, white: Array) -> Reach:
    """The colours of ``view`` brought back over ``bridge``, in Lab relative to ``white`` (XYZ, Y = 100)."""
    curves = view.curves
    if isinstance(bridge, LinearBridge) and view.matrix is not None and isinstance(curves, ChannelCurves):
        return MatrixReach(
            curves, bridge.inverse @ view.matrix, np.asarray(bridge.to_reference(view.black)), white
        )
    return GeneralReach(view, bridge, white)


@dataclass(frozen=True, eq=False)
class MatrixReach:
    """A display with one tone curve per channel on a linear basis: xyz = matrix @ light + black."""

    curves: ChannelCurves
    matrix: Array
    black: Array
    white: Array
    smooth: ClassVar[bool] = True

    @cached_property
    def _ends(self) -> tuple[Array, Array]:
        return self.curves.forward(np.zeros(3)), self.curves.forward(np.ones(3))

    @cached_property
    def _base(self) -> Array:
        # View.black is the colour of drive 0; a curve that does not start at 0 has put light into it already.
        return np.asarray(self.black - self.matrix @ self._ends[0])

    def _linear(self, position: Array) -> Array:
        low, high = self._ends
        return np.asarray(low + light_of(position) * (high - low))

    def _xyz(self, linear: Array) -> Array:
        return np.asarray(linear @ self.matrix.T + self._base)

    def drive(self, position: Array) -> Array:
        return np.clip(self.curves.inverse(self._linear(position)), 0.0, 1.0)

    def position(self, drive: Array) -> Array:
        low, high = self._ends
        return np.clip(position_of((self.curves.forward(drive) - low) / (high - low)), 0.0, 1.0)

    def lab(self, position: Array) -> Array:
        return xyz_to_lab(self._xyz(self._linear(position)), self.white)

    def xyz_of_codes(self, codes: NDArray[np.int64], bits: int) -> Array:
        if bits > _DEEPEST_TABLE:
            return self._xyz(self.curves.forward(codes / (2.0**bits - 1.0)))
        table = self._light_of_codes(bits)
        return self._xyz(np.stack([table[codes[..., i], i] for i in range(3)], axis=-1))

    def _light_of_codes(self, bits: int) -> Array:
        cached: dict[int, Array] = self.__dict__.setdefault("_tables", {})
        if bits not in cached:
            ramp = np.arange(2**bits) / (2.0**bits - 1.0)
            cached[bits] = self.curves.forward(np.repeat(ramp[:, None], 3, axis=1))
        return cached[bits]


@dataclass(frozen=True, eq=False)
class GeneralReach:
    """Any display on any basis: the position of a channel is found from a ramp of that channel alone."""

    view: View
    bridge: Bridge
    white: Array
    smooth: ClassVar[bool] = False

    @cached_property
    def _ramps(self) -> tuple[Array, Array]:
        """Drives (k,) and the positions (3, k) that each channel has at them, rising."""
        drives = np.linspace(0.0, 1.0, _KNOTS)
        positions = np.empty((3, _KNOTS))
        for channel in range(3):
            ramp = np.zeros((_KNOTS, 3))
            ramp[:, channel] = drives
            light = self.view.to_xyz(ramp).sum(axis=-1)
            share = (light - light[0]) / (light[-1] - light[0]) if light[-1] > light[0] else drives
            rising = np.maximum.accumulate(position_of(np.clip(share, 0.0, 1.0)))
            # A hair of slope keeps a flat part of the ramp from having no position of its own.
            rising = (rising + 1e-6 * drives) / (1.0 + 1e-6)
            positions[channel] = rising
        return drives, positions

    def drive(self, position: Array) -> Array:
        drives, positions = self._ramps
        return np.stack([np.interp(position[..., i], positions[i], drives) for i in range(3)], axis=-1)

    def position(self, drive: Array) -> Array:
        drives, positions = self._ramps
        return np.stack([np.interp(drive[..., i], drives, positions[i]) for i in range(3)], axis=-1)

    def lab(self, position: Array) -> Array:
        return xyz_to_lab(self._xyz(self.drive(position)), self.white)

    def _xyz(self, drive: Array) -> Array:
        return self.bridge.to_reference(self.view.to_xyz(drive))

    def xyz_of_codes(self, codes: NDArray[np.int64], bits: int) -> Array:
        return self._xyz(codes / (2.0**bits - 1.0))
