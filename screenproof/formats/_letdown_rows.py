"""Letdowns as they stand in a file, and the library that a file gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from screenproof.errors import Note
from screenproof.spectra import Array, Grid
from screenproof.subtractive import Library, Surface

Medium = Literal["paint", "film", "cloth", "inks"]
MEDIA: tuple[str, ...] = get_args(Medium)


@dataclass(frozen=True, eq=False)
class Rows:
    """Letdowns as they stand in the file: curves (n, w) on ``grid``, by pigment ('' for bare backings) and
    concentration; ``over``: 'black', 'white' or ''; ``cost``, ``density``: per kg and kg per litre, or None."""

    file: str
    medium: Medium
    base: str
    extender: str | None
    grid: Grid
    reflectance: Array
    pigment: tuple[str, ...]
    concentration: Array
    over: tuple[str, ...]
    cost: tuple[float | None, ...]
    density: tuple[float | None, ...]
    lines: tuple[int, ...]
    surface: Surface
    thickness: float
    notes: tuple[Note, ...]

    @property
    def pigments(self) -> list[str]:
        """The pigments in the order of the file, without the base."""
        return [name for name in dict.fromkeys(self.pigment) if name and name != self.base]

    def of(self, name: str, over: str = "") -> list[int]:
        """The rows of a pigment."""
        return [i for i, own in enumerate(self.pigment) if own == name and self.over[i] == over]


@dataclass(frozen=True, eq=False)
class LibraryFile:
    """A library as a file gives it; ``stock`` is the curve (w,) on which inks were measured, if it is known."""

    library: Library
    medium: Medium
    source: str
    stock: Array | None = None
    stock_name: str = ""
    readings: int = 0
    notes: tuple[Note, ...] = ()
