"""What a person should know of a gamut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.questions.telling import measured

if TYPE_CHECKING:
    from screenproof.questions.gamut.answer import GamutAnswer


def findings(answer: GamutAnswer) -> Iterator[Finding]:
    """Samples that the display cannot show, with the display that would."""
    where = answer.display.label
    for i, name in enumerate(answer.names):
        (judged,) = answer.figures[i]
        if answer.in_gamut[i] and not judged.trouble:
            continue
        able = answer.suffices[i]
        cure = f"show it on a display that covers {able[0]}" if able else "send the object itself"
        if judged.status == "undecided":
            cure = "" if judged.remedy is None else judged.remedy.words
            says = f"Undecided whether {name} can be shown on {where}: {measured(judged)}."
        else:
            words = f" ({answer.direction[i]})" if answer.direction[i] else ""
            off = measured(judged)
            says = f"{name} cannot be shown on {where}: the nearest colour is off by {off}{words}."
        yield Finding("excess", name, where, judged, says, cure)
