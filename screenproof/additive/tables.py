"""Display models for displays that are not additive: tables of readings, and profiles that a library reads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.lattice import Interpolation, Lattice, LatticeInverse
from screenproof.additive.models import STANDARD_OBSERVER
from screenproof.errors import bad
from screenproof.spectra import Array, Grid, Observer, emission_weights


def _axes(axes: Sequence[Array]) -> tuple[Array, Array, Array]:
    red, green, blue = (np.array(axis, dtype=np.float64) for axis in axes)
    return red, green, blue


def _check_values(values: Array, shape: tuple[int, int, int], depth: int | None) -> None:
    if values.shape[:3] != shape or values.ndim != 4 or (depth is not None and values.shape[3] != depth):
        raise bad(
            f"a table of shape {values.shape} for axes of {shape[0]}, {shape[1]} and {shape[2]} steps",
            expected="a value for every combination of the steps",
            mend="measure the missing combinations",
        )
    if not np.isfinite(values).all():
        raise bad(
            "the table holds values that are no numbers",
            expected="a finite value for every combination of the steps",
            mend="measure the missing combinations",
        )


@dataclass(frozen=True, eq=False)
class TableModel:
    """XYZ of one observer from a table over the drives; the inverse is solved.

    axes: three arrays of drives, each ascending from 0 to 1. values: (r, g, b, 3) XYZ in cd/m2.
    interpolation: 'tetrahedral' or 'trilinear'. Drives outside 0..1 are held at the faces.

    Raises InputError for axes or values that do not fit, or a white that is not brighter than the black.
    """

    axes: tuple[Array, Array, Array]
    values: Array
    interpolation: Interpolation = "tetrahedral"
    observer: str = STANDARD_OBSERVER

    def __post_init__(self) -> None:
        object.__setattr__(self, "axes", _axes(self.axes))
        object.__setattr__(self, "values", np.array(self.values, dtype=np.float64))
        _check_values(self.values, self._lattice.shape, 3)
        white, black = self.values[-1, -1, -1], self.values[0, 0, 0]
        if not white[1] > black[1] or white.min() <= 0:
            raise bad(
                f"the table's white, {white[1]:g} cd/m2, is not brighter than its black, {black[1]:g} cd/m2",
                expected="more light at full drive than at drive 0",
                mend="look whether the rows are in order",
            )

    @cached_property
    def _lattice(self) -> Lattice:
        return Lattice(self.axes, self.interpolation)

    @cached_property
    def _flat(self) -> Array:
        return np.ascontiguousarray(self.values.reshape(-1, 3))

    @cached_property
    def _inverse(self) -> LatticeInverse:
        return LatticeInverse(self._lattice, self._flat, self._flat[-1])

    def to_xyz(self, drive: Array) -> Array:
        return self._lattice.read(self._flat, drive)

    def to_drive(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        return self._inverse.drives(xyz)

    def scaled(self, factor: float) -> TableModel:
        return replace(self, values=self.values * factor)


@dataclass(frozen=True, eq=False)
class SpectralTable:
    """Spectral radiance from a table over the drives, so that any observer sees it.

    axes: as in :class:`TableModel`. values: (r, g, b, w) in W/(sr m2 nm) on ``grid``. Interpolation
    and integration may change places, so an observer's table of XYZ gives the same as the spectra.
    """

    axes: tuple[Array, Array, Array]
    values: Array
    grid: Grid
    interpolation: Interpolation = "tetrahedral"
    # The search structure behind a table's inverse takes longer to make than a question takes to answer.
    _seen: dict[Observer, TableModel] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "axes", _axes(self.axes))
        object.__setattr__(self, "values", np.array(self.values, dtype=np.float64))
        _check_values(self.values, self._lattice.shape, self.grid.count)

    @cached_property
    def _lattice(self) -> Lattice:
        return Lattice(self.axes, self.interpolation)

    def seen_by(self, observer: Observer) -> TableModel:
        if observer not in self._seen:
            xyz = self.values @ emission_weights(observer, self.grid)
            self._seen[observer] = TableModel(self.axes, xyz, self.interpolation, observer.name)
        return self._seen[observer]

    def spectrum(self, drive: Array) -> Array:
        """Spectral radiance (n, w) in W/(sr m2 nm) of the drives."""
        return self._lattice.read(self.values.reshape(-1, self.grid.count), drive)

    def scaled(self, factor: float) -> SpectralTable:
        return replace(self, values=self.values * factor)


@dataclass(frozen=True, eq=False)
class ProfileModel:
    """A display through a pair of functions, for instance a profile with tables that a library reads.

    forward: drives (n, 3) within 0..1 to XYZ (n, 3) in cd/m2. backward: XYZ to drives. The pair need not be
    each other's exact inverse: a colour counts as inside when it comes back within ``tolerance`` times the
    luminance of the white, so give the tolerance that the pair's tables and bit depth can keep.
    gain: factor on all light.
    """

    forward: Callable[[Array], Array]
    backward: Callable[[Array], Array]
    tolerance: float = 0.005
    observer: str = STANDARD_OBSERVER
    gain: float = 1.0

    @cached_property
    def _white(self) -> float:
        return float(self.to_xyz(np.ones((1, 3)))[0, 1])

    def to_xyz(self, drive: Array) -> Array:
        xyz: Array = self.forward(np.clip(drive, 0.0, 1.0)) * self.gain
        return xyz

    def to_drive(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        drive = np.clip(self.backward(xyz / self.gain), 0.0, 1.0)
        error = np.abs(self.to_xyz(drive) - xyz).max(axis=1)
        return drive, np.asarray(error <= self.tolerance * self._white)

    def as_table(self, steps: int = 17) -> TableModel:
        """The forward function as a table of ``steps`` drives on each axis, whose inverse is exact."""
        axis = np.linspace(0.0, 1.0, steps)
        lattice = Lattice((axis, axis, axis))
        values = self.to_xyz(lattice.nodes).reshape(steps, steps, steps, 3)
        return TableModel((axis, axis, axis), values, observer=self.observer)

    def scaled(self, factor: float) -> ProfileModel:
        return replace(self, gain=self.gain * factor)
