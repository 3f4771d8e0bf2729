"""What is asked of a light."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.errors import Problem
from screenproof.questions.form import LightLike, SamplesLike, ask
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.light.answer import LightChecked
    from screenproof.questions.opening import Open


class AskLightCheck(Question):
    """Check a light against ISO 3664: colour, rendering, metamerism, illuminance. Exit code 1 if one fails."""

    name = "light check"
    short = "Check a light against ISO 3664."
    example = "screenproof light check booth.csv --illuminance 2100 --plot booth.png"
    doing = "checking the light"
    plots = True

    light: LightLike = ask("A measured light (CSV or SPDX), or a name.", positional=True, metavar="SPECTRUM")
    aim: LightLike = ask("The light that it stands for.", default="D50", metavar="LIGHT")
    illuminance: float | None = ask(
        "Read where the samples lie; else the file's.", default=None, metavar="LUX", above=0, unit="lx"
    )
    level: str | None = ask(
        "The level that is wanted: P1, 2000 lx, or P2, 500 lx; else either will do.", default=None, metavar="P1|P2"
    )
    specimens: SamplesLike | None = ask(
        "Pairs that match in the aim, called NAME a and NAME b.", default=None, metavar="SAMPLES"
    )
    partners: SamplesLike | None = ask("The other halves, if in another file.", default=None, metavar="SAMPLES")

    def faults(self) -> Iterator[Problem]:
        """Partners of nothing."""
        if self.partners is not None and self.specimens is None:
            yield Problem(
                "there are no specimens to pair them with", field="partners", mend="add {specimens} FILE"
            )

    def ask(self, open: Open) -> LightChecked:
        """The light against the limits."""
        from screenproof.questions.light.answer import light_answer

        return light_answer(self, open)
