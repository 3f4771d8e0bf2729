"""Displays, lights, observers, samples and presses from what a person names: a standard, a technology, or a file.

The job file and the direct commands open their inputs here, so that both accept the same and complain alike.
"""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import InputError, Note, bad, nearest

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.formats import LibraryFile
    from screenproof.questions.tables import DisplayTable
    from screenproof.spectra import Light, Observer, Samples
    from screenproof.subtractive import Press


def existing_file(named: str, folder: Path | None = None) -> Path:
    """The file that ``named`` means, relative to ``folder``.

    Raises InputError when it is not there (with the nearest name that is), is a folder, or may not be read.
    """
    path = Path(named) if folder is None else folder / named
    try:
        there, folder_there = path.exists(), path.is_dir()
    except (OSError, ValueError):
        # A name with a zero byte, or longer than the system takes, names no file.
        there = folder_there = False
    if folder_there:
        raise bad(f"{named} is a folder, not a file", mend="name one file in it")
    if not there:
        near = nearest(path.name, _listing(path.parent))
        mend = f"did you mean {(Path(named).parent / near).as_posix()!r}?" if near else None
        if mend is None and folder is not None:
            mend = f"paths count from the folder of the job file, {folder.as_posix()}"
        raise bad(f"there is no file {named!r}", mend=mend or "check the path")
    if not os.access(path, os.R_OK):
        raise bad(f"{named} may not be read by you", mend="change its permissions")
    return path


def _listing(folder: Path) -> list[str]:
    try:
        return sorted(entry.name for entry in folder.iterdir())
    except (OSError, ValueError):
        return []


def looks_like_file(text: str) -> bool:
    """Whether a person who writes this means a file: it is there, or it has a separator or a suffix."""
    try:
        if Path(text).exists():
            return True
    except (OSError, ValueError):
        return True
    return "/" in text or os.sep in text or bool(Path(text).suffix)


def open_press(named: str, folder: Path | None = None, *, n: float | None = None) -> Press:
    """A press from its JSON, or fitted to a characterisation. ``n``: Yule-Nielsen factor of that fit."""
    from screenproof.formats import is_press, read_characterisation, read_press
    from screenproof.subtractive import fit_press

    path = existing_file(named, folder)
    if is_press(path):
        if n is not None:
            raise bad(f"{named} is fitted already", file=path, field="n", mend="leave n out, or fit it again")
        press = read_press(path)
    else:
        press = fit_press(read_characterisation(path), n=n)
    return replace(press, name=press.name or Path(named).stem)


def open_samples(named: str, folder: Path | None = None) -> Samples:
    """Measured samples from a file; ``-`` is standard input."""
    from screenproof.formats import read_samples

    if named == "-" and not (folder or Path()).joinpath("-").exists():
        return _from_standard_input()
    return read_samples(existing_file(named, folder))


def _from_standard_input() -> Samples:
    """What comes in on standard input, as if it were a file of that name."""
    from screenproof.formats import read_samples

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / STANDARD_INPUT
        place.write_bytes(sys.stdin.buffer.read())
        try:
            found = read_samples(place)
        except InputError as error:
            shown = (replace(p, file=STANDARD_INPUT if p.file == str(place) else p.file) for p in error.problems)
            raise InputError(shown) from None
        notes = tuple(replace(note, file=STANDARD_INPUT) if note.file else note for note in found.notes)
        return replace(found, source=STANDARD_INPUT, notes=notes)


STANDARD_INPUT = "standard input"


def open_library(named: str, folder: Path | None = None) -> LibraryFile:
    """A library of pigments, dyes or inks from letdowns, or from its JSON."""
    from screenproof.formats import read_library

    return read_library(existing_file(named, folder))


def without_selector(named: str) -> str:
    """A file's name without the ``#name`` that picks one light of several in it."""
    base, mark, _ = named.rpartition("#")
    return base if mark and not Path(named).exists() else named


def open_light(named: str, folder: Path | None = None) -> Light:
    """A light by its standard name, or from a file. A name goes before a file of that name."""
    from screenproof.spectra import light, light_names

    # Names such as FL3.1 have a dot, which is no suffix.
    standard = named.strip().upper() in {name.upper() for name in light_names()}
    if not standard and looks_like_file(without_selector(named)):
        return light_and_notes(named, folder)[0]
    return light(named)


def light_and_notes(named: str, folder: Path | None = None) -> tuple[Light, tuple[Note, ...]]:
    """A measured light from a file, ``file#name`` where it has several, and what is odd about it.

    Raises InputError for a light by which nothing can be seen, as its readers do for what they cannot use.
    """
    from screenproof.formats.lights import read_light_noted
    from screenproof.spectra.light_check import check_visible

    base = without_selector(named)
    path = existing_file(base, folder)
    light, notes = read_light_noted(f"{path}{named[len(base) :]}")
    check_visible(light)
    return light, notes


