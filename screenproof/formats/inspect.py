"""What is in a file, and what is odd about it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from screenproof.errors import InputError, Note
from screenproof.formats import inspect_inks
from screenproof.formats._fields import Fields, band_nm, classify, plain
from screenproof.formats._text import Problems, decode, number, read_bytes, split_selector
from screenproof.formats.detect import Format, format_of, read_samples
from screenproof.formats.table import DelimitedTable, is_header, parse_table
from screenproof.spectra import Light, Samples

NAMES_SHOWN = 50
"""So many names stand in a summary; the rest are counted."""

NEEDED_NM = (430.0, 650.0)
"""Spectra that do not reach from the first to the second give no tristimulus values."""

_CALLED: dict[Format, str] = {
    "cgats": "CGATS text (ISO 28178)",
    "csv": "CSV",
    "cxf": "CxF3 (ISO 17972)",
    "icc": "ICC profile",
    "json": "JSON",
    "spdx": "IES TM-27 (SPDX XML)",
    "xml": "XML",
}


@dataclass(frozen=True)
class Inspection:
    """What a file holds. ``kind`` says it in a word or two, ``summary`` in plain data, ``notes`` what is odd."""

    path: str
    kind: str
    format: str
    summary: dict[str, Any]
    notes: tuple[Note, ...]


def inspect_file(path: str | Path) -> Inspection:
    """What is in a file: samples, lights, a camera, readings of a display, or an ICC profile.

    The summary has only plain data (texts, numbers, lists), ready for JSON. Raises InputError with every
    problem when the file cannot be read as what it seems to be.
    """
    place, _ = split_selector(path)
    data = read_bytes(place)
    form = format_of(data, place)
    if form == "icc":
        kind, summary, notes = _profile(place, data)
    elif form == "spdx":
        kind, summary, notes = _lights(path)
    elif form == "csv":
        kind, summary, notes = _csv(path, place, data)
    elif form == "cgats" and _cgats_readings(data, place):
        kind, summary, notes = _readings(path)
    elif form == "json" and (of := inspect_inks.json_kind(place)) != "samples":
        kind, summary, notes = inspect_inks.press(place) if of == "press" else inspect_inks.library(place)
    elif form == "cgats" and (found := _cgats_inks(place, data)) is not None:
        kind, summary, notes = found
    else:
        kind, summary, notes = _samples(read_samples(path))
        if form == "cgats":
            summary |= _cgats_header(data, place)
    summary["bytes"] = len(data)
    return Inspection(str(path), kind, _CALLED[form], summary, notes)


_Found = tuple[str, dict[str, Any], tuple[Note, ...]]


def _samples(samples: Samples) -> _Found:
    names = list(samples.names)
    notes = list(samples.notes)
    summary: dict[str, Any] = {"samples": len(names), "names": names[:NAMES_SHOWN]}
    if samples.reflectance is not None and samples.grid is not None:
        summary["wavelengths"] = str(samples.grid)
        summary["bands"] = samples.grid.count
        low, high = float(samples.reflectance.min()), float(samples.reflectance.max())
        summary["reflectance"] = {"lowest": low, "highest": high}
    if samples.colorimetry is not None:
        own = samples.colorimetry
        summary["colorimetry"] = {
            "light": own.light,
            "observer": own.observer,
            "lowest Y": float(own.xyz[:, 1].min()),
            "highest Y": float(own.xyz[:, 1].max()),
        }
    condition = {
        key: value
        for key in ("geometry", "filter", "backing", "instrument", "date")
        if (value := getattr(samples.condition, key)) is not None
    }
    summary["condition"] = condition
    if samples.device is not None:
        summary["device"] = list(samples.device.channels)
        if samples.device.channels != ("R", "G", "B"):
            summary |= inspect_inks.characterisation(samples)
    if samples.repeatability is not None:
        summary["repeatability"] = float(samples.repeatability)
    if samples.doubt is not None:
        summary["doubt"] = f"{samples.doubt.words()} ({samples.doubt.stated})"
    summary["fluorescent"] = samples.fluorescent
    if samples.grid is not None and (samples.grid.start > NEEDED_NM[0] or samples.grid.stop < NEEDED_NM[1]):
        notes.append(
            Note(
                "odd",
                f"readings from {samples.grid} leave out much of the visible range: they give no colour",
                file=samples.source,
                mend="measure 380 to 730 nm, or 400 to 700 nm at least",
            )
        )
    if samples.is_spectral and "filter" not in condition:
        notes.append(
            Note(
                "info",
                "the measurement condition (M0 to M3) is not stated",
                file=samples.source,
                mend="state 'filter: M1' or as it was measured",
            )
        )
    if "geometry" not in condition:
        notes.append(Note("info", "the geometry is not stated", file=samples.source))
    kind = "spectral samples" if samples.is_spectral else "colorimetric samples"
    return kind, summary, tuple(notes)


def _cgats_header(data: bytes, place: Path) -> dict[str, Any]:
    from screenproof.formats.cgats import parse_cgats

    identifier, tables = parse_cgats(decode(data, place)[0], Problems(str(place)))
    found = {}
    for keyword in ("ORIGINATOR", "FILE_DESCRIPTOR", "DESCRIPTOR", "TARGET_TYPE", "PRINT_CONDITIONS"):
        value = tables[0].first(keyword)
        if value is not None:
            found[keyword.lower().replace("_", " ")] = value[0]
    return {"identifier": identifier, "tables": len(tables), **found}


def _cgats_inks(place: Path, data: bytes) -> _Found | None:
    """A list of tints, letdowns or a batch in CGATS text, None for samples."""
    from screenproof.formats.cgats import choose_table, found_in, parse_cgats, rows_of

    problems = Problems(str(place))
    _, tables = parse_cgats(decode(data, place)[0], problems)
    if problems or not tables or not tables[0].fields or tables[0].data_line is None:
        return None
    notes: list[Note] = []
    table = choose_table(tables, None, problems, notes)
    rows, comma = rows_of(table, problems, notes)
    stated = found_in(table, notes, str(place))
    cells = DelimitedTable(str(place), "\t", comma, [(table.line, table.fields), *rows], stated)
    kind = inspect_inks.table_kind(cells)
    return None if kind is None else inspect_inks.inspect_table(kind, place, cells)


def _cgats_readings(data: bytes, place: Path) -> bool:
    """Whether a CGATS file holds readings of a display: drive values, and a unit that only light has."""
    from screenproof.formats.cgats import parse_cgats

    text = decode(data, place)[0]
    _, tables = parse_cgats(text, Problems(str(place)))
    driven = any(classify(t.fields, Problems("")).channels == ("R", "G", "B") for t in tables)
    return driven and re.search(r"(?i)cd\s*/\s*m|cdm2|W\s*/\s*\(?\s*sr|# ?kind: readings", text) is not None


def _lights(path: str | Path) -> _Found:
    from screenproof.formats.lights import read_light_noted, read_lights
    from screenproof.spectra import cct, observer, white_point

    place, selector = split_selector(path)
    if selector is not None:
        one, notes = read_light_noted(path)
        lights: tuple[Light, ...] = (one,)
    else:
        lights, notes = read_lights(place)
    eye = observer("cie1931")
    described = []
    for light in lights:
        white = white_point(light, eye)
        x, y = (white[:2] / white.sum()).tolist()
        made: dict[str, Any] = {
            "name": light.name,
            "label": light.label,
            "wavelengths": str(light.grid),
            "x": round(x, 4),
            "y": round(y, 4),
            "illuminance": light.illuminance,
        }
        try:
            made["correlated colour temperature"] = round(float(cct(light)), 0)
        except InputError:
            made["correlated colour temperature"] = None
        described.append(made)
    return ("light" if len(lights) == 1 else "lights"), {"lights": described}, notes


def _camera(place: Path) -> _Found:
    from screenproof.formats.cameras import read_camera

    camera = read_camera(place)
    peaks = camera.grid.wavelengths[np.argmax(camera.curves, axis=0)]
    return (
        "camera",
        {
            "name": camera.name,
            "label": camera.label,
            "wavelengths": str(camera.grid),
            "peaks": {name: float(nm) for name, nm in zip(("red", "green", "blue"), peaks, strict=True)},
        },
        (),
    )


def _csv(path: str | Path, place: Path, data: bytes) -> _Found:
    text, _ = decode(data, place)
    table = parse_table(text, str(place), Problems(str(place)))
    inks = inspect_inks.table_kind(table)
    if inks is not None:
        return inspect_inks.inspect_table(inks, place, table)
    kind, sure = guess(table)
    if kind == "light":
        found = _lights(path)
    elif kind == "camera":
        found = _camera(place)
    elif kind == "readings":
        found = _readings(path)
    else:
        found = _samples(read_samples(path))
    if sure:
        return found
    note = Note(
        "assumed",
        f"taken for {found[0]}; the table could be read as something else",
        file=str(place),
        mend="state '# kind: samples', 'light', 'camera' or 'readings'",
    )
    return found[0], found[1], (note, *found[2])


def guess(table: DelimitedTable) -> tuple[str, bool]:
    """What a CSV table holds (``samples``, ``light``, ``camera`` or ``readings``), and whether that is sure.

    ``# kind:`` decides, else the names of the columns, else their number and what the comments speak of.
    """
    said = table.found.get("kind", ("", 0))[0].strip().lower()
    if said:
        return {"lights": "light", "primaries": "light"}.get(said, said), True
    if not table.rows:
        return "samples", True
    header = table.rows[0][1]
    if not is_header(header, table.comma):
        return ("light", False) if len(header) == 2 and _starts_with_nm(table, 0) else ("samples", True)
    fields = classify(header, Problems(table.file))
    if fields.channels == ("R", "G", "B") and _is_readings(table, fields):
        return "readings", True
    if sum(band_nm(name) is not None for name in header) > 1 or fields.is_colorimetric or fields.pairs:
        return "samples", True
    if not _starts_with_nm(table, 1):
        return "samples", True
    names = [plain(name) for name in header[1:]]
    if any(word in name for name in names for word in ("POWER", "SPD", "RADIANCE", "FLUX", "INTENSITY")):
        return "light", True
    if set(names) in ({"R", "G", "B"}, {"RED", "GREEN", "BLUE"}):
        return "camera", "unit" not in table.found
    if "illuminance" in table.found:
        return "light", True
    if "unit" in table.found or "filter" in table.found or "geometry" in table.found:
        return "samples", True
    return ("samples", False)


def _starts_with_nm(table: DelimitedTable, first: int) -> bool:
    nm = [number(cells[0], comma=table.comma) for _, cells in table.rows[first : first + 5]]
    return len(nm) > 1 and all(value is not None and 200.0 <= value <= 2500.0 for value in nm)


def _is_readings(table: DelimitedTable, fields: Fields) -> bool:
    """Drive values beside XYZ or spectra: readings of a display, unless the rows have names of their own."""
    return (fields.is_colorimetric or bool(fields.bands)) and fields.name is None


def _readings(path: str | Path) -> _Found:
    from screenproof.formats.readings import read_readings
    from screenproof.spectra import emission_xyz, observer

    readings = read_readings(path)
    drive = np.asarray(readings.drive)
    summary: dict[str, Any] = {"readings": int(drive.shape[0])}
    single = np.count_nonzero(drive > 0, axis=1) == 1
    for channel, name in enumerate(("red", "green", "blue")):
        summary[f"{name} ramp"] = int(np.count_nonzero(single & (drive[:, channel] > 0)))
    grey = (np.ptp(drive, axis=1) == 0) & (drive.max(axis=1) > 0)
    summary["greys"] = int(np.count_nonzero(grey))
    summary["spectral"] = readings.spectra is not None
    white = np.flatnonzero((drive >= 1.0).all(axis=1))
    black = np.flatnonzero((drive <= 0.0).all(axis=1))
    xyz = readings.xyz_cd
    if readings.spectra is not None and readings.grid is not None:
        summary["wavelengths"] = str(readings.grid)
        xyz = emission_xyz(readings.spectra, readings.grid, observer("cie1931"))
    for name, rows in (("white", white), ("black", black)):
        if xyz is not None and rows.size:
            summary[f"{name} luminance (cd/m2)"] = float(xyz[rows, 1].mean())
    return "display readings", summary, tuple(readings.notes)


def _profile(place: Path, data: bytes) -> _Found:
    """The header of a profile (ICC.1:2022, 7.2), and the display that it describes where it is a display's."""
    from screenproof.formats.icc_tags import HEADER_BYTES, Profile

    if len(data) <= HEADER_BYTES:
        Profile.of(data, str(place))

    def word(start: int) -> str:
        return data[start : start + 4].decode("latin-1").strip("\x00 ")

    classes = {
        "mntr": "display",
        "prtr": "output device",
        "scnr": "input device",
        "spac": "colour space",
        "link": "device link",
        "abst": "abstract",
        "nmcl": "named colours",
    }
    stated = int.from_bytes(data[0:4], "big")
    summary: dict[str, Any] = {
        "version": f"{data[8]}.{data[9] >> 4}",
        "class": classes.get(word(12), word(12)),
        "colour space": word(16),
        "connection space": word(20),
    }
    notes: list[Note] = []
    if stated != len(data):
        notes.append(Note("odd", f"the profile states {stated} bytes, the file has {len(data)}", file=str(place)))
    if word(16) != "RGB" or word(12) not in ("mntr", "spac", "scnr"):
        notes.append(
            Note("info", "not a profile of an RGB display: it cannot be named as a display", file=str(place))
        )
        return "ICC profile", summary, tuple(notes)
    from screenproof.formats.icc import read_profile

    display = read_profile(place)
    summary |= {
        "name": display.name,
        "label": display.label,
        "luminance (cd/m2)": float(display.luminance),
        "model": type(display.model).__name__,
    }
    return "ICC profile", summary, (*notes, *display.notes)
