"""What the commands that are not questions yet have in common: the display and the scene that options describe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad, nearest
from screenproof.jobs.schema import ViewingTable, check_table
from screenproof.questions.sources import build_display, display_source, open_light, open_observer
from screenproof.questions.tables import DisplayTable

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.spectra import Samples

Answer = dict[str, Any]


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


def check_limit(limit: float | None) -> None:
    """InputError unless the limit is a number of 0 or more."""
    if limit is not None and not 0 <= limit < math.inf:
        raise bad(f"a limit of {limit:g}", field="--limit", expected="a CIEDE2000 of 0 or more")


def status_of(figure: float, limit: float | None) -> str | None:
    """'pass' or 'fail' against a limit, by the rule of the tolerance sets; None without a limit."""
    if limit is None:
        return None
    return "pass" if figure <= limit else "fail"


def several(text: str, what: str) -> list[str]:
    """The names of a comma-separated option. InputError: none, or one of them twice."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    expected = "names with commas between them, such as A,FL2,FL11"
    if not names:
        raise bad("no name is given", field=what, expected=expected)
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        raise bad(f"{', '.join(twice)} stands twice", field=what, expected=expected)
    return names
