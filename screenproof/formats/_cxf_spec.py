"""What a CxF3 colour specification says of light, observer and measurement, in the words of the package."""

from __future__ import annotations

import re
from typing import Any

from screenproof.formats._doubt import stated_doubt
from screenproof.formats._stated import Stated, filter_of
from screenproof.formats._text import Problems, number
from screenproof.spectra import Condition

FILTERS = {
    "M0_INCANDESCENT": "M0",
    "M1_DAYLIGHT": "M1",
    "M2_UVEXCLUDED": "M2",
    "M3_POLARIZED": "M3",
}


def filter_of_specification(specification: Any) -> str | None:
    """M0 to M3 of a specification: from the illumination of its device, else its filter or polariser."""
    measurement = None if specification is None else specification.measurement_spec
    device = None if measurement is None else measurement.device
    if device is None:
        return None
    illumination = device.device_illumination
    if illumination is not None and (name := FILTERS.get(getattr(illumination.value, "name", ""))):
        return name
    if device.device_polarization:
        return "M3"
    uv = device.device_filter
    return "M2" if uv is not None and getattr(uv.value, "name", "") == "FILTER_UVEXCLUDED" else None


def stated_of(specification: Any, document: Any, first: Any, problems: Problems) -> Stated:
    """What a specification, the file's tags and the first object state."""
    measurement = None if specification is None else specification.measurement_spec
    tristimulus = None if specification is None else specification.tristimulus_spec
    tags = {}
    if document.file_information is not None:
        tags = {tag.name: tag.value for tag in document.file_information.tag}
    device = None if measurement is None else measurement.device
    instrument = None
    if device is not None:
        parts = (device.manufacturer, device.model, device.serial_number)
        instrument = " ".join(part for part in parts if part) or None
    date = tags.get("Date")
    # Our own writer puts a date there only because the schema wants one.
    ours = document.file_information is not None and document.file_information.creator == "screenproof"
    if date is None and first.creation_date is not None and not ours:
        date = str(first.creation_date.value)
    # A tag is written InstrumentClass, a comment instrument_class.
    words = {re.sub(r"(?<=[a-z])(?=[A-Z])", "_", str(name)).lower(): str(value) for name, value in tags.items()}
    repeats = words.get("repeats", "").strip().lower()
    return Stated(
        condition=Condition(
            geometry=tags.get("Geometry") or _geometry(measurement),
            filter=filter_of_specification(specification) or filter_of(tags.get("Filter", "")),
            backing=None if measurement is None else measurement.backing,
            instrument=tags.get("Instrument") or instrument,
            date=date,
        ),
        light=_named(tristimulus and tristimulus.illuminant_or_custom_illuminant),
        observer=_named(tristimulus and tristimulus.observer),
        device_scale=100.0,
        repeatability=number(tags.get("Repeatability", "")),
        repeats=None if not repeats else repeats in ("yes", "true", "1"),
        doubt=stated_doubt({key: (value, 0) for key, value in words.items()}, problems),
        fluorescent=tags.get("Fluorescent") == "yes",
    )


def _named(part: Any) -> tuple[str, int] | None:
    """The name of an illuminant or observer: its own where it is custom, else the enumerated one."""
    if part is None:
        return None
    value = getattr(part, "value", None)
    enumerated = str(getattr(value, "value", value or ""))
    name = part.name if enumerated.startswith("Custom") or not enumerated else enumerated
    return (name.replace("_", " "), 0) if name else None


def _geometry(measurement: Any) -> str | None:
    """The geometry in the notation of ISO 13655 and CIE 15: 45a:0, 45x:0, di:8, de:8."""
    choice = (
        None if measurement is None or measurement.geometry_choice is None else measurement.geometry_choice.choice
    )
    if choice is None:
        return None
    if type(choice).__name__ == "SingleAngleType":
        sort = getattr(choice.single_angle_configuration, "value", None)
        letter = {"Annular": "a", "Uniplanar": "x"}.get(getattr(sort, "value", ""), "")
        angles = [number(str(angle)) for angle in (choice.illumination_angle, choice.measurement_angle)]
        return None if None in angles else f"{angles[0]:g}{letter}:{angles[1]:g}"
    name = str(getattr(choice, "value", choice))
    known = {"Specular_Included": "di:8", "Specular_Excluded": "de:8"}
    return known.get(name, None if name.lower() == "unknown" or name == "" else name)
