"""The stocks, inks, presses and libraries of a job, read from what its tables name.

As in :mod:`.inputs`, what cannot be read is written down and left out, and a table that refers to it is not
blamed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import bad
from screenproof.jobs.ink_schema import InksTable, PressTable, RecipeTable, StockTable, SurfaceTable
from screenproof.jobs.ink_side import InkSide, JobInks, JobPress, JobRecipe, JobStock, Place
from screenproof.jobs.job import SampleGroup, find_samples
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.reading import Reading
from screenproof.jobs.references import known_sample, missing
from screenproof.questions.overprint.printing import parts_of
from screenproof.questions.presses import tint_limits
from screenproof.questions.recipe.ground import mixture, without
from screenproof.questions.sources import open_library, open_press

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.proof.tolerance import ToleranceSet
    from screenproof.spectra import Array, Grid, Light
    from screenproof.subtractive import Ink, Mixture, Press, Surface


def read_ink_side(
    reading: Reading,
    lists: Mapping[str, list[Any]],
    groups: Sequence[SampleGroup | None],
    lights: Mapping[str, Light],
    tolerances: Mapping[str, ToleranceSet] | None,
) -> InkSide:
    """All tables of the ink side with what they name. Mistakes are written down in ``reading``."""
    if not any(lists[name] for name in ("stocks", "inks", "presses", "recipes")):
        return InkSide()
    known = tuple(group for group in groups if group is not None)
    # Where a file of samples could not be read, a name that is not found may have been in it.
    whole = len(known) == len(groups)
    state = _State(reading, known, whole, [group.samples.is_spectral for group in known], tolerances)
    stocks = [_stock(state, index, table) for index, table in enumerate(lists["stocks"])]
    by_name = {stock.name: stock for stock in stocks if stock is not None}
    every = None not in stocks
    sets = [_inks(state, index, table, by_name, every) for index, table in enumerate(lists["inks"])]
    presses = [
        _press(state, index, table, lists["lights"], lists["approvals"])
        for index, table in enumerate(lists["presses"])
    ]
    recipes = [
        _recipe(state, index, table, by_name, every, lists["approvals"], lights)
        for index, table in enumerate(lists["recipes"])
    ]
    return InkSide(
        tuple(one for one in stocks if one is not None),
        tuple(one for one in sets if one is not None),
        tuple(one for one in presses if one is not None),
        tuple(one for one in recipes if one is not None),
    )


class _State:
    """What the readers of this module share."""

    def __init__(
        self,
        reading: Reading,
        groups: tuple[SampleGroup, ...],
        whole: bool,
        spectral: list[bool],
        tolerances: Mapping[str, ToleranceSet] | None,
    ) -> None:
        self.reading, self.groups, self.whole = reading, groups, whole
        self.spectral, self.tolerances = spectral, tolerances

    def sample(self, name: str, path: KeyPath, prefer: int | None = None) -> Place | None:
        """The sample of that name, that of the group ``prefer`` where several have it; None, and a problem,
        else."""
        found = find_samples(self.groups, name)
        if prefer is not None:
            found = [place for place in found if place[0] == prefer] or found
        if len(found) == 1:
            return found[0]
        if self.whole:
            known_sample(self.reading, path, name, self.groups)
        return None

    def curve(self, place: Place) -> tuple[Array, Grid]:
        """The curve (w,) of a sample. Raises InputError for one of XYZ or Lab."""
        samples = self.groups[place[0]].samples
        if samples.reflectance is None or samples.grid is None:
            raise bad(
                f"only XYZ or Lab are known of {samples.names[place[1]]!r}",
                file=samples.source or None,
                expected="reflectance curves: inks are calculated band by band",
                mend="export the curves of the measurement",
            )
        return np.asarray(samples.reflectance[place[1]]), samples.grid

    def tolerance(self, name: str | None, path: KeyPath) -> None:
        """Write down a tolerance set that the job does not have."""
        if name is not None and self.tolerances is not None and name not in self.tolerances:
            missing(self.reading, path, "tolerance set", name, list(self.tolerances))


def _stock(state: _State, index: int, table: StockTable | None) -> JobStock | None:
    if table is None:
        return None
    place = state.sample(table.sample, ("stocks", index, "sample"))
    return None if place is None else JobStock(table, place)


def _named_stock(
    state: _State, name: str, path: KeyPath, stocks: Mapping[str, JobStock], every: bool
) -> JobStock | None:
    if name not in stocks and every:
        missing(state.reading, path, "stock", name, list(stocks))
    return stocks.get(name)


def _inks(
    state: _State, index: int, table: InksTable | None, stocks: Mapping[str, JobStock], every: bool
) -> JobInks | None:
    if table is None:
        return None
    before = len(state.reading.problems)
    path: KeyPath = ("inks", index)
    stock = _named_stock(state, table.stock, (*path, "stock"), stocks, every)
    onto = [
        _named_stock(state, name, (*path, "onto", place), stocks, every)
        for place, name in enumerate(table.onto or [])
    ]
    if stock is None:
        return None
    places = [state.sample(name, (*path, "inks", place), stock.place[0]) for place, name in enumerate(table.inks)]
    surface = state.reading.attempt((*path, "surface"), partial(_surface, table.surface))
    if len(state.reading.problems) > before or surface is None or None in places or None in onto:
        return None
    named = [one for one in places if one is not None]
    grounds = [one for one in onto if one is not None]
    inks = [
        state.reading.attempt((*path, "inks", i), partial(_ink, state, place, stock, surface))
        for i, place in enumerate(named)
    ]
    for i, ground in enumerate(grounds):
        state.reading.attempt((*path, "onto", i), partial(_same_grid, state, stock, ground))
    if None in inks:
        return None
    made = tuple(ink for ink in inks if ink is not None)
    if len({ink.name for ink in made}) < len(made):
        state.reading.problem(
            "two of the inks have one name", (*path, "inks"), mend="give the samples unlike names"
        )
        return None
    partners = _partners(state, index, table, stock, grounds, made)
    return JobInks(table, stock, tuple(grounds), made, tuple(named), surface, partners)


def _surface(table: SurfaceTable | None) -> Surface:
    from screenproof.subtractive import Surface

    if table is None:
        return Surface.NONE
    if table.index is not None:
        return Surface.fresnel(table.index, table.specular)
    return Surface(table.k1 or 0.0, table.k2 or 0.0, table.specular)


def _ink(state: _State, place: Place, stock: JobStock, surface: Surface) -> Ink:
    from screenproof.subtractive import ink_from_readings

    own, grid = state.curve(place)
    bare, other = state.curve(stock.place)
    name = state.groups[place[0]].samples.names[place[1]]
    if other != grid:
        raise bad(
            f"{name} is on {grid}, its stock {stock.name} on {other}",
            expected="one grid: nothing is resampled",
            mend="export the readings again with the same wavelengths",
        )
    return ink_from_readings(own, bare, grid, surface, name, stock_name=stock.name)


def _same_grid(state: _State, own: JobStock, other: JobStock) -> bool:
    grid, there = state.curve(own.place)[1], state.curve(other.place)[1]
    if grid != there:
        raise bad(
            f"{other.name} is on {there}, the inks on {grid}",
            expected="one grid: nothing is resampled",
            mend="export the readings again with the same wavelengths",
        )
    return True


def _partners(
    state: _State,
    index: int,
    table: InksTable,
    stock: JobStock,
    onto: Sequence[JobStock],
    inks: Sequence[Ink],
) -> dict[str, dict[tuple[str, ...], Place]]:
    """Measured overprints by stock: those called 'Cyan + Yellow' in the stock's own file, and those that are
    named."""
    names = [ink.name for ink in inks]
    found: dict[str, dict[tuple[str, ...], Place]] = {}
    for ground in (stock, *onto):
        own: dict[tuple[str, ...], Place] = {}
        # Names in one file are of prints on one stock: another stock in the same file has no partners by name.
        by_name = ground is stock or ground.place[0] != stock.place[0]
        for i, sample in enumerate(state.groups[ground.place[0]].samples.names if by_name else ()):
            parts = parts_of(sample, names)
            if len(parts) > 1 or (parts and ground is not stock):
                own[parts] = (ground.place[0], i)
        found[ground.name] = own
    for place, entry in enumerate(table.overprints or []):
        path: KeyPath = ("inks", index, "overprints", place)
        strange = [name for name in entry.inks if name not in names]
        if strange:
            missing(state.reading, (*path, "inks"), "ink in this set", strange[0], names)
        ground_name = entry.stock or stock.name
        if ground_name not in found:
            missing(state.reading, (*path, "stock"), "stock in this set", ground_name, list(found))
            continue
        group = next(one for one in (stock, *onto) if one.name == ground_name).place[0]
        measured = state.sample(entry.sample, (*path, "sample"), group)
        if measured is not None and not strange:
            found[ground_name][tuple(entry.inks)] = measured
    return found


def _press(
    state: _State, index: int, table: PressTable | None, lights: Sequence[Any], approvals: Sequence[Any]
) -> JobPress | None:
    if table is None:
        return None
    path: KeyPath = ("presses", index)
    reading = state.reading
    reading.say(f"press {table.name}")
    reading.uses(table.file)
    state.tolerance(table.tolerance, (*path, "tolerance"))
    places = [state.sample(name, (*path, "samples", i)) for i, name in enumerate(table.samples or [])]
    names = [one.name for one in approvals if one is not None]
    for i, name in enumerate(table.approvals or []):
        if name not in names and None not in approvals:
            missing(reading, (*path, "approvals", i), "approval", name, names)
    press = reading.attempt((*path, "file"), partial(open_press, table.file, reading.folder, n=table.n))
    if press is None:
        return None
    limits = reading.attempt((*path, "limits"), partial(tint_limits, press, table))
    if limits is None:
        return None
    asked = None if table.samples is None else tuple(place for place in places if place is not None)
    return JobPress(table, _in_own_words(press, lights), limits, asked)


def _in_own_words(press: Press, lights: Sequence[Any]) -> Press:
    """A press that is known by XYZ, told in the job's name for the standard light that it holds for."""
    if press.is_spectral or press.light is None:
        return press
    own = next(
        (
            table.name
            for table in lights
            if table is not None and table.standard and table.standard.upper() == press.light.upper()
        ),
        press.light,
    )
    return replace(press, light=own)


