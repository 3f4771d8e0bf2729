"""Samples from CxF3 (ISO 17972-1), through the typed bindings of colour-cxf.

The document is first read by :mod:`screenproof.formats._xml`, which refuses entities and knows the lines; only
then the bindings see it. A file may hold several readings of each object (under M0, M1 and M2, say): the first
specification that all objects share is read, and ``file.cxf#ID`` names another by its Id or condition.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np

from screenproof.errors import Note
from screenproof.formats._assemble import finish, grid_of
from screenproof.formats._cxf_spec import filter_of_specification, stated_of
from screenproof.formats._names import unique_names
from screenproof.formats._repeats import Readers
from screenproof.formats._text import Problems, number, read_bytes, split_selector
from screenproof.formats._xml import Tree, local, namespace, parse_xml
from screenproof.spectra import Array, Grid, Samples

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"

_COLOURS: dict[str, tuple[str, Callable[[Any], tuple[Any, ...]]]] = {
    "ColorCielab": ("lab", lambda c: (c.l, c.a, c.b)),
    "ColorCiexyz": ("xyz", lambda c: (c.x, c.y, c.z)),
    "ColorCiexyY": ("xyy", lambda c: (c.x, c.y, c.colorexchangeformat_com_cx_f3_core_y)),
    "ColorCielch": ("lch", lambda c: (c.l, c.c, c.h)),
}
_NUMERIC = {
    *("ReflectanceSpectrum", "L", "A", "B", "C", "H", "X", "Y", "Z", "x", "y"),
    *("Cyan", "Magenta", "Yellow", "Black", "R", "G", "Percentage"),
}


@dataclass
class _Object:
    """One object of the file: its typed binding and its line."""

    typed: Any
    line: int
    label: str

    def values(self, kind: str) -> list[Any]:
        holder = self.typed.color_values
        return [] if holder is None else [c for c in holder.choice if type(c).__name__ == kind]


def read_cxf(path: str | Path, data: bytes | None = None) -> Samples:
    """The samples of a CxF3 file: reflectance spectra where the objects have them, else Lab, XYZ, xyY or LCh.

    Raises InputError with every problem of the file; what was assumed or odd is in ``notes``.
    """
    place, selector = split_selector(path)
    file = str(place)
    raw = read_bytes(place) if data is None else data
    tree = parse_xml(raw, place)
    problems = Problems(file)
    notes: list[Note] = []
    elements = _check_tree(tree, problems)
    document = _bind(tree, raw, problems, notes)
    objects = [
        _Object(typed, tree.line(element) or 0, typed.name or typed.id or "")
        for element, typed in zip(elements, document.resources.object_collection.object_value, strict=True)
    ]
    specifications = _specifications(document, problems)
    problems.raise_any()
    spectral = [o for o in objects if o.values("ReflectanceSpectrum")]
    kind = (
        "ReflectanceSpectrum"
        if spectral
        else next((name for name in _COLOURS if any(o.values(name) for o in objects)), None)
    )
    if kind is None:
        _nothing_usable(objects, problems)
        raise AssertionError("unreachable")
    chosen = _choose(objects, kind, selector, specifications, problems, notes)
    used, picked = _picked(objects, kind, chosen, notes, file)
    problems.raise_any()
    specification = specifications.get(chosen)
    stated = stated_of(specification, document, used[0].typed, problems)
    named = unique_names(
        [o.label for o in used],
        [o.typed.id or "" for o in used],
        [o.line for o in used],
        lambda i: _content(picked[i]),
        problems,
        notes,
        repeats=stated.repeats,
    )
    used, picked = [used[i] for i in named.rows], [picked[i] for i in named.rows]
    lines = [o.line for o in used]
    grid: Grid | None = None
    reflectance: Array | None = None
    unit: str | None = None
    if kind == "ReflectanceSpectrum":
        grid, reflectance = _spectra(picked, used, specification, problems)
        unit = _unit(reflectance, file, notes)
    channels, device = _device(used)
    return finish(
        file=file,
        readers=Readers(named.names, named.groups, lines),
        grid=grid,
        reflectance=reflectance,
        unit=unit,
        colorimetric=_colorimetry(used, chosen, kind),
        channels=channels,
        device=device,
        stated=stated,
        problems=problems,
        notes=notes,
    )


def _check_tree(tree: Tree, problems: Problems) -> list[Element]:
    """The Object elements, after root, namespace and every number in them are found right."""
    root = tree.root
    if local(root) != "CxF":
        problems.add(
            f"the XML begins with <{local(root)}>",
            line=tree.line(root),
            expected=f"<CxF> of the namespace {NAMESPACE}",
            mend="export the colours as CxF3 (ISO 17972)",
        )
        problems.raise_any()
    if namespace(root) != NAMESPACE:
        problems.add(
            f"CxF of the namespace {namespace(root) or '(none)'!r}",
            line=tree.line(root),
            expected=NAMESPACE,
            mend="export as CxF version 3: versions 1 and 2 are other formats",
        )
        problems.raise_any()
    tag = f"{{{NAMESPACE}}}"
    objects = root.findall(f"{tag}Resources/{tag}ObjectCollection/{tag}Object")
    if not objects:
        problems.add(
            "no object in the file",
            line=tree.line(root),
            expected="Resources with an ObjectCollection of at least one Object",
            mend="export again with the colours chosen",
        )
        problems.raise_any()
    for element in objects:
        label = element.get("Name") or element.get("Id") or "object without a name"
        for part in element.iter():
            if local(part) not in _NUMERIC or len(part):
                continue
            words = (part.text or "").split()
            wrong = [word for word in words if number(word) is None]
            several = len(words) > 1 and local(part) != "ReflectanceSpectrum"
            if wrong or several or not words:
                what = f"{wrong[0]!r} is no number" if wrong else f"{len(words)} numbers" if words else "no number"
                problems.add(
                    f"{what} ({local(part)})",
                    line=tree.line(part),
                    field=label,
                    expected="numbers with a decimal point, separated by blanks",
                    mend="correct the value, or remove the object",
                )
    problems.raise_any()
    return objects


def _bind(tree: Tree, raw: bytes, problems: Problems, notes: list[Note]) -> Any:
    """The typed document. Parts that the standard leaves to others are not handed to the bindings."""
    import logging
    import warnings
    from xml.etree.ElementTree import tostring

    from colour_cxf import read_cxf as bind
    from xsdata.exceptions import ParserError

    # The bindings log what they cannot place (stray text); the numbers that we need were checked before.
    logging.getLogger("xsdata").setLevel(logging.ERROR)

    for part in tree.root.findall(f"{{{NAMESPACE}}}CustomResources"):
        tree.root.remove(part)
        notes.append(Note("info", "CustomResources are not read", file=problems.file, line=tree.line(part)))
    try:
        # A date in a wrong form is a warning of the bindings and nothing to us; numbers were checked before.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return bind(tostring(tree.root))
    except ParserError as error:
        what = str(error).replace(f"{{{NAMESPACE}}}", "")
        problems.add(
            f"not as the schema of CxF3 has it: {what}",
            expected="the elements and attributes of ISO 17972-1",
            mend="remove the element, or export the file again",
        )
        problems.raise_any()
        raise


def _specifications(document: Any, problems: Problems) -> dict[str, Any]:
    collection = document.resources.color_specification_collection
    return {} if collection is None else {spec.id: spec for spec in collection.color_specification}


def _nothing_usable(objects: list[_Object], problems: Problems) -> None:
    kinds = sorted(
        {
            type(value).__name__
            for o in objects
            for holder in (o.typed.color_values, o.typed.device_color_values)
            if holder is not None
            for value in holder.choice
        }
    )
    problems.add(
        "no object has a reflectance or colorimetry"
        + (f"; there is {', '.join(kinds)}" if kinds else "; there are no colour values at all"),
        line=objects[0].line,
        expected="ReflectanceSpectrum, ColorCIELab, ColorCIEXYZ, ColorCIExyY or ColorCIELCh",
        mend="export again with measured values",
    )
    problems.raise_any()


def _choose(
    objects: list[_Object],
    kind: str,
    selector: str | None,
    specifications: dict[str, Any],
    problems: Problems,
    notes: list[Note],
) -> str:
    """The Id of the specification to read: the selected one, else the first that most objects share."""
    counts: dict[str, int] = {}
    for o in objects:
        for identifier in dict.fromkeys(value.color_specification or "" for value in o.values(kind)):
            counts[identifier] = counts.get(identifier, 0) + 1
    conditions = {identifier: filter_of_specification(specifications.get(identifier)) for identifier in counts}
    if selector is not None:
        for identifier in counts:
            if selector in (identifier, conditions[identifier]):
                return identifier
        problems.add(
            f"no reading under the specification {selector!r}",
            expected=" or ".join(f"{i}" + (f" ({c})" if c else "") for i, c in conditions.items()),
            mend="name one of them after the #",
        )
        problems.raise_any()
    most = max(counts.values())
    chosen = next(identifier for identifier, count in counts.items() if count == most)
    if len(counts) > 1:
        said = ", ".join(f"{i} ({conditions[i] or 'condition not stated'})" for i in counts)
        notes.append(
            Note(
                "assumed",
                f"the objects have readings under {said}; {chosen} was read",
                file=problems.file,
                mend=f"name another as {Path(problems.file).name}#ID",
            )
        )
    return chosen


def _picked(
    objects: list[_Object], kind: str, chosen: str, notes: list[Note], file: str
) -> tuple[list[_Object], list[Any]]:
    """Objects with a value of ``kind`` under the chosen specification; the others are said and left out."""
    used, picked = [], []
    for o in objects:
        values = [value for value in o.values(kind) if (value.color_specification or "") == chosen]
        if values:
            # Several values of one kind under one specification are repeated readings.
            used.extend([o] * len(values))
            picked.extend(values)
            continue
        other = o.typed.color_values
        has = "" if other is None else ", ".join(sorted({type(v).__name__ for v in other.choice}))
        notes.append(
            Note(
                "odd",
                f"no {kind} under {chosen}" + (f" (only {has})" if has else "") + "; left out",
                about=o.label,
                file=file,
                line=o.line,
            )
        )
    return used, picked


def _content(value: Any) -> tuple[Any, ...]:
    from dataclasses import astuple

    return tuple(str(part) for part in astuple(value))


def _spectra(
    picked: list[Any], used: list[_Object], specification: Any, problems: Problems
) -> tuple[Grid | None, Array | None]:
    measurement = None if specification is None else specification.measurement_spec
    wavelengths = None if measurement is None else measurement.wavelength_range
    increment = None if wavelengths is None else number(str(wavelengths.increment))
    first = None if wavelengths is None else number(str(wavelengths.start_wl))
    if increment is None or increment <= 0:
        problems.add(
            "the step between wavelengths is not stated",
            line=used[0].line,
            expected='<WavelengthRange StartWL="380" Increment="10"/> in the specification of the spectra',
            mend="export again with the measurement specification",
        )
        problems.raise_any()
    assert increment is not None
    starts = [first if value.start_wl is None else number(str(value.start_wl)) for value in picked]
    start, count = starts[0], len(picked[0].value)
    if start is None:
        problems.add(
            "the first wavelength is not stated",
            line=used[0].line,
            field=used[0].label,
            expected="StartWL of the spectrum or of the WavelengthRange",
            mend="export again with the measurement specification",
        )
        problems.raise_any()
    assert start is not None
    for o, value, at in zip(used, picked, starts, strict=True):
        if at != start or len(value.value) != count:
            problems.add(
                f"{len(value.value)} bands from {at if at is None else f'{at:g}'} nm, "
                f"the first object has {count} from {start:g} nm",
                line=o.line,
                field=o.label,
                expected="the same wavelengths for all objects of a specification",
                mend="measure or export them alike, or split the file",
            )
    grid = grid_of([start + increment * i for i in range(count)], problems, line=used[0].line)
    problems.raise_any()
    return grid, np.array([value.value for value in picked], dtype=np.float64)


def _unit(reflectance: Array | None, file: str, notes: list[Note]) -> str:
    """Fraction, as the standard has it, unless most spectra can only be percent."""
    if reflectance is None or 2 * np.count_nonzero(reflectance.max(axis=1) > 2.0) < len(reflectance):
        return "fraction"
    notes.append(
        Note(
            "odd",
            f"reflectances up to {reflectance.max():.4g} are taken for percent, "
            "though the standard has 1.0 for 100 percent",
            file=file,
        )
    )
    return "percent"


def _colorimetry(used: list[_Object], chosen: str, kind: str) -> dict[str, Array]:
    """Colorimetry by space that every object has under the chosen specification."""
    found: dict[str, Array] = {}
    for name, (space, parts) in _COLOURS.items():
        rows = []
        for i, o in enumerate(used):
            values = [v for v in o.values(name) if (v.color_specification or "") == chosen]
            if not values:
                break
            nth = sum(other is o for other in used[:i][-len(values) :])
            rows.append(parts(values[min(nth, len(values) - 1)]))
        if len(rows) == len(used) and (kind == "ReflectanceSpectrum" or rows):
            found[space] = np.array(rows, dtype=np.float64)
    return found


def _device(used: list[_Object]) -> tuple[tuple[str, ...], Array | None]:
    """Device values that every object has alike, as percent: CMYK with or without spot colours, RGB, or tags."""
    rows: list[list[float]] = []
    channels: tuple[str, ...] = ()
    for o in used:
        own, row = _device_of(o.typed)
        if not own or (channels and own != channels):
            return (), None
        channels = own
        rows.append(row)
    return channels, np.array(rows, dtype=np.float64)


def _device_of(typed: Any) -> tuple[tuple[str, ...], list[float]]:
    """Channels and percentages of one object, empty where it has none."""
    holder = typed.device_color_values
    for value in [] if holder is None else holder.choice:
        kind = type(value).__name__
        if kind in ("ColorCmyk", "ColorCmykplusN"):
            spots = getattr(value, "spot_color", [])
            row = [value.cyan, value.magenta, value.yellow, value.black]
            row += [spot.percentage for spot in spots]
            return ("C", "M", "Y", "K", *(spot.name for spot in spots)), [float(v) for v in row]
        if kind == "ColorRgb":
            top = number(str(value.max_range)) or 255.0
            return ("R", "G", "B"), [100.0 * float(c) / top for c in (value.r, value.g, value.b)]
    for collection in typed.tag_collection:
        values = [number(tag.value or "") for tag in collection.tag]
        if collection.name == "Device" and values and None not in values:
            return tuple(tag.name for tag in collection.tag), [100.0 * v for v in values if v is not None]
    return (), []
