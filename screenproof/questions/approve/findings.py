"""What a person should know of approved colours."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.questions.telling import measured

if TYPE_CHECKING:
    from screenproof.questions.approve.answer import ApprovalAnswer


def findings(answer: ApprovalAnswer) -> Iterator[Finding]:
    """Samples that are not the approved colour, or of which that is undecided."""
    where = answer.display.label
    for name, judged, words in zip(answer.names, answer.figures, answer.words, strict=True):
        if judged.status == "fail":
            says = f"{name} is not the colour approved on {where}: off by {measured(judged)}; it is {words}."
            cure = "correct the sample towards the approved colour, or have the approval given anew"
            yield Finding("approval", name, where, judged, says, cure)
        elif judged.trouble:
            cure = "" if judged.remedy is None else judged.remedy.words
            says = f"Undecided whether {name} is the colour approved on {where}: {measured(judged)}."
            yield Finding("approval", name, where, judged, says, cure)
