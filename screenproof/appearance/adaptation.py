"""Chromatic adaptation: what a colour seen under one white must be to look the same under another.

A von Kries transform: cone-like responses (a matrix) scaled by the ratio of the two whites (Fairchild, Color
Appearance Models, 3rd ed. 2013, ch. 9). CAT16 is the transform of CIE 248:2022 (CIECAM16), Bradford that of the
ICC profile connection space (ICC.1:2022, annex E); ``xyz`` scales X, Y and Z themselves, a bad model that older
software uses, kept to reproduce it.

The two whites may have unlike luminances: colours come in on the scale of the first and leave on the scale
of the second.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array
from screenproof.spectra.cielab import checked_white, triplets

Method = Literal["cat16", "bradford", "xyz"]
METHODS: tuple[str, ...] = get_args(Method)

# Li et al. 2017, Comprehensive color solutions, Color Res. Appl. 42(6) 703-718, equation for M16.
CAT16 = np.array(
    [
        [0.401288, 0.650173, -0.051461],
        [-0.250268, 1.204414, 0.045854],
        [-0.002079, 0.048952, 0.953127],
    ]
)
# Lam 1985, as printed in ICC.1:2022, annex E.
BRADFORD = np.array(
    [
        [0.8951, 0.2664, -0.1614],
        [-0.7502, 1.7135, 0.0367],
        [0.0389, -0.0685, 1.0296],
    ]
)
_RESPONSES = {"cat16": CAT16, "bradford": BRADFORD, "xyz": np.eye(3)}


def transformed(matrix: Array, colours: Array) -> Array:
    """matrix (..., 3, 3) times colours (..., 3), broadcast over the axes before."""
    # Three weighted columns: much faster than a stack of 3 by 3 products, and each row is summed alike.
    return np.asarray(
        matrix[..., 0] * colours[..., 0, np.newaxis]
        + matrix[..., 1] * colours[..., 1, np.newaxis]
        + matrix[..., 2] * colours[..., 2, np.newaxis]
    )


def degree_of_adaptation(la: ArrayLike, f: ArrayLike) -> Array:
    """Degree of adaptation D, 0..1.

    la: luminance of the adapting field in cd/m2 (often a fifth of that of the white); f: the factor F of the
    surround (1.0 average, 0.9 dim, 0.8 dark). They broadcast.
    D = F (1 - exp((-LA - 42) / 92) / 3.6), held within 0..1; CIE 248:2022.
    Raises InputError for a negative or infinite luminance.
    """
    la = np.asarray(la, dtype=np.float64)
    if not (np.isfinite(la).all() and (la >= 0.0).all()):
        raise bad(f"adapting luminance {la}", field="la", expected="cd/m2, zero or above")
    return np.clip(np.asarray(f) * (1.0 - np.exp((-la - 42.0) / 92.0) / 3.6), 0.0, 1.0)


def adaptation_matrix(
    white_from: ArrayLike,
    white_to: ArrayLike,
    method: str = "cat16",
    degree: ArrayLike = 1.0,
) -> Array:
    """The matrix that carries XYZ seen under one white to XYZ of the same look under another.

    white_from, white_to: (..., 3) XYZ, each on its own scale (Y = 100, or cd/m2), broadcast.
    method: 'cat16', 'bradford' or 'xyz'.
    degree: D, 0 (none) to 1 (complete), broadcast against the axes before the last.
    Returns (..., 3, 3). Complete adaptation carries white_from exactly to white_to; without any, only the
    scale of the luminance changes.
    Responses are scaled by D Rto / Rfrom + (1 - D) Yto / Yfrom: the one-step form of Li et al. 2017.
    Raises InputError for an unknown method, a degree outside 0..1, or a white without positive responses.
    """
    if method not in _RESPONSES:
        raise bad(f"adaptation {method!r}", field="adaptation", expected="one of " + ", ".join(METHODS))
    start, end = checked_white(white_from, "white_from"), checked_white(white_to, "white_to")
    amount = np.asarray(degree, dtype=np.float64)
    if not ((amount >= 0.0) & (amount <= 1.0)).all():
        raise bad(f"degree of adaptation {amount}", field="degree", expected="0 (none) to 1 (complete)")
    responses = _RESPONSES[method]
    first, last = start @ responses.T, end @ responses.T
    if not ((first > 0.0).all() and (last > 0.0).all()):
        raise bad(
            f"a white so coloured that {method} gives it a response of zero or less",
            field="white_from" if not (first > 0.0).all() else "white_to",
            expected="a white that an eye can adapt to",
            mend="compare under a whiter light, or use the absolute basis, which adapts to nothing",
        )
    part = amount[..., np.newaxis]
    gain = part * last / first + (1.0 - part) * (end[..., 1:2] / start[..., 1:2])
    return np.asarray(np.linalg.inv(responses) @ (gain[..., np.newaxis] * responses))


def adapt(
    xyz: ArrayLike,
    white_from: ArrayLike,
    white_to: ArrayLike,
    method: str = "cat16",
    degree: ArrayLike = 1.0,
) -> Array:
    """XYZ seen under one white, adapted to another; see :func:`adaptation_matrix`.

    xyz: (..., 3) on the scale of white_from. Returns (..., 3) on the scale of white_to.

    >>> adapt([96.422, 100.0, 82.521], [96.422, 100.0, 82.521], [95.047, 100.0, 108.883]).round(6).tolist()
    [95.047, 100.0, 108.883]
    """
    return transformed(adaptation_matrix(white_from, white_to, method, degree), triplets(xyz, "xyz"))
