"""What people see, what is in doubt, and what was judged as a whole, in plain sentences for the summary."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from screenproof.jobs.sentences import capital, count, listed
from screenproof.proof import Judged
from screenproof.proof.eye_records import FEW, NEARLY_ALL
from screenproof.proof.result import (
    ApprovalRecord,
    PairRecord,
    PopulationRecord,
    SampleRecord,
    TrustRecord,
    WholeRecord,
)
from screenproof.proof.tolerance import METRIC_LABELS

MOST_CURES = 3
"""So many cures stand in the summary; each sample's own card has its own."""

_WHAT = {
    "match": "the match",
    "excess": "the distance from what the display can show",
    "observer_shift": "the match in another light or for other eyes",
    "light_shift": "the change with the light",
    "pair": "the pair",
    "pair_shift": "the pair in another light",
    "approval": "the approval",
}
_STATISTICS = {"mean": "the mean", "p95": "the 95th percentile", "worst": "the worst"}


@dataclass(frozen=True)
class _Open:
    """An undecided verdict and what it is about."""

    name: str
    verdict: Judged
    display: str = ""


def nearness(verdict: Judged) -> float:
    """How deep in doubt a verdict is: the figure's distance from its limit, in parts of its uncertainty."""
    wide = verdict.uncertainty or (verdict.high or 0.0) - (verdict.low or 0.0)
    return abs(verdict.figure - verdict.limit) / wide if wide > 0 else 0.0


def undecided_of(sample: SampleRecord, labels: Mapping[str, str]) -> tuple[Judged, str] | None:
    """The verdict of a sample that is most in doubt, and the words of its display ('' for none)."""
    found = [(verdict, "") for verdict in sample.verdicts]
    found += [(verdict, labels[on.display]) for on in sample.on for verdict in on.verdicts]
    found = [entry for entry in found if entry[0].status == "undecided"]
    return min(found, key=lambda entry: nearness(entry[0])) if found else None


def in_doubt(verdict: Judged) -> str:
    """'7.8 (7.4 to 8.2) CIEDE2000, limit 8'; with two places after the point where one would hide the doubt."""
    if verdict.low is None or verdict.high is None:
        return f"{verdict.figure:.1f} {METRIC_LABELS[verdict.metric]}, limit {verdict.limit:g}"
    places = 1 if verdict.high - verdict.low >= 0.5 else 2
    figure, low, high = (f"{value:.{places}f}" for value in (verdict.figure, verdict.low, verdict.high))
    return f"{figure} ({low} to {high}) {METRIC_LABELS[verdict.metric]}, limit {verdict.limit:g}"


def doubtful_reason(verdict: Judged, display: str) -> str:
    """Why a sample is undecided, and what would decide it."""
    where = f" on {display}" if display else ""
    place = "" if verdict.what in ("match", "excess") else f" in {verdict.light} for {verdict.observer}"
    cure = f" {verdict.remedy.words}" if verdict.remedy is not None else ""
    return f"Undecided is {_WHAT[verdict.what]}{where}: {in_doubt(verdict)}{place}.{_ended(cure)}"


def _ended(text: str) -> str:
    return text if not text or text.endswith(".") else f"{text}."


def undecided_sentences(
    samples: Sequence[SampleRecord],
    approvals: Sequence[ApprovalRecord],
    pairs: Sequence[PairRecord],
    labels: Mapping[str, str],
) -> list[str]:
    """What readings cannot decide, and what would decide it."""
    found = []
    for sample in samples:
        entry = undecided_of(sample, labels)
        if entry is not None and sample.status == "undecided":
            found.append(_Open(sample.name, *entry))
    for approval in approvals:
        if approval.verdict is not None and approval.verdict.status == "undecided":
            found.append(_Open(f"{approval.sample} ({approval.name})", approval.verdict))
    for pair in pairs:
        open_ = [verdict for verdict in pair.verdicts if verdict.status == "undecided"]
        if open_ and pair.status == "undecided":
            found.append(_Open(f"{pair.a} and {pair.b} ({pair.name})", min(open_, key=nearness)))
    if not found:
        return []
    found.sort(key=lambda one: nearness(one.verdict))
    named = listed([f"{one.name}, {_WHAT[one.verdict.what]} {in_doubt(one.verdict)}" for one in found])
    verb = "is" if len(found) == 1 else "are"
    sentences = [
        capital(
            f"{count(len(found), 'judgement')} {verb} undecided, too near to a limit for such readings: {named}."
        )
    ]
    for one in found[:MOST_CURES]:
        if one.verdict.remedy is not None:
            sentences.append(f"To decide {one.name}: {_ended(_small(one.verdict.remedy.words))}")
    return sentences


