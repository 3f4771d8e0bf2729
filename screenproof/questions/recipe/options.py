"""What recipes are asked for, declared once: the target, what is mixed and on what, the lights."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from screenproof.errors import Problem
from screenproof.questions.form import DisplayLike, Form, LightLike, ObserverLike, SamplesLike, ask, group
from screenproof.questions.parsing import codes, hex_faults, weight_kg

LIBRARY = "Letdowns as CSV or CGATS, or a library that 'recipe library' wrote."
WEIGHT = "a weight, such as 250g, 1.5kg or 1.5 (kg)"


def mass(value: Any, here: str, problems: list[Problem]) -> float | None:
    """A weight [kg] above 0, as it is written."""
    found = weight_kg(value, here, problems)
    if found == 0.0:
        expected = f"a number above 0: {WEIGHT}"
        problems.append(Problem("a weight of 0 kg", field=here, expected=expected))
    return found


def one_code(value: Any, here: str, problems: list[Problem]) -> tuple[int, ...]:
    """The one code that is written."""
    found = codes(value, here, problems)
    if len(found) > 1:
        problems.append(Problem(f"{len(found)} codes for one target", field=here, mend="give one of them"))
    return found[0] if found else ()


class TargetOptions(Form):
    """The colour that is wanted: a measured sample, or a code on a display."""

    samples: SamplesLike | None = ask(
        "The file with the wanted sample.", default=None, positional=True, metavar="SAMPLES"
    )
    name: str | None = ask("The wanted sample in it, if there are several.", default=None, metavar="NAME")
    display: DisplayLike | None = ask(
        "Or a colour of this display, by its code.", default=None, metavar="NAME_OR_FILE"
    )
    code: tuple[int, ...] | None = ask(
        "The code on that display: 0,128,255 or #0080ff.", default=None, metavar="R,G,B", parse=one_code
    )
    bits: int = ask("Bits per channel of the code: 8, 10, 12 or 16.", default=8, metavar="N")

    def faults(self) -> Iterator[Problem]:
        """No target or two, and what belongs to another."""
        if (self.samples is None) == (self.display is None):
            yield Problem(
                "no target" if self.samples is None else "two targets",
                field="samples",
                expected="{samples} with {name}, or {display} NAME_OR_FILE with {code} R,G,B",
            )
        elif self.samples is None:
            if self.code is None:
                yield Problem("a display, and no code on it", field="display", mend="add {code} R,G,B")
            if self.name is not None:
                yield Problem("a name, and no file that it is in", field="name", mend="leave it out")
        elif self.code is not None:
            yield Problem("a code, and no display that shows it", field="code", mend="add {display}")
        elif self.given("bits"):
            yield Problem("there is no code to use it for", field="bits", mend="leave it out")
        yield from hex_faults(() if self.code is None else (self.code,), self.bits, "code")  # type: ignore[arg-type]


class LayerOptions(Form):
    """How thick the components lie."""

    thickness: float | None = ask("Of a film over a stock, as in the file.", default=None, metavar="X", above=0)
    film: float | None = ask(
        "Film weight of printed inks; 1 unless given.", default=None, metavar="WEIGHT", above=0
    )


class GroundOptions(Form):
    """On what the components are mixed for: a stock from a file."""

    stock_file: SamplesLike | None = ask("The stock of inks, or below a film.", default=None, metavar="SAMPLES")
    stock: str | None = ask("The stock in that file, if it has several.", default=None, metavar="NAME")
    layer: LayerOptions = group(LayerOptions)

    def faults(self) -> Iterator[Problem]:
        """A stock from nowhere."""
        if self.stock is not None and self.stock_file is None:
            yield Problem("a stock, and no file that it is in", field="stock", mend="add {stock_file}")


class LightsOptions(Form):
    """The match is made under one light, and held against others."""

    light: LightLike = ask(
        "Viewing light: D50, A, FL11, D5000K, P3200K, or a file.", default="D50", metavar="LIGHT"
    )
    to: tuple[LightLike, ...] = ask(
        "The other lights, with commas between them.",
        default=("A", "FL11"),
        metavar="LIGHTS",
        commas=True,
        least=0,
        wanted="names with commas between them, such as A,FL2,FL11",
    )
    observer: ObserverLike = ask(
        "cie1931, cie1964, cie2015-2, cie2015-10, or an eye such as age=60,field=2.",
        default="cie1931",
        metavar="NAME",
    )


class ScaleOptions(Form):
    """The scale on which is weighed."""

    resolution: float = ask(
        "Of the scale: amounts are rounded to it.", default=0.0, metavar="WEIGHT", unit="kg", parse=weight_kg
    )


class MixOptions(Form):
    """How recipes are looked for: by a command, and by a job."""

    components: int = ask("The most components beside the base.", default=4, metavar="N", at_least=1, at_most=8)
    batch: float = ask(
        "Mass of the batch, in kg or as 250g; of the cloth, for dyes.",
        default=1.0,
        metavar="WEIGHT",
        unit="kg",
        parse=mass,
    )
    count: int = ask("How many recipes to show.", default=3, metavar="N", at_least=1, at_most=50)
    without: tuple[str, ...] = ask("Components that may not be used.", default=(), metavar="NAME,...", commas=True)
    scale: ScaleOptions = group(ScaleOptions)
