"""A press, fitted: what its inks give on its stock for any tints, and how far that can be trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance import xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.spectra import (
    Array,
    Colorimetry,
    Condition,
    Device,
    Grid,
    Light,
    Observer,
    Samples,
    frozen,
    light,
    observer,
    weights,
    white_point,
)
from screenproof.subtractive.halftone import root, spot_tone_value
from screenproof.subtractive.press_cells import Cells
from screenproof.subtractive.press_curves import CoverageCurve
from screenproof.subtractive.press_grids import SubGrid

MOST_CHANNELS = 8

MEASURED, BETWEEN, ESTIMATED = 0, 1, 2
"""Where a node's value comes from: it was measured; it lies among what was measured; it lies beyond."""

_ASTRAY = 0.02
"""A tint of which more than this share stands on estimated nodes gets a note."""

_DOUBT_NUMBERS = 1_000_000

PRINT_LIGHT, PRINT_OBSERVER = "D50", "cie1931"
"""Light and observer of the print trade: ISO 13655."""


@dataclass(frozen=True)
class HeldOut:
    """Colour differences (CIEDE2000) on patches that the model did not see.

    how: in words, which patches and how they were kept out. patches: their names. worst: the one of ``max``.
    """

    mean: float
    p95: float
    max: float
    count: int
    how: str
    light: str
    observer: str
    patches: tuple[str, ...] = ()
    worst: str = ""


@dataclass(frozen=True)
class TintLimits:
    """The most that may be printed: total of all tints (3.0 is 300 %), and each channel 0..1.

    Raises InputError when a limit is not above 0 or a channel's is above 1.
    """

    total: float
    channels: tuple[float, ...]

    def __post_init__(self) -> None:
        if not (np.isfinite(self.total) and self.total > 0.0):
            raise bad(
                f"a limit of {self.total:g} on the total coverage",
                field="total",
                expected="a number above 0; 3.0 stands for 300 %",
            )
        for limit in self.channels:
            if not 0.0 <= limit <= 1.0:
                raise bad(
                    f"a limit of {limit:g} on a channel",
                    field="channels",
                    expected="a tint from 0 to 1",
                    mend="divide percentages by 100" if limit > 1.0 else None,
                )


