"""What happens to an object in other lights and for other eyes, against itself or against its screen match.

Two of the three kinds of shift are here; the third, of pairs, is in :mod:`screenproof.proof.pairs`.

light shift
    One object, two lights: colour inconstancy. The object's XYZ in the other light is adapted to the white of
    the first by CAT16, and compared there with its XYZ in the first light.
screen shift
    An object against its match on a screen. The screen stays as it is; the object goes to other lights, and
    other observers look at both. It is the residual of the match in the viewing light for the observer for
    whom the match was made, and there, for another observer, the pure observer shift (observer metamerism).

What cannot be known is refused with its reason, never guessed and never NaN: samples of colorimetry only have
no colour in another light, and a display known only by its XYZ has none for another observer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from screenproof.additive import Display
from screenproof.appearance import (
    CamConditions,
    adaptation_matrix,
    cam16ucs_shift,
    difference_words,
    lab_shift,
    xyz_to_lab,
)
from screenproof.errors import InputError, Note
from screenproof.proof.difference import figure, to_ucs
from screenproof.proof.match import Match
from screenproof.proof.result import Refusal, ShiftFigure
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing, adapts_by
from screenproof.spectra import Array, Light, Observer, Samples, weights, white_point


@dataclass(frozen=True, eq=False)
class Shift:
    """Differences (n, L, O) of samples, lights and observers: CIEDE2000, CIE 1976, CAM16-UCS.

    xyz_reference: (n, O, 3), what stays: the object in the first light, or the screen. xyz: (n, L, O, 3), what
        moves: the object in the other lights. Both as XYZ of the first (or viewing) light, Y = 100.
    observers: those for whom there are figures. refused: what is not here, and why. conditions: those of
        CAM16-UCS, one for each observer; their white is the first (viewing) light's.
    """

    names: tuple[str, ...]
    lights: tuple[str, ...]
    observers: tuple[str, ...]
    de00: Array
    deab: Array
    cam16ucs: Array
    xyz_reference: Array
    xyz: Array
    conditions: tuple[CamConditions, ...]
    refused: tuple[Refusal, ...] = ()
    notes: tuple[Note, ...] = ()

    @cached_property
    def whites(self) -> Array:
        """XYZ (O, 3) of the white that Lab is relative to, for each observer."""
        return np.array([conditions.white for conditions in self.conditions]).reshape(-1, 3)

    @cached_property
    def lab_reference(self) -> Array:
        """Lab (n, O, 3) of what stays."""
        return xyz_to_lab(self.xyz_reference, self.whites) if self.observers else self.xyz_reference

    @cached_property
    def lab(self) -> Array:
        """Lab (n, L, O, 3) of what moves."""
        return xyz_to_lab(self.xyz, self.whites) if self.observers else self.xyz

    def figure(self, tolerance: ToleranceSet) -> Array:
        """The shift (n, L, O) in the metric of a tolerance set."""
        found = np.empty(self.de00.shape)
        for o, conditions in enumerate(self.conditions):
            sides = self.lab_reference[:, None, o], self.lab[:, :, o]
            found[:, :, o] = figure(tolerance, *sides, self.whites[o], conditions)
        return found

    def words(self, sample: int, light: int, observer: int) -> str:
        """In words, how what moves differs from what stays: 'lighter, greener, stronger'."""
        return difference_words(self.lab_reference[sample, observer], self.lab[sample, light, observer])

    def figures(self, sample: int) -> tuple[ShiftFigure, ...]:
        """All figures of one sample, as a result holds them."""
        return tuple(
            ShiftFigure(
                light,
                observer,
                float(self.de00[sample, i, o]),
                float(self.deab[sample, i, o]),
                float(self.cam16ucs[sample, i, o]),
                self.words(sample, i, o),
            )
            for o, observer in enumerate(self.observers)
            for i, light in enumerate(self.lights)
        )


def camera_note(observer: Observer) -> Note:
    """What the figures of a camera are: the formulae of the eye on a camera's signals."""
    return Note(
        "assumed",
        "a camera's R, G, B stand in the place of X, Y, Z: the figures say how its signals part, in the units of "
        "the colour difference, and not what an eye sees",
        about=observer.label or observer.name,
    )


class _Gathered:
    """The columns of a shift, one observer at a time."""

    def __init__(self, names: tuple[str, ...], lights: Sequence[Light]) -> None:
        self.names, self.lights = names, tuple(light.name for light in lights)
        self.observers: list[str] = []
        self.conditions: list[CamConditions] = []
        self.refused: list[Refusal] = []
        self.notes: list[Note] = []
        self._columns: list[tuple[Array, ...]] = []

    def add(self, observer: Observer, reference: Array, moved: Array, conditions: CamConditions) -> None:
        """Reference XYZ (n, 3) and moved XYZ (n, L, 3) for one observer."""
        white = conditions.white
        de00, deab = lab_shift(moved, white, xyz_to_lab(reference, white))
        ucs = cam16ucs_shift(moved, conditions, to_ucs(reference, conditions))
        self.observers.append(observer.name)
        self.conditions.append(conditions)
        if observer.kind == "camera":
            self.notes.append(camera_note(observer))
        self._columns.append((de00, deab, ucs, moved, reference))

    def shift(self) -> Shift:
        n, count = len(self.names), len(self.lights)
        shapes = ((n, count), (n, count), (n, count), (n, count, 3), (n, 3))
        # Kept one observer after the other, as they were made: to interleave them costs more than to make them.
        de00, deab, ucs, moved, reference = (
            np.stack([column[i] for column in self._columns]) if self._columns else np.empty((0, *shape))
            for i, shape in enumerate(shapes)
        )
        return Shift(
            names=self.names,
            lights=self.lights,
            observers=tuple(self.observers),
            de00=np.moveaxis(de00, 0, 2),
            deab=np.moveaxis(deab, 0, 2),
            cam16ucs=np.moveaxis(ucs, 0, 2),
            xyz_reference=np.moveaxis(reference, 0, 1),
            xyz=np.moveaxis(moved, 0, 2),
            conditions=tuple(self.conditions),
            refused=tuple(self.refused),
            notes=tuple(self.notes),
        )


