"""What is asked of an approved colour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.errors import Problem
from screenproof.questions.form import SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, SAMPLES, DoubtOptions, SceneOptions, ScreenOptions
from screenproof.questions.parsing import codes, hex_faults
from screenproof.questions.question import Question
from screenproof.questions.tables import Bits

if TYPE_CHECKING:
    from screenproof.questions.approve.answer import ApprovalAnswer
    from screenproof.questions.opening import Open


class AskApprove(Question):
    """Whether measured samples are the colours that somebody approved on a screen.

    Each code stands for one sample, in their order: the colour that it shows, brought to the object's side,
    against the sample under the viewing light. One code for several samples holds each of them against it.
    """

    name = "approve"
    short = "Whether a sample is the colour that was approved on a screen."
    example = "screenproof approve inks.csv --only 'Tea green' --display office.icc --code 66,148,73 --limit 2"
    doing = "holding samples against what was approved"

    samples: tuple[SamplesLike, ...] = ask(SAMPLES, positional=True, metavar="SAMPLES")
    code: tuple[int, ...] = ask(
        "The approved code: 66,148,73 or #429449; one for all, or one for each sample.",
        metavar="R,G,B",
        parse=codes,
    )
    bits: Bits = ask("Bits per channel of the code: 8, 10, 12 or 16.", default=8, metavar="N")
    screen: ScreenOptions = group(ScreenOptions)
    scene: SceneOptions = group(SceneOptions)
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Options that have nothing to act on, and codes of another depth."""
        yield from self.doubt.idle(self.limit, screen=True)
        yield from hex_faults(self.code, self.bits, "code")  # type: ignore[arg-type]

    def ask(self, open: Open) -> ApprovalAnswer:
        """How far each sample is from its approved colour."""
        from screenproof.questions.approve.answer import approval_answer

        return approval_answer(self, open)
