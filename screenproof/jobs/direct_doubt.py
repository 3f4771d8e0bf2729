"""The direct commands in doubt: what is known of the readings, and verdicts that say when it is not enough."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from screenproof.errors import InputError, Problem, bad

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.verdicts import Judge
    from screenproof.proof import Match, Verdict, Viewing
    from screenproof.proof.tolerance import What
    from screenproof.spectra import Light, Observer, Samples

    T = TypeVar("T", Light, Observer)

Answer = dict[str, Any]


@dataclass(frozen=True)
class DoubtWords:
    """What the command line says of the readings; None is an option that was not given.

    instrument, screen_instrument: the class of the instrument that read the samples, and the screen. readings: of
    how many each sample is the mean. risk: of a wrong verdict for a truth at the limit.
    """

    instrument: str | None = None
    readings: int | None = None
    screen_instrument: str | None = None
    risk: float | None = None

    @property
    def given(self) -> dict[str, object]:
        """The options that were given, by name."""
        every = {
            "--instrument": self.instrument,
            "--readings": self.readings,
            "--screen-instrument": self.screen_instrument,
            "--risk": self.risk,
        }
        return {option: value for option, value in every.items() if value is not None}


CERTAIN = DoubtWords()
"""Nothing is said of the readings: what their files say of them holds."""


def check_doubt(words: DoubtWords, limit: float | None, *, screen: bool) -> None:
    """InputError for options that have nothing to act on, and for values out of range."""
    problems = []
    if limit is None:
        problems += [
            Problem("there is no limit to decide by", field=option, mend="add --limit, or leave it out")
            for option in words.given
        ]
    if words.screen_instrument is not None and not screen:
        mend = "add --display, or leave it out"
        problems.append(Problem("no screen takes part", field="--screen-instrument", mend=mend))
    if words.readings is not None and not 1 <= words.readings <= 10_000:
        problems.append(
            Problem(f"{words.readings} readings", field="--readings", expected="a whole number, 1 to 10000")
        )
    if words.risk is not None and not 0.001 <= words.risk <= 0.25:
        problems.append(
            Problem(f"a risk of {words.risk:g}", field="--risk", expected="0.001 to 0.25; 0.05 is usual")
        )
    if problems:
        raise InputError(problems)


def read_with(words: DoubtWords, samples: Samples) -> Samples:
    """The samples with what their file and the options say of their readings.

    Raises InputError for an unknown class, and for readings of which nothing else is known.
    """
    from screenproof.jobs.reading import Reading
    from screenproof.questions.instruments import with_instrument
    from screenproof.questions.tables import ObjectInstrumentTable

    reading = Reading("", Path(), {}, lambda words: None)
    given: dict[str, Any] = {"kind": words.instrument, "readings": words.readings}
    given = {key: value for key, value in given.items() if value is not None}
    table = ObjectInstrumentTable(**given) if given else None
    made = with_instrument(reading, ("instrument",), samples, table)
    if made is None:
        option = "--instrument" if words.instrument is not None else "--readings"
        raise _as_options(reading.problems, option, "add --instrument and its class")
    return made


def screen_read_with(words: DoubtWords, display: Display) -> Display:
    """The display with what its readings and the options say of them. Raises InputError for an unknown class."""
    from screenproof.jobs.reading import Reading
    from screenproof.questions.instruments import display_with_instrument
    from screenproof.questions.tables import ScreenInstrumentTable

    if words.screen_instrument is not None and display.kind in ("standard", "modelled"):
        raise bad(
            f"{display.label} is no screen that an instrument has read",
            field="--screen-instrument",
            expected="a display from readings or a profile",
            mend="leave it out, or name the screen's readings with --display",
        )
    reading = Reading("", Path(), {}, lambda words: None)
    kind = words.screen_instrument
    table = None if kind is None else ScreenInstrumentTable(kind=kind)
    made = display_with_instrument(reading, ("instrument",), display, table)
    if made is None:
        raise _as_options(reading.problems, "--screen-instrument", None)
    return made


def _as_options(problems: Sequence[Problem], option: str, mend: str | None) -> InputError:
    """Problems of a job's table, told of the option that set it."""
    return InputError(
        Problem(p.what, field=option, expected=p.expected, mend=p.mend if p.expected else mend) for p in problems
    )


def judge_of(
    words: DoubtWords, limit: float | None, read: Sequence[Samples], display: Display | None = None
) -> Judge | None:
    """Who judges every figure against ``limit``; None without a limit, or when nothing is known of any reading."""
    known = [samples.doubt for samples in read] + [None if display is None else display.doubt]
    if limit is None or not any(known):
        return None
    from screenproof.jobs.verdicts import Judge
    from screenproof.proof import ToleranceSet
    from screenproof.questions.tables import DoubtTable

    tolerance = ToleranceSet(
        "the limit", match=limit, excess=limit, light_shift=limit, pair_shift=limit, observer_shift=limit
    )
    return Judge(tolerance, DoubtTable(risk=0.05 if words.risk is None else words.risk))


def doubt_told(judge: Judge, read: Sequence[tuple[str, Samples]], display: Display | None) -> Answer:
    """What an answer says of doubt: how it was decided, and what is known of the readings of each side."""
    from screenproof.jobs.doubts import UNKNOWN
    from screenproof.proof.doubt_records import DoubtRecord, DoubtSource

    sources = [
        DoubtSource("samples", file, UNKNOWN, "unknown")
        if samples.doubt is None
        else DoubtSource("samples", file, samples.doubt.words(), samples.doubt.stated)
        for file, samples in read
    ]
    if display is not None and (display.doubt is not None or display.kind in ("readings", "profile")):
        own = display.doubt
        words, stated = (UNKNOWN, "unknown") if own is None else (own.words(), own.stated)
        sources.append(DoubtSource("display", display.label, words, stated))
    silent = [source.name for source in sources if source.stated == "unknown"]
    notes = [f"the share of {', '.join(silent)} in the doubt is missing: verdicts are less sure than they say"]
    decision = judge.decision
    record = DoubtRecord(
        decision.risk, decision.coverage, decision.draws, tuple(sources), tuple(notes if silent else ())
    )
    return asdict(record)


def verdicts_told(verdicts: Sequence[Verdict | None]) -> Answer:
    """What an entry says of its verdicts: the worst status, and each with its interval and its cure."""
    from screenproof.proof import worst

    found = [verdict for verdict in verdicts if verdict is not None]
    return {"status": worst(verdict.status for verdict in found), "verdicts": [asdict(one) for one in found]}


def match_verdicts(
    judge: Judge, what: What, samples: Samples, matched: Match, display: Display, viewing: Viewing
) -> list[Answer]:
    """What each entry says of its match, as ``what`` is 'match' (the residual) or 'excess'."""
    from screenproof.proof.covariance import excess_spread, match_spread

    spread = excess_spread if what == "excess" else match_spread
    found = judge.rows(
        what,
        matched.lab,
        matched.nearest_lab if what == "excess" else matched.shown_lab,
        (viewing.white, viewing.conditions()),
        lambda: spread(samples, matched, display, viewing),
        (viewing.light.name, viewing.observer.name),
        {"sample": samples.names, "screen": [display.label] * len(samples)},
        "reference",
        follows=what == "match",
    )
    return [verdicts_told([verdict]) for verdict in found]


def by_name(things: Iterable[T]) -> Callable[[str], T]:
    """The light or observer of a name, among those of a shift."""
    found = {thing.name: thing for thing in things}
    return found.__getitem__
