"""Measured objects, many at once, with the conditions under which they were measured."""

from __future__ import annotations

import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, SupportsIndex

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad, near_words
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.cielab import xyz_to_lab
from screenproof.spectra.doubt import SamplesDoubt, check_rows, joined_doubt
from screenproof.spectra.grid import Grid
from screenproof.spectra.light import Light, as_light
from screenproof.spectra.observer import Observer, as_observer
from screenproof.spectra.weights import tristimulus, white_point

_SHOWN = 3
"""Names in the short form of samples."""

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

    ``samples["Tea"]``, ``samples[0]``, ``samples[2:5]``, ``samples[["Tea", "Rose"]]`` and a mask (n,) are samples
    again; a loop gives one at a time, and ``"Tea" in samples`` asks for a name.

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

    def __iter__(self) -> Iterator[Samples]:
        return (self.select([place]) for place in range(len(self)))

    def __contains__(self, name: object) -> bool:
        return name in self.names

    def __getitem__(self, key: str | SupportsIndex | slice | Sequence[str | SupportsIndex] | ArrayLike) -> Samples:
        """The samples of a name, a place, a slice, a list of names and places, or a mask (n,), in that order.

        Raises InputError for a name that no sample has (with the nearest), a place that is none, and for nothing.
        """
        places = self._places(key)
        if not places:
            raise bad("no sample is asked for", file=self.source or None, expected="at least one sample")
        return self.select(places)

    def __repr__(self) -> str:
        shown = ", ".join(map(repr, self.names[:_SHOWN])) + (" ..." if len(self) > _SHOWN else "")
        own = self.colorimetry
        known = [str(self.grid) if own is None or self.is_spectral else f"XYZ for {own.light}, {own.observer}"]
        known += [what for what in (self.condition.filter, self.source) if what]
        return f"Samples({len(self)}: {shown}; {', '.join(known)})"

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

    def _places(self, key: object) -> list[int]:
        if isinstance(key, slice):
            return list(range(len(self)))[key]
        if isinstance(key, np.ndarray):
            key = key.tolist()
        if isinstance(key, (str, SupportsIndex)) or not isinstance(key, Sequence):
            return [self._place(key)]
        if key and all(isinstance(one, (bool, np.bool_)) for one in key):
            if len(key) != len(self):
                raise bad(f"a mask of {len(key)} for {len(self)} samples", file=self.source or None)
            return [place for place, wanted in enumerate(key) if wanted]
        return [self._place(one) for one in key]

    def _place(self, key: object) -> int:
        if isinstance(key, str):
            return self.index(key)
        last = len(self) - 1
        if not isinstance(key, SupportsIndex) or isinstance(key, (bool, np.bool_)):
            raise bad(
                f"{key!r} names no sample",
                file=self.source or None,
                expected=f"a name, a place from 0 to {last}, a slice, a list of them, or a mask",
            )
        place = operator.index(key)
        if not -len(self) <= place <= last:
            raise bad(
                f"there is no sample {place} among {len(self)}",
                file=self.source or None,
                expected=f"a place from 0 to {last}, or from -1 back to -{len(self)}",
            )
        return place % len(self)

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

    def lab(self, light: Light | str, observer: Observer | str) -> Array:
        """CIELAB (n, 3) under a light for an observer, given as such or by name, relative to the light's white.

        Raises InputError for an unknown name, and as :meth:`xyz` does.
        """
        lamp, eye = as_light(light), as_observer(observer)
        return xyz_to_lab(self.xyz([lamp], [eye])[:, 0, 0], white_point(lamp, eye))

    def to_frame(self) -> Any:
        """A pandas DataFrame with one row for each sample, by name.

        The columns are the wavelengths in nm with reflectance factors; of samples without curves X, Y, Z. Raises
        InputError where pandas is not installed: screenproof does without it.
        """
        try:
            import pandas
        except ImportError:
            raise bad("pandas is not installed", expected="pandas", mend="pip install pandas") from None
        if self.reflectance is not None and self.grid is not None:
            return pandas.DataFrame(self.reflectance.copy(), list(self.names), self.grid.wavelengths.tolist())
        assert self.colorimetry is not None
        return pandas.DataFrame(self.colorimetry.xyz.copy(), list(self.names), ["X", "Y", "Z"])

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
