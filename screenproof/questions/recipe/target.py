"""The colour that a recipe is to reach: a sample, or a screen's; with what is known of its reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import Note
from screenproof.proof.ink_records import Curve
from screenproof.questions.ink_names import one_sample
from screenproof.questions.telling import called

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.proof.covariance import Part, Spread
    from screenproof.questions.groups import DoubtOptions
    from screenproof.questions.opening import Open
    from screenproof.questions.recipe.options import TargetOptions
    from screenproof.spectra import Array, Samples
    from screenproof.subtractive import Target

_ROUNDING = 1e-4


@dataclass(frozen=True)
class TargetSaid:
    """A target as an answer says it: XYZ and Lab under the first light, its curve if it has one."""

    name: str
    xyz: Array
    lab: Array
    reflectance: Curve | None


@dataclass(frozen=True, eq=False)
class RecipeTarget:
    """A target in the viewing in which it is matched.

    part: what its reading brings to the doubt of a difference; None where nothing is known. samples, display: what
    was read, the file being called ``file``.
    """

    target: Target
    viewing: Viewing
    part: Part | None = None
    samples: Samples | None = None
    display: Display | None = None
    file: str = ""
    notes: tuple[Note, ...] = ()

    @cached_property
    def said(self) -> TargetSaid:
        """The target in numbers."""
        from screenproof.appearance import xyz_to_lab
        from screenproof.spectra import weights, white_point

        target, light, eye = self.target, self.viewing.light, self.viewing.observer
        curve = None
        if target.curve is not None and target.grid is not None:
            xyz = target.curve @ weights(light, eye, target.grid)
            curve = Curve.of(target.curve, target.grid)
        else:
            assert target.xyz is not None
            xyz = target.xyz
        return TargetSaid(target.name, xyz, xyz_to_lab(xyz, white_point(light, eye)), curve)

    def spread(self, count: int) -> Spread | None:
        """The doubt of ``count`` differences from the target."""
        from screenproof.proof.covariance import Spread

        return None if self.part is None else Spread((self.part,)).select([0] * count)

    @property
    def read(self) -> list[tuple[str, Samples]]:
        """The samples that were read, with what they are called."""
        return [] if self.samples is None else [(self.file, self.samples)]


def of_sample(sample: Samples, viewing: Viewing, file: str = "") -> RecipeTarget:
    """A measured sample as a target: by its curve, or by its XYZ under its own light."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.proof.covariance import object_part
    from screenproof.subtractive import Target

    light, eye = viewing.light, viewing.observer
    if sample.reflectance is not None and sample.grid is not None:
        target = Target.of_curve(sample.reflectance[0], sample.grid, sample.names[0])
    else:
        xyz = sample.xyz([light], [eye])[0, 0, 0]
        target = Target.of_xyz(xyz, light.name, eye.name, sample.names[0])
    part = object_part("sample", sample, [light], eye, lambda xyz: np.asarray(xyz_to_lab(xyz, viewing.white)))
    return RecipeTarget(target, viewing, part, sample, file=file, notes=sample.notes)


def of_code(display: Display, code: Sequence[int], bits: int, viewing: Viewing, name: str) -> RecipeTarget:
    """A screen's colour, carried to the object's side, as a target without a curve.

    Raises InputError for a colour brighter than the perfect diffuser, which no object reaches.
    """
    from screenproof.appearance import lab_to_xyz
    from screenproof.proof import wanted_of_codes
    from screenproof.proof.covariance import screen_part
    from screenproof.subtractive import Target

    lab, notes = wanted_of_codes(display, [code], bits, viewing)
    held = np.maximum(np.asarray(lab_to_xyz(lab[0], viewing.white), dtype=np.float64), 0.0)
    if 100.0 < held[1] < 100.0 + _ROUNDING:
        # A full white comes back as 100 but for the last digits of two matrices.
        held = held * (100.0 / held[1])
    target = Target.of_xyz(held, viewing.light.name, viewing.observer.name, f"{name} on the screen")
    part = screen_part(np.array([code]) / (2.0**bits - 1.0), display, viewing)
    return RecipeTarget(target, viewing, part, display=display, notes=notes)


def target_of(
    asked: TargetOptions, open: Open, viewing: Viewing, doubt: DoubtOptions | None = None
) -> RecipeTarget:
    """The target that the options describe."""
    from screenproof.questions.groups import ScreenOptions

    if asked.samples is not None:
        samples = open.samples(asked.samples) if doubt is None else open.read(asked.samples, doubt)
        return of_sample(one_sample(samples, asked.name, "name"), viewing, called(asked.samples))
    assert asked.display is not None and asked.code is not None
    display = open.display(ScreenOptions(display=asked.display), doubt)
    return of_code(display, asked.code, asked.bits, viewing, ",".join(map(str, asked.code)))
