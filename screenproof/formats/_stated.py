"""What a file states about its measurements, from comments or keywords, in one vocabulary."""

from __future__ import annotations

import re
from dataclasses import dataclass

from screenproof.errors import InputError, Note, nearest
from screenproof.formats._doubt import StatedDoubt, stated_doubt
from screenproof.formats._text import Problems, number
from screenproof.spectra import Condition, light, observer_names, stated_observer

Found = dict[str, tuple[str, int]]
"""Statements by canonical key: the text and the line on which it stands."""

KEYS: dict[str, str] = {
    "geometry": "geometry",
    "measurement_geometry": "geometry",
    "filter": "filter",
    "measurement_condition": "filter",
    "condition": "filter",
    "backing": "backing",
    "sample_backing": "backing",
    "instrument": "instrument",
    "instrumentation": "instrument",
    "date": "date",
    "created": "date",
    "measured": "date",
    "fluorescent": "fluorescent",
    "fluorescence": "fluorescent",
    "repeatability": "repeatability",
    "repeats": "repeats",
    "readings": "readings",
    "correlation": "correlation",
    "correlation_nm": "correlation",
    "agreement": "agreement",
    "agreement_scale": "agreement_scale",
    "agreement_zero": "agreement_zero",
    "agreement_wavelength": "agreement_wavelength",
    "agreement_wavelength_nm": "agreement_wavelength",
    "instrument_class": "instrument_class",
    "instrument_id": "instrument_id",
    "unit": "unit",
    "units": "unit",
    "reflectance_unit": "unit",
    "light": "light",
    "illuminant": "light",
    "illumination_name": "light",
    "observer": "observer",
    "observer_angle": "observer",
    "device_scale": "device_scale",
    "device_channels": "device_channels",
    "xyz_scale": "xyz_scale",
    "kind": "kind",
    "illuminance": "illuminance",
    "name": "name",
    "label": "label",
    "title": "title",
    "description": "title",
    "channels": "channels",
    "tints": "tints",
    "tint_unit": "tints",
    "medium": "medium",
    "base": "base",
    "extender": "extender",
    "concentration": "concentration",
    "concentrations": "concentration",
    "amounts": "amounts",
    "k1": "k1",
    "k2": "k2",
    "refractive_index": "refractive_index",
    "specular": "specular",
    "thickness": "thickness",
}
"""Keys of a ``# key: value`` comment or keyword, lower case with underscores, and what each is called here."""

DEFAULT_LIGHT, DEFAULT_OBSERVER = "D50", "cie1931"
"""What print measurements are computed for when a file does not say (ISO 13655)."""

_PERCENT = {"percent", "%", "pct", "per cent", "0..100", "0-100"}
_FRACTION = {"fraction", "factor", "reflectance factor", "decimal", "dec", "1", "0..1", "0-1", "ratio"}
_YES, _NO = {"yes", "true", "1", "y"}, {"no", "false", "0", "n", "none"}


@dataclass(frozen=True)
class Stated:
    """What a file states; None where it is silent. Light and observer are as written, with their line: what
    they mean matters only to a file with XYZ or Lab (see :func:`known_light`)."""

    condition: Condition = Condition()
    unit: str | None = None
    light: tuple[str, int] | None = None
    observer: tuple[str, int] | None = None
    device_scale: float | None = None
    device_channels: tuple[str, ...] = ()
    channels: tuple[str, ...] = ()
    xyz_scale: float | None = None
    repeatability: float | None = None
    repeats: bool | None = None
    doubt: StatedDoubt = StatedDoubt()
    fluorescent: bool = False


def canonical(key: str) -> str | None:
    """The canonical name of a metadata key, or None when it is none of ours."""
    return KEYS.get(re.sub(r"[\s\-]+", "_", key.strip().lower()))


def near_miss(key: str) -> str | None:
    """A metadata key that ``key`` was probably meant to be; None for free text."""
    plain = re.sub(r"[\s\-]+", "_", key.strip().lower())
    if len(plain) < 4 or plain in KEYS:
        return None
    return nearest(plain, KEYS, 0.82)


