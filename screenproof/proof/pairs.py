"""Pair shift: two objects that match under a first light, followed through others.

The CIE special metamerism index, change in illuminant (CIE 15:2018, 9.2.2; ISO 18314-4): the colour
difference of the pair under the test light, when it has none under the reference light. A real pair always
has some, so the sample (b) is first corrected for what it differs by from the standard (a) under the
reference light:

multiplicative, in XYZ    X_b,test' = X_b,test X_a,ref / X_b,ref, and so for Y and Z
additive, in Lab          L_b,test' = L_b,test + L_a,ref - L_b,ref, and so for a* and b*
none                      the difference as it is

Each Lab is relative to the white of its own light: both objects are seen together, by an eye adapted to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from screenproof.appearance import CamConditions, de76, de2000, difference_words, xyz_to_lab
from screenproof.errors import bad
from screenproof.proof.difference import figure
from screenproof.proof.result import PairFigure, PairStart, Refusal
from screenproof.proof.shift import refuse_colorimetry
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Light, Observer, Samples

Correction = Literal["multiplicative", "additive", "none"]
CORRECTIONS = ("multiplicative", "additive", "none")


@dataclass(frozen=True, eq=False)
class PairShift:
    """Pairs through lights (L) and observers (O); the first light's own differences are (n, O).

    de00, deab: (n, L, O) of the corrected pair; de00_uncorrected, deab_uncorrected: as it is.
    lab_a: (n, L, O, 3) of the standard, lab_b: of the sample as it is, lab_corrected: as it was corrected,
    each relative to its own light's white. refused: what is not here, and why.
    """

    names_a: tuple[str, ...]
    names_b: tuple[str, ...]
    from_light: str
    lights: tuple[str, ...]
    observers: tuple[str, ...]
    correction: Correction
    from_de00: Array
    from_deab: Array
    de00: Array
    deab: Array
    de00_uncorrected: Array
    deab_uncorrected: Array
    lab_a: Array
    lab_b: Array
    lab_corrected: Array
    conditions: tuple[tuple[CamConditions, ...], ...]
    refused: tuple[Refusal, ...] = ()

    def figure(self, tolerance: ToleranceSet) -> Array:
        """The corrected differences (n, L, O) in the metric of a tolerance set."""
        found = np.empty(self.de00.shape)
        for i, row in enumerate(self.conditions):
            for o, conditions in enumerate(row):
                sides = self.lab_a[:, i, o], self.lab_corrected[:, i, o]
                found[:, i, o] = figure(tolerance, *sides, np.asarray(conditions.white), conditions)
        return found

    def start(self, pair: int) -> tuple[PairStart, ...]:
        """How well one pair matches under the first light, for each observer."""
        return tuple(
            PairStart(self.from_light, who, float(self.from_de00[pair, o]), float(self.from_deab[pair, o]))
            for o, who in enumerate(self.observers)
        )

    def figures(self, pair: int) -> tuple[PairFigure, ...]:
        """All figures of one pair, as a result holds them; the words say how b differs from a."""
        return tuple(
            PairFigure(
                light,
                who,
                float(self.de00[pair, i, o]),
                float(self.deab[pair, i, o]),
                float(self.de00_uncorrected[pair, i, o]),
                float(self.deab_uncorrected[pair, i, o]),
                difference_words(self.lab_a[pair, i, o], self.lab_corrected[pair, i, o]),
            )
            for o, who in enumerate(self.observers)
            for i, light in enumerate(self.lights)
        )


def corrected_lab(
    xyz_a_ref: Array,
    xyz_b_ref: Array,
    xyz_b_test: Array,
    white_ref: Array,
    white_test: Array,
    correction: Correction = "multiplicative",
) -> Array:
    """Lab of the sample under the test light, corrected for the pair's difference under the reference light.

    XYZ (..., 3) of the standard (a) and the sample (b), Y = 100 for the perfect diffuser; whites (..., 3) of
    the reference and the test light. Returns Lab (..., 3) relative to ``white_test``; see the module for the
    equations.

    Raises InputError for an unknown correction, and for a sample with an X, Y or Z of zero, which cannot be
    corrected by multiplication.
    """
    if correction == "none":
        return xyz_to_lab(xyz_b_test, white_test)
    if correction == "additive":
        missing = xyz_to_lab(xyz_a_ref, white_ref) - xyz_to_lab(xyz_b_ref, white_ref)
        return np.asarray(xyz_to_lab(xyz_b_test, white_test) + missing)
    if correction != "multiplicative":
        raise bad(f"no correction is called {correction!r}", field="correction", expected=", ".join(CORRECTIONS))
    if not (xyz_b_ref > 0).all():
        raise bad(
            "a sample with an X, Y or Z of zero cannot be corrected by multiplication",
            field="correction",
            mend="use the additive correction",
        )
    return xyz_to_lab(xyz_b_test * (xyz_a_ref / xyz_b_ref), white_test)


def pair_shift(
    a: Samples,
    b: Samples,
    from_light: Light,
    to_lights: Sequence[Light],
    observers: Sequence[Observer],
    correction: Correction = "multiplicative",
) -> PairShift:
    """Follow pairs of objects, a[i] the standard and b[i] the sample, from a first light through others.

    Pairs of which one has colorimetry only are refused: there are no observers then, and ``refused`` says
    why. Raises InputError when ``a`` and ``b`` are not equally many, and as :func:`corrected_lab` does.
    """
    if len(a) != len(b):
        raise bad(
            f"{len(a)} standards for {len(b)} samples",
            expected="as many on both sides",
            mend="pair them one by one",
        )
    refusals = tuple(r for r in (refuse_colorimetry(a), refuse_colorimetry(b)) if r is not None)[:1]
    eyes = () if refusals else tuple(observers)
    n, shape = len(a), (len(a), len(to_lights), len(eyes))
    lab_a, lab_b, lab_corrected = (np.empty((*shape, 3)) for _ in range(3))
    from_de00, from_deab = np.empty((n, len(eyes))), np.empty((n, len(eyes)))
    homes = [[Viewing(light, who) for who in eyes] for light in to_lights]
    for o, who in enumerate(eyes):
        first = Viewing(from_light, who).white
        a_ref, b_ref = (side.xyz([from_light], [who])[:, 0, 0] for side in (a, b))
        starts = xyz_to_lab(a_ref, first), xyz_to_lab(b_ref, first)
        from_de00[:, o], from_deab[:, o] = de2000(*starts), de76(*starts)
        for i, light in enumerate(to_lights):
            white = homes[i][o].white
            a_test, b_test = (side.xyz([light], [who])[:, 0, 0] for side in (a, b))
            lab_a[:, i, o], lab_b[:, i, o] = xyz_to_lab(a_test, white), xyz_to_lab(b_test, white)
            lab_corrected[:, i, o] = corrected_lab(a_ref, b_ref, b_test, first, white, correction)
    return PairShift(
        names_a=a.names,
        names_b=b.names,
        from_light=from_light.name,
        lights=tuple(light.name for light in to_lights),
        observers=tuple(who.name for who in eyes),
        correction=correction,
        from_de00=from_de00,
        from_deab=from_deab,
        de00=np.asarray(de2000(lab_a, lab_corrected)),
        deab=np.asarray(de76(lab_a, lab_corrected)),
        de00_uncorrected=np.asarray(de2000(lab_a, lab_b)),
        deab_uncorrected=np.asarray(de76(lab_a, lab_b)),
        lab_a=lab_a,
        lab_b=lab_b,
        lab_corrected=lab_corrected,
        conditions=tuple(tuple(home.conditions() for home in row) for row in homes),
        refused=refusals,
    )
