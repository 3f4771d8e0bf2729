"""What a file says of the doubt of its readings: statements above the table, and columns beside the readings.

``repeatability`` (standard deviation of one reading), ``agreement_zero``: in the file's unit; ``agreement_scale``:
a share of the reading, 0.005 or 0.5 %; ``agreement_wavelength``, ``correlation``: nm; for files without curves
``repeatability`` and ``agreement`` in units of L*, a*, b*. ``readings``: how many each row is the mean of.
``instrument_class``: by words. ``instrument_id``: two files with one id share what the instrument does wrong.
Columns ``readings`` and ``repeatability`` say it row by row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from screenproof.errors import InputError
from screenproof.formats._text import Problems, number
from screenproof.spectra import Array
from screenproof.spectra.doubt import (
    CORRELATION_NM,
    ColorimetryDoubt,
    InstrumentClass,
    ReflectanceDoubt,
    SamplesDoubt,
    instrument_class,
)

AMOUNTS = ("correlation", "agreement_scale", "agreement_zero", "agreement_wavelength", "agreement")
_OF_CURVES = AMOUNTS[:4]


@dataclass(frozen=True)
class StatedDoubt:
    """What a file states of the doubt of its readings, None where it is silent, in the file's units.

    ``lines`` has the line of each statement.
    """

    readings: int | None = None
    correlation: float | None = None
    agreement_scale: float | None = None
    agreement_zero: float | None = None
    agreement_wavelength: float | None = None
    agreement: float | None = None
    kind: InstrumentClass | None = None
    instrument: str = ""
    lines: tuple[tuple[str, int | None], ...] = ()

    @property
    def silent(self) -> bool:
        """Whether nothing of it is stated."""
        return replace(self, lines=()) == StatedDoubt()


@dataclass(frozen=True, eq=False)
class RowDoubt:
    """What columns say of each row, in the file's units: repeatability (n,) and readings (n,), None without."""

    repeatability: Array | None = None
    readings: Array | None = None


NOTHING_SAID = RowDoubt()


@dataclass(frozen=True, eq=False)
class RepeatSpread:
    """What repeated readings tell.

    ``repeatability`` (one number, (n,) or (n, w)) of one reading in reflectance factor or units of L*, a*, b*;
    ``correlation``: over how many nm errors go together (None: not told); ``freedom``: readings beyond the first
    of each sample.
    """

    repeatability: float | Array
    correlation: float | None
    freedom: int


ENOUGH = 5
"""With so many readings beyond the first, spread tells more than a statement for all instruments of a kind."""


def stated_doubt(found: dict[str, tuple[str, int]], problems: Problems) -> StatedDoubt:
    """The statements of a file. What cannot be understood goes to ``problems``."""
    lines = {key: (line or None) for key, (_, line) in found.items()}
    amounts: dict[str, float | None] = {}
    for key in AMOUNTS:
        if key in found:
            text = found[key][0].strip()
            share = key == "agreement_scale" and text.endswith("%")
            value = number(text.removesuffix("%").removesuffix("nm").strip())
            if value is None or value < 0:
                expected = {"agreement_scale": "a share such as 0.005 or 0.5 %"}.get(key, "a number, 0 or more")
                problems.add(f"{key} is {text!r}", line=lines[key], field=key, expected=expected)
            amounts[key] = None if value is None else value / 100.0 if share else value
    readings = None
    if "readings" in found:
        value = number(found["readings"][0])
        if value is None or value < 1 or value != round(value):
            problems.add(
                f"readings is {found['readings'][0]!r}",
                line=lines["readings"],
                field="readings",
                expected="how many readings each row is the mean of: a whole number, 1 or more",
            )
        else:
            readings = int(value)
    kind = None
    if "instrument_class" in found:
        try:
            kind = instrument_class(found["instrument_class"][0])
        except InputError as error:
            for problem in error.problems:
                problems.add(
                    problem.what,
                    line=lines["instrument_class"],
                    field="instrument_class",
                    expected=problem.expected,
                    mend=problem.mend,
                )
    return StatedDoubt(
        readings=readings,
        kind=kind,
        instrument=found["instrument_id"][0].strip() if "instrument_id" in found else "",
        lines=tuple((key, lines[key]) for key in (*AMOUNTS, "readings") if key in found),
        **amounts,
    )


def check_rows(rows: RowDoubt, names: Sequence[str], lines: Sequence[int], problems: Problems) -> None:
    """Say which rows have a number of readings or a repeatability that is none."""
    if rows.readings is not None:
        told = np.isfinite(rows.readings)
        wrong = (rows.readings < 1) | (rows.readings != np.round(rows.readings))
        for i in np.flatnonzero(told & wrong).tolist():
            problems.add(
                f"{rows.readings[i]:g} readings of {names[i]!r}",
                line=lines[i] or None,
                field="readings",
                expected="a whole number, 1 or more",
            )
    if rows.repeatability is not None:
        for i in np.flatnonzero(rows.repeatability < 0).tolist():
            problems.add(
                f"a repeatability of {rows.repeatability[i]:g}",
                line=lines[i] or None,
                field="repeatability",
                expected="the standard deviation of one reading, 0 or more",
            )