def state(found: Found, problems: Problems, notes: list[Note]) -> Stated:
    """Make sense of ``found``. What cannot be understood goes to ``problems`` or, if harmless, to ``notes``."""

    def text(key: str) -> str | None:
        return found[key][0] if key in found else None

    def line(key: str) -> int | None:
        return found[key][1] if key in found and found[key][1] > 0 else None

    unit = None
    if (said := text("unit")) is not None:
        unit = unit_of(said)
        if unit is None:
            problems.add(
                f"unit {said!r} is not known",
                line=line("unit"),
                expected="'percent' or 'fraction'",
                mend="state '# unit: percent' or '# unit: fraction'",
            )
    chosen: dict[str, bool | None] = {}
    for key in ("fluorescent", "repeats"):
        said = text(key)
        word = None if said is None else said.strip().lower()
        chosen[key] = None if word is None else word in _YES
        if word is not None and word not in _YES and word not in _NO:
            problems.add(f"{key} is {said!r}", line=line(key), expected="'yes' or 'no'")
    numbers: dict[str, float | None] = {}
    for key in ("repeatability", "device_scale", "xyz_scale"):
        value = number(said) if (said := text(key)) is not None else None
        if text(key) is not None and (value is None or not value > 0):
            problems.add(f"{key.replace('_', ' ')} is {text(key)!r}", line=line(key), expected="a number above 0")
            value = None
        numbers[key] = value
    return Stated(
        condition=Condition(
            geometry=text("geometry"),
            filter=_filter(text("filter"), line("filter"), problems.file, notes),
            backing=text("backing"),
            instrument=text("instrument"),
            date=text("date"),
        ),
        unit=unit,
        light=found.get("light"),
        observer=found.get("observer"),
        device_scale=numbers["device_scale"] or tint_scale(found, problems),
        channels=channels_of(found),
        device_channels=tuple((text("device_channels") or "").split("|")) if text("device_channels") else (),
        xyz_scale=numbers["xyz_scale"],
        repeatability=numbers["repeatability"],
        repeats=chosen["repeats"],
        doubt=stated_doubt(found, problems),
        fluorescent=bool(chosen["fluorescent"]),
    )


def channels_of(found: Found) -> tuple[str, ...]:
    """The columns that a file says hold tints, ``# channels: Cyan, Ember orange``; empty where it is silent."""
    text = found["channels"][0] if "channels" in found else ""
    return tuple(name.strip().strip("\"'") for name in re.split(r"[,;|]", text) if name.strip())


def tint_scale(found: Found, problems: Problems) -> float | None:
    """What stands for a solid by ``# tints: percent`` or ``fraction``: 100 or 1, None where the file is silent."""
    if "tints" not in found:
        return None
    text, line = found["tints"]
    unit = unit_of(text)
    if unit is None:
        problems.add(
            f"tints in {text!r}",
            line=line or None,
            expected="'percent' or 'fraction'",
            mend="state '# tints: percent' or '# tints: fraction'",
        )
    return 1.0 if unit == "fraction" else 100.0


def unit_of(text: str) -> str | None:
    """``'percent'`` or ``'fraction'`` for the ways of writing them, else None."""
    word = text.strip().lower()
    return "percent" if word in _PERCENT else "fraction" if word in _FRACTION else None


def filter_of(text: str) -> str | None:
    """The measurement condition M0 to M3 of ISO 13655 that ``text`` names, or None."""
    # Not the m2 of a paper's 115 g/m2.
    named = set(re.findall(r"(?<![A-Z0-9/])M[0-3](?![A-Z0-9])", text.upper().replace("_", " ")))
    if len(named) == 1:
        return str(named.pop())
    return None


def _filter(text: str | None, line: int | None, file: str, notes: list[Note]) -> str | None:
    if text is None:
        return None
    found = filter_of(text)
    if found is None and text.strip().lower() not in ("", "none", "no", "unknown"):
        notes.append(
            Note(
                "odd",
                f"the measurement condition {text!r} is none of M0, M1, M2, M3 and is left unsaid",
                file=file,
                line=line,
            )
        )
    return found


def light_of(text: str) -> str | None:
    """The standard light that ``text`` names ('ILLUMINANT, D50', 'F11', 'CIE A'), or None."""
    word = re.sub(r"(?i)\b(cie|illuminant|standard|light|source)\b", " ", text).replace(",", " ")
    word = "".join(word.split()).strip("\"'")
    fluorescent = re.fullmatch(r"(?i)f(\d{1,2}(?:\.\d{1,2})?)", word)
    for candidate in (word, f"FL{fluorescent[1]}" if fluorescent else ""):
        if candidate:
            try:
                return light(candidate).name
            except InputError:
                continue
    return None


def known_light(stated: tuple[str, int] | None, problems: Problems) -> str | None:
    """The standard light that a file states, None where it is silent; an unknown one is a problem."""
    if stated is None:
        return None
    text, line = stated
    name = light_of(text)
    if name is None:
        problems.add(
            f"the light {text!r} is no standard light",
            line=line or None,
            field="light",
            expected="a CIE light such as D50, D65, A or FL11",
            mend="state the light for which XYZ or Lab were computed, e.g. '# light: D50'",
        )
    return name


def known_observer(stated: tuple[str, int] | None, problems: Problems) -> str | None:
    """The standard observer that a file states, None where it is silent; an unknown one is a problem."""
    if stated is None:
        return None
    text, line = stated
    name = stated_observer(text)
    if name is None:
        problems.add(
            f"the observer {text!r} is no standard observer",
            line=line or None,
            field="observer",
            expected=f"one of {', '.join(observer_names())}, or an angle of 2 or 10 degrees",
            mend="state the observer for which XYZ or Lab were computed, e.g. '# observer: cie1931'",
        )
    return name
