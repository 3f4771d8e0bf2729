"""The sentence that leads the page: what passes, what fails and in what, counted and named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.report import eye_words
from screenproof.report.recipes import state_of
from screenproof.report.words import Labels, joined, number

if TYPE_CHECKING:
    from screenproof.proof.result import Result, SampleRecord


@dataclass(frozen=True)
class Phrase:
    """A piece of the lead; what is wrong is ``strong``."""

    text: str
    strong: bool = False


def lead(result: Result, labels: Labels) -> tuple[Phrase, ...]:
    """The lead of ``result``, to be set one phrase after the other without a blank between.

    It counts samples, approvals, pairs and sets so that the counts come out: what fails in two ways fails once.
    Then it says what people will argue about.
    When nothing fails and nothing is in doubt, or nothing was judged, and no people were asked for, it is the
    sentences of the result's own summary.
    """
    if result.summary.status == "pass" and result.summary.sentences and result.population is None:
        return (Phrase(" ".join(result.summary.sentences)),)
    phrases: list[Phrase] = _inks(result, labels)
    phrases += _samples(result, labels)
    phrases += _also(result, labels)
    phrases += [Phrase(words, strong) for words, strong in eye_words.told(result, labels)]
    return tuple(phrases)


MOST_NAMES = 3
"""So many are told by name; more are counted."""

_MOST_WAYS = 4  # so many ways to fail are told of one by one

_CLAIMS = (
    ("excess", "cannot be shown", "cannot be shown"),
    ("match", "is not met by its code", "are not met by their codes"),
    ("observer_shift", "leaves its match", "leave their match"),
)


def _samples(result: Result, labels: Labels) -> list[Phrase]:
    """How many samples pass, fail and are undecided, and in what they fail."""
    total = len(result.samples)
    judged = [s for s in result.samples if s.verdicts or any(on.verdicts for on in s.on)]
    if not judged:
        return [Phrase("No sample was judged. ")] if total else []
    failing = [sample for sample in judged if sample.status == "fail"]
    doubtful = [sample.name for sample in judged if sample.status == "undecided"]
    if not failing and not doubtful:
        if len(judged) < total:
            return [Phrase("All samples that were judged pass. ")]
        return [Phrase("The sample passes. " if total == 1 else "All samples pass. ")]
    good = len(judged) - len(failing) - len(doubtful)
    parts = [[Phrase(_verb(good, "passes", "pass"))]] if good else []
    if failing:
        ways: dict[tuple[tuple[str, str], ...], list[str]] = {}
        for sample in failing:
            ways.setdefault(_ways(result, labels, sample), []).append(sample.name)
        parts.append([Phrase(_verb(len(failing), "fails", "fail"), strong=True), Phrase(f" ({_told(ways)})")])
    if doubtful:
        parts.append(
            [Phrase(_verb(len(doubtful), "is undecided", "are undecided"), strong=True), *_named(doubtful)]
        )
    if len(judged) < total:
        parts.append([Phrase(_verb(total - len(judged), "was not judged", "were not judged"))])
    return [Phrase(f"Of {total} {'colour' if total == 1 else 'colours'} "), *_listed(parts), Phrase(". ")]


def _ways(result: Result, labels: Labels, sample: SampleRecord) -> tuple[tuple[str, str], ...]:
    """In what a sample fails, each as (of one, of many)."""
    found = []
    for what, one, many in _CLAIMS:
        where = [
            labels.display(on.display)
            for on in sample.on
            if any(verdict.what == what and verdict.status == "fail" for verdict in on.verdicts)
        ]
        if where:
            place = f" on {joined(where)}" if len(result.displays) > 1 else ""
            found.append((one + place, many + place))
    if any(verdict.what == "light_shift" and verdict.status == "fail" for verdict in sample.verdicts):
        found.append(("changes with the light", "change with the light"))
    return tuple(found)


def _told(ways: Mapping[tuple[tuple[str, str], ...], Sequence[str]]) -> str:
    """Who fails in what: by name where that is three or fewer."""
    order = sorted(ways.items(), key=lambda entry: -len(entry[1]))
    said = []
    for claims, names in order[:_MOST_WAYS]:
        who = joined(names) if len(names) <= MOST_NAMES else str(len(names))
        claim = joined([one if len(names) == 1 else many for one, many in claims])
        said.append(f"{who} {claim}" if claim else who)
    rest = sum(len(names) for _, names in order[_MOST_WAYS:])
    if rest:
        said.append(f"{rest} in other ways")
    return "; ".join(said)


def _verb(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _named(names: Sequence[str]) -> list[Phrase]:
    return [Phrase(f" ({joined(names)})")] if len(names) <= MOST_NAMES else []


def _listed(parts: Sequence[Sequence[Phrase]]) -> list[Phrase]:
    """The parts with a comma between each two."""
    found = list(parts[0])
    for part in parts[1:]:
        found += [Phrase(", "), *part]
    return found


def _inks(result: Result, labels: Labels) -> list[Phrase]:
    """What presses cannot print and recipes do not reach: it stands first, since all else waits for it."""
    missed = []
    for press in dict.fromkeys(item.press for item in result.reach):
        asked = [item for item in result.reach if item.press == press and item.verdict is not None]
        failing = sum(item.status == "fail" for item in asked)
        if failing:
            missed.append((failing, len(asked), press))
    missed.sort(key=lambda entry: -entry[0])
    found: list[str] = []
    for failing, count, press in missed:
        of = number(count) + ("" if found else " colour" if count == 1 else " colours")
        found.append(f"{number(failing)} of {of} cannot be printed on {labels.press(press)}")
    for target in dict.fromkeys(record.target for record in result.recipes):
        records = [record for record in result.recipes if record.target == target]
        failed = [record.name for record in records if state_of(record) == "fail"]
        if len(failed) == len(records):
            found.append(f"no recipe is good enough for {target}")
        else:
            found += [f"none of the recipes of {name} passes" for name in failed]
    phrases: list[Phrase] = []
    for index, claim in enumerate(found):
        phrases += [Phrase(", and " if index == len(found) - 1 else ", ")] * (index > 0)
        phrases.append(Phrase(_capital(claim) if index == 0 else claim, strong=True))
    return [*phrases, Phrase(". ")] if phrases else []


def _also(result: Result, labels: Labels) -> list[Phrase]:
    """What approvals, pairs and sets add, where not all of them pass."""
    approvals = [(one.name, one.verdict.status) for one in result.approvals if one.verdict is not None]
    pairs = [(pair.name, pair.status) for pair in result.pairs if pair.verdicts]
    wholes = [
        (f"{one.name} on {labels.display(one.display)}" if one.display else one.name, one.status)
        for one in result.wholes
    ]
    return [*_sum("approval", approvals), *_sum("pair", pairs), *_sum("set", wholes, " as a whole")]


def _sum(what: str, entries: Sequence[tuple[str, str]], how: str = "") -> list[Phrase]:
    """'Of 4 approvals 1 fails (...), 1 is undecided (...), 2 pass.', or nothing where all pass."""
    failing = [name for name, status in entries if status == "fail"]
    doubtful = [name for name, status in entries if status == "undecided"]
    if not failing and not doubtful:
        return []
    if len(entries) == 1:
        said = f"The {what} {'fails' if failing else 'is undecided'}{how}"
        return [Phrase(said, strong=True), *_named(failing or doubtful), Phrase(". ")]
    good = len(entries) - len(failing) - len(doubtful)
    parts = []
    if failing:
        parts.append([Phrase(_verb(len(failing), "fails", "fail") + how, strong=True), *_named(failing)])
    if doubtful:
        said = _verb(len(doubtful), "is undecided", "are undecided")
        parts.append([Phrase(said, strong=True), *_named(doubtful)])
    if good:
        parts.append([Phrase(_verb(good, "passes", "pass"))])
    return [Phrase(f"Of {len(entries)} {what}s "), *_listed(parts), Phrase(". ")]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
