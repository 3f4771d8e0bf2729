"""The job's lights, observers and displays as the records of a result."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.proof.result import (
    DisplayRecord,
    LightRecord,
    ObserverRecord,
    Pair,
    StandardGamut,
    Triple,
)
from screenproof.report.plain import plain

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.job import Job
    from screenproof.proof import Viewing
    from screenproof.questions.tables import DisplayTable
    from screenproof.spectra import Array, Light, Observer


def triple(values: Array) -> Triple:
    """Three numbers of an array as plain floats."""
    x, y, z = (float(value) for value in values)
    return x, y, z


def pair(values: Array) -> Pair:
    """Two numbers of an array as plain floats."""
    u, v = (float(value) for value in values)
    return u, v


def temperature(light: Light) -> float | None:
    """Correlated colour temperature [K], or None where the light is too far from any black body."""
    from screenproof.spectra import cct_duv
    from screenproof.spectra.light_check import FAR_FROM_LOCUS

    kelvin, distance = cct_duv(light)
    return kelvin if abs(distance) <= FAR_FROM_LOCUS else None


def light_record(light: Light, observer: Observer, job: Job | None = None) -> LightRecord:
    """A light, with its xy for ``observer``."""
    from screenproof.appearance import xyz_to_xy
    from screenproof.spectra import white_point

    source = light.source if job is None else job.as_named(light.source)
    words = light.label if light.label and light.label != light.name else ""
    source = "; ".join(part for part in (words, source) if part)
    # The job's own name heads the page's columns; what the light is stands with its source.
    return LightRecord(
        name=light.name,
        label=light.name,
        source=source,
        xy=pair(xyz_to_xy(white_point(light, observer))),
        cct=temperature(light),
        illuminance=light.illuminance,
    )


def observer_record(observer: Observer) -> ObserverRecord:
    """An observer."""
    return ObserverRecord(observer.name, observer.label or observer.name, observer.kind)


def display_record(display: Display, table: DisplayTable, viewing: Viewing, job: Job) -> DisplayRecord:
    """A display as it stands in its room, its u'v' and outline brought to the viewing light."""
    from screenproof.appearance import xyz_to_xy
    from screenproof.proof import lc_outline, primaries_uv

    primaries, white = primaries_uv(display, viewing)
    view = display.seen_by(viewing.observer)
    red, green, blue = (pair(primary) for primary in primaries)
    return DisplayRecord(
        name=display.name,
        label=display.label,
        kind=display.kind,
        luminance=float(display.luminance),
        contrast=None if display.contrast is None else float(display.contrast),
        white_xy=pair(xyz_to_xy(view.white)),
        primaries_uv=(red, green, blue),
        white_uv=pair(white),
        spectral=display.spectral,
        bits=table.bits or job.viewing.bits,
        lc_outline=lc_outline(display, viewing),
        notes=renamed_notes(display.notes, job),
        fit=None if display.fit is None else plain(display.fit.as_dict()),
        source=job.as_named(display.source),
    )


def standard_gamuts(viewing: Viewing) -> tuple[StandardGamut, ...]:
    """The triangles of the standard displays. BT.709 has the primaries of sRGB and is left out."""
    from screenproof.additive import GAMUT_STANDARDS, standard_display
    from screenproof.proof import primaries_uv

    found = []
    for name in GAMUT_STANDARDS:
        if name != "bt709":
            red, green, blue = (pair(primary) for primary in primaries_uv(standard_display(name), viewing)[0])
            found.append(StandardGamut(name, (red, green, blue)))
    return tuple(found)


def renamed_notes(notes: Iterable[Note], job: Job) -> tuple[Note, ...]:
    """Notes whose file is named as the job names it, whatever folder the job was run from."""
    return tuple(note if note.file is None else replace(note, file=job.as_named(note.file)) for note in notes)
