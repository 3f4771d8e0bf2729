"""The job file's tables, version 1: which keys there are, of which kind, and what must go together.

Pydantic checks each table by itself; :func:`check_table` turns what it finds into our own words. A table that
is right is used further even when its neighbour is wrong, so that a person hears of all mistakes at once.
What needs other tables or files (a display that an approval names) is checked in :mod:`.load`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar, get_args

from pydantic import Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from screenproof.errors import Problem, nearest
from screenproof.jobs.eye_schema import (
    DoubtTable,
    ObjectInstrumentTable,
    ObserverTable,
    PopulationTable,
    ScreenInstrumentTable,
    WithInstrument,
)
from screenproof.jobs.ink_schema import InksTable, PressTable, RecipeTable, StockTable
from screenproof.jobs.positions import Path, line_of, spelled
from screenproof.jobs.schema_kinds import Fraction, NotNegative, Positive, Table, Text, exactly_one, refused

__all__ = [
    "LISTS",
    "OPTIONAL",
    "TABLES",
    "TOP_KEYS",
    "ApprovalTable",
    "DisplayTable",
    "DoubtTable",
    "InksTable",
    "LightTable",
    "ObjectInstrumentTable",
    "ObserverTable",
    "OutputTable",
    "PairTable",
    "PopulationTable",
    "PressTable",
    "RecipeTable",
    "RoomTable",
    "SamplesTable",
    "ScreenInstrumentTable",
    "StockTable",
    "Table",
    "ViewingTable",
    "check_table",
    "nearest",
    "unknown_key",
]

Basis = Literal["white", "absolute", "appearance"]
Adaptation = Literal["cat16", "bradford"]
Surround = Literal["average", "dim", "dark"]
Bits = Literal[8, 10, 12, 16]
ObjectWhite = Literal["diffuser", "stock"]
Patches = Literal["tiff", "png", "none"]

ALL = "/*"
"""Behind a group's name: all of its samples."""


class ViewingTable(Table):
    """``[viewing]``: the situation in which objects and screens are compared."""

    light: Text = "D50"
    observer: Text = "1931-2"
    basis: Basis = "white"
    object_white: ObjectWhite = "diffuser"
    adaptation: Adaptation = "cat16"
    bits: Bits = 8
    surround: Surround = "average"


class SamplesTable(WithInstrument):
    """``[[samples]]``: one file of measured samples."""

    file: Text
    group: Text | None = None
    stock: Text | None = None
    only: Annotated[list[Text], Field(min_length=1)] | None = None
    instrument: ObjectInstrumentTable | None = None
    uv_excluded: Text | None = None
    incandescent: Text | None = None

    @model_validator(mode="after")
    def _without_uv_first(self) -> SamplesTable:
        if self.incandescent is not None and self.uv_excluded is None:
            raise refused(
                "incandescent (M0) readings alone do not tell what a brightener does",
                wanted="readings without ultraviolet (M2) beside them",
                mend="add uv_excluded = ..., or remove incandescent",
            )
        return self


class RoomTable(Table):
    """``room`` of a display: the light that falls on its screen [lx] and the share the screen reflects."""

    illuminance: NotNegative
    light: Text = "D50"
    reflectance: Fraction


DISPLAY_SOURCES = ("standard", "profile", "readings", "technology", "primaries")


class DisplayTable(WithInstrument):
    """``[[displays]]``: a display from a standard, a profile, readings, a technology, or primaries' spectra."""

    name: Text
    label: Text | None = None
    standard: Text | None = None
    profile: Text | None = None
    readings: Text | None = None
    technology: Text | None = None
    primaries: Text | None = None
    curve: Text | None = None
    luminance: Positive | None = None
    black: NotNegative | None = None
    bits: Bits | None = None
    room: RoomTable | None = None
    instrument: ScreenInstrumentTable | None = None

    @model_validator(mode="after")
    def _one_source(self) -> DisplayTable:
        exactly_one(self, DISPLAY_SOURCES)
        unread = "standard" if self.standard else "technology" if self.technology else None
        if self.instrument is not None and unread is not None:
            raise refused(
                f"an instrument is named, but a display from a {unread} was not read with any",
                wanted="an instrument beside readings, profile or primaries",
                mend="remove instrument, or give the readings of this display",
            )
        for key in ("curve", "black"):
            if getattr(self, key) is not None and (self.profile or self.readings):
                source = "profile" if self.profile else "readings"
                raise PydanticCustomError(
                    "not_with",
                    "{said}",
                    {
                        "said": f"{key} cannot be set: the {source} already say{'s' * (source == 'profile')} it",
                        "mend": f"leave {key} out, or take standard, technology or primaries as the source",
                    },
                )
        if self.black is not None and self.luminance is not None and self.black >= self.luminance:
            raise PydanticCustomError(
                "black",
                "{said}",
                {
                    "said": f"black is {self.black:g} cd/m2, not below the white's {self.luminance:g} cd/m2",
                    "mend": "give the luminance of black in cd/m2, such as 0.2",
                },
            )
        return self


