"""The ink side of a job as it was read: stocks, sets of inks, presses, libraries with their targets."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from screenproof.jobs.ink_schema import InksTable, PressTable, RecipeTable, StockTable

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.subtractive import Ink, Mixture, Press, Surface, TintLimits

Place = tuple[int, int]
"""A sample of the job: its group, and its index there."""


@dataclass(frozen=True, eq=False)
class JobStock:
    """A stock of the job and the sample that it is."""

    table: StockTable
    place: Place

    @property
    def name(self) -> str:
        """Its name in the job."""
        return self.table.name


@dataclass(frozen=True, eq=False)
class JobInks:
    """A set of inks: the inks with the samples that they were measured as, the stocks to print on, and the
    measured overprints, by stock and by the inks in printing order."""

    table: InksTable
    stock: JobStock
    onto: tuple[JobStock, ...]
    inks: tuple[Ink, ...]
    places: tuple[Place, ...]
    surface: Surface
    partners: dict[str, dict[tuple[str, ...], Place]]


@dataclass(frozen=True, eq=False)
class JobPress:
    """A press of the job and the limits that it is asked within; ``samples`` are those that it is judged by."""

    table: PressTable
    press: Press
    limits: TintLimits
    samples: tuple[Place, ...] | None


@dataclass(frozen=True, eq=False)
class JobRecipe:
    """A recipe that is wanted: its library, the mixing model on its ground, and the stock if there is one."""

    table: RecipeTable
    library: LibraryFile
    model: Mixture
    stock: str | None


@dataclass(frozen=True, eq=False)
class InkSide:
    """All that a job has of inks; empty for a job that prints nothing."""

    stocks: tuple[JobStock, ...] = ()
    sets: tuple[JobInks, ...] = ()
    presses: tuple[JobPress, ...] = ()
    recipes: tuple[JobRecipe, ...] = field(default=())

    def __bool__(self) -> bool:
        return bool(self.stocks or self.sets or self.presses or self.recipes)
