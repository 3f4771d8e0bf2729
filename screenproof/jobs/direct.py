"""The direct commands' answers, ``match``, ``gamut`` and ``shift``, as plain data for people and for scripts.

Each answer is a dict that can be written as JSON: its ``schema``, the situation, one entry per sample or pair,
and the notes. The command line prints the same dict as a table.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct_doubt import (
    CERTAIN,
    DoubtWords,
    check_doubt,
    doubt_told,
    judge_of,
    match_verdicts,
    read_with,
    screen_read_with,
)
from screenproof.jobs.direct_people import (
    PeopleWords,
    matched_for,
    notes_on,
    people_of,
    population_record,
    shares_outside,
)
from screenproof.jobs.schema import DisplayTable, ViewingTable, check_table, nearest
from screenproof.jobs.sources import build_display, display_source, open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.spectra import Samples

Answer = dict[str, Any]

NOBODY = PeopleWords()
"""No population is asked for: the viewing observer alone."""


@dataclass(frozen=True)
class DisplayWords:
    """A display as the command line names it, with the room light [lx] on it."""

    named: str
    curve: str | None = None
    luminance: float | None = None
    black: float | None = None
    room: float | None = None
    room_light: str | None = None
    screen_reflectance: float | None = None


@dataclass(frozen=True)
class ViewingWords:
    """A viewing situation as the command line names it."""

    light: str = "D50"
    observer: str = "cie1931"
    basis: str = "white"
    adaptation: str = "cat16"
    object_white: str = "diffuser"
    surround: str = "average"
    illuminance: float | None = None


def _as_options(problems: list[Problem]) -> InputError:
    """Problems of a job's table, told of the options that set them."""
    return InputError(
        Problem(p.what, None, None, _option(p.field), p.expected, p.mend and p.mend.replace("_", "-"))
        for p in problems
    )


def _option(field: str | None) -> str | None:
    if not field:
        return None
    key = field.split(".")[-1]
    return "--room" if key == "illuminance" else f"--{key.replace('_', '-')}"


def display_of(words: DisplayWords) -> Display:
    """The display that the options describe, in its room."""
    raw: dict[str, Any] = display_source(words.named)
    given = {"curve": words.curve, "luminance": words.luminance, "black": words.black}
    raw |= {key: value for key, value in given.items() if value is not None}
    if words.room is None:
        for option, value in (("room-light", words.room_light), ("screen-reflectance", words.screen_reflectance)):
            if value is not None:
                raise bad(
                    "there is no room light to use it for", field=f"--{option}", mend="add --room and its lux"
                )
    problems: list[Problem] = []
    table = check_table(DisplayTable, raw, "", {}, ("display",), problems)
    if table is None:
        raise _as_options(problems)
    display = build_display(table)
    if words.room is None:
        return display
    reflectance = 0.04 if words.screen_reflectance is None else words.screen_reflectance
    return display.with_room(words.room, open_light(words.room_light or "D50"), reflectance)


def viewing_of(words: ViewingWords, samples: Samples) -> Viewing:
    """The viewing that the options describe; ``object_white`` may name the stock among ``samples``."""
    from screenproof.proof import Viewing

    stated = {"basis": words.basis, "adaptation": words.adaptation, "surround": words.surround}
    problems: list[Problem] = []
    if check_table(ViewingTable, stated, "", {}, ("viewing",), problems) is None:
        raise _as_options(problems)
    unused = [
        (option, basis)
        for option, given, basis in (
            ("--surround", words.surround != "average", ("appearance",)),
            ("--illuminance", words.illuminance is not None, ("absolute", "appearance")),
        )
        if given and words.basis not in basis
    ]
    if unused:
        raise InputError(
            Problem(
                f"the option has no effect in the basis {words.basis!r}",
                field=option,
                expected=f"the basis {' or '.join(basis)}",
                mend="leave it out, or choose that basis with --basis",
            )
            for option, basis in unused
        )
    light = open_light(words.light)
    if words.illuminance is not None:
        light = light.with_illuminance(words.illuminance)
    white = None if words.object_white == "diffuser" else samples.select([_stock(samples, words.object_white)])
    return Viewing(
        light,
        open_observer(words.observer),
        words.basis,  # type: ignore[arg-type]
        adaptation=words.adaptation,
        object_white=white,
        surround=words.surround,
    )


