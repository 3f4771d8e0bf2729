"""A screen in a dark room and in its own: its black, contrast and gamut, its samples, and the limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from screenproof.english import fixed
from screenproof.errors import Note
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged, Status, worst
from screenproof.questions.answer import Answer
from screenproof.questions.match.answer import judged_match
from screenproof.questions.room.findings import findings, sentence
from screenproof.questions.telling import RoomSaid, ScreenSaid, called, doubt_lines, doubt_record, room_said
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Column, Table, aligned
from screenproof.spectra.checks import FOUND, MEMORY, PRACTICE, STATED

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.additive import Display
    from screenproof.additive.display import Room
    from screenproof.additive.room_light import RoomEffect
    from screenproof.proof import Match, Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.opening import Open
    from screenproof.questions.room.question import AskRoom
    from screenproof.spectra import Array, Samples

USUAL_CONTRAST, USUAL_ON_OFF, USUAL_ROOM = 100.0, 200.0, 64.0

GLARE_CAUTION = Note(
    "caution",
    "a room for people has its own rules of light, for safety and for work: before you dim it, look at the local "
    "code for workplaces; a strip around the screen may be darker than the room",
    about="room light",
)


@dataclass(frozen=True)
class ScreenInRoom:
    """A screen at an illuminance in lx. Luminances in cd/m2; contrast: None where the black is no light at all.

    on_off: the black in percent of the screen switched off; None in a dark room. area_percent, volume_percent: the
    gamut in u'v' and in CIELAB, of that in a dark room.
    """

    illuminance: float
    reflected: float
    white: float
    black: float
    contrast: float | None
    on_off: float | None
    area_percent: float
    volume_percent: float

    @classmethod
    def of(cls, effect: RoomEffect, dark: RoomEffect) -> ScreenInRoom:
        """What is said of a screen beside itself in the dark."""
        return cls(
            effect.illuminance,
            effect.reflected,
            effect.white,
            effect.black,
            effect.contrast,
            effect.on_off,
            100.0 * effect.area / dark.area,
            100.0 * effect.volume / dark.volume,
        )


@dataclass(frozen=True)
class SampleInRoom:
    """A sample matched in one room: excess and residual in CIEDE2000, its code."""

    in_gamut: bool
    excess: float
    residual: float
    code: tuple[int, ...]

    @classmethod
    def all_of(cls, found: Match) -> tuple[SampleInRoom, ...]:
        """Those of a match."""
        return tuple(
            cls(bool(found.in_gamut[i]), float(found.excess[i]), float(found.residual[i]), tuple(found.code[i]))
            for i in range(len(found.names))
        )


@dataclass(frozen=True)
class RoomLimit:
    """A limit, and the rooms in lx that keep it: at least ``from_lux``, at most ``to_lux``; None for no such
    bound.

    stated: whether it was asked for; one that was not is not judged. holds: whether the figure keeps it
    as it stands.
    """

    key: str
    words: str
    source: str
    obtained: str
    stated: bool
    holds: bool
    status: Status
    from_lux: float | None
    to_lux: float | None
    sentence: str
    judged: Judged

    def line(self) -> str:
        """The limit for a terminal."""
        source = f"{self.source}, {self.obtained}" if self.source else self.obtained
        mark = "FAIL" if self.status == "fail" else self.status
        return f"{mark}  {self.sentence} ({source})"


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class RoomAnswer(Answer):
    """A screen in a dark room and in its own, a row a sample if there are any.

    dark, lit: the screen in each; light: by which samples are seen. moved: CIEDE2000 of what the codes of the dark
    room show in this one.
    """

    schema: ClassVar[str] = "screenproof-room/2"

    display: ScreenSaid
    file: str | None = None
    room: RoomSaid
    light: str | None = None
    observer: str
    dark: ScreenInRoom
    lit: ScreenInRoom
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    in_dark: tuple[SampleInRoom, ...] = row("dark", ())
    in_room: tuple[SampleInRoom, ...] = row("lit", ())
    moved: Array = row(default=())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    limits: tuple[RoomLimit, ...] = ()
    notes: tuple[Note, ...] = ()
    search: _Search | None = hidden()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every limit that was asked for, as this room keeps it."""
        return tuple(one.judged for one in self.limits if one.stated)

    def heading(self) -> str:
        """Which screen, in how much of which light."""
        room = f"{self.room.illuminance:g} lx of {self.room.light} on a screen that reflects"
        return f"{self.display.words()} with {room} {100.0 * self.room.reflectance:g} %, observer {self.observer}"

    def tables(self) -> tuple[Table, ...]:
        """A row a sample, the worst first, where there are any; the screen in both rooms."""
        rooms = Column("", key="what", left=True), Column("dark room", key="dark"), Column("this room", key="lit")
        screen = Table.of(rooms, [(name, dark, lit) for name, dark, lit, _ in self._screen_rows()])
        if not self.names:
            return (screen,)
        columns = (
            Column("sample", left=True),
            Column("excess, dark", 2, key="excess_dark"),
            Column("excess, here", 2, key="excess_lit"),
            Column("residual, here", 2, key="residual_lit"),
            Column("codes of the dark, here", 2, key="moved"),
        )
        order = sorted(range(len(self.names)), key=lambda i: (-self.in_room[i].excess, -self.moved[i]))
        rows = [
            (
                self.names[i],
                self.in_dark[i].excess,
                self.figures[i][0] if self.figures else self.in_room[i].excess,
                self.in_room[i].residual,
                float(self.moved[i]),
            )
            for i in order
        ]
        legend = "in CIEDE2000; the last column is a match made for a dark room"
        return Table.of(columns, rows, legend=legend), screen

    def _screen_rows(self) -> list[tuple[str, float | None, float | None, int]]:
        """Each figure of the screen in both rooms, with its decimals."""
        keys = [
            ("white, cd/m2", "white", 1),
            ("black, cd/m2", "black", 3),
            ("contrast, : 1", "contrast", 0),
            ("black on / off, %", "on_off", 0),
            ("gamut, u'v' area, %", "area_percent", 1),
            ("gamut, CIELAB volume, %", "volume_percent", 1),
        ]
        return [(name, getattr(self.dark, key), getattr(self.lit, key), digits) for name, key, digits in keys]

    def text(self) -> str:
        """The screen in the dark and in the room, its samples, and what to do."""
        rows = [[name, fixed(dark, digits), fixed(lit, digits)] for name, dark, lit, digits in self._screen_rows()]
        lines = [self.heading(), "", aligned(["", "dark room", "this room"], rows)]
        if self.names:
            table = self.tables()[0]
            lines += ["", table.text(), "", table.legend]
        lines += ["", *(one.line() for one in self.limits)]
        lines += doubt_lines(self.doubt, list(zip(self.names, self.figures, strict=False)))
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """Limits that do not hold."""
        return findings(self)

    def figure(self) -> Figure:
        """Contrast and gamut by the illuminance."""
        from screenproof.questions.room.figure import draw

        return draw(self)


