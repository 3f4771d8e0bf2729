"""The parametric curves of ICC profiles, function types 0 to 4."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from screenproof.additive.curves import signed_power
from screenproof.errors import bad
from screenproof.spectra import Array

PARAMETER_COUNTS = (1, 3, 4, 5, 7)
"""How many parameters each function type has, in the order g a b c d e f."""

# s15Fixed16 parameters are rounded to 1.5e-5, so the two segments may overlap by a little where they meet.
_SEAM = 1e-3


@dataclass(frozen=True)
class ParametricCurve:
    """Y = (a X + b)^g + e from X = d on, c X + f below: ICC.1:2022, 10.18, Table 68 in one form.

    kind: the function type 0 to 4 that it was written as, for the name; the other types are this form with
    some of the parameters 0 (:func:`icc_parametric`).
    """

    kind: int
    g: float
    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    @property
    def name(self) -> str:
        return f"parametric type {self.kind}, exponent {self.g:.4g}"

    @property
    def _whole(self) -> bool:
        """Whether the power covers all of 0..1."""
        return self.d <= 0.0

    @property
    def _seam(self) -> float:
        """Light at the upper end of the straight segment."""
        return self.c * self.d + self.f

    def forward(self, drive: Array) -> Array:
        x = np.asarray(drive, dtype=np.float64)
        base = self.a * x + self.b
        if self._whole:
            result: Array = signed_power(base, self.g) + self.e
            return result
        upper = np.maximum(base, 0.0) ** self.g + self.e
        # A flat lower segment goes on straight below drive 0, so that the curve can be inverted there.
        lower = self.c * x + self.f if self.c > 0 else self.f + np.minimum(x, 0.0)
        return np.where(x < self.d, lower, np.maximum(upper, self._seam))

    def inverse(self, linear: Array) -> Array:
        y = np.asarray(linear, dtype=np.float64)
        root = signed_power(y - self.e, 1.0 / self.g)
        if self._whole:
            result: Array = (root - self.b) / self.a
            return result
        upper = np.maximum((np.maximum(root, 0.0) - self.b) / self.a, self.d)
        lower = (y - self.f) / self.c if self.c > 0 else np.minimum(y - self.f, 0.0)
        return np.where(y <= self._seam, lower, upper)

    def rescaled(self, factor: float) -> ParametricCurve:
        return self


def icc_parametric(kind: int, parameters: Sequence[float]) -> ParametricCurve:
    """The parametric curve of ICC.1:2022, 10.18, Table 68.

    kind: function type 0..4. parameters: in the order g a b c d e f, as many as the type has:

    - 0: Y = X^g
    - 1: Y = (aX + b)^g for X >= -b/a, else 0
    - 2: Y = (aX + b)^g + c for X >= -b/a, else c
    - 3: Y = (aX + b)^g for X >= d, else cX
    - 4: Y = (aX + b)^g + e for X >= d, else cX + f

    Raises InputError for an unknown type, a wrong count, or a curve that does not rise.

    >>> icc_parametric(0, [2.2]).forward(np.array(0.5)).round(4).item()
    0.2176
    """
    if kind not in range(5) or len(parameters) != PARAMETER_COUNTS[kind]:
        raise bad(
            f"a parametric curve of type {kind} with {len(parameters)} parameters",
            expected="type 0 to 4 with " + ", ".join(str(n) for n in PARAMETER_COUNTS) + " parameters",
            mend="the profile is damaged or not made to the ICC specification; export it again",
        )
    p = [float(value) for value in parameters] + [0.0] * 7
    g, a, b = p[0], (p[1] if kind else 1.0), (p[2] if kind else 0.0)
    sound = bool(np.isfinite(p).all()) and g > 0 and a > 0
    start = -b / a if sound else 0.0
    c, d, e, f = {
        0: (0.0, 0.0, 0.0, 0.0),
        1: (0.0, start, 0.0, 0.0),
        2: (0.0, start, p[3], p[3]),
        3: (p[3], p[4], 0.0, 0.0),
        4: (p[3], p[4], p[5], p[6]),
    }[kind]
    if sound:
        curve = ParametricCurve(kind, g, a, b, c, d, e, f)
        meeting = max(a * d + b, 0.0) ** g + e
        seam = curve._seam
        ends = curve.forward(np.array([0.0, 1.0]))
        if (curve._whole or (c >= 0 and meeting >= seam - _SEAM)) and ends[1] > ends[0]:
            return curve
    raise bad(
        f"a parametric curve of type {kind} that does not rise: parameters "
        + ", ".join(f"{value:g}" for value in parameters),
        expected="a curve that rises from drive 0 to 1, so that every light has one drive",
        mend="the profile is damaged; export it again",
    )
