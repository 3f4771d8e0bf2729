"""The answer of ``display check``: a screen's readings against the limits of a standard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screenproof.errors import Note, bad
from screenproof.jobs.direct import plain_notes
from screenproof.questions.sources import existing_file, looks_like_file, open_light
from screenproof.spectra.checks import RISK

if TYPE_CHECKING:
    from screenproof.additive.screen_check import ScreenCheck
    from screenproof.spectra import Light


def screen_check(
    file: str,
    against: str = "iso12646",
    *,
    curve: str | None = None,
    white: str | None = None,
    luminance: float | None = None,
    off: float | None = None,
    instrument: str | None = None,
    risk: float = RISK,
) -> ScreenCheck:
    """The check of a file of readings. Raises InputError as its inputs do."""
    from screenproof.additive.screen_check import check_screen
    from screenproof.formats import read_readings
    from screenproof.spectra.doubt import emission_class

    doubt = None if instrument is None else emission_class(instrument).emission
    readings = read_readings(existing_file(file))
    return check_screen(
        readings, against, curve=curve, white=_white(white), luminance=luminance, off=off, doubt=doubt, risk=risk
    )


def _white(text: str | None) -> Light | tuple[float, float] | None:
    """A white as it is written: a light's name or file, or x,y."""
    if text is None:
        return None
    parts = text.split(",")
    if len(parts) == 2 and not looks_like_file(text.replace(".", "")):
        try:
            return float(parts[0]), float(parts[1])
        except ValueError:
            raise bad(
                f"{text!r} is no chromaticity",
                field="--white",
                expected="a light such as D50 or D65, or x,y such as 0.3127,0.3290",
            ) from None
    return open_light(text)


def screen_check_answer(found: ScreenCheck, file: str, instrument: str | None, risk: float) -> dict[str, Any]:
    """A check as plain data."""
    counts = {
        status: sum(row.status == status for row in found.rows)
        for status in ("pass", "fail", "undecided", "not checked", "told")
    }
    return {
        "schema": "screenproof-display-check/1",
        "file": file,
        "against": found.against,
        "label": found.label,
        "observer": found.readings.observer,
        "instrument": instrument,
        "risk": risk,
        "readings": len(found.readings),
        "repeatability": None
        if found.repeats is None
        else {"luminance_percent": 100.0 * found.repeats[0], "xy": found.repeats[1]},
        "rows": [row.as_dict() for row in found.rows],
        "counts": counts,
        "notes": plain_notes(found.notes, _notes(found)),
    }


def _notes(found: ScreenCheck) -> list[Note]:
    notes = []
    if found.doubt is None and found.repeats is None:
        notes.append(
            Note(
                "assumed",
                "the doubt of the readings is not known: figures are compared with their limits as they are",
                mend="name the class of the instrument with --instrument, or read some colours again",
            )
        )
    elif found.doubt is None:
        notes.append(
            Note(
                "assumed",
                "how well the instrument agrees with others is not known: only the repeats of the readings count",
                mend="name its class with --instrument",
            )
        )
    notes.append(
        Note("info", "the room was not read; 'screenproof room' tells what its light does", about="room light")
    )
    return notes
