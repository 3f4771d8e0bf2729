"""The answers of the commands ``press fit`` and ``press predict``; presses opened from what a person names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import Note, bad, nearest
from screenproof.jobs.direct import Answer, check_limit, plain_notes, status_of
from screenproof.jobs.ink_words import refuse_existing
from screenproof.questions.sources import existing_file, open_light, open_observer, open_samples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.spectra import Array, Light, Observer, Samples
    from screenproof.subtractive import HeldOut, Press


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


def fit_answer(
    file: str,
    out: Path | None = None,
    *,
    name: str | None = None,
    n: float | None = None,
    channels: str | None = None,
    levels: str | None = None,
    limit: float | None = None,
    force: bool = False,
) -> Answer:
    """A press fitted to a characterisation and written to ``out``, with its error on patches kept out of the
    fit.

    channels: only these, and the patches that print no other. levels: fit on the ramps and on the patches with
    every channel at one of these percentages, and measure the error on all others. Raises InputError for what
    cannot be fitted, and when ``out`` exists.
    """
    from screenproof.formats import read_characterisation, write_press
    from screenproof.formats.characterisation import with_channels
    from screenproof.subtractive import fit_press

    check_limit(limit)
    path = existing_file(file)
    refuse_existing(out, [path], force)
    samples = read_characterisation(path)
    assert samples.device is not None
    if channels is not None:
        wanted = [part.strip() for part in channels.split(",") if part.strip()]
        for part in wanted:
            if part not in samples.device.channels:
                near = nearest(part, list(samples.device.channels))
                raise bad(
                    f"the characterisation has no channel {part!r}",
                    field="--channels",
                    expected=f"of {', '.join(samples.device.channels)}",
                    mend=f"did you mean {near!r}?" if near else None,
                )
        samples = with_channels(samples, tuple(wanted))
    chosen = None if levels is None else on_levels(samples, levels)
    press = fit_press(samples, fit=chosen, n=n, name=name or path.stem)
    written = None if out is None else write_press(press, out, force=force).as_posix()
    held = press.held_out
    figure = None if held is None or not held.count else held.p95
    return {
        "schema": "screenproof-press-fit/1",
        "file": file,
        "press": written,
        **described(press),
        "held_out": None if held is None else held_out(held),
        "fitted_on": len(samples) if chosen is None else int(chosen.sum()),
        "limit": limit,
        "status": None if figure is None else status_of(figure, limit),
        "notes": plain_notes(press.notes),
    }


def on_levels(samples: Samples, levels: str) -> NDArray[np.bool_]:
    """Which samples are single ramps, or have every channel at one of the percentages of a text such as
    0,40,100."""
    assert samples.device is not None
    try:
        wanted = np.array([float(part) for part in levels.replace("%", "").split(",")]) / 100.0
    except ValueError:
        raise bad(f"{levels!r}", field="--levels", expected="percentages such as 0,40,100") from None
    if not ((wanted >= 0.0) & (wanted <= 1.0)).all() or not {0.0, 1.0} <= set(wanted.tolist()):
        raise bad(
            f"levels of {levels}",
            field="--levels",
            expected="percentages from 0 to 100, with 0 and 100 among them",
        )
    tints = samples.device.values
    at = np.asarray((np.abs(tints[:, :, np.newaxis] - wanted) < 1e-4).any(axis=2))
    chosen: NDArray[np.bool_] = at.all(axis=1) | ((tints > 1e-4).sum(axis=1) <= 1)
    if chosen.all():
        raise bad(
            f"every patch lies on the levels {levels}",
            field="--levels",
            expected="patches beside them, on which the error is measured",
            mend="leave --levels out: the error is then measured by fitting in parts",
        )
    return chosen


def held_out(held: HeldOut) -> Answer:
    """The error on patches that the fit did not see. Figures are null where there is no such patch."""
    figures = {key: getattr(held, key) if held.count else None for key in ("mean", "p95", "max")}
    return {
        "metric": "CIEDE2000",
        **figures,
        "count": held.count,
        "worst": held.worst,
        "how": held.how,
        "light": held.light,
        "observer": held.observer,
        "patches": list(held.patches),
    }


def described(press: Press) -> Answer:
    """What a press is, as plain data: channels, model, limits in fractions, tone values of each solid ramp."""
    return {
        "name": press.name,
        "channels": list(press.channels),
        "n": press.n,
        "spectral": press.is_spectral,
        "light": press.light,
        "observer": press.observer,
        "wavelengths": None if press.grid is None else str(press.grid),
        "cells": cells_words(press),
        "limits": {"total": press.limits.total, "channels": list(press.limits.channels)},
        "tone_values": [tone_values(press, name) for name in press.channels],
    }


TONES = (0.25, 0.5, 0.75)


def tone_values(press: Press, channel: str) -> Answer:
    """Spot colour tone values (ISO 20654) of one channel at a quarter, a half and three quarters."""
    tones = np.array(TONES)
    return {"channel": channel, "tint": list(TONES), "value": press.tone_values(channel, tones).tolist()}


def cells_words(press: Press) -> list[str]:
    """Where the characterisation holds a full grid, in words: 'C, M, Y, K at 0, 40, 100 %'."""
    return [
        ", ".join(
            f"{channel} at {' '.join(f'{100.0 * level:g}' for level in own)} %"
            for channel, own in zip(grid.channels, grid.levels, strict=True)
        )
        for grid in press.grids
    ]


def seen(press: Press, light: str | None, observer: str | None) -> tuple[Light, Observer]:
    """The light and observer of an answer: as asked, else those of a press that is known by XYZ, else D50, 2
    deg."""
    own = (press.light, press.observer)
    return open_light(light or own[0] or "D50"), open_observer(observer or own[1] or "cie1931")


def predict_answer(
    press_file: str,
    tints_file: str,
    out: Path | None = None,
    *,
    light: str | None = None,
    observer: str | None = None,
    against: str | None = None,
    limit: float | None = None,
    force: bool = False,
) -> Answer:
    """The colours of a list of tints; with ``against``, how far measured samples of the same names are from
    them."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.formats import read_tints, write_samples

    check_limit(limit)
    if limit is not None and against is None:
        raise bad("nothing is judged", field="--limit", mend="add --against with measured samples")
    paths = [existing_file(press_file), existing_file(tints_file)]
    refuse_existing(out, paths, force)
    press = open_press(press_file)
    listed = read_tints(paths[1], press.channels)
    samples = press.samples(listed.tints, listed.names)
    lamp, eye = seen(press, light, observer)
    xyz = press.xyz(listed.tints, lamp, eye)
    lab = xyz_to_lab(xyz, press.white(lamp, eye))
    doubt = press.doubt(listed.tints)
    curves = samples.reflectance
    entries: list[Answer] = [
        {
            "name": name,
            "tints": listed.tints[i].tolist(),
            "xyz": xyz[i].tolist(),
            "lab": lab[i].tolist(),
            "doubt": float(doubt[i]),
            **({} if curves is None else {"reflectance": curves[i].tolist()}),
        }
        for i, name in enumerate(listed.names)
    ]
    notes = list(_compared(entries, against, lab, lamp, eye, limit)) if against is not None else []
    if out is not None:
        write_samples(samples, out, force=force)
    return {
        "schema": "screenproof-press-predict/1",
        "press": press_file,
        "file": tints_file,
        "channels": list(press.channels),
        "light": lamp.name,
        "observer": eye.name,
        "wavelengths": None if press.grid is None else press.grid.wavelengths.tolist(),
        "limit": limit,
        "samples": entries,
        "differences": _differences(entries),
        "written": None if out is None else out.as_posix(),
        "notes": plain_notes(eye.notes, listed.notes, samples.notes, notes),
    }


