"""The recipes of the page: those for one target side by side, so that what parts them is seen at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import page_colour
from screenproof.report import ink_figures
from screenproof.report.sheet import verdict_of
from screenproof.report.words import Labels, against, fixed, led

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screenproof.proof.result import RecipeCard, RecipeRecord, Result

MEDIA = {
    "paint": "opaque paint (Kubelka-Munk, two constants)",
    "film": "a film over its backing (Kubelka-Munk, finite thickness)",
    "cloth": "dyed cloth (Kubelka-Munk, single constant)",
    "inks": "transparent inks (Bouguer, Lambert, Beer)",
}

SHIFT_WORDS = {
    "pair_shift": "pair shift against the target's curve",
    "inconstancy": "the recipe's own shift from light to light, since a screen colour has no curve to part from",
}


@dataclass(frozen=True)
class Moved:
    """How far a recipe moves in one light: the figure, its part of the largest [percent], its verdict."""

    light: str
    text: str
    part: int
    status: str | None


@dataclass(frozen=True)
class CardView:
    """One recipe: ``rows`` are its components as (name, share, amount, litres)."""

    card: RecipeCard
    anchor: str
    name: str
    colour: str
    now: str
    words: str
    now_status: str | None
    moved: tuple[Moved, ...]
    rows: tuple[tuple[str, str, str, str], ...]
    cost: str
    doubt: str
    state: str | None
    figure: str


@dataclass(frozen=True)
class RecipeView:
    """The recipes for a target out of one library."""

    record: RecipeRecord
    anchor: str
    cards: tuple[CardView, ...]
    looked: str
    medium: str
    unit: str
    state: str | None
    batch: str


@dataclass(frozen=True)
class TargetView:
    """All recipes of the job for one target, to be seen side by side over the same lights.

    ``costed``: some of them have a cost. ``free``: the target has no curve, so any metamer will do.
    """

    anchor: str
    name: str
    colour: str
    lab: tuple[float, float, float]
    said: str
    shift_words: str
    lights: tuple[str, ...]
    records: tuple[RecipeView, ...]
    costed: bool
    free: bool

    @property
    def cards(self) -> tuple[tuple[RecipeView, CardView], ...]:
        """Every recipe with the record that it belongs to."""
        return tuple((record, card) for record in self.records for card in record.cards)


def target_views(result: Result, labels: Labels) -> list[TargetView]:
    """The recipes of ``result`` by target, in the order of the job."""
    groups: dict[tuple[str, str, str | None], list[tuple[int, RecipeRecord]]] = {}
    for number, record in enumerate(result.recipes, 1):
        groups.setdefault((record.target_kind, record.target, record.display), []).append((number, record))
    return [_target(labels, place, group) for place, group in enumerate(groups.values(), 1)]


def _target(labels: Labels, place: int, group: Sequence[tuple[int, RecipeRecord]]) -> TargetView:
    first = group[0][1]
    largest = max(
        (shift.de00 for _, record in group for card in record.recipes for shift in card.shifts), default=0.0
    )
    lights = tuple(dict.fromkeys(light for _, record in group for light in record.lights))
    # One height for the curves of a target, so that they compare from card to card.
    ceiling = ink_figures.ceiling(
        [card.reflectance for _, record in group for card in record.recipes],
        [r.target_reflectance for _, r in group],
    )
    records = tuple(_record(labels, number, record, lights, largest, ceiling) for number, record in group)
    if first.target_kind == "approval":
        where = "" if first.display is None else f" on {labels.display(first.display)}"
        said = f"approved{where}"
    else:
        said = "a sample of the job"
    return TargetView(
        f"target-{place}",
        first.target,
        page_colour(first.target_srgb),
        first.target_lab,
        said,
        SHIFT_WORDS[first.shift_kind],
        tuple(labels.light(light) for light in lights),
        records,
        any(card.cost is not None for _, record in group for card in record.recipes),
        all(record.target_reflectance is None for _, record in group),
    )


def _record(
    labels: Labels,
    number: int,
    record: RecipeRecord,
    lights: Sequence[str],
    largest: float,
    ceiling: float,
) -> RecipeView:
    grams = record.batch < 1.0
    cards = tuple(
        _card(labels, record, card, f"recipe-{number}-{place}", place, lights, largest, ceiling, grams)
        for place, card in enumerate(record.recipes, 1)
    )
    return RecipeView(
        record,
        f"recipe-{number}",
        cards,
        _looked(record),
        MEDIA[record.medium],
        "g" if grams else "kg",
        None if record.status == "not judged" else record.status,
        f"{1000 * record.batch:g} g" if grams else f"{record.batch:g} kg",
    )


def _card(
    labels: Labels,
    record: RecipeRecord,
    card: RecipeCard,
    anchor: str,
    place: int,
    lights: Sequence[str],
    largest: float,
    ceiling: float,
    grams: bool,
) -> CardView:
    judged = verdict_of(card.verdicts, "recipe")
    name = f"{record.name}, {place}"
    title = f"Predicted reflectance of recipe {place} of {record.name} for {record.target}"
    title += "" if record.target_reflectance is None else ", over the target's"
    return CardView(
        card,
        anchor,
        name,
        page_colour(card.srgb),
        fixed(card.de00, 2) if judged is None else against(judged.figure, judged.limit, 2),
        led("", card.words),
        None if judged is None else judged.status,
        tuple(_moved(labels, card, light, largest) for light in lights),
        tuple(
            (
                part.name,
                fixed(100 * part.share, 2),
                fixed(1000 * part.amount, 2) if grams else fixed(part.amount, 3),
                "" if part.litres is None else fixed(1000 * part.litres, 1) if grams else fixed(part.litres, 3),
            )
            for part in card.components
        ),
        "" if card.cost is None else fixed(card.cost, 2),
        fixed(card.doubt, 2),
        None if card.status == "not judged" else card.status,
        ink_figures.recipe_figure(card.reflectance, record.target_reflectance, ceiling, title=title),
    )


def _moved(labels: Labels, card: RecipeCard, light: str, largest: float) -> Moved:
    shift = next((shift for shift in card.shifts if shift.light == light), None)
    verdict = next(
        (v for v in card.verdicts if v.light == light and v.what in ("pair_shift", "light_shift")), None
    )
    if shift is None:
        return Moved(labels.light(light), "–", 0, None)
    text = fixed(shift.de00, 1) if verdict is None else against(verdict.figure, verdict.limit)
    part = round(100 * shift.de00 / largest) if largest > 0 else 0
    return Moved(labels.light(light), text, part, None if verdict is None else verdict.status)


def _looked(record: RecipeRecord) -> str:
    """How thoroughly the library was searched, in a sentence."""
    tried = sum(seen for size, seen, _ in record.searched if size > 0)
    every = sum(total for size, _, total in record.searched if size > 0)
    share = "all" if tried == every else f"the most promising {tried:,} of"
    sets = f"{share} {every:,} sets of up to {record.max_components} of its {record.pigments} components"
    return f"Out of {record.library}, {sets} were looked at."
