"""The job file's tables of the ink side: stocks, sets of inks, presses, recipes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screenproof.jobs.schema_kinds import Fraction, NotNegative, Positive, Table, Text, exactly_one, refused

BlackGeneration = Literal["least", "most", "smooth"]
SpecularWord = Literal["included", "excluded"]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
Names = Annotated[list[Text], Field(min_length=1)]
FilmWeights = dict[Text, Positive]
ChannelLimits = dict[Text, Percent]


class StockTable(Table):
    """``[[stocks]]``: a measured sample that is a bare stock, under a name of its own."""

    name: Text
    sample: Text
    label: Text | None = None


class SurfaceTable(Table):
    """``surface`` of a set of inks: Saunderson's k1 and k2, or the refractive index that gives them."""

    k1: Fraction | None = None
    k2: Fraction | None = None
    index: Positive | None = None
    specular: SpecularWord = "excluded"

    @model_validator(mode="after")
    def _one_way(self) -> SurfaceTable:
        if (self.index is None) == (self.k1 is None and self.k2 is None):
            said = "nothing is given" if self.index is None else "a refractive index beside k1 or k2"
            raise refused(said, wanted="either k1 and k2, or index", mend="leave surface out to correct nothing")
        return self


class OverprintTable(Table):
    """One of ``overprints``: the measured sample of inks on top of each other, in the order of printing."""

    inks: Annotated[list[Text], Field(min_length=2)]
    sample: Text
    stock: Text | None = None


class InksTable(Table):
    """``[[inks]]``: a set of transparent inks on a stock, for a matrix of their overprints."""

    name: Text
    stock: Text
    inks: Names
    onto: Names | None = None
    film: FilmWeights | None = None
    surface: SurfaceTable | None = None
    overprints: Annotated[list[OverprintTable], Field(min_length=1)] | None = None
    trapping: bool = False

    @model_validator(mode="after")
    def _each_once(self) -> InksTable:
        for key in ("inks", "onto"):
            names = getattr(self, key) or []
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise refused(f"{twice[0]!r} stands twice in {key}", mend="name it once")
        if self.onto and self.stock in self.onto:
            raise refused(f"onto has {self.stock!r}, which is their own stock", mend="leave it out of onto")
        strange = sorted(set(self.film or {}) - set(self.inks))
        if strange:
            raise refused(
                f"film has a weight for {strange[0]!r}, which is none of the inks",
                wanted=f"one of {', '.join(self.inks)}",
                mend="correct the name",
            )
        return self


class PressTable(Table):
    """``[[presses]]``: a press by its JSON, or fitted here to a characterisation."""

    name: Text
    file: Text
    label: Text | None = None
    n: Annotated[float, Field(ge=1, le=100, allow_inf_nan=False)] | None = None
    total: Positive | None = None
    limits: ChannelLimits | None = None
    black: BlackGeneration = "smooth"
    approvals: list[Text] | None = None
    samples: Names | None = None
    tolerance: Text | None = None


class RecipeTable(Table):
    """``[[recipes]]``: the best recipes for a sample or an approval, out of a library."""

    name: Text
    library: Text
    sample: Text | None = None
    approval: Text | None = None
    components: Annotated[int, Field(ge=1, le=8)] = 4
    batch: Positive = 1.0
    count: Annotated[int, Field(ge=1, le=50)] = 3
    lights: list[Text] | None = None
    stock: Text | None = None
    thickness: Positive | None = None
    film: Positive | None = None
    without: Names | None = None
    resolution: NotNegative = 0.0
    tolerance: Text | None = None

    @model_validator(mode="after")
    def _one_target(self) -> RecipeTable:
        exactly_one(self, ("sample", "approval"))
        return self