def doubt_from(
    stated: StatedDoubt,
    repeatability: float | None,
    rows: RowDoubt,
    spread: RepeatSpread | None,
    *,
    count: int,
    spectral: bool,
    scale: float,
    problems: Problems,
) -> SamplesDoubt | None:
    """The doubt of ``count`` samples, or None when nothing is known of it.

    Of the repeatability a column goes first, then repeated readings if there are :data:`ENOUGH`, then the file's
    statement, then its instrument's class, then repeated readings however few. ``scale``: what 1 in reflectance
    factor is in the file's unit; 1 for a file without curves.
    """
    _check_kind(stated, spectral, problems)
    if problems:
        return None
    readings = np.full(count, 1 if stated.readings is None else stated.readings, dtype=np.int64)
    if rows.readings is not None:
        readings = np.asarray(np.round(rows.readings), dtype=np.int64)
    sources: list[tuple[str, float | Array | None]] = [
        ("file", None if rows.repeatability is None else rows.repeatability / scale),
        ("repeated readings", None if spread is None or spread.freedom < ENOUGH else spread.repeatability),
        ("file", None if repeatability is None else repeatability / scale),
        ("class", None if stated.kind is None else _class_repeatability(stated.kind, spectral)),
        ("repeated readings", None if spread is None else spread.repeatability),
    ]
    origin, value = next(((o, v) for o, v in sources if v is not None), ("", None))
    if value is None and stated.silent and rows.readings is None:
        return None
    amount: float | Array = 0.0 if value is None else value
    many = int(readings[0]) if (readings == readings[0]).all() else readings
    of_class = None if stated.kind is None else stated.kind.reflectance if spectral else stated.kind.colorimetry
    if not spectral:
        fixed = of_class.agreement_de if isinstance(of_class, ColorimetryDoubt) else 0.0
        if stated.agreement is not None:
            fixed = stated.agreement
        return ColorimetryDoubt(amount, fixed, many, stated.instrument, origin or _origin(stated))
    base = of_class if isinstance(of_class, ReflectanceDoubt) else ReflectanceDoubt()
    reach = None if spread is None or origin != "repeated readings" else spread.correlation
    return ReflectanceDoubt(
        repeatability=amount,
        correlation_nm=_first(stated.correlation, reach, base.correlation_nm, CORRELATION_NM),
        scale=_first(stated.agreement_scale, base.scale),
        zero=_first(None if stated.agreement_zero is None else stated.agreement_zero / scale, base.zero),
        wavelength_nm=_first(stated.agreement_wavelength, base.wavelength_nm),
        readings=many,
        instrument=stated.instrument,
        stated=origin or _origin(stated),
    )


def _class_repeatability(kind: InstrumentClass, spectral: bool) -> float | Array:
    return kind.reflectance.repeatability if spectral else kind.colorimetry.repeatability_de


def _origin(stated: StatedDoubt) -> str:
    return "file" if stated.kind is None else "class"


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)


def _check_kind(stated: StatedDoubt, spectral: bool, problems: Problems) -> None:
    """Statements about curves in a file without, and about L*, a*, b* in a file with them."""
    lines = dict(stated.lines)
    for key in AMOUNTS:
        if getattr(stated, key) is None or (key in _OF_CURVES) == spectral:
            continue
        problems.add(
            f"{key} is about {'curves' if key in _OF_CURVES else 'L*, a*, b*'}, and the file has "
            + ("curves" if spectral else "none"),
            line=lines.get(key),
            field=key,
            expected="agreement_scale, agreement_zero, agreement_wavelength"
            if spectral
            else "agreement, in units of L*, a*, b*",
        )


def doubt_statements(doubt: SamplesDoubt) -> dict[str, str]:
    """What a file states of ``doubt`` as a whole, in reflectance factor or units of L*, a*, b*."""
    made: dict[str, float] = {}
    if isinstance(doubt, ReflectanceDoubt):
        if np.any(np.asarray(doubt.repeatability) > 0.0):
            made["correlation"] = doubt.correlation_nm
        made |= {"agreement_scale": doubt.scale, "agreement_zero": doubt.zero}
        made["agreement_wavelength"] = doubt.wavelength_nm
        amount = doubt.repeatability
    else:
        made["agreement"] = doubt.agreement_de
        amount = doubt.repeatability_de
    said = {key: repr(float(value)) for key, value in made.items() if value or key == "correlation"}
    if np.ndim(amount) == 0 and float(amount) > 0.0:
        said["repeatability"] = repr(float(amount))
    if np.ndim(doubt.readings) == 0 and int(doubt.readings) > 1:
        said["readings"] = str(int(doubt.readings))
    if doubt.instrument.strip():
        said["instrument_id"] = " ".join(doubt.instrument.split())
    return said


def doubt_columns(doubt: SamplesDoubt) -> dict[str, list[str]]:
    """What a file says of ``doubt`` row by row. A repeatability by band becomes the root of its mean square."""
    said = {}
    amount = np.asarray(doubt.repeatability if isinstance(doubt, ReflectanceDoubt) else doubt.repeatability_de)
    if amount.ndim:
        rows = amount if amount.ndim == 1 else np.sqrt((amount**2).mean(axis=1))
        said["repeatability"] = [repr(value) for value in rows.tolist()]
    if np.ndim(doubt.readings):
        said["readings"] = [str(value) for value in np.asarray(doubt.readings).tolist()]
    return said
