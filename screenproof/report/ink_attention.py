"""What needs attention on the ink side: colours that a press cannot print, targets that no recipe reaches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screenproof.report.attention import Card, Trouble
from screenproof.report.doubt import cures
from screenproof.report.sheet import severity
from screenproof.report.words import against, joined, led, sentence

if TYPE_CHECKING:
    from screenproof.report.inks import ReachView
    from screenproof.report.recipes import RecipeView, TargetView
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
    found += [
        _recipe_card(labels, target, record)
        for target in targets
        for record in target.records
        if record.state not in (None, "pass")
    ]
    return sorted([*cards, *found], key=lambda card: card.rank, reverse=True)


def _reach_card(labels: Labels, views: Sequence[ReachView]) -> Card:
    """One wanted colour with all the presses that miss it, the worst first; its patch has the nearest there."""
    bad = [view for view in views if view.state not in (None, "pass")]
    worst = bad[0]
    able = [view.press for view in views if view.record.printable]
    near = [view.press for view in views if view not in bad and not view.record.printable]
    troubles = tuple(_trouble(labels, view) for view in bad)
    unsure = [view.record.verdict for view in bad if view.record.verdict is not None]
    if worst.state == "undecided" and not able:
        advice = "; ".join(cures(unsure))
    elif able:
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
    undecided = verdict.status == "undecided"
    lead = f"Undecided whether {view.press} can print it." if undecided else f"Cannot be printed on {view.press}."
    ways = f" In the way: {'; '.join(item.obstacles)}." if item.obstacles else ""
    return Trouble(
        lead,
        f"The nearest colour there is {view.off} {labels.metric(verdict)} away in {labels.light(verdict.light)} "
        f"for {labels.observer(verdict.observer)}, limit {verdict.limit:g}{led(': it is ', item.words)}.{ways}",
    )


def _recipe_card(labels: Labels, target: TargetView, record: RecipeView) -> Card:
    """A target for which a library has no recipe that is good enough; it shows the first of them."""
    first = record.cards[0] if record.cards else None
    failed = [verdict for verdict in first.card.verdicts if verdict.status != "pass"] if first else []
    verdict = max(failed, key=severity, default=None)
    if verdict is not None:
        figure = f"{against(verdict.figure, verdict.limit)} {labels.metric(verdict)}"
        place = f"in {labels.light(verdict.light)}, limit {verdict.limit:g}"
        what = "is off by" if verdict.what == "recipe" else "shifts by"
        text = f"The first of them {what} {figure} {place}."
    elif first is not None:
        where, wished = labels.light(record.record.light), record.record.tolerance
        text = f"The first of them is {first.now} CIEDE2000 off in {where}, {wished:g} asked."
    else:
        text = ""
    ways = sentence(record.record.reason or "")
    rank = (True, first.card.de00 / record.record.tolerance if first and record.record.tolerance > 0 else 0.0)
    good = [card.name for entry in target.records for card in entry.cards if entry.state == card.state == "pass"]
    advice = "Allow more components, add a component to the library, or widen the limit."
    return Card(
        record.anchor,
        f"{target.name}: {record.record.name}",
        record.state or "fail",
        target.colour,
        first.colour if first else target.colour,
        "the target",
        "the recipe, predicted" if first else "no recipe",
        (Trouble("No recipe is good enough.", f"{text} {ways}".strip()),),
        f"Take {joined(good[:1])}, which passes." if good else advice,
        severity(verdict) if verdict is not None else rank,
    )