def _in_lights(samples: Samples, lights: Sequence[Light], observer: Observer, matrices: Sequence[Array]) -> Array:
    """XYZ (n, L, 3) in each light for an observer, each carried by its light's matrix (3, 3)."""
    assert samples.reflectance is not None and samples.grid is not None
    if not lights:
        return np.empty((len(samples), 0, 3))
    # The matrices are put into the weights: one product then does both, for any number of samples.
    columns = [
        weights(light, observer, samples.grid) @ matrix.T for light, matrix in zip(lights, matrices, strict=True)
    ]
    flat = samples.reflectance @ np.concatenate(columns, axis=1)
    return np.asarray(flat).reshape(len(samples), len(lights), 3)


def refuse_colorimetry(samples: Samples) -> Refusal | None:
    """The refusal of any shift for samples of colorimetry only; None for samples with curves."""
    if samples.is_spectral:
        return None
    assert samples.colorimetry is not None
    own = samples.colorimetry
    return Refusal(
        f"only XYZ or Lab under {own.light} for observer {own.observer} are known: how the colour changes in "
        f"another light or for other eyes depends on its reflectance curve, which was not measured"
    )


def light_shift(
    samples: Samples, from_light: Light, to_lights: Sequence[Light], observers: Sequence[Observer]
) -> Shift:
    """How far each object moves from its own colour in ``from_light`` when it goes to the other lights.

    For each observer: XYZ in the other light, adapted by CAT16 (degree 1; a camera by its white balance) from
    that light's white to that of ``from_light``, against the XYZ in ``from_light``, in Lab relative to the
    latter's white. An object that keeps its colour (a neutral grey) has 0. CAM16-UCS takes the illuminance of
    ``from_light``, or 500 lx.

    Samples of colorimetry only are refused: the shift has no observers then, and says why.
    """
    gathered = _Gathered(samples.names, to_lights)
    refusal = refuse_colorimetry(samples)
    if refusal is not None:
        gathered.refused.append(refusal)
        return gathered.shift()
    for observer in observers:
        home = Viewing(from_light, observer)
        try:
            method = adapts_by(observer, home.adaptation)
            matrices = [adaptation_matrix(white_point(light, observer), home.white, method) for light in to_lights]
        except InputError as error:
            gathered.refused.append(Refusal(error.problems[0].what, observer.name))
            continue
        reference = samples.xyz([from_light], [observer])[:, 0, 0]
        moved = _in_lights(samples, to_lights, observer, matrices)
        gathered.add(observer, reference, moved, home.conditions())
    return gathered.shift()


def screen_shift(
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    lights: Sequence[Light],
    observers: Sequence[Observer],
) -> Shift:
    """How far each object is from its screen match when it goes to other lights and other eyes look at both.

    The screen shows the codes of ``matched`` (the samples' match on ``display`` in ``viewing``) all the time.
    For each observer, the screen's colour is brought back by the inverse map of the basis, and the object's
    is carried from its light to the viewing light as the basis says (:meth:`Viewing.carry`).

    Refused, with the reason: every figure for samples of colorimetry only; observers other than the display's
    and the viewing's own for a display without spectra; observers for whom the white of the own stock is not
    known.
    """
    gathered = _Gathered(samples.names, lights)
    refusal = refuse_colorimetry(samples)
    if refusal is not None:
        gathered.refused.append(refusal)
        return gathered.shift()
    drive = matched.code / (2.0**matched.bits - 1.0)
    for observer in observers:
        if not display.spectral and observer.name not in (display.observer_name, viewing.observer.name):
            gathered.refused.append(
                Refusal(
                    f"{display.label} is known by its XYZ for observer {display.observer_name} only: what "
                    f"observer {observer.name} sees on it depends on its spectra, which are not known",
                    observer.name,
                )
            )
            continue
        view = display.seen_by(observer)
        try:
            here = viewing.seen_by(observer)
            bridge = here.bridge(view)
            moved = _carried(samples, here, lights, observer)
        except InputError as error:
            gathered.refused.append(Refusal(error.problems[0].what, observer.name))
            continue
        screen = bridge.to_reference(view.to_xyz(drive))
        gathered.add(observer, screen, moved, here.conditions())
        gathered.notes += [note for note in (*view.notes, *bridge.notes) if note not in gathered.notes]
    return gathered.shift()


def _carried(samples: Samples, viewing: Viewing, lights: Sequence[Light], observer: Observer) -> Array:
    """XYZ (n, L, 3) of the objects in the lights, carried to the viewing light as its basis says."""
    matrices = [viewing.carry_matrix(light, observer) for light in lights]
    linear = [matrix for matrix in matrices if matrix is not None]
    if len(linear) == len(lights):
        return _in_lights(samples, lights, observer, linear)
    seen = samples.xyz(lights, [observer])[:, :, 0]
    return np.stack([viewing.carry(seen[:, i], light, observer) for i, light in enumerate(lights)], axis=1)
