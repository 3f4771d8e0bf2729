"""What is asked of recipes: to find them, to correct a batch, to look into a library."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from screenproof.errors import Problem
from screenproof.questions.form import FileLike, LibraryLike, SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, DoubtOptions
from screenproof.questions.parsing import weights_kg
from screenproof.questions.question import Question
from screenproof.questions.recipe.options import (
    LIBRARY,
    GroundOptions,
    LightsOptions,
    MixOptions,
    ScaleOptions,
    TargetOptions,
    mass,
)

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.correct import CorrectionAnswer
    from screenproof.questions.recipe.find import RecipeAnswer
    from screenproof.questions.recipe.library import LibraryAnswer


def _moved(words: str) -> dict[str, str]:
    return {"--target": f"the file of the target stands after the library: screenproof {words} LIBRARY SAMPLES"}


class AskRecipeFind(Question):
    """The best recipes for a sample, or for a colour on a display, out of a library of pigments, dyes or inks.

    Ranked by the difference under the first light, the shift under the others, the number of components, cost. A
    screen's colour has no curve: any of its metamers is allowed, and the recipe that shifts least comes first.
    With --limit each is judged, its own doubt and that of the target's reading counted in.
    """

    name = "recipe find"
    short = "Recipes for a colour."
    example = (
        'screenproof recipe find letdowns.csv lid.csv --name "Lid rose" --components 4 --batch 10kg --to A,FL11'
    )
    doing = "searching"
    writes = "Write the curves: .csv, .cgats, .cxf or .json."
    formerly: ClassVar[dict[str, str]] = _moved("recipe find")

    library: LibraryLike = ask(LIBRARY, positional=True, metavar="LIBRARY")
    target: TargetOptions = group(TargetOptions)
    mix: MixOptions = group(MixOptions)
    scene: LightsOptions = group(LightsOptions)
    ground: GroundOptions = group(GroundOptions)
    tolerance: float = ask("Within this the target counts as reached.", default=1.0, metavar="DE00", above=0)
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """What is said of doubt, and has nothing to act on."""
        yield from self.doubt.idle(self.limit, screen=self.target.display is not None)
        for name in ("instrument", "readings"):
            if self.target.samples is None and getattr(self.doubt, name) is not None:
                yield Problem("no sample takes part", field=name, mend="leave it out")

    def ask(self, open: Open) -> RecipeAnswer:
        """The recipes, best first."""
        from screenproof.questions.recipe.find import recipe_answer

        return recipe_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """Raise InputError when the curves cannot be written there."""
        from screenproof.formats.write import SUFFIXES
        from screenproof.questions.writing import check_suffix, refuse_existing

        check_suffix(out, tuple(SUFFIXES), "a curve")
        refuse_existing(out, _files(self.library, self.target.samples, self.ground.stock_file), force)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write the predicted curves."""
        from screenproof.formats import write_samples
        from screenproof.questions.recipe.find import RecipeAnswer

        assert isinstance(answer, RecipeAnswer) and answer.samples is not None
        return write_samples(answer.samples, out, force=force)


def batch_of(value: Any, here: str, problems: list[Problem]) -> Any:
    """What was weighed, as it is written: the file of a batch, or weights by name."""
    from screenproof.questions.sources import looks_like_file

    if isinstance(value, Path) or (isinstance(value, str) and "=" not in value and looks_like_file(value)):
        return value
    return weights_kg(value, here, problems)


class AskRecipeCorrect(Question):
    """What to add to a batch whose trial was measured, and by how much the batch then grows.

    Nothing can be taken out. Exit code 1 when no addition brings it within the tolerance.
    """

    name = "recipe correct"
    short = "What to add to a batch."
    example = "screenproof recipe correct letdowns.csv lid.csv --batch batch.csv --trial trial.csv --growth 20"
    doing = "correcting"
    formerly: ClassVar[dict[str, str]] = _moved("recipe correct")

    library: LibraryLike = ask(LIBRARY, positional=True, metavar="LIBRARY")
    target: TargetOptions = group(TargetOptions)
    batch: FileLike | dict[str, float] = ask(
        "What was weighed: a file, or White=8.2,Red=310g; kg without a unit.",
        metavar="FILE_OR_AMOUNTS",
        parse=batch_of,
    )
    trial: SamplesLike = ask("The measured trial of that batch.", metavar="SAMPLES")
    trial_name: str | None = ask("The trial in that file, if there are several.", default=None, metavar="NAME")
    scene: LightsOptions = group(LightsOptions)
    ground: GroundOptions = group(GroundOptions)
    cloth: float | None = ask(
        "Mass of the cloth, for dyes.", default=None, metavar="WEIGHT", unit="kg", parse=mass
    )
    allow: tuple[str, ...] = ask("What else may be added.", default=(), metavar="NAME,...", commas=True)
    growth: float | None = ask(
        "The most that the batch may grow; 50 unless given.", default=None, metavar="PERCENT", above=0, unit="%"
    )
    tolerance: float | None = ask(
        "The correction is to come within this; 0.3 unless given.", default=None, metavar="DE00", above=0
    )
    scale: ScaleOptions = group(ScaleOptions)

    def ask(self, open: Open) -> CorrectionAnswer:
        """What to add."""
        from screenproof.questions.recipe.correct import correction_answer

        return correction_answer(self, open)


class AskRecipeLibrary(Question):
    """What a library holds: how well each component's letdowns fit, and at which concentrations it is good."""

    name = "recipe library"
    short = "What a library holds, and how well it fits."
    example = "screenproof recipe library letdowns.csv -o library.json"
    doing = "fitting"
    writes = "Write what was fitted: .json."
    in_job = False

    library: LibraryLike = ask(LIBRARY, positional=True, metavar="LIBRARY")

    def ask(self, open: Open) -> LibraryAnswer:
        """The components of the library."""
        from screenproof.questions.recipe.library import library_answer

        return library_answer(self, open)

    def check_out(self, out: Path, force: bool) -> None:
        """Raise InputError when the library cannot be written there."""
        from screenproof.questions.writing import check_suffix, refuse_existing

        check_suffix(out, (".json",), "a library")
        refuse_existing(out, _files(self.library), force)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write what was fitted."""
        from screenproof.formats import write_beside
        from screenproof.questions.recipe.library import LibraryAnswer

        assert isinstance(answer, LibraryAnswer) and answer.library is not None
        return write_beside(out, answer.library.library.to_json() + "\n", force=force)


def _files(*named: object) -> list[Path]:
    return [Path(one) for one in named if isinstance(one, (str, Path))]
