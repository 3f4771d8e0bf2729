"""What is in a file of the ink side: characterisation, press, list of tints, letdowns, library, batch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from screenproof.errors import Note
from screenproof.formats._fields import ID_FIELDS, NAME_FIELDS, classify, plain, short_channel
from screenproof.formats._stated import channels_of
from screenproof.formats._text import Problems, number
from screenproof.formats.detect import json_schema
from screenproof.formats.table import DelimitedTable, is_header
from screenproof.spectra import Samples
from screenproof.subtractive import Pigment

Found = tuple[str, dict[str, Any], tuple[Note, ...]]

NAMED = 50
"""So many names stand in a summary."""

_BARE, _FULL = 1e-4, 1.0 - 1e-4


def json_kind(path: Path) -> str:
    """``press``, ``library`` or ``samples``: what the schema of a JSON file says."""
    schema = json_schema(path)
    return next((kind for kind in ("press", "library") if schema.startswith(f"screenproof-{kind}/")), "samples")


def table_kind(table: DelimitedTable) -> str | None:
    """``letdowns``, ``batch`` or ``tints`` where a table is one, by its statement or its columns; None for
    another."""
    said = table.found.get("kind", ("", 0))[0].strip().lower()
    if said:
        return said if said in ("letdowns", "batch", "tints") else None
    if not table.rows or not is_header(table.rows[0][1], table.comma):
        return None
    header = table.rows[0][1]
    names = {plain(name) for name in header}
    fields = classify(header, Problems(table.file))
    if "PIGMENT" in names and "CONCENTRATION" in names and fields.is_spectral:
        return "letdowns"
    if "COMPONENT" in names and names & {"AMOUNT", "KG", "MASS", "WEIGHT"}:
        return "batch"
    bare = not (fields.is_spectral or fields.is_colorimetric)
    if bare and (channels_of(table.found) or (fields.channels and fields.channels != ("R", "G", "B"))):
        return "tints"
    return None


def inspect_table(kind: str, place: Path, table: DelimitedTable) -> Found:
    """What a table of the ink side holds. Raises InputError as its reader does."""
    if kind == "letdowns":
        return library(place)
    if kind == "batch":
        from screenproof.formats.batches import read_batch

        batch = read_batch(place)
        return "batch", {"kilograms": batch.amounts, "total (kg)": sum(batch.amounts.values())}, batch.notes
    from screenproof.formats.tints import read_tints

    channels = _ink_columns(table)
    listed = read_tints(place, channels)
    summary: dict[str, Any] = {
        "tints": len(listed.names),
        "names": list(listed.names)[:NAMED],
        "channels": list(channels),
        "highest total (percent)": round(100.0 * float(listed.tints.sum(axis=1).max()), 1),
    }
    return "tints", summary, listed.notes


def _ink_columns(table: DelimitedTable) -> tuple[str, ...]:
    """The columns that hold tints: those that are stated, or known by their names, or all of numbers."""
    header, rows = table.rows[0][1], table.rows[1:]
    if stated := channels_of(table.found):
        return tuple(short_channel(name) for name in stated)
    known = classify(header, Problems(table.file)).channels
    numeric = tuple(
        name.strip()
        for i, name in enumerate(header)
        if plain(name) not in NAME_FIELDS | ID_FIELDS
        and rows
        and all(i < len(cells) and number(cells[i], comma=table.comma) is not None for _, cells in rows)
    )
    return known if len(known) >= len(numeric) else tuple(short_channel(name) for name in numeric)


def press(place: Path) -> Found:
    """What a press is. Raises InputError for a damaged one."""
    from screenproof.formats.presses import read_press

    found = read_press(place)
    held = found.held_out
    summary: dict[str, Any] = {
        "name": found.name,
        "channels": list(found.channels),
        "wavelengths": None if found.grid is None else str(found.grid),
        "holds for": None if found.is_spectral else f"{found.light}, observer {found.observer}",
        "Yule-Nielsen n": found.n,
        "limits (percent)": {
            "total": 100.0 * found.limits.total,
            **{name: 100.0 * most for name, most in zip(found.channels, found.limits.channels, strict=True)},
        },
    }
    if held is not None and held.count:
        summary["held out (CIEDE2000)"] = {"mean": held.mean, "p95": held.p95, "max": held.max, "of": held.count}
    summary["source"] = found.source
    return "press", summary, found.notes


def library(place: Path) -> Found:
    """What a library of pigments, dyes or inks holds. Raises InputError as its fits do."""
    from screenproof.formats.letdowns import read_library

    found = read_library(place)
    one = found.library
    summary: dict[str, Any] = {
        "medium": found.medium,
        "components": len(one.components),
        "names": [component.name for component in one.components][:NAMED],
        "base": None if one.base is None else one.base.name,
        "stock": found.stock_name or None,
        "wavelengths": str(one.grid),
        "readings": found.readings or None,
    }
    if one.surface.k1 or one.surface.k2:
        summary["surface"] = {"k1": one.surface.k1, "k2": one.surface.k2, "specular": one.surface.specular}
    fits = [part.fit.worst for part in one.components if isinstance(part, Pigment) and part.fit is not None]
    if fits:
        summary["worst fit (CIEDE2000)"] = max(fits)
    return ("letdowns" if found.readings else "library"), summary, found.notes


def characterisation(samples: Samples) -> dict[str, Any]:
    """What samples with tints hold for a press: patches by kind, and what its fit would miss."""
    assert samples.device is not None
    tints, channels = samples.device.values, samples.device.channels
    on = tints > _BARE
    inks = on.sum(axis=1)
    solid = (~on | (tints >= _FULL)).all(axis=1)
    codes = np.rint(tints * 1e4).astype(np.int64)
    doubles = len(codes) - len(np.unique(codes, axis=0))
    alone = {name: int(((inks == 1) & on[:, i]).sum()) for i, name in enumerate(channels)}
    summary = {
        "ramps": alone,
        "overprints of solids": int((solid & (inks > 1)).sum()),
        "overprinted tints": int((~solid & (inks > 1)).sum()),
        "highest total (percent)": round(100.0 * float(tints.sum(axis=1).max()), 1),
        "patches of the same tints": doubles or None,
    }
    missing = [] if (inks == 0).any() else ["the bare stock"]
    missing += [
        f"the solid of {name}" for i, name in enumerate(channels) if not ((inks == 1) & solid & on[:, i]).any()
    ]
    return {**summary, "missing for a press": missing or None}
