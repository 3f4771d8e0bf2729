"""The verdict of a job in plain sentences, trouble first, and for each sample the one that matters most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screenproof.proof import Judged, worst
from screenproof.proof.result import (
    ApprovalRecord,
    OnDisplay,
    PairRecord,
    PopulationRecord,
    SampleRecord,
    Summary,
    TrustRecord,
    WholeRecord,
)
from screenproof.proof.tolerance import METRIC_LABELS, Status

NAMED = 4
"""So many names stand in a sentence; of more, the worst are named and the rest counted."""

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def count(number: int, one: str, many: str | None = None) -> str:
    """'one sample', 'three samples', '24 samples'."""
    shown = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{shown} {one if number == 1 else many or one + 's'}"


def capital(text: str) -> str:
    """A sentence with its first letter large."""
    return text[:1].upper() + text[1:]


def listed(names: Sequence[str], most: int = NAMED) -> str:
    """'a, b and c', or 'a, b, c, d and 3 more'."""
    shown = list(names[:most])
    if len(names) > most:
        shown.append(f"{len(names) - most} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}" if shown else ""


def _ratio(verdict: Judged) -> float:
    """How far over its limit a figure is; limits may be 0."""
    return verdict.figure / verdict.limit if verdict.limit > 0 else float("inf") if verdict.figure > 0 else 0.0


def failing(verdicts: Sequence[Judged], what: str | None = None) -> list[Judged]:
    """The failed verdicts (on one matter), the worst first."""
    found = [v for v in verdicts if v.status == "fail" and what in (None, v.what)]
    return sorted(found, key=_ratio, reverse=True)


def _figure(verdict: Judged) -> str:
    return f"{verdict.figure:.1f} {METRIC_LABELS[verdict.metric]}"


def sample_reason(sample: SampleRecord, labels: Mapping[str, str]) -> str:
    """The one sentence on a sample that says why it has its status. ``labels``: the displays' words by name."""
    for on in sample.on:
        bad = failing(on.verdicts, "excess")
        if bad:
            return (
                f"Cannot be shown on {labels[on.display]}: the nearest colour there is {_figure(bad[0])} away"
                f"{_in_words(on.direction)}, limit {bad[0].limit:g}."
            )
    for on in sample.on:
        bad = failing(on.verdicts, "match")
        if bad:
            return f"Is not met on {labels[on.display]}: {_figure(bad[0])} is left, limit {bad[0].limit:g}."
    worst_on: tuple[OnDisplay, Judged] | None = None
    for on in sample.on:
        bad = failing(on.verdicts, "observer_shift")
        if bad and (worst_on is None or _ratio(bad[0]) > _ratio(worst_on[1])):
            worst_on = on, bad[0]
    if worst_on is not None:
        on, verdict = worst_on
        return (
            f"Leaves its match on {labels[on.display]}: {_figure(verdict)} in {verdict.light} for "
            f"{verdict.observer}, limit {verdict.limit:g}."
        )
    bad = failing(sample.verdicts, "light_shift")
    if bad:
        return (
            f"Changes with the light: {_figure(bad[0])} in {bad[0].light} for {bad[0].observer}, "
            f"limit {bad[0].limit:g}."
        )
    return _doubtful_reason(sample, labels) or _good_reason(sample, labels)


def _doubtful_reason(sample: SampleRecord, labels: Mapping[str, str]) -> str | None:
    from screenproof.jobs.eye_sentences import doubtful_reason, undecided_of

    found = undecided_of(sample, labels)
    return None if found is None else doubtful_reason(*found)


def _in_words(direction: str) -> str:
    return f" ({direction})" if direction else ""


def _good_reason(sample: SampleRecord, labels: Mapping[str, str]) -> str:
    verdicts = [*sample.verdicts, *(verdict for on in sample.on for verdict in on.verdicts)]
    outside = [labels[on.display] for on in sample.on if not on.in_gamut]
    if verdicts:
        return "Passes all that was judged" + (
            f", though it is outside the gamut of {listed(outside)}." if outside else "."
        )
    return f"Was not judged; it is outside the gamut of {listed(outside)}." if outside else "Was not judged."


