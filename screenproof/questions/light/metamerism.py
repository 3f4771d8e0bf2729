"""The visible metamerism of a light: pairs that match in the light that it stands for, and what is left of that in
it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Problem
from screenproof.spectra.checks import MEMORY, CheckLine, Limit, not_checked

if TYPE_CHECKING:
    from screenproof.spectra import Light, Samples

VISIBLE_METAMERISM = Limit(
    high=1.0, better_high=0.5, source="ISO 3664:2009 4.2.3: grade C, better B", obtained=MEMORY
)

METAMERISM_GRADES = (("A", 0.25), ("B", 0.5), ("C", 1.0), ("D", 2.0))
"""Grades of the metamerism index in CIELAB, each up to so much, E above. CIE 51.2-1999, CIE S 012; found."""


def grade_of(index: float) -> str:
    """Grade A to E of a metamerism index in CIELAB units: CIE 51.2-1999, CIE S 012 (ISO/CIE 23603), found."""
    return next((grade for grade, high in METAMERISM_GRADES if index <= high), "E")


def specimen_pairs(first: Samples, partners: Samples | None, file: str) -> tuple[Samples, Samples]:
    """The standards and the samples of pairs: 'NAME a' and 'NAME b' of one file, or the same names in two.

    file: what the first is called.

    Raises InputError for names without a partner, and for samples without curves.
    """
    second = first if partners is None else partners
    problems = [
        Problem(
            "the samples have no reflectance curves",
            side.source,
            expected="spectra of both specimens of each pair",
        )
        for side in dict.fromkeys((first, second))
        if not side.is_spectral
    ]
    if partners is None:
        sides: list[dict[str, int]] = [{}, {}]
        for i, name in enumerate(first.names):
            found = re.fullmatch(r"(.*\S)\s*[\s_-]([aAbB])", name)
            if found is None:
                problems.append(
                    Problem(
                        f"{name!r} ends neither in a nor in b",
                        file,
                        expected="pairs called NAME a and NAME b",
                        mend="name them so, or give the partners' file with {partners}",
                    )
                )
            else:
                sides["ab".index(found[2].lower())][found[1]] = i
    else:
        sides = [{name: i for i, name in enumerate(side.names)} for side in (first, second)]
    for name in sorted(set(sides[0]) ^ set(sides[1])):
        problems.append(Problem(f"{name!r} has no partner", file, expected="two specimens of each name"))
    if problems:
        raise InputError(problems)
    names = list(sides[0])
    return first.select([sides[0][name] for name in names]), second.select([sides[1][name] for name in names])


def metamerism_lines(light: Light, aim: Light, pairs: tuple[Samples, Samples] | None) -> list[CheckLine]:
    """The visible metamerism index: the mean dE*ab, for 10 degrees, of pairs that match in the aim.

    Pairs that do not quite match are corrected by multiplication (CIE 15:2018, 9.2.2).
    """
    what = f"visible metamerism index of pairs that match in {aim.name}"
    if pairs is None:
        why = "the specimens of ISO/CIE 23603 are not at hand: their tables were not found in public"
        mend = "give measured pairs that match in the aim with --specimens"
        return [not_checked("metamerism", "metamerism", what, "dE*ab", VISIBLE_METAMERISM, why, mend)]
    from screenproof.proof import pair_shift
    from screenproof.spectra import observer

    found = pair_shift(*pairs, aim, [light], [observer("cie1964")])
    each = found.deab[:, 0, 0]
    index = float(each.mean())
    far = float(found.from_deab.max())
    words = (
        f"grade {grade_of(index)} by {len(each)} pairs of your own, which are not the standard's; largest "
        f"{each.max():.2f}, {pairs[0].names[int(np.argmax(each))]}"
    )
    if far > 1.0:
        words += f"; in {aim.name} itself a pair is {far:.2f} apart, and was corrected"
    mend = "take lamps whose spectrum is nearer to the aim's"
    what = f"visible metamerism index by your own pairs, not the standard's, that match in {aim.name}"
    # A grade by other pairs than the standard's must say so, also where it passes.
    return [
        CheckLine("metamerism", "metamerism", what, "dE*ab", index, VISIBLE_METAMERISM, words=words, mend=mend,
                  remark=True)
    ]  # fmt: skip
