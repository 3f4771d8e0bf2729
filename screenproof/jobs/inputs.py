"""The samples, lights, observers and displays of a job, read from what its tables name.

Each reader gives None (or leaves out) what could not be read and writes down why; the names that could not
be read are still known, so that a table which refers to one of them is not blamed as well.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from screenproof.errors import InputError, nearest
from screenproof.jobs import schema
from screenproof.jobs.fluorescence import check_readings
from screenproof.jobs.job import SampleGroup
from screenproof.jobs.positions import spelled
from screenproof.jobs.reading import Reading
from screenproof.questions.instruments import display_with_instrument, with_instrument
from screenproof.questions.sources import build_display, existing_file, light_and_notes, open_light, open_samples
from screenproof.questions.tables import DISPLAY_SOURCES, DisplayTable, RoomTable

V = TypeVar("V")

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.spectra import Light, Observer, Samples


def read_groups(
    reading: Reading, tables: list[schema.SamplesTable | None], viewing: schema.ViewingTable | None
) -> list[SampleGroup | None]:
    """One group per samples file, in the job's order."""
    groups: list[SampleGroup | None] = []
    for index, table in enumerate(tables):
        if table is None:
            groups.append(None)
            continue
        path = ("samples", index)
        reading.say(f"reading {table.file}")
        reading.uses(table.file)
        samples = reading.attempt((*path, "file"), partial(open_samples, table.file, reading.folder))
        if samples is not None:
            samples = reading.within((*path, "instrument"), partial(with_instrument, samples, table.instrument))
        without = _same_samples(reading, (*path, "uv_excluded"), table.uv_excluded)
        lamp = _same_samples(reading, (*path, "incandescent"), table.incandescent)
        group = None if samples is None else _group(reading, index, table, samples, viewing)
        if group is not None:
            group = replace(group, uv_excluded=without, incandescent=lamp)
            check_readings(reading, path, group)
        groups.append(group)
    return groups


def _same_samples(reading: Reading, path: tuple[str | int, ...], file: str | None) -> Samples | None:
    """Readings of the same samples in another file."""
    if file is None:
        return None
    reading.say(f"reading {file}")
    reading.uses(file)
    return reading.attempt(path, partial(open_samples, file, reading.folder))


def _group(
    reading: Reading,
    index: int,
    table: schema.SamplesTable,
    samples: Samples,
    viewing: schema.ViewingTable | None,
) -> SampleGroup | None:
    """The wanted samples of one file, with its stock."""
    before = len(reading.problems)
    names = list(samples.names)
    wanted = table.only if table.only is not None else names
    for place, name in enumerate(wanted):
        if name not in names:
            _no_such_sample(reading, ("samples", index, "only", place), name, names, table.file)
    for place, name in enumerate(wanted):
        if table.only is not None and name in wanted[:place]:
            reading.problem(f"{name!r} is asked for twice", ("samples", index, "only", place), mend="remove one")
    if table.stock is not None and table.stock not in names:
        _no_such_sample(reading, ("samples", index, "stock"), table.stock, names, table.file)
    if viewing is not None and viewing.object_white == "stock" and table.stock is None:
        reading.problem(
            "the objects' white is to be their own stock, but no stock is named here",
            ("samples", index, "stock"),
            mend='add stock = "its name in the file", or set object_white = "diffuser"',
        )
    if len(reading.problems) > before:
        return None
    stock = None if table.stock is None else samples.select([names.index(table.stock)])
    chosen = samples if table.only is None else samples.select([names.index(name) for name in wanted])
    return SampleGroup(chosen, table.group or Path(table.file).stem, table.file, table.stock, stock)


def _no_such_sample(reading: Reading, path: tuple[str | int, ...], name: str, names: list[str], file: str) -> None:
    near = nearest(name, names)
    reading.problem(
        f"{file} has no sample {name!r}",
        path,
        expected=f"one of {', '.join(names[:8])}{', ...' if len(names) > 8 else ''}",
        mend=f"did you mean {near!r}?" if near else None,
    )


