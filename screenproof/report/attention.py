"""What needs attention, in words: a card for every sample, approval or pair that does not pass.

A card says what is wrong, by how much against which limit, in which light and for whom, and what may be done
next. Its patch shows the trouble: the two colours that should be alike, in the light where they are least so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.report.doubt import chance, cures, doubt_of, figure_of, whole_said, whole_views, with_doubt
from screenproof.report.eye_words import kind_of, most_first, trouble_there
from screenproof.report.sheet import DisplayView, SampleView, severity, verdict_of
from screenproof.report.words import Labels, counted, joined, led, page_colour, sentence

if TYPE_CHECKING:
    from screenproof.proof.result import ApprovalRecord, PairRecord, Result
    from screenproof.proof.tolerance import Judged


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong: ``lead`` names it, ``text`` has the figures."""

    lead: str
    text: str


@dataclass(frozen=True)
class Card:
    """One entry of what needs attention, with the patch that shows it."""

    anchor: str
    title: str
    status: str
    left: str
    right: str
    left_words: str
    right_words: str
    troubles: tuple[Trouble, ...]
    advice: str
    rank: tuple[bool, float]


@dataclass(frozen=True)
class Shift:
    """A shift for the table: ``figure`` for sorting, ``text`` and ``doubt`` for reading, and what it is for."""

    figure: float
    text: str
    doubt: str
    light: str
    observer: str
    status: str | None


def cards(result: Result, labels: Labels, views: Sequence[SampleView]) -> list[Card]:
    """The cards of ``result``, the worst first."""
    found = [_sample_card(result, labels, view) for view in views if view.status != "pass"]
    by_name = {view.sample.name: view for view in views}
    for number, approval in enumerate(result.approvals, 1):
        if approval.verdict is not None and approval.verdict.status != "pass":
            found.append(_approval_card(labels, approval, number))
    for number, pair in enumerate(result.pairs, 1):
        if pair.status != "pass":
            found.append(_pair_card(result, labels, pair, number, by_name))
    found += _whole_cards(result, labels, by_name)
    return sorted(found, key=lambda card: card.rank, reverse=True)


def _worst_of(verdicts: Sequence[Judged]) -> Judged | None:
    return max((verdict for verdict in verdicts if verdict.status != "pass"), key=severity, default=None)


def _measure(labels: Labels, verdict: Judged) -> str:
    """'4.1 ± 0.3 CIEDE2000 away in shop tubes for CIE 1931, 2°, limit 2'."""
    return (
        f"{with_doubt(verdict)} {labels.metric(verdict)} away in {labels.light(verdict.light)} "
        f"for {labels.observer(verdict.observer)}, limit {verdict.limit:g}{_chance(labels, verdict)}"
    )


def _chance(labels: Labels, verdict: Judged) -> str:
    said = chance(verdict, labels.risk)
    return f" ({said})" if said else ""


def _sample_card(result: Result, labels: Labels, view: SampleView) -> Card:
    troubles: list[Trouble] = []
    advice: list[str] = []
    for what in ("excess", "match", "observer_shift"):
        found = [
            (verdict, display)
            for display in view.displays
            if (verdict := _worst_of([entry for entry in display.on.verdicts if entry.what == what])) is not None
        ]
        if found:
            found.sort(key=lambda entry: severity(entry[0]), reverse=True)
            troubles.append(_trouble(labels, found))
            able = [display for display in view.displays if display not in [entry[1] for entry in found]]
            if found[0][0].status == "fail":
                advice.append(_advice(result, labels, *found[0], able))
    alone = _worst_of([entry for entry in view.sample.verdicts if entry.what == "light_shift"])
    if alone is not None:
        words = _words_at(view.sample.light_shift, alone)
        troubles.append(
            Trouble(
                _lead(alone, "Changes with the light.", "Undecided whether it holds in every light."),
                f"From {labels.light(None)} to {labels.light(alone.light)} the object itself moves by "
                f"{with_doubt(alone)} {labels.metric(alone)} for "
                f"{labels.observer(alone.observer)}, limit {alone.limit:g}{_chance(labels, alone)}"
                f"{led(': it turns ', words)}.",
            )
        )
        if alone.status == "fail":
            advice.append("agree on the light in which the colour counts")
    advice += cures([*_all(view), *view.sample.verdicts])
    if not troubles:
        troubles.append(Trouble("Fails." if view.status == "fail" else "Undecided.", view.sample.reason))

    halves = _sample_halves(result, labels, view, alone)
    ranks = [severity(entry) for entry in [*view.sample.verdicts, *_all(view)] if entry.status != "pass"]
    return Card(
        view.anchor,
        view.sample.name,
        view.status,
        *halves,
        tuple(troubles),
        sentence("; ".join(dict.fromkeys(advice))),
        max(ranks, default=(view.status == "fail", 0.0)),
    )


def _all(view: SampleView) -> list[Judged]:
    return [verdict for display in view.displays for verdict in display.on.verdicts]


