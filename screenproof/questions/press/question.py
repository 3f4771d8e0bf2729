"""What is asked of a press: to fit it, what it prints, and with which tints."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.errors import Problem
from screenproof.questions.form import FileLike, LightLike, ObserverLike, PressLike, SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, DoubtOptions, TintOptions
from screenproof.questions.question import Question
from screenproof.questions.writing import refuse_existing

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer
    from screenproof.questions.opening import Open
    from screenproof.questions.press.fit import PressFitAnswer
    from screenproof.questions.press.predict import PressPredictAnswer
    from screenproof.questions.press.separate import PressSeparateAnswer

PRESS = "A press as 'press fit' wrote it, or a characterisation."
LIGHT = "D50, or that of a press known by XYZ, unless given."
OBSERVER = "cie1931, or that of a press known by XYZ, unless given."


def _check_file(out: Path, force: bool, *inputs: object) -> None:
    refuse_existing(out, [Path(one) for one in inputs if isinstance(one, (str, Path))], force)


def _levels(value: Any, here: str, problems: list[Problem]) -> tuple[float, ...]:
    """Percentages: a text such as 0,40,100, several, or numbers."""
    given = list(value) if isinstance(value, (list, tuple)) else [value]
    try:
        found = [
            float(part)
            for one in given
            for part in (one.replace("%", "").split(",") if isinstance(one, str) else [one])
        ]
    except (TypeError, ValueError):
        said = ", ".join(str(one) for one in given)
        problems.append(Problem(repr(said), field=here, expected="percentages such as 0,40,100"))
        return ()
    if not all(0.0 <= one <= 100.0 for one in found) or not {0.0, 100.0} <= set(found):
        problems.append(
            Problem(
                f"levels of {','.join(f'{one:g}' for one in found)}",
                field=here,
                expected="percentages from 0 to 100, with 0 and 100 among them",
            )
        )
    return tuple(found)


class AskPressFit(Question):
    """Fit a press to a characterisation of 1 to 8 inks, and say how well it predicts patches it did not see.

    Tone value curves and a Yule-Nielsen Neugebauer model, spectral where there are curves, cellular where the
    file holds a full grid, which is found by itself.
    """

    name = "press fit"
    short = "Fit a press to a characterisation."
    example = "screenproof press fit characterisation.txt -o press.json --json"
    doing = "fitting"
    writes = "Write the press, as JSON."

    characterisation: SamplesLike = ask(
        "Patches with their tints and curves, XYZ or Lab: CSV, CGATS, CxF3 or JSON.",
        positional=True,
        metavar="CHARACTERISATION",
    )
    called: str | None = ask("Of the press.", default=None, key="name", metavar="NAME")
    n: float | None = ask(
        "Yule-Nielsen factor; found unless given.", default=None, metavar="N", at_least=1, at_most=100
    )
    channels: tuple[str, ...] = ask(
        "Only these, and patches of them alone.", default=(), metavar="A,B,...", commas=True
    )
    levels: tuple[float, ...] = ask(
        "Fit on ramps and patches at these levels, judge by the others: 0,40,100.",
        default=(),
        metavar="PERCENT,...",
        parse=_levels,
    )
    limit: float | None = ask(
        "Exit with 1 when the 95th percentile held out is above this.", default=None, metavar="DE00", at_least=0
    )

    def ask(self, open: Open) -> PressFitAnswer:
        """The press, and its error on patches that its fit did not see."""
        from screenproof.questions.press.fit import fit_answer

        return fit_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """The file must be new, and not the characterisation."""
        _check_file(out, force, self.characterisation)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write the press."""
        from screenproof.formats import write_press

        return write_press(answer.press, out, force=force)  # type: ignore[attr-defined]


class AskPressPredict(Question):
    """What a press prints for each row of tints: XYZ, Lab and, where it is spectral, the curve.

    It is said which tints stand on overprints that were never measured. Exit code 1 when a measured sample is
    farther than --limit.
    """

    name = "press predict"
    short = "What tints print."
    example = "screenproof press predict press.json tints.csv --json"
    doing = "predicting"
    writes = "Write the prints: .csv, .cgats, .cxf or .json."

    press: PressLike = ask(PRESS, positional=True, metavar="PRESS")
    tints: FileLike = ask("A list of tints, a column a channel: CSV or CGATS.", positional=True, metavar="TINTS")
    light: LightLike | None = ask(LIGHT, default=None, metavar="LIGHT")
    observer: ObserverLike | None = ask(OBSERVER, default=None, metavar="NAME")
    against: SamplesLike | None = ask(
        "Measured samples of the same names: how far they are.", default=None, metavar="SAMPLES"
    )
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """A limit, or an instrument, without anything that was measured."""
        if self.limit is not None and self.against is None:
            yield Problem("nothing is judged", field="limit", mend="add {against} with measured samples")
        yield from self.doubt.idle(self.limit, screen=False)

    def ask(self, open: Open) -> PressPredictAnswer:
        """The print of every row of tints."""
        from screenproof.questions.press.predict import predict_answer

        return predict_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """The file must be new, and none of those that are read."""
        _check_file(out, force, self.press, self.tints, self.against)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write the prints as samples."""
        from screenproof.formats import write_samples

        return write_samples(answer.samples, out, force=force)  # type: ignore[attr-defined]


class AskPressSeparate(Question):
    """The tints that print each sample within the limits; of one that cannot be printed, those of the nearest.

    Exit code 1 when a print is farther than --limit from its sample.
    """

    name = "press separate"
    short = "The tints for colours."
    example = (
        "screenproof press separate press.json colours.csv --total 300 --channel-limit K=95 --black most "
        "-o tints.csv"
    )
    doing = "separating"
    writes = "Write the tints, in percent, as CSV."

    press: PressLike = ask(PRESS, positional=True, metavar="PRESS")
    targets: SamplesLike = ask(
        "Samples to be printed: CSV, CGATS, CxF3 or JSON.", positional=True, metavar="TARGETS"
    )
    within: TintOptions = group(TintOptions)
    light: LightLike | None = ask(LIGHT, default=None, metavar="LIGHT")
    observer: ObserverLike | None = ask(OBSERVER, default=None, metavar="NAME")
    to: tuple[LightLike, ...] = ask(
        "For curves: the tints that shift least in these lights.",
        default=(),
        metavar="LIGHTS",
        commas=True,
        wanted="names with commas between them, such as A,FL2,FL11",
    )
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Options that have nothing to act on."""
        yield from self.doubt.idle(self.limit, screen=False)

    def ask(self, open: Open) -> PressSeparateAnswer:
        """The tints of every sample."""
        from screenproof.questions.press.separate import separate_answer

        return separate_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """The file must be new, and none of those that are read."""
        _check_file(out, force, self.press, self.targets)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write the tints as 'press predict' reads them."""
        from screenproof.formats import write_beside

        return write_beside(out, answer.tints_csv(), force=force)  # type: ignore[attr-defined]
