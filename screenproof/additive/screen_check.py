"""Is a screen fit for the work: readings of it beside the limits of a standard, a line for each question.

What was not read has no figure, but what to read. With an instrument of a known class, or readings that were
repeated, every figure has an uncertainty. The lines are judged by :mod:`screenproof.proof.checks`. The uncertainty
is found by Monte Carlo (JCGM 101:2008) with a fixed seed: the readings are disturbed in luminance, x and y by
their own error, and all together by the instrument's, and the figures are taken again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.additive import screen_check_figures as of_readings
from screenproof.additive.readings import SAME_DRIVE, STANDARD_OBSERVER, Readings
from screenproof.additive.screen_check_figures import GREY_LEVELS, Places, Quantity, Rests, Rows
from screenproof.additive.screen_check_limits import ScreenLimits, screen_limits
from screenproof.additive.transfer import named_transfer
from screenproof.appearance import xyz_to_uv, xyz_to_xy
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Light, Observer, white_point
from screenproof.spectra import light as named_light
from screenproof.spectra import observer as named_observer
from screenproof.spectra.checks import PRACTICE, STATED, CheckLine, Limit, not_checked

if TYPE_CHECKING:
    from screenproof.spectra.doubt import EmissionDoubt

WARM_AFTER = 30.0
"""Minutes from switching on after which a screen is expected to be steady (common practice, no source)."""

WHITES = (1e-3, 1e7)
"""Luminances [cd/m2] between which a white is taken for one: beyond, the unit or the column is wrong."""

DRAWS = 1000
_SERIES_NEEDED = 15.0  # minutes beyond the warm-up without which nothing is said of drift
_ENOUGH_REPEATS = 4
_LUMINANCE_SHARE = 0.10
_ON_OFF_LEAST = 0.9  # a black that adds no light reads as the screen switched off does, but for noise (a choice)


@dataclass(frozen=True, eq=False)
class ScreenCheck:
    """A screen that was looked at: its lines, and what was read for the figures of a plot.

    against: the name of the limits, label: their words. repeats: relative luminance and x, y error of one reading,
    from readings that were repeated, or None. curve: the tone curve that was asked for, or None.
    notes: what had to be assumed.
    """

    lines: tuple[CheckLine, ...]
    against: str
    label: str
    readings: Readings
    doubt: EmissionDoubt | None
    repeats: tuple[float, float] | None
    curve: str | None
    notes: tuple[Note, ...]


def check_screen(
    readings: Readings,
    against: str = "iso12646",
    *,
    curve: str | None = None,
    white: Light | tuple[float, float] | None = None,
    luminance: float | None = None,
    off: float | None = None,
    doubt: EmissionDoubt | None = None,
    seed: int = 1,
) -> ScreenCheck:
    """What a screen's readings give for each question, beside the limits called ``against``.

    readings: white, black, primaries and greys at the centre; white and the greys 128 and 64 of 255 at 3 by 3
    positions; white over time in minutes. What is missing is said. curve: another aim of the tone curve. white:
    another aim of the white, a light or x, y. luminance: another aim of the white in cd/m2, held within 10 %.
    off: luminance in cd/m2 of the screen switched off, in the room in which its black was read.
    doubt: of the instrument; the repeatability of repeated readings goes before its own.

    Raises InputError for no white among the readings, unknown limits or curve, an aim that is no colour, and a
    luminance or ``off`` that is not above 0.
    """
    limits = screen_limits(against)
    _check_options(luminance, off)
    usual = Rests(readings)
    full = usual.at((1.0, 1.0, 1.0))
    xyz = np.asarray(readings.own_xyz)
    if not full.size or not xyz[full, 1].mean() > 0:
        raise bad(
            "no reading of the white in the middle of the screen",
            file=readings.source or None,
            field="R, G, B",
            expected="at least one reading of full red, green and blue together, with light",
            mend="read the white at the centre; positions count from the top left of a grid such as 3 by 3",
        )
    shown = xyz[full].mean(axis=0)
    if not (shown.min() > 0 and WHITES[0] <= shown[1] <= WHITES[1]):
        raise bad(
            f"the white reads X {shown[0]:.4g}, Y {shown[1]:.4g}, Z {shown[2]:.4g} cd/m2",
            file=readings.source or None,
            field="X, Y, Z",
            expected=f"three values above 0, and a luminance Y of {WHITES[0]:g} to {WHITES[1]:g} cd/m2",
            mend="look at the columns and at their unit",
        )
    who = named_observer(STANDARD_OBSERVER if readings.spectral else readings.observer)
    aim_uv, aim_words = _white_aim(white, limits, who)
    notes = list(readings.notes)
    if white is not None:
        notes.append(Note("info", f"the white is checked against {aim_words}, as asked for"))
    repeats = _repeats(readings, xyz)
    noise = _Noise(xyz, shown, doubt, repeats, seed)
    rows = _Lines(noise, _asked(limits, luminance))
    black = usual.at((0.0, 0.0, 0.0))

    rows.add("white", "white luminance", "cd/m2", of_readings.luminance("white_luminance", full))
    what = f"white against {aim_words}"
    rows.add("white", what, "u'v'", of_readings.chromaticity("white_chromaticity", full, aim_uv))
    _black_rows(rows, full, black, off, float(xyz[black, 1].mean()) if black.size else 0.0)
    _curve_rows(rows, usual, full, black, limits, curve, xyz)
    balance = of_readings.grey_balance(of_readings.balance_greys(usual), full)
    rows.add_or(
        "greys", "grey balance, largest C*ab against white", "C*ab", "grey_balance", balance,
        "fewer than five greys between drive 0.2 and white", "read greys, ten steps from black to white",
    )  # fmt: skip
    _uniformity_rows(rows, readings)
    _time_rows(rows, readings, xyz)
    primaries = [usual.at(row) for row in np.eye(3).tolist()]
    adds = None
    if black.size and all(part.size for part in primaries):
        adds = of_readings.additivity(full, primaries, black)
    rows.add_or(
        "additivity", "white against the sum of the primaries", "CIEDE2000", "additivity", adds,
        "full red, green, blue and black were not all read", "read them at the centre",
    )  # fmt: skip
    return ScreenCheck(tuple(rows.made), limits.name, limits.label, readings, doubt, repeats, curve, tuple(notes))


def _check_options(luminance: float | None, off: float | None) -> None:
    for field, value in (("luminance", luminance), ("off", off)):
        if value is not None and not 0 < value < float("inf"):
            raise bad(f"a luminance of {value:g} cd/m2", field=field, expected="cd/m2 above 0")


def _asked(limits: ScreenLimits, luminance: float | None) -> ScreenLimits:
    """The limits, with the luminance that was asked for in place of the set's."""
    if luminance is None:
        return limits
    low, high = luminance * (1.0 - _LUMINANCE_SHARE), luminance * (1.0 + _LUMINANCE_SHARE)
    source = f"{luminance:g} cd/m2 as asked for; the 10 % either way are {PRACTICE}"
    own = {**limits.limits, "white_luminance": Limit(low=low, high=high, source=source, obtained=STATED)}
    return replace(limits, limits=own)


