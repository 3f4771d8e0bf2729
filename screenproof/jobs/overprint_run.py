"""The job's stocks and overprint matrices as records of a result."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note
from screenproof.jobs.records import pair, renamed_notes, triple
from screenproof.proof import page_srgb, wanted_of_samples
from screenproof.proof.ink_records import Curve, InkRecord, OverprintRecord, PrintRecord, StockRecord
from screenproof.questions.overprint.printing import InksOnStock, Parts

if TYPE_CHECKING:
    from screenproof.jobs.ink_side import JobInks, JobStock, Place
    from screenproof.jobs.job import Job
    from screenproof.spectra import Array, Grid
    from screenproof.subtractive import Ink

LEAST_IN_A_STACK = 3


def stock_records(job: Job) -> tuple[StockRecord, ...]:
    """The stocks of the job under the viewing light."""
    from screenproof.appearance import lab_to_xyz, xyz_to_uv

    records = []
    for stock in job.ink.stocks:
        g, i = stock.place
        viewing, samples = job.viewings[g], job.groups[g].samples.select([i])
        lab = wanted_of_samples(samples, viewing)[0]
        xyz = np.asarray(lab_to_xyz(lab, viewing.white))
        curve = None
        if samples.reflectance is not None and samples.grid is not None:
            curve = curve_record(samples.reflectance[0], samples.grid)
        records.append(
            StockRecord(
                stock.name,
                stock.table.label or stock.name,
                job.name_of(g, i),
                triple(xyz),
                triple(lab),
                pair(xyz_to_uv(xyz)),
                triple(page_srgb(xyz, viewing)),
                curve,
            )
        )
    return tuple(records)


def curve_record(values: Array, grid: Grid) -> Curve:
    """A curve (w,) as a record."""
    return Curve(tuple(float(x) for x in grid.wavelengths), tuple(float(x) for x in values))


def overprint_records(job: Job, say: Callable[[str], None]) -> tuple[OverprintRecord, ...]:
    """A matrix for each set of inks on each of its stocks, its own first."""
    records = []
    for inks in job.ink.sets:
        own, factors, notes = _trapped(job, inks)
        for stock in (inks.stock, *inks.onto):
            say(f"{inks.table.name} on {stock.name}")
            bare, viewing = _read(job, stock.place), job.viewings[stock.place[0]]
            on = replace(own, stock=bare, viewing=viewing)
            records.append(_Matrix(job, inks, stock, on, factors).record(notes))
    return tuple(records)


def _trapped(job: Job, inks: JobInks) -> tuple[InksOnStock, dict[Parts, float], list[Note]]:
    """The inks on their own stock, with trapping fitted to what was measured there where the job asks for it."""
    given = inks.table.film or {}
    # The job calls the samples as it refers to them; here the inks have their own names.
    film = {ink.name: given.get(said, 1.0) for ink, said in zip(inks.inks, inks.table.inks, strict=True)}
    bare, viewing = _read(job, inks.stock.place), job.viewings[inks.stock.place[0]]
    on = InksOnStock(bare, inks.inks, film, inks.surface, viewing)
    if not inks.table.trapping:
        return on, {}, []
    known = {parts: place for parts, place in inks.partners[inks.stock.name].items() if len(parts) > 1}
    if not known:
        note = Note(
            "odd",
            "trapping was asked for, and no overprint of these inks was measured on their stock",
            about=inks.table.name,
            mend="name the measured overprints in overprints",
        )
        return on, {}, [note]
    on, fits = on.trapped({parts: _read(job, place) for parts, place in known.items()})
    return on, {fit.inks: fit.factor for fit in fits}, [note for fit in fits for note in fit.notes]


def _read(job: Job, place: Place) -> Array:
    """The curve (w,) of a sample of the job."""
    values = job.groups[place[0]].samples.reflectance
    assert values is not None
    return np.asarray(values[place[1]])


@dataclass(frozen=True, eq=False)
class _Matrix:
    """One set of inks on one stock while its record is made."""

    job: Job
    inks: JobInks
    stock: JobStock
    on: InksOnStock
    factors: dict[Parts, float]

    def record(self, notes: Sequence[Note]) -> OverprintRecord:
        from screenproof.subtractive import OVERPRINT_CAUTION

        every, viewing = self.inks.inks, self.on.viewing
        names = [ink.name for ink in every]
        bare = self.on.seen(self.on.stock)
        own = self.stock is self.inks.stock
        return OverprintRecord(
            name=self.inks.table.name,
            stock=self.stock.name,
            own_stock=self.inks.stock.name,
            stock_lab=triple(bare.lab),
            stock_srgb=triple(page_srgb(bare.xyz, viewing)),
            inks=tuple(self._ink(ink, place) for ink, place in zip(every, self.inks.places, strict=True)),
            cells=tuple(
                tuple(self._print((first,) if first == top else (first, top)) for top in names) for first in names
            ),
            stacks=tuple(self._print(stack) for stack in self._stacks()),
            light=viewing.light.name,
            observer=viewing.observer.name,
            k1=self.inks.surface.k1,
            k2=self.inks.surface.k2,
            specular=self.inks.surface.specular,
            caution=OVERPRINT_CAUTION,
            notes=renamed_notes(
                dict.fromkeys(
                    [*(note for ink in every for note in ink.notes), *notes, *([] if own else self._carried())]
                ),
                self.job,
            ),
        )

    def _carried(self) -> list[Note]:
        """What is to be said of inks on a stock on which they were not measured."""
        from screenproof.subtractive import restock

        found = []
        for ink in self.inks.inks:
            made = restock(ink, self.on.stock, self.inks.surface, stock_name=self.stock.name)
            found += [note for note in made.notes if note.kind != "caution" and note not in ink.notes]
        return found

    def _stacks(self) -> list[Parts]:
        """Overprints of three inks or more: those that were measured, and all inks of the set together."""
        wanted = [parts for parts in self.inks.partners[self.stock.name] if len(parts) >= LEAST_IN_A_STACK]
        every = tuple(ink.name for ink in self.inks.inks)
        if len(every) >= LEAST_IN_A_STACK and every not in wanted:
            wanted.append(every)
        return sorted(wanted, key=len)

    def _ink(self, ink: Ink, place: Place) -> InkRecord:
        alone = self.on.printed((ink.name,))
        return InkRecord(
            name=ink.name,
            sample=self.job.name_of(*place),
            film_weight=self.on.film[ink.name],
            transmittance=curve_record(ink.transmittance, ink.grid),
            doubtful=spans(ink.doubtful, ink.grid),
            xyz=triple(alone.xyz),
            lab=triple(alone.lab),
            srgb=triple(page_srgb(alone.xyz, self.on.viewing)),
        )

    def _print(self, parts: Parts) -> PrintRecord:
        from screenproof.appearance import lab_to_lch, xyz_to_uv

        grid, viewing = self.on.grid, self.on.viewing
        here = self.on.printed(parts)
        made = PrintRecord(
            inks=parts,
            xyz=triple(here.xyz),
            lab=triple(here.lab),
            lch=triple(lab_to_lch(here.lab)),
            uv=pair(xyz_to_uv(here.xyz)),
            srgb=triple(page_srgb(here.xyz, viewing)),
            curve=curve_record(here.curve, grid),
            trapping=self.factors.get(parts),
        )
        place = self.inks.partners[self.stock.name].get(parts)
        if place is None:
            return made
        there = self.on.seen(_read(self.job, place))
        de00, words = there.apart(here)
        untrapped = None
        if parts in self.factors:
            untrapped, _ = there.apart(replace(self.on, trapping=None).printed(parts))
        return replace(
            made,
            measured=self.job.name_of(*place),
            measured_lab=triple(there.lab),
            measured_srgb=triple(page_srgb(there.xyz, viewing)),
            measured_curve=curve_record(there.curve, grid),
            de00=de00,
            words=words,
            de00_untrapped=untrapped,
        )


def spans(marked: ArrayLike, grid: Grid) -> tuple[tuple[float, float], ...]:
    """Runs of marked bands (w,) as pairs of wavelengths [nm], first and last."""
    found: list[tuple[float, float]] = []
    start: float | None = None
    last = 0.0
    for nm, on in zip(grid.wavelengths.tolist(), np.asarray(marked, dtype=bool).tolist(), strict=True):
        if on:
            start, last = (nm if start is None else start), nm
        elif start is not None:
            found.append((start, last))
            start = None
    return tuple(found if start is None else [*found, (start, last)])