def _recipe(
    state: _State,
    index: int,
    table: RecipeTable | None,
    stocks: Mapping[str, JobStock],
    every: bool,
    approvals: Sequence[Any],
    lights: Mapping[str, Light],
) -> JobRecipe | None:
    if table is None:
        return None
    path: KeyPath = ("recipes", index)
    reading = state.reading
    before = len(reading.problems)
    reading.say(f"library {table.library}")
    reading.uses(table.library)
    state.tolerance(table.tolerance, (*path, "tolerance"))
    if table.sample is not None:
        state.sample(table.sample, (*path, "sample"))
    names = [one.name for one in approvals if one is not None]
    if table.approval is not None and table.approval not in names and None not in approvals:
        missing(reading, (*path, "approval"), "approval", table.approval, names)
    for i, name in enumerate(table.lights or []):
        if name not in lights:
            missing(reading, (*path, "lights", i), "light", name, list(lights))
    stock = None
    if table.stock is not None:
        stock = _named_stock(state, table.stock, (*path, "stock"), stocks, every)
        if stock is None:
            return None
    found = reading.attempt((*path, "library"), partial(open_library, table.library, reading.folder))
    if found is None:
        return None
    made = reading.attempt(path, partial(_mixture, state, found, table, stock))
    if made is None or len(reading.problems) > before:
        return None
    return JobRecipe(table, *made)


def _mixture(
    state: _State, found: LibraryFile, table: RecipeTable, stock: JobStock | None
) -> tuple[LibraryFile, Mixture, str | None]:
    """The library without what is barred, its mixing model on its ground, and the name of the stock."""
    kept = without(found, table.mix.without)
    below = None if stock is None else (stock.name, *state.curve(stock.place))
    return kept, *mixture(kept, table.layer, below)
