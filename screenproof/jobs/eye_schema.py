"""The job file's tables of eyes and doubt: observers, the population, instruments, and how it is judged."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from screenproof.jobs.schema_kinds import NotNegative, Positive, Table, Text, refused

Aim = Literal["observer", "population"]
Whites = Literal["shared", "own"]
Number = Annotated[float, Field(allow_inf_nan=False)]
AgeGroup = Annotated[list[Number], Field(min_length=2, max_length=3)]
Readings = Annotated[int, Field(ge=1, le=10_000)]

EYE_KEYS = ("age", "field", "protan", "deutan", "tritan")

DEFAULT_COST = 0.5
"""CIEDE2000 that drive values made for people may cost the viewing observer: half of what can just be seen, and
below the usual limits of a match, so that they do not fail by it."""


class ObserverTable(Table):
    """``[[observers]]``: a standard observer by name, an eye by its age and field, or a camera from a file."""

    name: Text
    file: Text | None = None
    age: Number | None = None
    field: Number | None = None
    protan: Number | None = None
    deutan: Number | None = None
    tritan: Number | None = None

    @property
    def eye(self) -> dict[str, float]:
        """What is said of the eye, by key; empty for a standard observer and a camera."""
        return {key: getattr(self, key) for key in EYE_KEYS if getattr(self, key) is not None}

    @model_validator(mode="after")
    def _eye_or_camera(self) -> ObserverTable:
        if self.file is not None and self.eye:
            keys = " and ".join(self.eye)
            raise refused(f"{keys} beside a file: a camera has none", mend=f"remove {keys}, or the file")
        if "=" in self.name and self.eye:
            raise refused(
                f"the name {self.name!r} says which eye this is, and {' and '.join(self.eye)} beside it again",
                wanted="one or the other",
                mend="give it a name of its own, such as name = 'older client', and age = ... beside it",
            )
        return self


class PopulationTable(Table):
    """``[population]``: the people for whom the job is judged besides its observers."""

    count: Annotated[int, Field(ge=10, le=5000)] = 200
    seed: Annotated[int, Field(ge=0, lt=2**63)] = 1
    ages: Annotated[list[Number | AgeGroup], Field(min_length=1)] = [20.0, 80.0]
    field: Annotated[float, Field(ge=1, le=10, allow_inf_nan=False)] = 2.0
    limit: Positive | None = None
    whites: Whites = "shared"
    aim: Aim = "observer"
    cost: NotNegative | None = None
    label: Text | None = None

    @model_validator(mode="after")
    def _ages_in_order(self) -> PopulationTable:
        plain = [age for age in self.ages if not isinstance(age, list)]
        groups = [age for age in self.ages if isinstance(age, list)]
        if (plain and groups) or (plain and len(plain) != 2) or any(len(group) != 3 for group in groups):
            raise refused(
                f"ages = {self.ages} cannot be read",
                wanted="youngest and oldest, [20, 80], or groups with weights, [[20, 39, 3], [40, 80, 1]]",
                mend="write ages = [20, 80]",
            )
        for low, high in [plain] if plain else [group[:2] for group in groups]:
            if not 20 <= low < high <= 80:
                raise refused(
                    f"ages from {low:g} to {high:g}",
                    wanted="20 to 80 years, the younger first, where the model of CIE 170-1:2006 is defined",
                )
        weights = [group[2] for group in groups]
        if weights and (min(weights) < 0 or sum(weights) <= 0):
            raise refused(f"the weights {weights} of the ages", wanted="numbers of 0 or more, not all of them 0")
        return self

    @model_validator(mode="after")
    def _cost_of_an_aim(self) -> PopulationTable:
        if self.cost is not None and self.aim == "observer":
            raise refused(
                "cost has no effect: the drive values are made for the viewing observer",
                mend='add aim = "population", or remove cost',
            )
        return self


class DoubtTable(Table):
    """``[doubt]``: how verdicts are reached from doubtful figures."""

    risk: Annotated[float, Field(ge=0.001, le=0.25, allow_inf_nan=False)] = 0.05
    coverage: Annotated[float, Field(ge=0.5, le=0.999, allow_inf_nan=False)] = 0.95
    draws: Annotated[int, Field(ge=200, le=1_000_000)] = 2000
    seed: Annotated[int, Field(ge=0, lt=2**63)] = 1


class _InstrumentTable(Table):
    """What both kinds of instruments have; a text alone is the kind."""

    kind: Text | None = None
    id: Text | None = None
    readings: Readings | None = None

    @model_validator(mode="after")
    def _says_something(self) -> _InstrumentTable:
        if not self.model_fields_set:
            raise refused("nothing is said of it", mend='write instrument = "production", or remove it')
        return self

    def figures(self) -> dict[str, float]:
        """What is said in figures, by key, but for the number of readings."""
        plain = ("kind", "id", "readings")
        given = {key: getattr(self, key) for key in type(self).model_fields if key not in plain}
        return {key: value for key, value in given.items() if value is not None}


class ObjectInstrumentTable(_InstrumentTable):
    """``instrument`` of samples: what it was read with, how often, and how well that repeats and agrees."""

    repeatability: NotNegative | None = None
    correlation: NotNegative | None = None
    agreement_scale: NotNegative | None = None
    agreement_zero: NotNegative | None = None
    agreement_wavelength: NotNegative | None = None
    agreement: NotNegative | None = None


class ScreenInstrumentTable(_InstrumentTable):
    """``instrument`` of a display: what it was read with, how often, and how well that repeats and agrees."""

    luminance: NotNegative | None = None
    chromaticity: NotNegative | None = None
    luminance_agreement: NotNegative | None = None
    chromaticity_agreement: NotNegative | None = None
    model: NotNegative | None = None


class WithInstrument(Table):
    """A table with ``instrument``, which may be written as the kind alone: ``instrument = "production"``."""

    @field_validator("instrument", mode="before", check_fields=False)
    @classmethod
    def _kind_alone(cls, value: object) -> object:
        return {"kind": value} if isinstance(value, str) else value
