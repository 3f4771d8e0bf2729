"""Tables of a job file that questions know as well: displays in their room, instruments, how to decide."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from screenproof.errors import Problem
from screenproof.questions.form import FileLike, Form, ask

Bits = Literal[8, 10, 12, 16]
Basis = Literal["white", "absolute", "appearance"]
Adaptation = Literal["cat16", "bradford"]
Surround = Literal["average", "dim", "dark"]
Aim = Literal["observer", "population"]

DEFAULT_COST = 0.5
"""CIEDE2000 that drive values made for people may cost the viewing observer: half of what can just be seen, and
below the usual limits of a match, so that they do not fail by it."""

DISPLAY_SOURCES = ("standard", "profile", "readings", "technology", "primaries")


def exactly_one(form: Form, keys: tuple[str, ...]) -> Iterator[Problem]:
    """A problem when not exactly one of the fields is given."""
    given = [key for key in keys if getattr(form, key) is not None]
    if len(given) != 1:
        said = "none of them is given" if not given else f"given are {' and '.join(given)}"
        yield Problem(said, expected=f"exactly one of {', '.join(keys)}")


class InstrumentTable(Form):
    """What is said of an instrument: its kind, its name, of how many readings each value is the mean."""

    kind: str | None = ask("Class: reference, laboratory, production or basic.", default=None)
    id: str | None = ask("Its name, the same wherever it was used.", default=None)
    readings: int | None = ask(
        "Of how many readings each value is the mean.", default=None, at_least=1, at_most=10_000
    )

    @classmethod
    def of_text(cls, kind: str) -> dict[str, str]:
        """A text alone is the kind."""
        return {"kind": kind}

    def figures(self) -> dict[str, float]:
        """What is said in figures, by field, but for the number of readings."""
        plain = ("kind", "id", "readings")
        given = {key: value for key, value in vars(self).items() if key not in plain}
        return {key: value for key, value in given.items() if value is not None}

    def faults(self) -> Iterator[Problem]:
        """Nothing at all is said of it."""
        if all(value is None for value in vars(self).values()):
            yield Problem("nothing is said of it", mend='write instrument = "production", or remove it')


class ObjectInstrumentTable(InstrumentTable):
    """``instrument`` of samples: what it was read with, how often, and how well that repeats and agrees."""

    repeatability: float | None = ask(
        "Standard deviation of a reading: in reflectance factor, or in Lab.", default=None, at_least=0
    )
    correlation: float | None = ask(
        "Over how many nm errors of neighbouring bands go together.", default=None, at_least=0
    )
    agreement_scale: float | None = ask(
        "Of the scale, against other instruments, as a share.", default=None, at_least=0
    )
    agreement_zero: float | None = ask("Of the zero, in reflectance factor.", default=None, at_least=0)
    agreement_wavelength: float | None = ask("Of the wavelength, in nm.", default=None, at_least=0)
    agreement: float | None = ask("Of Lab, in CIEDE2000.", default=None, at_least=0)


class ScreenInstrumentTable(InstrumentTable):
    """``instrument`` of a display: what it was read with, how often, and how well that repeats and agrees."""

    luminance: float | None = ask("Standard deviation of the luminance, as a share.", default=None, at_least=0)
    chromaticity: float | None = ask("Standard deviation of x and y.", default=None, at_least=0)
    luminance_agreement: float | None = ask(
        "Of the luminance, against other instruments, as a share.", default=None, at_least=0
    )
    chromaticity_agreement: float | None = ask("Of x and y, against other instruments.", default=None, at_least=0)
    model: float | None = ask("What the display's model misses, mean CIEDE2000.", default=None, at_least=0)


class RoomTable(Form):
    """``room`` of a display: the light that falls on its screen, and the share that the screen reflects."""

    illuminance: float = ask("Light that falls on the screen.", at_least=0, unit="lx")
    light: str = ask("Kind of that light.", default="D50")
    reflectance: float = ask("Share that the screen reflects.", at_least=0, at_most=1)


class DisplayTable(Form):
    """``[[displays]]``: a display from a standard, a profile, readings, a technology, or primaries' spectra."""

    name: str = ask("Its name in the job.")
    label: str | None = ask("How the page calls it.", default=None)
    standard: str | None = ask("A standard display, such as display-p3.", default=None)
    profile: FileLike | None = ask("An ICC profile.", default=None)
    readings: FileLike | None = ask("A file of readings.", default=None)
    technology: str | None = ask("A technology, such as rgb-oled.", default=None)
    primaries: FileLike | None = ask("A file with the spectra of red, green and blue.", default=None)
    curve: str | None = ask("Another tone curve.", default=None)
    luminance: float | None = ask("Luminance of its white.", default=None, above=0, unit="cd/m2")
    black: float | None = ask("Luminance of its black.", default=None, at_least=0, unit="cd/m2")
    bits: Bits | None = ask("Bits per channel of its codes.", default=None)
    room: RoomTable | None = ask("The light of its room.", default=None)
    instrument: ScreenInstrumentTable | None = ask("What it was read with.", default=None)

    def faults(self) -> Iterator[Problem]:
        """No source or two; what a source says already; black and white the wrong way round."""
        yield from exactly_one(self, DISPLAY_SOURCES)
        unread = "standard" if self.standard else "technology" if self.technology else None
        if self.instrument is not None and unread is not None:
            yield Problem(
                f"an instrument is named, but a display from a {unread} was not read with any",
                expected="an instrument beside readings, profile or primaries",
                mend="remove instrument, or give the readings of this display",
            )
        for key in ("curve", "black"):
            if getattr(self, key) is not None and (self.profile or self.readings):
                source = "profile" if self.profile else "readings"
                yield Problem(
                    f"{key} cannot be set: the {source} already say{'s' * (source == 'profile')} it",
                    mend=f"leave {key} out, or take standard, technology or primaries as the source",
                )
        if self.black is not None and self.luminance is not None and self.black >= self.luminance:
            yield Problem(
                f"black is {self.black:g} cd/m2, not below the white's {self.luminance:g} cd/m2",
                mend="give the luminance of black in cd/m2, such as 0.2",
            )


class DoubtTable(Form):
    """``[doubt]``: how verdicts are reached from doubtful figures."""

    risk: float = ask("Risk of a wrong verdict.", default=0.05, at_least=0.001, at_most=0.25)
    coverage: float = ask("Coverage of the intervals.", default=0.95, at_least=0.5, at_most=0.999)
    draws: int = ask("Draws of the Monte Carlo calculation.", default=2000, at_least=200, at_most=1_000_000)
    seed: int = ask("Another seed draws other errors.", default=1, at_least=0, at_most=2**63 - 1)
