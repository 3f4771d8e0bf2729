"""The answers of the commands ``display show`` and ``display fit``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.jobs.direct import DisplayWords, display_of, plain_notes, room_of
from screenproof.questions.sources import existing_file

if TYPE_CHECKING:
    from screenproof.additive import Display


def show_answer(words: DisplayWords) -> dict[str, Any]:
    """What a display is, for the observer of its own XYZ, with its room light."""
    return {"schema": "screenproof-display/1", **described(display_of(words))}


def described(display: Display) -> dict[str, Any]:
    """A display's white, primaries, black, curves, room, notes and fit as plain data."""
    from screenproof.appearance import xyz_to_uv, xyz_to_xy
    from screenproof.jobs.records import FAR_FROM_LOCUS, pair, plain
    from screenproof.spectra import cct_duv_of_xyz

    view = display.seen_by()
    colours = {"white": view.white, **dict(zip(("red", "green", "blue"), view.primaries, strict=True))}
    kelvin, distance = cct_duv_of_xyz(view.white)
    return {
        "name": display.name,
        "label": display.label,
        "kind": display.kind,
        "observer": view.observer.name,
        "luminance": float(display.luminance),
        "contrast": display.contrast,
        "xy": {name: pair(xyz_to_xy(xyz)) for name, xyz in colours.items()},
        "uv": {name: pair(xyz_to_uv(xyz)) for name, xyz in colours.items()},
        "luminances": {name: float(xyz[1]) for name, xyz in {**colours, "black": view.black}.items()},
        "white_temperature": kelvin if abs(distance) <= FAR_FROM_LOCUS else None,
        "curves": [] if view.curves is None else [view.curves.name],
        "spectral": display.spectral,
        "room": room_of(display),
        "source": display.source,
        "fit": None if display.fit is None else plain(display.fit.as_dict()),
        "notes": plain_notes(display.notes, view.notes),
    }


def fit_answer(file: str, out: Path | None = None, *, force: bool = False) -> dict[str, Any]:
    """The fit of a file of readings, and the ICC profile written to ``out``.

    Raises InputError when the readings cannot be fitted, and when ``out`` exists and ``force`` is not given;
    then nothing is fitted in vain.
    """
    from screenproof.additive import fit_display
    from screenproof.errors import bad
    from screenproof.formats import read_readings

    path = existing_file(file)
    if out is not None and out.suffix.lower() not in (".icc", ".icm"):
        raise bad(
            f"a profile is not written as {out.suffix or 'a file without a suffix'}",
            file=out.as_posix(),
            field="--out",
            expected=".icc or .icm",
            mend="name the file so",
        )
    if out is not None and out.exists() and (not force or out.samefile(path)):
        mend = "name another file" if force else "name another file, or replace it with --force"
        raise bad("the file exists and is not overwritten", file=out.as_posix(), field="--out", mend=mend)
    display = fit_display(read_readings(path), path.stem)
    described_display = described(display)
    written = None
    if out is not None:
        from screenproof.formats import profile_bytes, write_beside

        written = write_beside(out, profile_bytes(display), force=force).as_posix()
    return {
        "schema": "screenproof-display-fit/1",
        "file": file,
        "fit": described_display.pop("fit"),
        "display": described_display,
        "profile": written,
    }
