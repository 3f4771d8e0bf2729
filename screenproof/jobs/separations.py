"""The answers of the commands ``press separate`` and ``reach``: from colours back to tints."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import Note, bad, nearest
from screenproof.jobs.direct import (
    Answer,
    DisplayWords,
    ViewingWords,
    check_limit,
    chosen,
    display_of,
    plain_notes,
    several,
    status_of,
    viewing_of,
)
from screenproof.jobs.ink_words import limits_of, refuse_existing
from screenproof.jobs.presses import open_press, seen
from screenproof.questions.parsing import codes as codes_in
from screenproof.questions.parsing import parsed
from screenproof.questions.sources import existing_file, open_light, open_samples

if TYPE_CHECKING:
    from screenproof.proof import InkReach, Viewing
    from screenproof.spectra import Array, Light, Observer, Samples
    from screenproof.subtractive import Press, Separation, TintLimits

BLACKS = ("least", "most", "smooth")


def check_black(black: str) -> None:
    """InputError for another black generation than least, most and smooth."""
    if black not in BLACKS:
        near = nearest(black, list(BLACKS))
        raise bad(
            f"no black generation is called {black!r}",
            field="--black",
            expected=", ".join(BLACKS),
            mend=f"did you mean {near!r}?" if near else None,
        )


def separate_answer(
    press_file: str,
    targets_file: str,
    out: Path | None = None,
    *,
    total: float | None = None,
    channel_limit: str | None = None,
    black: str = "smooth",
    light: str | None = None,
    observer: str | None = None,
    to: str | None = None,
    only: Sequence[str] | None = None,
    limit: float | None = None,
    force: bool = False,
) -> Answer:
    """The tints that print each sample, or the colour that is nearest to it within the limits.

    to: for samples with curves the tints that shift least under these lights are taken; the black generation is
    then whatever does that. Raises InputError for limits and words that cannot be, for a press that is known for
    another light, and for lights asked of samples without curves.
    """
    from screenproof.proof.match import seen_xyz

    check_limit(limit)
    check_black(black)
    paths = [existing_file(press_file), existing_file(targets_file)]
    refuse_existing(out, paths, force)
    press = open_press(press_file)
    limits = limits_of(press, total, channel_limit)
    samples = chosen(open_samples(targets_file), only)
    lamp, eye = seen(press, light, observer)
    viewing = viewing_of(ViewingWords(light=lamp.name, observer=eye.name), samples)
    others = [] if to is None else [open_light(name) for name in several(to, "--to")]
    found, shifts = _separated(press, samples, seen_xyz(samples, viewing), lamp, eye, limits, black, others)
    entries = [
        {
            "name": name,
            "tints": dict(zip(press.channels, found.tints[i].tolist(), strict=True)),
            "coverage": float(found.tints[i].sum()),
            "printable": bool(found.printable[i]),
            "de00": float(found.de00[i]),
            "lab": _lab(samples, viewing)[i].tolist(),
            "printed_lab": found.lab[i].tolist(),
            "shift": [{"light": other.name, "de00": float(shifts[i, k])} for k, other in enumerate(others)],
            "status": status_of(float(found.de00[i]), limit),
        }
        for i, name in enumerate(samples.names)
    ]
    if out is not None:
        from screenproof.formats import write_beside

        write_beside(out, tints_csv(samples.names, press.channels, found.tints), force=force)
    return {
        "schema": "screenproof-press-separate/1",
        "press": press_file,
        "file": targets_file,
        "channels": list(press.channels),
        "light": lamp.name,
        "observer": eye.name,
        "limits": {"total": found.limits.total, "channels": list(found.limits.channels)},
        "black": None if others else black,
        "limit": limit,
        "samples": entries,
        "written": None if out is None else out.as_posix(),
        "notes": plain_notes(eye.notes, samples.notes, found.notes),
    }


def _lab(samples: Samples, viewing: Viewing) -> Array:
    from screenproof.proof import wanted_of_samples

    return wanted_of_samples(samples, viewing)


def _separated(
    press: Press,
    samples: Samples,
    xyz: Array,
    lamp: Light,
    eye: Observer,
    limits: TintLimits | None,
    black: str,
    others: Sequence[Light],
) -> tuple[Separation, Array]:
    """The separation, and the shifts (n, L) under the other lights."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.spectra import white_point
    from screenproof.subtractive import separate, separate_spectra

    if not others:
        lab = xyz_to_lab(xyz, white_point(lamp, eye))
        made = separate(press, lab, under=lamp, seen_by=eye, limits=limits, black=black)  # type: ignore[arg-type]
        return made, np.zeros((len(lab), 0))
    if samples.reflectance is None or samples.grid is None:
        raise bad(
            "other lights were asked for, and these samples have no curves",
            file=samples.source or None,
            field="--to",
            expected="reflectance curves",
            mend="leave --to out, or give the measured curves",
        )
    found = separate_spectra(
        press, samples.reflectance, samples.grid, under=lamp, others=others, seen_by=eye, limits=limits
    )
    return found.match, np.asarray(found.shift)