def _lead(verdict: Judged, fails: str, undecided: str) -> str:
    return fails if verdict.status == "fail" else undecided


def _words_at(figures: Sequence[object], verdict: Judged) -> str:
    for figure in figures:
        if (getattr(figure, "light", None), getattr(figure, "observer", None)) == (
            verdict.light,
            verdict.observer,
        ):
            return str(getattr(figure, "words", ""))
    return ""


def _trouble(labels: Labels, found: Sequence[tuple[Judged, DisplayView]]) -> Trouble:
    """One kind of trouble, on all the displays that have it, the worst first."""
    verdict, display = found[0]
    on = display.on
    where = joined([entry.label for one, entry in found if one.status == verdict.status])
    others = [
        f"{with_doubt(one)} on {entry.label}{', undecided' if one.status != verdict.status else ''}"
        for one, entry in found[1:]
    ]
    rest = f" ({'; '.join(others)})" if others else ""
    if verdict.what == "excess":
        return Trouble(
            _lead(verdict, f"Cannot be shown on {where}.", f"Undecided whether it can be shown on {where}."),
            f"The nearest colour there is {_measure(labels, verdict)}{rest}{led(': it is ', on.direction)}.",
        )
    if verdict.what == "match":
        return Trouble(
            _lead(verdict, f"Is not met on {where}.", f"Undecided whether its code is good enough on {where}."),
            f"With {on.bits}-bit codes the screen stays {_measure(labels, verdict)}{rest}.",
        )
    words = _words_at(on.shift, verdict)
    away = verdict.light not in (None, labels.viewing_light)
    lead = "Leaves its match" if away else "Depends on the eye"
    return Trouble(
        _lead(verdict, f"{lead} on {where}.", f"Undecided whether it holds on {where}."),
        f"At worst {_measure(labels, verdict)}{rest}{led(': the object is ', words)}.",
    )


def _advice(
    result: Result, labels: Labels, verdict: Judged, display: DisplayView, able: Sequence[DisplayView]
) -> str:
    """What may be done next about a failure; ``able`` are the job's displays that do not have this trouble."""
    if verdict.what == "excess":
        if able:
            return _show_on(result, able)
        if display.suffices:
            # They stand in the order of their gamuts, so the first asks the least of a display.
            return f"show it on a display that covers {display.suffices[0]}"
        return "send the object itself: none of the standard displays would show it"
    if verdict.what == "match":
        return f"codes of more than {display.on.bits} bits leave less"
    if verdict.light not in (None, labels.viewing_light):
        return f"judge it in {labels.light(None)} only, or match it in {labels.light(verdict.light)}"
    return f"show the object itself to whoever sees as {labels.observer(verdict.observer)} does"


def _show_on(result: Result, able: Sequence[DisplayView]) -> str:
    """To show it on one of ``able``: where people agree on it, or with what they will see there."""
    known = [display for display in able if display.on.crowd is not None]
    calm = [display for display in known if kind_of(display.on.crowd) in ("few", "none")]
    chosen = calm or [display for display in able if display.on.crowd is None] or known
    text = f"show it on {joined([display.label for display in chosen], 'or')}"
    crowds = [display.on.crowd for display in chosen if display.on.crowd is not None]
    seen = [crowd for crowd in crowds if kind_of(crowd) in ("all", "argued")]
    if not seen:
        return text
    crowd = min(seen, key=most_first)
    people = result.population
    cure = "have the code made for many eyes, or " if people is not None and people.aim == "observer" else ""
    return f"{text}, but there {trouble_there(crowd)}: {cure}decide on the object"


def _sample_halves(
    result: Result, labels: Labels, view: SampleView, alone: Judged | None
) -> tuple[str, str, str, str]:
    """The two colours that show the trouble, and what each of them is."""
    colours = {glow.name: glow for glow in view.glows}
    worst: tuple[Judged, DisplayView] | None = None
    for display in view.displays:
        verdict = _worst_of(display.on.verdicts)
        if verdict is not None and (worst is None or severity(verdict) > severity(worst[0])):
            worst = verdict, display
    if worst is not None and (alone is None or severity(worst[0]) >= severity(alone)):
        verdict, display = worst
        light = verdict.light if verdict.what == "observer_shift" and verdict.light in colours else None
        glow = colours.get(light or result.viewing.light)
        left = glow.colour if glow else view.colour
        return left, display.screen, f"the object in {labels.light(light)}", display.label
    if alone is not None and alone.light in colours:
        there = labels.light(alone.light)
        # What is compared with stands right, as a screen does.
        return colours[alone.light].colour, view.colour, f"in {there}", f"in {labels.light(None)}"
    if view.displays:
        first = view.displays[0]
        return view.colour, first.screen, f"the object in {labels.light(None)}", first.label
    return view.colour, view.colour, f"the object in {labels.light(None)}", ""


