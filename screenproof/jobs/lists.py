"""The answers of the commands ``lights`` and ``observers``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screenproof.errors import InputError, Problem
from screenproof.questions.sources import open_light


def lights_answer(names: Sequence[str] | None = None) -> dict[str, Any]:
    """Name, words, xy for the 1931 observer and correlated colour temperature [K] of lights; by default all."""
    from screenproof.appearance import xyz_to_xy
    from screenproof.jobs.records import temperature
    from screenproof.spectra import light_names, observer, white_point

    eye = observer("cie1931")
    entries = []
    problems: list[Problem] = []
    for name in names or light_names():
        try:
            light = open_light(name)
        except InputError as error:
            problems += error.problems
            continue
        entries.append(
            {
                "name": light.name,
                "label": light.label,
                "xy": xyz_to_xy(white_point(light, eye)).tolist(),
                "cct": temperature(light),
                "range_nm": [light.grid.start, light.grid.stop, light.grid.step],
                "source": light.source,
            }
        )
    if problems:
        raise InputError(problems)
    return {"schema": "screenproof-lights/1", "observer": eye.name, "lights": entries}


def observers_answer(names: Sequence[str] | None = None) -> dict[str, Any]:
    """Name, words, field [deg], age [years] of observers, by default the standard ones; eyes such as age=60 too.

    Raises InputError with the mistakes of all names.
    """
    from screenproof.jobs.direct import plain_notes
    from screenproof.questions.sources import open_observer
    from screenproof.spectra import observer_names

    eyes = []
    problems: list[Problem] = []
    for name in names or observer_names():
        try:
            eyes.append(open_observer(name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return {
        "schema": "screenproof-observers/1",
        "observers": [
            {
                "name": eye.name,
                "label": eye.label,
                "field": eye.field,
                "age": eye.age,
                "kind": eye.kind,
                "source": eye.source,
            }
            for eye in eyes
        ],
        "notes": plain_notes(*(eye.notes for eye in eyes)),
    }