def _white_aim(
    white: Light | tuple[float, float] | None, limits: ScreenLimits, who: Observer
) -> tuple[Array, str]:
    """u', v' (2,) of the white's aim for the readings' observer, and its words."""
    if isinstance(white, tuple):
        x, y = white
        if not (x > 0 and y > 0 and x + y < 1):
            raise bad(
                f"x = {x:g}, y = {y:g} is no white", field="white", expected="x and y above 0, together below 1"
            )
        return xyz_to_uv(np.array([x / y, 1.0, (1.0 - x - y) / y])), f"x {x:g}, y {y:g}"
    aim = named_light(limits.white) if white is None else white
    return xyz_to_uv(white_point(aim, who)), aim.name


def _repeats(readings: Readings, xyz: Array) -> tuple[float, float] | None:
    """Standard deviation of one reading, relative in luminance and absolute in x and y, pooled over repeats."""
    usual = readings.at_centre & ~readings.in_series
    bright = xyz[:, 1] > 1e-3 * xyz[:, 1].max()
    rows = np.flatnonzero(usual & bright)
    keys = np.round(readings.drive[rows] / SAME_DRIVE).astype(np.int64)
    _, group, count = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    group = group.ravel()
    freedom = int((count - 1).sum())
    if freedom < _ENOUGH_REPEATS:
        return None
    values = np.column_stack([np.log(xyz[rows, 1]), xyz_to_xy(xyz[rows])])
    centre = np.zeros((count.size, 3))
    np.add.at(centre, group, values)
    squares = ((values - (centre / count[:, None])[group]) ** 2).sum(axis=0) / freedom
    # Numbers that are exactly the same were copied, not read again.
    return (float(np.sqrt(squares[0])), float(np.sqrt(squares[1:].mean()))) if squares.any() else None


