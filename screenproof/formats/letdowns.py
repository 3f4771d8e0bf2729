"""Libraries of pigments, dyes and ink bases: letdowns as CSV or CGATS, or what was fitted as JSON.

A row of letdowns is one reading: ``pigment``, ``concentration``, and the wavelengths. The rows of the base (the
white, the undyed cloth, the stock of inks) are named by ``# base:``. ``# medium:`` says what is mixed:

``paint``   letdowns with the white; the masstone is concentration 1
``film``    drawdowns: a column ``over`` with black and white; rows without a pigment are the bare backings
``cloth``   dyeings; concentrations in percent of the weight of the cloth
``inks``    prints of transparent inks on the stock, at concentration 1 or let down with a clear extender
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from screenproof.errors import InputError, Note, bad
from screenproof.formats._assemble import Sheet, samples_of
from screenproof.formats._fields import Fields, classify
from screenproof.formats._letdown_fits import fitted
from screenproof.formats._letdown_rows import MEDIA, LibraryFile, Medium, Rows
from screenproof.formats._stated import state, unit_of
from screenproof.formats._text import Problems, decode, number, read_bytes
from screenproof.formats.columns_by_name import NamedColumns, read_columns
from screenproof.formats.detect import format_of, json_schema
from screenproof.spectra import Array, Samples
from screenproof.subtractive import Library, Surface


def read_library(path: str | Path) -> LibraryFile:
    """Pigments, dyes or inks, fitted from the letdowns of a CSV or CGATS file, or as fitted before, from JSON.

    Raises InputError with every problem of the file or of the fits: no base, no masstone or tint, readings of 0 or
    above 1, concentrations out of range, letdowns of one concentration that disagree (by how much is said).
    """
    data = read_bytes(path)
    file = str(path)
    if format_of(data, path) == "json":
        schema = json_schema(path)
        if schema and not schema.startswith("screenproof-library/"):
            raise bad(
                f"JSON of another kind (schema {schema!r})",
                file=path,
                field="schema",
                expected="a library that 'recipe library' wrote, or letdowns as CSV or CGATS",
                mend="name the file of the letdowns",
            )
        library = Library.from_json(decode(data, path)[0], file=file)
        kinds = {getattr(one, "kind", "inks") for one in library.components}
        medium: Medium = "inks" if kinds == {"inks"} else "cloth" if kinds == {"dye"} else "paint"
        return LibraryFile(library, medium, file, notes=tuple(n for one in library.components for n in one.notes))
    rows = read_letdowns(path)
    try:
        return fitted(rows)
    except InputError as error:
        raise InputError(
            p if p.file else replace(p, file=rows.file, line=p.line or _line(rows, p.field))
            for p in error.problems
        ) from None


def _line(rows: Rows, field: str | None) -> int | None:
    """The first row of the pigment that a problem is about."""
    named = [name for name in dict.fromkeys(rows.pigment) if name and field and name in field]
    return rows.lines[rows.pigment.index(max(named, key=len))] if named else None


def read_letdowns(path: str | Path) -> Rows:
    """The rows of a file of letdowns, checked one by one. Raises InputError with every problem."""
    problems = Problems(str(path))
    sheet = read_columns(path, "letdowns", "letdowns of pigments", problems)
    pigment = sheet.column("pigment", "colorant", "dye", "ink", "component")
    share = sheet.column("concentration", "conc", "share")
    for name, place in (("pigment", pigment), ("concentration", share)):
        if place is None:
            problems.add(
                f"no column {name!r}; columns are {', '.join(sheet.names[:8])} ...",
                line=sheet.header_line,
                expected="columns pigment, concentration, and the wavelengths",
                mend=f"add the column {name!r}",
            )
    problems.raise_any()
    assert pigment is not None and share is not None
    medium = _medium(sheet, problems)
    samples = _readings(sheet, problems)
    concentration = _concentrations(sheet, share, medium, problems)
    names = tuple(sheet.texts(pigment))
    over = _over(sheet, medium, problems)
    base = _base(sheet, names, medium, problems)
    for i, (name, line) in enumerate(zip(names, sheet.lines, strict=True)):
        if not name and not over[i]:
            problems.add("no pigment is named", line=line, expected="the name of a pigment, or of the base")
    cost = sheet.optional(sheet.column("cost", "price"), problems)
    density = sheet.optional(sheet.column("density"), problems)
    surface = _surface(sheet, problems)
    thickness = _positive(sheet, "thickness", 1.0, problems)
    problems.raise_any()
    assert samples is not None and samples.reflectance is not None and samples.grid is not None
    return Rows(
        samples.source, medium, base, sheet.stated("extender"), samples.grid, np.asarray(samples.reflectance),
        names, concentration, over, tuple(cost), tuple(density), tuple(sheet.lines), surface, thickness,
        (*sheet.notes, *_about_rows(samples, names, concentration)),
    )  # fmt: skip


def _about_rows(samples: Samples, names: Sequence[str], concentration: Array) -> list[Note]:
    """The notes on the readings, each about its letdown rather than about a number of a row."""
    called = {own: f"{names[i]} {concentration[i]:g}".strip() for i, own in enumerate(samples.names)}
    return [replace(note, about=called.get(note.about or "", note.about)) for note in samples.notes]


def _readings(sheet: NamedColumns, problems: Problems) -> Samples | None:
    """The curves, one for each row, by the readers of samples; None, and the problems, where they are wrong."""
    own = Problems(sheet.file)
    fields = classify(sheet.names, own, line=sheet.header_line)
    if not fields.is_spectral:
        own.add(
            "no column holds reflectances",
            line=sheet.header_line,
            expected="wavelengths as column names: 400, 410, ... ; XYZ or Lab tell nothing of mixtures",
        )
    for line, cells in sheet.rows:
        if fields.bands and not any(cells[column].strip() for _, column in fields.bands):
            own.add("the row has no reading", line=line, mend="fill it in, or remove the row")
    stated = replace(state(sheet.found, own, []), device_scale=None)
    # The letdowns are told apart by pigment and concentration; names of rows are of no use here.
    bare = Fields(fields.names, bands=fields.bands, pairs=fields.pairs, unit=fields.unit)
    try:
        own.raise_any()
        samples = samples_of(Sheet(sheet.file, bare, sheet.header_line, sheet.rows, sheet.comma), stated, own)
    except InputError as error:
        problems.take(error)
        return None
    return replace(samples, notes=tuple(n for n in samples.notes if "no column holds names" not in n.what))


def _medium(sheet: NamedColumns, problems: Problems) -> Medium:
    said = (sheet.stated("medium") or "").lower()
    if not said:
        return "film" if sheet.column("over") is not None else "paint"
    if said not in MEDIA:
        problems.add(
            f"the medium {said!r}", line=sheet.line_of("medium"), field="medium", expected=", ".join(MEDIA)
        )
        return "paint"
    if said == "film" and sheet.column("over") is None:
        problems.add(
            "a film without the column 'over'",
            line=sheet.header_line,
            expected="black or white in it: what each film was measured over",
            mend="add the column, or state '# medium: paint' for opaque layers",
        )
    return said  # type: ignore[return-value]


def _concentrations(sheet: NamedColumns, column: int, medium: Medium, problems: Problems) -> Array:
    """Shares of 1; for a cloth percent of its weight."""
    values = sheet.numbers([column], problems)[:, 0]
    said = sheet.stated("concentration")
    if medium == "cloth":
        scales = {"percent": 1.0, "fraction": 0.01, "g/kg": 10.0}
        unit = None if said is None else unit_of(said) or said.lower().replace(" ", "")
        if unit is not None and unit not in scales:
            problems.add(
                f"concentrations in {said!r}",
                line=sheet.line_of("concentration"),
                expected="percent of the weight of the cloth, or g/kg",
            )
        return np.asarray(values / scales.get(unit or "percent", 1.0))
    unit = None if said is None else unit_of(said)
    if said is not None and unit is None:
        problems.add(
            f"concentrations in {said!r}",
            line=sheet.line_of("concentration"),
            expected="'percent' or 'fraction'",
            mend="state '# concentration: percent' or '# concentration: fraction'",
        )
    highest = float(np.nanmax(values)) if values.size and not np.isnan(values).all() else 0.0
    if said is None and highest > 1.0:
        unit = "percent"
        sheet.notes.append(
            Note(
                "assumed",
                f"no unit of the concentrations is stated; up to {highest:g}, they are taken for percent",
                file=sheet.file,
                mend="state '# concentration: percent'",
            )
        )
    scale = 100.0 if unit == "percent" else 1.0
    for line, value in zip(sheet.lines, values, strict=True):
        if np.isfinite(value) and not 0.0 <= value <= scale * (1.0 + 1e-9):
            problems.add(
                f"a concentration of {value:g} on a scale of 0 to {scale:g}",
                line=line,
                field=sheet.names[column],
                expected="0 (the base alone) to the masstone, the share in all that is mixed",
                mend="state '# concentration: percent' if these are percentages" if scale == 1.0 else "correct it",
            )
    return np.asarray(values / scale)


def _over(sheet: NamedColumns, medium: Medium, problems: Problems) -> tuple[str, ...]:
    place = sheet.column("over", "backing")
    if medium != "film" or place is None:
        return ("",) * len(sheet.rows)
    words = [text.lower() for text in sheet.texts(place)]
    for line, word in zip(sheet.lines, words, strict=True):
        if word not in ("black", "white"):
            problems.add(f"over {word!r}", line=line, field=sheet.names[place], expected="black or white")
    return tuple(words)


_BASES = {"paint": "the white", "film": "the white", "cloth": "the undyed cloth", "inks": "the bare stock"}


def _base(sheet: NamedColumns, names: Sequence[str], medium: Medium, problems: Problems) -> str:
    """The name of the base: stated, or of a column ``base`` that has one name in it."""
    said = sheet.stated("base")
    place = sheet.column("base")
    if said is None and place is not None:
        there = sorted({text for text in sheet.texts(place) if text})
        if len(there) > 1:
            problems.add(
                f"{len(there)} bases: {', '.join(there)}",
                line=sheet.header_line,
                field=sheet.names[place],
                expected="one base for all letdowns of a file",
                mend="make a file for each base",
            )
        said = there[0] if there else None
    if said is None:
        if medium == "film":
            return ""
        problems.add(
            "the base is not named",
            line=sheet.header_line,
            expected=f"'# base: NAME', the name of {_BASES[medium]} in the column of the pigments",
            mend="state it above the column names",
        )
        return ""
    if said not in names:
        near = next((name for name in names if name.lower() == said.lower()), None)
        problems.add(
            f"no reading of the base {said!r}",
            line=sheet.line_of("base") or sheet.header_line,
            expected=f"a row of {_BASES[medium]} with its name in the column of the pigments",
            mend=f"did you mean {near!r}?" if near else "measure it and add its row",
        )
    return said


def _positive(sheet: NamedColumns, key: str, default: float, problems: Problems) -> float:
    text = sheet.stated(key)
    value = default if text is None else number(text)
    if value is None or not value > 0.0:
        problems.add(f"{key} {text!r}", line=sheet.line_of(key), expected="a number above 0")
        return default
    return value


def _surface(sheet: NamedColumns, problems: Problems) -> Surface:
    """The surface that the file states: k1 and k2, or a refractive index; none where it is silent."""
    given: dict[str, float] = {}
    for key in ("k1", "k2", "refractive_index"):
        if (text := sheet.stated(key)) is not None:
            value = number(text)
            if value is None:
                problems.add(f"{key} {text!r}", line=sheet.line_of(key), expected="a number")
            else:
                given[key] = value
    specular = (sheet.stated("specular") or "").lower()

    def made() -> Surface:
        if "refractive_index" in given:
            return Surface.fresnel(given["refractive_index"], specular or "excluded")  # type: ignore[arg-type]
        if not given:
            return Surface.NONE
        return Surface(given.get("k1", 0.0), given.get("k2", 0.0), specular or "included")  # type: ignore[arg-type]

    return _or_none(made, problems)


def _or_none(made: Callable[[], Surface], problems: Problems) -> Surface:
    try:
        return made()
    except InputError as error:
        problems.take(InputError(replace(p, file=problems.file) for p in error.problems))
        return Surface.NONE
