"""Approvals: a colour that somebody approved on a display, against the measured sample that is to be it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.additive import Display
from screenproof.appearance import difference_words, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.proof.difference import compare, figure
from screenproof.proof.match import check_bits, seen_xyz
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Samples


@dataclass(frozen=True, eq=False)
class Approvals:
    """Samples against approved screen colours, one row each, in reference Lab.

    approved_lab: (n, 3), what the codes show, brought back by the inverse map of the basis: the reference.
    sample_lab: (n, 3). de00, deab, cam16ucs: (n,). words: how the sample differs from what was approved.
    """

    names: tuple[str, ...]
    display: str
    code: NDArray[np.int64]
    bits: int
    approved_lab: Array
    sample_lab: Array
    de00: Array
    deab: Array
    cam16ucs: Array
    words: tuple[str, ...]
    viewing: Viewing
    notes: tuple[Note, ...] = ()

    def figure(self, tolerance: ToleranceSet) -> Array:
        """The differences (n,) in the metric of a tolerance set."""
        white, conditions = self.viewing.white, self.viewing.conditions()
        return figure(tolerance, self.approved_lab, self.sample_lab, white, conditions)


def approve(samples: Samples, display: Display, codes: ArrayLike, bits: int, viewing: Viewing) -> Approvals:
    """Compare each sample with the colour that the codes (n, 3) show on the display in ``viewing``.

    The approved colour is the reference: the words say how the sample differs from it.

    Raises InputError for codes that are no integers in 0..2^bits - 1 or not one row per sample.
    """
    check_bits(bits)
    given = np.atleast_2d(np.asarray(codes, dtype=np.float64))
    top = 2**bits - 1
    if given.shape != (len(samples), 3):
        raise bad(
            f"codes of shape {given.shape} for {len(samples)} samples",
            field="code",
            expected="three for each",
        )
    if not ((given == np.rint(given)) & (given >= 0) & (given <= top)).all():
        raise bad(
            f"a code that is no integer from 0 to {top}",
            field="code",
            expected=f"integers from 0 to {top} at {bits} bits",
            mend="correct the code, or set bits to the depth that it was read at",
        )
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    xyz = seen_xyz(samples, viewing)
    approved = bridge.to_reference(view.to_xyz(given / top))
    found = compare(approved, xyz, viewing.white, viewing.conditions())
    approved_lab, sample_lab = xyz_to_lab(approved, viewing.white), xyz_to_lab(xyz, viewing.white)
    return Approvals(
        names=samples.names,
        display=display.name,
        code=given.astype(np.int64),
        bits=bits,
        approved_lab=approved_lab,
        sample_lab=sample_lab,
        de00=found.de00,
        deab=found.deab,
        cam16ucs=found.cam16ucs,
        words=tuple(difference_words(*sides) for sides in zip(approved_lab, sample_lab, strict=True)),
        viewing=viewing,
        notes=(*view.notes, *bridge.notes),
    )
