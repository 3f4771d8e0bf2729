"""The answer of the command ``shift``: pairs, one object in many lights, or an object and its screen match."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct import (
    NOBODY,
    Answer,
    DisplayWords,
    ViewingWords,
    check_limit,
    chosen,
    display_of,
    plain_notes,
    situation,
    status_of,
    viewing_of,
)
from screenproof.jobs.direct_doubt import (
    CERTAIN,
    DoubtWords,
    by_name,
    check_doubt,
    doubt_told,
    judge_of,
    read_with,
    screen_read_with,
    verdicts_told,
)
from screenproof.jobs.direct_people import (
    PeopleWords,
    notes_on,
    pair_crowds,
    people_of,
    population_record,
    screen_crowds,
)
from screenproof.jobs.fluorescence import Unread
from screenproof.jobs.schema import nearest
from screenproof.jobs.sources import open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.proof import Verdict
    from screenproof.proof.covariance import Spread
    from screenproof.proof.tolerance import What
    from screenproof.spectra import Light, Observer, Population, Samples


def several(text: str, what: str) -> list[str]:
    """The names of a comma-separated option. InputError: none, or one of them twice."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    if not names:
        raise bad("no name is given", field=what, expected=f"names with commas between, such as {_SUCH[what]}")
    _once(names, what)
    return names


_SUCH = {"--to": "A,FL2,FL11", "--observer": "cie1931,age=60,field=2"}


def _once(names: Sequence[str], what: str) -> None:
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        raise bad(
            f"{', '.join(twice)} stands twice",
            field=what,
            expected=f"names with commas between them, such as {_SUCH[what]}",
        )