@dataclass(frozen=True, eq=False)
class Press:
    """A press with 1 to 8 channels.

    channels: their names. grid: of the reflectances, or None when only XYZ is known, for ``light`` and
    ``observer``. n: Yule-Nielsen factor. curves: tone value curve of each channel. levels: of each channel,
    ascending from 0 to 1. nodes: (L1, ..., Lc, w) reflectance factors, or XYZ with Y = 100 for the perfect
    diffuser, at all combinations of the levels. support: (L1, ..., Lc) MEASURED, BETWEEN or ESTIMATED. limits:
    the largest tints that were measured. grids: the full grids that were found in the characterisation. trust:
    see press_curves.fit_curve.
    """

    channels: tuple[str, ...]
    n: float
    curves: tuple[CoverageCurve, ...]
    levels: tuple[Array, ...]
    nodes: Array
    support: NDArray[np.int8]
    limits: TintLimits
    grid: Grid | None = None
    light: str | None = None
    observer: str | None = None
    held_out: HeldOut | None = None
    grids: tuple[SubGrid, ...] = ()
    trust: float = 0.1
    name: str = ""
    condition: Condition = Condition()
    source: str = ""
    notes: tuple[Note, ...] = field(default=())

    def __post_init__(self) -> None:
        object.__setattr__(self, "nodes", frozen(self.nodes))
        object.__setattr__(self, "levels", tuple(frozen(level) for level in self.levels))

    @property
    def is_spectral(self) -> bool:
        """Whether it gives reflectance curves, so that any light and observer can be asked for."""
        return self.grid is not None

    @property
    def stock(self) -> Array:
        """The bare stock (w,)."""
        return np.asarray(self.nodes[(0,) * len(self.channels)])

    @property
    def scale(self) -> float:
        """What 1 stands for: 1 of a reflectance, 100 of XYZ."""
        return 1.0 if self.is_spectral else 100.0

    @cached_property
    def cells(self) -> Cells:
        """The model made ready to be read."""
        return Cells.of(self.curves, self.levels, root(self.nodes / self.scale, self.n))

    def checked_tints(self, tints: ArrayLike) -> Array:
        """Tints as an array (n, c). Raises InputError that names the first which is no tint."""
        values = np.atleast_2d(np.asarray(tints, dtype=np.float64))
        count = len(self.channels)
        if values.ndim != 2 or values.shape[1] != count:
            raise bad(
                f"tints of shape {values.shape} for a press with {count} channels",
                field="tints",
                expected=f"one tint for each of {', '.join(self.channels)}",
            )
        wrong = ~((values >= 0.0) & (values <= 1.0))
        if wrong.any():
            row, channel = np.argwhere(wrong)[0]
            value = values[row, channel]
            raise bad(
                f"a tint of {value:g} for {self.channels[channel]} (row {row + 1})",
                field=self.channels[channel],
                expected="tints from 0 to 1: there is nothing beyond bare stock and solid",
                mend="divide percentages by 100" if 1.0 < value <= 100.0 else None,
            )
        return values

    def predict(self, tints: ArrayLike) -> Array:
        """Reflectance factors (n, w), or XYZ (n, 3) of a press that is only known by XYZ, of tints (n, c).

        Raises InputError for tints outside 0..1. :meth:`notes_on` says what of them is guesswork.
        """
        from screenproof.subtractive.press_model import values

        result: Array = values(self, self.checked_tints(tints)) * self.scale
        return result

    def weights(self, under: Light | None = None, seen_by: Observer | None = None) -> Array:
        """Matrix (w, 3) from what :meth:`predict` gives, over its scale, to XYZ with Y = 100 for the perfect
        diffuser.

        under, seen_by: D50 and the 1931 observer when not given; a press known by XYZ has its own.
        Raises InputError when that press is asked for others.
        """
        if self.grid is not None:
            return weights(under or light(PRINT_LIGHT), seen_by or observer(PRINT_OBSERVER), self.grid)
        asked = (under.name if under else self.light, seen_by.name if seen_by else self.observer)
        if asked != (self.light, self.observer):
            raise bad(
                f"the press is only known by XYZ for {self.light} and observer {self.observer}, asked for "
                f"{asked[0]} and {asked[1]}",
                expected=f"light {self.light} and observer {self.observer}",
                mend="fit the press to reflectance curves: without them another light cannot be known",
            )
        return frozen(100.0 * np.eye(3))

    def white(self, under: Light | None = None, seen_by: Observer | None = None) -> Array:
        """XYZ (3,) of the perfect diffuser, Y = 100, under the light and for the observer of :meth:`weights`."""
        own = (PRINT_LIGHT, PRINT_OBSERVER) if self.is_spectral else (self.light or "", self.observer or "")
        return white_point(under or light(own[0]), seen_by or observer(own[1]))

    def xyz(self, tints: ArrayLike, under: Light | None = None, seen_by: Observer | None = None) -> Array:
        """XYZ (n, 3), Y = 100 for the perfect diffuser, of tints (n, c): see :meth:`weights` for light and
        observer.

        The spectra of many tints are never all in memory. Raises InputError as predict and weights do.
        """
        from screenproof.subtractive.press_model import values

        return values(self, self.checked_tints(tints), self.weights(under, seen_by))

    def lab(self, tints: ArrayLike, under: Light | None = None, seen_by: Observer | None = None) -> Array:
        """CIELAB (n, 3) of tints (n, c), relative to the perfect diffuser under the same light."""
        return xyz_to_lab(self.xyz(tints, under, seen_by), self.white(under, seen_by))

    def samples(self, tints: ArrayLike, names: Sequence[str] | None = None) -> Samples:
        """The prediction as samples, with the tints they belong to and notes on what is guesswork."""
        at = self.checked_tints(tints)
        values = self.predict(at)
        called = tuple(names) if names is not None else tuple(str(i + 1) for i in range(len(at)))
        return Samples(
            called,
            reflectance=values if self.is_spectral else None,
            grid=self.grid,
            colorimetry=None if self.is_spectral else Colorimetry(values, self.light or "", self.observer or ""),
            condition=self.condition,
            device=Device(self.channels, at),
            source=self.source,
            notes=self.notes_on(at),
        )

    def tone_values(self, channel: str, tints: ArrayLike, under: Light | None = None) -> Array:
        """Spot colour tone values (n,) of ISO 20654 at tints (n,) of one channel alone, others at 0."""
        at = np.asarray(tints, dtype=np.float64).ravel()
        place = self.channel(channel)
        ramp = np.zeros((at.size + 2, len(self.channels)))
        ramp[:, place] = np.concatenate([at, [0.0, 1.0]])
        xyz = self.xyz(ramp, under)
        return spot_tone_value(xyz[:-2], xyz[-2], xyz[-1], self.white(under))

    def channel(self, name: str) -> int:
        """Where the channel called ``name`` stands. Raises InputError that lists the channels."""
        if name not in self.channels:
            raise bad(
                f"no channel is called {name!r}", field="channel", expected=f"one of {', '.join(self.channels)}"
            )
        return self.channels.index(name)

    def doubt(self, tints: ArrayLike) -> Array:
        """Share (n,) 0..1 of each tint that stands on nodes beyond what was measured."""
        at = self.checked_tints(tints)
        astray = (self.support == ESTIMATED).astype(np.float64)
        if not astray.any():
            return np.zeros(len(at))
        step = max(1, _DOUBT_NUMBERS // astray[0].size)
        parts = [self._share(astray, at[start : start + step]) for start in range(0, len(at), step)]
        return np.concatenate(parts) if parts else np.zeros(0)

    def _share(self, nodes: Array, at: Array) -> Array:
        """Sum (n,) of node values (L1, ..., Lc) times Demichel's areas within the cell, inks taken as a whole."""
        rows = np.arange(len(at))
        share = np.broadcast_to(nodes, (len(at), *nodes.shape))
        for channel, (curve, level) in enumerate(zip(self.curves, self.levels, strict=True)):
            edge, a = curve.whole_at(level), curve.whole_at(at[:, channel])
            cell = np.clip(np.searchsorted(level, at[:, channel], side="right") - 1, 0, level.size - 2)
            s = ((a - edge[cell]) / (edge[cell + 1] - edge[cell])).reshape(-1, *(1,) * (share.ndim - 2))
            share = np.asarray((1.0 - s) * share[rows, cell] + s * share[rows, cell + 1])
        return share

    def notes_on(self, tints: ArrayLike) -> tuple[Note, ...]:
        """Notes on tints (n, c) that lie where nothing was measured, one for each combination of inks."""
        at = self.checked_tints(tints)
        astray = self.doubt(at) > _ASTRAY
        if not astray.any():
            return ()
        used = at[astray] > 0.0
        notes = []
        for inks in np.unique(used, axis=0):
            count = int((used == inks).all(axis=1).sum())
            named = " + ".join(name for name, on in zip(self.channels, inks, strict=True) if on)
            notes.append(
                Note(
                    "assumed",
                    f"{count} tint(s) of {named}: no overprint of these inks this strong was measured; "
                    "it is estimated from the product of transmittances and the tints nearby",
                    about=named,
                    file=self.source or None,
                    mend="print and measure the overprints of these solids",
                )
            )
        return tuple(notes)
