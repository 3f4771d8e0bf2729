"""How far colours part in other lights: one object against itself, a pair, an object against its screen match."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from screenproof.errors import InputError, Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.eye_records import CrowdRecord, PopulationRecord
from screenproof.proof.finding import Finding
from screenproof.proof.fluorescence import Unread
from screenproof.proof.judged import Judged
from screenproof.proof.judging import Judge
from screenproof.proof.result import PairFigure, PairStart, ShiftFigure
from screenproof.questions.answer import AnswerInRows, refuse
from screenproof.questions.telling import (
    ScreenSaid,
    called,
    crowd_legend,
    crowd_table,
    doubt_lines,
    doubt_record,
    limit_line,
    notes_on_people,
    people_line,
    population_record,
    status_word,
    whites_lines,
)
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Column, Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.proof import PairShift
    from screenproof.proof.covariance import Spread
    from screenproof.questions.opening import Open
    from screenproof.questions.shift.question import AskShift
    from screenproof.spectra import Array, Light, Observer, Population, Samples

_KINDS = {
    "pair_shift": "Pair shift (metamerism index)",
    "light_shift": "Light shift of each sample against itself (colour inconstancy)",
    "screen_shift": "Screen shift of each sample against its match",
}


@dataclass(frozen=True, eq=False, repr=False)
class ShiftAnswer(AnswerInRows):
    """Shifts, one row a sample or a pair; ``shift`` has a figure for each light and observer.

    kind: 'light_shift', 'pair_shift' or 'screen_shift'. partner, start: of pairs alone. crowd: what people see in
    each light, where that was asked; seen_by: the observer beside whom they stand. found: the shift with its
    arrays, de00 (n, lights, observers) among them.
    """

    schema: ClassVar[str] = "screenproof-shift/2"

    file: str
    kind: str
    from_: str
    limit: float | None
    against: str | None = maybe()
    correction: str | None = maybe()
    display: ScreenSaid | None = maybe()
    light: str | None = maybe()
    observer: str | None = maybe()
    basis: str | None = maybe()
    bits: int | None = maybe()
    population: PopulationRecord | None = maybe()
    seen_by: str | None = maybe()
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    partner: tuple[str, ...] = row(default=())
    start: tuple[tuple[PairStart, ...], ...] = row("from", ())
    shift: tuple[tuple[ShiftFigure | PairFigure, ...], ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    crowd: tuple[Sequence[CrowdRecord], ...] = row(default=())
    notes: tuple[Note, ...] = ()
    found: Any = hidden()

    @property
    def rows_key(self) -> str:  # type: ignore[override]
        """Rows are samples, or pairs."""
        return "pairs" if self.kind == "pair_shift" else "samples"

    @property
    def de00(self) -> Array:
        """CIEDE2000 (n, lights, observers)."""
        return np.asarray(self.found.de00)

    @property
    def labels(self) -> tuple[str, ...]:
        """What each row is called: a pair by both names where they differ."""
        if not self.partner:
            return self.names
        pairs = zip(self.names, self.partner, strict=True)
        return tuple(name if name == other else f"{name} / {other}" for name, other in pairs)

    def heading(self) -> str:
        """From which light, of what."""
        text = f"{_KINDS[self.kind]}: from {self.from_}, CIEDE2000"
        if self.kind == "pair_shift":
            text += f", correction {self.correction}"
        return text + (f", on {self.display.words()}" if self.display is not None else "")

    def _order(self) -> list[int]:
        """The largest shift first."""
        return sorted(range(len(self.names)), key=lambda i: -max(one.de00 for one in self.shift[i]))

    def tables(self) -> tuple[Table, ...]:
        """A row for each sample or pair and observer, a column for each light."""
        lights = list(dict.fromkeys(one.light for own in self.shift for one in own))
        observers = list(dict.fromkeys(one.observer for own in self.shift for one in own))
        pairs, limited = self.kind == "pair_shift", self.limit is not None
        columns = [Column("pair" if pairs else "sample", left=True), Column("observer", left=True)]
        columns += [Column(f"in {self.from_}", 2)] if pairs else []
        columns += [Column(light, 2) for light in lights] + ([Column("verdict")] if limited else [])
        rows = []
        for i in self._order():
            de00 = {(one.light, one.observer): one.de00 for one in self.shift[i]}
            judged = {(one.light, one.observer): one for one in self.figures[i]}
            starts = {one.observer: one.de00 for one in self.start[i]} if pairs else {}
            for who in observers:
                row_of = [judged.get((light, who), de00[light, who]) for light in lights]
                first = [starts[who]] if pairs else []
                rows.append([self.labels[i], who, *first, *row_of, *([self.statuses[i]] if limited else [])])
        return (Table.of(columns, rows),)

    def text(self) -> str:
        """The shifts for a terminal."""
        lines = [self.heading(), "", self.tables()[0].text()]
        if self.limit is not None:
            lines += ["", limit_line("Limit", self.limit, self.statuses)]
        lines += doubt_lines(self.doubt, [(self.names[i], self.figures[i]) for i in self._order()])
        return "\n".join([*lines, *self._people_lines(), *self.ending()])

    def _people_lines(self) -> list[str]:
        if self.population is None or self.seen_by is None:
            return []
        pairs = self.kind == "pair_shift"
        rows = [(name, one) for name, own in zip(self.labels, self.crowd, strict=True) for one in own]
        lines = ["", people_line(self.population), ""]
        lines.append(crowd_table(rows, self.seen_by, "pair" if pairs else "sample", lit=True))
        what = "the second of the pair beside the first, as they are, without a correction"
        lines += ["", *crowd_legend(what if pairs else "the sample beside the screen", self.limit)]
        return [*lines, *([] if pairs else whites_lines(self.seen_by, self.basis or "white"))]

    def findings(self) -> Iterator[Finding]:
        """What fails or is undecided."""
        from screenproof.questions.shift.findings import findings

        return findings(self)

    def figure(self) -> Figure:
        """A mark for each light, or what people see."""
        from screenproof.questions.shift.figure import draw

        return draw(self)


def shift_answer(asked: AskShift, open: Open) -> ShiftAnswer:
    """How far colours part in the lights ``to``.

    Raises InputError when the samples have no reflectance curves: no other light can be known then.
    """
    scene = _Scene(
        open.light(asked.from_light),
        open.lights(asked.to, "to"),
        open.observers(asked.observer),
        open.judge(asked.limit, asked.doubt),
        open.people(asked.people),
    )
    every = open.read(asked.samples, asked.doubt)
    samples = open.samples(every, asked.only)
    if asked.against is not None:
        return _pairs(asked, open, samples, scene)
    if asked.display is not None:
        return _on_screen(asked, open, every, samples, scene)
    return _alone(asked, open, samples, scene)


@dataclass(frozen=True)
class _Scene:
    """The lights and observers of a shift, the first light being where it starts; who judges; who looks on."""

    first: Light
    lights: list[Light]
    observers: list[Observer]
    judge: Judge
    people: Population | None

    @property
    def every_light(self) -> list[Light]:
        """The first light and the others, each once."""
        return [self.first, *(light for light in self.lights if light.name != self.first.name)]

    @property
    def eye(self) -> str:
        """The observer beside whom the people stand: the first that is an eye."""
        return next((one.name for one in self.observers if one.kind == "eye"), "cie1931")

    def spread(self, make: Callable[[Light, Observer], Spread | None]) -> Callable[[str, str], Spread | None]:
        """The spread in a light for an observer by their names."""
        lights = {one.name: one for one in self.every_light}
        observers = {one.name: one for one in self.observers}
        return lambda light, observer: make(lights[light], observers[observer])

    def unread(self, samples: Samples) -> Unread:
        """Which samples fluoresce, and in which lights they are known."""
        return Unread.of(samples, self.every_light)


def _told(asked: AskShift, scene: _Scene, unread: Unread, judged: Sequence[Sequence[Judged]]) -> dict[str, Any]:
    """The fields that all three kinds have."""
    held = tuple(unread.judged(i, own) for i, own in enumerate(judged))
    return {
        "file": called(asked.samples),
        "from_": scene.first.name,
        "limit": asked.limit,
        "figures": held,
        "statuses": tuple(status_word(own) for own in held),
        "population": None if scene.people is None else population_record(scene.people),
    }


def _alone(asked: AskShift, open: Open, samples: Samples, scene: _Scene) -> ShiftAnswer:
    from screenproof.proof import light_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import light_spread

    found = light_shift(samples, scene.first, scene.lights, scene.observers)
    refuse(found.refused, called(asked.samples))
    spread = scene.spread(partial(light_spread, samples, scene.first))
    judged = scene.judge.shift("light_shift", found, {"sample": samples.names}, spread)
    return ShiftAnswer(
        kind="light_shift",
        doubt=doubt_record(scene.judge, [(called(asked.samples), samples)]),
        names=found.names,
        shift=tuple(found.figures(i) for i in range(len(found.names))),
        notes=notes_of(open.notes, samples.notes, found.notes, unknowable(samples)),
        found=found,
        **_told(asked, scene, scene.unread(samples), judged),
    )


def _pairs(asked: AskShift, open: Open, samples: Samples, scene: _Scene) -> ShiftAnswer:
    from screenproof.proof import pair_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import pair_shift_spread
    from screenproof.questions.pairing import paired

    assert asked.against is not None
    other = open.read(asked.against, asked.doubt)
    if asked.only and all(name in other.names for name in asked.only):
        other = open.samples(other, asked.only)
    a, b, assumed = paired(samples, other, "against")
    correction = asked.correction or "multiplicative"
    found = pair_shift(a, b, scene.first, scene.lights, scene.observers, correction)
    files = called(asked.samples), called(asked.against)
    refuse(found.refused, files[0])
    of_pairs = partial(pair_shift_spread, a, b, scene.first)
    spread = scene.spread(lambda light, eye: of_pairs(light, eye, found.correction))
    # Partners often have one name: the advice of what to read again then needs the file.
    sides = {"a": _named_apart(a, b, files[0]), "b": _named_apart(b, a, files[1])}
    judged = scene.judge.pair_shift(found, sides, spread)
    crowds: list[list[CrowdRecord]] = []
    if scene.people is not None:
        crowds = _pair_crowds(scene, open, a, b, asked.limit)
    return ShiftAnswer(
        kind="pair_shift",
        against=files[1],
        correction=correction,
        seen_by=scene.eye if crowds else None,
        doubt=doubt_record(scene.judge, [(files[0], a), (files[1], b)]),
        names=a.names,
        partner=b.names,
        start=tuple(found.start(i) for i in range(len(a))),
        shift=tuple(found.figures(i) for i in range(len(a))),
        crowd=tuple(crowds),
        notes=notes_of(
            _apart_already(found, asked.limit),
            *(open.notes, assumed, samples.notes, other.notes, unknowable(a), unknowable(b)),
            notes_on_people(asked.people),
        ),
        found=found,
        **_told(asked, scene, scene.unread(a).beside(scene.unread(b)), judged),
    )


def _apart_already(found: PairShift, limit: float | None) -> tuple[Note, ...]:
    """That pairs differ in the first light by more than the limit, which the correction takes away."""
    if limit is None or found.correction == "none" or not found.from_de00.size or found.from_de00.max() <= limit:
        return ()
    name = found.names_a[int(found.from_de00.max(axis=1).argmax())]
    most = f"{name} by {found.from_de00.max():.1f} CIEDE2000"
    what = f"pairs differ in {found.from_light} already, {most}: the correction takes that away"
    return (Note("odd", what, mend="'screenproof compare' judges it"),)


def _named_apart(samples: Samples, partners: Samples, file: str) -> list[str]:
    """The names, with the file where the partner is called the same."""
    pairs = zip(samples.names, partners.names, strict=True)
    return [f"{name} of {PurePath(file).name}" if name == partner else name for name, partner in pairs]


def _pair_crowds(
    scene: _Scene, open: Open, a: Samples, b: Samples, limit: float | None
) -> list[list[CrowdRecord]]:
    """For each pair, what people see in each light; the pair as it is, without a correction."""
    from screenproof.proof import pair_crowd
    from screenproof.questions.match.answer import MEASURE

    assert scene.people is not None
    found = pair_crowd(a, b, scene.every_light, scene.people, viewed_by=open.observer(scene.eye))
    if found.refused is not None:
        raise bad(found.refused.reason, field="population", mend=MEASURE)
    return [[one.record(i, limit) for one in found.seen] for i in range(len(a))]


def _on_screen(asked: AskShift, open: Open, every: Samples, samples: Samples, scene: _Scene) -> ShiftAnswer:
    from screenproof.proof import match, screen_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import match_spread
    from screenproof.questions.groups import SceneOptions, ScreenOptions

    assert asked.display is not None
    bits = 8
    display = open.display(ScreenOptions(display=asked.display), asked.doubt)
    # A display that is known for one observer alone is matched for that one, where it is asked for.
    eyes = [observer for observer in scene.observers if observer.kind == "eye"]
    own = [one for one in eyes if not display.spectral and one.name == display.observer_name]
    viewing = open.viewing(SceneOptions(light=scene.first, observer=(own or scene.observers)[0]), every)
    matched = match(samples, display, viewing, bits)
    found = screen_shift(samples, matched, display, viewing, [scene.first, *scene.lights], scene.observers)
    if not found.observers:
        refuse(found.refused, called(asked.samples))
    refused = [Note("info", f"not calculated: {item.reason}", item.observer) for item in found.refused]
    read = {"sample": samples.names, "screen": [display.label] * len(samples)}
    of_match = partial(match_spread, samples, matched, display, viewing)
    spread = scene.spread(lambda light, eye: of_match(light=light, observer=eye))
    judged = scene.judge.shift("observer_shift", found, read, spread)
    crowds: list[list[CrowdRecord]] = []
    if scene.people is not None:
        from screenproof.proof.crowd_shift import screen_shift_crowd
        from screenproof.questions.match.answer import MEASURE

        lights = [viewing.light, *scene.every_light[1:]]
        try:
            seen = list(screen_shift_crowd(samples, matched, display, viewing, lights, scene.people))
        except InputError as error:
            raise bad(error.problems[0].what, field="population", mend=error.problems[0].mend or MEASURE) from None
        crowds = [[one.record(i, asked.limit) for one in seen] for i in range(len(samples))]
    return ShiftAnswer(
        kind="screen_shift",
        display=ScreenSaid.of(display),
        light=viewing.light.name,
        observer=viewing.observer.name,
        basis=viewing.basis,
        bits=bits,
        seen_by=viewing.observer.name if crowds else None,
        doubt=doubt_record(scene.judge, [(called(asked.samples), samples)], display),
        names=found.names,
        shift=tuple(found.figures(i) for i in range(len(found.names))),
        crowd=tuple(crowds),
        notes=notes_of(
            *(open.notes, samples.notes, display.notes, matched.notes, found.notes, refused),
            *(unknowable(samples), notes_on_people(asked.people)),
        ),
        found=found,
        **_told(asked, scene, scene.unread(samples), judged),
    )
