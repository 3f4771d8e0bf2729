"""Kubelka-Munk: the reflectance of a layer that absorbs (K) and scatters (S), and the way back.

Two diffuse streams of light, one down, one up, in a layer of thickness X on a backing of reflectance Rg (Kubelka
& Munk 1931, Z. techn. Phys. 12, 593-601; the hyperbolic solution is that of Kubelka 1948, J. Opt. Soc. Am. 38,
448-457). K and S are per unit of X, all reflectances are internal ones: correct for the surface first
(:mod:`screenproof.subtractive.surface`). Everything broadcasts.

The hyperbolic functions overflow for a thick layer and turn into 0/0 where nothing is scattered, so the formulae
are used in a form that does neither. With A = K + S, B = sqrt(K (K + 2 S)) and t = tanh(B X) / B,

    R = (Rg + t (S - A Rg)) / (1 + t (A - S Rg))

which is Kubelka's (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX) with a = A/S, b = B/S. For S = 0 it is the
law of Bouguer, Lambert and Beer, Rg exp(-2 K X); for thick layers it is R infinity.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra import Array


def _not_below_zero(values: ArrayLike, name: str) -> Array:
    array = np.asarray(values, dtype=np.float64)
    if not (np.isfinite(array) & (array >= 0.0)).all():
        raise bad(f"{name} of {np.min(array):g}", field=name, expected="finite numbers, 0 or above")
    return array


def _reflectance(values: ArrayLike, name: str, *, zero: bool) -> Array:
    array = np.asarray(values, dtype=np.float64)
    good = (array >= 0.0 if zero else array > 0.0) & (array <= 1.0)
    if not good.all():
        raise bad(
            f"a reflectance of {array[~good].flat[0]:g}",
            field=name,
            expected=f"internal reflectances {'from' if zero else 'above'} 0 up to 1, as fractions",
            mend="divide percentages by 100; check the surface correction; a fluorescent sample cannot be used",
        )
    return array


def ks(reflectance: ArrayLike) -> Array:
    """K/S of an opaque layer: (1 - R)^2 / (2 R). R: internal reflectance, above 0 up to 1, any shape.

    Kubelka & Munk 1931. Raises InputError for a reflectance of 0 (K/S would be infinite) or above 1.

    >>> ks([0.1, 0.5, 0.6]).round(6).tolist()
    [4.05, 0.25, 0.133333]
    """
    r = _reflectance(reflectance, "reflectance", zero=False)
    return np.asarray((1.0 - r) ** 2 / (2.0 * r))


def r_inf(k: ArrayLike, s: ArrayLike) -> Array:
    """Reflectance of a layer so thick that its backing does not show: K and S of 0 or above, broadcast.

    R = 1 + K/S - sqrt((K/S)^2 + 2 K/S), used as S / (K + S + sqrt(K (K + 2 S))), which keeps its digits for dark
    layers and takes S = 0 (black). Raises InputError where both are 0: there is then nothing to reflect.
    """
    k, s = _not_below_zero(k, "K"), _not_below_zero(s, "S")
    if not (k + s > 0.0).all():
        raise bad("a layer that neither absorbs nor scatters", field="K, S", expected="K or S above 0")
    return thick(k, s)


def thick(k: Array, s: Array) -> Array:
    """The formula of :func:`r_inf` without its checks, for inner loops."""
    return np.asarray(s / (k + s + np.sqrt(k * (k + 2.0 * s))))


def layer(k: ArrayLike, s: ArrayLike, thickness: ArrayLike, backing: ArrayLike) -> Array:
    """Reflectance of a layer over a backing. All broadcast.

    k, s: absorption and scattering per unit of thickness; thickness: finite, 0 or above (:func:`r_inf` is for a
    layer without end); backing: internal reflectance 0..1. Kubelka 1948, equation in the module's docstring.
    Raises InputError for values below 0, or a backing outside 0..1.

    >>> layer(0.5, 1.0, 1.0, [0.0, 0.8, 1.0]).round(6).tolist()
    [0.346546, 0.4356, 0.46967]
    """
    k, s = _not_below_zero(k, "K"), _not_below_zero(s, "S")
    x = _not_below_zero(thickness, "thickness")
    return over(k, s, x, _reflectance(backing, "backing", zero=True))


def _path(k: Array, s: Array, x: ArrayLike) -> Array:
    """t = tanh(B X) / B with B = sqrt(K (K + 2 S)), and X where B is 0."""
    b = np.sqrt(k * (k + 2.0 * s))
    still = b == 0.0
    return np.asarray(np.where(still, x, np.tanh(b * x) / np.where(still, 1.0, b)))


def over(k: Array, s: Array, x: ArrayLike, backing: Array) -> Array:
    """The formula of :func:`layer` without its checks, for inner loops."""
    a, t = k + s, _path(k, s, x)
    return np.asarray((backing + t * (s - a * backing)) / (1.0 + t * (a - s * backing)))


def thick_slopes(k: Array, s: Array) -> tuple[Array, Array, Array]:
    """R infinity, and its derivatives with respect to K and S. Where K is 0 the first is infinite: K is held at
    1e-12."""
    k = np.maximum(k, 1e-12)
    b = np.sqrt(k * (k + 2.0 * s))
    per_s = 1.0 / (k + s + b)  # R / S
    by_k = per_s / b
    return s * per_s, -s * by_k, k * by_k


def over_slopes(k: Array, s: Array, x: float, backing: Array) -> tuple[Array, Array, Array]:
    """The reflectance of a layer over a backing, and its derivatives with respect to K and S.

    With B^2 = K (K + 2 S): dt/dK = A u and dt/dS = K u, where u = (X (1 - B^2 t^2) - t) / B^2, and -2/3 X^3 as B
    goes to 0.
    """
    a, square, t = k + s, k * (k + 2.0 * s), _path(k, s, x)
    small = square * x * x < 1e-6
    u = np.where(
        small,
        -2.0 / 3.0 * x**3 * (1.0 - 0.8 * square * x * x),
        (x * (1.0 - square * t * t) - t) / np.where(small, 1.0, square),
    )
    down = 1.0 + t * (a - s * backing)
    r = (backing + t * (s - a * backing)) / down
    above, below = s - a * backing, a - s * backing  # what t multiplies
    by_k = (a * u * above - t * backing - r * (a * u * below + t)) / down
    by_s = (k * u * above + t * (1.0 - backing) - r * (k * u * below + t * (1.0 - backing))) / down
    return np.asarray(r), np.asarray(by_k), np.asarray(by_s)


def transmittance(k: ArrayLike, s: ArrayLike, thickness: ArrayLike) -> Array:
    """Share of diffuse light that a layer lets through, once, over nothing that reflects. All broadcast.

    T = b / (a sinh bSX + b cosh bSX), Kubelka 1948, used as 1 / (cosh(B X) (1 + A t)). For S = 0 it is exp(-K X).
    Raises InputError for values below 0.
    """
    k, s = _not_below_zero(k, "K"), _not_below_zero(s, "S")
    x = _not_below_zero(thickness, "thickness")
    fall = np.exp(-np.sqrt(k * (k + 2.0 * s)) * x)
    # 1 / cosh as 2 e / (1 + e^2), which does not overflow.
    return np.asarray(2.0 * fall / (1.0 + fall * fall) / (1.0 + (k + s) * _path(k, s, x)))


def contrast_ratio(k: ArrayLike, s: ArrayLike, thickness: ArrayLike, white: float = 1.0) -> Array:
    """Hiding: reflectance over black divided by that over white. 1 hides all, 0 nothing. ISO 6504 measures the
    like.

    k, s, thickness: as in :func:`layer`. white: internal reflectance of the white, above 0.
    """
    _reflectance(white, "white", zero=False)
    return np.asarray(layer(k, s, thickness, 0.0) / layer(k, s, thickness, white))


def from_two_backings(
    over_black: ArrayLike, over_white: ArrayLike, black: ArrayLike, white: ArrayLike
) -> tuple[Array, Array]:
    """K X and S X of a layer from its internal reflectances over a black and over a white backing.

    All (w,) or broadcast: the layer over each backing, and each backing itself (black may be 0).
    With u = A t and v = S t the formula of the module is linear, R = Rg + v - u Rg - u R + v R Rg, so that two
    backings give u and v; then a = u / v, b = sqrt(a^2 - 1), S X = atanh(b v) / b and K X = (a - 1) S X.
    This is Kubelka's (1948) solution for R0 and R, for a black that need not be perfect.

    Raises InputError where the two readings do not tell: a layer that hides its backing, a backing that
    gets lighter under black than under white, or readings no layer can give.
    """
    low, high = (
        _reflectance(over_black, "over black", zero=True),
        _reflectance(over_white, "over white", zero=True),
    )
    dark, bright = _reflectance(black, "black", zero=True), _reflectance(white, "white", zero=False)
    if not (bright > dark).all():
        raise bad("a black backing that is not darker than the white one", field="black, white")
    if not (high - low > 1e-6).all():
        raise bad(
            "readings over black and over white that are the same: the layer hides its backing, and how much it "
            "scatters cannot be known",
            field="over black, over white",
            expected="a film through which the backing shows",
            mend="measure a thinner film",
        )
    # u (R + Rg) - v (1 + R Rg) = Rg - R, once for each backing.
    u1, v1, e1 = low + dark, 1.0 + low * dark, dark - low
    u2, v2, e2 = high + bright, 1.0 + high * bright, bright - high
    determinant = u2 * v1 - u1 * v2
    u = (v1 * e2 - v2 * e1) / determinant
    v = (u1 * e2 - u2 * e1) / determinant
    wrong = ~((determinant > 0.0) & (u >= 0.0) & (v >= -1e-9))
    if wrong.any():
        raise bad(
            f"readings that no layer gives (over black {np.broadcast_to(low, wrong.shape)[wrong].flat[0]:g}, "
            f"over white {np.broadcast_to(high, wrong.shape)[wrong].flat[0]:g})",
            field="over black, over white",
            expected="a film lighter than its black and darker than its white backing",
            mend="check that the readings belong together, and the surface correction",
        )
    v = np.maximum(v, 0.0)
    # B t = b v = sqrt(u^2 - v^2), which is tanh(B X); noise may take u a little below v, where K is 0.
    u = np.maximum(u, v)
    tanh = np.sqrt(u * u - v * v)
    if not (tanh < 1.0).all():
        raise bad(
            "a film that swallows all light on its way to the backing: how thick it is cannot be known",
            field="over black, over white",
            mend="measure a thinner film",
        )
    still = tanh < 1e-9
    stretch = np.where(still, 1.0, np.arctanh(tanh) / np.where(still, 1.0, tanh))  # X / t
    return np.asarray((u - v) * stretch), np.asarray(v * stretch)
