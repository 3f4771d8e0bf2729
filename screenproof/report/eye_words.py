"""What the page says of a population: shares of people, whom a difference concerns, whom to trust.

Whether a difference is argued about is ours to say: it is when more than 1 in 20 and fewer than 19 in 20 people
see more than the limit, so that the limit lies within the bar of the figures. All figures are the result's own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from screenproof.appearance.words import SAME
from screenproof.english import number, sentence
from screenproof.errors import InputError
from screenproof.proof.eye_records import FEW, NEARLY_ALL
from screenproof.proof.tolerance import METRIC_LABELS
from screenproof.report.words import Labels, far

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screenproof.proof.result import AgeRecord, CrowdRecord, PairRecord, Result, TrustRecord

Class = Literal["all", "argued", "few", "none", "open"]

_SMALL = ((0.005, "fewer than 1 in 100"), (0.015, "1 in 100"), (0.035, "1 in 50"), (0.075, "1 in 20"))
_ALIKE = 0.05  # shares of the decades of ages that lie within it are told as alike


def in_ten(share: float) -> str:
    """A share 0..1 of people as a client says it: '1 in 50 people', '3 in 10 people', 'nearly all people'."""
    if share <= 0.0:
        return "nobody"
    for below, words in _SMALL:
        if share < below:
            return f"{words} people"
    if share < 0.95:
        tenths = min(9, max(1, round(10 * share)))
        return "half of the people" if tenths == 5 else f"{tenths} in 10 people"
    return "nearly all people" if share < 1.0 else "all people"


def seen_by(crowd: CrowdRecord) -> str:
    """'3 in 10 people see', for whom it is above the limit."""
    share = crowd.share_above or 0.0
    return f"{in_ten(share)} {'see' if share > 0.0 else 'sees'}"


def percent(share: float | None) -> str:
    """'31 %'; what would round to none or all of them without being it says so."""
    if share is None:
        return "–"
    if 0.0 < share < 0.005:
        return "< 1\N{NO-BREAK SPACE}%"
    return ("> 99" if 0.995 < share < 1.0 else f"{100 * share:.0f}") + "\N{NO-BREAK SPACE}%"


def kind_of(crowd: CrowdRecord | None) -> Class:
    """How people stand to a difference: nearly all above the limit, argued about, few, none, or no limit."""
    share = None if crowd is None else crowd.share_above
    if share is None:
        return "open"
    return "all" if share >= NEARLY_ALL else "argued" if share > FEW else "few" if share > 0.0 else "none"


def most_first(crowd: CrowdRecord) -> tuple[float, float]:
    """For sorting: where most people see more than the limit first, then where they see most."""
    return -(crowd.share_above or 0.0), -crowd.p95


def stand(crowd: CrowdRecord) -> str:
    """How people stand to a difference, in a few words beside the limit: 'few over 3'."""
    kind, limit = kind_of(crowd), "" if crowd.limit is None else f"{crowd.limit:g}"
    if kind == "argued":
        return "argued about"
    many = {"all": "all" if crowd.share_above == 1.0 else "nearly all", "few": "few", "none": "none"}
    return f"{many[kind]} over {limit}" if kind in many else ""


def passing_words(crowds: Iterable[CrowdRecord | None]) -> str:
    """What is said behind 'passes' of something that people see otherwise, or nothing."""
    kinds = {kind_of(crowd) for crowd in crowds if crowd is not None}
    return ", argued about" if "argued" in kinds else ", yet nearly all see it" if "all" in kinds else ""


def most_concerned(crowd: CrowdRecord) -> AgeRecord | None:
    """The decade of ages in which most people see more than the limit."""
    ages = [age for age in crowd.by_age if age.count and age.share_above is not None]
    return max(ages, key=lambda age: (age.share_above or 0.0, age.median), default=None)


def by_whom(crowd: CrowdRecord) -> str:
    """'none of those under 40, but 84 % of those of 70 to 80', or that age does not tell."""
    ages = [age for age in crowd.by_age if age.count and age.share_above is not None]
    most = most_concerned(crowd)
    if most is None or len(ages) < 2:
        return ""
    high, low = most.share_above or 0.0, min(age.share_above or 0.0 for age in ages)
    if high - low < _ALIKE:
        return "young and old much alike"
    first = next(place for place, age in enumerate(ages) if age.share_above == low)
    last = first
    while last + 1 < len(ages) and ages[last + 1].share_above == low:
        last += 1
    young, old = ages[first].ages[0], ages[last].ages[1]
    if first == 0:
        who = f"those under {old:.0f}"
    elif last == len(ages) - 1:
        who = f"those over {young:.0f}"
    else:
        who = f"those of {young:.0f} to {old:.0f}"
    few = "none" if low == 0.0 else percent(low)
    many = "all" if high == 1.0 else percent(high)
    return f"{few} of {who}, but {many} of those of {most.ages[0]:.0f} to {most.ages[1]:.0f}"


def trouble_there(crowd: CrowdRecord) -> str:
    """'84 in 100 people of 70 to 80 see more than 3', of the decade whom it concerns most."""
    most = most_concerned(crowd)
    if most is None:
        return f"{seen_by(crowd)} more than {crowd.limit:g}"
    share = most.share_above or 0.0
    many = "all" if share == 1.0 else f"{max(1, min(99, round(100 * share)))} in 100"
    return f"{many} people of {most.ages[0]:.0f} to {most.ages[1]:.0f} see more than {crowd.limit:g}"


def told(result: Result, labels: Labels) -> list[tuple[str, bool]]:
    """What the lead of the page says of the people, as (words, whether strong), empty without any."""
    if result.population is None:
        return []
    several = len(result.displays) > 1
    seen = [
        (on.crowd, sample.name, f" on {labels.display(on.display)}" if several else "", sample.status)
        for sample in result.samples
        for on in sample.on
        if on.crowd is not None
    ]
    seen += [
        (worst, pair.name, f" in {labels.light(worst.light)}", pair.status)
        for pair in result.pairs
        if (worst := worst_light(pair)) is not None
    ]
    seen.sort(key=lambda entry: most_first(entry[0]))
    known = {kind_of(entry[0]) for entry in seen} - {"open"}
    # What fails has been told already, and needs no crowd to see it.
    seen = [entry for entry in seen if entry[3] != "fail" or kind_of(entry[0]) != "all"]
    phrases: list[tuple[str, bool]] = []
    for kind in ("all", "argued"):
        found = [entry for entry in seen if kind_of(entry[0]) == kind]
        if not found:
            continue
        crowd, name, place, _ = found[0]
        count = len({entry[1] for entry in found})
        places = {entry[2] for entry in found}
        many = number(count)
        common = places.pop() if len(places) == 1 and count > 1 else ""
        place = "" if common else place
        if kind == "argued":
            claim = f"{many[:1].upper()}{many[1:]} colours" if count > 1 else name
            phrases.append((f"{claim} will be argued about{common if count > 1 else place}", True))
        else:
            claim = f"{many} colours{common}" if count > 1 else f"{name}{place}"
            every = "All people" if crowd.share_above == 1.0 and count == 1 else "Nearly all people"
            phrases.append((f"{every} will see a difference in {claim}", True))
            phrases.append((f", above all {name}{place}. " if count > 1 else ". ", False))
            continue
        whom = by_whom(crowd)
        rest = f", above all {name}{place}" if count > 1 else ""
        shares = f"{whom} see more than {crowd.limit:g}"
        if not whom or whom.startswith("young"):
            shares = f"{seen_by(crowd)} more than {crowd.limit:g}{f', {whom}' if whom else ''}"
        phrases.append((f"{rest}: {shares}. ", False))
    if known and not known & {"all", "argued"}:
        phrases.append(("No colour will be argued about. ", False))
    return phrases


def worst_light(pair: PairRecord) -> CrowdRecord | None:
    """What the people see of a pair in the light where most of them see more than the limit, or see most."""
    return min(pair.crowd, key=most_first, default=None)


def trust_words(labels: Labels, entry: TrustRecord) -> str:
    """How far the viewing observer is to be trusted on a display, and what another would change."""
    eye, name = labels.eye, labels.display(entry.display)
    why = f": {'; '.join(reason.rstrip('.') for reason in entry.reasons)}" if entry.reasons else ""
    verb = "holds well enough" if entry.trusted else "is not to be trusted"
    text = f"{eye[0].upper()}{eye[1:]} {verb} for {name}{why}."
    if entry.median is not None:
        most = ""
        if entry.largest is not None:
            most = f", the farthest {far(entry.largest)}" + (f" ({entry.sample})" if entry.sample else "")
        text += (
            f" For {observer_words(labels, entry.observer)} half of the samples lie less than {far(entry.median)} "
            f"CIEDE2000 from their matches there{most}, in {labels.light(None)}."
        )
    return text


def observer_words(labels: Labels, name: str) -> str:
    """An observer by the job's label, or by its own where the job does not have it."""
    from screenproof.spectra import observer

    if name in labels.observers:
        return labels.observer(name)
    try:
        return observer(name).label.replace(" degrees", "°").replace("CIE ", "CIE\N{NO-BREAK SPACE}")
    except InputError:
        return name


