"""From the drive values of all three channels to their linear light, and back.

Most displays have one tone curve per channel: :class:`ChannelCurves`. Hybrid log-gamma has a system gamma that
works on the luminance of the scene, so that each channel's light depends on all three drives:
:class:`HlgSystem`. Both offer the same few things, :class:`Transfer`, and a display takes either.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from screenproof.additive.curves import (
    ToneCurve,
    bt1886,
    check_levels,
    power,
    pq,
    srgb_curve,
)
from screenproof.errors import bad
from screenproof.spectra import Array

CURVE_NAMES = ("srgb", "bt1886", "pq", "hlg", "linear", "gamma1.8", "gamma2.2", "gamma2.4", "gamma2.6")
"""Curves that :func:`named_transfer` knows; any other exponent works as ``gamma`` and the number."""


class Transfer(Protocol):
    """Drive to linear light for three channels, arrays (..., 3)."""

    @property
    def name(self) -> str:
        """Short name, as reports print it."""
        ...

    def forward(self, drive: Array) -> Array:
        """Drive 0..1 to linear light 0..1."""
        ...

    def inverse(self, linear: Array) -> Array:
        """Linear light to drive: the exact inverse of :meth:`forward`."""
        ...

    def within(self, linear: Array, tolerance: float) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        """Whether some drive in 0..1 gives this light, with a tolerance in linear light; shape (...)."""
        ...

    def rescaled(self, factor: float) -> Transfer:
        """The transfer when the display is made ``factor`` times as bright."""
        ...


@dataclass(frozen=True)
class ChannelCurves:
    """One tone curve for each of the three channels; they do not know of each other."""

    red: ToneCurve
    green: ToneCurve
    blue: ToneCurve

    def __iter__(self) -> Iterator[ToneCurve]:
        return iter((self.red, self.green, self.blue))

    def __len__(self) -> int:
        return 3

    def __getitem__(self, channel: int) -> ToneCurve:
        return (self.red, self.green, self.blue)[channel]

    @property
    def name(self) -> str:
        names = [curve.name for curve in self]
        return names[0] if len(set(names)) == 1 else ", ".join(names)

    @cached_property
    def _alike(self) -> bool:
        return self.red is self.green and self.green is self.blue

    @cached_property
    def _ends(self) -> tuple[Array, Array]:
        return self.forward(np.zeros(3)), self.forward(np.ones(3))

    def forward(self, drive: Array) -> Array:
        if self._alike:
            return self.red.forward(drive)
        return np.stack([curve.forward(drive[..., i]) for i, curve in enumerate(self)], axis=-1)

    def inverse(self, linear: Array) -> Array:
        if self._alike:
            return self.red.inverse(linear)
        return np.stack([curve.inverse(linear[..., i]) for i, curve in enumerate(self)], axis=-1)

    def within(self, linear: Array, tolerance: float) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        low, high = self._ends
        inside = (linear >= low - tolerance) & (linear <= high + tolerance)
        return np.asarray(inside.all(axis=-1))

    def rescaled(self, factor: float) -> ChannelCurves:
        if self._alike:
            return same_curve(self.red.rescaled(factor))
        return ChannelCurves(*(curve.rescaled(factor) for curve in self))


def same_curve(curve: ToneCurve) -> ChannelCurves:
    """Three channels with one and the same tone curve."""
    return ChannelCurves(curve, curve, curve)


# ITU-R BT.2100-2 Table 5: a, b = 1 - 4a, c = 0.5 - a ln(4a).
_HLG_A = 0.17883277
_HLG_B = 1.0 - 4.0 * _HLG_A
_HLG_C = 0.5 - _HLG_A * float(np.log(4.0 * _HLG_A))
_HLG_LUMA = np.array([0.2627, 0.6780, 0.0593])
# Below this scene luminance the system gamma goes on as a constant gain, so that it stays invertible through
# zero and for colours outside the gamut. A 16-bit code 1 has a scene luminance of 8e-11.
_HLG_FLOOR = 1e-12


def hlg_oetf(scene: Array) -> Array:
    """Scene light 0..1 to HLG signal: sqrt(3 E) up to E = 1/12, then a ln(12 E - b) + c. BT.2100-2 Table 5.

    Odd below zero.
    """
    e = np.abs(np.asarray(scene, dtype=np.float64))
    high = _HLG_A * np.log(np.maximum(12.0 * e, 1.0) - _HLG_B) + _HLG_C
    result: Array = np.copysign(np.where(e <= 1 / 12, np.sqrt(3.0 * e), high), scene)
    return result


def hlg_inverse_oetf(signal: Array) -> Array:
    """HLG signal to scene light 0..1, the inverse of :func:`hlg_oetf`. BT.2100-2 Table 5."""
    v = np.abs(np.asarray(signal, dtype=np.float64))
    high = (np.exp((np.maximum(v, 0.5) - _HLG_C) / _HLG_A) + _HLG_B) / 12.0
    result: Array = np.copysign(np.where(v <= 0.5, v * v / 3.0, high), signal)
    return result


def hlg_system_gamma(peak: float) -> float:
    """System gamma for a display with a peak of ``peak`` cd/m2 in a dim room.

    1.2 + 0.42 log10(peak/1000) from 400 to 2000 cd/m2; beyond, 1.2 * 1.111^log2(peak/1000).
    ITU-R BT.2100-2 Table 5, notes 5e and 5f; the second form is from memory.
    """
    if 400.0 <= peak <= 2000.0:
        return 1.2 + 0.42 * float(np.log10(peak / 1000.0))
    return float(1.2 * 1.111 ** np.log2(peak / 1000.0))


@dataclass(frozen=True)
class HlgSystem:
    """Hybrid log-gamma with its OOTF. ITU-R BT.2100-2 Table 5.

    E = OETF^-1((1 - beta) V + beta), beta = sqrt(3 (Lb/Lw)^(1/gamma)); F = Lw Ys^(gamma - 1) E with
    Ys = 0.2627 Er + 0.6780 Eg + 0.0593 Eb. :meth:`forward` gives (F - Lb)/(Lw - Lb), so that drives 0 and
    1 give 0 and 1 and the black is kept by the display; :meth:`luminance` is F itself.
    """

    peak: float
    black: float = 0.0

    @property
    def name(self) -> str:
        return f"HLG with system gamma {self.gamma:.3g}"

    @cached_property
    def gamma(self) -> float:
        """The system gamma."""
        return hlg_system_gamma(self.peak)

    @cached_property
    def _beta(self) -> float:
        return float(np.sqrt(3.0 * (self.black / self.peak) ** (1.0 / self.gamma)))

    def _lifted(self, drive: Array) -> Array:
        return hlg_inverse_oetf((1.0 - self._beta) * np.asarray(drive, dtype=np.float64) + self._beta)

    def luminance(self, drive: Array) -> Array:
        """Light F of each channel in cd/m2, drive (..., 3)."""
        scene = self._lifted(drive)
        ys = np.abs(scene @ _HLG_LUMA)[..., None]
        result: Array = self.peak * np.maximum(ys, _HLG_FLOOR) ** (self.gamma - 1.0) * scene
        return result

    def forward(self, drive: Array) -> Array:
        result: Array = (self.luminance(drive) - self.black) / (self.peak - self.black)
        return result

    def _scene(self, linear: Array) -> Array:
        light = (self.black + (self.peak - self.black) * np.asarray(linear, dtype=np.float64)) / self.peak
        yd = np.abs(light @ _HLG_LUMA)[..., None]
        ys = np.maximum(yd, _HLG_FLOOR**self.gamma) ** (1.0 / self.gamma)
        scene: Array = light * ys ** (1.0 - self.gamma)
        return scene

    def inverse(self, linear: Array) -> Array:
        result: Array = (hlg_oetf(self._scene(linear)) - self._beta) / (1.0 - self._beta)
        return result

    def within(self, linear: Array, tolerance: float) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        scene = self._scene(linear)
        low, high = self._beta**2 / 3.0, float(hlg_inverse_oetf(np.array(1.0)))
        return np.asarray(((scene >= low - tolerance) & (scene <= high + tolerance)).all(axis=-1))

    def rescaled(self, factor: float) -> HlgSystem:
        return HlgSystem(self.peak * factor, self.black * factor)


def hlg(peak: float = 1000.0, black: float = 0.0) -> HlgSystem:
    """The HLG system of ITU-R BT.2100-2 for a display of ``peak`` and ``black`` cd/m2.

    Raises InputError when the black is not below the peak, or so high that no range is left.
    """
    check_levels(peak, black)
    system = HlgSystem(float(peak), float(black))
    if system._beta >= 0.5:
        raise bad(
            f"an HLG display with a black of {black:g} cd/m2 under a white of {peak:g}",
            field="black",
            expected="a black below about 1/20 of the white, so that the signal keeps its range",
            mend="give the black of the display itself in a dark room",
        )
    return system


def named_transfer(name: str, luminance: float, black: float = 0.0) -> Transfer:
    """The transfer that a curve name means on a display of this white and black.

    name: one of :data:`CURVE_NAMES`, in any case, or ``gamma`` and any exponent, for instance ``gamma2.35``.
    luminance, black: of the display in cd/m2; BT.1886, PQ and HLG depend on them.

    Raises InputError for an unknown name or levels that make no sense.

    >>> named_transfer("bt1886", luminance=100.0, black=0.1).forward(np.full(3, 0.5)).round(4).tolist()
    [0.2153, 0.2153, 0.2153]
    """
    key = re.sub(r"[\s_]|-(?!\d)|(?<=bt)[.-]", "", name.lower())
    check_levels(luminance, black)
    if key == "srgb":
        return same_curve(srgb_curve())
    if key == "bt1886":
        return same_curve(bt1886(luminance, black))
    if key == "pq":
        return same_curve(pq(luminance))
    if key == "hlg":
        return hlg(luminance, black)
    if key == "linear":
        return same_curve(power(1.0))
    found = re.fullmatch(r"gamma(\d+(?:\.\d*)?)", key)
    if found:
        return same_curve(power(float(found[1])))
    raise bad(
        f"no tone curve is called '{name}'",
        field="curve",
        expected="one of " + ", ".join(CURVE_NAMES),
        mend="use one of these names; 'gamma' takes any exponent, for instance gamma2.35",
    )
