"""The array type of the package, and read-only copies for values that are shared."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def frozen(values: ArrayLike) -> Array:
    """A read-only float64 copy of ``values``, so that a frozen dataclass is frozen to its numbers too."""
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy
