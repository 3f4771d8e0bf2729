"""What can be asked, declared once: help, unit, default and bounds of every field, checked the same at every door.

A :class:`Form` is a frozen dataclass whose fields are made by :func:`ask`. A question, a group of options and a
table of a job file are forms. The command line makes options of them, a job file its keys, Python its keywords,
and the reference its rows; :func:`filled` checks what came through any of these doors.

Kinds of fields: ``str``, ``int``, ``float``, ``bool``; a thing that is named or given (:data:`SamplesLike` ...);
``Literal[...]`` for a few words or numbers; another form (a table in a table); each of them as ``X | None``, and
as ``tuple[X, ...]`` for several; and ``dict[str, float]`` for amounts by name.
"""

from __future__ import annotations

import dataclasses
import math
import types
import typing
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, dataclass_transform, get_args, get_origin

from screenproof.errors import InputError, Problem, did_you_mean


class Thing:
    """Something that is named, by a name or a file, or given as it is."""


if TYPE_CHECKING:
    from pathlib import Path

    from screenproof.additive import Display
    from screenproof.formats import LibraryFile
    from screenproof.spectra import Light, Observer, Samples
    from screenproof.subtractive import Press

    SamplesLike = str | Path | Samples
    LightLike = str | Path | Light
    ObserverLike = str | Path | Observer
    DisplayLike = str | Path | Display
    PressLike = str | Path | Press
    LibraryLike = str | Path | LibraryFile
    FileLike = str | Path
else:

    class SamplesLike(Thing):
        """Measured samples, or the file that they are in."""

    class LightLike(Thing):
        """A light, its name, or its file."""

    class ObserverLike(Thing):
        """An observer, its name, or its file."""

    class DisplayLike(Thing):
        """A display, its name, or its file."""

    class PressLike(Thing):
        """A press, or its file."""

    class LibraryLike(Thing):
        """A library of pigments or inks, or its file."""

    class FileLike(Thing):
        """A file."""


Parse = Callable[[Any, str, list[Problem]], Any]
"""Makes a value of what was written: of the raw value, its place, and the list that takes problems."""


@dataclass(frozen=True)
class Ask:
    """What is said of a field. See :func:`ask`."""

    help: str
    metavar: str = ""
    key: str = ""
    short: str = ""
    unit: str = ""
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    choices: tuple[str | int, ...] = ()
    count: int | None = None
    least: int = 1
    wanted: str = ""
    parse: Parse | None = None
    positional: bool = False
    commas: bool = False
    spliced: bool = False


UNITS = {"DE00": "CIEDE2000", "CD/M2": "cd/m2", "LUX": "lx", "DEGREES": "degrees", "PERCENT": "%"}
"""Units by the metavars that are ones."""


def ask(
    help: str = "",
    *,
    default: Any = dataclasses.MISSING,
    metavar: str = "",
    key: str = "",
    short: str = "",
    unit: str = "",
    above: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
    count: int | None = None,
    least: int = 1,
    wanted: str = "",
    parse: Parse | None = None,
    positional: bool = False,
    commas: bool = False,
) -> Any:
    """A field of a form.

    help: one sentence for the option and the reference. default: without one the field must be given. metavar: how
    its value is called in the help; one of :data:`UNITS` says its unit. key: its name as an option and in a job,
    where that is not the field's own (a word of Python such as 'from'). short: its one-letter option. unit: of a
    number. above, at_least, at_most: its bounds. count: how many values a list must have; least: at the least.
    wanted: what is expected, where these would not say it well. parse: makes the value of what was written.
    positional: stands without an option's name, in Python too. commas: a text is several names with commas between
    them.
    """
    said = Ask(
        help=help,
        metavar=metavar,
        key=key,
        short=short,
        unit=unit or UNITS.get(metavar, ""),
        above=above,
        at_least=at_least,
        at_most=at_most,
        count=count,
        least=least,
        wanted=wanted,
        parse=parse,
        positional=positional,
        commas=commas,
    )
    return dataclasses.field(default=default, metadata={"ask": said})


