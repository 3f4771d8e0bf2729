"""What a result holds of the scene: the viewing, its lights and observers, the displays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from screenproof.errors import Note
from screenproof.proof.ink_records import Pair, Triple


@dataclass(frozen=True)
class ViewingRecord:
    """The situation of the job, as the page tells it."""

    light: str
    observer: str
    basis: Literal["white", "absolute", "appearance"]
    adaptation: str
    object_white: str
    bits: int
    white_xyz: Triple
    surround: str = "average"


@dataclass(frozen=True)
class LightRecord:
    """A light of the job: xy for the viewing observer, correlated colour temperature [K] if it has one."""

    name: str
    label: str
    source: str
    xy: Pair
    cct: float | None
    illuminance: float | None


@dataclass(frozen=True)
class ObserverRecord:
    """An observer of the job."""

    name: str
    label: str
    kind: str


@dataclass(frozen=True)
class DisplayRecord:
    """A display of the job. The u'v' are adapted to the viewing light's white, as the samples' are.

    ``lc_outline`` is the largest chroma at each lightness, at some hues: (hue [deg], ((L, C), ...)).
    ``contrast`` is None where the display has no black of its own.
    """

    name: str
    label: str
    kind: str
    luminance: float
    contrast: float | None
    white_xy: Pair
    primaries_uv: tuple[Pair, Pair, Pair]
    white_uv: Pair
    spectral: bool
    bits: int
    lc_outline: tuple[tuple[float, tuple[Pair, ...]], ...] = ()
    notes: tuple[Note, ...] = ()
    fit: dict[str, Any] | None = None
    source: str = ""


@dataclass(frozen=True)
class StandardGamut:
    """The primaries of a standard display, u'v' adapted to the viewing light's white."""

    name: str
    primaries_uv: tuple[Pair, Pair, Pair]
