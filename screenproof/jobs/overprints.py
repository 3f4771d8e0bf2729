"""The answers of the commands ``overprint`` and ``restock``: inks on top of each other, and on other stocks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct import Answer, check_limit, plain_notes, status_of
from screenproof.jobs.ink_words import refuse_existing
from screenproof.questions.form import filled
from screenproof.questions.groups import SurfaceOptions
from screenproof.questions.ink_names import amounts_of, names_in, one_sample, surface_of
from screenproof.questions.opening import spoken
from screenproof.questions.parsing import amounts, parsed
from screenproof.questions.sources import existing_file, open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.spectra import Array, Grid, Light, Observer, Samples
    from screenproof.subtractive import Ink, OpaqueFilm, Surface, Trapping, TrappingFit

MOST_INKS = 8
"""Inks on top of each other: more make overprints without number."""


@dataclass(frozen=True)
class OverprintWords:
    """An overprint as the command line describes it; each field is the option of its name."""

    stock: str
    inks: str
    film: str | None = None
    surface: Mapping[str, float | str | None] = field(default_factory=dict)
    measured: str | None = None
    fit_trapping: bool = False
    light: str = "D50"
    observer: str = "cie1931"
    limit: float | None = None


def _surface(given: Mapping[str, float | str | None]) -> Surface:
    """The surface that the options describe, its mistakes told of the options."""
    try:
        return surface_of(filled(SurfaceOptions, given))
    except InputError as error:
        raise spoken(error, SurfaceOptions, lambda name: f"--{name}") from None


def _film(text: str | None) -> dict[str, float] | None:
    return None if text is None else parsed(amounts, text, "--film")


def spectral(samples: Samples, what: str) -> tuple[Array, Grid]:
    """The curves and wavelengths of samples. Raises InputError for samples of XYZ or Lab."""
    if samples.reflectance is None or samples.grid is None:
        raise bad(
            "only XYZ or Lab are known of these samples",
            file=samples.source or None,
            expected=f"reflectance curves: {what} is calculated band by band",
            mend="export the curves of the measurement",
        )
    return np.asarray(samples.reflectance), samples.grid


def curve_of(samples: Samples, name: str) -> Array:
    """The curve (w,) of one sample."""
    curves, _ = spectral(samples, "an overprint")
    return np.asarray(curves[samples.names.index(name)])


def make_inks(samples: Samples, names: Sequence[str], stock: str, surface: Surface) -> list[Ink]:
    """The inks of some samples on a stock among them, with the problems of all of them at once."""
    from screenproof.subtractive import ink_from_readings

    _, grid = spectral(samples, "an ink")
    made: list[Ink] = []
    problems: list[Problem] = []
    for name in names:
        try:
            made.append(
                ink_from_readings(
                    curve_of(samples, name), curve_of(samples, stock), grid, surface, name, stock_name=stock
                )
            )
        except InputError as error:
            problems += [
                Problem(p.what, p.file or samples.source or None, p.line, p.field, p.expected, p.mend)
                for p in error.problems
            ]
    if problems:
        raise InputError(list(dict.fromkeys(problems)))
    return made


def partners(samples: Samples, names: Sequence[str]) -> dict[tuple[str, ...], str]:
    """Measured overprints that the file has by their names, 'Cyan + Yellow', in the order in which they were
    printed."""
    found: dict[tuple[str, ...], str] = {}
    for sample in samples.names:
        parts = tuple(part.strip() for part in sample.split("+"))
        if len(parts) > 1 and all(part in names for part in parts) and len(set(parts)) == len(parts):
            found[parts] = sample
    return found


def overprint_answer(file: str, words: OverprintWords, out: Path | None = None, *, force: bool = False) -> Answer:
    """Every overprint of the inks, in the order in which they are given, on their stock.

    A sample called 'Cyan + Yellow', in the order of printing, is the measured partner of that overprint;
    --measured names the partner of all inks together. Raises InputError for words that cannot be, and as the
    inks do.
    """
    check_limit(words.limit)
    path = existing_file(file)
    refuse_existing(out, [path], force)
    samples = open_samples(file)
    surface = _surface(words.surface)
    lamp, eye = open_light(words.light), open_observer(words.observer)
    spectral(samples, "an overprint")
    one_sample(samples, words.stock, "--stock")
    names = names_in([words.inks], samples.names, "--inks")
    if words.stock in names:
        raise bad(f"{words.stock!r} is the stock and an ink", field="--inks", mend="leave the stock out of --inks")
    if len(names) > MOST_INKS:
        raise bad(f"{len(names)} inks", field="--inks", expected=f"up to {MOST_INKS}")
    film = amounts_of(_film(words.film), names, "--film")
    inks = make_inks(samples, names, words.stock, surface)
    known = {parts: sample for parts, sample in partners(samples, names).items() if _in_order(parts, names)}
    if words.measured is not None:
        one_sample(samples, words.measured, "--measured")
        known[tuple(names)] = words.measured
    if words.limit is not None and not known:
        raise bad("nothing is judged: no overprint was measured", field="--limit", mend="name one by --measured")
    if words.fit_trapping and not known:
        raise bad(
            "no measured overprint to fit the trapping to",
            file=samples.source,
            field="--fit-trapping",
            expected=f"a sample called {' + '.join(names[:2])!r}, or --measured NAME",
        )
    trapping, fits = (
        _trapping(samples, inks, words.stock, known, surface, film) if words.fit_trapping else (None, ())
    )
    made = [
        _overprint(samples, subset, words, film, surface, trapping, known, lamp, eye) for subset in _subsets(inks)
    ]
    entries = [entry for entry, _ in made]
    if out is not None:
        _write(out, [entry["name"] for entry in entries], np.stack([curve for _, curve in made]), samples, force)
    from screenproof.subtractive.cautions import overprint_caution

    return {
        "schema": "screenproof-overprint/1",
        "file": file,
        "stock": words.stock,
        "inks": [
            {"name": ink.name, "film_weight": film.get(ink.name, 1.0), "transmittance": ink.transmittance.tolist()}
            for ink in inks
        ],
        "light": lamp.name,
        "observer": eye.name,
        "surface": {"k1": surface.k1, "k2": surface.k2, "specular": surface.specular},
        "wavelengths": inks[0].grid.wavelengths.tolist(),
        "limit": words.limit,
        "samples": entries,
        "trapping": [
            {"inks": list(fit.inks), "factor": fit.factor, "de00_without": fit.de00_without, "de00": fit.de00}
            for fit in fits
        ],
        "written": None if out is None else out.as_posix(),
        "notes": plain_notes(
            *(eye.notes, samples.notes),
            *(ink.notes for ink in inks),
            *(fit.notes for fit in fits),
            [overprint_caution()],
        ),
    }


def _in_order(parts: Sequence[str], names: Sequence[str]) -> bool:
    places = [list(names).index(part) for part in parts]
    return places == sorted(places)


def _subsets(inks: Sequence[Ink]) -> list[tuple[Ink, ...]]:
    """Every choice of the inks in their order, single ones first, all together last."""
    return [subset for size in range(1, len(inks) + 1) for subset in combinations(inks, size)]


def _trapping(
    samples: Samples,
    inks: Sequence[Ink],
    stock: str,
    known: dict[tuple[str, ...], str],
    surface: Surface,
    film: dict[str, float],
) -> tuple[Trapping, tuple[TrappingFit, ...]]:
    """The factors of the measured overprints, those of two inks first: they serve those of three."""
    from screenproof.subtractive import Trapping, fit_trapping

    trapping = Trapping()
    fits = []
    for parts in sorted(known, key=len):
        chosen = [ink for ink in inks if ink.name in parts]
        weights = [film.get(ink.name, 1.0) for ink in chosen]
        fit = fit_trapping(
            curve_of(samples, known[parts]), curve_of(samples, stock), chosen, weights, surface, trapping
        )
        trapping = trapping.with_factor(parts, fit.factor)
        fits.append(fit)
    return trapping, tuple(fits)


def _overprint(
    samples: Samples,
    inks: Sequence[Ink],
    words: OverprintWords,
    film: dict[str, float],
    surface: Surface,
    trapping: Trapping | None,
    known: dict[tuple[str, ...], str],
    lamp: Light,
    eye: Observer,
) -> tuple[Answer, Array]:
    """One overprint as an entry, and its curve (w,)."""
    from screenproof.subtractive import overprint

    weights = [film.get(ink.name, 1.0) for ink in inks]
    curve = overprint(curve_of(samples, words.stock), inks, weights, surface, trapping)
    parts = tuple(ink.name for ink in inks)
    entry: Answer = {
        "name": " + ".join(parts),
        "inks": list(parts),
        **colour_of(curve, inks[0].grid, lamp, eye),
        "measured": None,
        "measured_lab": None,
        "de00": None,
        "words": "",
        "status": None,
    }
    if parts in known:
        entry |= _partner(
            curve, curve_of(samples, known[parts]), known[parts], inks[0].grid, lamp, eye, words.limit
        )
    return entry, curve


def colour_of(curve: Array, grid: Grid, lamp: Light, eye: Observer) -> Answer:
    """xyz, lab and reflectance of one curve (w,)."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.spectra import weights, white_point

    xyz = curve @ weights(lamp, eye, grid)
    lab = xyz_to_lab(xyz, white_point(lamp, eye))
    return {"xyz": xyz.tolist(), "lab": lab.tolist(), "reflectance": curve.tolist()}