def room_answer(asked: AskRoom, open: Open) -> RoomAnswer:
    """A screen in a dark room and in its own, its samples, and where each limit ceases to hold."""
    unlit = replace(asked.screen, room=None, room_light=None, screen_reflectance=None)
    display = open.display(unlit, asked.doubt)
    lit = open.lit(display, asked.screen)
    search = _Search(open.judge(asked.excess, asked.doubt), display, lit)
    dark = search.effect(0.0)
    limits = [*search.of_screen(asked.contrast, asked.on_off)]
    notes, observer = [*display.notes], display.seen_by().observer.name
    told: dict[str, Any] = {}
    if asked.samples is not None:
        every = open.read(asked.samples, asked.doubt)
        samples, viewing = open.samples(every, asked.only), open.viewing(asked.scene, every)
        observer = viewing.observer.name
        before, after = _matched(samples, viewing, display), _matched(samples, viewing, lit)
        notes += [*open.notes, *samples.notes, *after.notes]
        told = {
            "file": called(asked.samples),
            "light": viewing.light.name,
            "names": samples.names,
            "in_dark": SampleInRoom.all_of(before),
            "in_room": SampleInRoom.all_of(after),
            "moved": _moved(before, lit, viewing),
        }
        if asked.excess is not None:
            told["figures"] = judged_match(search.judge, "excess", samples, after, lit, viewing)
            told["doubt"] = doubt_record(search.judge, [(told["file"], samples)], lit)
            limits.append(search.of_samples(asked.excess, samples, viewing, told["figures"]))
    limits.append(search.of_room())
    if display.kind in ("profile", "readings"):
        notes.append(_already(display))
    said = room_said(lit)
    assert said is not None  # a room without light is no question: AskRoom.faults
    return RoomAnswer(
        display=ScreenSaid.of(display),
        room=said,
        observer=observer,
        dark=ScreenInRoom.of(dark, dark),
        lit=ScreenInRoom.of(search.effect(said.illuminance), dark),
        limits=tuple(limits),
        notes=notes_of(notes, [GLARE_CAUTION]),
        search=search,
        **told,
    )


