"""Readings of a display: what was sent to it and the light that came out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import Array, Grid, Observer, emission_xyz, frozen
from screenproof.spectra import observer as named_observer

STANDARD_OBSERVER = "cie1931"
"""Observer of XYZ readings that do not say otherwise: the one that colorimeters are made for."""

SAME_DRIVE = 1e-6
"""Drives this near are one patch read twice: a step at 16 bits is 1.5e-5."""

_SERIES, _SERIES_MINUTES = 3, 5.0
"""A colour read so often in succession, over so many minutes, is a series over time: less are repeats."""

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
    positions: for each reading 'row,column' on the screen, counted from 1 at the top left, or None for the usual
    place; None when no reading says. minutes: (n,), minutes from switching on, NaN for a reading without a time;
    None when no reading has one.

    Raises InputError, with every problem, for unlike lengths, drives outside 0..1 (codes given for drives),
    values that are no numbers, negative light, neither XYZ nor spectra, a position that is no 'row,column' or
    negative minutes.
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
    positions: tuple[str | None, ...] | None = None
    minutes: Array | None = None

    def __post_init__(self) -> None:
        drive = frozen(self.drive)
        object.__setattr__(self, "drive", drive)
        for key in ("xyz_cd", "spectra", "minutes"):
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
        problems = [*self._drive_problems(), *self._light_problems(), *self._place_problems()]
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

    def _place_problems(self) -> list[Problem]:
        file, count = self.source or None, len(self.drive)
        found = []
        if self.positions is not None:
            if len(self.positions) != count:
                found.append(Problem(f"{len(self.positions)} positions for {count} readings", file))
            for place in sorted({place for place in self.positions if place is not None}):
                if not re.fullmatch(r"[1-9]\d*,[1-9]\d*", place):
                    found.append(
                        Problem(f"the position {place!r}", file, field="positions", expected="'row,column'")
                    )
        if self.minutes is not None and self.minutes.shape != (count,):
            found.append(Problem(f"minutes of shape {self.minutes.shape} for {count} readings", file))
        elif self.minutes is not None and (np.isinf(self.minutes).any() or (self.minutes < 0).any()):
            found.append(
                Problem("minutes that are negative or endless", file, field="minutes", expected="0 or more")
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

    @property
    def grid_shape(self) -> tuple[int, int] | None:
        """Rows and columns of the places on the screen, or None when no reading says its place."""
        places = [place for place in self.positions or () if place is not None]
        if not places:
            return None
        rows, columns = np.array([place.split(",") for place in places], dtype=np.int64).max(axis=0)
        return int(rows), int(columns)

    @property
    def at_centre(self) -> NDArray[np.bool_]:
        """Whether each reading (n,) was made in the usual place: none is stated, or it is the grid's middle."""
        shape = self.grid_shape
        if shape is None or self.positions is None:
            return np.ones(len(self), dtype=np.bool_)
        centre = f"{(shape[0] + 1) // 2},{(shape[1] + 1) // 2}" if shape[0] % 2 and shape[1] % 2 else None
        return np.array([place is None or place == centre for place in self.positions])

    @property
    def in_series(self) -> NDArray[np.bool_]:
        """Whether each reading (n,) belongs to a series over time.

        Where some readings have a time and others none, those with a time are the series. Where all have one, it
        is the log of a session: a series is then a colour read three times or more in succession, over five
        minutes or more.
        """
        count = len(self)
        if self.minutes is None:
            return np.zeros(count, dtype=np.bool_)
        timed = np.isfinite(self.minutes)
        if not timed.all():
            return timed
        order = np.argsort(self.minutes, kind="stable")
        changes = np.any(np.abs(np.diff(self.drive[order], axis=0)) > SAME_DRIVE, axis=1)
        run = np.concatenate([[0], np.cumsum(changes)])
        found = np.zeros(count, dtype=np.bool_)
        first = np.searchsorted(run, np.arange(run[-1] + 1))
        last = np.append(first[1:], count) - 1
        long = self.minutes[order][last] - self.minutes[order][first] >= _SERIES_MINUTES
        found[order] = ((last - first + 1 >= _SERIES) & long)[run]
        return found

    def select(self, rows: slice | ArrayLike) -> Readings:
        """The readings at ``rows``: a slice, a mask (n,) or indices, in that order."""
        at = np.arange(len(self))[rows if isinstance(rows, slice) else np.asarray(rows)]

        def of(values: Array | None) -> Array | None:
            return None if values is None else values[at]

        return replace(
            self,
            drive=self.drive[at],
            xyz_cd=of(self.xyz_cd),
            spectra=of(self.spectra),
            names=tuple(self.names[i] for i in at),
            positions=None if self.positions is None else tuple(self.positions[i] for i in at),
            minutes=of(self.minutes),
        )

    def for_fit(self) -> Readings:
        """The readings that tell the display's colours: those off the centre and series over time are left out.

        Of a colour that was read in a series only, the last reading stays: the screen is then warm. What is left
        out is said in the notes; nothing is changed when nothing is left out.
        """
        away, series = ~self.at_centre, self.in_series
        keep = ~away & ~series
        times = np.zeros(len(self)) if self.minutes is None else self.minutes
        for i in sorted(np.flatnonzero(series & ~away).tolist(), key=lambda i: -float(times[i])):
            if not keep.any() or np.abs(self.drive[keep] - self.drive[i]).max(axis=1).min() > SAME_DRIVE:
                keep[i] = True
        if keep.all():
            return self
        if not keep.any():
            raise self._wrong(
                "no reading was made at the centre of the screen",
                "readings of the display's colours at its centre",
                "give the readings at the centre the position of the grid's middle, or none",
            )
        left = [
            f"{count} {what}"
            for count, what in (
                (int(np.count_nonzero(away)), "away from the centre of the screen"),
                (int(np.count_nonzero(~keep & ~away)), "of a series over time"),
            )
            if count
        ]
        what = f"not used to fit the display: readings {' and '.join(left)}"
        note = Note("info", what, file=self.source or None)
        return replace(self.select(keep), notes=(*self.notes, note))


def drive_name(drive: Array) -> str:
    """What a patch without a name is called: its drive values."""
    return " ".join(f"{value:.4g}" for value in drive)
