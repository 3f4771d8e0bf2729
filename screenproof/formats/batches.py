"""What was weighed into a batch: one component a row, with its amount."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from screenproof.errors import Note
from screenproof.formats._text import Problems, split_selector
from screenproof.formats.columns_by_name import read_columns

KILOGRAMS = {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": 0.45359237, "oz": 0.028349523125}
"""Units of amounts in kg; the pound is 0.45359237 kg by the agreement of 1959."""


@dataclass(frozen=True)
class Batch:
    """Amounts [kg] by component, as they were put in."""

    amounts: dict[str, float]
    source: str = ""
    notes: tuple[Note, ...] = ()


def read_batch(path: str | Path) -> Batch:
    """The amounts of a CSV or CGATS file with the columns ``component`` and ``amount``.

    ``# unit: kg`` (or g, mg, lb, oz) states the unit; without it kg are taken, which is said. A component that
    stands twice was added twice: its amounts are added up, which is said.

    Raises InputError with every problem: a column that is missing, a unit that is not known, an amount below 0,
    a batch of nothing.
    """
    file = str(split_selector(path)[0])
    problems = Problems(file)
    sheet = read_columns(path, "batch", "what was weighed", problems)
    name = sheet.column("component", "pigment", "colorant", "ink", "dye", "name")
    amount = sheet.column("amount", "kg", "mass", "weight", "g")
    for word, place in (("component", name), ("amount", amount)):
        if place is None:
            problems.add(
                f"no column {word!r}; columns are {', '.join(sheet.names[:6])}",
                line=sheet.header_line,
                expected="columns component and amount",
                mend=f"add the column {word!r}",
            )
    problems.raise_any()
    assert name is not None and amount is not None
    column = sheet.names[amount].strip().lower()
    unit = (sheet.stated("unit") or (column if column in KILOGRAMS else "")).lower()
    notes = list(sheet.notes)
    if not unit:
        notes.append(
            Note("assumed", "no unit of the amounts is stated; taken for kg", file=file, mend="# unit: kg")
        )
    elif unit not in KILOGRAMS:
        problems.add(
            f"amounts in {unit!r}", line=sheet.line_of("unit"), field="unit", expected=", ".join(KILOGRAMS)
        )
    values = sheet.numbers([amount], problems)[:, 0]
    amounts: dict[str, float] = {}
    for line, component, value in zip(sheet.lines, sheet.texts(name), values.tolist(), strict=True):
        if not component:
            problems.add("no component is named", line=line, expected="its name in the library")
        elif not value >= 0.0:
            if value == value:
                problems.add(f"{value:g} of {component}", line=line, field="amount", expected="0 or above")
        else:
            if component in amounts:
                notes.append(
                    Note("info", "stands twice; the amounts are added", about=component, file=file, line=line)
                )
            amounts[component] = amounts.get(component, 0.0) + value * KILOGRAMS.get(unit or "kg", 1.0)
    if not problems and not sum(amounts.values()) > 0.0:
        problems.add("a batch of nothing", line=sheet.lines[0], expected="at least one amount above 0")
    problems.raise_any()
    return Batch(amounts, file, tuple(notes))
