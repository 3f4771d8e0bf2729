"""Pigments from readings: letdowns with white, and dyeings of a cloth.

Every fit is a least squares fit in *measured* reflectance, band by band, so that a band counts by what the
instrument saw of it and not by what a small reading makes of K/S. How well the letdowns are described, and at
which concentrations, is reported with the pigment.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance import de2000
from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import Array, Grid, frozen
from screenproof.subtractive import kubelka_munk
from screenproof.subtractive._checks import above_zero, checked_curve, no_doubles, same_grid
from screenproof.subtractive.letdowns import FITS_WITHIN, Letdowns, lab_d50
from screenproof.subtractive.pigments import LetdownFit, Pigment
from screenproof.subtractive.surface import Surface

NOISE = 0.001
"""Standard deviation of a reading of a drawdown in reflectance factor, where none is given. Common practice, no
source."""

LEAST_K, LEAST_S = 1e-8, 1e-6
"""Floors of the fit: the reflectance of an opaque layer falls infinitely fast at K = 0, where no step can be
taken."""

MISLABELLED = 3.0
"""CIEDE2000 above which a letdown is so far off the fit that its label should be looked at."""


def fit_white(
    name: str,
    masstone: ArrayLike,
    grid: Grid,
    surface: Surface = Surface.NONE,
    *,
    noise: float = NOISE,
    cost: float | None = None,
    density: float | None = None,
) -> Pigment:
    """The white of a set of letdowns, or a cloth, from its reading (w,): S is 1 in every band, K is its K/S.

    Raises InputError for a reading of 0 or above 1.
    """
    curve = checked_curve(masstone, grid, name, least=surface.outside, most=1.0)
    inside = surface.to_internal(curve, name)
    k = kubelka_munk.ks(inside)
    k_sd = noise / (surface.slope(inside) * np.maximum(_k_slope(k, np.ones_like(k)), 1e-9))
    covariance = np.zeros((grid.count, 2, 2))
    covariance[:, 0, 0] = np.minimum(k_sd, k + noise) ** 2
    return Pigment(name, grid, k, np.ones(grid.count), "relative", cost, density, covariance=covariance)


def _k_slope(k: Array, s: Array) -> Array:
    """Minus the derivative of R infinity with respect to K."""
    b = np.sqrt(np.maximum(k, LEAST_K) * (np.maximum(k, LEAST_K) + 2.0 * s))
    return np.asarray(s / ((k + s + b) * b))


Forward = Callable[[Array, Array], tuple[Array, Array, Array]]


def _least_squares(read: Array, forward: Forward, k: Array, s: Array, free_s: bool) -> tuple[Array, Array]:
    """K and S (w,) that bring forward(K, S) -> R, dR/dK, dR/dS, all (m, w), nearest to ``read``:
    Levenberg-Marquardt on two unknowns, in all bands at once, held at or above their floors."""
    damping = np.full(k.shape, 1e-3)
    r, jk, js = forward(k, s)
    error = ((read - r) ** 2).sum(axis=0)
    for _ in range(60):
        gap = read - r
        a, d = (jk * jk).sum(axis=0), (js * js).sum(axis=0)
        b = (jk * js).sum(axis=0) if free_s else np.zeros_like(a)
        gk, gs = (jk * gap).sum(axis=0), (js * gap).sum(axis=0)
        a, d = a * (1.0 + damping) + 1e-30, d * (1.0 + damping) + 1e-30
        determinant = a * d - b * b
        step_k = (d * gk - b * gs) / determinant
        step_s = (a * gs - b * gk) / determinant if free_s else np.zeros_like(s)
        new_k, new_s = np.maximum(k + step_k, 0.1 * k + LEAST_K), np.maximum(s + step_s, 0.1 * s + LEAST_S)
        if not free_s:
            new_s = s
        tried = forward(new_k, new_s)
        new_error = ((read - tried[0]) ** 2).sum(axis=0)
        better = new_error <= error
        moved = np.max(np.where(better, np.abs(new_k - k) / (k + 1e-6), 0.0))
        k, s = np.where(better, new_k, k), np.where(better, new_s, s)
        r, jk, js = (np.where(better, new, old) for new, old in zip(tried, (r, jk, js), strict=True))
        error = np.where(better, new_error, error)
        damping = np.clip(np.where(better, damping / 5.0, damping * 5.0), 1e-12, 1e9)
        if better.all() and moved < 1e-10:
            break
    return k, s


def _checked_levels(sets: Letdowns, white: Pigment) -> None:
    what = f"letdowns of {sets.name}"
    same_grid([(f"white {white.name}", white.grid), (what, sets.grid)])
    if white.kind != "relative":
        raise bad(f"{white.name} is of kind {white.kind!r}", field=what, expected="a white made by fit_white")
    c = sets.concentrations[sets.concentrations > 0.0]
    problems = []
    if c.size == 0 or c.max() < 1.0:
        problems.append(
            Problem(
                f"no masstone: the highest concentration is {c.max(initial=0.0):g}",
                field=what,
                expected="the pigment alone, concentration 1, and at least one tint with white",
                mend="measure the masstone, or use drawdowns over black and white, or the single-constant fit",
            )
        )
    elif c.size < 2:
        problems.append(
            Problem(
                f"letdowns of one concentration ({c[0]:g}) only",
                field=what,
                expected="the masstone and at least one tint with white: one reading does not tell its strength",
                mend="measure a tint of about a tenth pigment and nine tenths white",
            )
        )
    if problems:
        raise InputError(problems)


def fit_two_constant(sets: Letdowns, white: Pigment, *, noise: float = NOISE) -> Pigment:
    """K and S of a pigment relative to the scattering of the white, from its masstone and tints with that white.

    sets: letdowns, one of concentration 1; white: of :func:`fit_white`. Duncan's mixture K = c K1 + (1 - c) Kw, S
    alike, fitted in measured reflectance; the start is the solution of the linear equations K - (K/S) S = 0.
    noise: standard deviation of a reading. Raises InputError without masstone, without a tint, or on unlike
    grids.
    """
    _checked_levels(sets, white)
    used = sets.concentrations > 0.0
    c, read, inside = sets.concentrations[used, np.newaxis], sets.reflectance[used], sets.internal[used]
    q = kubelka_munk.ks(inside)
    # c K - q c S = (1 - c)(q Sw - Kw), each row by the inverse of the total scattering it would have at S = 1.
    weight = inside / (1.0 + q)
    left_k, left_s, right = c * weight, -q * c * weight, (1.0 - c) * (q * white.s - white.k) * weight
    kk, ss, mixed = (left_k**2).sum(0), (left_s**2).sum(0), (left_k * left_s).sum(0)
    gk, gs = (left_k * right).sum(0), (left_s * right).sum(0)
    determinant = np.maximum(kk * ss - mixed**2, 1e-12 * kk * ss)
    k = np.maximum((ss * gk - mixed * gs) / determinant, 1e-4)
    s = np.maximum((kk * gs - mixed * gk) / determinant, 1e-3)

    def forward(k1: Array, s1: Array) -> tuple[Array, Array, Array]:
        total_k, total_s = c * k1 + (1.0 - c) * white.k, c * s1 + (1.0 - c) * white.s
        r = kubelka_munk.thick(total_k, total_s)
        slope = c * _k_slope(total_k, total_s) * sets.surface.slope(r)
        return sets.surface.to_measured(r), -slope, slope * total_k / total_s

    k, s = _least_squares(read, forward, k, s, free_s=True)
    return _assessed(sets, used, forward, k, s, noise, "relative")


def _assessed(
    sets: Letdowns, used: NDArray[np.bool_], forward: Forward, k: Array, s: Array, noise: float, kind: str
) -> Pigment:
    """The pigment with its residuals, the concentrations at which it fits, and the doubt of K, S and strength."""
    c, read = sets.concentrations[used], sets.reflectance[used]
    r, jk, js = forward(k, s)
    gap = read - r
    # A wrong weighing acts as a factor on the concentration: how much of the residual it explains.
    by_strength = _strength_slope(forward, k, s, kind)
    size = (by_strength**2).sum(axis=1)
    delta = np.where(size > 1e-12, (by_strength * gap).sum(axis=1) / np.where(size > 1e-12, size, 1.0), 0.0)
    counted = size > 1e-12
    strength_sd = float(np.sqrt(np.mean(delta[counted] ** 2))) if counted.sum() > 1 else 0.0
    rest = gap - delta[:, np.newaxis] * by_strength
    unknowns = 1 if kind == "dye" else 2
    spare = read.size - unknowns * read.shape[1] - int(counted.sum())
    variance = max(above_zero(noise, "noise") ** 2, float((rest**2).sum() / spare) if spare > 0 else 0.0)
    covariance = np.zeros((sets.grid.count, 2, 2))
    a, b, d = (jk * jk).sum(0) + 1e-12, (jk * js).sum(0), (js * js).sum(0) + 1e-12
    if kind == "dye":
        covariance[:, 0, 0] = variance / a
    else:
        determinant = np.maximum(a * d - b * b, 1e-9 * a * d)
        covariance[:, 0, 0], covariance[:, 1, 1] = variance * d / determinant, variance * a / determinant
        covariance[:, 0, 1] = covariance[:, 1, 0] = -variance * b / determinant
    de00 = de2000(lab_d50(read, sets.grid), lab_d50(r, sets.grid))
    fit = LetdownFit(
        frozen(c), frozen(np.sqrt((gap**2).mean(axis=1))), frozen(de00), frozen(np.exp(np.clip(delta, -5.0, 5.0)))
    )
    low, high, notes = _good_range(sets.name, c, de00)
    return Pigment(
        sets.name,
        sets.grid,
        k,
        s,
        "dye" if kind == "dye" else "relative",
        sets.cost,
        sets.density,
        (low, high),
        covariance,
        strength_sd,
        fit,
        (*sets.notes, *notes),
    )


def _strength_slope(forward: Forward, k: Array, s: Array, kind: str) -> Array:
    """The change (m, w) of each letdown with the logarithm of the pigment's amount, that of the white being
    kept."""
    step = 1e-4
    up, down = (forward(k * f, s if kind == "dye" else s * f)[0] for f in (1.0 + step, 1.0 - step))
    return np.asarray((up - down) / (2.0 * step))


def _good_range(name: str, c: Array, de00: Array) -> tuple[float, float, tuple[Note, ...]]:
    """The longest run of concentrations that the fit describes, and notes on what it does not."""
    good = de00 <= FITS_WITHIN
    best, start = (0, 0), 0
    for i in range(c.size + 1):
        if i == c.size or not good[i]:
            if i - start > best[1] - best[0]:
                best = (start, i)
            start = i + 1
    notes = [
        Note(
            "odd",
            f"the letdown {c[i]:g} is {de00[i]:.1f} CIEDE2000 off the fit",
            about=name,
            mend="check its concentration and its reading",
        )
        for i in np.flatnonzero(de00 > MISLABELLED)
    ]
    if best[1] == best[0]:
        notes.append(
            Note(
                "odd",
                f"no letdown is described within {FITS_WITHIN:g} CIEDE2000: recipes with this pigment are guesses",
                about=name,
                mend="check the letdowns, the white, and the surface correction",
            )
        )
        return float(c[0]), float(c[-1]), tuple(notes)
    low, high = float(c[best[0]]), float(c[best[1] - 1])
    if (low, high) != (c[0], c[-1]):
        notes.append(
            Note(
                "info",
                f"good for concentrations from {low:g} to {high:g}, not for all that were measured",
                about=name,
            )
        )
    return low, high, tuple(notes)


def fit_single_constant(sets: Letdowns, *, noise: float = NOISE) -> Pigment:
    """A dye's K/S per unit of concentration over that of its cloth, from dyeings of which one has concentration 0.

    K/S = (K/S of the cloth) + c k: single-constant, for the cloth alone scatters (common practice in textiles).
    The relation bends at high concentrations, where fibres fill up: dyeings at the strong end that do not fit are
    left out, at least two stay, and ``concentrations`` says up to where the dye is good. Raises InputError
    without the cloth (c = 0) or with fewer than two dyeings.
    """
    what = f"letdowns of {sets.name}"
    c_all = sets.concentrations
    if not (c_all == 0.0).any():
        raise bad(
            "the undyed cloth is missing",
            field=what,
            expected="a reading with concentration 0",
            mend="measure the cloth, treated as in dyeing but without dye",
        )
    if (c_all > 0.0).sum() < 2:
        raise bad(
            f"letdowns of one concentration ({c_all.max():g}) only",
            field=what,
            expected="at least two dyeings, so that it shows whether K/S follows the concentration",
        )
    ground = kubelka_munk.ks(sets.internal[c_all == 0.0][0])
    kept = int((c_all > 0.0).sum())
    while True:
        used = (c_all > 0.0) & (np.cumsum(c_all > 0.0) <= kept)
        pigment = _dye(sets, used, ground, noise)
        assert pigment.fit is not None
        if kept == 2 or pigment.fit.worst <= FITS_WITHIN:
            break
        kept -= 1
    left_out = int((c_all > 0.0).sum()) - kept
    if left_out:
        note = Note(
            "info",
            f"good up to {c_all[used].max():g}: above it K/S no longer follows the concentration ({left_out} of "
            "the strongest dyeings are left out)",
            about=sets.name,
        )
        pigment = replace(pigment, notes=(*pigment.notes, note))
    return pigment


def _dye(sets: Letdowns, used: NDArray[np.bool_], ground: Array, noise: float) -> Pigment:
    c, read, inside = sets.concentrations[used, np.newaxis], sets.reflectance[used], sets.internal[used]
    ones = np.ones(sets.grid.count)

    def forward(k1: Array, s1: Array) -> tuple[Array, Array, Array]:
        total = ground + c * k1
        r = kubelka_munk.thick(total, s1 * np.ones_like(total))
        slope = c * _k_slope(total, s1 * np.ones_like(total)) * sets.surface.slope(r)
        return sets.surface.to_measured(r), -slope, np.zeros_like(slope)

    start = np.maximum(
        ((kubelka_munk.ks(inside) - ground) * c * inside**2).sum(0) / (c**2 * inside**2).sum(0), 1e-6
    )
    k, _ = _least_squares(read, forward, start, ones, free_s=False)
    # The S of a dye is nothing: it only served the formula as that of the cloth.
    return replace(_assessed(sets, used, forward, k, ones, noise, "dye"), s=np.zeros(sets.grid.count))


def fit_pigments(
    sets: Sequence[Letdowns], white: Pigment | None = None, *, noise: float = NOISE
) -> tuple[Pigment, ...]:
    """Pigments from many letdowns, with the white that all of them were let down with; dyes need none.

    Raises one InputError with the problems of all letdowns, also for a name that stands twice.
    """
    if not sets:
        raise bad("no letdowns", field="letdowns", expected="the letdowns of at least one pigment")
    no_doubles([one.name for one in sets], "letdowns")
    found: list[Pigment] = []
    problems: list[Problem] = []
    for one in sets:
        try:
            if one.dye:
                found.append(fit_single_constant(one, noise=noise))
            elif white is None:
                raise bad(
                    "no white to which the letdowns belong", field=f"letdowns of {one.name}", mend="use fit_white"
                )
            else:
                found.append(fit_two_constant(one, white, noise=noise))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(found)