class _Noise:
    """Figures with their random and fixed standard uncertainty."""

    def __init__(
        self, xyz: Array, white: Array, doubt: EmissionDoubt | None, repeats: tuple[float, float] | None, seed: int
    ) -> None:
        self.xyz = xyz
        own = repeats or ((doubt.luminance, doubt.chromaticity) if doubt else None)
        agree = (doubt.luminance_agreement, doubt.chromaticity_agreement) if doubt else None
        generator = np.random.default_rng(seed)
        n = len(xyz)
        draws = DRAWS if n <= DRAWS else DRAWS // 4
        self.random = None if own is None else _disturbed(xyz, generator.standard_normal((draws, n, 3)), own)
        # What the instrument misses is linear in the light: its gains in X, Y and Z, as the white shows them.
        self.fixed = None
        if agree is not None:
            self.fixed = xyz * _disturbed(white[None, :], generator.standard_normal((draws, 1, 3)), agree) / white

    def of(self, quantity: Quantity) -> tuple[float, float | None, float | None]:
        parts = [
            None if draws is None else float(np.std(quantity.figure(draws))) for draws in (self.random, self.fixed)
        ]
        return float(quantity.figure(self.xyz)), parts[0], parts[1]


def _disturbed(xyz: Array, draws: Array, sd: tuple[float, float]) -> Array:
    """XYZ (d, n, 3) with errors: relative in luminance, absolute in x and y. No light stays no light."""
    dark = xyz[:, 1] <= 0
    xy = np.where(dark[:, None], 1.0 / 3.0, xyz_to_xy(np.where(dark[:, None], 1.0, xyz)))
    x = np.clip(xy[:, 0] + sd[1] * draws[..., 0], 1e-4, None)
    y = np.clip(xy[:, 1] + sd[1] * draws[..., 1], 1e-4, None)
    level = np.maximum(xyz[:, 1], 0.0) * np.maximum(1.0 + sd[0] * draws[..., 2], 1e-6)
    return np.stack([x / y * level, level, np.maximum(1.0 - x - y, 0.0) / y * level], axis=-1)


class _Lines:
    """The lines as they are made."""

    def __init__(self, noise: _Noise, limits: ScreenLimits) -> None:
        self.noise, self.limits = noise, limits
        self.made: list[CheckLine] = []

    def add(
        self, group: str, what: str, unit: str, quantity: Quantity, words: str = "", incomplete: str = "",
        mend: str = "",
    ) -> None:  # fmt: skip
        figure, random, fixed = self.noise.of(quantity)
        worst = quantity.worst(self.noise.xyz)
        said = "; ".join(part for part in (f"largest {worst}" if worst else "", words) if part)
        self.made.append(
            CheckLine(
                quantity.key, group, what, unit, figure, self.limits.limit(quantity.key),
                random=random, fixed=fixed, among=max(len(quantity.labels), 1), words=said,
                incomplete=incomplete, mend=mend or _MEND.get(quantity.key, ""),
            )
        )  # fmt: skip

    def add_or(
        self, group: str, what: str, unit: str, key: str, quantity: Quantity | None, why: str, mend: str
    ) -> None:
        if quantity is not None:
            self.add(group, what, unit, quantity)
        else:
            self.made.append(not_checked(key, group, what, unit, self.limits.limit(key), why, mend))