def limit_words(crowd: CrowdRecord) -> str:
    """'3 CIEDE2000'."""
    return f"{crowd.limit:g} {metric_words(crowd)}"


def metric_words(crowd: CrowdRecord) -> str:
    """The formula of a crowd's figures, as a reader knows it."""
    return METRIC_LABELS.get(crowd.metric, crowd.metric)


def who_sees(labels: Labels, crowd: CrowdRecord) -> str:
    """'3 in 10 people see more than the limit of 3 CIEDE2000 in booth D50: none of those under 40, but ...'."""
    whom = by_whom(crowd) if crowd.share_above else ""
    return (
        f"{seen_by(crowd)} more than the limit of {limit_words(crowd)} in "
        f"{labels.light(crowd.light)}{f': {whom}' if whom else ''}"
    )


def direction_words(crowd: CrowdRecord, what: str, beside: str) -> str:
    """How it looks to the tenth who see most, or nothing where there is no direction."""
    if not crowd.words or crowd.words == SAME:
        return ""
    first, *others = crowd.words.split("; ")
    rest = "".join(f"; {part}" for part in others)
    return f"To the tenth who see most, {what} is {first} than {beside}{rest}."


def said_of(labels: Labels, crowd: CrowdRecord, what: str, beside: str) -> tuple[str, ...]:
    """A crowd in sentences."""
    said = [
        f"Half of the people see less than {far(crowd.median)}, 19 in 20 less than {far(crowd.p95)} "
        f"{metric_words(crowd)} in {labels.light(crowd.light)}; for {labels.eye} it is "
        f"{far(crowd.standard)}."
    ]
    if crowd.limit is not None:
        said.append(sentence(who_sees(labels, crowd)))
    said.append(direction_words(crowd, what, beside))
    if crowd.aim == "population" and crowd.p95_before is not None and crowd.standard_before is not None:
        said.append(
            f"The drive values are made for the people: with those for {labels.observer(None)} alone, 19 in 20 "
            f"would see less than {far(crowd.p95_before)}, and for {labels.observer(None)} it would be "
            f"{far(crowd.standard_before)}."
        )
    return tuple(part for part in said if part)
