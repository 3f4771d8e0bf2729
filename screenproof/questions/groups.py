"""Groups of options that several questions share, each declared once: screen, scene, people, doubt, ink surface,
tints."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from screenproof.errors import Problem
from screenproof.questions.form import DisplayLike, Form, LightLike, ObserverLike, ask
from screenproof.questions.parsing import amounts
from screenproof.questions.tables import Adaptation, Basis, Surround

CLASSES = "reference, laboratory, production or basic"

DISPLAY_HELP = (
    "display-p3, srgb, bt2020 and other standards; a technology such as rgb-oled; an ICC profile; or a file of "
    "readings."
)


SAMPLES = "Measured samples: CSV, CGATS, CxF3 or JSON; several files are taken together, - is standard input."
LIMIT = "Exit with 1 when a CIEDE2000 is above this."


class ScreenOptions(Form):
    """A display, and the light of its room."""

    display: DisplayLike = ask(DISPLAY_HELP, default="srgb", metavar="NAME_OR_FILE")
    curve: str | None = ask("Another tone curve for a standard: pq, hlg, bt1886, gamma2.2 ...", default=None)
    luminance: float | None = ask("Luminance of the display's white.", default=None, metavar="CD/M2", above=0)
    black: float | None = ask("Luminance of the display's black.", default=None, metavar="CD/M2", at_least=0)
    room: float | None = ask("Room light that falls on the screen.", default=None, metavar="LUX")
    room_light: LightLike | None = ask("Kind of the room light; D50 unless given.", default=None, metavar="LIGHT")
    screen_reflectance: float | None = ask(
        "Share that the screen reflects; 0.04 unless given.",
        default=None,
        metavar="0..1",
        at_least=0,
        at_most=1,
        wanted="a share of 1; divide percent by 100",
    )

    def faults(self) -> Iterator[Problem]:
        """What is said of a room without light."""
        for name in ("room_light", "screen_reflectance"):
            if self.room is None and getattr(self, name) is not None:
                yield Problem("there is no room light to use it for", field=name, mend="add {room} and its lux")


class SeenOptions(Form):
    """In which light objects are seen, and by whom."""

    light: LightLike = ask(
        "Viewing light: D50, A, FL11, D5000K, P3200K, or a file.", default="D50", metavar="LIGHT"
    )
    observer: ObserverLike = ask(
        "cie1931, cie1964, cie2015-2, cie2015-10, or an eye such as age=60,field=2.",
        default="cie1931",
        metavar="NAME",
    )


class SceneOptions(SeenOptions):
    """How objects are seen, and how they are put beside a screen."""

    basis: Basis = ask("white, absolute or appearance.", default="white", metavar="BASIS")
    object_white: str = ask(
        "The objects' white: diffuser, or the name of the sample that is the stock.",
        default="diffuser",
        metavar="WHITE",
    )
    adaptation: Adaptation = ask("For the basis white: cat16 or bradford.", default="cat16", metavar="NAME")
    surround: Surround = ask("average, dim or dark.", default="average", metavar="NAME")
    illuminance: float | None = ask("Illuminance of the viewing light.", default=None, metavar="LUX")

    def faults(self) -> Iterator[Problem]:
        """What has no effect in the basis."""
        for name, bases in (("surround", ("appearance",)), ("illuminance", ("absolute", "appearance"))):
            if self.given(name) and self.basis not in bases:
                yield Problem(
                    f"the option has no effect in the basis {self.basis!r}",
                    field=name,
                    expected=f"the basis {' or '.join(bases)}",
                    mend="leave it out, or choose that basis with {basis}",
                )


class PeopleOptions(Form):
    """Many people in the place of one observer."""

    population: int | None = ask("What so many people see, 10 to 5000: 200 is good.", default=None, metavar="N")
    ages: str | None = ask("Youngest and oldest of them; 20-80 unless given.", default=None, metavar="20-80")
    field: float | None = ask(
        "How large a field they look at, 1 to 10; 2 unless given.", default=None, metavar="DEGREES"
    )
    seed: int | None = ask("Another seed draws other people; 1 unless given.", default=None, metavar="N")

    def faults(self) -> Iterator[Problem]:
        """What is said of people that nobody asked for."""
        for name in ("ages", "field", "seed"):
            if self.population is None and getattr(self, name) is not None:
                yield Problem(
                    "there are no people for it", field=name, mend="add {population} 200, or leave it out"
                )


class DoubtOptions(Form):
    """What is known of the readings, and the risk of a wrong verdict."""

    instrument: str | None = ask(f"What read the samples: {CLASSES}.", default=None, metavar="CLASS")
    readings: int | None = ask(
        "Of how many readings each sample is the mean.",
        default=None,
        metavar="N",
        at_least=1,
        at_most=10_000,
        wanted="a whole number, 1 to 10000",
    )
    screen_instrument: str | None = ask(f"What read the screen: {CLASSES}.", default=None, metavar="CLASS")
    risk: float | None = ask(
        "Risk of a wrong verdict; 0.05 unless given.",
        default=None,
        metavar="SHARE",
        at_least=0.001,
        at_most=0.25,
        wanted="0.001 to 0.25; 0.05 is usual",
    )

    def idle(self, limit: float | None, screen: bool, option: str = "limit") -> Iterator[Problem]:
        """What has nothing to act on: no limit (the field ``option``), or no screen."""
        names = ("instrument", "readings", "screen_instrument", "risk")
        given = [name for name in names if getattr(self, name) is not None]
        if limit is None:
            yield from (
                Problem("there is no limit to decide by", field=name, mend=f"add {{{option}}}, or leave it out")
                for name in given
            )
        if self.screen_instrument is not None and not screen:
            mend = "add {display}, or leave it out"
            yield Problem("no screen takes part", field="screen_instrument", mend=mend)


class SurfaceOptions(Form):
    """The surface of a print: Saunderson's k1 and k2, or a refractive index; neither: nothing is corrected."""

    k1: float | None = ask("Saunderson's k1, reflected outside: 0.04.", default=None, metavar="SHARE")
    k2: float | None = ask("Saunderson's k2, thrown back inside: 0.4.", default=None, metavar="SHARE")
    index: float | None = ask("k1 and k2 by a refractive index: 1.5.", default=None, metavar="N")
    specular: str | None = ask(
        "Mirror reflection in the readings: excluded (45:0) or included.", default=None, metavar="WORD"
    )

    def faults(self) -> Iterator[Problem]:
        """Two ways at once, and words for no surface."""
        if self.index is not None and (self.k1 is not None or self.k2 is not None):
            yield Problem("a refractive index and k1 or k2", field="index", mend="give either of them")
        if self.specular is not None and (self.k1, self.k2, self.index) == (None, None, None):
            yield Problem(
                "there is no surface to use it for", field="specular", mend="add {k1} and {k2}, or {index}"
            )


BlackGeneration = Literal["least", "most", "smooth"]


def _percents(value: Any, here: str, problems: list[Problem]) -> dict[str, float]:
    """Percent from 0 to 100 by channel."""
    found = amounts(value, here, problems)
    problems += [
        Problem(f"{name}={most:g} is out of range", field=f"{here}.{name}", expected="percent: 100 or less")
        for name, most in found.items()
        if most > 100.0
    ]
    return found


def channel_limits(key: str = "") -> Any:
    """The field of the limits of channels; key: what it is called, unless it is the field's own name."""
    return ask(
        "Most of a channel: K=95.",
        default=None,
        metavar="NAME=PERCENT,...",
        key=key,
        unit="%",
        parse=_percents,
    )


class TintOptions(Form):
    """How a press makes a colour: within which limits, and with how much black. What is not said is the
    press's."""

    total: float | None = ask(
        "Most total coverage: 300; as measured unless given.",
        default=None,
        metavar="PERCENT",
        above=0,
        unit="%",
        wanted="percent, a number above 0",
    )
    channel_limit: dict[str, float] | None = channel_limits()
    black: BlackGeneration = ask("least, most or smooth.", default="smooth", metavar="WORD")
