"""What people will argue about, told one by one: which sample, where, by whom, and what may be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from screenproof.report.attention import pair_colours
from screenproof.report.eye_words import (
    direction_words,
    in_ten,
    kind_of,
    most_first,
    seen_by,
    who_sees,
    worst_light,
)
from screenproof.report.words import Labels, against, far, joined, sentence

if TYPE_CHECKING:
    from screenproof.proof.result import CrowdRecord, Result
    from screenproof.report.sheet import SampleView

MOST_ITEMS = 6
"""So many samples are told of one by one; all of them stand in the panels."""

_KINDER = 0.7  # another display is worth naming where the 95th percentile is below this part of it


@dataclass(frozen=True)
class Item:
    """Something that people will see unlike: what, by whom, and what may be done.

    What may be done about several alike stands once, for all of them (:func:`items`): they have no ``advice``.
    """

    anchor: str
    name: str
    left: str
    right: str
    lead: str
    said: str
    advice: str


@dataclass(frozen=True)
class Onlooked:
    """A crowd and what it looks at: a sample on a display, or a pair (then ``display`` is '').

    ``fails``: the display cannot serve it in any case.
    """

    crowd: CrowdRecord
    name: str
    anchor: str
    left: str
    right: str
    display: str
    label: str
    fails: bool = False


def judged_of(result: Result, labels: Labels, views: Sequence[SampleView]) -> list[Onlooked]:
    """Every crowd of ``result`` with what it looks at: samples on displays, then pairs in their worst light."""
    found = [
        Onlooked(
            display.on.crowd,
            view.sample.name,
            view.anchor,
            view.colour,
            display.screen,
            display.on.display,
            display.label,
            display.status == "fail",
        )
        for view in views
        for display in view.displays
        if display.on.crowd is not None
    ]
    by_name = {view.sample.name: view for view in views}
    for number, pair in enumerate(result.pairs, 1):
        worst = worst_light(pair)
        if worst is not None:
            sides = pair_colours(pair, worst.light, by_name)
            found.append(Onlooked(worst, pair.name, f"pair-{number}", *sides, "", labels.light(worst.light)))
    return found


def notable(judged: Sequence[Onlooked]) -> list[list[Onlooked]]:
    """The samples and pairs of ``judged`` that people will see unlike, each with all displays where they do.

    Where most people do comes first, in both.
    """
    found = [entry for entry in judged if kind_of(entry.crowd) in ("all", "argued")]
    found.sort(key=lambda entry: most_first(entry.crowd))
    by_anchor: dict[str, list[Onlooked]] = {}
    for entry in found:
        by_anchor.setdefault(entry.anchor, []).append(entry)
    return list(by_anchor.values())


def lead_of(entries: Sequence[Onlooked]) -> str:
    """What becomes of one sample or pair, in a few words."""
    where = f" on {joined([entry.label for entry in entries])}" if entries[0].display else ""
    return (
        f"Will be argued about{where}."
        if kind_of(entries[0].crowd) == "argued"
        else f"{'All' if entries[0].crowd.share_above == 1.0 else 'Nearly all'} people see it{where}."
    )


def items(
    result: Result, labels: Labels, judged: Sequence[Onlooked]
) -> tuple[list[Item], list[tuple[str, str]], int]:
    """The first of :func:`notable`, told one by one; what may be done about several alike, as (for whom, what);
    and how many more there are."""
    every = notable(judged)
    told = [_item(labels, result, entries, judged) for entries in every[:MOST_ITEMS]]
    return *_once(told), len(every) - len(told)


def _once(told: Sequence[Item]) -> tuple[list[Item], list[tuple[str, str]]]:
    """``told`` without the advices that are the same for several, and these with the names of all of them."""
    names: dict[str, list[str]] = {}
    for item in told:
        names.setdefault(item.advice, []).append(item.name)
    shared = {advice: several for advice, several in names.items() if advice and len(several) > 1}
    found = [replace(item, advice="") if item.advice in shared else item for item in told]
    whom = {advice: joined(several) for advice, several in shared.items()}
    if len(told) == len(names.get(told[0].advice, ())) if told else False:
        whom = dict.fromkeys(whom, "all of them")
    return found, [(who, advice) for advice, who in whom.items()]


def _item(labels: Labels, result: Result, entries: Sequence[Onlooked], judged: Sequence[Onlooked]) -> Item:
    """What is told of one sample or pair: on every display where people will see it unlike, the worst first."""
    worst = entries[0]
    crowd = worst.crowd
    here = f"On {worst.label} " if worst.display and len(entries) > 1 else ""
    text = f"{here}{who_sees(labels, crowd)}"
    rest = [f"on {entry.label} {in_ten(entry.crowd.share_above or 0.0)} do" for entry in entries[1:]]
    text += f" ({'; '.join(rest)})" if rest else ""
    what, beside = ("the object", "the screen") if worst.display else ("the second", "the first")
    shown = far(crowd.standard)
    if crowd.limit is not None and crowd.standard >= 0.1:
        shown = against(crowd.standard, crowd.limit)
    only = " only" if crowd.limit is not None and crowd.standard <= crowd.limit else ""
    said = [sentence(text), direction_words(crowd, what, beside), f"It is {shown} for {labels.eye}{only}."]
    advice = _advice(result, labels, worst, judged) if worst.display else _pair_advice(labels, crowd)
    return Item(
        worst.anchor,
        worst.name,
        worst.left,
        worst.right,
        lead_of(entries),
        " ".join(part for part in said if part),
        sentence("; or ".join(advice)),
    )


def _advice(result: Result, labels: Labels, entry: Onlooked, judged: Sequence[Onlooked]) -> list[str]:
    """What may be done about a sample that people see unlike: a kinder display, other drive values, the object."""
    crowd = entry.crowd
    others = [one for one in judged if one.anchor == entry.anchor and one.display != entry.display]
    others.sort(key=lambda one: most_first(one.crowd), reverse=True)
    others = [one for one in others if not one.fails]
    good = [one for one in others if kind_of(one.crowd) in ("few", "none")]
    advice = []
    if good:
        advice.append(f"show it on {good[0].label}, where {seen_by(good[0].crowd)} as much")
    elif others and others[0].crowd.p95 < _KINDER * crowd.p95:
        one = others[0].crowd
        advice.append(
            f"{others[0].label} is kinder: {seen_by(one)} as much there, not {in_ten(crowd.share_above or 0.0)}"
        )
    people = result.population
    if people is not None and people.aim == "observer" and not good:
        advice.append(
            'ask whoever made this page for a screen code made for many eyes (in the job: aim = "population")'
        )
    if not good:
        advice.append("let whoever decides see the object itself")
    return advice


def _pair_advice(labels: Labels, crowd: CrowdRecord) -> list[str]:
    return [
        "let one of the two be coloured with the other's pigments, or let both be seen by whoever decides in "
        f"{labels.light(crowd.light)}"
    ]
