"""For whom a match holds: what a population sees, who will argue about which sample, and what may be done.

All figures are the result's own; what counts as argued about is said in :mod:`.eye_words`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from screenproof.english import listed, sentence
from screenproof.report.cards import pair_colours
from screenproof.report.crowd_figures import MOST_TICKS, Bar, Scale, age_bar, crowd_bar, ends, scale_for
from screenproof.report.eye_words import (
    Class,
    by_whom,
    in_ten,
    kind_of,
    limit_words,
    metric_words,
    most_first,
    percent,
    said_of,
    stand,
    trust_words,
    worst_light,
)
from screenproof.report.findings.people import Onlooked, kindest_words, onlooked
from screenproof.report.words import Labels, against, far

if TYPE_CHECKING:
    from screenproof.proof.result import CrowdRecord, PairRecord, PopulationRecord, Result
    from screenproof.report.findings import Told
    from screenproof.report.sheet import SampleView

MOST_ITEMS = 6
"""So many of what people will see unlike are told of one by one; all of them stand in the panels."""

ROWS = 20
"""So many rows of a panel stand open; of a longer one the rest is folded."""

_NARROW = 4  # ticks of a scale in half the breadth of the page
_FAR_LIMIT = 1.5  # a limit so many times beyond what is seen would only squeeze the bars
_FAR_FIGURE = 4.0  # as would a figure so many times beyond the limit, so its bar is cut


@dataclass(frozen=True)
class CrowdRow:
    """A sample, pair or decade of ages on a scale: its colours, bar and figures as texts."""

    name: str
    bar: Bar
    median: str
    p95: str
    share: str
    kind: Class = "open"
    words: str = ""
    age: str = ""
    anchor: str = ""
    left: str = ""
    right: str = ""
    place: str = ""


@dataclass(frozen=True)
class Panel:
    """Bars on one scale: of the samples on a display, of pairs, of a pair in its lights, or of decades of ages.

    ``first`` heads their names, ``limit`` stands where it is the same for all, ``said`` tells of them in words.
    ``most``: the rows say how people stand to it; ``aged``: at what age most is seen, too.
    """

    label: str
    caption: str
    first: str
    scale: Scale
    limit: str | None
    said: tuple[str, ...]
    rows: tuple[CrowdRow, ...]
    folded: tuple[CrowdRow, ...] = ()
    most: bool = True
    aged: bool = False


@dataclass(frozen=True)
class Item:
    """Something that people will see unlike, with its colours.

    What may be done about several alike stands once, for all of them: they have no ``advice``.
    """

    told: Told
    left: str
    right: str
    advice: str


@dataclass(frozen=True)
class Eyes:
    """The section on the people; ``who`` they are is empty for a job that asks for none.

    ``cautions``: where the viewing observer is not to be trusted. ``said``: the people in sentences. ``leads``: of
    all that people will see unlike, by its place on the page, what becomes of it in a few words. ``shared``: what
    may be done about several of ``items``, as (for whom, what).
    """

    who: str
    cautions: tuple[str, ...]
    said: tuple[str, ...]
    items: tuple[Item, ...]
    more: int
    panels: tuple[Panel, ...]
    limited: bool
    refused: tuple[str, ...]
    leads: Mapping[str, str] = field(default_factory=dict)
    shared: tuple[tuple[str, str], ...] = ()


Sides = Mapping[tuple[str, str], tuple[str, str]]
"""The two page colours of what people look at, by its place on the page and the display ('' for a pair)."""


def eyes_view(result: Result, labels: Labels, views: Sequence[SampleView], found: Sequence[Told]) -> Eyes | None:
    """The section of ``result``; None for a job without people in which the viewing observer is to be trusted."""
    cautions = tuple(one.says for one in found if one.kind == "observer")
    people = result.population
    if people is None:
        return Eyes("", cautions, (), (), 0, (), False, ()) if cautions else None
    judged, sides = onlooked(result, labels), _sides(result, views)
    unlike = [one for one in found if one.kind == "people" and one.anchor]
    items, shared = _items(unlike[:MOST_ITEMS], judged, sides)
    said = (
        _limit_said(result, judged),
        _made_for(people, labels, judged),
        kindest_words(result, labels),
        _nobody(judged),
    )
    return Eyes(
        _who(people, labels, result.viewing.basis),
        cautions,
        tuple(part for part in said if part),
        tuple(items),
        len(unlike) - len(items),
        tuple(_panels(labels, judged, sides)),
        any(entry.crowd.limit is not None for entry in judged),
        tuple(sentence(reason) for reason in people.refused),
        {one.anchor: one.lead for one in unlike},
        tuple(shared),
    )


def _sides(result: Result, views: Sequence[SampleView]) -> Sides:
    sides = {(view.anchor, one.on.display): (view.colour, one.screen) for view in views for one in view.displays}
    by_name = {view.sample.name: view for view in views}
    for number, pair in enumerate(result.pairs, 1):
        worst = worst_light(pair)
        if worst is not None:
            sides[f"pair-{number}", ""] = pair_colours(pair, worst.light, by_name)
    return sides


def _items(
    unlike: Sequence[Told], judged: Sequence[Onlooked], sides: Sides
) -> tuple[list[Item], list[tuple[str, str]]]:
    """What people will see unlike, one by one, and what may be done about several alike, as (for whom, what)."""
    names: dict[str, list[str]] = {}
    for one in unlike:
        names.setdefault(one.do, []).append(one.title)
    worst = {entry.anchor: entry for entry in sorted(judged, key=lambda one: most_first(one.crowd), reverse=True)}
    items = [
        Item(
            one, *sides[one.anchor, worst[one.anchor].display], sentence(one.do) if len(names[one.do]) < 2 else ""
        )
        for one in unlike
    ]
    shared = [
        ("all of them" if len(several) == len(unlike) else listed(several), sentence(do))
        for do, several in names.items()
        if len(several) > 1
    ]
    return items, shared


def people_limit(result: Result) -> CrowdRecord | None:
    """One of the crowds of ``result`` that are judged, for the limit and the formula of all; None without any."""
    crowds = [on.crowd for sample in result.samples for on in sample.on]
    crowds += [crowd for pair in result.pairs for crowd in pair.crowd]
    return next((crowd for crowd in crowds if crowd is not None and crowd.limit is not None), None)


def _limit_said(result: Result, judged: Sequence[Onlooked]) -> str:
    """Where the limit for the people comes from."""
    crowd = next((entry.crowd for entry in judged if entry.crowd.limit is not None), None)
    if crowd is None:
        return ""
    shifts = {tolerance.observer_shift for tolerance in result.tolerances.values()}
    if crowd.limit in shifts:
        return f"The limit for each person, {limit_words(crowd)}, is the job's limit of shifts (see Tolerances)."
    return (
        f"The limit for each person, {limit_words(crowd)}, is the job's own for its people: it stands apart from "
        "the tolerances of print and screen, and nothing passes or fails by it."
    )


def trusted(result: Result, labels: Labels) -> tuple[str, ...]:
    """Where the viewing observer is to be trusted, in sentences."""
    return tuple(trust_words(labels, entry) for entry in result.trust if entry.trusted)


def age_panels(labels: Labels, view: SampleView) -> dict[int, Panel]:
    """What the people see of a sample by their ages, by the place of the display among the sample's own."""
    crowds = {i: shown.on.crowd for i, shown in enumerate(view.displays) if shown.on.crowd is not None}
    scale = _scale([crowd for crowd in crowds.values()], of_ages=True, ticks=_NARROW)
    return {index: _age_panel(labels, crowd, scale) for index, crowd in crowds.items()}