def open_observer(named: str, folder: Path | None = None) -> Observer:
    """An observer by its standard name, an eye such as ``age=60,field=2``, or a camera's curves from a file.

    A name goes before a file of that name. What was assumed of the name is in the observer's notes.
    """
    from screenproof.spectra import is_standard, observer

    # The dot of age=32.5 begins no suffix.
    eye = is_standard(named.strip()) or ("=" in named and not Path(named).exists())
    if looks_like_file(named) and not eye:
        from screenproof.formats import read_camera

        return read_camera(existing_file(named, folder))
    return observer(named)


def display_source(named: str, folder: Path | None = None) -> dict[str, str]:
    """How a job would write the display that a person names: a standard, a technology, a profile or readings."""
    from screenproof.additive import STANDARD_DISPLAYS, TECHNOLOGIES

    wanted = named.strip().lower()
    if wanted in STANDARD_DISPLAYS:
        return {"name": wanted, "standard": wanted}
    if wanted in TECHNOLOGIES:
        return {"name": wanted, "technology": wanted}
    if looks_like_file(named):
        key = "profile" if is_profile(existing_file(named, folder)) else "readings"
        return {"name": Path(named).stem or "display", key: named}
    known = [*STANDARD_DISPLAYS, *TECHNOLOGIES]
    near = nearest(named, known)
    raise bad(
        f"no display is called {named!r}, and there is no such file",
        field="display",
        expected=f"{', '.join(known)}, an ICC profile, or a file of readings",
        mend=f"did you mean {near!r}?" if near else "name a display or a file",
    )


def is_profile(path: Path) -> bool:
    """Whether a file is an ICC profile: 'acsp' at byte 36 (ICC.1:2022, 7.2), or so its suffix says."""
    with path.open("rb") as stream:
        head = stream.read(40)
    return head[36:40] == b"acsp" or path.suffix.lower() in (".icc", ".icm")


def build_display(table: DisplayTable, folder: Path | None = None) -> Display:
    """The display that a job's table describes, without its room light. Raises InputError as its source does."""
    from screenproof import additive

    if table.standard is not None:
        display = additive.standard_display(
            table.standard, curve=table.curve, luminance=table.luminance, black=table.black
        )
    elif table.profile is not None:
        from screenproof.formats import read_profile

        display = read_profile(existing_file(str(table.profile), folder))
    elif table.readings is not None:
        from screenproof.formats import read_readings

        readings = read_readings(existing_file(str(table.readings), folder))
        display = additive.fit_display(readings, table.name)
    elif table.technology is not None:
        display = additive.modelled_display(
            table.technology, curve=table.curve, luminance=table.luminance, black=table.black
        )
    else:
        display = _from_primaries(table, folder)
    if table.luminance is not None and (table.profile is not None or table.readings is not None):
        # What was assumed of the luminance is not assumed any more.
        kept = tuple(note for note in display.notes if "cd/m2 is taken" not in note.what)
        display = replace(display.with_luminance(table.luminance), notes=kept)
    return replace(display, name=table.name, label=table.label or display.label or table.name)


PLAUSIBLE_LUMINANCE = (1.0, 20000.0)
"""cd/m2 of a display's white. Spectra that give another are not in W/(sr m2 nm)."""


def _from_primaries(table: DisplayTable, folder: Path | None) -> Display:
    """A display from the spectra of its red, green and blue, and of its black where a fourth column is given."""
    import numpy as np

    from screenproof.additive import display_from_primaries, named_transfer
    from screenproof.formats import read_lights

    assert table.primaries is not None
    path = existing_file(str(table.primaries), folder)
    lights, notes = read_lights(path)
    by_name = {light.name.strip().lower(): light for light in lights}
    found = [by_name.get(name) or by_name.get(name[0]) for name in ("red", "green", "blue")]
    if any(light is None for light in found) and len(lights) == 3:
        found = list(lights)
    black = by_name.get("black") or by_name.get("k")
    if any(light is None for light in found):
        raise bad(
            f"the columns are {', '.join(light.name for light in lights)}",
            file=path,
            expected="three spectra called red, green and blue, and black if it was measured",
            mend="name the columns so",
        )
    spectra = np.stack([light.power for light in found if light is not None])
    grid = lights[0].grid
    curve = table.curve or "gamma2.2"
    # The curve may need the levels; a first display tells the luminance that the spectra have by themselves.
    bare = display_from_primaries(spectra, grid, named_transfer("gamma2.2", 100.0, 0.0), name=table.name)
    if table.luminance is None and not PLAUSIBLE_LUMINANCE[0] <= bare.luminance <= PLAUSIBLE_LUMINANCE[1]:
        raise bad(
            f"the spectra give a white of {bare.luminance:.3g} cd/m2",
            file=path,
            expected="spectral radiances in W/(sr m2 nm), or relative ones and the luminance of the white",
            mend="add luminance = ... in cd/m2 to the display",
        )
    level = bare.luminance if table.luminance is None else table.luminance
    transfer = named_transfer(curve, level, table.black or 0.0)
    dark = black.power if black is not None and table.black is None else float(table.black or 0.0)
    return display_from_primaries(
        spectra,
        grid,
        transfer,
        black=dark,
        luminance=table.luminance,
        name=table.name,
        source=str(path),
        notes=notes,
    )
