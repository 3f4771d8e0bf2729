"""What answers say alike: the screen and the scene, the doubt of readings, what is undecided, the people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.english import against, fixed
from screenproof.errors import Note
from screenproof.proof.doubt_records import DoubtRecord, DoubtSource
from screenproof.proof.eye_records import CrowdRecord, PopulationRecord
from screenproof.proof.judged import Judged, worst
from screenproof.questions.people_notes import people_notes
from screenproof.questions.tables import DEFAULT_COST
from screenproof.report.table import aligned, figure_text

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.groups import PeopleOptions
    from screenproof.spectra import Population, Samples

UNKNOWN = "nothing is known of how well its readings repeat or agree with those of another instrument"


def called(named: object) -> str:
    """What a file, or samples that were given as they are, are called in an answer."""
    if isinstance(named, (tuple, list)):
        return ", ".join(called(one) for one in named)
    if isinstance(named, (str, Path)):
        return str(named)
    return str(getattr(named, "source", "") or type(named).__name__.lower())


@dataclass(frozen=True)
class RoomSaid:
    """The light that falls on a screen: illuminance in lx, the share that the screen reflects."""

    light: str
    illuminance: float
    reflectance: float


@dataclass(frozen=True)
class ScreenSaid:
    """A display as an answer says it: luminance of its white in cd/m2, its tone curve, the light of its room."""

    name: str
    label: str
    kind: str
    room: RoomSaid | None
    luminance: float
    curve: str

    @classmethod
    def of(cls, display: Display) -> ScreenSaid:
        """What is said of a display."""
        curves = display.seen_by().curves
        return cls(
            display.name,
            display.label,
            display.kind,
            room_said(display),
            float(display.luminance),
            "a table" if curves is None else curves.name,
        )

    def words(self) -> str:
        """'Display P3 (sRGB curve, 80 cd/m2) with 64 lx of D50 on it'."""
        lit = "" if self.room is None else f" with {self.room.illuminance:g} lx of {self.room.light} on it"
        return f"{self.label} (curve {self.curve}, {self.luminance:g} cd/m2){lit}"


def room_said(display: Display) -> RoomSaid | None:
    """The light that falls on a screen, or None in a dark room."""
    room = display.room
    return None if room is None else RoomSaid(room.light.name, room.illuminance, room.reflectance)


@dataclass(frozen=True)
class GamutSaid:
    """CIE 1976 u'v' of a display's primaries and white, brought to the viewing light as the samples' are."""

    primaries_uv: Any
    white_uv: Any

    @classmethod
    def of(cls, display: Display, viewing: Viewing) -> GamutSaid:
        """Those of a display in a viewing."""
        from screenproof.proof import primaries_uv

        return cls(*primaries_uv(display, viewing))


def scene_said(display: Display, viewing: Viewing) -> dict[str, Any]:
    """The fields of an answer that say on which display and how samples are seen; without the white, no
    adaptation."""
    return {
        "display": ScreenSaid.of(display),
        "light": viewing.light.name,
        "observer": viewing.observer.name,
        "basis": viewing.basis,
        "adaptation": viewing.adaptation if viewing.basis == "white" else None,
    }


def scene_words(
    what: str, screen: ScreenSaid, light: str, observer: str, basis: str, adaptation: str | None
) -> str:
    """The first line of an answer about a screen."""
    shown = basis + (f" ({adaptation})" if adaptation else "")
    return f"{what} on {screen.words()}: light {light}, observer {observer}, basis {shown}"


def doubt_record(
    judge: Judge,
    read: Sequence[tuple[str, Samples]],
    display: Display | None = None,
    models: Sequence[DoubtSource] = (),
) -> DoubtRecord | None:
    """How figures were decided, and what is known of the readings of each side; None where nothing is, or judged.

    models: what is known of the models that figures rest on.
    """
    known = [samples.doubt for _, samples in read] + [None if display is None else display.doubt]
    told = any(one.stated != "unknown" for one in models)
    if judge.tolerance is None or not (told or any(known)):
        return None
    sources = [_source("samples", file, samples.doubt) for file, samples in read]
    if display is not None and (display.doubt is not None or display.kind in ("readings", "profile")):
        sources.append(_source("display", display.label, display.doubt))
    sources += models
    silent = [source.name for source in sources if source.stated == "unknown"]
    notes = [f"the share of {', '.join(silent)} in the doubt is missing: verdicts are less sure than they say"]
    rules = judge.decision
    return DoubtRecord(rules.risk, rules.coverage, rules.draws, tuple(sources), tuple(notes if silent else ()))


def _source(kind: Any, name: str, doubt: Any) -> DoubtSource:
    if doubt is None:
        return DoubtSource(kind, name, UNKNOWN, "unknown")
    return DoubtSource(kind, name, doubt.words(), doubt.stated)


def limit_line(what: str, limit: float, statuses: Sequence[str], unit: str = "CIEDE2000") -> str:
    """How many fail a limit, and how many are undecided."""
    failing, open_ = statuses.count("fail"), statuses.count("undecided")
    told = "none fails" if failing == 0 else f"{failing} {'fails' if failing == 1 else 'fail'}"
    if open_:
        told += f", {open_} {'is' if open_ == 1 else 'are'} undecided"
    return f"{what} {limit:g} {unit}: {told}."


def measured(judged: Judged, unit: str = "CIEDE2000") -> str:
    """'2.04 CIEDE2000, limit 2': a figure so that its side of the limit shows."""
    if not judged.limited:
        return f"{fixed(judged.figure, 1)} {unit}"
    return f"{against(judged.figure, judged.limit)} {unit}, limit {judged.limit:g}"


def doubt_lines(doubt: DoubtRecord | None, rows: Iterable[tuple[str, Sequence[Judged]]]) -> list[str]:
    """What the verdicts stand on, where doubt is known, and what is undecided with its cure, by row."""
    lines = []
    if doubt is not None:
        inside, risk = f"{100 * doubt.coverage:g} %", f"{100 * doubt.risk:g} %"
        lines = ["", f"in brackets: the {inside} interval; a verdict is wrong with a risk of {risk} at most"]
        lines += [f"{source.name} ({source.stated}): {source.words}" for source in doubt.sources]
        lines += [f"note: {note}" for note in doubt.notes]
    undecided = [(name, one) for name, own in rows for one in own if one.status == "undecided"]
    if undecided:
        lines += ["", "Undecided:"]
    for name, one in undecided:
        where = f"{name} in {one.light} for {one.observer}, {figure_text(one)}"
        lines.append(f"  {where}: {one.remedy.words}" if one.remedy else f"  {where}")
    return lines


def status_word(own: Sequence[Judged]) -> str:
    """The worst status of a row's judged figures."""
    return worst(one.status for one in own)