def _age_panel(labels: Labels, crowd: CrowdRecord, scale: Scale) -> Panel:
    rows = tuple(
        CrowdRow(
            f"{age.ages[0]:.0f} to {age.ages[1]:.0f}",
            age_bar(age, crowd.limit, scale),
            far(age.median),
            far(age.p95) if crowd.limit is None else against(age.p95, crowd.limit),
            percent(age.share_above),
        )
        for age in crowd.by_age
    )
    caption = f"By age, {metric_words(crowd)}, {labels.light(crowd.light)}: from half to 19 in 20 of each decade"
    limit = None if crowd.limit is None else f"{crowd.limit:g}"
    said = said_of(labels, crowd, "the object", "the screen")
    return Panel("", caption, "years", scale, limit, said, rows, most=False)


def pair_panel(labels: Labels, pair: PairRecord) -> Panel | None:
    """What the people see of a pair, light by light; None when that was not asked or cannot be known."""
    worst = worst_light(pair)
    if worst is None:
        return None
    scale = _scale(pair.crowd, ticks=_NARROW)
    rows = tuple(_row(labels, crowd, scale, labels.light(crowd.light)) for crowd in pair.crowd)
    limit = None if worst.limit is None else f"{worst.limit:g}"
    caption = f"Between the two, as they are, {metric_words(worst)}"
    return Panel("", caption, "light", scale, limit, said_of(labels, worst, pair.b, pair.a), rows)


def _who(people: PopulationRecord, labels: Labels, basis: str) -> str:
    source = f" They are drawn after {people.source} (seed {people.seed})." if people.source else ""
    return (
        f"{people.label or f'{people.count} people'}, each with eyes of their own. Nobody was asked: for each the "
        f"difference was calculated between the object in {labels.light(None)} and the screen that shows its "
        f"match. "
        f"{_whose_white(people, labels, basis)}{source}"
    )


def _whose_white(people: PopulationRecord, labels: Labels, basis: str) -> str:
    """What each person's eyes are adapted to: the difference depends on it more than on all else."""
    if basis == "absolute":
        return "Both are seen side by side, without an adaptation from one to the other."
    if people.whites == "own":
        return "Each person looks at one after the other, and adapts to the white of each."
    return (
        f"Both are in view at once, so that no eye adapts to each: the two whites stand to each other as they do "
        f"for {labels.observer(None)}. The shifts of single observers let each adapt to both, and are mostly "
        "smaller."
    )


