"""Display models: drive values to light and back, without the room.

:class:`MatrixModel` is the additive display with a transfer (tone curves), a matrix and a black, in XYZ of one
observer. :class:`SpectralModel` is the same display known by its primaries' spectra, so that it can be seen by
any observer. :mod:`screenproof.additive.tables` has the models for displays that are not additive.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.curves import CHANNELS
from screenproof.additive.transfer import Transfer
from screenproof.errors import bad
from screenproof.spectra import Array, Grid, Observer, emission_xyz

TOLERANCE = 1e-9
"""How far outside the drive cube a colour may lie, in linear light or drive, and still count as its surface."""

STANDARD_OBSERVER = "cie1931"


class ColourModel(Protocol):
    """A display in XYZ of one observer. Drives (n, 3), xyz (n, 3) in cd/m2."""

    @property
    def observer(self) -> str:
        """Name of the observer whose XYZ these are."""
        ...

    def to_xyz(self, drive: Array) -> Array:
        """Light of the drives."""
        ...

    def to_drive(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Drives that give the light, and whether the display can show it."""
        ...

    def scaled(self, factor: float) -> ColourModel:
        """The display ``factor`` times as bright, its black too."""
        ...


class EmissionModel(Protocol):
    """A display known by its spectra."""

    @property
    def grid(self) -> Grid:
        """Wavelengths of the spectra."""
        ...

    def seen_by(self, observer: Observer) -> ColourModel:
        """The same display in XYZ of an observer."""
        ...

    def spectrum(self, drive: Array) -> Array:
        """Spectral radiance of the drives, (n, w) in W/(sr m2 nm)."""
        ...

    def scaled(self, factor: float) -> EmissionModel:
        """The display ``factor`` times as bright, its black too."""
        ...


def triple_array(values: object, field: str) -> Array:
    """Drives or XYZ as a finite float array (..., 3). InputError for a wrong shape, or what is no number."""
    array = np.asarray(values, dtype=np.float64)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise bad(
            f"{field} values of shape {array.shape}",
            field=field,
            expected="three values for every colour",
            mend="give an array of n rows and 3 columns",
        )
    if not np.isfinite(array).all():
        raise bad(
            f"{field} values that are no numbers",
            field=field,
            expected="three finite values for every colour",
            mend="leave out the colours that were not measured",
        )
    return array


def drive_array(drive: object) -> Array:
    """Drives as a float array (..., 3). InputError for a wrong shape, or for codes given as drives."""
    array = triple_array(drive, "drive")
    if array.size and np.abs(array).max() > 100.0:
        raise bad(
            f"a drive value of {array.flat[np.abs(array).argmax()]:g}",
            field="drive",
            expected="drive values between 0 and 1",
            mend="divide code values by the highest code, 255 at 8 bits",
        )
    return array


def inside_cube(drive: Array, linear_inside: NDArray[np.bool_]) -> tuple[Array, NDArray[np.bool_]]:
    """Join the two tests, in light and in drive, and put what counts as inside exactly into the cube.

    A tone curve is so flat near black that rounding in the light moves the drive by 1e-7: the test in light
    takes care of that. Near white the test in drive is the wider one.
    """
    in_drive = ((drive >= -TOLERANCE) & (drive <= 1.0 + TOLERANCE)).all(axis=-1)
    inside = np.asarray(linear_inside | in_drive)
    clipped: Array = np.where(inside[..., None], np.clip(drive, 0.0, 1.0), drive)
    return clipped, inside


def _check_matrix(matrix: Array, black: Array) -> None:
    if (
        matrix.shape != (3, 3)
        or black.shape != (3,)
        or not (np.isfinite(matrix).all() and np.isfinite(black).all())
    ):
        raise bad(
            "the display's matrix or black has the wrong shape or holds values that are no numbers",
            expected="nine finite numbers, XYZ of red, green and blue in columns, and three for the black",
            mend="look at the primaries' XYZ",
        )
    largest = np.abs(matrix).max()
    for name, column in zip(CHANNELS, matrix.T, strict=True):
        if np.abs(column).max() <= 1e-9 * largest:
            raise bad(
                f"the {name} channel gives no light",
                field=name,
                expected="XYZ above zero at full drive",
                mend="measure the channel again, or look whether its column is missing",
            )
    unit = matrix / np.abs(matrix).max(axis=0)
    if abs(np.linalg.det(unit)) < 1e-6:
        raise bad(
            "the three primaries lie on one line: no mixture of them spans the colours",
            expected="three primaries of clearly different chromaticity",
            mend="look whether one channel was measured twice, or the channels have one and the same XYZ",
        )
    if black[1] < 0 or matrix.sum(axis=1)[1] <= 0:
        raise bad(
            f"the white is {matrix.sum(axis=1)[1]:g} cd/m2 above a black of {black[1]:g} cd/m2",
            expected="a black of 0 cd/m2 or more and a white above it",
            mend="give both in cd/m2, and look whether they have changed places",
        )


