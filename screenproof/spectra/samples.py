"""Measured objects, many at once, with the conditions under which they were measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad, near_words
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.doubt import SamplesDoubt, check_rows, joined_doubt
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import Light
from screenproof.spectra.observer import Observer
from screenproof.spectra.weights import tristimulus

FILTERS = ("M0", "M1", "M2", "M3")
"""Measurement conditions of ISO 13655: M0 undefined UV, M1 D50 with its UV, M2 UV cut, M3 crossed polarisers."""


@dataclass(frozen=True)
class Condition:
    """How a sample was measured. ``filter`` is M0 to M3 of ISO 13655, ``geometry`` as in '45a:0' or 'di:8'."""

    geometry: str | None = None
    filter: str | None = None
    backing: str | None = None
    instrument: str | None = None
    date: str | None = None

    def __post_init__(self) -> None:
        if self.filter is not None and self.filter not in FILTERS:
            raise bad(f"measurement condition {self.filter!r}", field="filter", expected=", ".join(FILTERS))


@dataclass(frozen=True, eq=False)
class Colorimetry:
    """XYZ (n, 3), Y = 100 for the perfect diffuser, with the names of the light and observer they hold for."""

    xyz: Array
    light: str
    observer: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "xyz", frozen(np.atleast_2d(self.xyz)))


@dataclass(frozen=True, eq=False)
class Device:
    """Device values (n, c) in 0..1 that belong to the samples: tints of a press, drive values of a display."""

    channels: tuple[str, ...]
    values: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", frozen(np.atleast_2d(self.values)))


@dataclass(frozen=True, eq=False)
class Samples:
    """Measured objects: names (n,), and reflectance factors (n, w) on a grid, or colorimetry, or both.

    A reflectance factor is a fraction (1 is the perfect diffuser). With both given, the reflectance decides.
    ``repeatability`` is the standard deviation of a reading in reflectance factor; ``doubt`` is all that is known
    of the readings and goes before it (:func:`screenproof.spectra.doubt_of`). ``notes`` are what was odd or
    assumed when they were read.

    Raises InputError when shapes do not fit, when there is no sample, or when a name stands twice.
    """

    names: tuple[str, ...]
    reflectance: Array | None = None
    grid: Grid | None = None
    colorimetry: Colorimetry | None = None
    condition: Condition = Condition()
    device: Device | None = None
    repeatability: float | None = None
    fluorescent: bool = False
    source: str = ""
    notes: tuple[Note, ...] = field(default=())
    doubt: SamplesDoubt | None = None

    def __post_init__(self) -> None:
        count, where = len(self.names), self.source or None
        if count == 0:
            raise bad("no sample", file=where, expected="at least one sample")
        seen: set[str] = set()
        for name in self.names:
            if name in seen:
                raise bad(f"the name {name!r} stands twice", file=where, mend="give each sample its own name")
            seen.add(name)
        if (self.reflectance is None) != (self.grid is None):
            raise bad("reflectances need their wavelengths, and wavelengths their reflectances", file=where)
        if self.reflectance is None and self.colorimetry is None:
            raise bad("neither reflectances nor XYZ or Lab", file=where, expected="one of them for each sample")
        if self.reflectance is not None and self.grid is not None:
            values = frozen(np.atleast_2d(self.reflectance))
            object.__setattr__(self, "reflectance", values)
            if values.shape != (count, self.grid.count):
                raise bad(
                    f"reflectances of shape {values.shape} for {count} samples and {self.grid.count} wavelengths",
                    file=where,
                )
        for what, rows in (
            ("XYZ", None if self.colorimetry is None else self.colorimetry.xyz),
            ("device", None if self.device is None else self.device.values),
        ):
            if rows is not None and rows.shape[0] != count:
                raise bad(f"{rows.shape[0]} rows of {what} values for {count} samples", file=where)
        if self.doubt is not None:
            check_rows(self.doubt, count, None if self.grid is None else self.grid.count)

    def __len__(self) -> int:
        return len(self.names)

    @property
    def is_spectral(self) -> bool:
        """Whether there are reflectance curves, so that any light and observer can be asked for."""
        return self.reflectance is not None

    def index(self, name: str) -> int:
        """Where the sample called ``name`` stands. Raises InputError that lists the nearest names."""
        if name in self.names:
            return self.names.index(name)
        near = near_words(name, self.names, 3, 0.4) or list(self.names[:5])
        raise bad(
            f"no sample is called {name!r}", file=self.source or None, mend=f"nearest names: {', '.join(near)}"
        )

    def select(self, indices: Sequence[int] | ArrayLike) -> Samples:
        """The samples at ``indices``, in that order."""
        at = np.atleast_1d(np.asarray(indices, dtype=np.intp))
        colorimetry, device = self.colorimetry, self.device
        return replace(
            self,
            names=tuple(self.names[i] for i in at),
            reflectance=None if self.reflectance is None else self.reflectance[at],
            colorimetry=None if colorimetry is None else replace(colorimetry, xyz=colorimetry.xyz[at]),
            device=None if device is None else replace(device, values=device.values[at]),
            doubt=None if self.doubt is None else self.doubt.select(at),
        )

    def xyz(self, lights: Sequence[Light], observers: Sequence[Observer]) -> Array:
        """XYZ (n, L, O, 3) under every light for every observer, Y = 100 for the perfect diffuser.

        Raises InputError for samples without curves under any but their own light and observer: XYZ cannot be
        carried to another light without knowing the curve, and is not guessed.
        """
        if self.reflectance is not None and self.grid is not None:
            return tristimulus(self.reflectance, self.grid, lights, observers)
        assert self.colorimetry is not None
        own = self.colorimetry
        for light in lights:
            for observer in observers:
                if (light.name, observer.name) != (own.light, own.observer):
                    raise bad(
                        f"only XYZ or Lab for {own.light} and observer {own.observer}, asked for {light.name} and "
                        f"{observer.name}",
                        file=self.source or None,
                        expected=f"light {own.light} and observer {own.observer}",
                        mend="measure the reflectance curves: without them another light cannot be known",
                    )
        shape = (len(self), len(lights), len(observers), 3)
        return np.broadcast_to(own.xyz[:, None, None, :], shape).copy()

    @classmethod
    def joined(cls, parts: Sequence[Samples]) -> Samples:
        """All samples of ``parts`` in one, on one grid, with the first part's condition.

        Raises InputError when the grids, the kinds (curves or colorimetry) or the colorimetry's light and
        observer are unlike: nothing is resampled.
        """
        if not parts:
            raise bad("no sample", expected="at least one sample")
        first = parts[0]
        for part in parts[1:]:
            mine = part.colorimetry and (part.colorimetry.light, part.colorimetry.observer)
            theirs = first.colorimetry and (first.colorimetry.light, first.colorimetry.observer)
            if part.grid != first.grid or (not first.is_spectral and mine != theirs):
                raise bad(
                    f"{part.source or 'samples'} and {first.source or 'samples'} were not measured alike",
                    expected=f"one grid ({first.grid}) or one light and observer",
                    mend="use them as two files",
                )
        keep_xyz = all(part.colorimetry is not None for part in parts) and not first.is_spectral
        return replace(
            first,
            names=tuple(name for part in parts for name in part.names),
            reflectance=np.concatenate([p.reflectance for p in parts if p.reflectance is not None])
            if first.is_spectral
            else None,
            colorimetry=replace(
                first.colorimetry,
                xyz=np.concatenate([p.colorimetry.xyz for p in parts if p.colorimetry is not None]),
            )
            if keep_xyz and first.colorimetry is not None
            else None,
            device=None,
            fluorescent=any(part.fluorescent for part in parts),
            notes=tuple(note for part in parts for note in part.notes),
            doubt=joined_doubt(parts),
        )
