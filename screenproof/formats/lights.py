"""Lights from CSV (wavelength and power, one or more lights) and from IES TM-27 spectral files (SPDX XML)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from screenproof.errors import Note, bad
from screenproof.formats._columns import ascending, read_curves
from screenproof.formats._text import Problems, number, read_bytes, split_selector
from screenproof.formats._xml import Tree, local, parse_xml
from screenproof.spectra import Array, Grid, Light

NEEDED_NM = (450.0, 650.0)
"""A light that is not known here is not known at all: past its ends it is only held."""

WANTED_NM = (400.0, 700.0)
"""A light that stops short of this is said."""

FEW, TOO_FEW = 31, 16
"""Fewer readings from 400 to 700 nm than the first (10 nm apart) are said, than the second (20 nm) refused."""

HUGE = 1e30
"""A figure past this is a slip, and its square would leave the range of a double."""

_NOISE = 0.01
_EMITTED = ("flux", "intensity", "irradiance", "radiance", "exitance", "relative", "other")


def read_light(path: str | Path) -> Light:
    """The light of a file; ``file.csv#name`` picks one where the file has several columns of power.

    Its name is the column's, or what the file calls itself, or the file's own name. Past its ends it is held
    and between its readings it is straight. Raises InputError with every problem of the file.
    """
    return read_light_noted(path)[0]


def read_light_noted(path: str | Path) -> tuple[Light, tuple[Note, ...]]:
    """As :func:`read_light`, with what is odd or was assumed."""
    place, selector = split_selector(path)
    lights, notes = read_lights(place)
    if selector is None:
        if len(lights) == 1:
            return lights[0], notes
        names = ", ".join(light.name for light in lights[:12])
        raise bad(
            f"the file holds {len(lights)} lights",
            file=place,
            expected="the name of one of them after a #",
            mend=f"name one as {place.name}#{lights[0].name}; there are {names}",
        )
    for light in lights:
        if selector.lower() == light.name.lower():
            return light, tuple(note for note in notes if note.about in (None, light.name))
    raise bad(
        f"no light is called {selector!r}",
        file=place,
        expected="one of " + ", ".join(light.name for light in lights[:12]),
        mend="correct the name after the #",
    )


def read_lights(path: str | Path) -> tuple[tuple[Light, ...], tuple[Note, ...]]:
    """All lights of a file, and what is odd about them or was assumed."""
    data = read_bytes(path)
    start = data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1]
    if start == b"<" or data.startswith((b"\xff\xfe<", b"\xfe\xff\x00<")):
        return _read_spdx(data, path)
    return _read_csv(data, path)


def _read_csv(data: bytes, path: str | Path) -> tuple[tuple[Light, ...], tuple[Note, ...]]:
    file, stem = str(path), Path(path).stem
    problems = Problems(file)
    curves = read_curves(data, path, ("light", "lights", "primaries"), problems)
    notes = curves.notes
    called = curves.found["name"][0] if "name" in curves.found else stem
    count = curves.values.shape[1]
    if count == 1:
        names = [called]
    elif curves.names is not None:
        names = curves.names
        for name in sorted({n for n in names if names.count(n) > 1 or not n}):
            problems.add(
                f"the column name {name!r} stands {names.count(name)} times" if name else "a column has no name",
                expected="a name of its own for each light",
                mend="name the columns after the lights",
            )
    else:
        names = [str(i + 1) for i in range(count)]
        notes.append(
            Note(
                "assumed",
                f"{count} columns without names: the lights are called 1 to {count}",
                file=file,
                mend="add a first row: wavelength, then the name of each light",
            )
        )
    illuminance = _illuminance(curves.found.get("illuminance"), problems)
    label = curves.found.get("label", curves.found.get("title", ("", 0)))[0]
    lights = []
    if ascending(curves.nm, curves.lines, problems):
        for name, power in zip(names, curves.values.T, strict=True):
            made = _light(name, curves.nm, power, curves.lines, file, problems, notes)
            if made is not None:
                lights.append(replace(made, label=label, illuminance=illuminance))
    problems.raise_any()
    return tuple(lights), tuple(notes)


def _illuminance(said: tuple[str, int] | None, problems: Problems) -> float | None:
    if said is None:
        return None
    value = number(said[0].lower().removesuffix("lux").removesuffix("lx"))
    if value is None or not value > 0:
        problems.add(
            f"illuminance {said[0]!r}",
            line=said[1],
            expected="a number of lx above 0, such as '# illuminance: 500'",
        )
        return None
    return value


def _light(
    name: str,
    nm: Array,
    power: Array,
    lines: list[int] | list[int | None],
    file: str,
    problems: Problems,
    notes: list[Note],
) -> Light | None:
    """One light from its readings (m,), or None with the problems noted."""
    top = float(np.abs(power).max())
    negative = np.flatnonzero(power < 0)
    if top > HUGE:
        at = int(np.argmax(np.abs(power)))
        problems.add(
            f"a power of {power[at]:.4g} at {nm[at]:g} nm",
            field=name,
            line=lines[at],
            expected="a power that a lamp can have",
            mend="check the exponent",
        )
        return None
    if top == 0:
        problems.add(
            "a light of zeros",
            field=name,
            line=lines[0],
            expected="power above 0 somewhere",
            mend="check the column; measure again with the lamp on",
        )
        return None
    if negative.size and power.min() < -_NOISE * top:
        at = int(np.argmin(power))
        problems.add(
            f"negative power at {negative.size} wavelength(s), {power[at]:.4g} at {nm[at]:g} nm",
            field=name,
            line=lines[at],
            expected="power of 0 or more at every wavelength",
            mend="subtract the dark reading of the instrument, or measure again",
        )
        return None
    if nm[0] > NEEDED_NM[0] or nm[-1] < NEEDED_NM[1]:
        problems.add(
            f"the light is known only from {nm[0]:g} to {nm[-1]:g} nm",
            field=name,
            expected=f"at least {NEEDED_NM[0]:g} to {NEEDED_NM[1]:g} nm, better 380 to 780 nm",
            mend="measure the whole visible range",
        )
        return None
    step = float(np.diff(nm).max())
    inside = int(np.count_nonzero((nm >= WANTED_NM[0]) & (nm <= WANTED_NM[1])))
    # A light that is shorter than 400 to 700 nm is judged by how close its readings are.
    dense = inside * 300.0 / (min(nm[-1], WANTED_NM[1]) - max(nm[0], WANTED_NM[0]))
    if dense < TOO_FEW - 0.5:
        problems.add(
            f"{inside} readings from 400 to 700 nm, up to {step:g} nm apart, are too few for a light",
            field=name,
            expected="readings 20 nm apart or closer, better 5 nm or less",
            mend="export the light with a finer step",
        )
        return None

    def say(kind: str, what: str, mend: str | None = None) -> None:
        notes.append(Note("odd" if kind == "odd" else "info", what, about=name, file=file, mend=mend))

    if negative.size:
        say("odd", f"{negative.size} reading(s) a hair below zero are taken for zero", "subtract the dark reading")
    if nm[0] > WANTED_NM[0] or nm[-1] < WANTED_NM[1]:
        say("odd", f"known only from {nm[0]:g} to {nm[-1]:g} nm; held past its ends", "measure 380 to 780 nm")
    if dense < FEW - 0.5:
        say("odd", f"readings up to {step:g} nm apart: narrow lines fall between them", "export with 5 nm or less")
    if np.ptp(np.diff(nm)) <= 0.01:
        return Light(name, Grid.of(nm, file=file), power, source=file)
    say("info", "unevenly spaced readings were carried onto 1 nm by straight lines between them")
    return _evened(name, nm, power, file)


def _evened(name: str, nm: Array, power: Array, file: str) -> Light:
    """An uneven light on 1 nm: straight between its readings, averaged around each nm so that no line is lost."""
    first, last = np.ceil(10 * nm[0]), np.floor(10 * nm[-1])
    fine = np.arange(first, last + 1.0) / 10
    close = Light(name, Grid(first / 10, last / 10, 0.1), np.interp(fine, nm, power), source=file)
    whole = np.arange(np.ceil(fine[0]), np.floor(fine[-1]) + 1.0)
    return Light(name, Grid.of(whole), close.at(whole), source=file)


def _read_spdx(data: bytes, path: str | Path) -> tuple[tuple[Light, ...], tuple[Note, ...]]:
    """IES TM-27: Header, then SpectralDistribution with a SpectralData element per wavelength in nm."""
    file = str(path)
    tree = parse_xml(data, path)
    problems = Problems(file)
    notes: list[Note] = []
    root = tree.root
    if local(root) != "IESTM2714":
        problems.add(
            f"the XML begins with <{local(root)}>",
            line=tree.line(root),
            expected="<IESTM2714> (an IES TM-27 spectral file), or CSV with wavelength and power",
            mend="export the light as .spdx or CSV",
        )
        problems.raise_any()
    text = {
        local(part): (part.text or "").strip()
        for section in root
        if local(section) in ("Header", "SpectralDistribution")
        for part in section
        if local(part) != "SpectralData"
    }
    quantity = text.get("SpectralQuantity", "").lower()
    if quantity and quantity not in _EMITTED:
        problems.add(
            f"the spectral quantity is {quantity}: no light",
            expected="flux, intensity, irradiance, radiance, exitance or relative",
            mend="name a file that holds a lamp's spectrum",
        )
    nm, power, lines = _spectral_data(tree, problems)
    problems.raise_any()
    made = None
    if ascending(nm, lines, problems):
        made = _light(Path(path).stem, nm, power, lines, file, problems, notes)
    problems.raise_any()
    assert made is not None
    return (replace(made, label=text.get("Description", "")),), tuple(notes)


def _spectral_data(tree: Tree, problems: Problems) -> tuple[Array, Array, list[int | None]]:
    nm, power, lines = [], [], []
    elements = [e for e in tree.root.iter() if local(e) == "SpectralData"]
    if not elements:
        problems.add(
            "no SpectralData",
            line=tree.line(tree.root),
            expected='<SpectralData wavelength="400.0">0.034</SpectralData> for each wavelength',
            mend="export the file again with its spectrum",
        )
    for element in elements:
        at, value = number(element.get("wavelength", "")), number(element.text or "")
        if at is None or value is None:
            what = "no wavelength" if at is None else f"{(element.text or '').strip()!r} is no number"
            problems.add(
                what,
                line=tree.line(element),
                field="SpectralData",
                expected="a wavelength in nm and a number",
                mend="correct or remove the element",
            )
            continue
        nm.append(at)
        power.append(value)
        lines.append(tree.line(element))
    return np.array(nm), np.array(power), lines