class LightTable(Table):
    """``[[lights]]``: a standard light, or a measured one from a file."""

    name: Text
    standard: Text | None = None
    file: Text | None = None
    illuminance: Positive | None = None
    without_uv: bool = False

    @model_validator(mode="after")
    def _one_source(self) -> LightTable:
        exactly_one(self, ("standard", "file"))
        return self


class ApprovalTable(Table):
    """``[[approvals]]``: code values that somebody approved on a display, the sample that is to be that colour, or
    both."""

    name: Text
    display: Text | None = None
    code: Annotated[list[Annotated[int, Field(ge=0)]], Field(min_length=3, max_length=3)] | None = None
    bits: Bits = 8
    sample: Text | None = None
    tolerance: Text | None = None

    @model_validator(mode="after")
    def _code_on_a_display(self) -> ApprovalTable:
        if (self.display is None) != (self.code is None):
            there, missing = ("display", "code") if self.code is None else ("code", "display")
            raise refused(f"{there} is given without {missing}", mend=f"add {missing} = ...")
        if self.display is None and self.sample is None:
            raise refused(
                "nothing is approved", wanted="display and code, or sample, or all three", mend="add display = ..."
            )
        return self

    @model_validator(mode="after")
    def _code_in_range(self) -> ApprovalTable:
        top = 2**self.bits - 1
        if self.code is not None and max(self.code) > top:
            raise PydanticCustomError(
                "code",
                "{said}",
                {
                    "said": f"the code {self.code} is out of range for {self.bits} bits",
                    "wanted": f"three integers from 0 to {top}",
                    "mend": "correct the code, or set bits to the depth that it was read at",
                },
            )
        return self


class PairTable(Table):
    """``[[pairs]]``: two samples that are to match; or all of two groups, each with its namesake ("group/*")."""

    name: Text
    a: Text
    b: Text
    tolerance: Text | None = None

    @property
    def groups(self) -> tuple[str, str] | None:
        """The two groups whose samples are to be paired by name; None for a pair of two samples."""
        return (self.a[:-2], self.b[:-2]) if self.a.endswith(ALL) and self.b.endswith(ALL) else None

    @model_validator(mode="after")
    def _two_samples(self) -> PairTable:
        if self.a == self.b:
            raise PydanticCustomError(
                "pair",
                "{said}",
                {
                    "said": f"a and b are the same {'group' if self.groups else 'sample'} {self.a!r}",
                    "mend": "name two groups" if self.groups else "name two samples",
                },
            )
        if self.a.endswith(ALL) != self.b.endswith(ALL):
            whole, one = ("a", "b") if self.a.endswith(ALL) else ("b", "a")
            raise refused(
                f"{whole} is a whole group and {one} is one sample",
                wanted="two samples, or two groups as 'aims/*' and 'proof/*'",
                mend=f"write {one} = 'group/*' too, or name one sample in {whole}",
            )
        return self


class OutputTable(Table):
    """``[output]``: the folder that is written, beside the job unless its path is absolute."""

    folder: Text = "out"
    patches: Patches = "tiff"
    page: bool = True


TABLES: dict[str, type[Table]] = {"viewing": ViewingTable, "output": OutputTable, "doubt": DoubtTable}
OPTIONAL: dict[str, type[Table]] = {"population": PopulationTable}
"""Tables that mean nothing as long as they are not written."""
LISTS: dict[str, type[Table]] = {
    "samples": SamplesTable,
    "displays": DisplayTable,
    "lights": LightTable,
    "observers": ObserverTable,
    "approvals": ApprovalTable,
    "pairs": PairTable,
    "stocks": StockTable,
    "inks": InksTable,
    "presses": PressTable,
    "recipes": RecipeTable,
}
TOP_KEYS = ("version", "title", "note", *TABLES, *OPTIONAL, *LISTS, "tolerances")