_MEND = {
    "white_luminance": "set the brightness and read the white again",
    "white_chromaticity": "set the white by the screen's own controls, then fit it again",
    "black": "lower the brightness, darken the room, or take a screen with a deeper black",
    "contrast": "lower the room light on the screen, or take a screen with a deeper black",
    "black_on_off": "lower the black of the screen; in a dark room this ratio says little",
    "exponent": "set the tone curve by the screen's own controls, then fit it again",
    "tone_curve": "set the tone curve by the screen's own controls, then fit it again",
    "grey_balance": "set the balance of the greys, or fit the screen and use its profile",
    "uniformity_white": "judge in the middle of the screen, or take a more even one",
    "uniformity_grey_128": "judge in the middle of the screen, or take a more even one",
    "uniformity_grey_64": "judge in the middle of the screen, or take a more even one",
    "uniformity_colour": "judge in the middle of the screen, or take a more even one",
    "drift": "let it warm up longer, and read it again",
    "colour_drift": "let it warm up longer, and read it again",
    "additivity": "switch off modes that save power or enhance the picture; else fit a table to more readings",
}


def _black_rows(rows: _Lines, full: Rows, black: Rows, off: float | None, level: float) -> None:
    missing = "black was not read" if not black.size else ""
    dark = missing or ("" if level > 0 else "the black reads no light at all: below what the instrument tells")
    seen = of_readings.luminance("black", black) if black.size else None
    rows.add_or("black", "black luminance", "cd/m2", "black", seen, missing, "read drive 0 at the centre")
    ratio = None if dark else of_readings.contrast(full, black)
    rows.add_or("black", "contrast", ": 1", "contrast", ratio, dark, "read drive 0 with a longer exposure")
    why = missing or "the luminance of the screen switched off is not known"
    mend = "switch the screen off, read it in its room, and give it with --off"
    if black.size and off is not None and level < _ON_OFF_LEAST * off:
        why = f"the black switched on, {level:.3g} cd/m2, is below that switched off, {off:.3g}: not in one room"
        off, mend = None, "read both in the same room, and give the one switched off with --off"
    both = of_readings.on_off(black, off) if black.size and off is not None else None
    rows.add_or(
        "black", "black switched on against switched off, in its room", "%", "black_on_off", both, why, mend
    )


def _curve_rows(
    rows: _Lines, usual: Rests, full: Rows, black: Rows, limits: ScreenLimits, curve: str | None, xyz: Array
) -> None:
    greys = of_readings.curve_greys(usual)
    named = curve or limits.curve
    low, high = max(float(xyz[black, 1].mean()), 0.0) if black.size else 0.0, float(xyz[full, 1].mean())
    flat = low >= high
    # A curve between a white and a black that are one has no meaning; its name is still told.
    aim = None if named is None else named_transfer(named, high, 0.0 if flat else low)
    why = "black was not read" if not black.size else "fewer than five greys between black and white"
    read = "read greys, ten steps from black to white"
    if flat:
        why = "the white reads no lighter than the black"
        read = "look at what the screen showed, and read it again"
    enough = black.size > 0 and not flat
    if curve is None:
        steep = of_readings.exponent(greys, full, black, aim, limits.exponent_of) if enough else None
        what = "exponent of the tone curve" + (f", by {aim.name}" if aim is not None else "")
        rows.add_or("tone curve", what, "", "exponent", steep, why, read)
    if aim is not None:
        off = of_readings.tone_curve(greys, full, black, aim) if enough else None
        what = f"tone curve against {aim.name}, largest difference"
        rows.add_or("tone curve", what, "L*", "tone_curve", off, why, read)