F = TypeVar("F", bound="Form")


def group(form: type[F]) -> F:
    """A group of fields, declared once and used by several questions: its fields stand among the others."""
    made: F = dataclasses.field(default_factory=form, metadata={"ask": Ask("", spliced=True)})
    return made


@dataclass_transform(eq_default=False, frozen_default=True, kw_only_default=True, field_specifiers=(ask, group))
class Form:
    """The base of what can be filled in. A subclass becomes a frozen dataclass with keyword fields by itself."""

    def __init_subclass__(cls, **given: Any) -> None:
        super().__init_subclass__(**given)
        dataclass(frozen=True, kw_only=True, eq=False)(cls)

    def faults(self) -> Iterable[Problem]:
        """What does not go together; ``field`` of a problem is the field's name, None for the form as a whole."""
        return ()

    def given(self, name: str) -> bool:
        """Whether a field has another value than its default."""
        found = next(item for item in fields_of(type(self)) if item.name == name)
        return bool(getattr(self, name) != found.default)


@dataclass(frozen=True)
class FormField:
    """A field of a form with its kind: ``kind`` is the class of one value, ``many`` whether there are several.

    path: the groups that it stands in, from the outside.
    """

    name: str
    ask: Ask
    kind: type
    many: bool
    optional: bool
    default: Any
    path: tuple[str, ...] = ()

    @property
    def required(self) -> bool:
        """Whether it must be given."""
        return self.default is dataclasses.MISSING

    @property
    def key(self) -> str:
        """Its key in a job."""
        return self.ask.key or self.name

    @property
    def option(self) -> str:
        """Its option, ``--like-this``; a positional one is called by its metavar."""
        if self.ask.positional:
            return self.ask.metavar or self.name.upper()
        return "--" + self.key.replace("_", "-")

    @property
    def is_thing(self) -> bool:
        """Whether it is named, or given as it is."""
        return issubclass(self.kind, Thing)


def fields_of(form: type[Form]) -> tuple[FormField, ...]:
    """The fields of a form in their order; those of its groups stand among them."""
    found = _KNOWN.get(form)
    if found is None:
        found = _KNOWN[form] = _items(form)
    return found


_KNOWN: dict[Any, tuple[FormField, ...]] = {}


def _items(form: type[Form]) -> tuple[FormField, ...]:
    hints = typing.get_type_hints(form)
    found: list[FormField] = []
    for one in dataclasses.fields(form):  # type: ignore[arg-type]
        said: Ask = one.metadata["ask"]
        if said.spliced:
            inner = fields_of(hints[one.name])
            found += [dataclasses.replace(item, path=(one.name, *item.path)) for item in inner]
            continue
        kind, many, optional, choices = _kind(hints[one.name])
        said = dataclasses.replace(said, choices=choices) if choices else said
        default = one.default if one.default_factory is dataclasses.MISSING else one.default_factory()
        found.append(FormField(one.name, said, kind, many, optional, default))
    return tuple(found)


def _kind(hint: Any) -> tuple[type, bool, bool, tuple[Any, ...]]:
    """The class of one value, whether there are several, whether None will do, and all that it may be."""
    optional, many = False, False
    if get_origin(hint) in (typing.Union, types.UnionType):
        parts = [part for part in get_args(hint) if part is not type(None)]
        optional, hint = len(parts) < len(get_args(hint)), parts[0]
    if get_origin(hint) is tuple:
        many, hint = True, get_args(hint)[0]
    if get_origin(hint) is typing.Literal:
        return type(get_args(hint)[0]), many, optional, get_args(hint)
    return get_origin(hint) or hint, many, optional, ()


