"""The recipes for a colour, best first, with what is to be expected of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from screenproof.errors import Note
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.ink_records import ComponentRecord, Curve, RecipeShift
from screenproof.proof.judged import Judged, Status
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.recipe.cards import judged_recipes, recipe_card, whole_status
from screenproof.questions.recipe.ground import lights_of, mixture_of, without
from screenproof.questions.recipe.target import RecipeTarget, TargetSaid, target_of
from screenproof.questions.telling import called, doubt_lines, doubt_record
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table, figure_text

if TYPE_CHECKING:
    from screenproof.proof.judging import Judge
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.question import AskRecipeFind
    from screenproof.spectra import Samples
    from screenproof.subtractive import RecipeSearch

OWN_DOUBT = (
    "a recipe's own doubt (root mean square CIEDE2000 that the fit of its components leaves open) is in verdicts"
)


@dataclass(frozen=True, eq=False, repr=False)
class RecipeAnswer(AnswerInRows):
    """Recipes for one target, one row each, best first. See :class:`screenproof.subtractive.Recipe`.

    status_: a recipe that passes is enough. samples: the predicted curves. found: the search itself.
    """

    schema: ClassVar[str] = "screenproof-recipe/2"
    rows_key: ClassVar[str] = "recipes"

    library: str
    medium: str
    pigments: int
    stock: str | None
    target: TargetSaid
    light: str
    lights: tuple[str, ...]
    observer: str
    batch: float
    reached: bool
    reason: str | None
    tolerance: float
    searched: tuple[tuple[int, int, int], ...]
    limit: float | None
    doubt_: DoubtRecord | None = maybe()
    components: tuple[tuple[ComponentRecord, ...], ...] = row(default=())
    lab: tuple[Any, ...] = row(default=())
    reflectance: tuple[Curve, ...] = row(default=())
    de00: tuple[float, ...] = row(default=())
    words: tuple[str, ...] = row(default=())
    shifts: tuple[tuple[RecipeShift, ...], ...] = row(default=())
    rms: tuple[float | None, ...] = row(default=())
    cost: tuple[float | None, ...] = row(default=())
    doubt: tuple[float, ...] = row(default=())
    on_front: tuple[bool, ...] = row(default=())
    remarks: tuple[tuple[Note, ...], ...] = row("notes", ())
    statuses: tuple[Status, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    status_: Status = "not judged"
    notes: tuple[Note, ...] = ()
    samples: Samples | None = hidden()
    found: RecipeSearch | None = hidden()

    @property
    def status(self) -> Status:
        """The best that any recipe comes to: one that passes is enough."""
        return self.status_

    def heading(self) -> str:
        """For what, on what, in which lights."""
        lights = f" against {', '.join(self.lights)}" if self.lights else ""
        stock = f" on {self.stock}" if self.stock else ""
        return f"Recipes for {self.target.name}{stock}: light {self.light}{lights}, observer {self.observer}"

    def tables(self) -> tuple[Table, ...]:
        """A row a recipe; then each recipe's components."""
        limited = self.limit is not None
        columns = [
            Column("recipe"),
            Column("CIEDE2000", 2, key="de00"),
            Column("words", left=True),
            *(Column(light, 2) for light in self.lights),
            Column("doubt", 2),
            Column("cost", 2),
            Column("not beaten", key="on_front"),
            *([Column("verdict")] if limited else []),
        ]
        rows: list[list[Cell]] = [
            [
                i + 1,
                self.figures[i][0],
                self.words[i],
                *(one.de00 for one in self.shifts[i]),
                self.doubt[i],
                self.cost[i],
                self.on_front[i],
                *([self.statuses[i]] if limited else []),
            ]
            for i in range(len(self.de00))
        ]
        return (Table.of(columns, rows), *(self._parts(i) for i in range(len(self.de00))))

    def _parts(self, i: int) -> Table:
        """The components of a recipe, with the line above them."""
        shifts = "".join(f", {one.light} {one.de00:.2f}" for one in self.shifts[i])
        cost = "" if self.cost[i] is None else f", cost {self.cost[i]:.2f}"
        words = f" ({self.words[i]})" if self.de00[i] >= 0.05 and self.words[i] else ""
        front = ", not beaten" if self.on_front[i] else ""
        verdict = "" if self.limit is None else f", {self.statuses[i]}"
        title = f"{i + 1}. CIEDE2000 {figure_text(self.figures[i][0])}{words}{shifts}, doubt {self.doubt[i]:.2f}"
        hundred = 1.0 if self.medium == "cloth" else 100.0
        columns = [Column("component", left=True), Column("percent", 3), Column("kg"), Column("litres")]
        rows = [
            [
                part.name,
                hundred * part.share,
                kilograms(part.amount),
                None if part.litres is None else kilograms(part.litres),
            ]
            for part in self.components[i]
        ]
        return Table.of(columns, rows, title=f"{title}{cost}{front}{verdict}")

    def text(self) -> str:
        """Recipes for a terminal: each with its figures, then its components."""
        within = f"within {self.tolerance:g} CIEDE2000"
        lines = [
            self.heading(),
            f"{self.pigments} components in the library, {self.medium}; a batch of {self.batch:g} kg",
            f"Reached {within}." if self.reached else f"NOT reached {within}: {self.reason}.",
        ]
        for table, remarks in zip(self.tables()[1:], self.remarks, strict=True):
            lines += ["", table.title, table.text()]
            lines += [f"   {note.kind}: {note.about or ''}: {note.what}" for note in remarks]
        lines += doubt_lines(self.doubt_, [(f"recipe {i}", own) for i, own in enumerate(self.figures, 1)])
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What is not reached, and what is undecided."""
        from screenproof.questions.recipe.findings import of_recipes

        return of_recipes(self)


def kilograms(value: float) -> str:
    """A weight or volume to what a scale shows."""
    return f"{value:.4f}" if value < 10.0 else f"{value:.3f}"


def recipe_answer(asked: AskRecipeFind, open: Open) -> RecipeAnswer:
    """The best recipes for a target out of a library, with what is to be expected of each."""
    from screenproof.proof import Viewing
    from screenproof.spectra import Samples
    from screenproof.subtractive import search

    found = open.library(asked.library)
    lights, eye = lights_of(asked.scene, open), open.observer(asked.scene.observer)
    wanted = target_of(asked.target, open, Viewing(lights[0], eye), asked.doubt)
    library = without(found, asked.mix.without)
    model, stock = mixture_of(library, asked.ground, open)
    answer = search(
        model,
        wanted.target,
        lights,
        eye,
        components=asked.mix.components,
        batch=asked.mix.batch,
        count=asked.mix.count,
        tolerance=asked.tolerance,
        resolution=asked.mix.scale.resolution,
    )
    judge = open.judge(asked.limit, asked.doubt)
    judged = judged_recipes(judge, answer.recipes, model.grid, wanted)
    cards = [
        recipe_card(one, model.grid, wanted.viewing, own) for one, own in zip(answer.recipes, judged, strict=True)
    ]
    same = ("components", "lab", "reflectance", "de00", "words", "shifts", "rms", "cost", "doubt", "on_front")
    columns: dict[str, Any] = {key: tuple(getattr(card, key) for card in cards) for key in same}
    names = tuple(f"Recipe {place}" for place in range(1, len(cards) + 1))
    return RecipeAnswer(
        library=called(asked.library),
        medium=found.medium,
        pigments=len(library.library.components),
        stock=stock,
        target=wanted.said,
        light=lights[0].name,
        lights=tuple(light.name for light in lights[1:]),
        observer=eye.name,
        batch=asked.mix.batch,
        reached=answer.reached,
        reason=answer.reason,
        tolerance=answer.tolerance,
        searched=answer.searched,
        limit=asked.limit,
        doubt_=_doubt(judge, wanted),
        remarks=tuple(card.notes for card in cards),
        statuses=tuple(card.status for card in cards),
        figures=tuple(judged),
        status_=whole_status([card.status for card in cards]),
        notes=notes_of(open.notes, found.notes, wanted.notes, answer.notes),
        samples=Samples(names, reflectance=np.stack([one.curve for one in answer.recipes]), grid=model.grid),
        found=answer,
        **columns,
    )


def _doubt(judge: Judge, wanted: RecipeTarget) -> DoubtRecord | None:
    """How the recipes were decided; None where nothing is judged."""
    if judge.tolerance is None:
        return None
    rules = judge.decision
    read = doubt_record(judge, wanted.read, wanted.display)
    made = read or DoubtRecord(rules.risk, rules.coverage, rules.draws)
    return replace(made, notes=(*made.notes, OWN_DOUBT))
