"""Readings of a display: what was sent to it and the light that came out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import Array, Grid, Observer, emission_xyz, frozen
from screenproof.spectra import observer as named_observer

STANDARD_OBSERVER = "1931-2"
"""Observer of XYZ readings that do not say otherwise: the one that colorimeters are made for."""

_DARK_SLACK = 2e-3
"""Readings may lie below zero by this share of the brightest: an instrument's noise around black."""


@dataclass(frozen=True, eq=False)
class Readings:
    """Drive values and the light that was read for each, in any order, repeats welcome.

    drive: (n, 3), red, green, blue, 0..1. xyz_cd: (n, 3), absolute XYZ, Y in cd/m2; or None.
    spectra: (n, w), spectral radiance in W/(sr m2 nm) on ``grid``; or None. With both, the spectra are used.
    names: one for each reading; made from the drive values when not given.
    source: the file or whatever the readings came from. observer: whose XYZ ``xyz_cd`` are.
    display, instrument, date: as the file states them.

    Raises InputError, with every problem, for unlike lengths, drives outside 0..1 (codes given for drives),
    values that are no numbers, negative light, or neither XYZ nor spectra.
    """

    drive: Array
    xyz_cd: Array | None = None
    spectra: Array | None = None
    grid: Grid | None = None
    names: tuple[str, ...] = ()
    source: str = ""
    notes: tuple[Note, ...] = ()
    observer: str = STANDARD_OBSERVER
    display: str = ""
    instrument: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        drive = frozen(self.drive)
        object.__setattr__(self, "drive", drive)
        for key in ("xyz_cd", "spectra"):
            if getattr(self, key) is not None:
                object.__setattr__(self, key, frozen(getattr(self, key)))
        if drive.ndim != 2 or drive.shape[1] != 3:
            raise self._wrong(
                f"drive values of shape {drive.shape}",
                "three drive values, red, green and blue, for every reading",
                "give an array of n rows and 3 columns",
            )
        if not len(drive):
            raise self._wrong("no readings", "drive values and the light of each", None)
        if not self.names:
            object.__setattr__(self, "names", tuple(drive_name(row) for row in drive))
        problems = [*self._drive_problems(), *self._light_problems()]
        if problems:
            raise InputError(problems)

    def _wrong(self, what: str, expected: str, mend: str | None) -> InputError:
        return bad(what, file=self.source or None, expected=expected, mend=mend)

    def _drive_problems(self) -> list[Problem]:
        file = self.source or None
        if len(self.names) != len(self.drive):
            return [
                Problem(f"{len(self.names)} names for {len(self.drive)} readings", file, expected="one name each")
            ]
        if not np.isfinite(self.drive).all():
            where = int(np.argmin(np.isfinite(self.drive).all(axis=1)))
            return [
                Problem(
                    f"reading {where + 1} has a drive value that is no number",
                    file,
                    field=self.names[where],
                    expected="three drive values between 0 and 1",
                )
            ]
        low, high = float(self.drive.min()), float(self.drive.max())
        if high > 1.0 + 1e-9 or low < -1e-9:
            return [
                Problem(
                    f"drive values from {low:g} to {high:g}",
                    file,
                    field="drive",
                    expected="drive values between 0 and 1",
                    mend="divide code values by the highest code (255 at 8 bits), or use Readings.from_codes",
                )
            ]
        return []

    def _light_problems(self) -> list[Problem]:
        file = self.source or None
        found: list[Problem] = []
        if self.xyz_cd is None and self.spectra is None:
            found.append(
                Problem("neither XYZ nor spectra", file, expected="XYZ in cd/m2 or spectral radiances", mend=None)
            )
        if self.spectra is not None and self.grid is None:
            found.append(Problem("spectra without their wavelengths", file, expected="a grid with the spectra"))
        width = self.grid.count if self.grid is not None else 0
        for what, values, columns in (("XYZ", self.xyz_cd, 3), ("spectra", self.spectra, width)):
            if values is None or (what == "spectra" and self.grid is None):
                continue
            if values.shape != (len(self.drive), columns):
                found.append(
                    Problem(
                        f"{what} of shape {values.shape} for {len(self.drive)} readings",
                        file,
                        expected=f"an array of {len(self.drive)} rows and {columns} columns",
                    )
                )
                continue
            for i in np.flatnonzero(~np.isfinite(values).all(axis=1)):
                found.append(Problem(f"the {what} hold a value that is no number", file, field=self.names[i]))
            if np.isfinite(values).all():
                # Single bands of a spectrum are noisier than an XYZ, which is their sum.
                slack = _DARK_SLACK * (10.0 if what == "spectra" else 1.0) * max(float(values.max()), 0.0)
                for i in np.flatnonzero(values.min(axis=1) < -slack):
                    found.append(
                        Problem(
                            f"a negative reading of {values[i].min():g} in the {what}",
                            file,
                            field=self.names[i],
                            expected="light of zero or more",
                            mend="measure it again, or look at the instrument's dark calibration",
                        )
                    )
        return found

    @classmethod
    def from_codes(
        cls,
        codes: ArrayLike,
        bits: int,
        *,
        xyz_cd: ArrayLike | None = None,
        spectra: ArrayLike | None = None,
        grid: Grid | None = None,
        names: Sequence[str] = (),
        source: str = "",
        observer: str = STANDARD_OBSERVER,
    ) -> Readings:
        """Readings of code values at a bit depth: 0..255 at 8 bits, 0..1023 at 10, full range.

        Raises InputError for a bit depth outside 1..16, codes above the highest code, and as the class does.
        """
        if not 1 <= bits <= 16:
            raise bad(f"a bit depth of {bits}", file=source or None, field="bits", expected="1 to 16 bits")
        values = np.asarray(codes, dtype=np.float64)
        top = 2**bits - 1
        if values.size and np.isfinite(values).all() and (values.max() > top or values.min() < 0):
            raise bad(
                f"code values from {values.min():g} to {values.max():g} at {bits} bits",
                file=source or None,
                field="codes",
                expected=f"0 to {top}",
                mend="state the bit depth that the codes have",
            )
        return cls(
            values / top,
            None if xyz_cd is None else frozen(xyz_cd),
            None if spectra is None else frozen(spectra),
            grid,
            tuple(names),
            source,
            observer=observer,
        )

    def __len__(self) -> int:
        return len(self.drive)

    @property
    def spectral(self) -> bool:
        """Whether there are spectra, so that the readings hold for any observer."""
        return self.spectra is not None

    def xyz(self, observer: Observer) -> Array:
        """XYZ (n, 3) in cd/m2 for an observer: from the spectra, else the readings as they are."""
        if self.spectra is not None and self.grid is not None:
            return emission_xyz(self.spectra, self.grid, observer)
        assert self.xyz_cd is not None  # the constructor asks for one of the two
        return self.xyz_cd

    @cached_property
    def own_xyz(self) -> Array:
        """XYZ (n, 3) in cd/m2 for the observer of the readings; CIE 1931 for spectra."""
        return self.xyz(named_observer(STANDARD_OBSERVER if self.spectral else self.observer))


def drive_name(drive: Array) -> str:
    """What a patch without a name is called: its drive values."""
    return " ".join(f"{value:.4g}" for value in drive)