def lights_and_observers(to: str, observer: str) -> tuple[list[Light], list[Observer]]:
    """Every light of --to and observer of --observer, with the mistakes of all of them at once."""
    from screenproof.spectra import observer_specs

    lights: list[Light] = []
    observers: list[Observer] = []
    problems: list[Problem] = []
    for name in several(to, "--to"):
        try:
            lights.append(open_light(name))
        except InputError as error:
            problems += error.problems
    for name in observer_specs(observer) or several("", "--observer"):
        try:
            observers.append(open_observer(name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    # age=60 and age=60,field=2 are one observer: what counts is the name that both have.
    _once([eye.name for eye in observers], "--observer")
    return lights, observers


def paired(a: Samples, b: Samples) -> tuple[Samples, Samples, tuple[Note, ...]]:
    """Both sides in the same order: by equal names; by order when no name is shared and the counts agree.

    Raises InputError that lists the names without a partner.
    """
    alone_a = [name for name in a.names if name not in b.names]
    alone_b = [name for name in b.names if name not in a.names]
    if not alone_a and not alone_b:
        return a, b.select([b.names.index(name) for name in a.names]), ()
    if len(a) == len(b) and len(alone_a) == len(a):
        note = Note(
            "assumed",
            f"no name stands in both files, so the {len(a)} samples are paired in their order",
            mend="give partners the same name to be sure",
        )
        return a, b, (note,)
    lines = []
    for alone, other in ((alone_a, b), (alone_b, a)):
        for name in alone:
            near = nearest(name, list(other.names))
            lines.append(f"{name!r}" + (f" (is it {near!r} there?)" if near else ""))
    raise bad(
        f"without a partner: {', '.join(lines[:12])}"
        + (f" and {len(lines) - 12} more" if len(lines) > 12 else ""),
        field="--against",
        expected=f"the same names in {a.source or 'the samples'} and {b.source or 'the others'}",
        mend="give partners the same name, or choose some with --only",
    )


def shift_answer(
    file: str,
    *,
    against: str | None = None,
    display_words: DisplayWords | None = None,
    viewing_words: ViewingWords | None = None,
    bits: int = 8,
    from_light: str = "D65",
    to: str = "A,FL2,FL11",
    observer: str = "cie1931",
    correction: str | None = None,
    limit: float | None = None,
    only: Sequence[str] | None = None,
    people_words: PeopleWords = NOBODY,
    doubt_words: DoubtWords = CERTAIN,
) -> Answer:
    """How far colours part in the lights ``to``: pairs with ``against``, screen matches with a display.

    With people: what they see of each pair, or of each sample beside its match, in every light (``crowd``). Where
    something is known of the readings: each verdict with its interval (``verdicts``), undecided ones too.

    Raises InputError when the samples have no reflectance curves: no other light can be known then.
    """
    if against is not None and display_words is not None:
        raise bad(
            "--against and --display are two different questions",
            field="--against",
            mend="ask for the pair shift with --against, or for the screen shift with --display",
        )
    if against is None and correction is not None:
        raise bad(
            "a correction is for pairs that do not match in the first light",
            field="--correction",
            mend="add --against and the file of the partners, or leave it out",
        )
    if people_words.aim is not None:
        raise bad(
            "the match of a shift is made for the observer",
            field="--aim",
            mend="leave it out here; drive values for people are made by the command match",
        )
    check_limit(limit)
    check_doubt(doubt_words, limit, screen=display_words is not None)
    people = people_of(people_words)
    if people is not None and against is None and display_words is None:
        raise bad(
            "people are asked about two colours side by side, and one object in two lights is not",
            field="--population",
            mend="add --display for the screen match, or --against for the partners, or leave it out",
        )
    lights, observers = lights_and_observers(to, observer)
    first = open_light(from_light)
    asked = _Asked(first, lights, observers, limit, people, people_words, doubt_words)
    every = read_with(doubt_words, open_samples(file))
    samples = chosen(every, only)
    answer: Answer = {"file": file, "from": first.name, "limit": limit}
    if against is not None:
        return _pairs(answer, samples, against, asked, correction or "multiplicative", only)
    if display_words is not None and viewing_words is not None:
        return _screen(answer, every, samples, display_words, viewing_words, bits, asked)
    from screenproof.proof import light_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import light_spread

    found = light_shift(samples, first, lights, observers)
    _refuse(found.refused, file)
    entries = [_entry(name, found.figures(i), limit) for i, name in enumerate(found.names)]
    judge = judge_of(doubt_words, limit, [samples])
    if judge is not None:
        spread = asked.spread(partial(light_spread, samples, first))
        entries = asked.judged(entries, judge.shift("light_shift", found, {"sample": samples.names}, spread))
        answer["doubt"] = doubt_told(judge, [(file, samples)], None)
    answer |= {
        "schema": "screenproof-shift/1",
        "kind": "light_shift",
        "samples": asked.held_back(entries, "light_shift", asked.unread(samples)),
        "notes": plain_notes(asked.named_notes, samples.notes, found.notes, unknowable(samples)),
    }
    return answer


def _entry(name: str, figures: Sequence[Any], limit: float | None) -> Answer:
    shift = [asdict(figure) for figure in figures]
    return {"name": name, "shift": shift, "status": status_of(max(item["de00"] for item in shift), limit)}


def _refuse(refused: Sequence[Any], file: str) -> None:
    """A direct command that was asked for what cannot be known is an error with the reason."""
    if refused:
        raise InputError(
            Problem(
                refusal.reason,
                file,
                None,
                None if refusal.observer is None else f"observer {refusal.observer}",
                mend="measure what is missing (curves of the samples, spectra of the display), or ask for what "
                "the data can answer",
            )
            for refusal in refused
        )


@dataclass(frozen=True)
class _Asked:
    """What a shift was asked for, its words made into things."""

    first: Light
    lights: list[Light]
    observers: list[Observer]
    limit: float | None
    people: Population | None
    people_words: PeopleWords
    doubt_words: DoubtWords

    @property
    def every_light(self) -> list[Light]:
        """The first light and the others, each once."""
        return [self.first, *(light for light in self.lights if light.name != self.first.name)]

    @property
    def eye(self) -> str:
        """The observer beside whom the people stand: the first that is an eye."""
        return next((one.name for one in self.observers if one.kind == "eye"), "cie1931")

    @property
    def named_notes(self) -> list[Note]:
        """What was assumed of the observers' names."""
        return [note for observer in self.observers for note in observer.notes]

    def spread(self, make: Callable[[Light, Observer], Spread | None]) -> Callable[[str, str], Spread | None]:
        """The spread in a light for an observer by their names."""
        light_of, observer_of = by_name(self.every_light), by_name(self.observers)
        return lambda light, observer: make(light_of(light), observer_of(observer))

    def judged(self, entries: list[Answer], verdicts: Sequence[Sequence[Verdict]]) -> list[Answer]:
        """Entries with their verdicts; one of which nothing was judged stays as it is."""
        told = [verdicts_told(own) if own else {} for own in verdicts]
        return _joined(entries, told)

    def unread(self, samples: Samples) -> Unread:
        """Which samples fluoresce, and in which lights they are known."""
        return Unread.of(samples, self.every_light)

    def held_back(self, entries: list[Answer], what: What, unread: Unread) -> list[Answer]:
        """Entries whose verdicts are undecided where fluorescence leaves the colour in a light unknown."""
        if self.limit is None:
            return entries
        return [
            entry | verdicts_told(unread.judged(i, _verdicts_of(entry, what, self.limit)))
            if unread.samples[i]
            else entry
            for i, entry in enumerate(entries)
        ]

    def told(self, crowds: Sequence[list[Answer]], seen_by: str) -> tuple[Answer, list[Answer]]:
        """What an answer and its entries say of the people: nothing without any."""
        if self.people is None:
            return {}, []
        told = {"population": population_record(self.people, self.people_words), "seen_by": seen_by}
        return told, [{"crowd": crowd} for crowd in crowds]


def _verdicts_of(entry: Answer, what: What, limit: float) -> list[Verdict]:
    """The verdicts of an entry: its own, or, where nothing is known of the readings, those of its figures."""
    from screenproof.proof import ToleranceSet, Verdict, judge

    if "verdicts" in entry:
        return [Verdict(**one) for one in entry["verdicts"]]
    plain = ToleranceSet("the limit", **{what: limit})  # type: ignore[arg-type]
    judged = [judge(plain, what, f["de00"], light=f["light"], observer=f["observer"]) for f in entry["shift"]]
    return [verdict for verdict in judged if verdict is not None]


def _pairs(
    answer: Answer, samples: Samples, against: str, asked: _Asked, correction: str, only: Sequence[str] | None
) -> Answer:
    from screenproof.proof import pair_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import pair_shift_spread

    other = read_with(asked.doubt_words, open_samples(against))
    if only and all(name in other.names for name in only):
        other = chosen(other, only)
    a, b, notes = paired(samples, other)
    found = pair_shift(a, b, asked.first, asked.lights, asked.observers, correction)  # type: ignore[arg-type]
    _refuse(found.refused, answer["file"])
    entries = []
    for i, name in enumerate(a.names):
        entry = _entry(name, found.figures(i), answer["limit"])
        starts = [asdict(start) for start in found.start(i)]
        entries.append({"name": name, "partner": b.names[i], "from": starts, **entry})
    judge = judge_of(asked.doubt_words, asked.limit, [a, b])
    if judge is not None:
        of_pairs = partial(pair_shift_spread, a, b, asked.first)
        spread = asked.spread(lambda light, eye: of_pairs(light, eye, found.correction))
        # Partners often have one name: the advice of what to read again then needs the file.
        sides = {"a": _named_apart(a, b, answer["file"]), "b": _named_apart(b, a, against)}
        entries = asked.judged(entries, judge.pair_shift(found, sides, spread))
        answer["doubt"] = doubt_told(judge, [(answer["file"], a), (against, b)], None)
    entries = asked.held_back(entries, "pair_shift", asked.unread(a).beside(asked.unread(b)))
    crowds: list[list[Answer]] = []
    if asked.people is not None:
        crowds = pair_crowds(asked.people, a, b, asked.every_light, asked.eye, answer["limit"])
    who, seen = asked.told(crowds, asked.eye)
    answer |= {
        "schema": "screenproof-shift/1",
        "kind": "pair_shift",
        "against": against,
        "correction": correction,
        **who,
        "pairs": _joined(entries, seen),
        "notes": plain_notes(
            *(asked.named_notes, notes, samples.notes, other.notes, unknowable(a), unknowable(b)),
            notes_on(asked.people_words),
        ),
    }
    return answer


def _named_apart(samples: Samples, partners: Samples, file: str) -> list[str]:
    """The names, with the file where the partner is called the same."""
    pairs = zip(samples.names, partners.names, strict=True)
    return [f"{name} of {PurePath(file).name}" if name == partner else name for name, partner in pairs]


def _joined(entries: list[Answer], more: list[Answer]) -> list[Answer]:
    return [entry | extra for entry, extra in zip(entries, more, strict=True)] if more else entries


def _screen(
    answer: Answer,
    every: Samples,
    samples: Samples,
    display_words: DisplayWords,
    viewing_words: ViewingWords,
    bits: int,
    asked: _Asked,
) -> Answer:
    from screenproof.proof import match, screen_shift
    from screenproof.proof.brightener import unknowable
    from screenproof.proof.covariance import match_spread

    display = screen_read_with(asked.doubt_words, display_of(display_words))
    # The match is made for the first observer for whom the display's light is known, in whatever order they come.
    named = [observer.name for observer in asked.observers if observer.kind == "eye"]
    if not display.spectral and display.observer_name in named:
        viewing_words = replace(viewing_words, observer=display.observer_name)
    viewing = viewing_of(viewing_words, every)
    matched = match(samples, display, viewing, bits)
    found = screen_shift(samples, matched, display, viewing, [asked.first, *asked.lights], asked.observers)
    if not found.observers:
        _refuse(found.refused, answer["file"])
    refused = [Note("info", f"not calculated: {item.reason}", item.observer) for item in found.refused]
    entries = [_entry(name, found.figures(i), answer["limit"]) for i, name in enumerate(found.names)]
    judge = judge_of(asked.doubt_words, asked.limit, [samples], display)
    if judge is not None:
        read = {"sample": samples.names, "screen": [display.label] * len(samples)}
        of_match = partial(match_spread, samples, matched, display, viewing)
        spread = asked.spread(lambda light, eye: of_match(light=light, observer=eye))
        entries = asked.judged(entries, judge.shift("observer_shift", found, read, spread))
        answer["doubt"] = doubt_told(judge, [(answer["file"], samples)], display)
    entries = asked.held_back(entries, "observer_shift", asked.unread(samples))
    crowds: list[list[Answer]] = []
    if asked.people is not None:
        lights = [viewing.light, *asked.every_light[1:]]
        crowds = screen_crowds(asked.people, samples, matched, display, viewing, lights, answer["limit"])
    who, seen = asked.told(crowds, viewing.observer.name)
    answer |= {
        "schema": "screenproof-shift/1",
        "kind": "screen_shift",
        **situation(display, viewing),
        "bits": bits,
        **who,
        "samples": _joined(entries, seen),
        "notes": plain_notes(
            *(asked.named_notes, samples.notes, display.notes, matched.notes, found.notes, refused),
            *(unknowable(samples), notes_on(asked.people_words)),
        ),
    }
    return answer
