"""What a person should know of colours that are to be printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding

if TYPE_CHECKING:
    from screenproof.questions.printable.answer import PrintableAnswer


def findings(answer: PrintableAnswer) -> Iterator[Finding]:
    """What cannot be printed, with what stands in the way, and what is undecided."""
    for i, name in enumerate(answer.names):
        (one,) = answer.figures[i]
        if one.status == "undecided":
            says = (
                f"Undecided whether {name} can be printed on {answer.press}: {one.figure:.1f} CIEDE2000, "
                f"limit {one.limit:g}."
            )
            cure = "" if one.remedy is None else one.remedy.words
            yield Finding("printable", name, answer.press, one, says, cure)
        elif not answer.printable[i]:
            white = any("white stock" in way for way in answer.obstacles[i])
            cure = (
                "print it on a whiter stock or on a white underprint" if white else "add a spot ink of that colour"
            )
            yield Finding("printable", name, answer.press, one, answer.sentence[i], cure)
