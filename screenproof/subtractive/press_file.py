"""A press as plain data and back: schema ``screenproof-press/1``, for a JSON file that people can read.

Numbers are rounded to what readings carry (reflectances to six digits), so that a press read back predicts the
same colours to a thousandth of a unit of CIEDE2000. Who reads a file checks it: a press that was edited by hand
or cut short is refused with every problem named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from math import prod
from typing import Any, get_args

import numpy as np

from screenproof.errors import InputError, Note, NoteKind, Problem, bad
from screenproof.spectra import Array, Condition, Grid, stated_observer
from screenproof.subtractive.press import BETWEEN, ESTIMATED, MEASURED, MOST_CHANNELS, HeldOut, Press, TintLimits
from screenproof.subtractive.press_curves import CoverageCurve
from screenproof.subtractive.press_grids import SubGrid

SCHEMA = "screenproof-press/1"

SUPPORT = {MEASURED: "m", BETWEEN: "b", ESTIMATED: "e"}
"""One letter for each node: measured, between what was measured, estimated beyond it."""

FIELDS = (
    "schema",
    "name",
    "channels",
    "colour",
    "yule_nielsen_n",
    "trust",
    "limits",
    "held_out",
    "tone_curves",
    "levels",
    "support",
    "nodes",
    "grids",
    "condition",
    "source",
    "notes",
)
"""The fields of the schema, in the order in which they are written."""

_DIGITS = 6
_COVERAGE_DECIMALS = 8


def press_to_dict(press: Press) -> dict[str, Any]:
    """The press as plain data: dicts, lists, strings, numbers. Nodes stand with the last channel fastest."""
    grid = press.grid
    colour: dict[str, Any] = (
        {
            "kind": "XYZ",
            "light": press.light,
            "observer": press.observer,
            "scale": "Y = 100 for the perfect diffuser",
        }
        if grid is None
        else {"kind": "reflectance factor", "start_nm": grid.start, "stop_nm": grid.stop, "step_nm": grid.step}
    )
    nodes = press.nodes.reshape(-1, press.nodes.shape[-1])
    return {
        "schema": SCHEMA,
        "name": press.name,
        "channels": list(press.channels),
        "colour": colour,
        "yule_nielsen_n": press.n,
        "trust": press.trust,
        "limits": {"total": press.limits.total, "channels": list(press.limits.channels)},
        "held_out": None if press.held_out is None else _held_out(press.held_out),
        "tone_curves": [
            {
                "channel": channel,
                "tints": _rounded(curve.tints, 5),
                "whole": _rounded(curve.whole, _COVERAGE_DECIMALS),
                "coverage": [_rounded(row, _COVERAGE_DECIMALS) for row in curve.coverage],
            }
            for channel, curve in zip(press.channels, press.curves, strict=True)
        ],
        "levels": [_rounded(level, 5) for level in press.levels],
        "support": "".join(SUPPORT[int(kind)] for kind in press.support.ravel()),
        "nodes": [[float(f"{value:.{_DIGITS}g}") for value in row] for row in nodes.tolist()],
        "grids": [{"levels": [list(levels) for levels in one.levels]} for one in press.grids],
        "condition": {key: value for key, value in asdict(press.condition).items() if value is not None},
        "source": press.source,
        "notes": [
            {key: value for key, value in asdict(note).items() if value is not None} for note in press.notes
        ],
    }


def _held_out(held: HeldOut) -> dict[str, Any]:
    plain = asdict(held)
    for key in ("mean", "p95", "max"):
        plain[key] = round(plain[key], 4) if held.count else None
    plain["patches"] = list(held.patches)
    return {"metric": "CIEDE2000", **plain}


def _rounded(values: Array, decimals: int) -> list[float]:
    return [round(value, decimals) for value in np.asarray(values).tolist()]


class _Reader:
    """Takes fields out of plain data and gathers what is wrong with them."""

    def __init__(self, data: Mapping[str, Any], file: str | None) -> None:
        self.data, self.file = data, file
        self.problems: list[Problem] = []

    def wrong(self, field: str, what: str, expected: str) -> None:
        self.problems.append(
            Problem(what, self.file, None, field, expected, "fit the press again, or take back what was edited")
        )

    def get(self, field: str, kind: type | tuple[type, ...], expected: str, within: Any = None) -> Any:
        """The value of a field, by its last name in ``within``; None, and a problem, when it is not of this
        kind."""
        holder = self.data if within is None else within
        key = field.rsplit(".", 1)[-1]
        if not isinstance(holder, Mapping) or key not in holder:
            self.wrong(field, "is missing", expected)
            return None
        value = holder[key]
        if not isinstance(value, kind) or isinstance(value, bool):
            self.wrong(field, f"is {_short(value)}", expected)
            return None
        return value

    def number(self, field: str, low: float, high: float, within: Any = None) -> float | None:
        """A number from low to high."""
        expected = f"a number from {low:g} to {high:g}"
        value = self.get(field, (int, float), expected, within)
        if value is not None and not low <= value <= high:
            self.wrong(field, f"is {value:g}", expected)
            return None
        return None if value is None else float(value)

    def rows(self, field: str, value: Any, width: int | None, count: int | None = None) -> Array | None:
        """An array of finite numbers: (count, width), or (count,) without a width."""
        shape = f"{'' if count is None else count} " + ("numbers" if width is None else f"rows of {width} numbers")
        expected = f"{shape.strip()}, all finite"
        try:
            array = np.asarray(value, dtype=np.float64)
        except (TypeError, ValueError):
            self.wrong(field, "holds what is no number, or rows of unlike length", expected)
            return None
        wanted = 1 if width is None else 2
        fits = array.ndim == wanted and (count is None or len(array) == count) and len(array) > 0
        if not fits or (width is not None and array.shape[1] != width) or not np.isfinite(array).all():
            self.wrong(field, f"has the shape {array.shape}, or a number that is not finite", expected)
            return None
        return array

    def done(self) -> None:
        """Raises InputError when anything was wrong."""
        if self.problems:
            raise InputError(self.problems)


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:39] + "…"


def press_from_dict(data: Any, *, file: object = None) -> Press:
    """The press of plain data that :func:`press_to_dict` made.

    Raises InputError with every problem: another schema, fields missing or of another kind, shapes that do not
    fit, curves and levels that do not rise from 0 to 1.
    """
    name = None if file is None else str(file)
    if not isinstance(data, Mapping) or "schema" not in data:
        raise bad(
            "this is no press: it does not say its schema",
            file=name,
            expected=f'an object with "schema": "{SCHEMA}"',
            mend="fit a press to a characterisation first",
        )
    if data["schema"] != SCHEMA:
        same = str(data["schema"]).startswith("screenproof-press/")
        raise bad(
            f"the schema is {_short(data['schema'])}",
            file=name,
            field="schema",
            expected=SCHEMA,
            mend="fit the press again with this version" if same else "give the file of a press",
        )
    read = _Reader(data, name)
    for field in sorted(set(data) - set(FIELDS)):
        read.wrong(field, "is not known", f"only {', '.join(FIELDS)}")
    channels = _channels(read)
    colour = _colour(read)
    n = read.number("yule_nielsen_n", 1.0, 100.0)
    trust = read.number("trust", 0.0, 10.0)
    read.done()
    assert channels is not None and colour is not None and n is not None and trust is not None
    grid, light, observer = colour
    bands = 3 if grid is None else grid.count
    curves, levels = _curves(read, channels, bands), _levels(read, channels)
    limits = _limits(read, len(channels))
    held_out, notes = _read_held_out(read), _notes(read)
    grids, condition = _grids(read, channels), _condition(read)
    read.done()
    assert levels is not None and limits is not None
    count = prod(len(level) for level in levels)
    nodes = read.rows("nodes", read.get("nodes", list, f"{count} rows of {bands} numbers"), bands, count)
    if nodes is not None and not ((nodes > 0.0) & (nodes <= (1.5 if grid else 150.0))).all():
        read.wrong(
            "nodes", f"run from {nodes.min():g} to {nodes.max():g}", f"above 0, up to {1.5 if grid else 150}"
        )
    letters = {letter: kind for kind, letter in SUPPORT.items()}
    support = read.get("support", str, f"{count} letters, m, b or e")
    if support is not None and (len(support) != count or set(support) - set(letters)):
        read.wrong("support", f"has {len(support)} letters", f"{count} letters, m, b or e, one for each node")
    read.done()
    assert nodes is not None and support is not None
    shape = [len(level) for level in levels]
    return Press(
        channels=channels,
        n=n,
        curves=curves,
        levels=levels,
        nodes=nodes.reshape([*shape, bands]),
        support=np.array([letters[letter] for letter in support], dtype=np.int8).reshape(shape),
        limits=limits,
        grid=grid,
        light=light,
        observer=observer,
        held_out=held_out,
        grids=grids,
        trust=trust,
        name=str(data.get("name") or ""),
        condition=condition,
        source=str(data.get("source") or ""),
        notes=notes,
    )


def _channels(read: _Reader) -> tuple[str, ...] | None:
    names = read.get("channels", list, "a list of names")
    if names is None:
        return None
    unlike = len(set(map(str, names))) == len(names)
    if (
        not 1 <= len(names) <= MOST_CHANNELS
        or not unlike
        or not all(isinstance(one, str) and one for one in names)
    ):
        read.wrong("channels", f"is {_short(names)}", f"1 to {MOST_CHANNELS} unlike names")
        return None
    return tuple(names)


def _colour(read: _Reader) -> tuple[Grid | None, str | None, str | None] | None:
    colour = read.get("colour", Mapping, "an object with kind, and its wavelengths or its light and observer")
    kind = None if colour is None else read.get("colour.kind", str, "reflectance factor or XYZ", colour)
    if kind == "XYZ":
        seen = [read.get(f"colour.{key}", str, "a name", colour) for key in ("light", "observer")]
        return None if seen[0] is None or seen[1] is None else (None, seen[0], _known(seen[1]))
    if kind == "reflectance factor":
        ends = [read.number(f"colour.{key}", 0.1, 2500.0, colour) for key in ("start_nm", "stop_nm", "step_nm")]
        start, stop, step = ends
        if start is None or stop is None or step is None:
            return None
        try:
            return Grid(start, stop, step), None, None
        except InputError as error:
            read.wrong("colour", error.problems[0].what, "wavelengths in even steps")
            return None
    if kind is not None:
        read.wrong("colour.kind", f"is {_short(kind)}", "reflectance factor or XYZ")
    return None


def _known(observer: str) -> str:
    """The observer by the name that it has now; a press of an earlier version has another."""
    return stated_observer(observer) or observer


def _rises(values: Array) -> bool:
    return bool(values[0] == 0.0 and values[-1] == 1.0 and (np.diff(values) > 0.0).all())


def _curves(read: _Reader, channels: Sequence[str], bands: int) -> tuple[CoverageCurve, ...]:
    curves = read.get("tone_curves", list, f"{len(channels)} curves")
    if curves is not None and len(curves) != len(channels):
        read.wrong("tone_curves", f"are {len(curves)}", f"one for each of {len(channels)} channels")
        return ()
    found = []
    for channel, curve in zip(channels, curves or [], strict=False):
        field = f"tone_curves.{channel}"
        tints = read.rows(f"{field}.tints", curve.get("tints") if isinstance(curve, Mapping) else None, None)
        if tints is None or not _rises(tints):
            if tints is not None:
                read.wrong(
                    f"{field}.tints", "do not rise from 0 to 1", "tints from 0 to 1, each above the one before"
                )
            continue
        whole = read.rows(f"{field}.whole", curve.get("whole"), None, len(tints))
        coverage = read.rows(f"{field}.coverage", curve.get("coverage"), bands, len(tints))
        if whole is None or coverage is None:
            continue
        if not (_rises(whole) and all(_rises(band) for band in coverage.T)):
            read.wrong(field, "does not rise from 0 to 1", "coverages from 0 to 1, each above the one before")
            continue
        found.append(CoverageCurve(tints, coverage, whole))
    return tuple(found)


def _levels(read: _Reader, channels: Sequence[str]) -> tuple[Array, ...] | None:
    levels = read.get("levels", list, f"{len(channels)} lists of tints")
    if levels is None:
        return None
    if len(levels) != len(channels):
        read.wrong("levels", f"are {len(levels)}", f"one list for each of {len(channels)} channels")
        return None
    found = []
    for channel, level in zip(channels, levels, strict=True):
        array = read.rows(f"levels.{channel}", level, None)
        if array is None:
            return None
        if len(array) < 2 or not _rises(array):
            read.wrong(f"levels.{channel}", f"are {_short(level)}", "tints that rise from 0 to 1")
            return None
        found.append(array)
    return tuple(found)


def _limits(read: _Reader, channels: int) -> TintLimits | None:
    limits = read.get("limits", Mapping, "an object with total and channels")
    total = None if limits is None else read.number("limits.total", 1e-6, float(MOST_CHANNELS), limits)
    most = None if limits is None else read.rows("limits.channels", limits.get("channels"), None, channels)
    if total is None or most is None:
        return None
    try:
        return TintLimits(total, tuple(most.tolist()))
    except InputError as error:
        read.wrong("limits", error.problems[0].what, "tints from 0 to 1")
        return None


def _read_held_out(read: _Reader) -> HeldOut | None:
    held = read.data.get("held_out")
    if held is None:
        return None
    expected = "an object with mean, p95, max, count, how, light, observer, patches and worst"
    try:
        mean, p95, most = (np.nan if held[key] is None else float(held[key]) for key in ("mean", "p95", "max"))
        how, light, observer, worst = (str(held[key]) for key in ("how", "light", "observer", "worst"))
        names = tuple(str(name) for name in held["patches"])
        return HeldOut(mean, p95, most, int(held["count"]), how, light, _known(observer), names, worst)
    except (KeyError, TypeError, ValueError):
        read.wrong("held_out", f"is {_short(held)}", expected)
        return None


def _notes(read: _Reader) -> tuple[Note, ...]:
    notes = read.data.get("notes") or []
    try:
        found = tuple(Note(**note) for note in notes)
    except TypeError:
        found = (Note("info", ""),)
    if any(note.kind not in get_args(NoteKind) or not note.what for note in found):
        read.wrong("notes", f"are {_short(notes)}", "objects with kind (odd, assumed, caution or info) and what")
        return ()
    return found


def _grids(read: _Reader, channels: tuple[str, ...]) -> tuple[SubGrid, ...]:
    found = []
    for number, one in enumerate(read.data.get("grids") or [], start=1):
        field = f"grids.{number}.levels"
        levels = one.get("levels") if isinstance(one, Mapping) else None
        if not isinstance(levels, list) or len(levels) != len(channels):
            read.wrong(field, f"is {_short(levels)}", f"a list of tints for each of {len(channels)} channels")
            continue
        arrays = [read.rows(field, level, None) for level in levels]
        found.append(SubGrid(channels, tuple(tuple(a.tolist()) for a in arrays if a is not None)))
    return tuple(found)


def _condition(read: _Reader) -> Condition:
    condition = read.data.get("condition") or {}
    if not isinstance(condition, Mapping) or set(condition) - set(Condition.__dataclass_fields__):
        read.wrong(
            "condition", f"is {_short(condition)}", f"an object with {', '.join(Condition.__dataclass_fields__)}"
        )
        return Condition()
    try:
        return Condition(**{key: str(value) for key, value in condition.items()})
    except InputError as error:
        read.wrong("condition", error.problems[0].what, error.problems[0].expected or "")
        return Condition()
