"""A display, the room that shines on it, and how an observer sees both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, cast

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.curves import check_levels
from screenproof.additive.models import (
    STANDARD_OBSERVER,
    ColourModel,
    EmissionModel,
    MatrixModel,
    SpectralModel,
    drive_array,
    triple_array,
)
from screenproof.additive.transfer import Transfer
from screenproof.errors import Note, bad
from screenproof.spectra import VISIBLE, Array, EmissionDoubt, Grid, Light, Observer, emission_xyz
from screenproof.spectra import light as named_light
from screenproof.spectra import observer as named_observer

if TYPE_CHECKING:
    from screenproof.additive.fit import FitReport

DisplayKind = Literal["standard", "profile", "readings", "modelled"]


@dataclass(frozen=True, eq=False)
class Room:
    """Light of the room on the screen: a diffuse reflection that adds to every colour.

    light: what falls on the screen. illuminance: in lx, in the plane of the screen.
    reflectance: of the screen, 0..1, taken as neutral; the luminance added is reflectance * E / pi.

    Raises InputError for a negative illuminance or a reflectance outside 0..1.
    """

    light: Light
    illuminance: float
    reflectance: float

    def __post_init__(self) -> None:
        if not (np.isfinite(self.illuminance) and self.illuminance >= 0):
            raise bad(
                f"a room illuminance of {self.illuminance:g} lx",
                field="room illuminance",
                expected="0 lx or more; an office has 300 to 500, a proofing booth's surround 30 to 60",
                mend="give the illuminance in lx measured in the plane of the screen",
            )
        if not 0.0 <= self.reflectance <= 1.0:
            raise bad(
                f"a screen reflectance of {self.reflectance:g}",
                field="room reflectance",
                expected="a fraction from 0 to 1; a matt screen has about 0.04, a treated one 0.01",
                mend="divide a reflectance in percent by 100",
            )

    @property
    def luminance(self) -> float:
        """Luminance that the room adds to every colour, in cd/m2."""
        return self.reflectance * self.illuminance / float(np.pi)

    @cached_property
    def _gain(self) -> float:
        """From the light's relative power to the spectral radiance that the screen reflects."""
        relative = self._relative_xyz(named_observer(STANDARD_OBSERVER))[1]
        return self.luminance / float(relative)

    def _relative_xyz(self, observer: Observer) -> Array:
        xyz: Array = emission_xyz(self.light.at(VISIBLE.wavelengths), VISIBLE, observer)[0]
        return xyz

    def xyz(self, observer: Observer) -> Array:
        """XYZ (3,) in cd/m2 of the reflected light."""
        return self._relative_xyz(observer) * self._gain

    def spectrum(self, grid: Grid) -> Array:
        """Spectral radiance (w,) of the reflected light in W/(sr m2 nm)."""
        spectrum: Array = self.light.at(grid.wavelengths) * self._gain
        return spectrum


