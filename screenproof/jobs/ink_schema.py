"""The job file's tables of the ink side: stocks, sets of inks, presses, recipes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from screenproof.errors import Problem
from screenproof.questions.form import Form, ask, group
from screenproof.questions.groups import TintOptions, channel_limits
from screenproof.questions.recipe.options import LIBRARY, LayerOptions, MixOptions
from screenproof.questions.tables import exactly_one


class StockTable(Form):
    """``[[stocks]]``: a measured sample that is a bare stock, under a name of its own."""

    name: str = ask("Its name in the job.")
    sample: str = ask("The sample that it is.")
    label: str | None = ask("How the page calls it.", default=None)


class SurfaceTable(Form):
    """``surface`` of a set of inks: Saunderson's k1 and k2, or the refractive index that gives them."""

    k1: float | None = ask("Saunderson's k1, reflected outside.", default=None, at_least=0, at_most=1)
    k2: float | None = ask("Saunderson's k2, thrown back inside.", default=None, at_least=0, at_most=1)
    index: float | None = ask("The refractive index that gives both.", default=None, above=0)
    specular: Literal["included", "excluded"] = ask("Mirror reflection in the readings.", default="excluded")

    def faults(self) -> Iterator[Problem]:
        """Both ways, or none."""
        if (self.index is None) == (self.k1 is None and self.k2 is None):
            said = "nothing is given" if self.index is None else "a refractive index beside k1 or k2"
            mend = "leave surface out to correct nothing"
            yield Problem(said, expected="either k1 and k2, or index", mend=mend)


class OverprintTable(Form):
    """One of ``overprints``: the measured sample of inks on top of each other, in the order of printing."""

    inks: tuple[str, ...] = ask("The inks.", least=2)
    sample: str = ask("The sample that was measured.")
    stock: str | None = ask("The stock, unless it is that of the inks.", default=None)


class InksTable(Form):
    """``[[inks]]``: a set of transparent inks on a stock, for a matrix of their overprints."""

    name: str = ask("Its name in the job.")
    stock: str = ask("The stock on which they were measured.")
    inks: tuple[str, ...] = ask("The samples that are single inks.")
    onto: tuple[str, ...] | None = ask("Other stocks to print them on.", default=None)
    film: dict[str, float] | None = ask("Film weights; 1 is as it was measured.", default=None, above=0)
    surface: SurfaceTable | None = ask("The surface of the print.", default=None)
    overprints: tuple[OverprintTable, ...] | None = ask("Overprints that were measured.", default=None)
    trapping: bool = ask("Whether trapping is fitted to these.", default=False)

    def faults(self) -> Iterator[Problem]:
        """A name that stands twice, or means nothing here."""
        for key in ("inks", "onto"):
            names = getattr(self, key) or ()
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                yield Problem(f"{twice[0]!r} stands twice in {key}", mend="name it once")
                return
        if self.onto and self.stock in self.onto:
            yield Problem(f"onto has {self.stock!r}, which is their own stock", mend="leave it out of onto")
            return
        strange = sorted(set(self.film or {}) - set(self.inks))
        if strange:
            yield Problem(
                f"film has a weight for {strange[0]!r}, which is none of the inks",
                expected=f"one of {', '.join(self.inks)}",
                mend="correct the name",
            )


class PressTable(TintOptions):
    """``[[presses]]``: a press by its JSON, or fitted here to a characterisation."""

    name: str = ask("Its name in the job.")
    file: str = ask("A press as 'press fit' wrote it, or a characterisation.")
    label: str | None = ask("How the page calls it.", default=None)
    n: float | None = ask("Yule-Nielsen factor; found unless given.", default=None, at_least=1, at_most=100)
    channel_limit: dict[str, float] | None = channel_limits("limits")
    approvals: tuple[str, ...] | None = ask(
        "The approvals that it is to print; all unless given.", default=None, least=0
    )
    samples: tuple[str, ...] | None = ask("The samples that it is judged by.", default=None)
    tolerance: str | None = ask("The set that judges it.", default=None)


class RecipeTable(Form):
    """``[[recipes]]``: the best recipes for a sample or an approval, out of a library."""

    name: str = ask("Its name in the job.")
    library: str = ask(LIBRARY)
    sample: str | None = ask("The wanted sample.", default=None)
    approval: str | None = ask("The wanted approval.", default=None)
    mix: MixOptions = group(MixOptions)
    lights: tuple[str, ...] | None = ask("The other lights.", default=None, least=0)
    stock: str | None = ask("The stock of inks, or below a film.", default=None)
    layer: LayerOptions = group(LayerOptions)
    tolerance: str | None = ask("The set that judges it.", default=None)

    def faults(self) -> Iterator[Problem]:
        """Not exactly one target."""
        yield from exactly_one(self, ("sample", "approval"))
