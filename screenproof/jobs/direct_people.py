"""The direct commands asked for many people: who they are, what they see, and drive values made for them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.eye_schema import DEFAULT_COST
from screenproof.jobs.people_notes import people_notes
from screenproof.jobs.schema import nearest

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Crowd, Match, Viewing
    from screenproof.proof.crowd import CrowdDifferences
    from screenproof.spectra import Light, Population, Samples

Answer = dict[str, Any]

AIMS = ("observer", "population")
_OPTIONS = {"count": "--population", "seed": "--seed", "ages": "--ages", "field": "--field"}


@dataclass(frozen=True)
class PeopleWords:
    """A population as the command line asks for it; None is an option that was not given.

    ages: youngest and oldest as ``20-80``, or one age. aim, cost: for whom the drive values are made, and by how
    much the viewing observer may see more for it.
    """

    count: int | None = None
    ages: str | None = None
    field: float | None = None
    seed: int | None = None
    aim: str | None = None
    cost: float | None = None


def people_of(words: PeopleWords) -> Population | None:
    """The people that the options describe, None when none are asked for.

    Raises InputError for an option that has nothing to act on, and for what a population cannot be.
    """
    from screenproof.spectra import population

    _check_aim(words)
    if words.count is None:
        given = {"--ages": words.ages, "--field": words.field, "--seed": words.seed, "--aim": words.aim}
        idle = [option for option, value in given.items() if value is not None and value != "observer"]
        if idle:
            raise InputError(
                Problem("there are no people for it", field=option, mend="add --population 200, or leave it out")
                for option in idle
            )
        return None
    asked: dict[str, Any] = {"seed": words.seed, "field": words.field}
    asked["ages"] = None if words.ages is None else _ages(words.ages)
    try:
        return population(words.count, **{key: value for key, value in asked.items() if value is not None})
    except InputError as error:
        raise InputError(
            replace(problem, field=_OPTIONS.get((problem.field or "").rpartition(".")[2], problem.field))
            for problem in error.problems
        ) from None


def _check_aim(words: PeopleWords) -> None:
    if words.aim is not None and words.aim not in AIMS:
        near = nearest(words.aim, list(AIMS))
        raise bad(
            f"drive values are not made for {words.aim!r}",
            field="--aim",
            expected=" or ".join(AIMS),
            mend=f"did you mean {near!r}?" if near else None,
        )
    if words.cost is None:
        return
    if words.aim != "population":
        raise bad(
            "a cost is what drive values made for people may take from the viewing observer, and none are",
            field="--cost",
            mend="add --aim population, or leave it out",
        )
    if not 0 <= words.cost < math.inf:
        raise bad(f"a cost of {words.cost:g}", field="--cost", expected="a CIEDE2000 of 0 or more")


def _ages(text: str) -> tuple[float, float]:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)(?:\s*-\s*(\d+(?:\.\d+)?))?\s*", text)
    if found is None:
        raise bad(
            f"{text!r} are no ages", field="--ages", expected="youngest and oldest, such as 20-80, or one age"
        )
    low = float(found[1])
    return low, low if found[2] is None else float(found[2])


def population_record(people: Population, words: PeopleWords, displays: Sequence[object] = ()) -> Answer:
    """What an answer says of its people, as a job's result does."""
    from screenproof.proof.eye_records import PopulationRecord

    aim = words.aim or "observer"
    ages = float(people.ages.min()), float(people.ages.max())
    record = PopulationRecord(
        len(people),
        people.seed,
        ages,
        people.field,
        people.label,
        people.source,
        aim,  # type: ignore[arg-type]
        _cost(words) if aim == "population" else None,
        tuple(displays),  # type: ignore[arg-type]
    )
    return asdict(record)


def notes_on(words: PeopleWords, match_limit: float | None = None) -> tuple[Note, ...]:
    """What is odd about the people that were asked for; nothing without any."""
    if words.count is None:
        return ()
    return people_notes(words.count, words.aim or "observer", _cost(words), match_limit)


def _cost(words: PeopleWords) -> float:
    return DEFAULT_COST if words.cost is None else words.cost


def matched_for(
    people: Population,
    words: PeopleWords,
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    limit: float | None,
) -> tuple[Match, list[Answer], Answer]:
    """The match, made for the people if that is the aim; what they see of each sample; who they are.

    Raises InputError where it cannot be known what people see.
    """
    from screenproof.proof import crowd, crowd_on_display

    robust = None
    if words.aim == "population":
        from screenproof.proof.robust import robust_match

        robust = robust_match(samples, matched, display, viewing, people, cost=_cost(words))
        matched = robust.match
    found: Crowd = crowd(samples, matched, display, viewing, people)
    if found.refused is not None:
        raise bad(found.refused.reason, field="--population", mend=_MEASURE)
    records = [found.record(i, limit) for i in range(len(samples))]
    if robust is not None:
        records = [
            replace(
                record,
                aim="population",
                standard_before=float(robust.standard_before[i]),
                p95_before=float(robust.p95_before[i]),
            )
            for i, record in enumerate(records)
        ]
    display_record = crowd_on_display(display.name, [found], [limit])
    told = population_record(people, words, [] if display_record is None else [display_record])
    return matched, [asdict(record) for record in records], told


_MEASURE = (
    "take samples with reflectance curves, and a display with spectra: readings of spectra, or a technology "
    "such as rgb-oled"
)


def shares_outside(people: Population, samples: Samples, display: Display, viewing: Viewing) -> list[float]:
    """The share 0..1 of people for whom each sample is out of the display's gamut."""
    from screenproof.proof import gamut_share

    try:
        return [float(share) for share in gamut_share(samples, display, viewing, people)]
    except InputError as error:
        raise _unknown(error) from None


def screen_crowds(
    people: Population,
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    lights: Sequence[Light],
    limit: float | None,
) -> list[list[Answer]]:
    """For each sample, what people see in each light beside the screen that shows its match."""
    from screenproof.proof.crowd_shift import screen_shift_crowd

    try:
        seen = screen_shift_crowd(samples, matched, display, viewing, lights, people)
    except InputError as error:
        raise _unknown(error) from None
    return _by_sample(seen, len(samples), limit)


def pair_crowds(
    people: Population, a: Samples, b: Samples, lights: Sequence[Light], viewing_observer: str, limit: float | None
) -> list[list[Answer]]:
    """For each pair, what people see in each light; the pair as it is, without a correction."""
    from screenproof.jobs.sources import open_observer
    from screenproof.proof import pair_crowd

    found = pair_crowd(a, b, lights, people, viewed_by=open_observer(viewing_observer))
    if found.refused is not None:
        raise bad(found.refused.reason, field="--population", mend=_MEASURE)
    return _by_sample(found.seen, len(a), limit)


def _by_sample(seen: Iterable[CrowdDifferences], count: int, limit: float | None) -> list[list[Answer]]:
    lights = list(seen)
    return [[asdict(one.record(i, limit)) for one in lights] for i in range(count)]


def _unknown(error: InputError) -> InputError:
    return InputError(
        replace(problem, field="--population", mend=problem.mend or _MEASURE) for problem in error.problems
    )