def _small(text: str) -> str:
    """A sentence within another: its first letter small, unless the word is a name or an abbreviation."""
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def crowd_sentences(
    samples: Sequence[SampleRecord], people: PopulationRecord | None, labels: Mapping[str, str]
) -> list[str]:
    """What a population sees on each display, and which display is kindest to it."""
    if people is None:
        return []
    sentences = []
    for entry in people.displays:
        label = labels[entry.display]
        crowds = [(s.name, on.crowd) for s in samples for on in s.on if on.display == entry.display and on.crowd]
        crowds.sort(key=lambda item: item[1].p95, reverse=True)
        argued = [
            (name, crowd)
            for name, crowd in crowds
            if crowd.share_above is not None and FEW < crowd.share_above < NEARLY_ALL
        ]
        agreed = [n for n, c in crowds if c.share_above is not None and c.share_above >= NEARLY_ALL]
        if agreed:
            sentences.append(
                capital(
                    f"{count(len(agreed), 'sample')} {'is' if len(agreed) == 1 else 'are'} off on {label} for "
                    f"nearly everyone of {people.count} people: {listed(agreed)}."
                )
            )
        if argued:
            argued.sort(key=lambda item: (item[1].share_above or 0.0, item[1].p95), reverse=True)
            first = argued[0][1]
            shares = listed([f"{name} ({_share(crowd.share_above)})" for name, crowd in argued])
            sentences.append(
                capital(
                    f"{count(len(argued), 'sample')} will be argued about on {label}, where some of "
                    f"{people.count} people see more than {first.limit:g} {METRIC_LABELS[first.metric]} and "
                    f"others do not: {shares}; the most those of about {first.worst_age:.0f} years."
                )
            )
        if crowds and not (argued or agreed):
            name, most = crowds[0]
            sentences.append(
                f"Of {people.count} people one in twenty sees {most.p95:.1f} {METRIC_LABELS[most.metric]} or more "
                f"between {name} and its match on {label}, the most of all samples; the viewing observer sees "
                f"{most.standard:.1f}."
            )
    if people.kindest is not None:
        least = next(entry.p95 for entry in people.displays if entry.display == people.kindest)
        others = ", ".join(
            f"{e.p95:.1f} on {labels[e.display]}" for e in people.displays if e.display != people.kindest
        )
        sentences.append(
            f"Kindest to these people is {labels[people.kindest]}: in the median over the samples one in twenty "
            f"sees {least:.1f} or more there, {others}."
        )
    sentences += [_ended(capital(reason)) for reason in people.refused]
    return sentences


def _share(share: float | None) -> str:
    return "" if share is None else f"{100.0 * share:.0f} %"


def trust_sentences(trust: Sequence[TrustRecord], observer: str, labels: Mapping[str, str]) -> list[str]:
    """Where the viewing observer should not be trusted alone."""
    sentences = []
    for record in trust:
        if record.trusted:
            continue
        change = ""
        if record.median is not None and record.largest is not None:
            change = (
                f" For {record.observer} its matches are off by {record.median:.1f} CIEDE2000 in the median, by "
                f"{record.largest:.1f} at most ({record.sample})."
            )
        # What the change amounts to is told by the last sentence, with the sample of which most.
        told = [reason for reason in record.reasons if not (change and " off, in the median" in reason)]
        reasons = "; ".join(told) or "the CIE 2015 functions, which are nearer to the eye, see it otherwise"
        sentences.append(
            f"Do not rely on observer {observer} alone for {labels[record.display]}: {reasons}.{change}"
        )
    return sentences


def whole_sentences(wholes: Sequence[WholeRecord], labels: Mapping[str, str]) -> list[str]:
    """Sets that fail, or are undecided, as a whole."""
    sentences = []
    for record in wholes:
        if record.status == "pass":
            continue
        on = "" if record.display is None else f" on {labels[record.display]}"
        parts = []
        for one in record.figures:
            if one.status == record.status:
                span = "" if one.low is None or one.high is None else f" ({one.low:.1f} to {one.high:.1f})"
                parts.append(f"{_STATISTICS[one.statistic]} is {one.figure:.1f}{span}, limit {one.limit:g}")
        verb = "fails" if record.status == "fail" else "is undecided"
        sentences.append(
            f"{record.name}{on} {verb} as a whole, {count(record.count, 'judgement')} in "
            f"{METRIC_LABELS[record.metric]}: {listed(parts)}; the worst is {record.worst_name}."
        )
    return sentences


def brightener_sentences(samples: Sequence[SampleRecord]) -> list[str]:
    """What brightener does to the samples that were read with and without ultraviolet."""
    bright = [(s, s.brightener) for s in samples if s.brightener is not None and s.brightener.de00 >= 0.5]
    if not bright:
        return []
    known = [
        (light.high, light.low, s.name, light.light)
        for s, record in bright
        for light in record.lights
        if light.high is not None and light.low is not None
    ]
    names = listed([s.name for s, _ in bright])
    many = "holds" if len(bright) == 1 else "hold"
    text = capital(f"{count(len(bright), 'sample')} {many} brightener ({names})")
    unknown = sorted({light.light for _, record in bright for light in record.lights if light.high is None})
    if known:
        high, low, name, light_name = max(known)
        text += f"; it moves {name} by {low:.1f} to {high:.1f} CIEDE2000 in {light_name}"
    if unknown:
        text += f"; how it looks in {listed(unknown)} cannot be known, for their ultraviolet is not"
    return [f"{text}."]
