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

if TYPE_CHECKING:
    from screenproof.jobs.ink_side import JobInks, JobStock, Place
    from screenproof.jobs.job import Job
    from screenproof.proof import Viewing
    from screenproof.spectra import Array, Grid
    from screenproof.subtractive import Ink, Trapping

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
        trapping, factors, notes = _trapping(job, inks)
        for stock in (inks.stock, *inks.onto):
            say(f"{inks.table.name} on {stock.name}")
            records.append(_Matrix(job, inks, stock, trapping, factors).record(notes))
    return tuple(records)


def _trapping(job: Job, inks: JobInks) -> tuple[Trapping | None, dict[tuple[str, ...], float], list[Note]]:
    """The factors fitted to the measured overprints on the inks' own stock, where the job asks for them."""
    from screenproof.subtractive import Trapping, fit_trapping

    partners = inks.partners[inks.stock.name]
    known = {parts: place for parts, place in partners.items() if len(parts) > 1}
    if not inks.table.trapping:
        return None, {}, []
    if not known:
        note = Note(
            "odd",
            "trapping was asked for, and no overprint of these inks was measured on their stock",
            about=inks.table.name,
            mend="name the measured overprints in overprints",
        )
        return None, {}, [note]
    trapping, notes = Trapping(), list[Note]()
    factors: dict[tuple[str, ...], float] = {}
    by_name = {ink.name: ink for ink in inks.inks}
    bare = _read(job, inks.stock.place)
    for parts in sorted(known, key=len):
        fit = fit_trapping(
            _read(job, known[parts]),
            bare,
            [by_name[name] for name in parts],
            [_weight(inks, by_name[name]) for name in parts],
            inks.surface,
            trapping,
        )
        trapping = trapping.with_factor(parts, fit.factor)
        factors[parts] = fit.factor
        notes += fit.notes
    return trapping, factors, notes


def _read(job: Job, place: Place) -> Array:
    """The curve (w,) of a sample of the job."""
    values = job.groups[place[0]].samples.reflectance
    assert values is not None
    return np.asarray(values[place[1]])


def _weight(inks: JobInks, ink: Ink) -> float:
    return _weights(inks)[ink.name]


def _weights(inks: JobInks) -> dict[str, float]:
    """Film weights by the inks' own names; the job calls the samples as it refers to them."""
    given = inks.table.film or {}
    return {ink.name: given.get(said, 1.0) for ink, said in zip(inks.inks, inks.table.inks, strict=True)}


@dataclass(frozen=True, eq=False)
class _Matrix:
    """One set of inks on one stock while its record is made."""

    job: Job
    inks: JobInks
    stock: JobStock
    trapping: Trapping | None
    factors: dict[tuple[str, ...], float]

    @property
    def viewing(self) -> Viewing:
        return self.job.viewings[self.stock.place[0]]

    @property
    def grid(self) -> Grid:
        return self.inks.inks[0].grid

    def record(self, notes: Sequence[Note]) -> OverprintRecord:
        from screenproof.subtractive import OVERPRINT_CAUTION

        every = self.inks.inks
        bare = _read(self.job, self.stock.place)
        lab = self._lab(self._xyz(bare))
        own = self.stock is self.inks.stock
        return OverprintRecord(
            name=self.inks.table.name,
            stock=self.stock.name,
            own_stock=self.inks.stock.name,
            stock_lab=triple(lab),
            stock_srgb=triple(page_srgb(self._xyz(bare), self.viewing)),
            inks=tuple(self._ink(ink, place) for ink, place in zip(every, self.inks.places, strict=True)),
            cells=tuple(
                tuple(self._print((first,) if first is top else (first, top)) for top in every) for first in every
            ),
            stacks=tuple(self._print(stack) for stack in self._stacks()),
            light=self.viewing.light.name,
            observer=self.viewing.observer.name,
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
            made = restock(ink, _read(self.job, self.stock.place), self.inks.surface, stock_name=self.stock.name)
            found += [note for note in made.notes if note.kind != "caution" and note not in ink.notes]
        return found

    def _stacks(self) -> list[tuple[Ink, ...]]:
        """Overprints of three inks or more: those that were measured, and all inks of the set together."""
        by_name = {ink.name: ink for ink in self.inks.inks}
        wanted = [parts for parts in self.inks.partners[self.stock.name] if len(parts) >= LEAST_IN_A_STACK]
        every = tuple(by_name)
        if len(every) >= LEAST_IN_A_STACK and every not in wanted:
            wanted.append(every)
        return [tuple(by_name[name] for name in parts) for parts in sorted(wanted, key=len)]

    def _xyz(self, curve: Array) -> Array:
        from screenproof.spectra import weights

        return np.asarray(curve @ weights(self.viewing.light, self.viewing.observer, self.grid))

    def _lab(self, xyz: Array) -> Array:
        from screenproof.appearance import xyz_to_lab

        return xyz_to_lab(xyz, self.viewing.white)

    def _curve(self, inks: Sequence[Ink], trapping: Trapping | None) -> Array:
        from screenproof.subtractive import overprint

        weights = _weights(self.inks)
        return overprint(
            _read(self.job, self.stock.place),
            inks,
            [weights[ink.name] for ink in inks],
            self.inks.surface,
            trapping,
        )

    def _ink(self, ink: Ink, place: Place) -> InkRecord:
        xyz = self._xyz(self._curve([ink], None))
        return InkRecord(
            name=ink.name,
            sample=self.job.name_of(*place),
            film_weight=_weights(self.inks)[ink.name],
            transmittance=curve_record(ink.transmittance, ink.grid),
            doubtful=spans(ink.doubtful, ink.grid),
            xyz=triple(xyz),
            lab=triple(self._lab(xyz)),
            srgb=triple(page_srgb(xyz, self.viewing)),
        )

    def _print(self, inks: Sequence[Ink]) -> PrintRecord:
        from screenproof.appearance import de2000, difference_words, lab_to_lch, xyz_to_uv

        parts = tuple(ink.name for ink in inks)
        curve = self._curve(inks, self.trapping)
        xyz = self._xyz(curve)
        lab = self._lab(xyz)
        made = PrintRecord(
            inks=parts,
            xyz=triple(xyz),
            lab=triple(lab),
            lch=triple(lab_to_lch(lab)),
            uv=pair(xyz_to_uv(xyz)),
            srgb=triple(page_srgb(xyz, self.viewing)),
            curve=curve_record(curve, self.grid),
            trapping=self.factors.get(parts),
        )
        place = self.inks.partners[self.stock.name].get(parts)
        if place is None:
            return made
        measured = _read(self.job, place)
        there_xyz = self._xyz(measured)
        there = self._lab(there_xyz)
        untrapped = None
        if parts in self.factors:
            untrapped = float(de2000(there, self._lab(self._xyz(self._curve(inks, None)))))
        return replace(
            made,
            measured=self.job.name_of(*place),
            measured_lab=triple(there),
            measured_srgb=triple(page_srgb(there_xyz, self.viewing)),
            measured_curve=curve_record(measured, self.grid),
            de00=float(de2000(there, lab)),
            words=difference_words(there, lab),
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
