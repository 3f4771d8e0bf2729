"""What a person should know of recipes and corrections: the only place with sentences about it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.proof.finding import Finding

if TYPE_CHECKING:
    from screenproof.questions.recipe.correct import CorrectionAnswer
    from screenproof.questions.recipe.find import RecipeAnswer

_MORE = "allow more components, or take a library that has the colour"


def of_recipes(answer: RecipeAnswer) -> Iterator[Finding]:
    """That no recipe is near enough; or which is the first that cannot be decided, where none passes."""
    target = answer.target.name
    if answer.status == "fail":
        first = answer.figures[0][0]
        says = f"No recipe for {target} passes: the best is {first.figure:.1f} off, limit {first.limit:g}."
        yield Finding("recipe", target, "", first, says, _MORE)
    elif answer.status == "undecided":
        place = answer.statuses.index("undecided")
        judged = answer.figures[place][0]
        says = f"Undecided whether recipe {place + 1} meets {target}: {judged.figure:.1f}, limit {judged.limit:g}."
        yield Finding("recipe", target, "", judged, says, "" if judged.remedy is None else judged.remedy.words)
    elif not answer.reached:
        yield Finding("recipe", target, "", None, f"{target} is not reached: {answer.reason}.", _MORE)


def of_correction(answer: CorrectionAnswer) -> Iterator[Finding]:
    """That no addition mends the batch, or that the scale is too coarse for the one that would."""
    (judged,) = answer.judged_
    if not answer.possible:
        says = f"The batch cannot be brought to {answer.target.name}: {answer.reason}."
        yield Finding("correction", answer.target.name, "", judged, says, "mix a new batch")
    elif judged.status == "fail":
        says = f"Rounded to the scale, the batch stays {judged.figure:.2f} off, tolerance {judged.limit:g}."
        yield Finding("correction", answer.target.name, "", judged, says, "weigh it on a finer scale")