def read_lights(
    reading: Reading, tables: list[schema.LightTable | None], viewing: schema.ViewingTable | None
) -> dict[str, Light]:
    """The job's lights by name, the viewing light first."""
    from screenproof.spectra import light_names

    standard = {name.lower() for name in light_names()}
    lights: dict[str, Light] = {}
    for index, table in enumerate(tables):
        if table is None:
            continue
        path = ("lights", index)
        if table.name.lower() in standard and (table.standard or "").lower() != table.name.lower():
            reading.problem(
                f"{table.name!r} is the name of a standard light, but this light is another",
                (*path, "name"),
                mend="give it a name of its own",
            )
            continue
        reading.uses(table.file)
        key = "standard" if table.file is None else "file"
        found = reading.attempt((*path, key), partial(_light, table, reading))
        if found is not None:
            lights[table.name] = found
    wanted = viewing.light if viewing is not None else None
    failed = {table.name for table in tables if table is not None} - set(lights)
    if wanted is not None and wanted not in lights and wanted not in failed and None not in tables:
        found = reading.attempt(("viewing", "light"), partial(_standard_or_own, wanted, lights))
        if found is not None:
            lights[found.name] = found
            wanted = found.name
    if wanted in lights:
        lights = {wanted: lights[wanted], **lights}
    return lights


def _light(table: schema.LightTable, reading: Reading) -> Light:
    if table.file is not None:
        found, notes = light_and_notes(table.file, reading.folder)
        reading.notes += notes
    else:
        assert table.standard is not None
        found = open_light(table.standard)
    if table.illuminance is not None:
        found = found.with_illuminance(table.illuminance)
    return replace(found, name=table.name)


def _standard_or_own(named: str, lights: dict[str, Light]) -> Light:
    """A standard light; near names are sought among the job's own lights too."""
    from screenproof.spectra import light

    for own in lights:
        if own.lower() == named.lower():
            return lights[own]
    try:
        return light(named)
    except InputError as error:
        near = nearest(named, list(lights))
        if near is None:
            raise
        raise InputError(replace(p, mend=f"did you mean {near!r}?") for p in error.problems) from None


def read_observers(
    reading: Reading, tables: list[schema.ObserverTable | None], viewing: schema.ViewingTable | None
) -> dict[str, Observer]:
    """The job's observers by name, the viewing observer first: '2' and '10' go by the names that they mean."""
    from screenproof.spectra import is_standard, standard_name

    observers: dict[str, Observer] = {}
    called: dict[str, str] = {}
    for index, table in enumerate(tables):
        if table is None:
            continue
        path = ("observers", index)
        if (table.file is not None or table.eye) and is_standard(table.name):
            given, thing = ("a file", "camera") if table.file is not None else (" and ".join(table.eye), "eye")
            reading.problem(
                f"{table.name!r} is the name of a standard observer, but {given} is given",
                (*path, "name"),
                mend=f"give the {thing} a name of its own",
            )
            continue
        reading.uses(table.file)
        before = len(reading.problems)
        for part, value in table.eye.items():
            reading.attempt((*path, part), partial(eye_observer, {part: value}))
        if len(reading.problems) > before:
            continue
        key = "name" if table.file is None else "file"
        found = reading.attempt((*path, key), partial(_observer, table, reading.folder))
        if found is None:
            continue
        first = called.setdefault(found.name, table.name)
        if first.lower() != table.name.lower():
            what = f"{table.name!r} and {first!r} are one observer, {found.name}"
            reading.problem(what, (*path, "name"), mend="remove one")
            continue
        observers[found.name] = found
        _tell_name(reading, (*path, "name"), found)
    wanted = standard_name(viewing.observer) if viewing is not None else None
    failed = {standard_name(table.name) for table in tables if table is not None} - set(observers)
    if viewing is not None and wanted not in observers and wanted not in failed and None not in tables:
        found = reading.attempt(("viewing", "observer"), partial(_named_observer, viewing.observer))
        if found is not None:
            observers[found.name] = found
            _tell_name(reading, ("viewing", "observer"), found)
    if wanted in observers:
        if observers[wanted].kind != "eye":
            reading.problem(
                f"{wanted!r} is a camera: what a person sees cannot be judged by it",
                ("viewing", "observer"),
                mend="set an eye here and list the camera in [[observers]]",
            )
        observers = {wanted: observers[wanted], **observers}
    return observers


def _tell_name(reading: Reading, path: tuple[str | int, ...], observer: Observer) -> None:
    """Take what was assumed of an observer's name into the job's notes, with its place."""
    reading.notes += [replace(note, about=spelled(path)) for note in observer.notes]