def _made_for(people: PopulationRecord, labels: Labels, judged: Sequence[Onlooked]) -> str:
    if people.aim != "population" or not judged:
        return ""
    cost = (
        f", at a cost to it of at most {people.cost:g} {metric_words(judged[0].crowd)}"
        if people.cost is not None
        else ""
    )
    return f"The drive values are made for these people and not for {labels.observer(None)} alone{cost}."


def _nobody(judged: Sequence[Onlooked]) -> str:
    kinds = {kind_of(entry.crowd) for entry in judged}
    if not judged or kinds & {"all", "argued"}:
        return ""
    if kinds == {"open"}:
        return "No limit is set for what people may see, so nothing is told apart here."
    return "Nothing here will be argued about: no colour is over its limit for more than 1 in 20 people."


def _scale(crowds: Sequence[CrowdRecord], of_ages: bool = False, ticks: int = MOST_TICKS) -> Scale:
    """A scale that holds all of ``crowds`` and their limits, cut where one of these is far beyond the other."""
    if of_ages:
        reach = [age.p95 for crowd in crowds for age in crowd.by_age]
    else:
        reach = [value for crowd in crowds for value in (*ends(crowd), crowd.standard)]
    limits = [crowd.limit for crowd in crowds if crowd.limit is not None]
    largest = max(reach, default=0.0)
    if limits and 0.0 < _FAR_FIGURE * max(limits) < largest:
        return scale_for([_FAR_FIGURE * max(limits)], ticks)
    return scale_for([largest, *(limit for limit in limits if limit <= _FAR_LIMIT * largest)], ticks)


def _row(
    labels: Labels,
    crowd: CrowdRecord,
    scale: Scale,
    name: str,
    of: Onlooked | None = None,
    sides: tuple[str, str] = ("", ""),
) -> CrowdRow:
    kind = kind_of(crowd)
    return CrowdRow(
        name,
        crowd_bar(crowd, scale, labels.observer(None)),
        far(crowd.median),
        far(crowd.p95) if crowd.limit is None else against(crowd.p95, crowd.limit),
        percent(crowd.share_above),
        kind,
        stand(crowd),
        f"{crowd.worst_age:.0f}",
        *(() if of is None else (of.anchor, *sides, "" if of.display else of.label)),
    )


def _panels(labels: Labels, judged: Sequence[Onlooked], sides: Sides) -> list[Panel]:
    """A panel for every display and metric, then those of the pairs; all of one metric on one scale."""
    groups: dict[tuple[str, str], list[Onlooked]] = {}
    for entry in judged:
        groups.setdefault((entry.display, entry.crowd.metric), []).append(entry)
    panels = []
    for (display, metric), entries in groups.items():
        scale = _scale(
            [one.crowd for one in judged if one.crowd.metric == metric and bool(one.display) == bool(display)]
        )
        entries = sorted(entries, key=lambda entry: most_first(entry.crowd))
        limits = {entry.crowd.limit for entry in entries}
        common = limits.pop() if len(limits) == 1 else None
        rows = tuple(
            _row(labels, entry.crowd, scale, entry.name, entry, sides[entry.anchor, entry.display])
            for entry in entries
        )
        first = entries[0].crowd
        ages = {entry.crowd.worst_age for entry in entries if len(entry.crowd.by_age) > 1}
        if display:
            label, between = labels.display(display), f"object and screen in {labels.light(first.light)}"
        else:
            label, between = "Pairs", "the two of a pair, each in the light where people see most"
        panels.append(
            Panel(
                label,
                f"What people see between {between}, {metric_words(first)}",
                "sample" if display else "pair",
                scale,
                None if common is None else f"{common:g}",
                tuple(said for said in (_panel_said(display, entries), _age_said(ages, entries)) if said),
                rows[:ROWS],
                rows[ROWS:],
                aged=len(ages) > 1,
            )
        )
    return panels


def _age_said(ages: set[float], entries: Sequence[Onlooked]) -> str:
    """At what age most is seen, where that is the same in all rows."""
    if len(ages) != 1 or len(entries) < 2:
        return ""
    return f"In every row those of about {ages.pop():.0f} years see most."


def _panel_said(display: str, entries: Sequence[Onlooked]) -> str:
    """'On the office screen 3 in 10 people will see ... differ by more than ...', for the worst of a panel."""
    worst = min(entries, key=lambda entry: most_first(entry.crowd))
    crowd = worst.crowd
    where = f"On {worst.label} " if display else f"In {worst.label} "
    if crowd.share_above:
        whom = by_whom(crowd)
        return (
            f"{where}{in_ten(crowd.share_above)} will see {worst.name} differ by more than {limit_words(crowd)}"
            f"{f': {whom}' if whom else ''}."
        )
    count = sum(entry.crowd.share_above == 0.0 for entry in entries)
    if count == len(entries):
        return f"{where}none of the people sees any of {len(entries)} differ by more than the limit."
    return (
        f"{where}{worst.name} differs most: half of the people see less than {far(crowd.median)}, 1 in 20 more "
        f"than {far(crowd.p95)} {metric_words(crowd)}."
    )