def _partner(
    curve: Array, measured: Array, name: str, grid: Grid, lamp: Light, eye: Observer, limit: float | None
) -> Answer:
    from screenproof.appearance import de2000, difference_words

    here = np.array(colour_of(curve, grid, lamp, eye)["lab"])
    there = np.array(colour_of(measured, grid, lamp, eye)["lab"])
    apart = float(de2000(there, here))
    return {
        "measured": name,
        "measured_lab": there.tolist(),
        "de00": apart,
        "words": difference_words(there, here),
        "status": status_of(apart, limit),
    }


def _write(out: Path, names: Sequence[str], curves: Array, samples: Samples, force: bool) -> None:
    from screenproof.formats import write_samples
    from screenproof.spectra import Samples as Made

    made = Made(
        tuple(names), reflectance=curves, grid=samples.grid, condition=samples.condition, source=samples.source
    )
    write_samples(made, out, force=force)


@dataclass(frozen=True)
class RestockWords:
    """An ink on another stock as the command line describes it; each field is the option of its name."""

    ink: str
    stock: str
    onto: str
    onto_file: str | None = None
    film: str | None = None
    underprint: str | None = None
    underprint_weight: float | None = None
    surface: Mapping[str, float | str | None] = field(default_factory=dict)
    light: str = "D50"
    observer: str = "cie1931"


