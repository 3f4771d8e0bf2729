"""What a recipe is asked for: the target, what is mixed and on what, the lights; and all of it opened."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct import Answer, DisplayWords, display_of, several
from screenproof.questions.ink_names import one_sample
from screenproof.questions.parsing import codes, parsed
from screenproof.questions.sources import existing_file, open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.formats import LibraryFile
    from screenproof.spectra import Array, Grid, Light, Observer, Samples
    from screenproof.subtractive import Mixture, Target


_ROUNDING = 1e-4


@dataclass(frozen=True)
class TargetWords:
    """What is wanted, as the command line has it: a sample of a file, or codes on a display."""

    samples: str | None = None
    name: str | None = None
    display: DisplayWords | None = None
    code: str | None = None
    bits: int = 8


@dataclass(frozen=True)
class GroundWords:
    """What the components are mixed for: a stock from a file, the thickness of a film, the film weight of inks."""

    stock_file: str | None = None
    stock: str | None = None
    thickness: float | None = None
    film_weight: float | None = None


@dataclass(frozen=True)
class SceneWords:
    """Lights and observer: the match is made under ``light``, and held against the lights ``to``."""

    light: str = "D50"
    to: str | None = "A,FL11"
    observer: str = "cie1931"


def open_library(named: str, folder: Path | None = None) -> LibraryFile:
    """A library from letdowns, or from its JSON."""
    from screenproof.formats import read_library

    return read_library(existing_file(named, folder))


def mixture_of(found: LibraryFile, ground: GroundWords, folder: Path | None = None) -> tuple[Mixture, str | None]:
    """The mixing model of a library on its ground, and the name of the stock if there is one.

    Inks of a file of prints are taken for the stock on which they were measured unless another is named. Raises
    InputError for a ground that the library's components have no use for, or lack.
    """
    if ground.stock is not None and ground.stock_file is None:
        raise bad("a stock, and no file that it is in", field="--stock", mend="add --stock-file")
    curve, name = found.stock, found.stock_name or None
    if ground.stock_file is not None:
        stock = one_sample(open_samples(ground.stock_file, folder), ground.stock, "--stock")
        if stock.reflectance is None or stock.grid is None:
            raise bad("the stock has no curve", file=stock.source, field="--stock", expected="reflectance curves")
        if stock.grid != found.library.grid:
            raise bad(
                f"the stock is on {stock.grid}, the library on {found.library.grid}",
                file=stock.source,
                field="--stock",
                expected="one grid: nothing is resampled",
                mend="export the reading again with the wavelengths of the library",
            )
        curve, name = np.asarray(stock.reflectance[0]), stock.names[0]
    if found.library.transparent and curve is None:
        raise bad("inks without a stock", field="--stock-file", mend="name the file of the stock's curve")
    if found.medium == "film" and (curve is None or ground.thickness is None):
        raise bad(
            "a film without what lies below it, or without a thickness",
            field="--thickness",
            expected="--stock-file with the backing's curve, and --thickness",
        )
    model = found.library.mixture(
        stock=curve,
        thickness=ground.thickness,
        film_weight=1.0 if ground.film_weight is None else ground.film_weight,
    )
    return model, name


def target_of(words: TargetWords, grid: Grid, lamp: Light, eye: Observer) -> tuple[Target, tuple[Note, ...]]:
    """The target that the options describe. Raises InputError for none or two of them, or what cannot be read."""
    if (words.samples is None) == (words.display is None):
        raise bad(
            "no target" if words.samples is None else "two targets",
            field="--target",
            expected="--target SAMPLES with --name, or --display NAME_OR_FILE with --code R,G,B",
        )
    if words.samples is not None:
        if words.code is not None:
            raise bad("a code, and no display that shows it", field="--code", mend="add --display")
        return sample_target(one_sample(open_samples(words.samples), words.name, "--name"), lamp, eye)
    assert words.display is not None
    if words.code is None:
        raise bad("a display, and no code on it", field="--display", mend="add --code R,G,B")
    from screenproof.appearance import lab_to_xyz
    from screenproof.proof import Viewing, wanted_of_codes

    code = parsed(codes, words.code, "--code")
    viewing = Viewing(lamp, eye)
    lab, notes = wanted_of_codes(display_of(words.display), code, words.bits, viewing)
    return screen_target(lab_to_xyz(lab[0], viewing.white), words.code, lamp, eye), notes


def screen_target(xyz: Array, name: str, lamp: Light, eye: Observer) -> Target:
    """A screen's colour, carried to the object's side, as a target without a curve.

    Raises InputError for a colour brighter than the perfect diffuser, which no object reaches.
    """
    from screenproof.subtractive import Target

    held = np.maximum(np.asarray(xyz, dtype=np.float64), 0.0)
    if 100.0 < held[1] < 100.0 + _ROUNDING:
        # A full white comes back as 100 but for the last digits of two matrices.
        held = held * (100.0 / held[1])
    return Target.of_xyz(held, lamp.name, eye.name, f"{name} on the screen")


def sample_target(sample: Samples, lamp: Light, eye: Observer) -> tuple[Target, tuple[Note, ...]]:
    """A measured sample as a target: by its curve, or by its XYZ under its own light."""
    from screenproof.subtractive import Target

    if sample.reflectance is not None and sample.grid is not None:
        return Target.of_curve(sample.reflectance[0], sample.grid, sample.names[0]), sample.notes
    xyz = sample.xyz([lamp], [eye])[0, 0, 0]
    return Target.of_xyz(xyz, lamp.name, eye.name, sample.names[0]), sample.notes


def lights_of(words: SceneWords) -> tuple[list[Light], Observer]:
    """The lights, the first that of the match, and the observer; with the mistakes of all of them at once."""
    problems: list[Problem] = []
    lights: list[Light] = []
    first = words.light.strip()
    others = [name for name in several(words.to, "--to") if name != first] if words.to else []
    for name in [first, *others]:
        try:
            lights.append(open_light(name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return lights, open_observer(words.observer)


def target_plain(target: Target, lamp: Light, eye: Observer) -> Answer:
    """A target as plain data: its Lab under the first light, and its curve if it has one."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.spectra import weights, white_point

    if target.curve is not None and target.grid is not None:
        xyz = target.curve @ weights(lamp, eye, target.grid)
    else:
        assert target.xyz is not None
        xyz = target.xyz
    lab = xyz_to_lab(xyz, white_point(lamp, eye))
    curve = None
    if target.curve is not None and target.grid is not None:
        curve = {"wavelengths": target.grid.wavelengths.tolist(), "values": target.curve.tolist()}
    return {"name": target.name, "xyz": xyz.tolist(), "lab": lab.tolist(), "reflectance": curve}