def _stock(samples: Samples, name: str) -> int:
    if name not in samples.names:
        near = nearest(name, list(samples.names))
        raise bad(
            f"no sample is called {name!r}",
            field="--object-white",
            expected="'diffuser', or the name of the sample that is the stock",
            mend=f"did you mean {near!r}?" if near else None,
        )
    return samples.names.index(name)


def chosen(samples: Samples, only: Sequence[str] | None) -> Samples:
    """The samples that --only names, in its order; all without it."""
    return samples.select([samples.index(name) for name in only]) if only else samples


def room_of(display: Display) -> Answer | None:
    """The light that falls on a screen, or None in a dark room."""
    room = display.room
    if room is None:
        return None
    return {"light": room.light.name, "illuminance": room.illuminance, "reflectance": room.reflectance}


def situation(display: Display, viewing: Viewing) -> Answer:
    """What an answer says of the situation that it holds for."""
    return {
        "display": {"name": display.name, "label": display.label, "kind": display.kind, "room": room_of(display)},
        "light": viewing.light.name,
        "observer": viewing.observer.name,
        "basis": viewing.basis,
        "adaptation": viewing.adaptation if viewing.basis == "white" else None,
    }


def chromaticities(display: Display, viewing: Viewing) -> Answer:
    """CIE 1976 u'v' of the display's primaries and white, brought to the viewing light as the samples' are."""
    from screenproof.proof import primaries_uv

    primaries, white = primaries_uv(display, viewing)
    return {"primaries_uv": primaries.tolist(), "white_uv": white.tolist()}


def plain_notes(*sources: Sequence[Note]) -> list[Answer]:
    """Notes as dicts, each once, without their empty parts."""
    seen = dict.fromkeys(note for notes in sources for note in notes)
    return [{key: value for key, value in asdict(note).items() if value is not None} for note in seen]


def match_answer(
    file: str,
    display_words: DisplayWords,
    viewing_words: ViewingWords,
    bits: int,
    limit: float | None = None,
    only: Sequence[str] | None = None,
    people_words: PeopleWords = NOBODY,
    doubt_words: DoubtWords = CERTAIN,
) -> Answer:
    """Drive values and codes of every sample of ``file``; fails a sample whose residual is above ``limit``.

    With people: what they see of each sample beside the screen (``crowd``), and drive values for them if asked.
    Where something is known of the readings: each verdict with its interval (``verdicts``), undecided ones too.
    """
    check_limit(limit)
    check_doubt(doubt_words, limit, screen=True)
    from screenproof.appearance import xyz_to_uv
    from screenproof.proof import match

    people = people_of(people_words)
    every = read_with(doubt_words, open_samples(file))
    viewing = viewing_of(viewing_words, every)
    samples = chosen(every, only)
    display = screen_read_with(doubt_words, display_of(display_words))
    found = match(samples, display, viewing, bits)
    seen: list[Answer] = [{} for _ in found.names]
    who: Answer = {}
    if people is not None:
        found, crowds, told = matched_for(people, people_words, samples, found, display, viewing, limit)
        seen, who = [{"crowd": crowd} for crowd in crowds], {"population": told}
    judge = judge_of(doubt_words, limit, [samples], display)
    if judge is not None:
        judged = match_verdicts(judge, "match", samples, found, display, viewing)
        seen, who = _both(seen, judged), who | {"doubt": doubt_told(judge, [(file, samples)], display)}
    uv = xyz_to_uv(found.xyz)
    entries = [
        {
            "name": name,
            "drive": found.drive[i].tolist(),
            "code": found.code[i].tolist(),
            "in_gamut": bool(found.in_gamut[i]),
            "excess": float(found.excess[i]),
            "residual": float(found.residual[i]),
            "xyz": found.xyz[i].tolist(),
            "lab": found.lab[i].tolist(),
            "uv": uv[i].tolist(),
            "shown_lab": found.shown_lab[i].tolist(),
            "status": status_of(float(found.residual[i]), limit),
            **seen[i],
        }
        for i, name in enumerate(found.names)
    ]
    return {
        "schema": "screenproof-match/1",
        "file": file,
        **situation(display, viewing),
        "gamut": chromaticities(display, viewing),
        "bits": bits,
        "limit": limit,
        **who,
        "samples": entries,
        "notes": plain_notes(
            *(viewing.observer.notes, samples.notes, display.notes, found.notes), notes_on(people_words, limit)
        ),
    }