def restock_answer(file: str, words: RestockWords, out: Path | None = None, *, force: bool = False) -> Answer:
    """Inks carried from the stock on which they were measured to another one, with an underprint if there is
    one."""
    from screenproof.appearance import de2000, difference_words
    from screenproof.subtractive import restock

    path = existing_file(file)
    refuse_existing(out, [path], force)
    samples = open_samples(file)
    surface = _surface(words.surface)
    lamp, eye = open_light(words.light), open_observer(words.observer)
    spectral(samples, "an ink on another stock")
    one_sample(samples, words.stock, "--stock")
    names = names_in([words.ink], samples.names, "--ink")
    film = amounts_of(_film(words.film), names, "--film")
    others = samples if words.onto_file is None else open_samples(words.onto_file)
    other = one_sample(others, words.onto, "--onto")
    ground, grid = spectral(other, "a stock")
    if words.underprint_weight is not None and words.underprint is None:
        raise bad("no underprint to weigh", field="--underprint-weight", mend="add --underprint FILE")
    below = [] if words.underprint is None else [underprint_of(words.underprint, surface)]
    inks = make_inks(samples, names, words.stock, surface)
    entries: list[Answer] = []
    curves: list[Array] = []
    notes: list[Note] = [*eye.notes, *samples.notes]
    for ink in inks:
        found = restock(
            ink, ground[0], surface, stock_name=words.onto, film_weight=film.get(ink.name, 1.0), underprint=below,
            underprint_weights=None if words.underprint_weight is None else [words.underprint_weight],
            stock_grid=grid,
        )  # fmt: skip
        here = colour_of(found.curve, grid, lamp, eye)
        was = colour_of(curve_of(samples, ink.name), grid, lamp, eye)
        entries.append(
            {
                "name": f"{ink.name} on {words.onto}",
                "ink": ink.name,
                **here,
                "ground_lab": colour_of(found.ground, grid, lamp, eye)["lab"],
                "doubtful": found.doubtful.tolist(),
                "spread": found.spread.tolist(),
                "was_lab": was["lab"],
                "de00": float(de2000(np.array(was["lab"]), np.array(here["lab"]))),
                "words": difference_words(np.array(was["lab"]), np.array(here["lab"])),
            }
        )
        curves.append(found.curve)
        notes += found.notes
    if out is not None:
        _write(out, [entry["name"] for entry in entries], np.stack(curves), samples, force)
    return {
        "schema": "screenproof-restock/1",
        "file": file,
        "stock": words.stock,
        "onto": words.onto,
        "underprint": words.underprint,
        "light": lamp.name,
        "observer": eye.name,
        "surface": {"k1": surface.k1, "k2": surface.k2, "specular": surface.specular},
        "wavelengths": grid.wavelengths.tolist(),
        "samples": entries,
        "written": None if out is None else out.as_posix(),
        "notes": plain_notes(notes),
    }


def underprint_of(file: str, surface: Surface, folder: Path | None = None) -> OpaqueFilm:
    """A white underprint from a file of four samples: it over black and over white, and the bare cards.

    The samples are told by their names: '... over black', '... over white', 'black ...' and 'white ...'.
    """
    from screenproof.subtractive import OpaqueFilm

    samples = open_samples(file, folder)
    curves, grid = spectral(samples, "an underprint")
    kinds = ("over black", "over white", "black", "white")
    found: dict[str, list[int]] = {kind: [] for kind in kinds}
    for i, name in enumerate(samples.names):
        kind = next((kind for kind in kinds if kind in name.lower()), None)
        if kind is not None:
            found[kind].append(i)
    wrong = [kind for kind in kinds if len(found[kind]) != 1]
    if wrong:
        raise bad(
            f"{len(found[wrong[0]])} samples are '{wrong[0]}' by their names",
            file=samples.source,
            expected="four samples: the film 'over black' and 'over white', and the bare 'black' and 'white'",
            mend="name them so",
        )
    over_black, over_white, black, white = (curves[found[kind][0]] for kind in kinds)
    try:
        return OpaqueFilm.from_drawdowns(over_black, over_white, black, white, grid, surface)
    except InputError as error:
        raise InputError(
            Problem(p.what, p.file or samples.source, p.line, p.field, p.expected, p.mend) for p in error.problems
        ) from None
