"""What is asked of a match."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.errors import Problem
from screenproof.questions.form import SamplesLike, ask, group
from screenproof.questions.groups import (
    LIMIT,
    SAMPLES,
    DoubtOptions,
    PeopleOptions,
    SceneOptions,
    ScreenOptions,
)
from screenproof.questions.question import Question
from screenproof.questions.tables import Aim

if TYPE_CHECKING:
    from screenproof.questions.match.answer import MatchAnswer
    from screenproof.questions.opening import Open


class AskMatch(Question):
    """The drive values that show each sample on a display, and what is left of the difference.

    Samples that the display cannot show come first, with the CIEDE2000 to the nearest colour that it can show
    (excess). The residual is the CIEDE2000 between the sample and what its code shows. With --population: what
    people see of each sample beside the screen.
    """

    name = "match"
    short = "The drive values that show samples on a display."
    example = "screenproof match inks.csv --display display-p3 --light D50 --limit 2.0"
    doing = "matching"
    plots = True

    samples: tuple[SamplesLike, ...] = ask(SAMPLES, positional=True, metavar="SAMPLES")
    screen: ScreenOptions = group(ScreenOptions)
    scene: SceneOptions = group(SceneOptions)
    bits: int = ask("Bits per channel of the codes: 8, 10, 12 or 16.", default=8, metavar="N")
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    people: PeopleOptions = group(PeopleOptions)
    aim: Aim | None = ask(
        "Make the drive values for the observer, or for the population's 95th percentile.",
        default=None,
        metavar="WHOM",
    )
    cost: float | None = ask(
        "How much more the observer may see for that; 0.5 unless given.",
        default=None,
        metavar="DE00",
        at_least=0,
        wanted="a CIEDE2000 of 0 or more",
    )
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Options that have nothing to act on."""
        yield from self.doubt.idle(self.limit, screen=True)
        if self.aim == "population" and self.people.population is None:
            mend = "add {population} 200, or leave it out"
            yield Problem("there are no people for it", field="aim", mend=mend)
        if self.cost is not None and self.aim != "population":
            yield Problem(
                "a cost is what drive values made for people may take from the viewing observer, and none are",
                field="cost",
                mend="add {aim} population, or leave it out",
            )

    def ask(self, open: Open) -> MatchAnswer:
        """The match of every sample."""
        from screenproof.questions.match.answer import match_answer

        return match_answer(self, open)