@dataclass(frozen=True, eq=False)
class View:
    """A display, with the room on it, as one observer sees it. All XYZ are absolute, Y in cd/m2.

    observer: who looks. model: the display in this observer's XYZ, without the room.
    room: XYZ (3,) that the room adds. notes: what had to be assumed.
    """

    observer: Observer
    model: ColourModel
    room: Array
    notes: tuple[Note, ...] = ()

    def to_xyz(self, drive: Array) -> Array:
        """XYZ (..., 3) in cd/m2 of drives (..., 3) 0..1, black and room light included.

        Drives outside 0..1 are followed as far as the model goes: a matrix display continues, a table
        holds its faces. Raises InputError when the last axis is not 3, or codes are given for drives.
        """
        drives = drive_array(drive)
        xyz: Array = self.model.to_xyz(drives.reshape(-1, 3)) + self.room
        return xyz.reshape(drives.shape)

    def to_drive(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Drives (..., 3) that give XYZ (..., 3) in cd/m2, and whether the display can show it (...).

        Inside the gamut the drive is exact and within 0..1; the gamut's surface, within 1e-9 of the light,
        counts as inside. Outside, a matrix display gives the unbounded drive that would give the colour, a
        table or profile the drive of a near colour on its surface. Raises InputError when the last axis is
        not 3, or a value is not finite.
        """
        target = triple_array(xyz, "XYZ")
        drive, inside = self.model.to_drive(target.reshape(-1, 3) - self.room)
        return drive.reshape(target.shape), inside.reshape(target.shape[:-1])

    @cached_property
    def white(self) -> Array:
        """XYZ (3,) of full white in cd/m2, with black and room light."""
        return self.to_xyz(np.ones(3))

    @cached_property
    def black(self) -> Array:
        """XYZ (3,) of drive 0 in cd/m2, with room light."""
        return self.to_xyz(np.zeros(3))

    @property
    def matrix(self) -> Array | None:
        """(3, 3) linear light to XYZ in cd/m2 above the black, or None for a table or profile."""
        return self.model.matrix if isinstance(self.model, MatrixModel) else None

    @property
    def curves(self) -> Transfer | None:
        """Drives (..., 3) to linear light and back, or None for a table or profile."""
        return self.model.curves if isinstance(self.model, MatrixModel) else None

    @cached_property
    def primaries(self) -> Array:
        """XYZ (3, 3) of full red, green and blue, one a row, in cd/m2, with black and room light."""
        return self.to_xyz(np.eye(3))


@dataclass(frozen=True, eq=False)
class Display:
    """A display: drive values to light and back.

    name, label: short name and the words that a report prints.
    kind: 'standard' (by definition), 'profile' (an ICC profile says so), 'readings' (measured) or 'modelled'
    (plausible, not measured).
    model: a colour model in XYZ of one observer, or an emission model with spectra; without the room.
    room: light of the room, None for a dark one. fit: how well the model explains the readings.
    doubt: what is known of the readings and of what the model misses.
    """

    name: str
    label: str
    kind: DisplayKind
    model: ColourModel | EmissionModel
    room: Room | None = None
    fit: FitReport | None = None
    notes: tuple[Note, ...] = ()
    source: str = ""
    doubt: EmissionDoubt | None = None

    def __post_init__(self) -> None:
        white, black = self._model_for(named_observer(self.observer_name)).to_xyz(np.array([[1.0] * 3, [0.0] * 3]))
        check_levels(float(white[1]), max(float(black[1]), 0.0))

    def __repr__(self) -> str:
        return f"Display({self.name!r}: {self.label}, {self.kind}, white {self.luminance:.4g} cd/m2)"

    @property
    def spectral(self) -> bool:
        """Whether the display's spectra are known, so that any observer sees it exactly."""
        return hasattr(self.model, "spectrum")

    @property
    def observer_name(self) -> str:
        """The observer whose XYZ the display is known by; 'cie1931' for a spectral display."""
        return STANDARD_OBSERVER if self.spectral else cast(ColourModel, self.model).observer

    @cached_property
    def luminance(self) -> float:
        """Luminance of the full white in cd/m2, black included, room light not."""
        model = self._model_for(named_observer(STANDARD_OBSERVER))
        return float(model.to_xyz(np.ones((1, 3)))[0, 1])

    @cached_property
    def contrast(self) -> float | None:
        """White over black in luminance, room light included; None when the black is no light at all."""
        view = self.seen_by()
        return float(view.white[1] / view.black[1]) if view.black[1] > 1e-12 * view.white[1] else None

    def _model_for(self, observer: Observer) -> ColourModel:
        if self.spectral:
            return cast(EmissionModel, self.model).seen_by(observer)
        return cast(ColourModel, self.model)

    def seen_by(self, observer: Observer | None = None) -> View:
        """The display as an observer sees it; by default the observer of its XYZ, or CIE 1931.

        A spectral display is integrated exactly. One known by its XYZ only is taken to have the same XYZ
        for another observer, and the view carries a note of kind 'assumed' that says so.
        """
        who = named_observer(self.observer_name) if observer is None else observer
        notes: tuple[Note, ...] = ()
        if not self.spectral and who.name != self.observer_name:
            notes = (
                Note(
                    "assumed",
                    f"{self.label} is known by its XYZ for observer {self.observer_name} only; "
                    f"for observer {who.name} the same XYZ are taken",
                    about=self.name,
                    mend="give spectral readings, or the spectra of its primaries",
                ),
            )
        room = np.zeros(3) if self.room is None else self.room.xyz(who)
        return View(who, self._model_for(who), room, notes)

    @property
    def spectral_grid(self) -> Grid:
        """Wavelengths of :meth:`spectrum`. InputError for a display without spectra."""
        return self._emission().grid

    def _emission(self) -> EmissionModel:
        if not self.spectral:
            raise bad(
                f"{self.label} has no spectra, only XYZ",
                field=self.name,
                expected="a display known by spectral readings, or by the spectra of its primaries",
                mend="measure it with a spectroradiometer, or take a modelled display of its technology",
            )
        return cast(EmissionModel, self.model)

    def spectrum(self, drive: Array) -> Array:
        """Spectral radiance (n, w) in W/(sr m2 nm) of drives (n, 3), with black and room light.

        Raises InputError for a display without spectra.
        """
        model = self._emission()
        spectra = model.spectrum(np.atleast_2d(drive_array(drive)))
        return spectra if self.room is None else spectra + self.room.spectrum(model.grid)

    def with_room(self, illuminance: float, light: Light | str = "D50", reflectance: float = 0.04) -> Display:
        """The display in a room: illuminance in lx on the screen, its light, reflectance of the screen."""
        falling = named_light(light) if isinstance(light, str) else light
        return replace(self, room=Room(falling, float(illuminance), float(reflectance)))

    def with_luminance(self, luminance: float) -> Display:
        """The display with its full white at ``luminance`` cd/m2; its black goes along, the room does not."""
        check_levels(luminance, 0.0)
        return replace(self, model=self.model.scaled(float(luminance) / self.luminance))


def display_from_primaries(
    spectra: Array,
    grid: Grid,
    curves: Transfer,
    *,
    black: Array | float = 0.0,
    luminance: float | None = None,
    name: str = "primaries",
    label: str = "",
    kind: DisplayKind = "readings",
    source: str = "",
    notes: Sequence[Note] = (),
) -> Display:
    """An additive display from the spectra of its three primaries.

    spectra: (3, w), red, green, blue at full drive above the black, in W/(sr m2 nm), or in any one unit
    when luminance is given. grid: their wavelengths. curves: drive to linear light.
    black: (w,) spectral radiance of drive 0 in the unit of ``spectra``; or a luminance in cd/m2, with the
    colour of the white. luminance: of the full white, black included, in cd/m2; None keeps the spectra.

    Raises InputError for a channel without light, primaries on one line, or a black above the white.

    >>> from screenproof.additive import named_transfer, technology
    >>> spectra, grid = technology("rgb-oled").spectra(), Grid(380.0, 780.0, 1.0)
    >>> display = display_from_primaries(spectra, grid, named_transfer("srgb", 400.0), luminance=400.0)
    >>> display.seen_by().to_xyz(np.array([0.5, 0.5, 0.5]))[1].round(2).item()
    85.62
    """
    primaries = np.array(spectra, dtype=np.float64)
    if primaries.ndim != 2 or primaries.shape[0] != 3:
        raise bad(
            f"primaries of shape {primaries.shape}",
            expected="three spectra: red, green and blue, one a row",
            mend="give one spectrum for each channel at full drive",
        )
    dark = np.zeros(primaries.shape[1])
    level: float | None = None
    if np.ndim(black) == 0:
        level = float(cast(float, black))
    else:
        dark = np.array(black, dtype=np.float64)
    # The model checks shapes and channels before anything is divided by a luminance.
    model = SpectralModel(curves, grid, primaries, dark)
    white = float(model.seen_by(named_observer(STANDARD_OBSERVER)).to_xyz(np.ones((1, 3)))[0, 1])
    target = white if luminance is None else float(luminance)
    if level is None:
        check_levels(target, 0.0)
        model = SpectralModel(curves, grid, primaries * (target / white), dark * (target / white))
    else:
        check_levels(target, level)
        gain = (target - level) / white
        model = SpectralModel(curves, grid, primaries * gain, primaries.sum(axis=0) * (level / white))
    return Display(name, label or name, kind, model, notes=tuple(notes), source=source)