T = TypeVar("T", bound=Table)


def unknown_key(key: str, known: tuple[str, ...], file: str, lines: Mapping[Path, int], path: Path) -> Problem:
    """The problem of a key that is no key of its table, with the nearest that is."""
    near = nearest(key, known)
    return Problem(
        f"unknown key {key!r}",
        file,
        line_of(dict(lines), path),
        spelled(path),
        expected=", ".join(known),
        mend=f"did you mean {near!r}?" if near else "remove it",
    )


def check_table(
    model: type[T], raw: object, file: str, lines: dict[Path, int], path: Path, problems: list[Problem]
) -> T | None:
    """The table when it is right; otherwise None, and a problem per mistake is appended to ``problems``."""
    if not isinstance(raw, dict):
        what = f"{_said(raw)} stands where a table is needed"
        problems.append(
            Problem(what, file, line_of(lines, path), spelled(path), mend=f"write it as [{_header(path)}]")
        )
        return None
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        for item in error.errors(include_url=False):
            problems.append(_problem(model, item, file, lines, path))
        return None


def _header(path: Path) -> str:
    names = [part for part in path if isinstance(part, str)]
    inside = ".".join(names)
    return f"[{inside}]" if isinstance(path[-1], int) else inside


def _said(value: object) -> str:
    """A value named with its kind in TOML's words."""
    if isinstance(value, bool):
        return f"the boolean {str(value).lower()}"
    if isinstance(value, (int, float)):
        return f"the number {value}"
    if isinstance(value, str):
        return f"the text {value!r}" if len(value) < 60 else f"a text of {len(value)} characters"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, dict) else f"{value!r}"


_KINDS = {
    "string_type": "a text in quotes",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "dict_type": "a table",
}


def _inner(model: type[Table], path: Path) -> type[Table]:
    """The table within a table to which a path of keys and indices leads."""
    for part in path:
        if isinstance(part, str) and part in model.model_fields:
            model = _table_of(model.model_fields[part].annotation) or model
    return model


def _table_of(kind: object) -> type[Table] | None:
    """The table that a type is, or holds: ``RoomTable | None``, ``list[OverprintTable]``."""
    if isinstance(kind, type) and issubclass(kind, Table):
        return kind
    return next((found for part in get_args(kind) if (found := _table_of(part)) is not None), None)


def _problem(model: type[Table], item: Any, file: str, lines: dict[Path, int], path: Path) -> Problem:
    """One finding of pydantic in our own words."""
    kind, context, value = item["type"], item.get("ctx", {}), item["input"]
    here: Path = (*path, *item["loc"])
    line, field = line_of(lines, here), spelled(here)
    if kind == "extra_forbidden":
        inner = _inner(model, item["loc"][:-1])
        return unknown_key(str(item["loc"][-1]), tuple(inner.model_fields), file, lines, here)
    if kind == "missing":
        return Problem("this key is missing", file, line, field, mend=f"add {item['loc'][-1]} = ...")
    if kind in _KINDS:
        return Problem(f"{_said(value)} is of the wrong kind", file, line, field, expected=_KINDS[kind])
    if kind == "literal_error":
        choices = context["expected"].replace("'", "").replace(" or ", ", ")
        near = nearest(value, choices.split(", ")) if isinstance(value, str) else None
        mend = f"did you mean {near!r}?" if near else None
        return Problem(f"{_said(value)} is not one of the choices", file, line, field, choices, mend)
    if kind in ("string_too_short", "string_pattern_mismatch"):
        return Problem(
            "the text is empty or holds a zero character",
            file,
            line,
            field,
            mend="fill it in, or leave the key out",
        )
    if kind in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        wanted = f"at least {least}" if least is not None else f"at most {most}"
        if field.endswith("code"):
            wanted = "three integers: red, green, blue"
        return Problem(f"{_said(value)} entries is of the wrong length", file, line, field, wanted)
    bounds = {
        "greater_than": "a number above {gt:g}",
        "greater_than_equal": "a number of {ge:g} or more",
        "less_than_equal": "a number of {le:g} or less",
        "finite_number": "a finite number",
    }
    if kind in bounds:
        return Problem(f"{_said(value)} is out of range", file, line, field, bounds[kind].format(**context))
    if "said" in context:
        return Problem(context["said"], file, line, field, context.get("wanted"), context.get("mend"))
    return Problem(item["msg"], file, line, field)
