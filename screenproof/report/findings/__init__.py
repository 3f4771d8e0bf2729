"""What a person should know of a job, each sentence written once: for the result, the terminal and the page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screenproof.english import in_words, listed, sentence
from screenproof.proof.colours import judged_colours
from screenproof.proof.finding import trouble_first
from screenproof.proof.judged import worst
from screenproof.proof.result import Summary
from screenproof.report.findings.colours import colour_findings
from screenproof.report.findings.count import counts, first
from screenproof.report.findings.people import argued, people_remarks, trust_findings
from screenproof.report.findings.presses import press_findings, press_remarks
from screenproof.report.findings.told import Told, told
from screenproof.report.words import Labels

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from screenproof.proof.result import Result, SampleRecord

__all__ = ["Told", "concluded", "findings_of", "reason_of"]

MOST_NAMES = 4


def findings_of(result: Result) -> tuple[Told, ...]:
    """All that a person should know of ``result``: trouble first, then people, then what failed no limit."""
    labels = Labels.of(result)
    return (
        *trouble_first([*colour_findings(result, labels), *press_findings(result, labels)]),
        *argued(result, labels),
        *trust_findings(result, labels),
        *_without_failing(result, labels),
        *press_remarks(result, labels),
        *people_remarks(result, labels),
    )


def concluded(result: Result) -> Result:
    """``result`` with its findings and its summary, and each sample with the reason for its status."""
    found = findings_of(result)
    plain = tuple(one.plain() for one in found)
    statuses = [colour.status for colour in judged_colours(result)] + [whole.status for whole in result.wholes]
    lead = "".join(phrase.text for phrase in first(result, Labels.of(result)))
    return replace(
        result,
        samples=tuple(replace(sample, reason=reason_of(sample, result, found)) for sample in result.samples),
        summary=Summary(worst(statuses), counts(result), lead, tuple(one.says for one in plain)),
        findings=plain,
    )


def reason_of(sample: SampleRecord, result: Result, found: Sequence[Told]) -> str:
    """Why a sample has its status: the worst that was found of it, and what would decide it if it is undecided."""
    for one in found:
        if sample.name in one.colours and one.judged is not None and one.judged.status == sample.status:
            lead, do = one.entry or one.lead, sentence(one.do) if sample.status != "fail" else ""
            return Told("", "", says=" ".join(filter(None, [lead, one.figures, do]))).plain().says
    labels = Labels.of(result)
    outside = listed([labels.display(on.display) for on in sample.on if not on.in_gamut], MOST_NAMES)
    if sample.status == "not judged":
        return f"Was not judged; it is outside the gamut of {outside}." if outside else "Was not judged."
    return f"Passes all that was judged{f', though it is outside the gamut of {outside}' if outside else ''}."


def _without_failing(result: Result, labels: Labels) -> Iterator[Told]:
    """What lies outside a display's gamut, and pairs that differ, where no limit judged that."""
    for display in result.displays:
        out = [
            (sample, on)
            for sample in result.samples
            for on in sample.on
            if on.display == display.name
            and not on.in_gamut
            and not any(one.what == "excess" and one.trouble for one in on.verdicts)
        ]
        out.sort(key=lambda entry: entry[1].excess, reverse=True)
        if out:
            named = listed([f"{sample.name} ({on.excess:.1f})" for sample, on in out], MOST_NAMES)
            label = labels.display(display.name)
            lie = f"{in_words(len(out), 'sample lies', 'samples lie')} outside the gamut of {label}"
            yield Told("gamut", label, says=sentence(f"{lie}, without failing a limit (CIEDE2000): {named}"))
    for pair in result.pairs:
        if pair.shift and not pair.verdicts:
            most = max(pair.shift, key=lambda figure: figure.de00)
            where = f"in {labels.light(most.light)} for {labels.observer(most.observer)}"
            said = f"differ by up to {most.de00:.1f} CIEDE2000, {where}"
            yield told("pair_shift", f"{pair.a} and {pair.b}", None, (said, ""), "", tail=f" ({pair.name})")
