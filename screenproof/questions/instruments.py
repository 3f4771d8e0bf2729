"""Instruments as they are named: what is known of the doubt of samples and displays, put on them.

Who goes first, figure by figure: what the job says in numbers; what a file says, or its repeated readings tell;
the kind of instrument that the job names. A kind named by the job goes before one named by the file, and before a
repeatability that only a few repeated readings tell.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import InputError, Problem
from screenproof.questions.tables import InstrumentTable, ObjectInstrumentTable, ScreenInstrumentTable

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.spectra import Samples
    from screenproof.spectra.doubt import EmissionDoubt, SamplesDoubt

ENOUGH = 5
"""With so many readings beyond the first, what they tell goes before what a kind of instrument is taken to do."""

_OF_CURVES = {
    "repeatability": "repeatability",
    "correlation": "correlation_nm",
    "agreement_scale": "scale",
    "agreement_zero": "zero",
    "agreement_wavelength": "wavelength_nm",
}
_OF_LAB = {"repeatability": "repeatability_de", "agreement": "agreement_de"}
_OF_SCREENS = {
    "luminance": "luminance",
    "chromaticity": "chromaticity",
    "luminance_agreement": "luminance_agreement",
    "chromaticity_agreement": "chromaticity_agreement",
    "model": "model_de",
}


# Beyond these no instrument is of use (a choice, no source): most likely a percentage was written.
_MOST_OF_CURVES = {"repeatability": 0.1, "agreement_scale": 0.5, "agreement_zero": 0.1}
_MOST_OF_SCREENS = {"luminance": 0.5, "luminance_agreement": 0.5}


def with_instrument(samples: Samples, table: ObjectInstrumentTable | None) -> Samples:
    """The samples with the doubt that their file and ``instrument`` say.

    Raises InputError: ``field`` of each problem is the key that is wrong, None for the instrument as a whole.
    """
    from screenproof.spectra.doubt import ColorimetryDoubt, ReflectanceDoubt, doubt_of, instrument_class

    own = doubt_of(samples)
    if table is None:
        return replace(samples, doubt=own)
    problems: list[Problem] = []
    keys = _OF_CURVES if samples.is_spectral else _OF_LAB
    for key, value in table.figures().items():
        if key not in keys:
            has = "curves" if samples.is_spectral else "L*, a*, b* or XYZ only"
            problems.append(
                Problem(
                    f"{key} says nothing of these samples: their file has {has}",
                    field=key,
                    expected=", ".join(("kind", "id", "readings", *keys)),
                    mend="remove it",
                )
            )
        elif samples.is_spectral and value > _MOST_OF_CURVES.get(key, np.inf):
            problems.append(_percent_meant(key, value, _MOST_OF_CURVES[key]))
    kind = _kind(instrument_class, table, problems)
    empty: SamplesDoubt = ReflectanceDoubt() if samples.is_spectral else ColorimetryDoubt()
    of_kind = None if kind is None else kind.reflectance if samples.is_spectral else kind.colorimetry
    given = {keys[key]: value for key, value in table.figures().items()}
    start = own or empty
    made = _together(start, of_kind, given, table, int(np.sum(np.asarray(start.readings) - 1)))
    if not made.known:
        raise _nothing_known("these samples", table)
    return replace(samples, doubt=made)


def display_with_instrument(display: Display, table: ScreenInstrumentTable | None) -> Display:
    """The display with the doubt of its readings: repeats among them, what its fit misses, what is said of them.

    Raises InputError as :func:`with_instrument` does.
    """
    from screenproof.spectra.doubt import EmissionDoubt, emission_class

    own = display.doubt or doubt_of_fit(display)
    if table is None:
        return replace(display, doubt=own)
    problems = [
        _percent_meant(key, value, _MOST_OF_SCREENS[key])
        for key, value in table.figures().items()
        if value > _MOST_OF_SCREENS.get(key, np.inf)
    ]
    kind = _kind(emission_class, table, problems)
    given = {_OF_SCREENS[key]: value for key, value in table.figures().items()}
    again = 0 if display.fit is None else display.fit.readings - display.fit.patches
    made = _together(own or EmissionDoubt(), None if kind is None else kind.emission, given, table, again)
    if not made.known:
        raise _nothing_known("this display", table)
    return replace(display, doubt=made)


def doubt_of_fit(display: Display) -> EmissionDoubt | None:
    """What the readings of a display tell by themselves: how they repeat, and what the model misses.

    None where nothing was read twice: then how far a reading is right is not known at all.
    """
    from screenproof.spectra.doubt import EmissionDoubt

    fit = display.fit
    if fit is None or not fit.repeatability_percent:
        return None
    each = max(1, round(fit.readings / fit.patches))
    return EmissionDoubt(
        luminance=fit.repeatability_percent / 100.0,
        model_de=fit.held_out.mean,
        readings=each,
        stated="repeated readings",
    )


def _kind(known: Callable[[str], Any], table: InstrumentTable, problems: list[Problem]) -> Any:
    """The class of instrument that is named, None for none. Raises InputError with all problems so far."""
    found = None
    if table.kind is not None:
        try:
            found = known(table.kind)
        except InputError as error:
            problems += [replace(problem, field="kind") for problem in error.problems]
    if problems:
        raise InputError(problems)
    return found


def _nothing_known(what: str, table: InstrumentTable) -> InputError:
    said = f"an instrument is named, but nothing is known of how well it reads {what}"
    if table.readings is not None and table.id is None:
        said = f"{table.readings} readings of each are stated, but not how well one of them repeats"
    mend = "add kind = ... (reference, laboratory, production or basic), or its repeatability and agreement"
    return InputError(Problem(said, mend=mend))


def _percent_meant(key: str, value: float, most: float) -> Problem:
    return Problem(
        f"{value:g} is {value:.0%} of what is read, which no instrument is of use with",
        field=key,
        expected=f"a share of 1, at most {most:g}",
        mend=f"write {value / 100:g} if {value:g} percent are meant",
    )


def _together(own: Any, of_kind: Any, given: dict[str, float], table: Any, freedom: int) -> Any:
    """One doubt out of the file's (``own``, from ``freedom`` readings beyond the first of each), that of a kind,
    and the job's own figures."""
    weak = own.stated == "class" or (own.stated == "repeated readings" and freedom < ENOUGH)
    values: dict[str, Any] = {}
    for field in fields(own):
        mine = getattr(own, field.name)
        if field.name in given:
            values[field.name] = given[field.name]
        elif of_kind is not None and field.name not in ("readings", "instrument", "stated", "model_de"):
            silent = not np.any(np.asarray(mine) > 0) or not own.known
            repeats = field.name.startswith("repeatability") or field.name in ("luminance", "chromaticity")
            few = own.stated == "class" or (repeats and weak)
            values[field.name] = getattr(of_kind, field.name) if silent or few else mine
        else:
            values[field.name] = mine
    values["readings"] = own.readings if table.readings is None else table.readings
    values["instrument"] = own.instrument if table.id is None else table.id
    figures = bool(given) or table.readings is not None
    said = "job" if figures else own.stated if own.known and not weak else "class" if of_kind else own.stated
    return replace(own, **{**values, "stated": said})
