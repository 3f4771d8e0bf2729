"""A spinning disc: how often it flickers, and the cautions that go with it.

The disc shows the average of its sectors only while it is too fast to be seen to flicker: some 50 to 60 Hz in
good light (the critical flicker frequency; common practice, no source). Slower, and while it runs up and down, it
flashes.

Limits for flashes on screens (ITU-R BT.1702; Ofcom): a flash is a pair of opposing changes of luminance by
20 cd/m2 or more whose darker side is below 160 cd/m2, or any change to or from a saturated red; not more than
three flashes in one second where more than a quarter of the screen flashes. They were not made for discs. They are
used here so that people can be warned; nothing here says that a disc is safe.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad

FUSED_HZ = 60.0
"""From here on hardly anybody sees a disc flicker in room light. Common practice, no source."""

MOST_FLASHES_HZ = 3.0
FLASH_CD = 20.0
DARKER_CD = 160.0
"""ITU-R BT.1702: flashes in one second; change of luminance; luminance of the darker side, both in cd/m2."""

ROTATION_CAUTION = (
    "A spinning disc catches hair, sleeves and fingers, and may throw its sectors. Fix and guard it, keep within "
    "the speed of its motor and disc, and follow the local code for machinery and licensed practice."
)
FLICKER_CAUTION = (
    "A disc flickers while it runs up, while it runs down, and whenever it is too slow to fuse. Flicker of more "
    "than 3 flashes in a second, above all with saturated red, can harm people with photosensitive epilepsy "
    "(limits of the kind of ITU-R BT.1702). Warn everybody who will see it, and let it run up out of sight. "
    "The local code and licensed practice decide, not this tool."
)


def spinning_cautions() -> tuple[Note, Note]:
    """The cautions that go with every disc."""
    return (
        Note("caution", ROTATION_CAUTION, about="spinning disc"),
        Note("caution", FLICKER_CAUTION, about="spinning disc"),
    )


@dataclass(frozen=True)
class Flicker:
    """How a disc flickers.

    rpm: revolutions per minute. repeats: how often the set of sectors stands on the disc. frequency_hz: how often
    the set passes in a second. fused: whether that is 60 Hz or more. fusing_rpm: from which speed it is. flashes:
    whether it is seen to flash more than 3 times in a second. luminances: cd/m2 of the darkest and the lightest
    sector under the illuminance; strong: whether they are 20 cd/m2 or more apart with the darker below 160. Both
    None when the illuminance was not given.
    """

    rpm: float
    repeats: int
    frequency_hz: float
    fused: bool
    fusing_rpm: float
    flashes: bool
    luminances: tuple[float, float] | None
    strong: bool | None


def sets_of_sectors(sectors: int | None, parts: int) -> int:
    """How often a set of ``parts`` sectors stands on a disc with ``sectors`` of them; once when None.

    Raises InputError when they do not divide.
    """
    if sectors is None:
        return 1
    if sectors < parts or sectors % parts:
        raise bad(
            f"{sectors} sectors for {parts} parts",
            field="sectors",
            expected=f"a multiple of {parts}, so that each part has as many",
            mend=f"cut {max(1, round(sectors / parts)) * parts} sectors",
        )
    return sectors // parts


def flicker(
    rpm: float, repeats: int = 1, *, luminous: ArrayLike | None = None, lux: float | None = None
) -> Flicker:
    """How a disc flickers at a speed.

    rpm: revolutions per minute, above 0. repeats: sets of sectors on the disc. luminous: (k,) Y of the parts, 100
    for the perfect diffuser, and lux: the illuminance on the disc, for the luminances E Y / (100 pi).
    The frequency is rpm / 60 times repeats. Raises InputError for a speed or an illuminance that is not above 0.
    """
    if not (np.isfinite(rpm) and rpm > 0.0):
        raise bad(f"{rpm:g} revolutions per minute", field="rpm", expected="a number above 0")
    if repeats < 1:
        raise bad(f"{repeats} sets of sectors", field="repeats", expected="1 or more")
    if lux is not None and not (np.isfinite(lux) and lux > 0.0):
        raise bad(f"an illuminance of {lux:g} lx", field="illuminance", expected="a number above 0")
    frequency = rpm / 60.0 * repeats
    ends: tuple[float, float] | None = None
    if lux is not None and luminous is not None:
        light = lux * np.asarray(luminous, dtype=np.float64) / (100.0 * pi)
        ends = float(light.min()), float(light.max())
    return Flicker(
        rpm=float(rpm),
        repeats=int(repeats),
        frequency_hz=frequency,
        fused=frequency >= FUSED_HZ,
        fusing_rpm=60.0 * FUSED_HZ / repeats,
        flashes=MOST_FLASHES_HZ < frequency < FUSED_HZ,
        luminances=ends,
        strong=None if ends is None else ends[1] - ends[0] >= FLASH_CD and ends[0] < DARKER_CD,
    )
