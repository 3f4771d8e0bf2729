"""What a person should know of samples with brightener."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding

if TYPE_CHECKING:
    from screenproof.questions.brightener.answer import BrightenerAnswer


def findings(answer: BrightenerAnswer) -> Iterator[Finding]:
    """Lights in which it cannot be known what brightener does."""
    for at in answer.lights[0]:
        if at.low is None:
            says = f"What brightener does in {at.light} cannot be known: {at.reason}."
            yield Finding("brightener", at.light, says=says)


def of_lights(answer: BrightenerAnswer) -> list[str]:
    """A line for each light: what it does to the sample with the strongest brightener, or why that is not
    known."""
    first = answer.order[0]
    return [
        f"in {at.light}: cannot be known: {at.reason}"
        if at.low is None
        else f"in {at.light}: {answer.names[first]}: {at.words}"
        for at in answer.lights[first]
    ]
