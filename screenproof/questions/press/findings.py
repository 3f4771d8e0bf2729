"""What a person should know of a press and its prints."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged

if TYPE_CHECKING:
    from screenproof.questions.press.fit import PressFitAnswer
    from screenproof.questions.press.predict import PressPredictAnswer
    from screenproof.questions.press.separate import PressSeparateAnswer


def of_fit(answer: PressFitAnswer) -> Iterator[Finding]:
    """A press that predicts worse than was asked, or of which that is not known."""
    for one in answer.judged:
        if one.status == "fail":
            says = (
                f"{answer.name} predicts worse than was asked: on patches that its fit did not see, the 95th "
                f"percentile is {one.figure:.2f} CIEDE2000, limit {one.limit:g}."
            )
            do = "add patches to its chart, overprints before all, and see that they were read rightly"
            yield Finding("press_fit", answer.name, "", one, says, do)
        elif one.status == "not known":
            says = f"It is not known how well {answer.name} predicts: no patch was kept out of its fit."
            yield Finding("press_fit", answer.name, "", one, says, "add patches between the solids to its chart")


def of_prediction(answer: PressPredictAnswer) -> Iterator[Finding]:
    """Measured samples that are farther than the limit, or of which that is undecided."""
    for name, own in zip(answer.names, answer.figures, strict=False):
        for one in own:
            if one.status == "fail":
                says = (
                    f"{name} was measured {one.figure:.1f} CIEDE2000 from what {answer.press} predicts, "
                    f"limit {one.limit:g}."
                )
                do = "see that it was printed and read rightly; if so, fit the press again with patches like it"
                yield Finding("press_predict", name, answer.press, one, says, do)
            elif one.status == "undecided":
                says = f"Undecided whether {name} is what {answer.press} predicts: {_figure(one)}."
                yield Finding("press_predict", name, answer.press, one, says, remedy_of(one))


def of_separation(answer: PressSeparateAnswer) -> Iterator[Finding]:
    """What cannot be printed, and what is undecided."""
    for i, name in enumerate(answer.names):
        (one,) = answer.figures[i]
        if one.status == "undecided":
            says = f"Undecided whether {name} can be printed on {answer.press}: {_figure(one)}."
            yield Finding("press_separate", name, answer.press, one, says, remedy_of(one))
        elif not answer.printable[i]:
            limit = f", limit {one.limit:g}" if one.limited else ""
            off = f"{one.figure:.1f} CIEDE2000 off{limit}"
            says = f"{name} cannot be printed on {answer.press}: the nearest is {off}."
            yield Finding("press_separate", name, answer.press, one, says, "add a spot ink of that colour")


def remedy_of(one: Judged) -> str:
    """What would decide a figure."""
    return "" if one.remedy is None else one.remedy.words


def _figure(one: Judged) -> str:
    return f"{one.figure:.1f} CIEDE2000, limit {one.limit:g}"