def _both(first: Sequence[Answer], second: Sequence[Answer]) -> list[Answer]:
    return [one | other for one, other in zip(first, second, strict=True)]


def check_limit(limit: float | None) -> None:
    """InputError unless the limit is a number of 0 or more."""
    if limit is not None and not 0 <= limit < math.inf:
        raise bad(f"a limit of {limit:g}", field="--limit", expected="a CIEDE2000 of 0 or more")


def status_of(figure: float, limit: float | None) -> str | None:
    """'pass' or 'fail' against a limit, by the rule of the tolerance sets; None without a limit."""
    if limit is None:
        return None
    return "pass" if figure <= limit else "fail"


def failed(answer: Answer) -> bool:
    """Whether anything in an answer failed its limit."""
    return any(entry.get("status") == "fail" for key in ("samples", "pairs") for entry in answer.get(key, ()))


def gamut_answer(
    file: str,
    display_words: DisplayWords,
    viewing_words: ViewingWords,
    limit: float | None = None,
    only: Sequence[str] | None = None,
    people_words: PeopleWords = NOBODY,
    doubt_words: DoubtWords = CERTAIN,
) -> Answer:
    """Which samples the display can show, how far the others are, and which standard displays would do.

    With people: for what share of them the colour of each sample is outside (``share_outside``). Where something
    is known of the readings: each verdict with its interval (``verdicts``), undecided ones too.
    """
    check_limit(limit)
    check_doubt(doubt_words, limit, screen=True)
    from screenproof.appearance import xyz_to_uv
    from screenproof.proof import gamut, match

    people = people_of(people_words)
    every = read_with(doubt_words, open_samples(file))
    viewing = viewing_of(viewing_words, every)
    samples = chosen(every, only)
    display = screen_read_with(doubt_words, display_of(display_words))
    matched = match(samples, display, viewing)
    found = gamut(samples, display, viewing, matched=matched)
    seen: list[Answer] = [{} for _ in found.names]
    who: Answer = {}
    if people is not None:
        seen = [{"share_outside": share} for share in shares_outside(people, samples, display, viewing)]
        who = {"population": population_record(people, people_words)}
    judge = judge_of(doubt_words, limit, [samples], display)
    if judge is not None:
        judged = match_verdicts(judge, "excess", samples, matched, display, viewing)
        seen, who = _both(seen, judged), who | {"doubt": doubt_told(judge, [(file, samples)], display)}
    uv = xyz_to_uv(matched.xyz)
    entries = [
        {
            "name": name,
            "in_gamut": bool(found.in_gamut[i]),
            "excess": float(found.excess[i]),
            "direction": found.direction[i],
            "lab": matched.lab[i].tolist(),
            "uv": uv[i].tolist(),
            "nearest_lab": found.nearest_lab[i].tolist(),
            "suffices": list(found.suffices[i]),
            "status": status_of(float(found.excess[i]), limit),
            **seen[i],
        }
        for i, name in enumerate(found.names)
    ]
    return {
        "schema": "screenproof-gamut/1",
        "file": file,
        **situation(display, viewing),
        "gamut": chromaticities(display, viewing),
        "limit": limit,
        **who,
        "samples": entries,
        "notes": plain_notes(
            *(viewing.observer.notes, samples.notes, display.notes, found.notes), notes_on(people_words)
        ),
    }
