"""The unit of emitted light in a file of readings: stated, and checked against what displays show."""

from __future__ import annotations

import re

import numpy as np

from screenproof.errors import Note, NoteKind
from screenproof.formats._stated import Found
from screenproof.formats._text import Problems
from screenproof.spectra import Array, Grid, emission_xyz
from screenproof.spectra import observer as named_observer

_RADIANCE_UNITS = {"w": 1.0, "mw": 1e-3, "uw": 1e-6, "µw": 1e-6, "μw": 1e-6}
_LUMINANCE_WORDS = ("cd/m2", "cd/m^2", "cd/m²", "nit", "nits", "candela")
_APART_PERCENT = 3.0
_USUAL_WHITE = (5.0, 20000.0)


def radiance_unit(found: Found, problems: Problems) -> float:
    """Factor from the unit of the spectra to W/(sr m2 nm)."""
    said = found.get("unit")
    if said is None:
        return 1.0
    word = re.sub(r"[\s().*·]", "", said[0].lower()).replace("/", "")
    if any(unit.replace("/", "") in word for unit in _LUMINANCE_WORDS):
        return 1.0
    match = re.match(r"(mw|uw|µw|μw|w)(?=sr|m|cm|$)", word)
    if match is None or "cm" in word:
        problems.add(
            f"unit {said[0]!r} is not known",
            line=said[1],
            expected="'W/(sr m2 nm)' or 'mW/(sr m2 nm)' for spectra, 'cd/m2' for XYZ",
            mend="state the unit so, or convert the readings",
        )
        return 1.0
    return _RADIANCE_UNITS[match[1]]


def compare_spectra(
    grid: Grid,
    spectra: Array,
    xyz: Array | None,
    observer: str,
    drive: Array,
    file: str,
    notes: list[Note],
) -> None:
    """Say what XYZ beside the spectra, or the luminance that follows from them, show of a wrong unit."""
    own = emission_xyz(spectra, grid, named_observer(observer))
    brightest = int(np.argmax(own[:, 1]))
    if xyz is not None and np.isfinite(xyz[brightest]).all() and xyz[brightest, 1] > 0:
        apart = 100.0 * (own[brightest, 1] / xyz[brightest, 1] - 1.0)
        kind: NoteKind = "odd" if abs(apart) > _APART_PERCENT else "info"
        notes.append(
            Note(
                kind,
                f"both spectra and XYZ are given; the spectra are used (their brightest luminance is "
                f"{abs(apart):.1f} % {'above' if apart > 0 else 'below'} the XYZ)",
                file=file,
                mend="look at the unit of the spectra" if kind == "odd" else None,
            )
        )
    check_white(own, drive, file, notes)


def check_white(xyz: Array, drive: Array, file: str, notes: list[Note]) -> None:
    """Say when the white's luminance is unlike any display's, or exactly the 100 or 1 of a relative scale."""
    white = np.flatnonzero((drive >= 1.0 - 1e-9).all(axis=1))
    level = float(xyz[white, 1].mean()) if white.size else float(xyz[:, 1].max())
    if min(abs(level - 100.0), 100.0 * abs(level - 1.0)) < 0.005:
        notes.append(
            Note(
                "assumed",
                f"the white has a luminance of exactly {level:.4g}: relative values? They are taken for cd/m2",
                file=file,
                mend="give XYZ in cd/m2, or state the display's luminance",
            )
        )
    elif not _USUAL_WHITE[0] <= level <= _USUAL_WHITE[1] and level > 0:
        notes.append(
            Note(
                "odd",
                f"the brightest colour has {level:.3g} cd/m2, unlike any display",
                file=file,
                mend="look at the unit of the readings; '# unit: mW/(sr m2 nm)' states one",
            )
        )