def filled(form: type[F], raw: Mapping[str, Any]) -> F:
    """The form with the values of ``raw``, by the fields' names (or their keys); a None counts as not given.

    Kinds are not coerced. Raises InputError with every problem; ``field`` of each is the path of names to it, with
    dots between and list places, from 1, in brackets.
    """
    problems: list[Problem] = []
    made = _filled(form, raw, "", problems)
    if made is not None and not problems:
        problems += made.faults()
        problems += [fault for path in _groups(form) for fault in _at(made, path).faults()]
    if problems or made is None:
        raise InputError(problems)
    return made


def _filled(form: type[F], raw: Mapping[str, Any], place: str, problems: list[Problem]) -> F | None:
    items = fields_of(form)
    known = {item.key: item for item in items} | {item.name: item for item in items}
    before = len(problems)
    values: dict[tuple[str, ...], Any] = {}
    for key, value in raw.items():
        item = known.get(key)
        here = f"{place}.{key}" if place else key
        if item is None:
            names = [one.key for one in items]
            near = did_you_mean(key, names)
            problems.append(
                Problem(f"unknown key {key!r}", field=here, expected=", ".join(names), mend=near or "remove it")
            )
        elif value is not None:
            values[(*item.path, item.name)] = _value(item, value, here, problems)
    for item in items:
        if item.required and (*item.path, item.name) not in values:
            here = f"{place}.{item.key}" if place else item.key
            problems.append(Problem("this key is missing", field=here, mend=f"add {item.key} = ..."))
    if len(problems) > before:
        return None
    made = _nested(form, values, ())
    if place:
        faults = made.faults()
        problems += [dataclasses.replace(p, field=f"{place}.{p.field}" if p.field else place) for p in faults]
    return made


def _nested(form: type[F], values: Mapping[tuple[str, ...], Any], path: tuple[str, ...]) -> F:
    """The form with its groups made of the values whose path begins with ``path``."""
    hints = typing.get_type_hints(form)
    given: dict[str, Any] = {}
    for one in dataclasses.fields(form):  # type: ignore[arg-type]
        here = (*path, one.name)
        if one.metadata["ask"].spliced:
            given[one.name] = _nested(hints[one.name], values, here)
        elif here in values:
            given[one.name] = values[here]
    return form(**given)


def _groups(form: type[Form]) -> set[tuple[str, ...]]:
    return {item.path[: end + 1] for item in fields_of(form) for end in range(len(item.path))}


def _at(form: Form, path: tuple[str, ...]) -> Form:
    for name in path:
        form = getattr(form, name)
    return form


def _value(item: FormField, value: Any, here: str, problems: list[Problem]) -> Any:
    """The value of a field, checked; a problem is appended for each mistake in it."""
    said_of = item.ask
    if said_of.parse is not None:
        return said_of.parse(value, here, problems)
    if issubclass(item.kind, dict):
        if not isinstance(value, Mapping):
            problems.append(wrong_kind(value, here, "a table"))
            return {}
        return {name: _number(item, amount, f"{here}.{name}", problems) for name, amount in value.items()}
    if not item.many:
        return _one(item, value, here, problems)
    if isinstance(value, str) and said_of.commas:
        value = [part.strip() for part in value.split(",") if part.strip()]
        if not value:
            wanted = said_of.wanted or f"names with commas between, such as {said_of.metavar}"
            problems.append(Problem("no name is given", field=here, expected=wanted))
            return ()
    elif item.is_thing and not isinstance(value, (list, tuple)):
        value = [value]
    if not isinstance(value, (list, tuple)):
        problems.append(wrong_kind(value, here, "a list in square brackets"))
        return ()
    least, most = (said_of.least, len(value)) if said_of.count is None else (said_of.count, said_of.count)
    if not least <= len(value) <= most:
        wanted = said_of.wanted or (f"at least {least}" if len(value) < least else f"at most {most}")
        problems.append(Problem(f"{said(value)} entries is of the wrong length", field=here, expected=wanted))
        return ()
    return tuple(_one(item, each, f"{here}[{place}]", problems) for place, each in enumerate(value, 1))


