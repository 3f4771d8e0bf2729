"""Tone curves of one channel: drive value to the share of that channel's full light, and back.

A curve maps drive 0..1 to linear light, where 1 is what the channel gives at full drive. Outside 0..1 every
curve continues and keeps rising, so that a colour that a display cannot show has a drive that says so.

=============  =============================================================================
power          L = V^g, odd about zero
sRGB           IEC 61966-2-1:1999
BT.1886        ITU-R BT.1886:2011 Annex 1, with its black level
PQ             SMPTE ST 2084:2014, ITU-R BT.2100-2 Table 4
=============  =============================================================================

HLG is not here: its system gamma couples the three channels, see :mod:`screenproof.additive.transfer`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from screenproof.errors import bad
from screenproof.spectra import Array

CHANNELS = ("red", "green", "blue")


class ToneCurve(Protocol):
    """What every tone curve of one channel offers. Arrays of any shape, the same shape comes back."""

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

    def rescaled(self, factor: float) -> ToneCurve:
        """The curve when the display is made ``factor`` times as bright. Only PQ and BT.1886 depend on it."""
        ...


def signed_power(x: Array, exponent: float) -> Array:
    """|x|^exponent with the sign of x: the odd continuation of a power below zero."""
    result: Array = np.copysign(np.abs(x) ** exponent, x)
    return result


@dataclass(frozen=True)
class Power:
    """L = V^gamma, continued oddly below zero."""

    gamma: float

    @property
    def name(self) -> str:
        return f"gamma {self.gamma:g}" if self.gamma != 1.0 else "linear"

    def forward(self, drive: Array) -> Array:
        return signed_power(np.asarray(drive, dtype=np.float64), self.gamma)

    def inverse(self, linear: Array) -> Array:
        return signed_power(np.asarray(linear, dtype=np.float64), 1.0 / self.gamma)

    def rescaled(self, factor: float) -> Power:
        return self


def power(gamma: float) -> Power:
    """A pure power curve L = V^gamma.

    Raises InputError when gamma is not between 0.1 and 10.
    """
    if not 0.1 <= gamma <= 10.0:
        raise bad(
            f"a tone curve with gamma {gamma:g}",
            field="gamma",
            expected="a number between 0.1 and 10, most displays are between 1.8 and 2.6",
            mend="give the exponent itself, for instance 2.2 and not 22 or 220",
        )
    return Power(float(gamma))


_SRGB_BREAK = 0.04045


@dataclass(frozen=True)
class SrgbCurve:
    """V/12.92 up to V = 0.04045, then ((V + 0.055)/1.055)^2.4. IEC 61966-2-1:1999, 5.2."""

    @property
    def name(self) -> str:
        return "sRGB"

    def forward(self, drive: Array) -> Array:
        v = np.asarray(drive, dtype=np.float64)
        upper = (np.maximum(v, _SRGB_BREAK) + 0.055) / 1.055
        result: Array = np.where(v <= _SRGB_BREAK, v / 12.92, upper**2.4)
        return result

    def inverse(self, linear: Array) -> Array:
        # The standard prints 0.0031308 as the break of the inverse. The two branches meet 2e-9 apart there;
        # breaking at 0.04045/12.92 makes the inverse exact.
        x = np.asarray(linear, dtype=np.float64)
        start = _SRGB_BREAK / 12.92
        upper = 1.055 * np.maximum(x, start) ** (1.0 / 2.4) - 0.055
        result: Array = np.where(x <= start, x * 12.92, np.maximum(upper, _SRGB_BREAK))
        return result

    def rescaled(self, factor: float) -> SrgbCurve:
        return self


def srgb_curve() -> SrgbCurve:
    """The sRGB curve of IEC 61966-2-1:1999."""
    return SrgbCurve()


@dataclass(frozen=True)
class Bt1886:
    """L = a (V + b)^2.4 of ITU-R BT.1886:2011 Annex 1, as a share of the range from black to white.

    ``lw`` and ``lb`` are the luminances of white and black in cd/m2. :meth:`forward` is
    (L - Lb)/(Lw - Lb), so that 0 and 1 give 0 and 1 and the black is kept by the display;
    :meth:`luminance` is L itself.
    """

    lw: float
    lb: float

    @property
    def name(self) -> str:
        return "BT.1886"

    @cached_property
    def _ab(self) -> tuple[float, float]:
        root_white, root_black = self.lw ** (1 / 2.4), self.lb ** (1 / 2.4)
        return (root_white - root_black) ** 2.4, root_black / (root_white - root_black)

    def luminance(self, drive: Array) -> Array:
        """Luminance in cd/m2 of a neutral colour with this drive."""
        a, b = self._ab
        result: Array = a * signed_power(np.asarray(drive, dtype=np.float64) + b, 2.4)
        return result

    def forward(self, drive: Array) -> Array:
        result: Array = (self.luminance(drive) - self.lb) / (self.lw - self.lb)
        return result

    def inverse(self, linear: Array) -> Array:
        a, b = self._ab
        level = self.lb + (self.lw - self.lb) * np.asarray(linear, dtype=np.float64)
        result: Array = signed_power(level / a, 1 / 2.4) - b
        return result

    def rescaled(self, factor: float) -> Bt1886:
        return Bt1886(self.lw * factor, self.lb * factor)


def check_levels(luminance: float, black: float) -> None:
    """Raise InputError unless 0 <= black < luminance, both finite, in cd/m2."""
    if not (np.isfinite(luminance) and luminance > 0):
        raise bad(
            f"a display with a white of {luminance:g} cd/m2",
            field="luminance",
            expected="a luminance above 0 cd/m2, most displays show 80 to 1000",
            mend="give the measured luminance of the full white",
        )
    if not (np.isfinite(black) and black >= 0):
        raise bad(
            f"a display with a black of {black:g} cd/m2",
            field="black",
            expected="a luminance of 0 cd/m2 or more",
            mend="give the measured luminance of the black, or 0 when it is not known",
        )
    if black >= luminance:
        raise bad(
            f"the black, {black:g} cd/m2, is not darker than the white, {luminance:g} cd/m2",
            field="black",
            expected="a black well below the white, most displays reach 1/500 of it or less",
            mend="give both in cd/m2, and look whether they have changed places",
        )


def bt1886(lw: float = 100.0, lb: float = 0.0) -> Bt1886:
    """The reference EOTF of ITU-R BT.1886:2011 for a white of ``lw`` and a black of ``lb`` cd/m2.

    Raises InputError when the black is not below the white.
    """
    check_levels(lw, lb)
    return Bt1886(float(lw), float(lb))


# SMPTE ST 2084:2014, the constants as the fractions that the standard prints.
_PQ_M1 = 2610 / 16384
_PQ_M2 = 2523 / 4096 * 128
_PQ_C1 = 3424 / 4096
_PQ_C2 = 2413 / 4096 * 32
_PQ_C3 = 2392 / 4096 * 32
PQ_TOP = 10000.0
"""Luminance of the PQ signal value 1, in cd/m2."""


def pq_eotf(signal: Array) -> Array:
    """PQ signal 0..1 to luminance in cd/m2, 0..10000. ITU-R BT.2100-2 Table 4, SMPTE ST 2084 eq. 4.1.

    Signals outside 0..1 are held at its ends.
    """
    root = np.clip(np.asarray(signal, dtype=np.float64), 0.0, 1.0) ** (1 / _PQ_M2)
    result: Array = PQ_TOP * (np.maximum(root - _PQ_C1, 0.0) / (_PQ_C2 - _PQ_C3 * root)) ** (1 / _PQ_M1)
    return result


def pq_inverse_eotf(luminance: Array) -> Array:
    """Luminance in cd/m2 to PQ signal. ITU-R BT.2100-2 Table 4, SMPTE ST 2084 eq. 5.2.

    Luminances outside 0..10000 are held at its ends. The formula gives 7.3e-7, not 0, for no light.
    """
    y = np.clip(np.asarray(luminance, dtype=np.float64) / PQ_TOP, 0.0, 1.0) ** _PQ_M1
    result: Array = ((_PQ_C1 + _PQ_C2 * y) / (1.0 + _PQ_C3 * y)) ** _PQ_M2
    return result


_PQ_FLOOR = _PQ_C1**_PQ_M2
# dL/dV at V = 1, where the formula ends; the curve goes straight on from there.
_PQ_SLOPE = PQ_TOP * (_PQ_C2 - _PQ_C1 * _PQ_C3) / (_PQ_M1 * _PQ_M2 * (1 - _PQ_C1) * (_PQ_C2 - _PQ_C3))


@dataclass(frozen=True)
class Pq:
    """The PQ EOTF on a display whose full white has ``peak`` cd/m2.

    PQ signals mean absolute luminances. A display that reaches ``peak`` follows them up to
    :attr:`ceiling`, the signal of its peak, and holds the peak from there to signal 1: that is its top
    drive, and colours between ceiling and 1 are all the same. Colours beyond the peak invert to drives above
    1, as with every other curve. Where the display has a black, that black lies under the curve.
    """

    peak: float

    @property
    def name(self) -> str:
        return f"PQ to {self.peak:g} cd/m2"

    @cached_property
    def ceiling(self) -> float:
        """The signal at which the display reaches its peak; 0.7518 for 1000 cd/m2."""
        return float(pq_inverse_eotf(np.array(self.peak)))

    def _above_black(self, signal: Array) -> Array:
        """Linear light for signal >= 0: the EOTF, going straight on past 10000 cd/m2."""
        beyond = np.maximum(signal - 1.0, 0.0) * _PQ_SLOPE
        result: Array = (pq_eotf(signal) + beyond) / self.peak
        return result

    def _signal(self, linear: Array) -> Array:
        level = linear * self.peak
        result: Array = pq_inverse_eotf(level) + np.maximum(level - PQ_TOP, 0.0) / _PQ_SLOPE
        return result

    def forward(self, drive: Array) -> Array:
        v = np.asarray(drive, dtype=np.float64)
        past_top = np.maximum(v - 1.0, 0.0)
        up = self._above_black(np.minimum(np.maximum(v, 0.0), self.ceiling) + past_top)
        # Below zero the curve is mirrored at its floor, the signal under which the formula gives no light.
        down = self._above_black(_PQ_FLOOR + np.maximum(-v, 0.0))
        result: Array = np.where(v >= 0.0, up, -down)
        return result

    def inverse(self, linear: Array) -> Array:
        x = np.asarray(linear, dtype=np.float64)
        signal = self._signal(np.abs(x))
        # A hair above the peak is rounding, and its drive is the ceiling: not a jump to 1.
        up = np.where(x <= 1.0 + 1e-9, np.minimum(signal, self.ceiling), signal + 1.0 - self.ceiling)
        result: Array = np.where(x > 0.0, up, np.minimum(_PQ_FLOOR - signal, 0.0))
        return result

    def rescaled(self, factor: float) -> Pq:
        return pq(self.peak * factor)


def pq(peak: float = 1000.0) -> Pq:
    """The PQ curve of SMPTE ST 2084 for a display whose full white has ``peak`` cd/m2, at most 10000.

    Raises InputError for a peak that is not above 0 and at most 10000.
    """
    check_levels(peak, 0.0)
    if peak > PQ_TOP:
        raise bad(
            f"a PQ display with a peak of {peak:g} cd/m2",
            field="luminance",
            expected="at most 10000 cd/m2, where PQ ends",
            mend="give the peak of the display in cd/m2",
        )
    return Pq(float(peak))
