"""How far samples move from their references, in every light for every observer, in one pass.

From XYZ to the difference without an array of CIELAB, or of any other intermediate, in between: 100,000 samples in
12 lights for 3 observers are 3.6 million colours, whose CIELAB alone would take 86 MB. Small calls take the plain
functions, large ones the compiled kernels; both agree to 1e-9.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from screenproof.appearance import large
from screenproof.appearance.adaptation import transformed
from screenproof.appearance.cam16 import CamConditions, cam16_to_ucs, xyz_to_cam16
from screenproof.appearance.difference import de76, de2000, de_cam16ucs, positive
from screenproof.errors import bad
from screenproof.spectra import Array
from screenproof.spectra.cielab import checked_white, triplets, xyz_to_lab


def _side_by_side(xyz: ArrayLike, reference: ArrayLike, name: str) -> tuple[Array, Array]:
    """XYZ (n, ..., 3) and a view of the reference in the same shape."""
    seen, ref = triplets(xyz, "xyz"), triplets(reference, name)
    if seen.ndim < 2:
        raise bad(f"xyz of shape {seen.shape}", field="xyz", expected="(samples, ..., 3)")
    if ref.ndim == 2 and ref.shape[0] == seen.shape[0]:
        ref = ref.reshape(ref.shape[0], *(1,) * (seen.ndim - 2), 3)
    try:
        return seen, np.broadcast_to(ref, seen.shape)
    except ValueError:
        raise bad(
            f"{name} of shape {ref.shape} against xyz of shape {seen.shape}",
            field=name,
            expected="one reference for each sample, (samples, 3), or one for each XYZ",
        ) from None


def _fits(shape: tuple[int, ...], ways: tuple[int, ...], name: str) -> None:
    """InputError unless ``shape`` broadcasts to the ways in which each sample is seen."""
    try:
        fits = np.broadcast_shapes(shape, ways) == ways
    except ValueError:
        fits = False
    if not fits:
        raise bad(f"{name} for {shape} ways of seeing, xyz has {ways}", field=name, expected="one that broadcasts")


def lab_shift(
    xyz: ArrayLike,
    white: ArrayLike,
    reference: ArrayLike,
    *,
    adaptation: ArrayLike | None = None,
    kl: float = 1.0,
    kc: float = 1.0,
    kh: float = 1.0,
) -> tuple[Array, Array]:
    """CIEDE2000 and CIE 1976 differences of samples, as seen in several ways, from their references.

    xyz: (n, ..., 3), for instance samples, lights, observers.
    white: (..., 3), broadcast against the axes of xyz after the first: the white that each is relative to. With
    an adaptation, the white after it.
    reference: (n, 3), one CIELAB for each sample, or one that broadcasts to the shape of xyz.
    adaptation: (..., 3, 3) matrices of :func:`adaptation_matrix`, broadcast like the white, applied to XYZ first.
    kl, kc, kh: parametric factors of CIEDE2000.
    Returns two arrays (n, ...): CIEDE2000, CIE 1976. Raises InputError for shapes that do not go together.
    """
    seen, ref = _side_by_side(xyz, reference, "reference")
    kl, kc, kh = positive(kl, "kl"), positive(kc, "kc"), positive(kh, "kh")
    de00, de76_out = np.empty(seen.shape[:-1]), np.empty(seen.shape[:-1])
    _lab_shift(seen, checked_white(white), ref, adaptation, (kl, kc, kh), de00, de76_out)
    return de00, de76_out


def lab_de2000_shift(
    xyz: ArrayLike,
    white: ArrayLike,
    reference: ArrayLike,
    *,
    adaptation: ArrayLike | None = None,
    kl: float = 1.0,
    kc: float = 1.0,
    kh: float = 1.0,
) -> Array:
    """The CIEDE2000 part of :func:`lab_shift` alone, in half the memory. Returns (n, ...)."""
    seen, ref = _side_by_side(xyz, reference, "reference")
    kl, kc, kh = positive(kl, "kl"), positive(kc, "kc"), positive(kh, "kh")
    de00 = np.empty(seen.shape[:-1])
    _lab_shift(seen, checked_white(white), ref, adaptation, (kl, kc, kh), de00, None)
    return de00


def _lab_shift(
    xyz: Array,
    white: Array,
    reference: Array,
    adaptation: ArrayLike | None,
    factors: tuple[float, float, float],
    de00: Array,
    de76_out: Array | None,
) -> None:
    matrix = None if adaptation is None else np.asarray(adaptation, dtype=np.float64)
    n, ways = xyz.shape[0], xyz.shape[1:-1]
    k = math.prod(ways)
    _fits(white.shape[:-1], ways, "white")
    if matrix is not None:
        _fits(matrix.shape[:-2], ways, "adaptation")
    if not (large.is_large(de00.size) and large.can_compile()):

        def plain(start: int, stop: int) -> None:
            rows = xyz[start:stop]
            lab = xyz_to_lab(rows if matrix is None else transformed(matrix, rows), white)
            de00[start:stop] = de2000(reference[start:stop], lab, *factors)
            if de76_out is not None:
                de76_out[start:stop] = de76(reference[start:stop], lab)

        large.spread(plain, n, k, large.NUMPY_PIECE)
        return
    from screenproof.appearance.kernels import lab_shift_kernel

    ratios = (np.eye(3) if matrix is None else matrix) / white[..., np.newaxis]
    ratios = np.broadcast_to(ratios, (*ways, 3, 3)).reshape(k, 3, 3)
    flat, none = de00.reshape(n, k), np.empty((0, 0))
    other = none if de76_out is None else de76_out.reshape(n, k)
    kernel = lab_shift_kernel()

    def work(start: int, stop: int) -> None:
        rows = (stop - start, k, 3)
        kernel(
            xyz[start:stop].reshape(rows),
            ratios,
            reference[start:stop].reshape(rows),
            *factors,
            flat[start:stop],
            other[start:stop],
        )

    large.spread(work, n, k)


def cam16ucs_shift(xyz: ArrayLike, cond: CamConditions, reference: ArrayLike) -> Array:
    """CAM16-UCS differences of samples, as seen in several ways, from their references.

    xyz: (n, ..., 3) on the scale of the white of cond, whose leading axes broadcast against those of xyz after the
    first. reference: J' a' b', (n, 3) or what broadcasts to the shape of xyz. Returns (n, ...).
    Raises InputError for shapes that do not go together.
    """
    seen, ref = _side_by_side(xyz, reference, "reference")
    out = np.empty(seen.shape[:-1])
    n, ways = seen.shape[0], seen.shape[1:-1]
    k = math.prod(ways)
    _fits(cond.derived.fl.shape, ways, "cond")
    _fits(cond.white.shape[:-1], ways, "cond")
    if not (large.is_large(out.size) and large.can_compile()):

        def plain(start: int, stop: int) -> None:
            cam = xyz_to_cam16(seen[start:stop], cond)
            out[start:stop] = de_cam16ucs(ref[start:stop], cam16_to_ucs(cam.J, cam.M, cam.h))

        large.spread(plain, n, k, large.NUMPY_PIECE)
        return out
    from screenproof.appearance.cam16_kernel import cam16_numbers, cam16ucs_shift_kernel

    flat, kernel = out.reshape(n, k), cam16ucs_shift_kernel()
    numbers = cam16_numbers(cond, ways)

    def work(start: int, stop: int) -> None:
        rows = (stop - start, k, 3)
        kernel(seen[start:stop].reshape(rows), numbers, ref[start:stop].reshape(rows), flat[start:stop])

    large.spread(work, n, k)
    return out
