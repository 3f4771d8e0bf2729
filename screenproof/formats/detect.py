"""Which format a file has, told from its content rather than its name, and samples read by it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Literal

from screenproof.errors import bad
from screenproof.formats._text import decode, read_bytes, split_selector
from screenproof.formats.cgats import is_cgats, read_cgats
from screenproof.formats.csv_samples import read_csv_samples
from screenproof.spectra import Samples

Format = Literal["cgats", "csv", "cxf", "icc", "json", "spdx", "xml"]

FORMS: dict[Format, str] = {
    "cgats": "a CGATS file of samples",
    "csv": "a CSV file",
    "cxf": "a CxF3 file of samples",
    "icc": "an ICC profile",
    "json": "a JSON file",
    "spdx": "a light (IES TM-27)",
    "xml": "XML of an unknown kind",
}
"""What a file is called in a message."""


def format_of(data: bytes, path: str | Path) -> Format:
    """The format of a file's bytes. Raises InputError for binary data that is no ICC profile."""
    if data[36:40] == b"acsp":
        return "icc"
    text, _ = decode(data, path)
    start = text.lstrip()[:4096]
    if start.startswith("<"):
        if "colorexchangeformat.com" in start or "CxF" in start:
            return "cxf"
        if "IESTM2714" in start or "iestm2714" in start:
            return "spdx"
        return "xml"
    if start.startswith(("{", "[")):
        return "json"
    return "cgats" if is_cgats(text) else "csv"


def json_schema(path: str | Path) -> str:
    """What a JSON file says of its own form, empty for any other file and for JSON that does not say."""
    place, _ = split_selector(path)
    data = read_bytes(place)
    if format_of(data, place) != "json":
        return ""
    try:
        record = json.loads(decode(data, place)[0])
    except ValueError:
        # A file that was cut short may still say what it was to be.
        found = re.search(rb'"schema"\s*:\s*"([^"]*)"', data[:4096])
        return found[1].decode("utf-8", "replace") if found else ""
    return str(record.get("schema") or "") if isinstance(record, dict) else ""


def read_samples(path: str | Path) -> Samples:
    """Samples from a CSV, CGATS (ISO 28178), CxF3 (ISO 17972) or JSON file, found by its content.

    ``path``: the file; ``file#2`` names the second table of a CGATS file, ``file#M1`` the readings of CxF3 objects
    under that condition (or the Id of their specification). Nothing is resampled: the samples
    keep the wavelengths on which they were measured. What was odd or assumed is in ``notes``.

    Raises InputError with every problem of the file, each with its line.
    """
    place, _ = split_selector(path)
    data = read_bytes(place)
    kind = format_of(data, place)
    if kind == "cgats":
        return read_cgats(path, data)
    if kind == "csv":
        return read_csv_samples(place, data)
    if kind == "json":
        from screenproof.formats.json_samples import read_json_samples

        return read_json_samples(place, data)
    if kind in ("icc", "spdx"):
        raise bad(
            f"this is {FORMS[kind]}",
            file=place,
            expected="measured samples (CSV, CGATS, CxF3 or JSON)",
            mend=f"name the file as a {'display' if kind == 'icc' else 'light'}",
        )
    from screenproof.formats.cxf import read_cxf

    return read_cxf(path, data)
