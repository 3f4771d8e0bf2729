"""The job file's tables: which keys there are, of which kind, and what must go together.

A table that is right is used further even when its neighbour is wrong, so that a person hears of all mistakes at
once. What needs other tables or files (a display that an approval names) is checked in :mod:`.load`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Literal, TypeVar

from screenproof.errors import InputError, Problem, did_you_mean
from screenproof.jobs.ink_schema import InksTable, PressTable, RecipeTable, StockTable
from screenproof.jobs.positions import Path, line_at, line_of, spelled
from screenproof.questions.form import Form, ask, filled, said, wrong_kind
from screenproof.questions.tables import (
    DEFAULT_COST,
    Adaptation,
    Aim,
    Basis,
    Bits,
    DisplayTable,
    DoubtTable,
    ObjectInstrumentTable,
    Surround,
    exactly_one,
)

__all__ = ["DEFAULT_COST", "LISTS", "OPTIONAL", "TABLES", "TOP_KEYS", "check_table", "unknown_key"]

EYE_KEYS = ("age", "field", "protan", "deutan", "tritan")

ALL = "/*"
"""Behind a group's name: all of its samples."""


class ViewingTable(Form):
    """``[viewing]``: the situation in which objects and screens are compared."""

    light: str = ask("The viewing light.", default="D50")
    observer: str = ask("The viewing observer.", default="cie1931")
    basis: Basis = ask("How object and screen are put side by side.", default="white")
    object_white: Literal["diffuser", "stock"] = ask("The objects' white.", default="diffuser")
    adaptation: Adaptation = ask("For the basis white.", default="cat16")
    bits: Bits = ask("Bits per channel of the codes.", default=8)
    surround: Surround = ask("Of the screen.", default="average")


class SamplesTable(Form):
    """``[[samples]]``: one file of measured samples."""

    file: str = ask("The file.")
    group: str | None = ask("What the samples are called together; the file's name unless given.", default=None)
    stock: str | None = ask("The sample that is their bare stock.", default=None)
    only: tuple[str, ...] | None = ask("Only these.", default=None)
    instrument: ObjectInstrumentTable | None = ask("What they were read with.", default=None)
    uv_excluded: str | None = ask("Readings of the same samples without ultraviolet (M2).", default=None)
    incandescent: str | None = ask("Readings of the same samples in an incandescent lamp (M0).", default=None)

    def faults(self) -> Iterator[Problem]:
        """M0 without M2."""
        if self.incandescent is not None and self.uv_excluded is None:
            yield Problem(
                "incandescent (M0) readings alone do not tell what a brightener does",
                expected="readings without ultraviolet (M2) beside them",
                mend="add uv_excluded = ..., or remove incandescent",
            )


class LightTable(Form):
    """``[[lights]]``: a standard light, or a measured one from a file."""

    name: str = ask("Its name in the job.")
    standard: str | None = ask("A standard light.", default=None)
    file: str | None = ask("A measured light.", default=None)
    illuminance: float | None = ask("Where the objects lie.", default=None, above=0, unit="lx")
    without_uv: bool = ask("Whether it has no ultraviolet.", default=False)

    def faults(self) -> Iterator[Problem]:
        """Not exactly one source."""
        yield from exactly_one(self, ("standard", "file"))


class ObserverTable(Form):
    """``[[observers]]``: a standard observer by name, an eye by its age and field, or a camera from a file."""

    name: str = ask("Its name in the job.")
    file: str | None = ask("A camera's sensitivities.", default=None)
    age: float | None = ask("Of an eye.", default=None, unit="years")
    field: float | None = ask("Of view.", default=None, unit="degrees")
    protan: float | None = ask("Shift of the L cones.", default=None, unit="nm")
    deutan: float | None = ask("Shift of the M cones.", default=None, unit="nm")
    tritan: float | None = ask("Shift of the S cones.", default=None, unit="nm")

    @property
    def eye(self) -> dict[str, float]:
        """What is said of the eye, by key; empty for a standard observer and a camera."""
        return {key: getattr(self, key) for key in EYE_KEYS if getattr(self, key) is not None}

    def faults(self) -> Iterator[Problem]:
        """An eye that is said twice, or beside a camera."""
        keys = " and ".join(self.eye)
        if self.file is not None and self.eye:
            yield Problem(f"{keys} beside a file: a camera has none", mend=f"remove {keys}, or the file")
        if "=" in self.name and self.eye:
            yield Problem(
                f"the name {self.name!r} says which eye this is, and {keys} beside it again",
                expected="one or the other",
                mend="give it a name of its own, such as name = 'older client', and age = ... beside it",
            )


