"""Colours that a press cannot print, and targets that no recipe reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from screenproof.english import capital, in_words, listed, sentence
from screenproof.report.doubt import figure_of
from screenproof.report.findings.told import Told, measure, told, worst_of
from screenproof.report.words import Labels, fixed

if TYPE_CHECKING:
    from screenproof.proof.result import ReachRecord, RecipeCard, RecipeRecord, Result

ALLOW_MORE = "allow more components, add a component to the library, or widen the limit"
MOST_NAMES = 4


def press_findings(result: Result, labels: Labels) -> Iterator[Told]:
    """The troubles of wanted colours on presses, and of recipes."""
    wanted: dict[tuple[str, str], list[tuple[int, ReachRecord]]] = {}
    for number, item in enumerate(result.reach, 1):
        wanted.setdefault((item.kind, item.name), []).append((number, item))
    for entries in wanted.values():
        yield from _printing(labels, entries)
    for number, record in enumerate(result.recipes, 1):
        yield from _recipe(result, labels, record, number)


def _printing(labels: Labels, entries: Sequence[tuple[int, ReachRecord]]) -> Iterator[Told]:
    """One wanted colour on each press that misses it, the worst first; what to do is the same for all."""
    bad = [(item.verdict, number, item) for number, item in entries if item.verdict and item.verdict.trouble]
    bad.sort(key=lambda entry: entry[0].severity, reverse=True)
    missed = [item for _, _, item in bad]
    able = [labels.press(item.press) for _, item in entries if item.printable]
    near = [labels.press(item.press) for _, item in entries if item not in missed and not item.printable]
    if able:
        do = f"print it on {listed(able, last='or')}"
    elif near:
        do = f"print it on {listed(near, last='or')}, which misses it by less than the limit"
    elif missed and missed[0].whiter:
        do = "print it on a whiter stock or on a white underprint, or have a printable colour approved"
    else:
        do = "add a spot ink of that colour, or have a printable colour approved"
    for verdict, _, item in bad:
        press = labels.press(item.press)
        ways = f". In the way: {'; '.join(item.obstacles)}" if item.obstacles else ""
        yield told(
            verdict.what,
            item.name,
            verdict,
            (f"cannot be printed on {press}", f"can be printed on {press}"),
            f"the nearest colour there is {measure(labels, verdict, ' away', item.words)}{ways}",
            place=press,
            do=do,
            unsure=() if able else [verdict],
            anchor=f"reach-{bad[0][1]}",
            colours=() if item.sample is None else (item.sample,),
        )


def _recipe(result: Result, labels: Labels, record: RecipeRecord, number: int) -> Iterator[Told]:
    """A target for which a library has no recipe that is good enough, by the first of them."""
    judged = any(card.verdicts for card in record.recipes)
    first = record.recipes[0] if record.recipes else None
    verdict = worst_of(first.verdicts) if first is not None else None
    if record.status == "pass" or (not judged and record.reached):
        return
    if verdict is not None:
        off = "is off by" if verdict.what == "recipe" else "shifts by"
        said = f"the first {off} {figure_of(verdict)} {labels.metric(verdict)} in {labels.light(verdict.light)}"
        said += f", limit {verdict.limit:g}"
    elif first is not None:
        said = f"the first is {fixed(first.de00)} CIEDE2000 off in {labels.light(record.light)}"
        said += f", {record.tolerance:g} asked"
    else:
        said = ""
    said += f". {capital(record.reason)}" if record.reason else ""
    good = [
        f"{other.name}, {place}"
        for other in result.recipes
        if (other.target_kind, other.target, other.display) == (record.target_kind, record.target, record.display)
        for place, card in enumerate(other.recipes, 1)
        if other.status == card.status == "pass"
    ]
    yield told(
        "recipe",
        record.target,
        verdict,
        ("has no recipe that is good enough", "has a recipe that is good enough"),
        said,
        tail=f" ({record.name})",
        title=f"{record.target}: {record.name}",
        lead="" if verdict is not None and verdict.status != "fail" else "No recipe is good enough.",
        do=f"take {good[0]}, which passes" if good else ALLOW_MORE,
        anchor=f"recipe-{number}",
        colours=() if record.sample is None else (record.sample,),
        wanting=not judged,
    )


def press_remarks(result: Result, labels: Labels) -> Iterator[Told]:
    """What presses miss without failing a limit, which were not asked, and the recipes to take."""
    for press in result.presses:
        label = labels.press(press.name)
        mine = [item for item in result.reach if item.press == press.name]
        if press.refused:
            yield told("press", label, None, ("was not asked", ""), press.refused)
        out = [item for item in mine if not item.printable and not (item.verdict and item.verdict.trouble)]
        out.sort(key=lambda item: item.excess, reverse=True)
        if out:
            named = listed([f"{item.name} ({item.excess:.1f})" for item in out], MOST_NAMES)
            lie = f"{in_words(len(out), 'colour lies', 'colours lie')} outside what {label} prints"
            yield Told("press", label, says=sentence(f"{lie}, without failing a limit (CIEDE2000): {named}"))
        if mine and all(item.printable for item in mine):
            count = (
                "the one colour that was" if len(mine) == 1 else f"all {in_words(len(mine), 'colour')} that were"
            )
            yield told("press", label, None, (f"prints {count} asked for", ""), "")
    for record in result.recipes:
        yield from _to_take(labels, record)


def _to_take(labels: Labels, record: RecipeRecord) -> Iterator[Told]:
    """The recipe to take, and one that matches as well and shifts in another light."""
    if not record.reached or record.status not in ("pass", "not judged"):
        return
    place = next((i for i, card in enumerate(record.recipes) if card.status == record.status), 0)
    card = record.recipes[place]
    parts = listed([part.name for part in card.components], 6)
    says = f"{record.target}: recipe {place + 1} of {record.name} ({parts}) comes within {card.de00:.1f} CIEDE2000"
    says += f" and shifts by up to {_most(labels, card)}" if card.shifts else ""
    yield Told("recipe", record.target, says=f"{says}.", do="mix a trial and measure it before you print or paint")
    for i, one in enumerate(record.recipes):
        if i != place and one.shifts and one.status == "fail" and one.de00 <= record.tolerance:
            says = (
                f"{record.target}: recipe {i + 1} of {record.name} matches as well ({one.de00:.1f}), but shifts "
                f"by {_most(labels, one)}."
            )
            yield Told("recipe", record.target, says=says, do=f"do not take it; take recipe {place + 1}")
            return


def _most(labels: Labels, card: RecipeCard) -> str:
    most = max(card.shifts, key=lambda one: one.de00)
    return f"{most.de00:.1f} in {labels.light(most.light)}"
