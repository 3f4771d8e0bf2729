"""What to add to a batch that is off, and what it then should be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from screenproof.errors import InputError, Note
from screenproof.proof.finding import Finding
from screenproof.proof.ink_records import Curve, RecipeShift
from screenproof.proof.judged import Judged, Status
from screenproof.questions.answer import Answer
from screenproof.questions.ink_names import amounts_of, names_in, one_sample
from screenproof.questions.recipe.find import kilograms
from screenproof.questions.recipe.ground import lights_of, mixture_of, no_component
from screenproof.questions.recipe.target import TargetSaid, of_sample, target_of
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of, row
from screenproof.report.table import Column, Table

if TYPE_CHECKING:
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.question import AskRecipeCorrect
    from screenproof.spectra import Array
    from screenproof.subtractive import Correction, Mixture


@dataclass(frozen=True, eq=False, repr=False)
class CorrectionAnswer(Answer):
    """A batch brought to its target, a row a component, in kg. See :class:`screenproof.subtractive.Correction`."""

    schema: ClassVar[str] = "screenproof-recipe-correct/2"
    rows_key: ClassVar[str] = "components"

    library: str
    medium: str
    stock: str | None
    target: TargetSaid
    trial: TargetSaid
    light: str
    lights: tuple[str, ...]
    observer: str
    names: tuple[str, ...] = row("name", ())
    amount: Array = row(default=())
    effective: Array = row(default=())
    add: Array = row(default=())
    after: Array = row(default=())
    batch: float = 0.0
    added: float = 0.0
    growth: float = 0.0
    de00_before: float = 0.0
    words_before: str = ""
    de00: float = 0.0
    words: str = ""
    shifts: tuple[RecipeShift, ...] = ()
    reflectance: Curve | None = None
    possible: bool = False
    reason: str | None = None
    status_: Status = "not judged"
    judged_: tuple[Judged, ...] = ()
    notes: tuple[Note, ...] = ()
    found: Correction | None = hidden()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """What the batch then should be, against the tolerance."""
        return self.judged_

    def heading(self) -> str:
        """Towards what."""
        return f"Correction towards {self.target.name}: light {self.light}, observer {self.observer}"

    def tables(self) -> tuple[Table, ...]:
        """A row a component."""
        heads = ("put in", "as if", "ADD", "then")
        columns = [Column("component, kg", left=True, key="component"), *(Column(head) for head in heads)]
        amounts = zip(self.amount, self.effective, self.add, self.after, strict=True)
        rows = [[name, *map(kilograms, own)] for name, own in zip(self.names, amounts, strict=True)]
        return (Table.of(columns, rows),)

    def text(self) -> str:
        """What to add, for a terminal."""
        words = f" ({self.words_before})" if self.words_before else ""
        lines = [self.heading(), f"The trial is {self.de00_before:.2f} CIEDE2000 off{words}."]
        if not self.possible:
            lines.append(f"NOT mended: {self.reason}.")
        elif self.added > 0.0:
            lines.append(
                f"Add {kilograms(self.added)} kg, the batch grows by {100.0 * self.growth:.1f} %; "
                f"it should then be {self.de00:.2f} off."
            )
        else:
            lines.append("Add nothing.")
        if self.possible:
            lines += [f"{one.says} {one.do[:1].upper()}{one.do[1:]}." for one in self.findings()]
        lines += ["", self.tables()[0].text()]
        shifts = ", ".join(f"{one.light} {one.de00:.2f}" for one in self.shifts)
        lines += ["", f"in other lights then, CIEDE2000: {shifts}"] if shifts else []
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """What no addition mends, or the scale is too coarse for."""
        from screenproof.questions.recipe.findings import of_correction

        return of_correction(self)


def correction_answer(asked: AskRecipeCorrect, open: Open) -> CorrectionAnswer:
    """What to add to a batch that was mixed and measured."""
    from screenproof.proof import Viewing
    from screenproof.subtractive import correct_batch
    from screenproof.subtractive.correct import MOST_GROWTH, TOLERANCE

    found = open.library(asked.library)
    lights, eye = lights_of(asked.scene, open), open.observer(asked.scene.observer)
    viewing = Viewing(lights[0], eye)
    wanted = target_of(asked.target, open, viewing)
    model, stock = mixture_of(found, asked.ground, open)
    amounts, more = _amounts(asked, open, model)
    trial = of_sample(one_sample(open.samples(asked.trial), asked.trial_name, "trial_name"), viewing)
    tolerance = TOLERANCE if asked.tolerance is None else asked.tolerance
    answer = correct_batch(
        model,
        amounts,
        trial.target,
        wanted.target,
        lights,
        eye,
        batch=asked.cloth,
        allow=names_in(asked.allow, model.names, "allow", no_component) if asked.allow else (),
        tolerance=tolerance,
        most_growth=MOST_GROWTH if asked.growth is None else asked.growth / 100.0,
        resolution=asked.scale.resolution,
    )
    judged = open.judge(tolerance).plain("recipe", answer.de00, light=lights[0].name, observer=eye.name)
    return CorrectionAnswer(
        library=called(asked.library),
        medium=found.medium,
        stock=stock,
        target=wanted.said,
        trial=trial.said,
        light=lights[0].name,
        lights=tuple(light.name for light in lights[1:]),
        observer=eye.name,
        names=answer.components,
        amount=answer.amounts,
        effective=answer.effective,
        add=answer.add,
        after=answer.after,
        batch=float(answer.amounts.sum()),
        added=float(answer.add.sum()),
        growth=answer.growth,
        de00_before=answer.de00_before,
        words_before=answer.words_before,
        de00=answer.de00,
        words=answer.words,
        shifts=tuple(RecipeShift(light, shift) for light, shift in answer.shifts),
        reflectance=Curve.of(answer.curve, model.grid),
        possible=answer.possible,
        reason=answer.reason,
        status_=judged.status,
        judged_=(judged,),
        notes=notes_of(open.notes, found.notes, wanted.notes, trial.notes, more, answer.notes),
        found=answer,
    )


def _amounts(asked: AskRecipeCorrect, open: Open, model: Mixture) -> tuple[dict[str, float], tuple[Note, ...]]:
    """What was weighed [kg], by name, and what is to be said of it."""
    from screenproof.formats import read_batch
    from screenproof.questions.sources import existing_file

    given: Any = asked.batch
    if isinstance(given, dict):
        return amounts_of(given, model.names, "batch"), ()
    read = read_batch(existing_file(str(given), open.folder))
    unknown = [name for name in read.amounts if name not in model.names]
    if unknown:
        raise InputError(no_component(name, model.names, "component", read.source) for name in unknown)
    return read.amounts, read.notes