def tints_csv(names: Sequence[str], channels: Sequence[str], tints: Array) -> str:
    """A list of tints in percent that 'press predict' reads back."""
    text = io.StringIO()
    text.write("# kind: tints\n# tints: percent\n")
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(["name", *channels])
    rows.writerows(
        [name, *(f"{100.0 * tint:.4f}" for tint in row)] for name, row in zip(names, tints, strict=True)
    )
    return text.getvalue()


def reach_answer(
    press_file: str,
    *,
    samples: str | None = None,
    only: Sequence[str] | None = None,
    display: DisplayWords | None = None,
    codes: Sequence[str] = (),
    bits: int = 8,
    viewing_words: ViewingWords,
    own_stock: bool = False,
    total: float | None = None,
    channel_limit: str | None = None,
    black: str = "smooth",
    limit: float | None = None,
) -> Answer:
    """Whether a press prints samples, or the colours of codes on a display, and what stands in the way.

    own_stock: the bare stock of the press is the white that a display's white stands for. Raises InputError for
    neither or both of samples and codes, and for words that cannot be.
    """
    from screenproof.proof import ink_reach, on_stock_of, wanted_of_codes, wanted_of_samples

    check_limit(limit)
    check_black(black)
    if (samples is None) == (display is None):
        raise bad(
            "nothing to look for" if samples is None else "samples and a display",
            field="--samples",
            expected="--samples FILE, or --display NAME_OR_FILE with --code R,G,B",
            mend="give one of the two",
        )
    if display is None and codes:
        raise bad("a code, and no display that shows it", field="--code", mend="add --display")
    if display is not None and not codes:
        raise bad("a display, and no code on it", field="--display", mend="add --code R,G,B")
    press = open_press(press_file)
    limits = limits_of(press, total, channel_limit)
    notes: tuple[Note, ...]
    if samples is not None:
        every = open_samples(samples)
        viewing = viewing_of(viewing_words, every)
        taken = chosen(every, only)
        lab, notes, names = wanted_of_samples(taken, viewing), taken.notes, taken.names
        shown: list[tuple[int, int, int]] = []
    else:
        assert display is not None
        shown = list(parsed(codes_in, list(codes), "--code"))
        screen = display_of(display)
        viewing = viewing_of(viewing_words, press.samples(np.zeros((1, len(press.channels))), ["bare stock"]))
        viewing = on_stock_of(press, viewing) if own_stock else viewing
        lab, assumed = wanted_of_codes(screen, shown, bits, viewing)
        notes = (*screen.notes, *assumed)
        names = tuple(",".join(str(value) for value in code) for code in shown)
    found = ink_reach(press, lab, viewing, names, limits=limits, black=black)  # type: ignore[arg-type]
    return {
        "schema": "screenproof-reach/1",
        "press": press_file,
        "file": samples,
        "display": None if display is None else display.named,
        "bits": None if display is None else bits,
        "channels": list(press.channels),
        "light": viewing.light.name,
        "observer": viewing.observer.name,
        "basis": viewing.basis,
        "limits": {"total": found.limits.total, "channels": list(found.limits.channels)},
        "limit": limit,
        "samples": [_entry(found, i, shown, limit) for i in range(len(names))],
        "notes": plain_notes(viewing.observer.notes, notes, press.notes if press_file else (), found.notes),
    }


def _entry(found: InkReach, i: int, shown: Sequence[Sequence[int]], limit: float | None) -> Answer:
    return {
        "name": found.names[i],
        "code": list(shown[i]) if shown else None,
        "printable": bool(found.printable[i]),
        "excess": float(found.excess[i]),
        "lab": found.lab[i].tolist(),
        "nearest_lab": found.nearest_lab[i].tolist(),
        "tints": dict(zip(found.channels, found.tints[i].tolist(), strict=True)),
        "coverage": float(found.coverage[i]),
        "words": found.words[i],
        "obstacles": list(found.obstacles[i]),
        "sentence": found.sentence(i),
        "status": status_of(float(found.excess[i]), limit),
    }
