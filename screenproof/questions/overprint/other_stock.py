"""Inks carried from the stock on which they were measured to another one, with an underprint if there is one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.errors import InputError, Note, bad
from screenproof.questions.answer import Answer
from screenproof.questions.ink_names import SurfaceSaid, amounts_of, names_in, one_sample, surface_of
from screenproof.questions.overprint.printing import SeenCurve, curve_of, curves_as_samples, inks_of, spectral
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.questions.form import SamplesLike
    from screenproof.questions.opening import Open
    from screenproof.questions.overprint.question import AskOtherStock
    from screenproof.spectra import Array, Samples
    from screenproof.subtractive import OpaqueFilm, Surface


@dataclass(frozen=True, eq=False, repr=False)
class OtherStockAnswer(Answer):
    """Inks on another stock, one row each: XYZ and Lab (n, 3), reflectance (n, w) at ``wavelengths`` [nm].

    ground_lab: (n, 3) of the bare ground; doubtful, spread: (n, w), where the transmittance came from too little
    light, and the standard deviation of the curve; was_lab: (n, 3) on the first stock; de00, words: how far and
    how the ink changes. samples: the curves, as they are written.
    """

    schema: ClassVar[str] = "screenproof-other-stock/2"

    file: str
    stock: str
    onto: str
    underprint: str | None
    light: str
    observer: str
    surface: SurfaceSaid
    wavelengths: Array
    names: tuple[str, ...] = row("name", ())
    ink: tuple[str, ...] = row(default=())
    xyz: Array = row(default=())
    lab: Array = row(default=())
    reflectance: Array = row(default=())
    ground_lab: Array = row(default=())
    doubtful: NDArray[np.bool_] = row(default=())
    spread: Array = row(default=())
    was_lab: Array = row(default=())
    de00: Array = row(default=())
    words: tuple[str, ...] = row(default=())
    notes: tuple[Note, ...] = ()
    samples: Samples | None = hidden()

    def heading(self) -> str:
        """From where to where, in which light."""
        white = f", over {self.underprint}" if self.underprint else ""
        where = f"light {self.light}, observer {self.observer}, {self.surface.words()}"
        return f"From {self.stock} to {self.onto}{white}: {where}"

    def tables(self) -> tuple[Table, ...]:
        """A row an ink."""
        axes = ("l", "a", "b")
        columns = [
            Column("ink", left=True),
            *(Column(head, 2, key=f"was_{k}") for head, k in zip(("was L*", "a*", "b*"), axes, strict=True)),
            *(Column(head, 2, key=f"lab_{k}") for head, k in zip(("becomes L*", "a*", "b*"), axes, strict=True)),
            Column("CIEDE2000", 2, key="de00"),
            Column("it becomes", left=True),
        ]
        rows: list[list[Cell]] = [
            [
                self.ink[i],
                *(float(value) for value in self.was_lab[i]),
                *(float(value) for value in self.lab[i]),
                float(self.de00[i]),
                self.words[i],
            ]
            for i in range(len(self.names))
        ]
        return (Table.of(columns, rows),)


def other_stock_answer(asked: AskOtherStock, open: Open) -> OtherStockAnswer:
    """Each ink on the other stock. Raises InputError for names that cannot be, and as the inks do."""
    from screenproof.proof import Viewing
    from screenproof.subtractive import restock

    samples = open.samples(asked.samples)
    surface = surface_of(asked.surface)
    viewing = Viewing(open.light(asked.scene.light), open.observer(asked.scene.observer))
    spectral(samples, "an ink on another stock")
    one_sample(samples, asked.stock, "stock")
    names = names_in(asked.ink, samples.names, "ink")
    film = amounts_of(asked.film, names, "film")
    others = samples if asked.onto_file is None else open.samples(asked.onto_file)
    ground, grid = spectral(one_sample(others, asked.onto, "onto"), "a stock")
    below = [] if asked.underprint is None else [underprint_of(asked.underprint, surface, open)]
    weight = None if asked.underprint_weight is None else [asked.underprint_weight]
    inks = inks_of(samples, names, asked.stock, surface)
    found = [
        restock(
            ink, ground[0], surface, stock_name=asked.onto, film_weight=film.get(ink.name, 1.0), underprint=below,
            underprint_weights=weight, stock_grid=grid,
        )
        for ink in inks
    ]  # fmt: skip
    here = [SeenCurve.of(one.curve, grid, viewing) for one in found]
    was = [SeenCurve.of(curve_of(samples, ink.name), grid, viewing) for ink in inks]
    apart = [old.apart(new) for old, new in zip(was, here, strict=True)]
    titles = tuple(f"{ink.name} on {asked.onto}" for ink in inks)
    return OtherStockAnswer(
        file=called(asked.samples),
        stock=asked.stock,
        onto=asked.onto,
        underprint=None if asked.underprint is None else called(asked.underprint),
        light=viewing.light.name,
        observer=viewing.observer.name,
        surface=SurfaceSaid.of(surface),
        wavelengths=grid.wavelengths,
        names=titles,
        ink=tuple(names),
        xyz=np.stack([one.xyz for one in here]),
        lab=np.stack([one.lab for one in here]),
        reflectance=np.stack([one.curve for one in here]),
        ground_lab=np.stack([SeenCurve.of(one.ground, grid, viewing).lab for one in found]),
        doubtful=np.stack([one.doubtful for one in found]),
        spread=np.stack([one.spread for one in found]),
        was_lab=np.stack([one.lab for one in was]),
        de00=np.array([de00 for de00, _ in apart]),
        words=tuple(words for _, words in apart),
        notes=notes_of(open.notes, samples.notes, *(one.notes for one in found)),
        samples=curves_as_samples(titles, [one.curve for one in found], samples),
    )


def underprint_of(named: SamplesLike, surface: Surface, open: Open) -> OpaqueFilm:
    """A white underprint from four samples: it over black and over white, and the bare cards.

    The samples are known by their names: '... over black', '... over white', 'black ...' and 'white ...'.
    """
    from screenproof.subtractive import OpaqueFilm

    samples = open.samples(named)
    curves, grid = spectral(samples, "an underprint")
    kinds = ("over black", "over white", "black", "white")
    found: dict[str, list[int]] = {kind: [] for kind in kinds}
    for i, name in enumerate(samples.names):
        kind = next((kind for kind in kinds if kind in name.lower()), None)
        if kind is not None:
            found[kind].append(i)
    wrong = [kind for kind in kinds if len(found[kind]) != 1]
    if wrong:
        raise bad(
            f"{len(found[wrong[0]])} samples are '{wrong[0]}' by their names",
            file=samples.source,
            expected="four samples: the film 'over black' and 'over white', and the bare 'black' and 'white'",
            mend="name them so",
        )
    over_black, over_white, black, white = (curves[found[kind][0]] for kind in kinds)
    try:
        return OpaqueFilm.from_drawdowns(over_black, over_white, black, white, grid, surface)
    except InputError as error:
        raise InputError(replace(p, file=p.file or samples.source) for p in error.problems) from None
