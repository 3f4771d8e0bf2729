"""What a person should know of overprints."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding

if TYPE_CHECKING:
    from screenproof.questions.overprint.answer import OverprintAnswer


def findings(answer: OverprintAnswer) -> Iterator[Finding]:
    """Measured overprints that fail or are undecided."""
    for i, name in enumerate(answer.names):
        for judged in answer.figures[i]:
            if not judged.trouble:
                continue
            figure = f"{judged.figure:.1f} CIEDE2000, limit {judged.limit:g}"
            if judged.status == "fail":
                words = f" ({answer.words[i]})" if answer.words[i] else ""
                says = f"{name} on {answer.stock} is predicted{words} {figure} from what was measured."
                cure = "measure the overprint itself, or fit the trapping to it"
            else:
                says = f"Undecided whether {name} on {answer.stock} is as predicted: {figure}."
                cure = "" if judged.remedy is None else judged.remedy.words
            yield Finding("overprint", name, answer.stock, judged, says, cure)
