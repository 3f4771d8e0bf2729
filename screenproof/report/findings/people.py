"""What people will see unlike, whom not to trust, which display is kindest, and what brightener does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import in_words, listed, sentence
from screenproof.report.eye_words import (
    direction_words,
    in_ten,
    kind_of,
    metric_words,
    most_first,
    seen_by,
    trust_words,
    who_sees,
    worst_light,
)
from screenproof.report.findings.told import Told
from screenproof.report.words import Labels, against, far

if TYPE_CHECKING:
    from screenproof.proof.result import CrowdRecord, Result

MANY_EYES = 'ask whoever made this page for a screen code made for many eyes (in the job: aim = "population")'
_KINDER = 0.7  # another display is worth naming where the 95th percentile is below this part of it
_VISIBLE = 0.5  # CIEDE2000 that brightener must make to be told of


@dataclass(frozen=True)
class Onlooked:
    """A crowd and what it looks at: a sample on a display, or a pair (then ``display`` is '').

    ``fails``: the display cannot serve it in any case.
    """

    crowd: CrowdRecord
    name: str
    anchor: str
    display: str
    label: str
    fails: bool = False


def onlooked(result: Result, labels: Labels) -> list[Onlooked]:
    """Every crowd of ``result`` with what it looks at: samples on displays, then pairs in their worst light."""
    found = [
        Onlooked(on.crowd, sample.name, f"sample-{n}", on.display, labels.display(on.display), on.status == "fail")
        for n, sample in enumerate(result.samples, 1)
        for on in sample.on
        if on.crowd is not None
    ]
    for number, pair in enumerate(result.pairs, 1):
        worst = worst_light(pair)
        if worst is not None:
            found.append(Onlooked(worst, pair.name, f"pair-{number}", "", labels.light(worst.light)))
    return found


def argued(result: Result, labels: Labels) -> list[Told]:
    """The samples and pairs that people will see unlike, each with all displays where they do, most first."""
    if result.population is None:
        return []
    every = onlooked(result, labels)
    found = sorted(
        (entry for entry in every if kind_of(entry.crowd) in ("all", "argued")),
        key=lambda entry: most_first(entry.crowd),
    )
    by_anchor: dict[str, list[Onlooked]] = {}
    for entry in found:
        by_anchor.setdefault(entry.anchor, []).append(entry)
    return [_argued(result, labels, entries, every) for entries in by_anchor.values()]


def _argued(result: Result, labels: Labels, entries: Sequence[Onlooked], every: Sequence[Onlooked]) -> Told:
    worst = entries[0]
    crowd = worst.crowd
    places = listed([entry.label for entry in entries]) if worst.display else ""
    where = f" on {places}" if places else ""
    if kind_of(crowd) == "argued":
        lead, says = f"Will be argued about{where}.", f"{worst.name} will be argued about{where}"
    else:
        lead = f"{'All' if crowd.share_above == 1.0 else 'Nearly all'} people see it{where}."
        says = worst.name
    text = f"on {worst.label} " if worst.display and len(entries) > 1 else ""
    text += who_sees(labels, crowd)
    rest = [f"on {entry.label} {in_ten(entry.crowd.share_above or 0.0)} do" for entry in entries[1:]]
    text += f" ({'; '.join(rest)})" if rest else ""
    shown, only = far(crowd.standard), ""
    if crowd.limit is not None:
        shown = against(crowd.standard, crowd.limit) if crowd.standard >= 0.1 else shown
        only = " only" if crowd.standard <= crowd.limit else ""
    what, beside = ("the object", "the screen") if worst.display else ("the second", "the first")
    parts = [sentence(text), direction_words(crowd, what, beside), f"It is {shown} for {labels.eye}{only}."]
    return Told(
        "people",
        worst.name,
        places,
        says=f"{says}: {text}.",
        do="; or ".join(_advice(result, labels, worst, every) if worst.display else _pair_advice(labels, crowd)),
        anchor=worst.anchor,
        title=worst.name,
        lead=lead,
        figures=" ".join(part for part in parts if part),
    )


def _advice(result: Result, labels: Labels, entry: Onlooked, every: Sequence[Onlooked]) -> list[str]:
    """What may be done about a sample that people see unlike: a kinder display, other drive values, the object."""
    crowd = entry.crowd
    others = [
        one for one in every if one.anchor == entry.anchor and one.display != entry.display and not one.fails
    ]
    others.sort(key=lambda one: most_first(one.crowd), reverse=True)
    good = [one for one in others if kind_of(one.crowd) in ("few", "none")]
    if good:
        return [f"show it on {good[0].label}, where {seen_by(good[0].crowd)} as much"]
    advice = []
    if others and others[0].crowd.p95 < _KINDER * crowd.p95:
        one = others[0].crowd
        advice.append(
            f"{others[0].label} is kinder: {seen_by(one)} as much there, not {in_ten(crowd.share_above or 0.0)}"
        )
    if result.population is not None and result.population.aim == "observer":
        advice.append(MANY_EYES)
    return [*advice, "let whoever decides see the object itself"]


def _pair_advice(labels: Labels, crowd: CrowdRecord) -> list[str]:
    light = labels.light(crowd.light)
    return [f"colour one of the two with the other's pigments, or let whoever decides see both in {light}"]


def trust_findings(result: Result, labels: Labels) -> list[Told]:
    """Displays for which the viewing observer is not to be trusted alone."""
    return [
        Told(
            "observer",
            labels.display(entry.display),
            says=trust_words(labels, entry),
            do=f"judge it for {labels.observer(entry.observer)} as well",
        )
        for entry in result.trust
        if not entry.trusted
    ]


def people_remarks(result: Result, labels: Labels) -> Iterator[Told]:
    """The kindest display, what of the people was not calculated, and what brightener does."""
    people = result.population
    if people is not None:
        kindest = kindest_words(result, labels)
        if kindest:
            yield Told("people", labels.display(people.kindest or ""), says=kindest)
        yield from (Told("people", "", says=sentence(reason)) for reason in people.refused)
    bright = [s for s in result.samples if s.brightener is not None and s.brightener.de00 >= _VISIBLE]
    if not bright:
        return
    names = listed([sample.name for sample in bright], 4)
    says = f"{in_words(len(bright), 'sample')} {'holds' if len(bright) == 1 else 'hold'} brightener ({names})"
    lights = [(light, sample) for sample in bright if sample.brightener for light in sample.brightener.lights]
    known = [
        (light.high, light.low, sample.name, light.light)
        for light, sample in lights
        if light.high is not None and light.low is not None
    ]
    if known:
        high, low, name, light_name = max(known)
        says += f"; it moves {name} by {low:.1f} to {high:.1f} CIEDE2000 in {labels.light(light_name)}"
    unknown = sorted({labels.light(light.light) for light, _ in lights if light.high is None})
    if unknown:
        says += f"; how it looks in {listed(unknown, 4)} cannot be known, for their ultraviolet is not"
    yield Told("brightener", names, says=sentence(says))


def kindest_words(result: Result, labels: Labels) -> str:
    """Which display is kindest to most eyes, '' where there is nothing to compare."""
    people = result.population
    crowd = next((entry.crowd for entry in onlooked(result, labels)), None)
    best = next((one for one in people.displays if one.display == people.kindest), None) if people else None
    if people is None or best is None or crowd is None or len(people.displays) < 2:
        return ""
    others = [
        f"less than {far(one.p95)} on {labels.display(one.display)}" for one in people.displays if one is not best
    ]
    return (
        f"Kindest to most eyes is {labels.display(best.display)}: for a usual sample 19 in 20 people see less "
        f"than {far(best.p95)} {metric_words(crowd)} there, and {listed(others)}."
    )