@dataclass(frozen=True, eq=False)
class MatrixModel:
    """XYZ = M g(d) + K: an additive display in XYZ of one observer.

    curves: drive to linear light, see :class:`~screenproof.additive.transfer.Transfer`.
    matrix: (3, 3), columns the XYZ of full red, green, blue above the black, in cd/m2.
    black: (3,), XYZ of drive 0 in cd/m2.
    observer: name of the observer whose XYZ these are.

    Raises InputError when a channel gives no light, the matrix is singular or the black is above the white.
    """

    curves: Transfer
    matrix: Array
    black: Array = field(default_factory=lambda: np.zeros(3))
    observer: str = STANDARD_OBSERVER

    def __post_init__(self) -> None:
        object.__setattr__(self, "matrix", np.array(self.matrix, dtype=np.float64))
        object.__setattr__(self, "black", np.array(self.black, dtype=np.float64))
        _check_matrix(self.matrix, self.black)

    @cached_property
    def _inverse(self) -> Array:
        return np.asarray(np.linalg.inv(self.matrix), dtype=np.float64)

    def to_xyz(self, drive: Array) -> Array:
        xyz: Array = self.curves.forward(drive) @ self.matrix.T
        xyz += self.black
        return xyz

    def to_linear(self, xyz: Array) -> Array:
        """Linear light of the channels, unbounded, for XYZ in cd/m2."""
        linear: Array = (xyz - self.black) @ self._inverse.T
        return linear

    def to_drive(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        linear = self.to_linear(xyz)
        return inside_cube(self.curves.inverse(linear), self.curves.within(linear, TOLERANCE))

    def scaled(self, factor: float) -> MatrixModel:
        return MatrixModel(self.curves.rescaled(factor), self.matrix * factor, self.black * factor, self.observer)


@dataclass(frozen=True, eq=False)
class SpectralModel:
    """L(wavelength) = sum over channels of g_c(d) P_c + K: an additive display known by its spectra.

    primaries: (3, w), spectral radiance of full red, green, blue above the black, in W/(sr m2 nm).
    black: (w,), spectral radiance of drive 0.
    """

    curves: Transfer
    grid: Grid
    primaries: Array
    black: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "primaries", np.array(self.primaries, dtype=np.float64))
        object.__setattr__(self, "black", np.array(self.black, dtype=np.float64))
        count = self.grid.count
        if self.primaries.shape != (3, count) or self.black.shape != (count,):
            raise bad(
                f"primaries of shape {self.primaries.shape} with a black of shape {self.black.shape}",
                expected=f"three spectra and a black of {count} wavelengths, as the grid has",
                mend="give every spectrum on the same wavelengths",
            )
        if not (np.isfinite(self.primaries).all() and np.isfinite(self.black).all()):
            raise bad(
                "a primary's spectrum holds values that are no numbers",
                expected="a finite radiance at every wavelength",
                mend="look for empty or unreadable fields in the spectra",
            )
        for name, spectrum in zip(CHANNELS, self.primaries, strict=True):
            if spectrum.max(initial=0.0) <= 0:
                raise bad(
                    f"the {name} channel gives no light",
                    field=name,
                    expected="radiance above zero at some wavelengths",
                    mend="measure the channel again, or look whether its column is missing",
                )

    def seen_by(self, observer: Observer) -> MatrixModel:
        xyz = emission_xyz(np.vstack([self.primaries, self.black]), self.grid, observer)
        return MatrixModel(self.curves, xyz[:3].T, xyz[3], observer.name)

    def spectrum(self, drive: Array) -> Array:
        """Spectral radiance (n, w) in W/(sr m2 nm) of the drives, with the black."""
        spectra: Array = self.curves.forward(drive) @ self.primaries
        spectra += self.black
        return spectra

    def scaled(self, factor: float) -> SpectralModel:
        return SpectralModel(self.curves.rescaled(factor), self.grid, self.primaries * factor, self.black * factor)