def _uniformity_rows(rows: _Lines, readings: Readings) -> None:
    names = {"white": "white", "grey_128": "grey 128 of 255", "grey_64": "grey 64 of 255"}
    found: list[tuple[str, Places]] = []
    shape = readings.grid_shape
    read = "read it at the places 1,1 to 3,3, rows and columns from the top left"
    for key, level in GREY_LEVELS.items():
        what = f"uniformity of luminance, {names[key]}"
        at = of_readings.places(readings, level)
        if at is None:
            why = "no reading says its place" if shape is None else f"{names[key]} was not read over the screen"
            limit = rows.limits.limit(f"uniformity_{key}")
            rows.made.append(not_checked(f"uniformity_{key}", "uniformity", what, "%", limit, why, read))
            continue
        found.append((key, at))
        short = _incomplete(shape, at)
        rows.add("uniformity", what, "%", of_readings.uniformity(f"uniformity_{key}", at), incomplete=short,
                 mend=read if short else "")  # fmt: skip
    what = "uniformity of colour, whites and greys"
    if not found:
        limit = rows.limits.limit("uniformity_colour")
        why = "no white or grey was read over the screen"
        rows.made.append(not_checked("uniformity_colour", "uniformity", what, "u'v'", limit, why, read))
        return
    short = next((said for _, at in found if (said := _incomplete(shape, at))), "")
    rows.add("uniformity", what, "u'v'", of_readings.uniformity_colour(found), incomplete=short,
             mend=read if short else "")  # fmt: skip


def _incomplete(shape: tuple[int, int] | None, at: Places) -> str:
    if shape is not None and min(shape) < 3:
        return f"{shape[0]} by {shape[1]} places were read, 3 by 3 are asked for"
    return f"not read at {'; '.join(at.missing)}" if at.missing else ""


def series_of(readings: Readings) -> Rows:
    """Rows of the brightest colour that was followed over time at the centre, in the order of time; maybe none."""
    series = np.flatnonzero(readings.in_series & readings.at_centre)
    if readings.minutes is None or not series.size:
        return series
    brightest = readings.drive[series[int(np.argmax(readings.own_xyz[series, 1]))]]
    same = series[np.abs(readings.drive[series] - brightest).max(axis=1) <= SAME_DRIVE]
    return np.asarray(same[np.argsort(readings.minutes[same], kind="stable")])


def _time_rows(rows: _Lines, readings: Readings, xyz: Array) -> None:
    """Warm-up and drift of the brightest colour that was followed over time."""
    read = "read the white every five minutes from switching on, for an hour"
    why = "no series over time was read"
    minutes = np.zeros(len(readings)) if readings.minutes is None else readings.minutes
    chosen = series_of(readings)
    steady = chosen[minutes[chosen] >= WARM_AFTER]
    last = chosen[-3:]
    if chosen.size and (minutes[chosen[-1]] < WARM_AFTER + _SERIES_NEEDED or steady.size < 4):
        why = (
            f"the series ends after {minutes[chosen[-1]]:g} minutes with {steady.size} readings after "
            f"{WARM_AFTER:g}"
        )
    enough = steady.size >= 4 and minutes[chosen[-1]] >= WARM_AFTER + _SERIES_NEEDED
    kinds: tuple[tuple[str, str, str, Callable[[Rows, Rows, Array], Quantity]], ...] = (
        ("drift", "luminance", "%", of_readings.drift),
        ("colour_drift", "colour", "u'v'", of_readings.colour_drift),
    )
    for key, what, unit, quantity in kinds:
        made = quantity(steady, last, minutes) if enough else None
        text = f"drift of {what} after {WARM_AFTER:g} minutes"
        rows.add_or("over time", text, unit, key, made, why, read)
    if enough:
        limit = rows.limits.limit("drift")
        share = limit.high if limit is not None and limit.high is not None else 2.0
        away = of_readings.drift(chosen, last, minutes).of(xyz) > share
        since = minutes[chosen[int(np.flatnonzero(away)[-1]) + 1]] if away.any() else minutes[chosen[0]]
        words = f"from then on within {share:g} % of the last readings"
        rows.made.append(CheckLine("warm_up", "over time", "warm-up", "min", float(since), None, words=words))
