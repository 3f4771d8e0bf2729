"""What is asked of a screen: its fit, what it is, and whether it is fit for the work."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.questions.form import DisplayLike, FileLike, LightLike, ask, group
from screenproof.questions.groups import CLASSES, ScreenOptions
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer
    from screenproof.questions.opening import Open
    from screenproof.questions.screen.check import ScreenChecked
    from screenproof.questions.screen.display import DisplayFitted, DisplayShown

READINGS = "Drive values with XYZ or spectra, as CSV."


class AskDisplayFit(Question):
    """Find a display's primaries, black and tone curves from readings, and say how well they explain them."""

    name = "display fit"
    short = "Fit a display to readings."
    example = "screenproof display fit office.csv -o office.icc"
    doing = "fitting"
    writes = "Write an ICC v4 profile."
    written_as = "profile"

    readings: FileLike = ask(READINGS, positional=True, metavar="READINGS")

    def ask(self, open: Open) -> DisplayFitted:
        """The display that explains the readings."""
        from screenproof.questions.screen.display import fit_answer

        return fit_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """Raise InputError for a file that is no profile, or that may not be replaced."""
        from screenproof.questions.writing import check_suffix, refuse_existing

        check_suffix(out, (".icc", ".icm"), "a profile")
        refuse_existing(out, (Path(self.readings),), force)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write the profile."""
        from screenproof.questions.screen.display import DisplayFitted

        assert isinstance(answer, DisplayFitted)
        return answer.save_profile(out, force=force)


class ShownScreen(ScreenOptions):
    """A display that is named without an option, and the light of its room."""

    display: DisplayLike = ask(
        "A standard, a technology, an ICC profile, or readings.", positional=True, metavar="NAME_OR_FILE"
    )


class AskDisplayShow(Question):
    """What a display is: its white, primaries, black and tone curves, as it stands in its room."""

    name = "display show"
    short = "What a display is."
    example = "screenproof display show p3-d65 --luminance 160 --room 64"
    doing = "opening the display"
    plots = True

    screen: ShownScreen = group(ShownScreen)

    def ask(self, open: Open) -> DisplayShown:
        """The display in its room."""
        from screenproof.questions.screen.display import show_answer

        return show_answer(self, open)


class AskDisplayCheck(Question):
    """Check a screen: white, black, greys, uniformity, drift, additivity. Exit code 1 if one fails.

    Readings at other places than the centre have a column position (1,1 to 3,3), a series over time has minutes.
    What was not read is said, with what to read.
    """

    name = "display check"
    short = "Check a screen against a standard."
    example = "screenproof display check office.csv --against soft-proof --instrument production"
    doing = "checking"
    plots = True

    readings: FileLike = ask(READINGS, positional=True, metavar="READINGS")
    against: str = ask("iso12646, soft-proof or broadcast.", default="iso12646", metavar="LIMITS")
    curve: str | None = ask("Aim of the tone curve: srgb, gamma2.2, bt1886 ...", default=None)
    white: LightLike | None = ask("Aim of the white: D50, D65, a light, or x,y.", default=None, metavar="WHITE")
    luminance: float | None = ask(
        "Aim of the white, held within 10 %.", default=None, metavar="CD/M2", above=0, unit="cd/m2"
    )
    off: float | None = ask(
        "The screen switched off, read in its room.", default=None, metavar="CD/M2", above=0, unit="cd/m2"
    )
    instrument: str | None = ask(f"Class of the instrument: {CLASSES}.", default=None, metavar="CLASS")
    risk: float = ask(
        "Chance of a wrong pass, and of a wrong fail.",
        default=0.05,
        at_least=0.001,
        at_most=0.25,
        wanted="0.001 to 0.25; 0.05 is usual",
    )

    def ask(self, open: Open) -> ScreenChecked:
        """The readings against the limits."""
        from screenproof.questions.screen.check import check_answer

        return check_answer(self, open)
