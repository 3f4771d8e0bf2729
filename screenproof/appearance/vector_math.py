"""Elementary functions for compiled kernels, written so that a compiler does eight or four numbers at a time.

The functions of the C library are called one number at a time and keep a loop from being vectorised. These are
polynomials without a branch or a table. Their constants are derived here, by the code beside them. Errors,
relative, measured in the tests: cube root and exponential 1e-15, logarithm 1e-15 (absolute near 1).

numba is imported with this module, so nothing but the kernels imports it.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from numba import types
from numba.extending import intrinsic

F = TypeVar("F", bound=Callable[..., Any])

# The types that numba gives to its decorators differ from one release to the next.
_jit: Any = numba.njit
_intrinsic: Any = intrinsic


ANSWER: Any = types.Array(types.float64, 2, "C")
"""The numba type of the array that a kernel fills."""


def colours(axes: int) -> Any:
    """The numba type of a float64 array that a kernel reads: in any memory order, read-only or not."""
    return types.Array(types.float64, axes, "A", readonly=True)


def inlined(function: F) -> F:
    """A function that is compiled into the kernels that call it. No fast-math: the seam of CIEDE2000 is decided
    by the exact sign of a difference of products, which contraction or reordering would spoil."""
    return cast(F, _jit(error_model="numpy", forceinline=True)(function))


def sources(*files: str) -> int:
    """A number made of the text of source files, for a kernel to return.

    numba renews what it keeps on disk when the file of the kernel itself changes, or the value of a variable that
    the kernel takes from around it, but not when functions change that the kernel got from other files. Such a
    variable is this number: with it, machine code of older sources is never taken for that of the present ones.
    """
    try:
        return zlib.crc32(b"".join(Path(file).read_bytes() for file in files))
    except OSError:  # a package without its sources, out of an archive: numba keeps nothing on disk then
        return 0


def compiled(function: F, signature: Any) -> F:
    """A kernel, compiled now for one signature. It releases the interpreter's lock.

    The machine code is kept on disk, beside the module or in the user's cache. Where neither can be written, in a
    read-only install, or what is kept there cannot be read, it is compiled for this process only.
    """
    options = {"error_model": "numpy", "nogil": True}
    try:
        return cast(F, _jit(signature, cache=True, **options)(function))
    except Exception:  # whatever ails the cache; an error of the code itself is raised again by the next line
        return cast(F, _jit(signature, **options)(function))


def _reread(context: Any, builder: Any, signature: Any, args: Any) -> Any:
    """The code of both intrinsics: the same 64 bits, taken for the other type."""
    return builder.bitcast(args[0], context.get_value_type(signature.return_type))


def _as_bits(context: Any, number: Any) -> Any:
    return types.int64(types.float64), _reread


def _as_number(context: Any, bits: Any) -> Any:
    return types.float64(types.int64), _reread


as_bits: Callable[[float], int] = _intrinsic(_as_bits)
"""The 64 bits of a float64 as an integer; :data:`as_number` is the way back."""
as_number: Callable[[int], float] = _intrinsic(_as_number)


@inlined
def polynomial(x: float, coefficients: Sequence[float]) -> float:
    """Horner's scheme, the highest power first. Unrolled by the compiler, as the length is known to it."""
    y = coefficients[0]
    for i in range(1, len(coefficients)):
        y = y * x + coefficients[i]
    return y


# Cube root. A third of the exponent by integer arithmetic gives 1 / cbrt to a few per cent: with the bits of x
# read as 2^52 (1023 + log2 x), the bits of x^(-1/3) are (4/3) 1023 2^52 less a third of those of x, and a
# little less for the bow of the logarithm within an octave. Only the upper 32 bits are used. With this bow
# 1 - x r^3 is at most 0.103 in size on either side.
_BOW = 0.068
_ROOT_START = int((1023.0 * 4.0 / 3.0 - _BOW) * 2**20)
_THIRD = (2**32 + 2) // 3  # a third of a 32 bit number is its product with this, shifted right by 32


@inlined
def cube_root(x: float) -> float:
    """Cube root of a normal x > 0."""
    r = as_number((_ROOT_START - (((as_bits(x) >> 32) * _THIRD) >> 32)) << 32)
    # Twice the series of (1 - e)^(-1/3) with e = 1 - x r^3: each turn takes the fourth power of the error.
    e = 1.0 - x * r * r * r
    r = r + r * (e * (1.0 / 3.0 + e * (2.0 / 9.0 + e * (14.0 / 81.0))))
    e = 1.0 - x * r * r * r
    r = r + r * (e * (1.0 / 3.0 + e * (2.0 / 9.0 + e * (14.0 / 81.0))))
    return x * r * r


# ln 2 in two parts, the first with 21 zero bits at its end, so that its product with an exponent is exact.
_LN2_HIGH = math.floor(math.log(2.0) * 2**32) / 2**32
_LN2_LOW = float(Decimal(2).ln() - Decimal(_LN2_HIGH))
_PER_LN2 = 1.0 / math.log(2.0)
_WHOLE = 1.5 * 2.0**52  # adding it rounds to a whole number, which then stands in the last bits
_WHOLE_BITS = 0x4338000000000000
_EXPONENTIAL = tuple(1.0 / math.factorial(n) for n in range(13, -1, -1))


@inlined
def exponential(x: float) -> float:
    """exp(x) for -700 <= x <= 700; NaN becomes something finite."""
    shifted = x * _PER_LN2 + _WHOLE
    k = shifted - _WHOLE
    rest = (x - k * _LN2_HIGH) - k * _LN2_LOW
    return polynomial(rest, _EXPONENTIAL) * as_number((as_bits(shifted) + 1023) << 52)


_MANTISSA = 2**52 - 1
_ONE = 1023 << 52
_SQRT2 = math.sqrt(2.0)
_ARTANH = tuple(2.0 / (2 * n + 1) for n in range(11, -1, -1))


@inlined
def logarithm(x: float) -> float:
    """Natural logarithm of a normal x > 0."""
    bits = as_bits(x)
    m = as_number((bits & _MANTISSA) | _ONE)
    e = as_number((bits >> 52) + (_WHOLE_BITS - 1023)) - _WHOLE
    high = m > _SQRT2
    m = 0.5 * m if high else m
    e = e + 1.0 if high else e
    s = (m - 1.0) / (m + 1.0)
    return e * _LN2_HIGH + (s * polynomial(s * s, _ARTANH) + e * _LN2_LOW)


_TINY = 1e-300


@inlined
def power(x: float, exponent: float) -> float:
    """x^exponent for x >= 0 and an exponent of 0.1 to 1 or so. Zero, and a negative x, give next to nothing."""
    return exponential(exponent * logarithm(_TINY if x < _TINY else x))