def _one(item: FormField, value: Any, here: str, problems: list[Problem]) -> Any:
    kind, bounds = item.kind, item.ask
    if issubclass(kind, Form):
        if isinstance(value, kind):
            return value
        if isinstance(value, str) and hasattr(kind, "of_text"):
            value = kind.of_text(value)
        if not isinstance(value, Mapping):
            problems.append(wrong_kind(value, here, "a table"))
            return None
        return _filled(kind, value, here, problems)
    if item.is_thing:
        if isinstance(value, str) and not _says_something(value):
            problems.append(_empty(here))
        elif isinstance(value, (bool, int, float, list, tuple, dict)):
            problems.append(wrong_kind(value, here, "a text in quotes"))
        return value
    if kind is bool:
        if not isinstance(value, bool):
            problems.append(wrong_kind(value, here, "true or false"))
        return value
    if kind is str:
        if not isinstance(value, str):
            problems.append(wrong_kind(value, here, "a text in quotes"))
        elif not _says_something(value):
            problems.append(_empty(here))
        elif bounds.choices and value not in bounds.choices:
            problems.append(not_a_choice(value, here, bounds.choices))
        return value
    return _number(item, value, here, problems)


def _number(item: FormField, value: Any, here: str, problems: list[Problem]) -> Any:
    """A number within its bounds; whole where the field is an int. Numbers of NumPy count as numbers."""
    whole, bounds = item.kind is int, item.ask
    plain = value.item() if hasattr(value, "dtype") and getattr(value, "ndim", 1) == 0 else value
    if isinstance(plain, bool) or not isinstance(plain, int if whole else (int, float)):
        problems.append(wrong_kind(value, here, "a whole number" if whole else "a number"))
        return None
    found = plain if whole else float(plain)
    if bounds.choices:
        if found not in bounds.choices:
            problems.append(not_a_choice(plain, here, bounds.choices))
        return found
    wanted = ""
    if not math.isfinite(found):
        wanted = "a finite number"
    elif bounds.above is not None and found <= bounds.above:
        wanted = f"a number above {bounds.above:g}"
    elif bounds.at_least is not None and found < bounds.at_least:
        wanted = f"a number of {bounds.at_least:g} or more"
    elif bounds.at_most is not None and found > bounds.at_most:
        wanted = f"a number of {bounds.at_most:g} or less"
    if wanted:
        problems.append(Problem(f"{said(plain)} is out of range", field=here, expected=bounds.wanted or wanted))
    return found


def _says_something(text: str) -> bool:
    return bool(text.strip()) and "\x00" not in text


def _empty(here: str) -> Problem:
    return Problem(
        "the text is empty or holds a zero character", field=here, mend="fill it in, or leave the key out"
    )


def wrong_kind(value: object, here: str, expected: str) -> Problem:
    """The problem of a value of another kind than is expected."""
    return Problem(f"{said(value)} is of the wrong kind", field=here, expected=expected)


def not_a_choice(value: object, here: str, choices: Sequence[str | int]) -> Problem:
    """The problem of a value that is not one of those that are possible, with the nearest that is."""
    near = did_you_mean(value, [str(one) for one in choices]) if isinstance(value, str) else None
    expected = ", ".join(str(one) for one in choices)
    return Problem(f"{said(value)} is not one of the choices", field=here, expected=expected, mend=near)


def said(value: object) -> str:
    """A value named with its kind, in the words of a job file."""
    if isinstance(value, bool):
        return f"the boolean {str(value).lower()}"
    if isinstance(value, (int, float)):
        return f"the number {value}"
    if isinstance(value, str):
        return f"the text {value!r}" if len(value) < 60 else f"a text of {len(value)} characters"
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, Mapping) else f"{value!r}"


def walk(form: Form) -> Iterator[tuple[FormField, Any]]:
    """Every field of a form with its value."""
    for item in fields_of(type(form)):
        yield item, getattr(_at(form, item.path), item.name)