def _ages(value: Any, here: str, problems: list[Problem]) -> list[Any]:
    """Ages as they are written: numbers, or lists of two ages and a weight."""
    if not isinstance(value, (list, tuple)):
        problems.append(wrong_kind(value, here, "a list in square brackets"))
        return []
    if not value:
        what = f"{said(value)} entries is of the wrong length"
        problems.append(Problem(what, field=here, expected="at least 1"))
        return []
    before = len(problems)
    for place, age in enumerate(value, 1):
        for one in age if isinstance(age, (list, tuple)) else [age]:
            if isinstance(one, bool) or not isinstance(one, (int, float)):
                problems.append(wrong_kind(one, f"{here}[{place}]", "a number"))
            elif not math.isfinite(one):
                wanted = "a finite number"
                problems.append(Problem(f"{said(one)} is out of range", field=f"{here}[{place}]", expected=wanted))
    if len(problems) > before:
        return []
    return [[float(one) for one in age] if isinstance(age, (list, tuple)) else float(age) for age in value]


class PopulationTable(Form):
    """``[population]``: the people for whom the job is judged besides its observers."""

    count: int = ask("How many.", default=200, at_least=10, at_most=5000)
    seed: int = ask("Another seed draws other people.", default=1, at_least=0, at_most=2**63 - 1)
    ages: list[Any] = ask("Youngest and oldest, or groups with weights.", default=(20.0, 80.0), parse=_ages)
    field: float = ask("How large a field they look at.", default=2.0, at_least=1, at_most=10, unit="degrees")
    limit: float | None = ask("What each may see, CIEDE2000.", default=None, above=0)
    whites: Literal["shared", "own"] = ask("Whether both whites are in view at once.", default="shared")
    aim: Aim = ask("For whom the drive values are made.", default="observer")
    cost: float | None = ask("What the observer may see more for that, CIEDE2000.", default=None, at_least=0)
    label: str | None = ask("Who they are.", default=None)

    def faults(self) -> Iterator[Problem]:
        """Ages that cannot be read, and a cost of nothing."""
        plain = [age for age in self.ages if not isinstance(age, list)]
        groups = [age for age in self.ages if isinstance(age, list)]
        if (plain and groups) or (plain and len(plain) != 2) or any(len(group) != 3 for group in groups):
            yield Problem(
                f"ages = {list(self.ages)} cannot be read",
                expected="youngest and oldest, [20, 80], or groups with weights, [[20, 39, 3], [40, 80, 1]]",
                mend="write ages = [20, 80]",
            )
            return
        for low, high in [plain] if plain else [group[:2] for group in groups]:
            if not 20 <= low < high <= 80:
                yield Problem(
                    f"ages from {low:g} to {high:g}",
                    expected="20 to 80 years, the younger first, where the model of CIE 170-1:2006 is defined",
                )
        weights = [group[2] for group in groups]
        if weights and (min(weights) < 0 or sum(weights) <= 0):
            yield Problem(f"the weights {weights} of the ages", expected="numbers of 0 or more, not all of them 0")
        if self.cost is not None and self.aim == "observer":
            yield Problem(
                "cost has no effect: the drive values are made for the viewing observer",
                mend='add aim = "population", or remove cost',
            )


