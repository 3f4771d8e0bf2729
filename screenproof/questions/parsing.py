"""What is written as a text on a command line and may be a list, a table or a number elsewhere: amounts by name,
codes, weights.

Each is the ``parse`` of a field (:func:`screenproof.questions.form.ask`): it takes what was written, the place,
and the list that takes problems.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from screenproof.errors import InputError, Problem
from screenproof.questions.form import wrong_kind

T = TypeVar("T")

_WEIGHT = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-z]*)")


def amounts(value: Any, here: str, problems: list[Problem]) -> dict[str, float]:
    """``Cyan=0.9,Yellow=1.1``, several such texts, or a mapping: numbers of 0 or above by name."""
    return _amounts(value, here, problems, _number, "0.9", "Cyan=0.9,Yellow=1.1")


def weights_kg(value: Any, here: str, problems: list[Problem]) -> dict[str, float]:
    """``White=8.2,Red=310g``, several such texts, or a mapping: weights [kg] by name."""
    return _amounts(value, here, problems, _kilograms, "8.2", "White=8.2,Red=310g")


def weight_kg(value: Any, here: str, problems: list[Problem]) -> float | None:
    """``250g``, ``1.5kg`` or 1.5: a weight [kg] of 0 or above."""
    found = _kilograms(value)
    if found is None or not 0.0 <= found < math.inf:
        what = f"{value} is out of range" if found is not None else f"{value!r} is no weight"
        problems.append(Problem(what, field=here, expected="a weight, such as 250g, 1.5kg or 1.5 (kg)"))
    return found


class HexCode(tuple[int, int, int]):
    """A code that was written as #rrggbb: it is one of 8 bits."""

    __slots__ = ()


def codes(value: Any, here: str, problems: list[Problem]) -> tuple[tuple[int, int, int], ...]:
    """``66,148,73``, ``#429449``, [66, 148, 73], or a list of any of these: codes (n, 3)."""
    value = _listed(value)
    several = isinstance(value, list) and _code(value) is None
    found: list[tuple[int, int, int]] = []
    for one in value if several else [value]:
        code = _code(_listed(one))
        if code is None:
            such = "three integers such as 0,128,255, or #0080ff"
            problems.append(Problem(f"{one!r} is no code", field=here, expected=such))
        else:
            found.append(code)
    return tuple(found)


def hex_faults(given: Sequence[tuple[int, int, int]], bits: int, field: str) -> Iterator[Problem]:
    """Codes that were written as #rrggbb for a depth other than 8 bits."""
    if bits != 8 and any(isinstance(one, HexCode) for one in given):
        yield Problem(f"#rrggbb is a code of 8 bits, not of {bits}", field=field, mend="write R,G,B")


def parsed(parse: Callable[[Any, str, list[Problem]], T], value: Any, here: str) -> T:
    """What a ``parse`` makes of a value. Raises InputError with every problem of it."""
    problems: list[Problem] = []
    found = parse(value, here, problems)
    if problems:
        raise InputError(problems)
    return found


def _amounts(
    value: Any,
    here: str,
    problems: list[Problem],
    read: Callable[[Any], float | None],
    one: str,
    such: str,
) -> dict[str, float]:
    pairs: list[tuple[str, Any]] = []
    value = [value] if isinstance(value, str) else value
    if isinstance(value, Mapping):
        pairs = [(str(name), amount) for name, amount in value.items()]
    elif isinstance(value, (list, tuple)) and all(isinstance(text, str) for text in value):
        for text in value:
            # A name may hold a comma: what stands before an equals sign back to the number before it is the name.
            said = re.findall(r"\s*([^=]+?)\s*=\s*([^,=]*)\s*(?:,|\Z)", text)
            if not said:
                problems.append(Problem(f"{text!r} says no amount", field=here, expected=f"such as {such}"))
            pairs += said
    else:
        problems.append(wrong_kind(value, here, f"a table, or a text such as {such}"))
    found: dict[str, float] = {}
    for name, amount in pairs:
        number = read(amount)
        if number is None:
            problems.append(Problem(f"{amount!r} is no number", field=here, expected=f"{name}={one}"))
        elif name in found:
            problems.append(Problem(f"{name} stands twice", field=here, mend="name it once"))
        elif not 0.0 <= number < math.inf:
            problems.append(Problem(f"{name}={amount}", field=here, expected="a number, 0 or above"))
        else:
            found[name] = number
    return found


def _number(value: Any) -> float | None:
    if isinstance(value, bool):
        return None
    try:
        return float(value)
    except (TypeError, ValueError):
        return None


def _kilograms(value: Any) -> float | None:
    """A number, or a number with a unit, in kg; None for what is neither."""
    from screenproof.formats.batches import KILOGRAMS

    written = _WEIGHT.fullmatch(value.strip().lower()) if isinstance(value, str) else None
    if written is None or not written[2]:
        return _number(value)
    return float(written[1]) * KILOGRAMS[written[2]] if written[2] in KILOGRAMS else None


def _listed(value: Any) -> Any:
    """A tuple or an array as a list."""
    if isinstance(value, tuple):
        return list(value)
    return value.tolist() if hasattr(value, "tolist") else value


def _code(value: Any) -> tuple[int, int, int] | None:
    """One code; None for what is none."""
    if isinstance(value, str):
        digits = re.fullmatch(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})", value.strip())
        if digits:
            return HexCode(int(part, 16) for part in digits.groups())
        parts = re.split(r"[,\s/]+", value.strip())
        value = [int(part) if re.fullmatch(r"[0-9]+", part) else None for part in parts]
    if not isinstance(value, list) or len(value) != 3:
        return None
    value = [_listed(part) for part in value]  # numbers of NumPy
    if any(isinstance(part, bool) or not isinstance(part, int) or part < 0 for part in value):
        return None
    return value[0], value[1], value[2]
