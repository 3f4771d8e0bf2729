"""Samples in JSON, the package's own form: schema ``screenproof-samples/1``, every number to full precision.

``{"schema", "names": [n], "wavelengths": {"start", "stop", "step"}, "reflectance": [n][w],
"colorimetry": {"xyz": [n][3], "light", "observer"}, "condition": {"geometry", "filter", "backing", "instrument",
"date"}, "device": {"channels": [c], "values": [n][c]}, "repeatability", "fluorescent", "doubt": {"repeatability":
one, [n] or [n][w], "correlation" [nm], "scale", "zero", "wavelength" [nm], "readings": one or [n], "instrument",
"stated"}}``; without curves the doubt has "repeatability", "agreement" (in each of L*, a*, b*), "readings",
"instrument", "stated". Reflectance factors are fractions, Y of the perfect diffuser is 100, device values 0..1. A
part that is not known is left out.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from screenproof.errors import InputError, did_you_mean
from screenproof.formats._assemble import finish
from screenproof.formats._repeats import Readers
from screenproof.formats._stated import Stated
from screenproof.formats._text import Problems, decode, read_bytes
from screenproof.spectra import Array, ColorimetryDoubt, Condition, Grid, ReflectanceDoubt, Samples, SamplesDoubt

SCHEMA = "screenproof-samples/1"

_KEYS = "schema names wavelengths reflectance colorimetry condition device repeatability fluorescent doubt".split()
_DOUBT_CURVES = {
    "repeatability": "repeatability",
    "correlation": "correlation_nm",
    "scale": "scale",
    "zero": "zero",
    "wavelength": "wavelength_nm",
    "readings": "readings",
    "instrument": "instrument",
    "stated": "stated",
}
_DOUBT_COLOURS = {
    "repeatability": "repeatability_de",
    "agreement": "agreement_de",
    "readings": "readings",
    "instrument": "instrument",
    "stated": "stated",
}
_CONDITION = ("geometry", "filter", "backing", "instrument", "date")


def samples_json(samples: Samples) -> str:
    """The JSON text of ``samples``; reading it back gives the same numbers to the last bit."""
    made: dict[str, Any] = {"schema": SCHEMA, "names": list(samples.names)}
    if samples.reflectance is not None and samples.grid is not None:
        grid = samples.grid
        made["wavelengths"] = {"start": float(grid.start), "stop": float(grid.stop), "step": float(grid.step)}
        made["reflectance"] = samples.reflectance.tolist()
    if samples.colorimetry is not None:
        own = samples.colorimetry
        made["colorimetry"] = {"xyz": own.xyz.tolist(), "light": own.light, "observer": own.observer}
    condition = {key: value for key in _CONDITION if (value := getattr(samples.condition, key)) is not None}
    if condition:
        made["condition"] = condition
    if samples.device is not None:
        made["device"] = {
            "channels": list(samples.device.channels),
            "values": samples.device.values.tolist(),
        }
    if samples.repeatability is not None:
        made["repeatability"] = float(samples.repeatability)
    if samples.fluorescent:
        made["fluorescent"] = True
    if samples.doubt is not None:
        keys = _DOUBT_CURVES if isinstance(samples.doubt, ReflectanceDoubt) else _DOUBT_COLOURS
        made["doubt"] = {key: _plain(getattr(samples.doubt, name)) for key, name in keys.items()}
    return json.dumps(made, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def read_json_samples(path: str | Path, data: bytes | None = None) -> Samples:
    """The samples of a JSON file of our own schema. Raises InputError with every problem of the file."""
    file = str(path)
    text, read_notes = decode(read_bytes(path) if data is None else data, path)
    problems = Problems(file)
    notes = list(read_notes)
    content = _parsed(text, problems)
    for key in content:
        if key not in _KEYS:
            problems.add(
                f"the key {key!r} is not known",
                field=key,
                expected=", ".join(_KEYS),
                mend=did_you_mean(key, _KEYS) or "remove it",
            )
    names = _names(content, problems)
    grid, reflectance = _spectra(content, len(names), problems)
    colorimetric, light, observer = _colorimetry(content, len(names), problems)
    channels, device = _device(content, len(names), problems)
    condition = _condition(content.get("condition", {}), problems)
    repeatability = content.get("repeatability")
    if repeatability is not None and not (_is_number(repeatability) and repeatability > 0):
        problems.add(f"repeatability is {repeatability!r}", field="repeatability", expected="a number above 0")
        repeatability = None
    fluorescent = content.get("fluorescent", False)
    if not isinstance(fluorescent, bool):
        problems.add(f"fluorescent is {fluorescent!r}", field="fluorescent", expected="true or false")
        fluorescent = False
    doubt = _doubt(content.get("doubt"), reflectance is not None, problems)
    if reflectance is None and not colorimetric and not problems:
        problems.add(
            "neither reflectance nor colorimetry",
            expected="'wavelengths' and 'reflectance', or 'colorimetry'",
            mend="add one of them",
        )
    problems.raise_any()
    samples = finish(
        file=file,
        readers=Readers.single(names),
        grid=grid,
        reflectance=reflectance,
        unit="fraction",
        colorimetric=colorimetric,
        channels=channels,
        device=device,
        stated=Stated(
            condition=condition,
            light=light,
            observer=observer,
            device_scale=1.0,
            xyz_scale=100.0,
            repeatability=repeatability,
            fluorescent=fluorescent,
        ),
        problems=problems,
        notes=notes,
    )
    return samples if doubt is None else _doubted(samples, doubt, problems)


def _plain(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray) else value


def _doubt(said: Any, spectral: bool, problems: Problems) -> SamplesDoubt | None:
    """The object ``doubt``: every number in it, and every key, is checked."""
    if said is None:
        return None
    keys = _DOUBT_CURVES if spectral else _DOUBT_COLOURS
    if not isinstance(said, dict):
        problems.add("the doubt is no object", field="doubt", expected='{"repeatability": 0.001, ...}')
        return None
    values: dict[str, Any] = {}
    for key, value in said.items():
        if key not in keys:
            problems.add(
                f"the key {key!r} is not known" + (" of samples without curves" if key in _DOUBT_CURVES else ""),
                field=f"doubt.{key}",
                expected=", ".join(keys),
                mend=did_you_mean(key, keys) or "remove it",
            )
        elif key in ("instrument", "stated"):
            if isinstance(value, str):
                values[keys[key]] = value
            else:
                problems.add(f"{value!r} is no text", field=f"doubt.{key}", expected="a text")
        else:
            try:
                values[keys[key]] = np.array(value, dtype=np.float64) if isinstance(value, list) else float(value)
            except (TypeError, ValueError):
                problems.add(f"{key} is no number", field=f"doubt.{key}", expected="a number, or one a sample")
    if problems:
        return None
    try:
        if "readings" in values and not isinstance(values["readings"], np.ndarray):
            values["readings"] = int(values["readings"]) if values["readings"].is_integer() else values["readings"]
        made = ReflectanceDoubt(**values) if spectral else ColorimetryDoubt(**values)
        return made
    except InputError as error:
        for problem in error.problems:
            problems.add(problem.what, field=f"doubt.{problem.field}", expected=problem.expected)
        return None


def _doubted(samples: Samples, doubt: SamplesDoubt, problems: Problems) -> Samples:
    try:
        return replace(samples, doubt=doubt)
    except InputError as error:
        for problem in error.problems:
            problems.add(problem.what, field=f"doubt.{problem.field}", expected=problem.expected)
        problems.raise_any()
        raise


def _parsed(text: str, problems: Problems) -> dict[str, Any]:
    def refuse(word: str) -> Any:
        raise ValueError(word)

    try:
        content = json.loads(text, parse_constant=refuse)
    except json.JSONDecodeError as error:
        problems.add(
            f"the JSON is damaged: {error.msg}",
            line=error.lineno,
            expected="well-formed JSON to its last bracket",
            mend="write the file again: it may be cut short",
        )
        problems.raise_any()
        raise
    except (ValueError, RecursionError) as error:
        what = "nested too deeply" if isinstance(error, RecursionError) else f"{error} is no reading"
        problems.add(what, expected="finite numbers", mend="measure the sample again, or leave it out")
        problems.raise_any()
        raise
    if not isinstance(content, dict) or content.get("schema") != SCHEMA:
        said = content.get("schema") if isinstance(content, dict) else None
        problems.add(
            f"JSON of another kind (schema {said!r})" if said else "JSON of another kind (no schema)",
            field="schema",
            expected=repr(SCHEMA),
            mend="give samples as CSV, CGATS, CxF3, or the JSON that this package writes",
        )
        problems.raise_any()
    return dict(content)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _names(content: dict[str, Any], problems: Problems) -> list[str]:
    names = content.get("names")
    if not isinstance(names, list) or not names or not all(isinstance(n, str) and n for n in names):
        problems.add(
            "no list of names" if not isinstance(names, list) else "a name is missing or is no text",
            field="names",
            expected="a list with a name for each sample",
        )
        return []
    for name in sorted({n for n in names if names.count(n) > 1}):
        problems.add(
            f"the name {name!r} stands {names.count(name)} times",
            field="names",
            expected="every name once",
            mend="give each sample its own name",
        )
    return names


def _block(value: Any, rows: int, columns: int | None, field: str, problems: Problems) -> Array | None:
    """A list of ``rows`` lists of numbers as an array; every wrong row and cell is a problem of its own."""
    if not isinstance(value, list) or (rows and len(value) != rows):
        problems.add(
            f"{len(value)} rows for {rows} names" if isinstance(value, list) else "no list of rows",
            field=field,
            expected=f"{rows} rows" if rows else "a list of rows",
        )
        return None
    width = columns if columns is not None else max((len(r) for r in value if isinstance(r, list)), default=0)
    good = True
    for i, row in enumerate(value):
        if not isinstance(row, list) or len(row) != width:
            count = len(row) if isinstance(row, list) else "no"
            problems.add(f"{count} numbers", field=f"{field}[{i}]", expected=f"a list of {width} numbers")
            good = False
            continue
        for j, cell in enumerate(row):
            if not _is_number(cell):
                problems.add(f"{cell!r} is no number", field=f"{field}[{i}][{j}]", expected="a number")
                good = False
    return np.array(value, dtype=np.float64) if good and value else None


def _spectra(content: dict[str, Any], count: int, problems: Problems) -> tuple[Grid | None, Array | None]:
    if "reflectance" not in content and "wavelengths" not in content:
        return None, None
    said = content.get("wavelengths")
    if not isinstance(said, dict) or not all(_is_number(said.get(k)) for k in ("start", "stop", "step")):
        problems.add(
            "the wavelengths are not stated" if said is None else "the wavelengths are incomplete",
            field="wavelengths",
            expected='{"start": 400, "stop": 700, "step": 10} in nm',
        )
        return None, None
    try:
        grid = Grid(float(said["start"]), float(said["stop"]), float(said["step"]))
    except InputError as error:
        for problem in error.problems:
            problems.add(
                problem.what, field="wavelengths", expected=problem.expected, mend="correct start, stop or step"
            )
        return None, None
    return grid, _block(content.get("reflectance"), count, grid.count, "reflectance", problems)


def _colorimetry(
    content: dict[str, Any], count: int, problems: Problems
) -> tuple[dict[str, Array], tuple[str, int] | None, tuple[str, int] | None]:
    own = content.get("colorimetry")
    if own is None:
        return {}, None, None
    if not isinstance(own, dict) or not all(isinstance(own.get(k), str) for k in ("light", "observer")):
        problems.add(
            "the light and observer of the XYZ are not stated",
            field="colorimetry",
            expected='{"xyz": [...], "light": "D50", "observer": "cie1931"}',
        )
        return {}, None, None
    xyz = _block(own.get("xyz"), count, 3, "colorimetry.xyz", problems)
    return ({} if xyz is None else {"xyz": xyz}), (own["light"], 0), (own["observer"], 0)


def _device(content: dict[str, Any], count: int, problems: Problems) -> tuple[tuple[str, ...], Array | None]:
    own = content.get("device")
    if own is None:
        return (), None
    channels = own.get("channels") if isinstance(own, dict) else None
    if not isinstance(channels, list) or not channels or not all(isinstance(c, str) for c in channels):
        problems.add(
            "the channels are not named",
            field="device",
            expected='{"channels": ["C", "M", "Y", "K"], "values": [...]}',
        )
        return (), None
    return tuple(channels), _block(own.get("values"), count, len(channels), "device.values", problems)


def _condition(said: Any, problems: Problems) -> Condition:
    if not isinstance(said, dict):
        problems.add("the condition is no object", field="condition", expected='{"filter": "M1", ...}')
        return Condition()
    for key, value in said.items():
        if key not in _CONDITION or not isinstance(value, str):
            problems.add(f"{key!r}: {value!r}", field="condition", expected=f"texts for {', '.join(_CONDITION)}")
    try:
        return Condition(**{k: v for k, v in said.items() if k in _CONDITION and isinstance(v, str)})
    except InputError as error:
        for problem in error.problems:
            problems.add(problem.what, field="condition.filter", expected=problem.expected)
        return Condition()
