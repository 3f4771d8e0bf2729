"""The sentence that leads a job's answer: how many colours pass, fail, are undecided, and what was not judged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import capital, listed, number
from screenproof.proof.colours import JudgedColour, judged_colours
from screenproof.proof.judged import Judged, Status
from screenproof.report import eye_words
from screenproof.report.words import STATUS_VERBS, Labels

if TYPE_CHECKING:
    from screenproof.proof.result import Result

STATUSES: tuple[Status, ...] = ("pass", "fail", "undecided", "not known", "not judged")

MOST_NAMES = 3
"""So many are named; more are counted."""

_MOST_WAYS = 4  # so many ways to fail are named one by one

_WAYS = {
    "excess": ("cannot be shown", "cannot be shown"),
    "match": ("is not met by its code", "are not met by their codes"),
    "observer_shift": ("leaves its match", "leave their match"),
    "light_shift": ("changes with the light", "change with the light"),
    "approval": ("is not the approved colour", "are not the approved colours"),
    "pair": ("does not match as a pair", "do not match as a pair"),
    "pair_shift": ("does not match as a pair in every light", "do not match as a pair in every light"),
}
_JUDGED = {
    "approval": "approvals",
    "pair": "pairs",
    "pair_shift": "pairs",
    "printable": "colours on presses",
    "recipe": "recipes",
}
"""What was judged, where that is not a sample by itself."""


@dataclass(frozen=True)
class Phrase:
    """A piece of the lead; what is wrong is ``strong``."""

    text: str
    strong: bool = False


def counts(result: Result) -> dict[str, int]:
    """How many colours have each status."""
    statuses = [colour.status for colour in judged_colours(result)]
    return {status: statuses.count(status) for status in STATUSES}


def lead(result: Result, labels: Labels) -> tuple[Phrase, ...]:
    """The first sentence, then what presses cannot print, sets that fail, and what people will argue about.

    They are to be set one after the other without a blank between.
    """
    phrases = [*first(result, labels), Phrase(" "), *_inks(result, labels), *_wholes(result, labels)]
    return (*phrases, *(Phrase(words, strong) for words, strong in eye_words.told(result, labels)))


def first(result: Result, labels: Labels) -> list[Phrase]:
    """How many colours pass, fail and are undecided, in what they fail, and what was not judged."""
    colours = judged_colours(result)
    total = len(colours)
    named = {status: [one for one in colours if one.status == status] for status in STATUSES}
    if total == len(named["not judged"]):
        why = "has no limit for what the job asks" if result.tolerances else ""
        return [Phrase(f"Nothing was judged: {f'the tolerance set {why}' if why else 'the job has no limits'}.")]
    only = _only(result)
    if total == len(named["pass"]):
        whole = "The colour passes" if total == 1 else f"All {total} colours pass"
        return [Phrase(f"{whole}{f'; only {only} were judged' if only else ''}.")]
    parts = []
    for status, mine in named.items():
        if not mine:
            continue
        verb = f"{len(mine)} {STATUS_VERBS[status][len(mine) > 1]}"
        if status == "fail":
            tail = _told(_ways(result, labels, mine))
        elif status in ("undecided", "not known"):
            tail = listed([one.name for one in mine]) if len(mine) <= MOST_NAMES else ""
        else:
            tail = f"only {only} were" if status == "not judged" and only else ""
        strong = status in ("fail", "undecided", "not known")
        parts.append([Phrase(verb, strong), *([Phrase(f" ({tail})")] if tail else [])])
    end = f"; only {only} were judged." if only and not named["not judged"] else "."
    return [Phrase(f"Of {total} {'colour' if total == 1 else 'colours'} "), *_joined(parts), Phrase(end)]


def _only(result: Result) -> str:
    """What was judged, where no sample was judged by itself; '' else."""
    if any(sample.verdicts or any(on.verdicts for on in sample.on) for sample in result.samples):
        return ""
    found: list[Judged | None] = [one.verdict for one in result.approvals]
    found += [verdict for pair in result.pairs for verdict in pair.verdicts]
    found += [item.verdict for item in result.reach]
    kinds = [_JUDGED[one.what] for one in found if one is not None]
    kinds += [_JUDGED["recipe"] for record in result.recipes if record.status != "not judged"]
    return listed(list(dict.fromkeys(kinds)))


def _ways(
    result: Result, labels: Labels, failing: Sequence[JudgedColour]
) -> dict[tuple[tuple[str, str], ...], list[str]]:
    """The failing samples by the ways in which they fail, each way as (of one, of many).

    What presses cannot print and recipes do not reach has a sentence of its own.
    """
    by_name = {sample.name: sample for sample in result.samples}
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for colour in failing:
        if colour.kind != "sample":
            continue
        places: dict[str, list[str]] = {}
        sample = by_name[colour.name]
        judged = [(labels.display(on.display), one) for on in sample.on for one in on.verdicts]
        judged += [("", one) for one in sample.verdicts]
        judged += [("", one.verdict) for one in result.approvals if one.sample == colour.name and one.verdict]
        judged += [("", one) for pair in result.pairs if colour.name in (pair.a, pair.b) for one in pair.verdicts]
        for place, one in judged:
            if one.status == "fail" and place not in places.setdefault(one.what, []):
                places[one.what].append(place)
        ways = []
        for what, (one_fails, many_fail) in _WAYS.items():
            if places.get(what):
                where = [place for place in places[what] if place] if len(result.displays) > 1 else []
                on = f" on {listed(where)}" if where else ""
                ways.append((one_fails + on, many_fail + on))
        if ways:
            found.setdefault(tuple(ways), []).append(colour.name)
    return found


def _told(ways: Mapping[tuple[tuple[str, str], ...], Sequence[str]]) -> str:
    """Who fails in what: by name where that is three or fewer."""
    order = sorted(ways.items(), key=lambda entry: -len(entry[1]))
    said = []
    for claims, names in order[:_MOST_WAYS]:
        who = listed(names) if len(names) <= MOST_NAMES else str(len(names))
        said.append(f"{who} {listed([one if len(names) == 1 else many for one, many in claims])}")
    rest = sum(len(names) for _, names in order[_MOST_WAYS:])
    return "; ".join([*said, *([f"{rest} in other ways"] if rest else [])])


def _joined(parts: Sequence[Sequence[Phrase]]) -> list[Phrase]:
    """The parts with a comma between each two."""
    found = list(parts[0])
    for part in parts[1:]:
        found += [Phrase(", "), *part]
    return found


def _inks(result: Result, labels: Labels) -> list[Phrase]:
    """What presses cannot print and recipes do not reach."""
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
        failed = [one.name for one in records if one.status == "fail" or not one.reached]
        if len(failed) == len(records):
            found.append(f"no recipe is good enough for {target}")
        else:
            found += [f"none of the recipes of {name} passes" for name in failed]
    phrases: list[Phrase] = []
    for index, claim in enumerate(found):
        phrases += [Phrase(", and " if index == len(found) - 1 else ", ")] * (index > 0)
        phrases.append(Phrase(capital(claim) if index == 0 else claim, strong=True))
    return [*phrases, Phrase(". ")] if phrases else []


def _wholes(result: Result, labels: Labels) -> list[Phrase]:
    """'Of 2 sets 1 fails as a whole (...), 1 is undecided (...).', or nothing where all pass."""
    names: dict[Status, list[str]] = {status: [] for status in STATUSES}
    for one in result.wholes:
        names[one.status].append(f"{one.name} on {labels.display(one.display)}" if one.display else one.name)
    if not names["fail"] and not names["undecided"]:
        return []
    parts = []
    for status in ("fail", "undecided", "pass"):
        count = len(names[status])
        if count:
            whole = len(result.wholes) == 1
            verb = STATUS_VERBS[status][count > 1] + (" as a whole" if status == "fail" or whole else "")
            text = f"The set {verb}" if whole else f"{count} {verb}"
            tail = [Phrase(f" ({listed(names[status])})")] if status != "pass" and count <= MOST_NAMES else []
            parts.append([Phrase(text, strong=status != "pass"), *tail])
    return [
        *([Phrase(f"Of {len(result.wholes)} sets ")] if len(result.wholes) > 1 else []),
        *_joined(parts),
        Phrase(". "),
    ]