def _approval_card(labels: Labels, approval: ApprovalRecord, number: int) -> Card:
    verdict = approval.verdict
    assert verdict is not None
    name = labels.display(approval.display)
    lead = _lead(verdict, "Is not the approved colour.", "Undecided whether it is the approved colour.")
    advice = "correct the sample towards the approved colour, or have the approval given anew"
    return Card(
        f"approval-{number}",
        approval.name,
        verdict.status,
        page_colour(approval.approved_srgb),
        page_colour(approval.sample_srgb),
        f"approved on {name}",
        approval.sample,
        (Trouble(lead, f"{approval.sample} is {_measure(labels, verdict)}{led(': it is ', approval.words)}."),),
        sentence("; ".join(cures([verdict])) or advice),
        severity(verdict),
    )


def _pair_card(
    result: Result, labels: Labels, pair: PairRecord, number: int, views: dict[str, SampleView]
) -> Card:
    verdict = _worst_of(pair.verdicts)
    light = verdict.light if verdict is not None and verdict.light else result.viewing.light
    left, right = pair_colours(pair, light, views)
    count = sum(entry.status == "fail" for entry in pair.verdicts)
    text = ""
    if verdict is not None:
        words = _words_at(pair.shift, verdict)
        text = f"At worst {_measure(labels, verdict)}{led(': the second is ', words)}."
        text += f" {counted(count, 'figure')} over the limit." if count > 1 else ""
    advice = "let one of the two be coloured with the other's pigments, or keep them apart in that light"
    if verdict is not None and verdict.what == "pair":
        lead = _lead(verdict, "The pair does not match.", "Undecided whether the pair matches.")
        advice = "correct the second towards the first"
    else:
        undecided = pair.status == "undecided"
        lead = "Undecided whether the pair holds together." if undecided else "The pair parts company."
    if pair.status == "undecided":
        advice = "; ".join(cures(pair.verdicts)) or advice
    return Card(
        f"pair-{number}",
        pair.name,
        pair.status,
        left,
        right,
        f"{pair.a}, in {labels.light(light)}",
        pair.b,
        (Trouble(lead, text),),
        sentence(advice),
        severity(verdict) if verdict is not None else (pair.status == "fail", 0.0),
    )


def _whole_cards(result: Result, labels: Labels, views: dict[str, SampleView]) -> list[Card]:
    """A card for every set that does not pass as a whole; its patch shows the worst of the set."""
    found = []
    pairs = {pair.name: pair for pair in result.pairs}
    for view in whole_views(result, labels):
        whole = view.whole
        if whole.status == "pass":
            continue
        where = f" on {view.where}" if whole.display else ""
        worst = views.get(whole.worst_name)
        left = right = "#ffffff"
        words = "", ""
        if whole.worst_name in pairs:
            pair = pairs[whole.worst_name]
            left, right = pair_colours(pair, result.viewing.light, views)
            words = pair.a, pair.b
        elif worst is not None:
            shown = [display for display in worst.displays if display.on.display == whole.display]
            left, right = worst.colour, shown[0].screen if shown else worst.colour
            words = f"{whole.worst_name}, the worst", shown[0].label if shown else ""
        fails = whole.status == "fail"
        lead = f"{'Fails' if fails else 'Undecided'} as a whole{where}."
        advice = "repeat the readings of the set: its doubt is larger than the distance to the limit"
        if fails:
            advice = f"begin with {whole.worst_name}, which is farthest off"
        ratios = [one.figure / one.limit for one in whole.figures if one.status == whole.status and one.limit]
        found.append(
            Card(
                view.anchor,
                f"{view.name}, {counted(whole.count, 'pair' if whole.what == 'pairs' else 'sample')}",
                whole.status,
                left,
                right,
                *words,
                (Trouble(lead, whole_said(view, whole.status)),),
                sentence(advice),
                (fails, max(ratios, default=0.0)),
            )
        )
    return found


def pair_colours(pair: PairRecord, light: str, views: dict[str, SampleView]) -> tuple[str, str]:
    """The page colours of a pair's two samples in ``light``, or in the viewing light if there is no other."""

    def colour(name: str) -> str:
        view = views.get(name)
        if view is None:
            return "#ffffff"
        return next((glow.colour for glow in view.glows if glow.name == light), view.colour)

    return colour(pair.a), colour(pair.b)


def worst_shift(display: DisplayView) -> Shift | None:
    """The largest shift of a sample on a display, or None without any.

    It is the worst verdict where the shifts were judged, else the largest CIEDE2000.
    """
    verdict = verdict_of(display.on.verdicts, "observer_shift")
    if verdict is not None:
        shown, doubt = figure_of(verdict), doubt_of(verdict)
        return Shift(verdict.figure, shown, doubt, verdict.light or "", verdict.observer or "", verdict.status)
    figure = max(display.on.shift, key=lambda entry: entry.de00, default=None)
    if figure is None:
        return None
    return Shift(figure.de00, f"{figure.de00:.1f}", "", figure.light, figure.observer, None)
