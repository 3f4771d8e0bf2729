"""Lists of tints: what is to be printed on each channel of a press, one row for each patch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from screenproof.errors import Note, nearest
from screenproof.formats._fields import (
    ID_FIELDS,
    NAME_FIELDS,
    READINGS_FIELDS,
    REPEATABILITY_FIELDS,
    band_nm,
    classify,
    plain,
)
from screenproof.formats._names import unique_names
from screenproof.formats._stated import tint_scale, unit_of
from screenproof.formats._text import Problems, number, split_selector
from screenproof.formats.columns_by_name import NamedColumns, read_columns
from screenproof.spectra import Array

_LONG = {"C": ("CYAN",), "M": ("MAGENTA",), "Y": ("YELLOW",), "K": ("BLACK", "KEY")}
_NO_INK = NAME_FIELDS | ID_FIELDS | READINGS_FIELDS | REPEATABILITY_FIELDS
_STRAY = 1e-6


@dataclass(frozen=True, eq=False)
class TintList:
    """Tints (n, c) 0..1 of the ``channels``, one row for each of ``names``."""

    names: tuple[str, ...]
    channels: tuple[str, ...]
    tints: Array
    source: str = ""
    notes: tuple[Note, ...] = ()


def read_tints(path: str | Path, channels: Sequence[str]) -> TintList:
    """The tints of a CSV or CGATS file for the ``channels`` of a press.

    A column is found by the channel's name, also as ``CMYK_C`` or ``Cyan`` for C; columns ``6CLR_1`` to ``6CLR_6``
    are taken in their order for a press of six channels. The unit is stated by ``# tints: percent`` or
    ``fraction``, is percent in CGATS, and else told from numbers above 1. Readings beside the tints are left
    alone, so that a characterisation serves as a list too.

    Raises InputError with every problem: a channel without a column, a column with ink that the press does not
    have, tints out of range, numbers of 0 and 1 alone in a file that states no unit.
    """
    file = str(split_selector(path)[0])
    problems = Problems(file)
    sheet = read_columns(path, "tints", "a list of tints", problems)
    places = _places(sheet, tuple(channels), problems)
    problems.raise_any()
    label, identifier = (
        next((i for i, name in enumerate(sheet.names) if plain(name) in known and i not in places), None)
        for known in (NAME_FIELDS, ID_FIELDS)
    )
    named = unique_names(
        [] if label is None else sheet.texts(label),
        [] if identifier is None else sheet.texts(identifier),
        sheet.lines,
        lambda i: [cell for c, cell in enumerate(sheet.rows[i][1]) if c != identifier],
        problems,
        sheet.notes,
    )
    sheet.rows = [sheet.rows[i] for i in named.rows]
    values = sheet.numbers(places, problems)
    problems.raise_any()
    scale = _scale(sheet, values, problems)
    wrong = (values < -_STRAY * scale) | (values > scale * (1.0 + _STRAY))
    for row, channel in np.argwhere(wrong):
        problems.add(
            f"a tint of {values[row, channel]:g} on a scale of 0 to {scale:g}",
            line=sheet.lines[row],
            field=sheet.names[places[channel]],
            expected=f"0 (bare stock) to {scale:g} (solid)",
            mend="correct it, or state '# tints: percent'" if scale == 1.0 else "correct it",
        )
    problems.raise_any()
    tints = np.clip(values / scale, 0.0, 1.0)
    return TintList(tuple(named.names), tuple(channels), tints, file, tuple(sheet.notes))


def _places(sheet: NamedColumns, channels: tuple[str, ...], problems: Problems) -> list[int]:
    """The column of each channel. Channels without one, and columns of ink without a channel, are problems."""
    count = len(channels)
    found = [
        sheet.column(name, f"CMYK_{name}", f"CMY_{name}", *_LONG.get(name.upper(), ()), f"{count}CLR_{i + 1}")
        for i, name in enumerate(channels)
    ]
    taken = [place for place in found if place is not None]
    strange = [i for i in range(len(sheet.names)) if i not in taken and _is_ink(sheet, i)]
    wanted = ", ".join(channels)
    missing = [name for name, place in zip(channels, found, strict=True) if place is None]
    for i in strange:
        near = nearest(plain(sheet.names[i]), [plain(name) for name in missing], 0.5)
        meant = next((name for name in missing if plain(name) == near), None)
        problems.add(
            f"the press has no channel {sheet.names[i]!r}",
            line=sheet.header_line,
            field=sheet.names[i],
            expected=f"channels {wanted}",
            mend=f"did you mean {meant!r}?" if meant else "remove the column, or take the press with this ink",
        )
    for name in missing:
        problems.add(
            f"no column for the channel {name}",
            line=sheet.header_line,
            field=name,
            expected=f"one column for each of {wanted}",
            mend="add the column; 0 where the ink is not printed",
        )
    return taken


def _is_ink(sheet: NamedColumns, column: int) -> bool:
    """Whether a column that no channel took holds ink: numbers above 0, and neither readings nor numbering."""
    name = plain(sheet.names[column])
    if name in _NO_INK or band_nm(name) is not None or name.startswith("SPECTRAL_"):
        return False
    fields = classify(sheet.names, Problems(sheet.file))
    triples = (fields.xyz, fields.lab, fields.xyy, fields.lch)
    measured = name.startswith(("XYZ", "LAB", "D_", "STDEV", "LCH"))
    if measured or any(column in (triple or ()) for triple in triples):
        return False
    values = [number(cells[column], comma=sheet.comma) for _, cells in sheet.rows]
    return all(value is not None for value in values) and any(value for value in values)


def _scale(sheet: NamedColumns, values: Array, problems: Problems) -> float:
    """What stands for a solid: stated, by the standard, or told from the numbers and said."""
    scale = tint_scale(sheet.found, problems)
    bare = not any(band_nm(name) is not None for name in sheet.names)
    if scale is None and bare and (unit := sheet.stated("unit")) is not None and unit_of(unit) is not None:
        scale = 1.0 if unit_of(unit) == "fraction" else 100.0
    if scale is None and (said := sheet.stated("device_scale")) is not None:
        scale = number(said)
    if scale is not None:
        return scale
    highest = float(values.max())
    if sheet.percent:
        return 100.0
    if highest <= 1.0 and bool(np.isin(values, (0.0, 1.0)).all()) and highest > 0.0:
        problems.add(
            "tints of 0 and 1 alone: a solid, or one percent?",
            line=sheet.header_line,
            expected="a statement of the unit",
            mend="put '# tints: fraction' or '# tints: percent' above the column names",
        )
        problems.raise_any()
    unit = "percent" if highest > 1.0 else "fraction"
    sheet.notes.append(
        Note(
            "assumed",
            f"no unit of the tints is stated; up to {highest:g}, they are taken for "
            + ("percent" if unit == "percent" else "fractions"),
            file=sheet.file,
            mend=f"state '# tints: {unit}'",
        )
    )
    return 100.0 if unit == "percent" else 1.0