def _compared(
    entries: Sequence[Answer], against: str, lab: Array, lamp: Light, eye: Observer, limit: float | None
) -> tuple[Note, ...]:
    """Put the difference from measured samples into each entry."""
    from screenproof.appearance import de2000, difference_words, xyz_to_lab
    from screenproof.spectra import white_point

    measured = open_samples(against)
    names = [entry["name"] for entry in entries]
    missing = [name for name in names if name not in measured.names]
    if missing:
        raise bad(
            f"{len(missing)} tints have no measured sample: {', '.join(missing[:6])}",
            file=measured.source,
            field="--against",
            expected="a sample of the same name for each tint",
            mend="give both the same names",
        )
    chosen = measured.select([measured.names.index(name) for name in names])
    own = xyz_to_lab(chosen.xyz([lamp], [eye])[:, 0, 0], white_point(lamp, eye))
    apart = np.atleast_1d(np.asarray(de2000(own, lab)))
    for i, entry in enumerate(entries):
        entry["measured_lab"] = own[i].tolist()
        entry["de00"] = float(apart[i])
        entry["words"] = difference_words(own[i], lab[i])
        entry["status"] = status_of(float(apart[i]), limit)
    return chosen.notes


def _differences(entries: Sequence[Answer]) -> Answer | None:
    """Mean, 95th percentile and largest of the differences, with the sample of the largest."""
    apart = np.array([entry["de00"] for entry in entries if "de00" in entry])
    if not apart.size:
        return None
    worst = int(apart.argmax())
    return {
        "mean": float(apart.mean()),
        "p95": float(np.percentile(apart, 95.0)),
        "max": float(apart.max()),
        "count": int(apart.size),
        "worst": entries[worst]["name"],
    }
