"""Work on very many pairs of colours: in pieces, on all cores, by compiled kernels where they are worth it.

The kernels (numba) are imported only when a call has :data:`LARGE` pairs or more: below that the import would
take longer than the whole calculation in NumPy. Both ways agree to 1e-9. Memory is bounded by the answer and
a few megabytes, for no array of intermediate values is ever longer than a piece.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Any

import numpy as np

from screenproof.spectra import Array

LARGE = 500_000
"""Pairs from which on the compiled kernels are used: NumPy does so many in a tenth of a second, and numba
alone takes half a second to load."""

COMPILED_PIECE = 32_768
"""Pairs in one piece for a kernel: long enough to hide the cost of a thread, short enough for even shares."""

NUMPY_PIECE = 8_192
"""Pairs in one piece for NumPy: its dozens of temporary arrays then stay in the processor's cache."""


def is_large(pairs: int) -> bool:
    """Whether so many pairs are worth the compiled kernels."""
    return pairs >= LARGE


@cache
def can_compile() -> bool:
    """Whether numba can be used; the NumPy way serves for all sizes where it cannot.

    numba may be present and yet refuse to load, for each release of it knows NumPy only up to some version.
    """
    try:
        import numba
    except ImportError:
        return False
    settings: Any = numba.config
    return not settings.DISABLE_JIT


def cores() -> int:
    """Cores that this process may use: a container or a pinned process has fewer than the machine."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def spread(work: Callable[[int, int], None], rows: int, pairs_per_row: int, piece: int = COMPILED_PIECE) -> None:
    """Call work(start, stop) for slices that cover the rows, about ``piece`` pairs each, on all cores.

    Threads of our own rather than those of numba: they survive a fork, may be nested and end with the call.
    NumPy and the kernels release the interpreter's lock.
    """
    step = max(1, piece // max(1, pairs_per_row))
    starts = range(0, rows, step)
    workers = min(cores(), len(starts))
    if workers <= 1:
        for start in starts:
            work(start, min(rows, start + step))
        return
    with ThreadPoolExecutor(workers, thread_name_prefix="screenproof") as pool:
        for done in [pool.submit(work, start, min(rows, start + step)) for start in starts]:
            done.result()


def over_pairs(function: Callable[[Array, Array, Array], None], first: Array, second: Array, piece: int) -> Array:
    """The answer of function(first, second, out) for two broadcast arrays of colours, piece by piece.

    first, second: (..., 3). function: gets pieces (n, k, 3), (n, k, 3) and fills (n, k). Returns (...).
    """
    shape = np.broadcast_shapes(first.shape, second.shape)
    out = np.empty(shape[:-1])
    a, b = np.broadcast_to(first, shape), np.broadcast_to(second, shape)
    if len(shape) == 1 or (a.flags.c_contiguous and b.flags.c_contiguous):
        a, b = a.reshape(-1, 1, 3), b.reshape(-1, 1, 3)
    rows = a.shape[0]
    flat = out.reshape(rows, -1) if out.size else out.reshape(rows, 0)

    def work(start: int, stop: int) -> None:
        # Shaped slice by slice: an awkward order of axes makes this a copy, and then a small one.
        n, k = stop - start, flat.shape[1]
        function(a[start:stop].reshape(n, k, 3), b[start:stop].reshape(n, k, 3), flat[start:stop])

    spread(work, rows, flat.shape[1], piece)
    return out


def pairs_of(first: Array, second: Array) -> int:
    """How many pairs two broadcast arrays of colours (..., 3) make."""
    return math.prod(np.broadcast_shapes(first.shape, second.shape)[:-1])
