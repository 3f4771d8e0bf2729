"""From which distance a pattern fuses: the visual acuity of one minute of arc.

An eye of decimal acuity 1.0 (20/20) resolves a detail of one minute of arc (ISO 8596, from memory). Whether the
detail is the whole size or half of a period is a matter of how one counts, and the two differ by a factor of two:

feature        the size itself within one minute. Nothing of it is left to resolve: the cautious figure.
half period    half of a period within one minute, 30 cycles per degree: the limit of an ideal eye on a grating.

Acuity is not the same for everyone. Young eyes often reach 1.5 to 2 in good light, and see the pattern from so
many times as far (common practice, no source). The acuity says nothing of contrast either: for
that see :mod:`screenproof.additive.spatial`.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array

Counted = Literal["feature", "half_period"]
COUNTED = ("feature", "half_period")

ACUITY_MINUTES = 1.0
"""Minutes of arc that an eye of decimal acuity 1.0 resolves."""


def checked_length(value: ArrayLike, what: str) -> Array:
    """Lengths in mm, finite and above 0; InputError otherwise."""
    array = np.asarray(value, dtype=np.float64)
    wrong = ~(np.isfinite(array) & (array > 0.0))
    if wrong.any():
        first = float(np.atleast_1d(array)[np.atleast_1d(wrong)][0])
        raise bad(f"a {what} of {first:g} mm", field=what, expected="a length above 0 mm")
    return array


def fusion_distance(size_mm: ArrayLike, counted: Counted = "feature", *, minutes: float = ACUITY_MINUTES) -> Array:
    """The distance in mm from which a pattern fuses.

    size_mm: (...) the size of the feature, or for ``half_period`` the period, in mm.
    counted: whether all of ``size_mm`` or half of it is to lie within the acuity. minutes: that acuity, in minutes
    of arc; 1 for decimal acuity 1.0, 2 for 0.5. Returns (...) in mm: D = d / tan(minutes / 60 deg), with d the
    size or half of it. Raises InputError for sizes or minutes that are not above 0.

    >>> float(fusion_distance(0.1).round(1)), float(fusion_distance(0.1, "half_period").round(1))
    (343.8, 171.9)
    """
    if counted not in COUNTED:
        raise bad(f"{counted!r} is no way to count a size", field="counted", expected=" or ".join(COUNTED))
    if not (np.isfinite(minutes) and 0.0 < minutes < 60.0):
        raise bad(f"an acuity of {minutes:g} minutes of arc", field="minutes", expected="above 0 and below 60")
    size = checked_length(size_mm, "size")
    detail = size if counted == "feature" else 0.5 * size
    return np.asarray(detail / np.tan(np.radians(minutes / 60.0)))


def visual_angle(size_mm: ArrayLike, distance_mm: ArrayLike) -> Array:
    """The angle in minutes of arc under which a size is seen from a distance, both in mm and broadcast.

    Measured from one end, as the acuity is: atan(d / D). Raises InputError for lengths that are not above 0.

    >>> float(visual_angle(1.0, 3437.7467).round(4))
    1.0
    """
    size, distance = checked_length(size_mm, "size"), checked_length(distance_mm, "distance")
    return np.asarray(60.0 * np.degrees(np.arctan2(size, distance)))
