"""What a person should know of a comparison."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding
from screenproof.questions.telling import measured

if TYPE_CHECKING:
    from screenproof.questions.compare.answer import Comparison

_WHOLE = {"mean": "The mean", "p95": "The 95th percentile", "worst": "The largest"}


def findings(answer: Comparison) -> Iterator[Finding]:
    """Pairs, then the set as a whole: what fails or is undecided."""
    unit = answer.metric_label
    for label, judged, words in zip(answer.labels, answer.figures, answer.words, strict=True):
        if judged.status == "fail":
            says = f"{label} is off by {measured(judged, unit)}: it is {words}."
            yield Finding(
                "pair", label, "", judged, says, "correct it towards the target, or agree on this colour"
            )
        elif judged.trouble:
            cure = "" if judged.remedy is None else judged.remedy.words
            says = f"Undecided whether {label} is near enough: {measured(judged, unit)}."
            yield Finding("pair", label, "", judged, says, cure)
    for judged in answer.whole:
        if judged.trouble:
            verb = "is over its limit" if judged.status == "fail" else "is undecided"
            says = f"{_WHOLE[judged.what]} {verb}: {measured(judged, unit)}."
            yield Finding(
                "whole", "the set", "", judged, says, f"begin with {answer.worst_name}, which is farthest off"
            )
