"""Tone curves from samples: the tables of ICC profiles and the ramps of readings, with their exact inverse."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array

# Past its ends a sampled curve goes straight on, at least with this share of its mean slope: near black it
# is often flat, and a flat continuation could not be inverted.
_LEAST_SLOPE = 0.1


def check_monotone(
    drive: ArrayLike, linear: ArrayLike, *, channel: str = "the channel", slack: float = 0.0
) -> None:
    """Raise InputError when a curve falls anywhere by more than ``slack``, or does not rise at all.

    drive, linear: (m,), drive ascending. slack: in units of ``linear``, for the noise of readings.
    """
    x, y = np.asarray(drive, dtype=np.float64), np.asarray(linear, dtype=np.float64)
    fall = np.maximum.accumulate(y)[:-1] - y[1:]
    worst = int(fall.argmax()) if fall.size else 0
    if fall.size and fall[worst] > slack:
        raise bad(
            f"the tone curve of {channel} falls: at drive {x[worst + 1]:.4g} it gives {y[worst + 1]:.5g}, "
            f"less than the {y[: worst + 1].max():.5g} before",
            field=channel,
            expected="a curve that rises with drive, so that every light has one drive",
            mend="measure that step again, with the same area of colour for every step",
        )
    if y.size < 2 or y[-1] <= y[0]:
        raise bad(
            f"the tone curve of {channel} does not rise",
            field=channel,
            expected="at least two samples, more light at full drive than at drive 0",
            mend="look whether the channel was driven at all, and whether the steps are in order",
        )


@dataclass(frozen=True, eq=False)
class SampledCurve:
    """A curve through samples: straight lines between them, or a monotone cubic.

    Never falling; flat stretches are allowed and invert to their lower end.
    """

    drive: Array
    linear: Array
    interpolation: Literal["linear", "cubic"] = "linear"
    label: str = field(default="sampled")

    @property
    def name(self) -> str:
        return f"{self.label}, {self.drive.size} points"

    @cached_property
    def _segments(self) -> Array:
        """Coefficients (4, m - 1) of y = ((c0 t + c1) t + c2) t + c3, t from the left end of each segment."""
        if self.interpolation == "cubic" and self.drive.size > 2:
            from scipy.interpolate import PchipInterpolator

            return np.asarray(PchipInterpolator(self.drive, self.linear).c, dtype=np.float64)
        slope = np.diff(self.linear) / np.diff(self.drive)
        zero = np.zeros_like(slope)
        return np.stack([zero, zero, slope, self.linear[:-1]])

    @cached_property
    def _end_slopes(self) -> tuple[float, float]:
        mean = (self.linear[-1] - self.linear[0]) / (self.drive[-1] - self.drive[0])
        c = self._segments
        h = self.drive[-1] - self.drive[-2]
        last = (3.0 * c[0, -1] * h + 2.0 * c[1, -1]) * h + c[2, -1]
        return max(float(c[2, 0]), _LEAST_SLOPE * mean), max(float(last), _LEAST_SLOPE * mean)

    def forward(self, drive: Array) -> Array:
        v = np.asarray(drive, dtype=np.float64)
        low, high = self.drive[0], self.drive[-1]
        held = np.clip(v, low, high)
        i = np.clip(np.searchsorted(self.drive, held, side="right") - 1, 0, self.drive.size - 2)
        t = held - self.drive[i]
        c = self._segments
        y = ((c[0, i] * t + c[1, i]) * t + c[2, i]) * t + c[3, i]
        first, last = self._end_slopes
        result: Array = y + np.minimum(v - low, 0.0) * first + np.maximum(v - high, 0.0) * last
        return result

    def inverse(self, linear: Array) -> Array:
        y = np.asarray(linear, dtype=np.float64)
        low, high = self.linear[0], self.linear[-1]
        held = np.clip(y, low, high)
        # The first sample that reaches the light ends its segment, so the segment rises and can be solved.
        i = np.clip(np.searchsorted(self.linear, held, side="left"), 1, self.linear.size - 1)
        rise = self.linear[i] - self.linear[i - 1]
        width = self.drive[i] - self.drive[i - 1]
        share = np.where(rise > 0, (held - self.linear[i - 1]) / np.where(rise > 0, rise, 1.0), 0.0)
        t = share * width
        if self.interpolation == "cubic":
            t = self._solve(i - 1, t, held)
        first, last = self._end_slopes
        result: Array = self.drive[i - 1] + t + np.minimum(y - low, 0.0) / first + np.maximum(y - high, 0.0) / last
        return result

    def _solve(self, segment: np.ndarray[tuple[int, ...], np.dtype[np.intp]], start: Array, y: Array) -> Array:
        """Place t in each segment where its cubic gives y: Newton's steps, halving where they leave."""
        c = self._segments[:, segment].reshape(4, -1)
        target = np.ravel(y)
        t = np.ravel(start).copy()
        left = np.zeros_like(t)
        right = np.ravel(np.diff(self.drive)[segment]).copy()
        active = np.arange(t.size)
        for _ in range(80):
            a, b, d, e = c[:, active]
            now = t[active]
            error = ((a * now + b) * now + d) * now + e - target[active]
            left[active] = np.where(error <= 0, now, left[active])
            right[active] = np.where(error >= 0, now, right[active])
            slope = (3.0 * a * now + 2.0 * b) * now + d
            step = now - error / np.where(slope > 0, slope, 1.0)
            lost = (slope <= 0) | (step < left[active]) | (step > right[active])
            new = np.where(lost, 0.5 * (left[active] + right[active]), step)
            t[active] = np.where(error == 0, now, new)
            moving = (error != 0) & (np.abs(new - now) > 1e-16)
            active = active[moving]
            if not active.size:
                break
        return t.reshape(np.shape(y))

    def rescaled(self, factor: float) -> SampledCurve:
        return self


def sampled(
    linear: ArrayLike,
    drive: ArrayLike | None = None,
    *,
    interpolation: Literal["linear", "cubic"] = "linear",
    channel: str = "the channel",
    label: str = "sampled",
) -> SampledCurve:
    """A tone curve through samples.

    linear: (m,) light, never falling. drive: (m,) ascending, evenly from 0 to 1 when not given.
    interpolation: 'linear', as ICC tables mean it, or 'cubic', the monotone cubic of Fritsch and Carlson
    (SIAM J. Numer. Anal. 17, 1980) for the few steps of a measured ramp.

    Raises InputError when the samples fall, do not rise at all, or their drives do not ascend.

    >>> ramp = sampled([0.0, 0.05, 0.2, 0.5, 1.0])
    >>> ramp.forward(np.array([0.25, 0.6])).round(3).tolist(), ramp.inverse(np.array(0.2)).item()
    ([0.05, 0.32], 0.5)
    """
    y = np.array(linear, dtype=np.float64)
    x = np.linspace(0.0, 1.0, y.size) if drive is None else np.array(drive, dtype=np.float64)
    sound = x.shape == y.shape and y.ndim == 1 and bool(np.isfinite(x).all() and np.isfinite(y).all())
    if not sound or (np.diff(x) <= 0).any():
        raise bad(
            f"the tone curve of {channel} has drives that do not ascend, or values that are no numbers",
            field=channel,
            expected="one finite light for every drive, drives ascending, none twice",
            mend="sort the steps by drive, average the repeated ones, drop the empty ones",
        )
    check_monotone(x, y, channel=channel)
    return SampledCurve(x, y, interpolation, label)
