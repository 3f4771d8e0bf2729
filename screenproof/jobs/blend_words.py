"""What a person writes of a blend: parts and their areas, names with commas between them, lengths with a unit."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from screenproof.errors import InputError, Problem, bad

UNITS = {"um": 1e-3, "µm": 1e-3, "mm": 1.0, "cm": 10.0, "m": 1000.0, "km": 1e6, "in": 25.4, "ft": 304.8}
"""Millimetres of each unit."""

_LENGTH = re.compile(r"\s*(?P<number>[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)\s*(?P<per>/)?\s*(?P<unit>[^\s0-9./]*)\s*")
_PART = re.compile(r"\s*(?P<name>[^=]+?)\s*=\s*(?P<area>[^,=]*?)\s*(?:,|$)")
_AREA = re.compile(r"(?P<over>[-+]?[0-9.]+)(?:\s*/\s*(?P<under>[0-9.]+))?\s*(?P<unit>%|deg|°|)")

WHOLE = {"": 1.0, "%": 100.0, "deg": 360.0}
"""What all of the surface is, by the unit of the areas."""

REST = "rest"


def length_mm(text: str, option: str, *, ruling: bool = False) -> float:
    """A length such as '2mm' or '3 m' in mm; with ``ruling`` also lines per length, '60/cm', as their period.

    Raises InputError for a number without unit, an unknown unit, and a length that is not above 0.
    """
    example = "2mm, 0.5cm or 60/cm" if ruling else "3m, 120cm or 10ft"
    expected = f"a number above 0 and a unit ({', '.join(UNITS)}), such as {example}"
    found = _LENGTH.fullmatch(text)
    number = _number(found["number"]) if found else None
    if found is None or number is None or (found["per"] and not ruling):
        raise bad(f"{text!r} is no length", field=option, expected=expected)
    unit = found["unit"]
    if not unit:
        mend = f"write {text.strip()}mm if it is mm"
        raise bad(f"{text.strip()} has no unit", field=option, expected=expected, mend=mend)
    if unit not in UNITS:
        near = unit.lower() if unit.lower() in UNITS else None
        hint = f"did you mean {near!r}?" if near else None
        raise bad(f"{unit!r} is no unit of length", field=option, expected=expected, mend=hint)
    if not number > 0.0:
        raise bad(f"{text.strip()} is no length above 0", field=option, expected=expected)
    return UNITS[unit] / number if found["per"] else number * UNITS[unit]


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def parts_of(texts: Sequence[str], option: str = "--parts") -> tuple[dict[str, float], float]:
    """Names and areas of 'Blue=0.5,Yellow=0.5', and what they are to sum to.

    An area is a fraction (0.5, 1/3), a percentage (50%), an angle (180deg), or 'rest' for what is left; all in
    one unit. A name may hold commas, no '='. Sum and names are not checked here.
    Raises InputError for what cannot be read, for a name that stands twice, and for areas in several units.
    """
    problems: list[Problem] = []
    areas: dict[str, float | None] = {}
    units: dict[str, str] = {}
    for text in texts:
        for name, area in _pairs(text, option, problems):
            value, unit = _area(area)
            if unit is None:
                expected = "0.5, 1/3, 50%, 180deg or rest"
                problems.append(Problem(f"{area!r} is no area of {name}", field=option, expected=expected))
            elif name in areas:
                problems.append(Problem(f"{name} stands twice", field=option, mend="give its areas as one"))
            else:
                areas[name] = value
                if value is not None:
                    units[unit] = name
    if not problems and not areas:
        problems.append(Problem("no part is given", field=option, expected="such as Blue=0.5,Yellow=0.5"))
    if len(units) > 1:
        said = " and ".join({"": "fractions", "%": "percent", "deg": "degrees"}[unit] for unit in units)
        problems.append(Problem(f"areas in {said}", field=option, expected="one unit for all areas"))
    rests = [name for name, value in areas.items() if value is None]
    if len(rests) > 1:
        problems.append(Problem(f"the rest of {' and '.join(rests)}", field=option, expected="one rest"))
    if problems:
        raise InputError(problems)
    whole = WHOLE[next(iter(units), "")]
    left = whole - sum(value for value in areas.values() if value is not None)
    if rests and left < 0.0:
        raise bad(f"nothing is left for {rests[0]}: the others sum to {whole - left:g}", field=option,
                  expected=f"less than {whole:g} for the others")  # fmt: skip
    return {name: left if value is None else value for name, value in areas.items()}, whole


def _pairs(text: str, option: str, problems: list[Problem]) -> list[tuple[str, str]]:
    """NAME=AREA pieces of a text. A piece ends at the first comma after its '='."""
    found, at = [], 0
    while at < len(text):
        piece = _PART.match(text, at)
        if piece is None:
            mend = "put commas between the parts, and '=' between a name and its area"
            problems.append(Problem(f"{text[at:]!r} is no part", field=option, expected="NAME=AREA", mend=mend))
            break
        found.append((piece["name"], piece["area"]))
        at = piece.end()
    return found


def _area(text: str) -> tuple[float | None, str | None]:
    """The value (None for 'rest') and unit of an area; the unit is None when it cannot be read."""
    if text.lower() == REST:
        return None, ""
    found = _AREA.fullmatch(text)
    over = _number(found["over"]) if found else None
    if found is None or over is None:
        return None, None
    under = _number(found["under"]) if found["under"] else 1.0
    if not under:
        return None, None
    return over / under, "deg" if found["unit"] == "°" else found["unit"]


def names_of(texts: Sequence[str], known: Sequence[str]) -> list[str]:
    """The names of 'A,B,C', where a known name may itself hold commas. Unknown ones are given as they stand."""
    names: list[str] = []
    for text in texts:
        pieces = text.split(",")
        while pieces:
            for count in range(len(pieces), 0, -1):
                name = ",".join(pieces[:count]).strip()
                if name in known or count == 1:
                    break
            if name:
                names.append(name)
            pieces = pieces[count:]
    return names
