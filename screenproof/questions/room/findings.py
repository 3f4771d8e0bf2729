"""What a person should know of a room, and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.english import capital
from screenproof.proof.finding import Finding

if TYPE_CHECKING:
    from screenproof.questions.room.answer import RoomAnswer


def findings(answer: RoomAnswer) -> Iterator[Finding]:
    """Limits that were asked for and do not hold, or hold in doubt."""
    for one in answer.limits:
        if one.judged.trouble:
            cure = "" if one.judged.remedy is None else one.judged.remedy.words
            yield Finding(one.key, answer.display.label, "this room", one.judged, one.sentence, cure)


def sentence(
    key: str, words: str, undecided: bool, now: bool, lux: float, rooms: tuple[float | None, float | None]
) -> str:
    """What holds in this room of ``lux``, and what to do about it; rooms: the darkest and the brightest that
    do."""
    from screenproof.additive.room_light import MOST_LUX

    begun, (darkest, brightest) = capital(words), rooms
    if undecided:
        return f"{begun}: undecided, it lies too near the limit for what is known of the readings."
    if key == "on_off":
        if darkest is None:
            return f"{begun}: in no room up to {MOST_LUX:g} lx; the screen's own black is too bright."
        least = lux_words(darkest, up=True)
        if darkest <= 0.1:
            return f"{begun}: holds; the screen's black gives no light of its own."
        if now:
            return f"{begun}: holds, as from {least} up; in a darker room the screen's own black shows."
        return f"{begun}: holds only from {least} up: in this room the screen's own black shows."
    if brightest is None:
        return f"{begun}: not even in a dark room; dimming does not help."
    if brightest >= MOST_LUX:
        return f"{begun}: holds in any room up to {MOST_LUX:g} lx."
    if now:
        return f"{begun}: holds, as it does up to {lux_words(brightest)}."
    return (
        f"{begun}: does not hold. Dim the room from {lux_words(lux)} to {lux_words(brightest)} on the screen, "
        f"to {100.0 * brightest / lux:.2g} % of what it is."
    )


def lux_words(value: float, *, up: bool = False) -> str:
    """An illuminance in words, rounded to the side on which the limit holds: down, or ``up``."""
    digits = 1 if value < 20.0 else 0
    scaled = value * 10.0**digits
    whole = math.ceil(scaled - 1e-6) if up else math.floor(scaled + 1e-6)
    return f"{whole / 10.0**digits:.{digits}f} lx"
