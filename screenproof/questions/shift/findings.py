"""What a person should know of shifts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.questions.telling import measured

if TYPE_CHECKING:
    from screenproof.questions.shift.answer import ShiftAnswer

_FAILS = {
    "light_shift": "{name} changes with the light",
    "pair_shift": "{name} do not match any more",
    "screen_shift": "{name} leaves its match",
}
_CURES = {
    "light_shift": "agree on the light in which the colour counts",
    "pair_shift": "let one of the two be coloured with the other's pigments, or keep them apart in that light",
    "screen_shift": "judge it in the first light only, or match it in that one",
}


def findings(answer: ShiftAnswer) -> Iterator[Finding]:
    """The worst figure of every sample or pair that fails or is undecided."""
    place = "" if answer.display is None else answer.display.label
    for name, own in zip(answer.labels, answer.figures, strict=True):
        bad = max((one for one in own if one.trouble), key=lambda one: one.severity, default=None)
        if bad is None:
            continue
        figure = f"{measured(bad)}, in {bad.light} for {bad.observer}"
        if bad.status == "fail":
            says = f"{_FAILS[answer.kind].format(name=name)}: {figure}."
            yield Finding(answer.kind, name, place, bad, says, _CURES[answer.kind])
        else:
            cure = "" if bad.remedy is None else bad.remedy.words
            yield Finding(answer.kind, name, place, bad, f"Undecided whether {name} holds: {figure}.", cure)
