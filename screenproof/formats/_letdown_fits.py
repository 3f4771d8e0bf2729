"""From rows of letdowns to the library that they give, by medium."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from screenproof.appearance import de2000
from screenproof.errors import InputError, Note, Problem, bad
from screenproof.formats._letdown_rows import LibraryFile, Rows
from screenproof.spectra import Array
from screenproof.subtractive import (
    Ink,
    Letdowns,
    Library,
    Pigment,
    clear_extender,
    fit_drawdowns,
    ink_from_readings,
)
from screenproof.subtractive.letdowns import SAME_WITHIN, lab_d50
from screenproof.subtractive.mixing import paint

OTHER_LETDOWN = 2.0
"""CIEDE2000 from which a print of an ink let down is told to be off what the law of Beer makes of the full one."""


def fitted(rows: Rows) -> LibraryFile:
    """The library of a file. Raises InputError with the problems of all its pigments; see read_library."""
    if not rows.pigments:
        raise bad(
            "the file has readings of the base alone",
            file=rows.file,
            expected="letdowns of at least one pigment",
        )
    if rows.medium == "film":
        return _film(rows)
    base = _mean(rows, rows.of(rows.base), rows.base)
    if rows.medium == "inks":
        return _inks(rows, base)
    cloth = rows.medium == "cloth"
    sets: list[Letdowns] = []
    problems: list[Problem] = []
    for name in rows.pigments:
        at = rows.of(name)
        levels, curves = rows.concentration[at], rows.reflectance[at]
        if cloth and not (levels == 0.0).any():
            levels, curves = np.append(levels, 0.0), np.vstack([curves, base])
        try:
            sets.append(
                Letdowns(
                    name,
                    rows.grid,
                    levels,
                    curves,
                    rows.surface,
                    cloth,
                    _one(rows.cost, at),
                    _one(rows.density, at),
                )
            )
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    own = rows.of(rows.base)
    library = Library.from_letdowns(
        _title(rows),
        sets,
        base,
        base_name=rows.base,
        base_cost=_one(rows.cost, own),
        base_density=_one(rows.density, own),
    )
    notes = (*rows.notes, *(note for one in library.components for note in one.notes))
    return LibraryFile(library, rows.medium, rows.file, None, "", len(rows.pigment), notes)


def _title(rows: Rows) -> str:
    return Path(rows.file).stem


def _one(values: tuple[float | None, ...], at: list[int]) -> float | None:
    """The first that is given."""
    return next((values[i] for i in at if values[i] is not None), None)


def _mean(rows: Rows, at: list[int], what: str) -> Array:
    """The mean (w,) of readings of one thing. Raises InputError when they disagree, and by how much."""
    curves = rows.reflectance[at]
    if len(at) > 1:
        lab = lab_d50(curves, rows.grid)
        apart = float(np.asarray(de2000(lab[:, np.newaxis], lab[np.newaxis])).max())
        if apart > SAME_WITHIN:
            raise bad(
                f"{len(at)} readings of {what} disagree by {apart:.2f} CIEDE2000 (D50, 2 degrees)",
                file=rows.file,
                line=rows.lines[at[1]],
                expected=f"readings of one thing within {SAME_WITHIN:g}",
                mend="leave out the wrong one",
            )
    return np.asarray(curves.mean(axis=0))


def _inks(rows: Rows, stock: Array) -> LibraryFile:
    """Inks from their strongest print; weaker ones are held against the law of Beer."""
    found: list[Ink] = []
    notes: list[Note] = list(rows.notes)
    problems: list[Problem] = []
    for name in rows.pigments:
        at = rows.of(name)
        strongest = float(rows.concentration[at].max())
        try:
            if strongest == 0.0:
                raise bad(f"{name} has only a concentration of 0", field=name, expected="a print of the ink, 1")
            full = _mean(rows, [i for i in at if rows.concentration[i] == strongest], f"{name} {strongest:g}")
            ink = ink_from_readings(
                full, stock, rows.grid, rows.surface, name,
                stock_name=rows.base, film_weight=strongest, cost=_one(rows.cost, at),
            )  # fmt: skip
        except InputError as error:
            problems += error.problems
            continue
        found.append(ink)
        notes += [*ink.notes, *_off_beer(rows, ink, stock, at, strongest)]
    if problems:
        raise InputError(problems)
    extender = next((ink for ink in found if ink.name == rows.extender), None)
    if rows.extender is not None and extender is None:
        raise bad(
            f"no reading of the extender {rows.extender!r}",
            field="extender",
            expected=f"one of {', '.join(ink.name for ink in found)}",
        )
    if extender is None:
        extender = clear_extender(rows.grid)
        notes += extender.notes
    bases = tuple(ink for ink in found if ink is not extender)
    library = Library(_title(rows), bases, extender, rows.surface)
    return LibraryFile(library, "inks", rows.file, stock, rows.base, len(rows.pigment), tuple(notes))


def _off_beer(rows: Rows, ink: Ink, stock: Array, at: list[int], strongest: float) -> list[Note]:
    """Notes on prints of an ink let down that the law of Beer does not give from its strongest."""
    weak = [i for i in at if 0.0 < rows.concentration[i] < strongest]
    if not weak:
        return []
    inside = rows.surface.to_internal(stock)
    predicted = rows.surface.to_measured(inside * ink.transmittance ** rows.concentration[weak][:, np.newaxis])
    apart = np.asarray(de2000(lab_d50(rows.reflectance[weak], rows.grid), lab_d50(predicted, rows.grid)))
    worst = int(apart.argmax())
    if apart[worst] <= OTHER_LETDOWN:
        return []
    return [
        Note(
            "odd",
            f"its print at {rows.concentration[weak[worst]]:g} is {apart[worst]:.1f} CIEDE2000 from what the law "
            "of Beer makes of the full ink",
            about=ink.name,
            file=rows.file,
            line=rows.lines[weak[worst]],
            mend="expect premixes to differ so; an ink that scatters is better taken as a pigment",
        )
    ]


def _film(rows: Rows) -> LibraryFile:
    """Absolute pigments from films over black and over white."""
    backings = {over: rows.of("", over) for over in ("black", "white")}
    missing = [over for over, at in backings.items() if not at]
    if missing:
        raise bad(
            f"no reading of the bare {' and '.join(missing)} backing",
            file=rows.file,
            expected="a row without a pigment for each, 'black' and 'white' in the column 'over'",
            mend="measure the backings and add their rows",
        )
    black, white = (_mean(rows, backings[over], f"the {over} backing") for over in ("black", "white"))
    problems: list[Problem] = []

    def fit(name: str, base: Pigment | None) -> Pigment | None:
        at = {over: rows.of(name, over) for over in ("black", "white")}
        levels = [set(rows.concentration[at[over]].tolist()) for over in ("black", "white")]
        both = sorted(levels[0] & levels[1])
        if not both or both[-1] == 0.0:
            problems.append(
                Problem(
                    f"no film of {name} over both black and white at one concentration",
                    rows.file,
                    rows.lines[rows.pigment.index(name)],
                    name,
                    "two readings of one film",
                )
            )
            return None
        level = both[-1]
        over = {
            ground: _mean(rows, [i for i in at[ground] if rows.concentration[i] == level], f"{name} over {ground}")
            for ground in ("black", "white")
        }
        every = [*at["black"], *at["white"]]
        try:
            return fit_drawdowns(
                name, over["black"], over["white"], black, white, rows.grid, rows.surface,
                thickness=rows.thickness, concentration=level, base=base,
                cost=_one(rows.cost, every), density=_one(rows.density, every),
            )  # fmt: skip
        except InputError as error:
            problems.extend(error.problems)
            return None

    base = fit(rows.base, None) if rows.base else None
    found = [] if problems else [fit(name, base) for name in rows.pigments]
    if problems:
        raise InputError(problems)
    pigments = tuple(one for one in found if one is not None)
    paint(pigments, base, rows.surface)  # that they go together is checked once, here
    notes = (*rows.notes, *(note for one in (*pigments, *([base] if base else [])) for note in one.notes))
    return LibraryFile(
        Library(_title(rows), pigments, base, rows.surface), "film", rows.file, None, "", len(rows.pigment), notes
    )
