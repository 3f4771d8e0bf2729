"""What fails or is undecided of samples, approvals, pairs and sets, by how much, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from screenproof.english import counted, listed
from screenproof.proof.judged import Judged
from screenproof.report.doubt import whole_said, whole_views, with_doubt
from screenproof.report.eye_words import kind_of, most_first, trouble_there
from screenproof.report.findings.told import Told, measure, told, worst_of
from screenproof.report.words import Labels, led

if TYPE_CHECKING:
    from screenproof.proof.result import ApprovalRecord, OnDisplay, PairRecord, Result, SampleRecord

REPEAT = "repeat the readings of the set: its doubt is larger than the distance to the limit"
CORRECT = "correct the sample towards the approved colour, or have the approval given anew"
APART = "colour one of the two with the other's pigments, or keep them apart in that light"


def colour_findings(result: Result, labels: Labels) -> Iterator[Told]:
    """The troubles of samples, approvals, pairs and sets, in this order."""
    for number, sample in enumerate(result.samples, 1):
        for what in ("excess", "match", "observer_shift"):
            yield from _on_displays(result, labels, sample, number, what)
        yield from _light_shift(labels, sample, number)
    for number, approval in enumerate(result.approvals, 1):
        yield from _approval(labels, approval, number)
    for number, pair in enumerate(result.pairs, 1):
        yield from _pair(labels, pair, number)
    yield from _wholes(result, labels)


def _on_displays(result: Result, labels: Labels, sample: SampleRecord, number: int, what: str) -> Iterator[Told]:
    """One kind of trouble of a sample, on all the displays that have it, the worst first."""
    found = [(worst, on) for on in sample.on if (worst := worst_of(on.verdicts, what)) is not None]
    if not found:
        return
    found.sort(key=lambda entry: entry[0].severity, reverse=True)
    verdict, on = found[0]
    where = listed([labels.display(there.display) for one, there in found if one.status == verdict.status])
    others = [
        f"{with_doubt(one)} on {labels.display(there.display)}"
        f"{f', {one.status}' if one.status != verdict.status else ''}"
        for one, there in found[1:]
    ]
    able = [one for one in sample.on if one not in [there for _, there in found]]
    if what == "excess":
        claims = f"cannot be shown on {where}", f"can be shown on {where}"
        figures = f"the nearest colour there is {measure(labels, verdict, ' away', on.direction)}"
    elif what == "match":
        claims = f"is not met on {where}", f"is met well enough by its code on {where}"
        figures = f"with {on.bits}-bit codes the screen stays {measure(labels, verdict, ' away')}"
    else:
        away = verdict.light not in (None, labels.viewing_light)
        claims = f"{'leaves its match' if away else 'depends on the eye'} on {where}", f"holds on {where}"
        figures = f"at worst {measure(labels, verdict, ' away', led('object ', _words_at(on.shift, verdict)))}"
    yield told(
        what,
        sample.name,
        verdict,
        claims,
        "; ".join([figures, *others]),
        place=where,
        do=_advice(result, labels, verdict, on, able),
        unsure=[one for there in sample.on for one in there.verdicts if one.what == what],
        anchor=f"sample-{number}",
        colours=(sample.name,),
    )


def _light_shift(labels: Labels, sample: SampleRecord, number: int) -> Iterator[Told]:
    verdict = worst_of(sample.verdicts, "light_shift")
    if verdict is None:
        return
    yield told(
        "light_shift",
        sample.name,
        verdict,
        ("changes with the light", "holds in every light"),
        f"from {labels.light(None)} the object itself moves by "
        f"{measure(labels, verdict, words=_words_at(sample.light_shift, verdict))}",
        do="agree on the light in which the colour counts",
        unsure=sample.verdicts,
        anchor=f"sample-{number}",
        colours=(sample.name,),
    )


def _words_at(figures: Sequence[object], verdict: Judged) -> str:
    place = verdict.light, verdict.observer
    found = (one for one in figures if (getattr(one, "light", None), getattr(one, "observer", None)) == place)
    return next((str(getattr(one, "words", "")) for one in found), "")


def _advice(result: Result, labels: Labels, verdict: Judged, on: OnDisplay, able: Sequence[OnDisplay]) -> str:
    """What to do about a failure; ``able`` are the displays that do not have this trouble."""
    if verdict.what == "excess":
        if able:
            return _show_on(result, labels, able)
        if on.suffices:
            # They stand in the order of their gamuts, so the first asks the least of a display.
            return f"show it on a display that covers {labels.display(on.suffices[0])}"
        return "send the object itself: none of the standard displays would show it"
    if verdict.what == "match":
        return f"codes of more than {on.bits} bits leave less"
    if verdict.light not in (None, labels.viewing_light):
        return f"judge it in {labels.light(None)} only, or match it in {labels.light(verdict.light)}"
    return f"show the object itself to whoever sees as {labels.observer(verdict.observer)} does"


def _show_on(result: Result, labels: Labels, able: Sequence[OnDisplay]) -> str:
    """To show it on one of ``able``: where people agree on it, or with what they will see there."""
    known = [on for on in able if on.crowd is not None]
    calm = [on for on in known if kind_of(on.crowd) in ("few", "none")]
    chosen = calm or [on for on in able if on.crowd is None] or known
    text = f"show it on {listed([labels.display(on.display) for on in chosen], last='or')}"
    seen = [on.crowd for on in chosen if on.crowd is not None and kind_of(on.crowd) in ("all", "argued")]
    if not seen:
        return text
    people = result.population
    cure = "have the code made for many eyes, or " if people is not None and people.aim == "observer" else ""
    return f"{text}, but there {trouble_there(min(seen, key=most_first))}: {cure}decide on the object"


def _approval(labels: Labels, approval: ApprovalRecord, number: int) -> Iterator[Told]:
    verdict = approval.verdict
    if verdict is None or not verdict.trouble:
        return
    yield told(
        "approval",
        approval.sample,
        verdict,
        ("is not the approved colour", "is the approved colour"),
        f"it is {measure(labels, verdict, ' away', approval.words)}",
        tail=f" ({approval.name})",
        place=labels.display(approval.display),
        title=approval.name,
        do=CORRECT,
        unsure=[verdict],
        anchor=f"approval-{number}",
        colours=(approval.sample,),
    )


def _pair(labels: Labels, pair: PairRecord, number: int) -> Iterator[Told]:
    verdict = worst_of(pair.verdicts)
    if verdict is None:
        return
    itself = verdict.what == "pair"
    count = sum(entry.status == "fail" for entry in pair.verdicts)
    where = "" if itself else " in every light"
    fails = verdict.status == "fail"
    yield told(
        verdict.what,
        f"{pair.a} and {pair.b}",
        verdict,
        (f"do not match{where}", f"match{where}"),
        f"at worst {measure(labels, verdict, ' away', led('the second ', _words_at(pair.shift, verdict)))}"
        + (f"; {counted(count, 'figure')} over the limit" if count > 1 else ""),
        it="they",
        tail=f" ({pair.name})",
        title=pair.name,
        entry=f"{'Does not match' if fails else 'Undecided whether it matches'} its pair{where}.",
        do="correct the second towards the first" if itself else APART,
        unsure=pair.verdicts,
        anchor=f"pair-{number}",
        colours=(pair.a, pair.b),
    )


def _wholes(result: Result, labels: Labels) -> Iterator[Told]:
    for view in whole_views(result, labels):
        whole, where = view.whole, f" on {view.where}" if view.whole.display else ""
        figures = [
            Judged(one.statistic, one.figure, one.limit, whole.metric, one.status, low=one.low, high=one.high)
            for one in whole.figures
            if one.limit is not None
        ]
        verdict = worst_of(figures)
        if verdict is None:
            continue
        fails = verdict.status == "fail"
        yield Told(
            "whole",
            view.name,
            view.where,
            verdict,
            f"{view.name} {'fails' if fails else 'is undecided'} as a whole{where}: "
            f"{whole_said(view, verdict.status).removesuffix('.')}; the worst is {whole.worst_name}.",
            f"begin with {whole.worst_name}, which is farthest off" if fails else REPEAT,
            anchor=view.anchor,
            title=f"{view.name}, {counted(whole.count, 'pair' if whole.what == 'pairs' else 'sample')}",
            lead=f"{'Fails' if fails else 'Undecided'} as a whole{where}.",
            figures=whole_said(view, verdict.status),
        )
