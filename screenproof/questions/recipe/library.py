"""What a library of pigments, dyes or inks holds, and how well it fits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from screenproof.errors import Note
from screenproof.questions.answer import Answer
from screenproof.questions.ink_names import SurfaceSaid
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.question import AskRecipeLibrary


@dataclass(frozen=True, eq=False, repr=False)
class LibraryAnswer(Answer):
    """The components of a library, one row each, the base last.

    letdowns: how many there were; worst_de00, rms: how far they are from their fit; concentrations: where it is
    good; cost a kg, density kg/l. None where not known.
    """

    schema: ClassVar[str] = "screenproof-recipe-library/2"
    rows_key: ClassVar[str] = "components"

    file: str
    medium: str
    readings: int
    wavelengths: str
    surface: SurfaceSaid
    names: tuple[str, ...] = row("name", ())
    base: tuple[bool, ...] = row(default=())
    kind: tuple[str, ...] = row(default=())
    letdowns: tuple[int | None, ...] = row(default=())
    worst_de00: tuple[float | None, ...] = row(default=())
    rms: tuple[float | None, ...] = row(default=())
    concentrations: tuple[tuple[float, float] | None, ...] = row(default=())
    cost: tuple[float | None, ...] = row(default=())
    density: tuple[float | None, ...] = row(default=())
    notes: tuple[Note, ...] = ()
    library: LibraryFile | None = hidden()

    def heading(self) -> str:
        """Which library, of what."""
        k1, k2 = self.surface.k1, self.surface.k2
        corrected = f", surface k1 {k1:g}, k2 {k2:g}" if k1 or k2 else ""
        return f"{self.file}: {self.medium}, {self.wavelengths}{corrected}"

    def tables(self) -> tuple[Table, ...]:
        """A row a component."""
        columns = [
            Column("component", left=True),
            Column("letdowns"),
            Column("worst fit", 2, key="worst_de00"),
            Column("good at"),
            Column("cost/kg", 2),
            Column("kg/l", 2),
        ]
        rows: list[list[Cell]] = []
        for i, name in enumerate(self.names):
            good = self.concentrations[i]
            rows.append(
                [
                    name + (" (base)" if self.base[i] else ""),
                    self.letdowns[i],
                    self.worst_de00[i],
                    None if good is None else "{:g} to {:g}".format(*good),
                    self.cost[i],
                    self.density[i],
                ]
            )
        legend = "worst fit: the largest CIEDE2000 of a letdown from its fit"
        return (Table.of(columns, rows, legend=legend),)


def library_answer(asked: AskRecipeLibrary, open: Open) -> LibraryAnswer:
    """Each component with its fit, its good range, cost and density."""
    from screenproof.subtractive import Pigment
    from screenproof.subtractive.cautions import recipe_caution

    found = open.library(asked.library)
    base, surface = found.library.base, found.library.surface
    parts = [*found.library.components, *([] if base is None else [base])]
    pigments = [one if isinstance(one, Pigment) else None for one in parts]
    fits = [None if one is None else one.fit for one in pigments]
    return LibraryAnswer(
        file=called(asked.library),
        medium=found.medium,
        readings=found.readings,
        wavelengths=str(found.library.grid),
        surface=SurfaceSaid.of(surface),
        names=tuple(one.name for one in parts),
        base=tuple(one is base for one in parts),
        kind=tuple("ink" if one is None else one.kind for one in pigments),
        letdowns=tuple(None if fit is None else len(fit.concentrations) for fit in fits),
        worst_de00=tuple(None if fit is None else fit.worst for fit in fits),
        rms=tuple(
            None if one is None or fit is None else one.residual for one, fit in zip(pigments, fits, strict=True)
        ),
        concentrations=tuple(None if one is None else one.concentrations for one in pigments),
        cost=tuple(one.cost for one in parts),
        density=tuple(None if one is None else one.density for one in pigments),
        notes=notes_of(found.notes, [recipe_caution()]),
        library=found,
    )
