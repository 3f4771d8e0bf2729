"""What is asked of a gamut."""

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

if TYPE_CHECKING:
    from screenproof.questions.gamut.answer import GamutAnswer
    from screenproof.questions.opening import Open


class AskGamut(Question):
    """Which samples a display can show, how far it falls short of the others, and which standard would do.

    The excess is the CIEDE2000 to the nearest colour that the display can show. Exit code 0, unless a --limit
    for the excess is given and exceeded. With --population: for how many people a colour is outside.
    """

    name = "gamut"
    short = "Which samples a display can show."
    example = "screenproof gamut inks.csv --display office.icc --room 64"
    doing = "looking for what can be shown"
    plots = True

    samples: tuple[SamplesLike, ...] = ask(SAMPLES, positional=True, metavar="SAMPLES")
    screen: ScreenOptions = group(ScreenOptions)
    scene: SceneOptions = group(SceneOptions)
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    people: PeopleOptions = group(PeopleOptions)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Options that have nothing to act on."""
        yield from self.doubt.idle(self.limit, screen=True)

    def ask(self, open: Open) -> GamutAnswer:
        """What the display can show of every sample."""
        from screenproof.questions.gamut.answer import gamut_answer

        return gamut_answer(self, open)
