"""The sentence that leads the page: what fails, counted and in words, and then what passes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.report import eye_words
from screenproof.report.recipes import state_of
from screenproof.report.words import Labels, number

if TYPE_CHECKING:
    from screenproof.proof.result import Result


@dataclass(frozen=True)
class Phrase:
    """A piece of the lead; what is wrong is ``strong``."""

    text: str
    strong: bool = False


def lead(result: Result, labels: Labels) -> tuple[Phrase, ...]:
    """The lead of ``result``, to be set one phrase after the other without a blank between.

    It counts samples, approvals, pairs and sets by what they fail in, and then says what people will argue about.
    When nothing fails and nothing is in doubt, or nothing was judged, and no people were asked for, it is the
    sentences of the result's own summary.
    """
    if result.summary.status == "pass" and result.summary.sentences and result.population is None:
        return (Phrase(" ".join(result.summary.sentences)),)
    phrases: list[Phrase] = _inks(result, labels)
    total, every = len(result.samples), len(result.displays)
    claims: list[str] = []
    for what, one, many in (
        ("excess", "cannot be shown as it is", "cannot be shown as they are"),
        ("match", "is not met by its code", "are not met by their codes"),
        ("observer_shift", "leaves its match", "leave their match"),
    ):
        failing = {
            (sample.name, on.display)
            for sample in result.samples
            for on in sample.on
            for verdict in on.verdicts
            if verdict.what == what and verdict.status == "fail"
        }
        names = {name for name, _ in failing}
        if names:
            where = {display for _, display in failing}
            place = f" on {labels.display(where.pop())}" if every > 1 and len(where) == 1 else ""
            claims.append(f"{number(len(names))} {one if len(names) == 1 else many}{place}")
    changing = sum(
        any(verdict.what == "light_shift" and verdict.status == "fail" for verdict in sample.verdicts)
        for sample in result.samples
    )
    if changing:
        claims.append(f"{number(changing)} {'changes' if changing == 1 else 'change'} with the light")
    doubtful = sum(sample.status == "undecided" for sample in result.samples)
    if doubtful:
        claims.append(f"{number(doubtful)} {'is' if doubtful == 1 else 'are'} undecided")
    if claims:
        phrases.append(Phrase(f"Of {number(total)} {'sample' if total == 1 else 'samples'}, "))
        for index, claim in enumerate(claims):
            if index:
                phrases.append(Phrase(" and " if index == len(claims) - 1 else ", "))
            phrases.append(Phrase(claim, strong=True))
    good = sum(sample.status == "pass" for sample in result.samples)
    if claims:
        phrases.append(Phrase(f"; {number(good)} {'passes' if good == 1 else 'pass'}. "))
    elif good == total and total:
        judged = sum(bool(sample.verdicts or any(on.verdicts for on in sample.on)) for sample in result.samples)
        if not judged:
            phrases.append(Phrase("No sample was judged. "))
        elif judged < total:
            phrases.append(Phrase("All samples that were judged pass. "))
        else:
            phrases.append(Phrase("The sample passes. " if total == 1 else "All samples pass. "))
    phrases += _also(result)
    phrases += [Phrase(words, strong) for words, strong in eye_words.told(result, labels)]
    return tuple(phrases)


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


def _also(result: Result) -> list[Phrase]:
    """What approvals, pairs and sets add."""
    found = []
    judged = [approval.verdict for approval in result.approvals if approval.verdict is not None]
    missed = sum(verdict.status == "fail" for verdict in judged)
    if missed:
        whole = "The approval is" if len(judged) == 1 else None
        part = f"{_capital(number(missed))} of {number(len(judged))} approvals {'is' if missed == 1 else 'are'}"
        found.append(Phrase(f"{whole or part} not met", strong=True))
    parted = sum(pair.status == "fail" for pair in result.pairs)
    if parted:
        several = len(result.pairs) > 1
        whole = f"{number(parted)} of {number(len(result.pairs))} pairs" if several else "the pair"
        verb = "parts" if parted == 1 else "part"
        found.append(Phrase(f"{whole if found else _capital(whole)} {verb} company", strong=True))
    doubtful = sum(verdict.status == "undecided" for verdict in judged)
    doubtful += sum(pair.status == "undecided" for pair in result.pairs)
    wholes = [whole.status for whole in result.wholes]
    doubtful += wholes.count("undecided")
    failed = wholes.count("fail")
    if failed:
        whole = f"{number(failed)} of {number(len(wholes))} sets" if len(wholes) > 1 else "the set"
        verb = "fails" if failed == 1 else "fail"
        found.append(Phrase(f"{whole if found else _capital(whole)} {verb} as a whole", strong=True))
    pieces: list[Phrase] = []
    for index, phrase in enumerate(found):
        pieces += [Phrase(", and " if index == len(found) - 1 else ", ")] * (index > 0) + [phrase]
    if pieces:
        pieces.append(Phrase(". "))
    if doubtful:
        pieces.append(Phrase(f"{_capital(number(doubtful))} more {'is' if doubtful == 1 else 'are'} undecided. "))
    return pieces


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
