"""Evenly spaced wavelengths."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import bad
from screenproof.spectra._arrays import Array, frozen

SHORTEST_NM, LONGEST_NM = 200.0, 2500.0
"""A wavelength outside this range is taken for a slip (micrometres, a row number), not for a reading."""

EVEN_TOLERANCE_NM = 0.01
"""How far a wavelength may stray from its even place: files print 0.01 nm at best."""


@dataclass(frozen=True)
class Grid:
    """Evenly spaced wavelengths: ``start``, ``stop`` (included) and ``step``, all in nm.

    Raises InputError when the three do not fit together.
    """

    start: float
    stop: float
    step: float

    def __post_init__(self) -> None:
        if not self.step > 0:
            raise bad(
                f"a wavelength step of {self.step:g} nm",
                expected="a step above 0",
                mend="give the wavelengths in ascending order",
            )
        intervals = (self.stop - self.start) / self.step
        if intervals < 0.5 or abs(intervals - round(intervals)) > 1e-6 * max(1.0, intervals):
            raise bad(
                f"{self.start:g} to {self.stop:g} nm cannot be walked in steps of {self.step:g} nm",
                expected="at least two wavelengths, and a range that is a multiple of the step",
            )

    @property
    def count(self) -> int:
        """How many wavelengths there are."""
        return round((self.stop - self.start) / self.step) + 1

    @property
    def wavelengths(self) -> Array:
        """The wavelengths, shape (w,), in nm."""
        return frozen(self.start + self.step * np.arange(self.count))

    def __str__(self) -> str:
        return f"{self.start:g} to {self.stop:g} nm by {self.step:g} nm"

    @classmethod
    def of(cls, wavelengths: ArrayLike, *, file: object = None) -> Grid:
        """The grid on which ``wavelengths`` (w,) in nm lie.

        Raises InputError when there are fewer than two, when they do not ascend, when they are not evenly
        spaced within 0.01 nm (the error says where a band is missing), or when they are no wavelengths
        of light in nm.
        """
        nm = np.asarray(wavelengths, dtype=np.float64).ravel()
        if nm.size < 2:
            raise bad(
                f"{nm.size} wavelength(s) are no spectrum",
                file=file,
                expected="at least two wavelengths in nm",
            )
        if not np.all(np.isfinite(nm)) or nm.min() < SHORTEST_NM or nm.max() > LONGEST_NM:
            odd = nm[~(np.isfinite(nm) & (nm >= SHORTEST_NM) & (nm <= LONGEST_NM))][0]
            raise bad(
                f"{odd:g} is no wavelength of light in nm",
                file=file,
                expected=f"wavelengths from {SHORTEST_NM:g} to {LONGEST_NM:g} nm",
                mend="give wavelengths in nanometres",
            )
        steps = np.diff(nm)
        if np.any(steps == 0):
            twice = nm[1:][steps == 0][0]
            raise bad(f"wavelength {twice:g} nm stands twice", file=file, mend="keep one of the two bands")
        if np.all(steps < 0):
            raise bad(
                f"wavelengths descend from {nm[0]:g} to {nm[-1]:g} nm",
                file=file,
                expected="ascending wavelengths",
                mend="turn the order of the bands around, values with them",
            )
        if np.any(steps < 0):
            where = int(np.argmax(steps < 0))
            raise bad(
                f"wavelengths go back from {nm[where]:g} to {nm[where + 1]:g} nm",
                file=file,
                expected="ascending wavelengths",
            )
        step = float(nm[-1] - nm[0]) / (nm.size - 1)
        usual = float(np.median(steps))
        if abs(step - usual) > EVEN_TOLERANCE_NM:
            step = usual
        off = np.abs(steps - step)
        if off.max() > EVEN_TOLERANCE_NM:
            where = int(np.argmax(off))
            raise bad(
                f"the wavelengths step by {step:g} nm, but from {nm[where]:g} to {nm[where + 1]:g} nm",
                file=file,
                expected="evenly spaced wavelengths, none missing",
                mend=f"give the reading at {nm[where] + step:g} nm, or cut the range so that it is even",
            )
        # Round the step as the file meant it: 3.3333 stays, 9.9999999 becomes 10.
        tidy = round(step, 6)
        start = round(float(nm[0]), 6)
        return cls(start, start + tidy * (nm.size - 1), tidy)
