"""What needs attention on the ink side: colours that a press cannot print, targets that no recipe reaches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screenproof.report.attention import Card, Trouble
from screenproof.report.sheet import severity
from screenproof.report.words import joined, led, sentence

if TYPE_CHECKING:
    from screenproof.report.inks import ReachView
    from screenproof.report.recipes import TargetView
    from screenproof.report.words import Labels


def with_inks(
    cards: Sequence[Card], labels: Labels, wanted: Sequence[ReachView], targets: Sequence[TargetView]
) -> list[Card]:
    """``cards`` with those of the ink side, the worst first."""
    colours: dict[tuple[str, str], list[ReachView]] = {}
    for view in wanted:
        colours.setdefault((view.record.kind, view.record.name), []).append(view)
    found = [
        _reach_card(labels, views)
        for views in colours.values()
        if any(view.state not in (None, "pass") for view in views)
    ]
    found += [_recipe_card(labels, target) for target in targets if all(r.state == "fail" for r in target.records)]
    return sorted([*cards, *found], key=lambda card: card.rank, reverse=True)


def _reach_card(labels: Labels, views: Sequence[ReachView]) -> Card:
    """One wanted colour with all the presses that miss it, the worst first; its patch has the nearest there."""
    bad = [view for view in views if view.state not in (None, "pass")]
    worst = bad[0]
    able = [view.press for view in views if view.record.printable]
    near = [view.press for view in views if view not in bad and not view.record.printable]
    troubles = tuple(_trouble(labels, view) for view in bad)
    if able:
        advice = f"print it on {joined(able, 'or')}"
    elif near:
        advice = f"print it on {joined(near, 'or')}, which misses it by less than the limit"
    elif any("white stock" in way for way in worst.record.obstacles):
        advice = "print it on a whiter stock or on a white underprint, or have a printable colour approved"
    else:
        advice = "add a spot ink of that colour, or have a printable colour approved"
    item = worst.record
    where = f"approved on {labels.display(item.display)}" if item.display else "wanted"
    verdict = item.verdict
    assert verdict is not None
    return Card(
        worst.anchor,
        item.name,
        verdict.status,
        worst.wanted,
        worst.nearest,
        where,
        f"the nearest on {worst.press}",
        troubles,
        sentence(advice),
        severity(verdict),
    )


def _trouble(labels: Labels, view: ReachView) -> Trouble:
    item = view.record
    verdict = item.verdict
    assert verdict is not None
    doubt = "Undecided. " if verdict.status == "undecided" else ""
    ways = f" In the way: {'; '.join(item.obstacles)}." if item.obstacles else ""
    return Trouble(
        f"{doubt}Cannot be printed on {view.press}.",
        f"The nearest colour there is {view.off} {labels.metric(verdict)} away in {labels.light(verdict.light)} "
        f"for {labels.observer(verdict.observer)}, limit {verdict.limit:g}{led(': it is ', item.words)}.{ways}",
    )


def _recipe_card(labels: Labels, target: TargetView) -> Card:
    """A target for which no library of the job has a recipe that is good enough; it shows the first of them."""
    record = target.records[0]
    first = record.cards[0] if record.cards else None
    failed = [verdict for verdict in first.card.verdicts if verdict.status != "pass"] if first else []
    verdict = max(failed, key=severity, default=None)
    if verdict is not None:
        place = f"in {labels.light(verdict.light)}, limit {verdict.limit:g}"
        text = f"The best is {verdict.figure:.1f} {labels.metric(verdict)} off {place}."
    elif first is not None:
        wished = record.record.tolerance
        text = f"The best is {first.now} CIEDE2000 off in {labels.light(record.record.light)}, {wished:g} asked."
    else:
        text = ""
    ways = sentence(record.record.reason or "")
    rank = (True, first.card.de00 / record.record.tolerance if first and record.record.tolerance > 0 else 0.0)
    return Card(
        target.anchor,
        target.name,
        "fail",
        target.colour,
        first.colour if first else target.colour,
        "the target",
        first.name if first else "no recipe",
        (Trouble("No recipe is good enough.", f"{text} {ways}".strip()),),
        "Allow more components, add a component to the library, or widen the limit.",
        severity(verdict) if verdict is not None else rank,
    )
