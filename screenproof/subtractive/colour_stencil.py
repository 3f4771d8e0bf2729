"""Where the quadratic of colour_cost is laid through, for its arrays and for its kernel alike."""

from __future__ import annotations

import numpy as np

STENCIL = 5e-3
"""Half a side of the stencil, in units of CIELAB."""

LEAST_CURVATURE = 1e-4
"""Of the square of CIEDE2000, per unit of CIELAB squared. It is about 2 for neutrals and 0.05 for strong
colours."""

_AXES = np.eye(3)
POINTS = STENCIL * np.vstack([np.zeros(3), _AXES, -_AXES, _AXES[[0, 0, 1]] + _AXES[[1, 2, 2]]])
"""(10, 3): the middle, both sides of each axis, each pair of axes."""
