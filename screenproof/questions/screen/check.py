"""A screen's readings against the limits of a standard."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, get_args

from screenproof.errors import Note, bad
from screenproof.proof.checks import CheckRow, judged_lines
from screenproof.proof.judged import Status
from screenproof.proof.judging import Judge
from screenproof.questions.checking import Checked
from screenproof.questions.sources import existing_file, looks_like_file
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.additive.screen_check import ScreenCheck
    from screenproof.questions.form import LightLike
    from screenproof.questions.opening import Open
    from screenproof.questions.screen.question import AskDisplayCheck
    from screenproof.spectra import Light


@dataclass(frozen=True)
class Repeats:
    """How well readings repeat: standard deviation of the luminance in percent, of x and y as it is."""

    luminance_percent: float
    xy: float


@dataclass(frozen=True, eq=False, repr=False)
class ScreenChecked(Checked):
    """A checked screen.

    against: the name of the limits, label: their words. instrument: its class, or None. readings: how many.
    counts: of rows, by status.
    """

    schema: ClassVar[str] = "screenproof-display-check/2"

    file: str
    against: str
    label: str
    observer: str
    instrument: str | None
    risk: float
    readings: int
    repeatability: Repeats | None
    rows: tuple[CheckRow, ...]
    counts: dict[str, int]
    notes: tuple[Note, ...]
    found: ScreenCheck | None = hidden()

    def heading(self) -> str:
        """Of what, against which limits, and how it ended."""
        counts = Counter(row.status for row in self.rows)
        said = [f"{counts[key]} {key}" for key in ("fail", "undecided", "pass", "not known") if counts[key]]
        return f"Check of {self.file} against {self.label}: {', '.join(said)}"

    def subject(self) -> str:
        """The readings."""
        return self.file

    def text(self) -> str:
        """The check for a terminal."""
        lines = [self.heading(), ""]
        parts = [f"instrument of the class {self.instrument}"] if self.instrument else []
        if self.repeatability is not None:
            percent, xy = self.repeatability.luminance_percent, self.repeatability.xy
            parts.append(f"readings repeat within {percent:.2g} % in luminance and {xy:.1g} in x, y")
        if parts:
            lines += [f"{'; '.join(parts)}; +/- is twice the standard uncertainty, risk {self.risk:g}", ""]
        (table,) = self.tables()
        lines += [table.text(), *(["", table.legend] if table.legend else [])]
        return "\n".join([*lines, *self.ending()])

    def figure(self) -> Figure:
        """Greys on their tone curve, the evenness of the white, and the white over time."""
        from screenproof.questions.screen.figure import draw_check

        return draw_check(self)


def check_answer(asked: AskDisplayCheck, open: Open) -> ScreenChecked:
    """The check of a file of readings. Raises InputError as its inputs do."""
    from screenproof.additive.screen_check import check_screen
    from screenproof.formats import read_readings
    from screenproof.spectra.doubt import emission_class

    doubt = None if asked.instrument is None else emission_class(asked.instrument).emission
    found = check_screen(
        read_readings(existing_file(str(asked.readings), open.folder)),
        asked.against,
        curve=asked.curve,
        white=None if asked.white is None else _white(asked.white, open),
        luminance=asked.luminance,
        off=asked.off,
        doubt=doubt,
    )
    rows = judged_lines(found.lines, Judge.of_limit(None, asked.risk))
    return ScreenChecked(
        file=called(asked.readings),
        against=found.against,
        label=found.label,
        observer=found.readings.observer,
        instrument=asked.instrument,
        risk=asked.risk,
        readings=len(found.readings),
        repeatability=None if found.repeats is None else Repeats(100.0 * found.repeats[0], found.repeats[1]),
        rows=rows,
        counts={status: sum(row.status == status for row in rows) for status in get_args(Status)},
        notes=notes_of(found.notes, _own_notes(found)),
        found=found,
    )


def _white(named: LightLike, open: Open) -> Light | tuple[float, float]:
    """A white: a light, its name or file, or x,y."""
    text = str(named) if isinstance(named, str) else ""
    parts = text.split(",")
    if len(parts) == 2 and not looks_like_file(text.replace(".", "")):
        try:
            return float(parts[0]), float(parts[1])
        except ValueError:
            raise bad(
                f"{text!r} is no chromaticity",
                field="white",
                expected="a light such as D50 or D65, or x,y such as 0.3127,0.3290",
            ) from None
    return open.light(named)


def _own_notes(found: ScreenCheck) -> Iterator[Note]:
    if found.doubt is None and found.repeats is None:
        yield Note(
            "assumed",
            "the doubt of the readings is not known: figures are compared with their limits as they are",
            mend="name the class of the instrument with --instrument, or read some colours again",
        )
    elif found.doubt is None:
        yield Note(
            "assumed",
            "how well the instrument agrees with others is not known: only the repeats of the readings count",
            mend="name its class with --instrument",
        )
    yield Note("info", "the room was not read; 'screenproof room' tells what its light does", about="room light")