def _already(display: Display) -> Note:
    return Note(
        "assumed",
        f"the black of {display.label} is taken to be the screen's own, read in a dark room",
        about=display.name,
        mend="read it with the room dark; else the room counts twice",
    )


def _matched(samples: Samples, viewing: Viewing, display: Display) -> Match:
    from screenproof.proof import match

    return match(samples, display, viewing)


def _moved(before: Match, lit: Display, viewing: Viewing) -> Array:
    """CIEDE2000 (n,) of what the codes of the dark room show in this one."""
    from screenproof.appearance import de2000, xyz_to_lab

    view = lit.seen_by(viewing.observer)
    shown = viewing.bridge(view).to_reference(view.to_xyz(before.code / (2.0**before.bits - 1.0)))
    return np.atleast_1d(de2000(before.lab, xyz_to_lab(shown, viewing.white)))


@dataclass(frozen=True)
class _Search:
    """A screen in the dark and in its room; in which rooms it keeps a limit."""

    judge: Judge
    display: Display
    lit: Display

    @property
    def room(self) -> Room:
        """The light on the screen."""
        assert self.lit.room is not None
        return self.lit.room

    def effect(self, lux: float) -> RoomEffect:
        """The screen with so many lx on it."""
        from screenproof.additive.room_light import room_effect

        return room_effect(self.display, lux, self.room.light, self.room.reflectance)

    def of_screen(self, contrast: float | None, on_off: float | None) -> Iterator[RoomLimit]:
        """The limits of the screen itself: those asked for, else the usual ones, which are not judged."""
        least = USUAL_CONTRAST if contrast is None else contrast
        usual = ("black at most 1 % of white", PRACTICE) if contrast is None else ("", STATED)
        words = f"contrast of {least:g} : 1 or more"

        def ratio(lux: float) -> float:
            found = self.effect(lux).contrast
            return math.inf if found is None else found

        yield self._limit("contrast", words, usual, ratio, ": 1", at_least=least)
        most = USUAL_ON_OFF if on_off is None else on_off
        usual = ("ISO 12646:2008", FOUND) if on_off is None else ("", STATED)
        words = f"black at most {most:g} % of the screen switched off"

        def percent(lux: float) -> float:
            found = self.effect(lux).on_off
            return math.nan if found is None else found

        yield self._limit("on_off", words, usual, percent, "%", at_most=most)

    def of_samples(
        self, most: float, samples: Samples, viewing: Viewing, figures: tuple[tuple[Judged, ...], ...]
    ) -> RoomLimit:
        """The largest excess; its verdict is the worst of the samples', with the doubt of their readings."""

        def largest(lux: float) -> float:
            lit = self.display.with_room(lux, self.room.light, self.room.reflectance)
            return float(_matched(samples, viewing, lit).excess.max())

        words = f"every sample within {most:g} CIEDE2000 of what the screen shows"
        status = worst(one.status for own in figures for one in own)
        judged = max((one for (one,) in figures if one.status == status), key=lambda one: one.severity)
        return self._limit("excess", words, ("", STATED), largest, "CIEDE2000", judged, at_most=most)

    def of_room(self) -> RoomLimit:
        """The usual light of a room."""
        words = f"room light of {USUAL_ROOM:g} lx or less, better 32"
        usual = "ISO 12646:2008", MEMORY
        return self._limit("room", words, usual, lambda lux: lux, "lx", at_most=USUAL_ROOM)

    def _limit(
        self,
        key: str,
        words: str,
        source: tuple[str, str],
        figure: Callable[[float], float],
        unit: str,
        judged: Judged | None = None,
        **bound: Any,
    ) -> RoomLimit:
        """Whether a limit holds, and from or to which illuminance it does; ``judged``: as it was judged
        already."""
        from screenproof.additive.room_light import brightest_room, darkest_room

        def holds(lux: float) -> bool:
            return self.judge.bound(key, figure(lux), unit, **bound).status == "pass"

        lux = self.room.illuminance
        now, stated = holds(lux), source[1] == STATED
        least = darkest_room(holds) if key == "on_off" else None
        most = None if key == "on_off" else USUAL_ROOM if key == "room" else brightest_room(holds)
        found = judged or self.judge.bound(key, figure(lux), unit, **(bound if stated else {}))
        return RoomLimit(
            key,
            words,
            *source,
            stated,
            now,
            found.status,
            least,
            most,
            sentence(key, words, found.status == "undecided", now, lux, (least, most)),
            found,
        )
