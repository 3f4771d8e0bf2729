"""What needs attention, as cards: the findings of one thing, with the patch that shows the trouble.

The patch has the two colours that should be alike, in the light where they are least so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import page_colour, sentence
from screenproof.report.doubt import cures
from screenproof.report.findings.told import Told, worst_of
from screenproof.report.sheet import SampleView
from screenproof.report.words import Labels

if TYPE_CHECKING:
    from screenproof.proof.judged import Judged
    from screenproof.proof.result import PairRecord, Result
    from screenproof.report.inks import ReachView

Halves = tuple[str, str, str, str]
"""The two colours of a patch, and what each of them is."""


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
    troubles: tuple[Told, ...]
    advice: str


def cards(
    result: Result,
    labels: Labels,
    found: Sequence[Told],
    views: Sequence[SampleView],
    wanted: Sequence[ReachView],
) -> list[Card]:
    """The cards of ``result``, the worst first: one for all findings of one place."""
    by_anchor: dict[str, list[Told]] = {}
    for one in found:
        if one.trouble:
            by_anchor.setdefault(one.anchor, []).append(one)
    patches = _Patches(result, labels, {view.anchor: view for view in views}, {v.anchor: v for v in wanted})
    return [_card(patches, anchor, mine) for anchor, mine in by_anchor.items()]


def _card(patches: _Patches, anchor: str, mine: Sequence[Told]) -> Card:
    first = mine[0]
    advice = [one.do for one in mine if not one.unsure]
    # Of several that ask for readings of the same things, the one that asks for most is enough for all.
    advice += cures([verdict for one in mine for verdict in one.unsure])
    status = "not judged" if first.judged is None else first.judged.status
    halves = patches.of(anchor, first)
    return Card(
        anchor, first.title, status, *halves, tuple(mine), sentence("; ".join(dict.fromkeys(filter(None, advice))))
    )


@dataclass(frozen=True)
class _Patches:
    """Chooses the two colours that show a trouble."""

    result: Result
    labels: Labels
    samples: Mapping[str, SampleView]
    wanted: Mapping[str, ReachView]

    def of(self, anchor: str, finding: Told) -> Halves:
        """The patch of the thing at ``anchor``, of which ``finding`` is the worst."""
        kind, _, place = anchor.partition("-")
        index = int(place) - 1
        if kind == "sample":
            return self._sample(self.samples[anchor])
        if kind == "approval":
            approval = self.result.approvals[index]
            colours = page_colour(approval.approved_srgb), page_colour(approval.sample_srgb)
            return *colours, f"approved on {self.labels.display(approval.display)}", approval.sample
        if kind == "pair":
            return self._pair(self.result.pairs[index], finding.judged)
        if kind == "whole":
            return self._whole(index)
        if kind == "reach":
            view = self.wanted[anchor]
            display = view.record.display
            where = f"approved on {self.labels.display(display)}" if display else "wanted"
            return view.wanted, view.nearest, where, f"the nearest on {view.press}"
        record = self.result.recipes[index]
        target, made = page_colour(record.target_srgb), [page_colour(card.srgb) for card in record.recipes[:1]]
        return target, *(made or [target]), "the target", "the recipe, predicted" if made else "no recipe"  # type: ignore[return-value]

    def _sample(self, view: SampleView) -> Halves:
        labels, colours = self.labels, {glow.name: glow for glow in view.glows}
        alone = worst_of(view.sample.verdicts)
        found = [(verdict, shown) for shown in view.displays if (verdict := worst_of(shown.on.verdicts))]
        if found:
            verdict, shown = max(found, key=lambda entry: entry[0].severity)
            if alone is None or verdict.severity >= alone.severity:
                light = verdict.light if verdict.what == "observer_shift" and verdict.light in colours else None
                glow = colours.get(light or self.result.viewing.light)
                left = glow.colour if glow else view.colour
                return left, shown.screen, f"the object in {labels.light(light)}", shown.label
        if alone is not None and alone.light in colours:
            there = labels.light(alone.light)
            # What is compared with stands right, as a screen does.
            return colours[alone.light].colour, view.colour, f"in {there}", f"in {labels.light(None)}"
        return view.colour, view.colour, f"the object in {labels.light(None)}", ""

    def _pair(self, pair: PairRecord, verdict: Judged | None) -> Halves:
        light = verdict.light if verdict is not None and verdict.light else self.result.viewing.light
        colours = pair_colours(pair, light, {view.sample.name: view for view in self.samples.values()})
        return *colours, f"{pair.a}, in {self.labels.light(light)}", pair.b

    def _whole(self, index: int) -> Halves:
        """The worst of a set."""
        whole = self.result.wholes[index]
        views = {view.sample.name: view for view in self.samples.values()}
        for pair in self.result.pairs:
            if pair.name == whole.worst_name:
                return *pair_colours(pair, self.result.viewing.light, views), pair.a, pair.b
        worst = views.get(whole.worst_name)
        if worst is None:
            return "#ffffff", "#ffffff", "", ""
        shown = next((one for one in worst.displays if one.on.display == whole.display), None)
        right = (shown.screen, shown.label) if shown is not None else (worst.colour, "")
        return worst.colour, right[0], f"{whole.worst_name}, the worst", right[1]


def pair_colours(pair: PairRecord, light: str, views: Mapping[str, SampleView]) -> tuple[str, str]:
    """The page colours of a pair's two samples in ``light``, or in the viewing light if there is no other."""

    def colour(name: str) -> str:
        view = views.get(name)
        if view is None:
            return "#ffffff"
        return next((glow.colour for glow in view.glows if glow.name == light), view.colour)

    return colour(pair.a), colour(pair.b)
