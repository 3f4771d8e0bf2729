"""The verdict of the ink side in plain sentences, trouble first, joined to that of the samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from screenproof.jobs.sentences import capital, count, failing, listed
from screenproof.proof import worst
from screenproof.proof.result import ReachRecord, RecipeRecord, Summary
from screenproof.proof.tolerance import METRIC_LABELS, Status

if TYPE_CHECKING:
    from screenproof.jobs.ink_run import InkRecords


def with_ink(summary: Summary, records: InkRecords) -> Summary:
    """A summary with the statuses and the sentences of the ink side, what failed before what was well."""
    statuses: list[Status] = [item.status for item in records.reach if item.verdict is not None]
    statuses += [item.status for item in records.recipes if any(card.verdicts for card in item.recipes)]
    counts = {key: value + statuses.count(key) for key, value in summary.counts.items()}  # type: ignore[arg-type]
    trouble = [*_reach_failing(records.reach), *_recipes_failing(records.recipes)]
    told = [
        *_refused(records),
        *_reach_untold(records.reach),
        *_recipes_well(records.recipes),
    ]
    if summary.status == "fail" or not trouble:
        sentences = (*_until_closing(summary), *trouble, *_closing(summary), *told)
    else:
        sentences = (*trouble, *summary.sentences, *told)
    return replace(summary, status=worst([summary.status, *statuses]), counts=counts, sentences=sentences)


def _closing(summary: Summary) -> Sequence[str]:
    """The sentences on what is well, which end a summary."""
    marks = (
        "pass all that was judged",
        "passes all that was judged",
        "Nothing was judged",
        "No sample passes",
        "No sample was judged",
    )
    for place, sentence in enumerate(summary.sentences):
        if any(mark in sentence for mark in marks):
            return summary.sentences[place:]
    return ()


def _until_closing(summary: Summary) -> Sequence[str]:
    return summary.sentences[: len(summary.sentences) - len(_closing(summary))]


def _reach_failing(reach: Sequence[ReachRecord]) -> list[str]:
    """A sentence for each approval or sample that failed, the farthest first."""
    bad = [item for item in reach if item.verdict is not None and item.verdict.status == "fail"]
    bad.sort(key=lambda item: item.excess, reverse=True)
    sentences = []
    for item in bad:
        assert item.verdict is not None
        sentences.append(f"{item.sentence.rstrip('.')}; limit {item.verdict.limit:g}.")
    return sentences


def _reach_untold(reach: Sequence[ReachRecord]) -> list[str]:
    """What a press cannot print without failing a limit, counted by press."""
    sentences = []
    for press in dict.fromkeys(item.press for item in reach):
        mine = [item for item in reach if item.press == press]
        out = [item for item in mine if not item.printable and item.status != "fail"]
        out.sort(key=lambda item: item.excess, reverse=True)
        good = sum(item.printable for item in mine)
        if out:
            verb = "lies" if len(out) == 1 else "lie"
            named = listed([f"{item.name} ({item.excess:.1f})" for item in out])
            sentences.append(
                capital(
                    f"{count(len(out), 'colour')} {verb} outside what {press} prints without failing (excess in "
                    f"CIEDE2000): {named}."
                )
            )
        if good == len(mine):
            which = "the one colour that was" if good == 1 else f"all {count(good, 'colour')} that were"
            sentences.append(capital(f"{press} prints {which} asked for."))
    return sentences


def _refused(records: InkRecords) -> list[str]:
    return [f"{item.label} was not asked: {item.refused}." for item in records.presses if item.refused]


def _recipes_failing(recipes: Sequence[RecipeRecord]) -> list[str]:
    """Why none of the recipes for a target passes, by the worst of the first one."""
    sentences = []
    for item in recipes:
        if item.status != "fail":
            continue
        bad = failing(item.recipes[0].verdicts)[0]
        if item.reason is not None:
            sentences.append(f"No recipe for {item.target} passes ({item.name}): {item.reason}.")
        else:
            sentences.append(
                f"No recipe for {item.target} passes ({item.name}): the best differs by {bad.figure:.1f} "
                f"{METRIC_LABELS[bad.metric]} in {bad.light}, limit {bad.limit:g}."
            )
    return sentences


def _recipes_well(recipes: Sequence[RecipeRecord]) -> list[str]:
    """The recipe to take, and how those that match as well part from it in other lights."""
    sentences = []
    for item in recipes:
        if item.status == "fail":
            continue
        place = next((i for i, card in enumerate(item.recipes) if card.status != "fail"), 0)
        card = item.recipes[place]
        if not item.reached:
            sentences.append(f"{item.target} is not reached ({item.name}): {item.reason}.")
            continue
        shift = max(card.shifts, key=lambda one: one.de00, default=None)
        moved = "" if shift is None else f", and shifts by up to {shift.de00:.1f} in {shift.light}"
        sentences.append(
            f"Recipe {place + 1} for {item.target} ({item.name}), "
            f"{listed([part.name for part in card.components], 6)}, comes within {card.de00:.1f} CIEDE2000{moved}."
        )
        others = [
            (i, one, max(one.shifts, key=lambda each: each.de00))
            for i, one in enumerate(item.recipes)
            if i != place and one.shifts and one.status == "fail" and one.de00 <= item.tolerance
        ]
        for i, one, moves in others[:1]:
            sentences.append(
                f"Recipe {i + 1} for {item.target} matches as well ({one.de00:.1f}), and is not to be taken: it "
                f"shifts by {moves.de00:.1f} in {moves.light}."
            )
    return sentences
