"""What an additive model leaves unexplained, as a smooth function of the drives.

Radial basis functions (biharmonic or triharmonic splines of three variables with a linear part; Wahba 1990,
Spline models for observational data, ch. 2) on the scale of the channels' lightness, where equal steps look
about equal. What is interpolated is the misfit as a share of the light itself, so that dark colours count. Ahead
of them, where it helps, goes a part that is linear in the light that two or three channels have in common: a
display with a white sub-pixel, or one whose mixtures are dimmed, departs just so (the idea of the masking model of
Tamura, Tsumura and Miyake 2003, J. SID 11; from memory). How closely the readings are followed, and whether the
common light is taken, is told by leaving each reading out in turn (Rippa 1999, Adv. Comput. Math. 11, 193-210):
noise is not taken for a property of the display.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.interpolate import RBFInterpolator
from scipy.spatial.distance import cdist

from screenproof.additive.additive_fit import DIM, AdditiveFit, channel_lightness
from screenproof.spectra import Array

_KERNELS: dict[str, Callable[[Array], Array]] = {"linear": lambda r: -r, "cubic": lambda r: r**3}
_SMOOTHINGS = (1e-6, 1e-4, 1e-3, 1e-2, 1e-1, 1.0)
# Beyond these, leaving one out and the full solution cost too much: a sample tells the smoothing, and each place
# is interpolated from its neighbours.
_MOST_FOR_CHOICE = 400
_MOST_AT_ONCE = 2500
_NEIGHBOURS = 60
# Condition of the common light, columns of unit length, beyond which its shares are not determined: about 12 with
# mixtures all over the cube, thousands on ramps and greys.
_MOST_CONDITION = 200.0


class MisfitCorrection:
    """A smooth correction to an additive fit, in any number of components.

    base: the additive fit. white: XYZ (3,) of the display. drive: (m, 3) of the readings. misfit: (m, p), what
    the base leaves unexplained. unit: (p,) or a number, the misfit's components at full light, so that they
    weigh alike. count: (m,) of how many readings each is the mean. seed: for the sample of a large set.
    """

    def __init__(
        self,
        base: AdditiveFit,
        white: Array,
        drive: Array,
        misfit: Array,
        unit: Array | float,
        count: Array,
        seed: int = 0,
    ) -> None:
        self._base, self._white, self._unit = base, white, unit
        linear, level = self._state(drive)
        places = channel_lightness(linear)
        target = misfit / unit / level
        some = np.arange(len(drive))
        if some.size > _MOST_FOR_CHOICE:
            some = np.random.default_rng(seed).permutation(some.size)[:_MOST_FOR_CHOICE]
        shares = _shares(common_light(linear) / level, target)
        least = np.inf
        for kernel in _KERNELS:
            left_out = _LeftOut(kernel, places[some], count[some])
            for share in (np.zeros_like(shares), shares):
                rest = (target - common_light(linear) / level @ share)[some]
                for smoothing in _SMOOTHINGS:
                    error = left_out.error(rest, smoothing)
                    if error < least:
                        least, self.kernel, self.smoothing, self.shares = error, kernel, smoothing, share
        self._interpolate = RBFInterpolator(
            places,
            target - common_light(linear) / level @ self.shares,
            neighbors=None if len(places) <= _MOST_AT_ONCE else _NEIGHBOURS,
            kernel=self.kernel,
            smoothing=self.smoothing / count,
            degree=1,
        )

    def _state(self, drive: Array) -> tuple[Array, Array]:
        """Linear light (n, 3) of the channels, and (n, 1) how bright the colour is, as the noise sees it."""
        linear = self._base.curves.forward(drive)
        xyz = linear @ self._base.matrix.T + self._base.black
        ratio = np.maximum(xyz / self._white, 0.0).max(axis=1, keepdims=True)
        return linear, ratio + DIM * np.cbrt(ratio + 1e-3) ** 2

    def at(self, drive: Array) -> Array:
        """The correction (n, p) at drives (n, 3)."""
        linear, level = self._state(drive)
        smooth = self._interpolate(channel_lightness(linear)) * level
        result: Array = (smooth + common_light(linear) @ self.shares) * self._unit
        return result


def common_light(linear: Array) -> Array:
    """(n, 8): one, the light of each channel, what each two have in common, what all three have."""
    red, green, blue = linear.T
    return np.column_stack(
        [
            np.ones(len(linear)),
            linear,
            np.minimum(red, green),
            np.minimum(green, blue),
            np.minimum(red, blue),
            linear.min(axis=1),
        ]
    )


def _shares(design: Array, target: Array) -> Array:
    """(8, p) of the common light in the targets; zero where the readings do not determine it.

    On ramps and greys what two channels have in common is what all three have: any split of it fits, and huge
    shares that cancel on the readings do not cancel elsewhere.
    """
    size = np.linalg.norm(design, axis=0)
    if size.min() <= 0.0 or np.linalg.cond(design / size) > _MOST_CONDITION:
        return np.zeros((design.shape[1], target.shape[1]))
    shares = np.linalg.lstsq(design, target, rcond=None)[0]
    return np.asarray(shares, dtype=np.float64)


class _LeftOut:
    """Each target told from all others, for one kernel and any smoothing, by Rippa's shortcut.

    The error at a place is a_i / B_ii, where B is the part of the inverse system that turns targets into weights
    a. On the complement of the linear part, one eigendecomposition serves every smoothing. A place that is the
    mean of ``count`` readings is smoothed so much less: rows and columns are scaled by its root.
    """

    def __init__(self, kernel: str, places: Array, count: Array) -> None:
        self._root = np.sqrt(count)
        linear = np.column_stack([np.ones(len(places)), places]) * self._root[:, None]
        rest = np.linalg.qr(linear, mode="complete").Q[:, linear.shape[1] :]
        weighted = _KERNELS[kernel](cdist(places, places)) * np.outer(self._root, self._root)
        values, vectors = np.linalg.eigh(rest.T @ weighted @ rest)
        self._values, self._basis = np.maximum(values, 0.0), rest @ vectors

    def error(self, target: Array, smoothing: float) -> float:
        """Mean square error over places and components."""
        damped = 1.0 / (self._values + smoothing)
        weights = self._basis @ (damped[:, None] * (self._basis.T @ (target * self._root[:, None])))
        own = (self._basis**2) @ damped
        return float(((weights / (own * self._root)[:, None]) ** 2).mean())