class ApprovalTable(Form):
    """``[[approvals]]``: code values that somebody approved on a display, the sample that is to be that colour, or
    both."""

    name: str = ask("What was approved.")
    display: str | None = ask("The display on which it was.", default=None)
    code: tuple[int, ...] | None = ask(
        "Its code there.",
        default=None,
        at_least=0,
        count=3,
        metavar="R,G,B",
        wanted="three integers: red, green, blue",
    )
    bits: Bits = ask("Bits per channel of the code.", default=8)
    sample: str | None = ask("The sample that is to be it.", default=None)
    tolerance: str | None = ask("The set that judges it.", default=None)

    def faults(self) -> Iterator[Problem]:
        """A code without its display, out of range, or nothing at all."""
        if (self.display is None) != (self.code is None):
            there, missing = ("display", "code") if self.code is None else ("code", "display")
            yield Problem(f"{there} is given without {missing}", mend=f"add {missing} = ...")
        elif self.display is None and self.sample is None:
            wanted = "display and code, or sample, or all three"
            yield Problem("nothing is approved", expected=wanted, mend="add display = ...")
        top = 2**self.bits - 1
        if self.code is not None and max(self.code) > top:
            yield Problem(
                f"the code {list(self.code)} is out of range for {self.bits} bits",
                expected=f"three integers from 0 to {top}",
                mend="correct the code, or set bits to the depth that it was read at",
            )


class PairTable(Form):
    """``[[pairs]]``: two samples that are to match; or all of two groups, each with its namesake ("group/*")."""

    name: str = ask("What the pair is.")
    a: str = ask("The standard.")
    b: str = ask("The sample that is to match it.")
    tolerance: str | None = ask("The set that judges it.", default=None)

    @property
    def groups(self) -> tuple[str, str] | None:
        """The two groups whose samples are to be paired by name; None for a pair of two samples."""
        return (self.a[:-2], self.b[:-2]) if self.a.endswith(ALL) and self.b.endswith(ALL) else None

    def faults(self) -> Iterator[Problem]:
        """One sample twice, or a group beside a sample."""
        if self.a == self.b:
            yield Problem(
                f"a and b are the same {'group' if self.groups else 'sample'} {self.a!r}",
                mend="name two groups" if self.groups else "name two samples",
            )
        elif self.a.endswith(ALL) != self.b.endswith(ALL):
            whole, one = ("a", "b") if self.a.endswith(ALL) else ("b", "a")
            yield Problem(
                f"{whole} is a whole group and {one} is one sample",
                expected="two samples, or two groups as 'aims/*' and 'proof/*'",
                mend=f"write {one} = 'group/*' too, or name one sample in {whole}",
            )


class OutputTable(Form):
    """``[output]``: the folder that is written, beside the job unless its path is absolute."""

    folder: str = ask("The folder.", default="out")
    patches: Literal["tiff", "png", "none"] = ask("The kind of patch images.", default="tiff")
    page: bool = ask("Whether the page is written.", default=True)


TABLES: dict[str, type[Form]] = {"viewing": ViewingTable, "output": OutputTable, "doubt": DoubtTable}
OPTIONAL: dict[str, type[Form]] = {"population": PopulationTable}
"""Tables that mean nothing as long as they are not written."""
LISTS: dict[str, type[Form]] = {
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

T = TypeVar("T", bound=Form)


def unknown_key(key: str, known: tuple[str, ...], file: str, lines: Mapping[Path, int], path: Path) -> Problem:
    """The problem of a key that is no key of its table, with the nearest that is."""
    line = line_of(dict(lines), path)
    mend = did_you_mean(key, known) or "remove it"
    return Problem(f"unknown key {key!r}", file, line, spelled(path), ", ".join(known), mend)


def check_table(
    form: type[T], raw: object, file: str, lines: dict[Path, int], path: Path, problems: list[Problem]
) -> T | None:
    """The table when it is right; otherwise None, and a problem per mistake is appended to ``problems``."""
    if not isinstance(raw, dict):
        what = f"{said(raw)} stands where a table is needed"
        problems.append(
            Problem(what, file, line_of(lines, path), spelled(path), mend=f"write it as [{_header(path)}]")
        )
        return None
    try:
        return filled(form, raw)
    except InputError as error:
        for p in error.problems:
            field = f"{spelled(path)}.{p.field}" if p.field else spelled(path)
            problems.append(Problem(p.what, file, line_at(lines, field), field, p.expected, p.mend))
        return None


def _header(path: Path) -> str:
    names = [part for part in path if isinstance(part, str)]
    inside = ".".join(names)
    return f"[{inside}]" if isinstance(path[-1], int) else inside
