"""What a person should know of a match: the only place with sentences about it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.questions.telling import measured

if TYPE_CHECKING:
    from screenproof.questions.match.answer import MatchAnswer


def findings(answer: MatchAnswer) -> Iterator[Finding]:
    """Samples that fail or are undecided, and those that the display cannot show."""
    where = answer.display.label
    for i, name in enumerate(answer.names):
        (judged,) = answer.figures[i]
        if judged.status == "fail":
            yield Finding(
                "match",
                name,
                where,
                judged,
                f"{name} is not met on {where}: {measured(judged)}.",
                f"codes of more than {answer.bits} bits leave less"
                if answer.in_gamut[i]
                else "show the object itself",
            )
        elif judged.status == "undecided":
            cure = "" if judged.remedy is None else judged.remedy.words
            says = f"Undecided whether {name} is met on {where}: {measured(judged)}."
            yield Finding("match", name, where, judged, says, cure)
        elif not answer.in_gamut[i]:
            says = (
                f"{name} cannot be shown on {where}: the nearest colour is {answer.excess[i]:.1f} CIEDE2000 away."
            )
            yield Finding("gamut", name, where, None, says, "show it on a display with a larger gamut")