def eye_observer(eye: dict[str, float]) -> Observer:
    """The average eye of an age and a field, or of a shift of its cones, as a job's table says it."""
    from screenproof.spectra import physiological_observer

    return physiological_observer(**eye)


def _observer(table: schema.ObserverTable, folder: Path) -> Observer:
    if table.eye:
        eye = eye_observer(table.eye)
        return replace(eye, name=table.name, label=f"{table.name}: {eye.label}")
    if table.file is None:
        return _named_observer(table.name)
    from screenproof.formats import read_camera

    found = read_camera(existing_file(table.file, folder))
    return replace(found, name=table.name, label=found.label or table.name)


def _named_observer(named: str) -> Observer:
    from screenproof.spectra import observer

    # An eye that is named by its age keeps the words of the job: they are what the job's figures are called by.
    return observer(named) if "=" not in named else replace(observer(named), name=named)


def named(things: dict[str, V], name: str) -> V | None:
    """The light or observer of that name, in any case."""
    return next((thing for key, thing in things.items() if key.lower() == name.lower()), None)


def in_own_light(
    groups: list[SampleGroup | None], tables: list[schema.LightTable | None]
) -> list[SampleGroup | None]:
    """Samples of colorimetry only, told in the job's name for the standard light that they were computed for."""
    names = {
        table.standard.upper(): table.name for table in reversed(tables) if table is not None and table.standard
    }

    def told(samples: Samples) -> Samples:
        if samples.is_spectral or samples.colorimetry is None:
            return samples
        own = names.get(samples.colorimetry.light.upper(), samples.colorimetry.light)
        return replace(samples, colorimetry=replace(samples.colorimetry, light=own))

    def group_told(group: SampleGroup) -> SampleGroup:
        stock = None if group.stock_samples is None else told(group.stock_samples)
        return replace(group, samples=told(group.samples), stock_samples=stock)

    return [None if group is None else group_told(group) for group in groups]


def viewings(
    reading: Reading,
    groups: list[SampleGroup | None],
    table: schema.ViewingTable | None,
    lights: dict[str, Light],
    observers: dict[str, Observer],
) -> tuple[Viewing, ...]:
    """The viewing of each group; that each group's samples can be seen in it is checked."""
    from screenproof.proof import Viewing
    from screenproof.proof.match import seen_xyz
    from screenproof.spectra import standard_name

    light = None if table is None else named(lights, table.light)
    observer = None if table is None else named(observers, standard_name(table.observer))
    if table is None or light is None or observer is None:
        return ()
    found: list[Viewing] = []
    for index, group in enumerate(groups):
        if group is None:
            continue
        stock = group.stock_samples if table.object_white == "stock" else None
        before = len(reading.problems)
        viewing = reading.attempt(
            ("viewing",),
            partial(
                Viewing,
                light,
                observer,
                table.basis,
                adaptation=table.adaptation,
                object_white=stock,
                surround=table.surround,
            ),
        )
        if viewing is None:
            # The situation is the same for every group: its mistakes are said once.
            return () if len(reading.problems) > before else tuple(found)
        reading.attempt(("samples", index, "file"), partial(seen_xyz, group.samples, viewing))
        found.append(viewing)
    return tuple(found)


def read_displays(
    reading: Reading, tables: list[DisplayTable | None], lights: dict[str, Light]
) -> list[Display | None]:
    """One display per table, with its room light on it."""
    displays: list[Display | None] = []
    for index, table in enumerate(tables):
        if table is None:
            displays.append(None)
            continue
        source = next(key for key in DISPLAY_SOURCES if getattr(table, key) is not None)
        if source in ("profile", "readings", "primaries"):
            reading.uses(getattr(table, source))
        reading.say(f"display {table.name}")
        display = reading.attempt(("displays", index, source), partial(build_display, table, reading.folder))
        if display is not None:
            place = ("displays", index, "instrument")
            display = reading.within(place, partial(display_with_instrument, display, table.instrument))
        if display is not None and table.room is not None:
            display = reading.attempt(
                ("displays", index, "room", "light"), partial(_in_room, display, table.room, lights)
            )
        displays.append(display)
    return displays


def _in_room(display: Display, room: RoomTable, lights: dict[str, Light]) -> Display:
    falling = lights.get(room.light) or _standard_or_own(room.light, lights)
    return display.with_room(room.illuminance, falling, room.reflectance)
