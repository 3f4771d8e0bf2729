"""The answer of ``room``: what the room's light does to a screen and to a match on it, and how far to dim it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.errors import Note, bad
from screenproof.jobs.direct import DisplayWords, ViewingWords, chosen, display_of, plain_notes, viewing_of
from screenproof.questions.sources import open_light, open_samples
from screenproof.spectra.checks import FOUND, MEMORY, PRACTICE, STATED

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.additive.room_light import RoomEffect
    from screenproof.proof import Match, Viewing
    from screenproof.spectra import Samples

REFLECTANCE = 0.04
USUAL_CONTRAST, USUAL_ON_OFF, USUAL_ROOM = 100.0, 200.0, 64.0

GLARE_CAUTION = Note(
    "caution",
    "a room for people has its own rules of light, for safety and for work: before you dim it, look at the local "
    "code for workplaces; a strip around the screen may be darker than the room",
    about="room light",
)


@dataclass(frozen=True)
class RoomLimits:
    """What is to hold: contrast at least, the black in percent of the screen switched off at most, and the excess
    of every sample at most [CIEDE2000]. None where nothing is asked for."""

    contrast: float | None = None
    on_off: float | None = None
    excess: float | None = None

    def check(self, samples: bool) -> None:
        """InputError for a limit that nothing can keep, or that has no samples to be kept by."""
        wrong = [
            ("--contrast", self.contrast, 1.0, "above 1, such as 100"),
            ("--on-off", self.on_off, 100.0, "percent above 100, such as 200"),
            ("--excess", self.excess, 0.0, "a CIEDE2000 above 0, such as 2"),
        ]
        for option, value, low, expected in wrong:
            if value is not None and not low < value < float("inf"):
                raise bad(f"a limit of {value:g}", field=option, expected=expected)
        if self.excess is not None and not samples:
            raise bad("there are no samples to keep it for", field="--excess", mend="name a samples file")


def room_answer(
    screen: DisplayWords,
    *,
    file: str | None = None,
    only: Sequence[str] | None = None,
    seen: ViewingWords | None = None,
    limits: RoomLimits | None = None,
) -> dict[str, Any]:
    """A screen in a dark room and in the room of ``screen``, its samples, and where each limit ceases to hold.

    Raises InputError without a room light, and as its inputs do.
    """
    from screenproof.additive.room_light import room_effect

    if screen.room is None or not screen.room > 0:
        raise bad("no room light", field="--room", expected="lx on the screen, above 0", mend="add --room 500")
    wanted = limits or RoomLimits()
    wanted.check(file is not None)
    display = display_of(replace(screen, room=None, room_light=None, screen_reflectance=None))
    light = open_light(screen.room_light or "D50")
    share = REFLECTANCE if screen.screen_reflectance is None else screen.screen_reflectance

    def at(lux: float) -> RoomEffect:
        return room_effect(display, lux, light, share)

    def lit(lux: float) -> Display:
        return display.with_room(lux, light, share)

    dark, room = at(0.0), at(screen.room)
    samples, viewing = _objects(file, only, seen or ViewingWords())
    entries: list[dict[str, Any]] = []
    notes = [*display.notes]
    if samples is not None and viewing is not None:
        entries, found = _sample_entries(samples, viewing, display, lit(screen.room))
        notes += [*viewing.observer.notes, *samples.notes, *found.notes]
    if display.kind in ("profile", "readings"):
        notes.append(_already(display))
    notes.append(GLARE_CAUTION)
    kept = _limit_entries(wanted, screen.room, at, lambda lux: _largest_excess(samples, viewing, lit(lux)))
    return {
        "schema": "screenproof-room/1",
        "display": {"name": display.name, "label": display.label, "kind": display.kind},
        "file": file,
        "room": {"illuminance": screen.room, "light": light.name, "reflectance": share},
        "light": None if viewing is None else viewing.light.name,
        "observer": display.seen_by().observer.name if viewing is None else viewing.observer.name,
        "dark": _plain(dark, dark),
        "lit": _plain(room, dark),
        "samples": entries,
        "limits": kept,
        "notes": plain_notes(notes),
    }


def room_series(screen: DisplayWords, lux: Sequence[float]) -> list[RoomEffect]:
    """The screen at many illuminances, for a figure."""
    from screenproof.additive.room_light import room_effect

    display = display_of(replace(screen, room=None, room_light=None, screen_reflectance=None))
    light = open_light(screen.room_light or "D50")
    share = REFLECTANCE if screen.screen_reflectance is None else screen.screen_reflectance
    return [room_effect(display, value, light, share) for value in lux]


def _already(display: Display) -> Note:
    return Note(
        "assumed",
        f"the black of {display.label} is taken to be the screen's own, read in a dark room",
        about=display.name,
        mend="read it with the room dark; else the room counts twice",
    )


def _objects(
    file: str | None, only: Sequence[str] | None, seen: ViewingWords
) -> tuple[Samples | None, Viewing | None]:
    if file is None:
        if only or seen != ViewingWords():
            raise bad(
                "there are no samples that --only, --light, --observer or --basis could be for",
                field="SAMPLES",
                mend="name a samples file, or leave these options out",
            )
        return None, None
    every = open_samples(file)
    return chosen(every, only), viewing_of(seen, every)


def _sample_entries(
    samples: Samples, viewing: Viewing, dark: Display, lit: Display
) -> tuple[list[dict[str, Any]], Match]:
    """Each sample matched in the dark and in the room, and what the codes of the dark room show in the room."""
    from screenproof.appearance import de2000, xyz_to_lab
    from screenproof.proof import match

    before, after = match(samples, dark, viewing), match(samples, lit, viewing)
    view = lit.seen_by(viewing.observer)
    shown = viewing.bridge(view).to_reference(view.to_xyz(before.code / (2.0**before.bits - 1.0)))
    moved = np.atleast_1d(de2000(before.lab, xyz_to_lab(shown, viewing.white)))
    entries = [
        {
            "name": name,
            "dark": {"in_gamut": bool(before.in_gamut[i]), "excess": float(before.excess[i]),
                     "residual": float(before.residual[i]), "code": before.code[i].tolist()},
            "lit": {"in_gamut": bool(after.in_gamut[i]), "excess": float(after.excess[i]),
                    "residual": float(after.residual[i]), "code": after.code[i].tolist()},
            "moved": float(moved[i]),
        }
        for i, name in enumerate(samples.names)
    ]  # fmt: skip
    return entries, after


def _largest_excess(samples: Samples | None, viewing: Viewing | None, display: Display) -> float:
    from screenproof.proof import match

    assert samples is not None and viewing is not None  # asked for with samples only
    return float(match(samples, display, viewing).excess.max())


def _plain(effect: RoomEffect, dark: RoomEffect) -> dict[str, Any]:
    return {
        "illuminance": effect.illuminance,
        "reflected": effect.reflected,
        "white": effect.white,
        "black": effect.black,
        "contrast": effect.contrast,
        "on_off": effect.on_off,
        "area_percent": 100.0 * effect.area / dark.area,
        "volume_percent": 100.0 * effect.volume / dark.volume,
    }


def _limit_entries(
    limits: RoomLimits, lux: float, at: Callable[[float], RoomEffect], excess: Callable[[float], float]
) -> list[dict[str, Any]]:
    """Each limit: does it hold, and from which to which illuminance it does."""
    from screenproof.additive.room_light import brightest_room, darkest_room

    contrast = USUAL_CONTRAST if limits.contrast is None else limits.contrast
    on_off = USUAL_ON_OFF if limits.on_off is None else limits.on_off

    def clear(value: float) -> bool:
        ratio = at(value).contrast
        return ratio is None or ratio >= contrast

    def lifted(value: float) -> bool:
        percent = at(value).on_off
        return percent is not None and percent <= on_off

    entries = [
        _entry("contrast", f"contrast of {contrast:g} : 1 or more", limits.contrast is not None,
               "black at most 1 % of white" if limits.contrast is None else "", PRACTICE, lux, clear,
               None, brightest_room(clear)),
        _entry("on_off", f"black at most {on_off:g} % of the screen switched off", limits.on_off is not None,
               "ISO 12646:2008" if limits.on_off is None else "", FOUND, lux, lifted,
               darkest_room(lifted), None),
    ]  # fmt: skip
    if limits.excess is not None:
        most = limits.excess

        def near(value: float) -> bool:
            return excess(value) <= most

        words = f"every sample within {most:g} CIEDE2000 of what the screen shows"
        entries.append(_entry("excess", words, True, "", STATED, lux, near, None, brightest_room(near)))
    entries.append(
        _entry("room", f"room light of {USUAL_ROOM:g} lx or less, better 32", False, "ISO 12646:2008", MEMORY, lux,
               lambda value: value <= USUAL_ROOM, None, USUAL_ROOM)
    )  # fmt: skip
    return entries


def _entry(
    key: str, words: str, stated: bool, source: str, obtained: str, lux: float, holds: Callable[[float], bool],
    darkest: float | None, brightest: float | None,
) -> dict[str, Any]:  # fmt: skip
    now = holds(lux)
    return {
        "key": key,
        "words": words,
        "source": source,
        "obtained": STATED if stated else obtained,
        "stated": stated,
        "holds": now,
        "status": ("pass" if now else "fail") if stated else "told",
        "from_lux": darkest,
        "to_lux": brightest,
        "sentence": _sentence(key, words, now, lux, darkest, brightest),
    }


def _sentence(key: str, words: str, now: bool, lux: float, darkest: float | None, brightest: float | None) -> str:
    """What holds in this room, and what to do about it."""
    from screenproof.additive.room_light import MOST_LUX

    begun = words[0].upper() + words[1:]
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
    whole = np.ceil(scaled - 1e-6) if up else np.floor(scaled + 1e-6)
    return f"{whole / 10.0**digits:.{digits}f} lx"