def percent(share: float) -> str:
    """A share 0..1 as whole percent; what is not quite none or all is not called so."""
    if 0 < share < 0.005:
        return "<1 %"
    if 0.995 < share < 1:
        return ">99 %"
    return f"{100 * share:.0f} %"


def population_record(
    people: Population, *, aim: str = "observer", cost: float | None = None, displays: Sequence[Any] = ()
) -> PopulationRecord:
    """What an answer says of its people."""
    ages = float(people.ages.min()), float(people.ages.max())
    return PopulationRecord(
        len(people),
        people.seed,
        ages,
        people.field,
        people.label,
        people.source,
        aim,  # type: ignore[arg-type]
        (DEFAULT_COST if cost is None else cost) if aim == "population" else None,
        tuple(displays),
    )


def notes_on_people(
    asked: PeopleOptions, aim: str | None = None, cost: float | None = None, limit: float | None = None
) -> tuple[Note, ...]:
    """What is odd about the people that were asked for; nothing without any."""
    if asked.population is None:
        return ()
    return people_notes(asked.population, aim or "observer", DEFAULT_COST if cost is None else cost, limit)


def people_line(people: PopulationRecord) -> str:
    """Who the people are, in one line."""
    return f"People: {people.label} (seed {people.seed})"


def whites_lines(observer: str, basis: str = "white") -> list[str]:
    """Whose white: why people see more than an observer of their age is said to see."""
    if basis == "absolute":
        return []
    return [
        f"Both whites are in view at once, and stand to each other as they do for {observer}. An",
        "--observer adapts to each by itself, and mostly sees less than a person with the same eyes does here.",
    ]


def crowd_table(rows: Iterable[tuple[str, CrowdRecord]], observer: str, first: str, *, lit: bool) -> str:
    """A row per sample (and, ``lit``, light), where people see most first."""
    ordered = sorted(rows, key=lambda row: -row[1].p95)
    limit, before = ordered[0][1].limit, any(crowd.p95_before is not None for _, crowd in ordered)
    header = [first, *(["light"] if lit else []), "median", *(["95 % before"] if before else []), "95 %"]
    header += [*([f"{observer} before"] if before else []), observer]
    header += [*([f"above {limit:g}"] if limit is not None else []), "worst age", "those who see most see it"]
    cells = [
        [
            name,
            *([crowd.light] if lit else []),
            fixed(crowd.median),
            *([fixed(crowd.p95_before)] if before else []),
            fixed(crowd.p95),
            *([fixed(crowd.standard_before)] if before else []),
            fixed(crowd.standard),
            *([percent(crowd.share_above or 0.0)] if limit is not None else []),
            f"{crowd.worst_age:.0f}",
            crowd.words,
        ]
        for name, crowd in ordered
    ]
    return aligned(header, cells, left=(0, 1, len(header) - 1) if lit else (0, len(header) - 1))


def crowd_legend(what: str, limit: float | None) -> list[str]:
    """What the figures of people are."""
    lines = [
        f"CIEDE2000 of {what}: half of the people see the median or less, 19 of 20 the 95 % or less.",
        "Those who see most are a tenth; worst age is the middle of the decade that sees most.",
    ]
    if limit is not None:
        lines.append(f"above {limit:g}: the share of people who see more than that. It is no verdict.")
    return lines