def summary(
    samples: Sequence[SampleRecord],
    approvals: Sequence[ApprovalRecord],
    pairs: Sequence[PairRecord],
    labels: Mapping[str, str],
    judged: bool,
    *,
    wholes: Sequence[WholeRecord] = (),
    people: PopulationRecord | None = None,
    trust: Sequence[TrustRecord] = (),
    observer: str = "",
) -> Summary:
    """Status, counts and sentences of a whole job. ``labels`` are the displays' words by their name.

    What failed comes first, then what is undecided and how to decide it, what people will see, whom not to trust,
    and what is well.
    """
    from screenproof.jobs import eye_sentences

    statuses: list[Status] = [sample.status for sample in samples]
    statuses += [approval.verdict.status for approval in approvals if approval.verdict is not None]
    statuses += [pair.status for pair in pairs if pair.verdicts]
    statuses += [whole.status for whole in wholes]
    counts = {status: statuses.count(status) for status in ("pass", "fail", "undecided")}
    sentences = [
        *_shown_sentences(samples, labels),
        *_met_sentences(samples, labels),
        *_shift_sentences(samples, labels),
        *_light_sentences(samples),
        *_approval_sentences(approvals),
        *_pair_sentences(pairs),
        *eye_sentences.whole_sentences(wholes, labels),
        *eye_sentences.undecided_sentences(samples, approvals, pairs, labels),
        *eye_sentences.crowd_sentences(samples, people, labels),
        *eye_sentences.trust_sentences(trust, observer, labels),
        *eye_sentences.brightener_sentences(samples),
    ]
    closing = [*_closing(samples, judged), *_within_limits(samples, labels), *_unjudged_pairs(pairs)]
    return Summary(worst(statuses), counts, (*sentences, *closing))


def _each(samples: Sequence[SampleRecord], display: str, what: str) -> list[tuple[SampleRecord, Judged]]:
    """Samples that fail in one matter on a display with their worst verdict, the worst first."""
    found = [
        (sample, bad[0])
        for sample in samples
        for on in sample.on
        if on.display == display and (bad := failing(on.verdicts, what))
    ]
    return sorted(found, key=lambda item: _ratio(item[1]), reverse=True)


def _named(found: Sequence[tuple[SampleRecord, Judged]]) -> str:
    return listed([f"{sample.name} ({verdict.figure:.1f})" for sample, verdict in found])


def _shown_sentences(samples: Sequence[SampleRecord], labels: Mapping[str, str]) -> list[str]:
    sentences = []
    for name, label in labels.items():
        found = _each(samples, name, "excess")
        if found:
            metric, limit = METRIC_LABELS[found[0][1].metric], found[0][1].limit
            sentences.append(
                capital(
                    f"{count(len(found), 'sample')} cannot be shown on {label} within {limit:g} {metric}: "
                    f"{_named(found)}."
                )
            )
    return sentences


def _met_sentences(samples: Sequence[SampleRecord], labels: Mapping[str, str]) -> list[str]:
    sentences = []
    for name, label in labels.items():
        found = _each(samples, name, "match")
        if found:
            metric, limit = METRIC_LABELS[found[0][1].metric], found[0][1].limit
            sentences.append(
                capital(
                    f"{count(len(found), 'sample')} {'is' if len(found) == 1 else 'are'} not met on {label} "
                    f"within {limit:g} {metric}: {_named(found)}."
                )
            )
    return sentences


def _shift_sentences(samples: Sequence[SampleRecord], labels: Mapping[str, str]) -> list[str]:
    sentences = []
    for name, label in labels.items():
        found = _each(samples, name, "observer_shift")
        if found:
            first = found[0][1]
            sentences.append(
                capital(
                    f"{count(len(found), 'sample leaves its match', 'samples leave their match')} on {label} by "
                    f"more than {first.limit:g} {METRIC_LABELS[first.metric]}; at worst {found[0][0].name}, "
                    f"{first.figure:.1f} in {first.light} for {first.observer}."
                )
            )
    return sentences


def _light_sentences(samples: Sequence[SampleRecord]) -> list[str]:
    found = [(sample, bad[0]) for sample in samples if (bad := failing(sample.verdicts, "light_shift"))]
    found.sort(key=lambda item: _ratio(item[1]), reverse=True)
    if not found:
        return []
    first = found[0][1]
    return [
        capital(
            f"{count(len(found), 'sample changes', 'samples change')} with the light by more than {first.limit:g} "
            f"{METRIC_LABELS[first.metric]}; at worst {found[0][0].name}, {first.figure:.1f} in {first.light} "
            f"for {first.observer}."
        )
    ]


def _approval_sentences(approvals: Sequence[ApprovalRecord]) -> list[str]:
    bad = [(item, item.verdict) for item in approvals if item.verdict and item.verdict.status == "fail"]
    return [
        f"{item.sample} is not the approved colour ({item.name}): {_figure(verdict)} away"
        f"{_in_words(item.words)}, limit {verdict.limit:g}."
        for item, verdict in bad
    ]


def _pair_sentences(pairs: Sequence[PairRecord]) -> list[str]:
    sentences = []
    for item in pairs:
        bad = failing(item.verdicts)
        if bad:
            sentences.append(
                f"{item.a} and {item.b} part ({item.name}): {_figure(bad[0])} in {bad[0].light} for "
                f"{bad[0].observer}, limit {bad[0].limit:g}."
            )
    return sentences


def _closing(samples: Sequence[SampleRecord], judged: bool) -> list[str]:
    """What is well, and what was not judged."""
    if not judged:
        return ["Nothing was judged: the job has no tolerance set."]
    if samples and not any(sample.verdicts or any(on.verdicts for on in sample.on) for sample in samples):
        return ["No sample was judged: the tolerance set has no limit for what the job asks of them."]
    good = sum(sample.status == "pass" for sample in samples)
    if good == len(samples):
        return [capital(f"{count(good, 'sample passes', 'samples pass')} all that was judged.")]
    if good == 0:
        return ["No sample passes all that was judged."]
    return [
        capital(
            f"{count(good, 'sample')} of {len(samples)} {'passes' if good == 1 else 'pass'} all that was judged."
        )
    ]


def _within_limits(samples: Sequence[SampleRecord], labels: Mapping[str, str]) -> list[str]:
    """Samples outside a display's gamut that no limit has failed: they pass, and yet are not shown as they are."""
    sentences = []
    for name, label in labels.items():
        found = [
            (sample, on)
            for sample in samples
            for on in sample.on
            if on.display == name and not on.in_gamut and not failing(on.verdicts, "excess")
        ]
        found.sort(key=lambda item: item[1].excess, reverse=True)
        if found:
            shown = listed([f"{sample.name} ({on.excess:.1f})" for sample, on in found])
            verb = "lies" if len(found) == 1 else "lie"
            more = "more " if any(failing(on.verdicts, "excess") for s in samples for on in s.on) else ""
            sentences.append(
                capital(
                    f"{count(len(found), f'{more}sample')} {verb} outside the gamut of {label} without failing "
                    f"(excess in CIEDE2000): {shown}."
                )
            )
    return sentences


def unpaired_sentences(lone: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Samples that nothing was held against, by the name of the pairs in which they have no partner."""
    return tuple(
        f"{capital(count(len(names), 'sample'))} {'has' if len(names) == 1 else 'have'} no partner and "
        f"{'was' if len(names) == 1 else 'were'} not compared ({pairs}): {listed(names)}."
        for pairs, names in lone.items()
        if names
    )


def _unjudged_pairs(pairs: Sequence[PairRecord]) -> list[str]:
    """Pairs for which there is no limit, with the most that they part."""
    sentences = []
    for item in pairs:
        if item.shift and not item.verdicts:
            most = max(item.shift, key=lambda figure: figure.de00)
            sentences.append(
                f"{item.a} and {item.b} were not judged ({item.name}): they part by up to {most.de00:.1f} "
                f"CIEDE2000, in {most.light} for {most.observer}."
            )
    return sentences
