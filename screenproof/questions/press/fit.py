"""A press fitted to its chart, with its error on patches that the fit did not see."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.errors import Note, bad, did_you_mean
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import Answer
from screenproof.questions.presses import LimitsSaid, cells_words
from screenproof.questions.sources import existing_file
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screenproof.questions.opening import Open
    from screenproof.questions.press.question import AskPressFit
    from screenproof.spectra import Samples
    from screenproof.subtractive import HeldOut, Press

TONES = (0.25, 0.5, 0.75)


@dataclass(frozen=True)
class HeldOutSaid:
    """The error on patches that the fit did not see; figures are None where there is no such patch."""

    metric: str
    mean: float | None
    p95: float | None
    max: float | None
    count: int
    worst: str
    how: str
    light: str
    observer: str
    patches: tuple[str, ...]

    @classmethod
    def of(cls, held: HeldOut) -> HeldOutSaid:
        """As an answer says it."""
        mean, p95, largest = (held.mean, held.p95, held.max) if held.count else (None, None, None)
        where = held.light, held.observer, held.patches
        return cls("CIEDE2000", mean, p95, largest, held.count, held.worst, held.how, *where)


@dataclass(frozen=True)
class ToneSaid:
    """Spot colour tone values (ISO 20654) of one channel at some tints, both 0..1."""

    channel: str
    tint: tuple[float, ...]
    value: tuple[float, ...]

    @classmethod
    def of(cls, press: Press, channel: str) -> ToneSaid:
        """Those at a quarter, a half and three quarters."""
        return cls(channel, TONES, tuple(press.tone_values(channel, np.array(TONES)).tolist()))


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class PressFitAnswer(Answer):
    """A press: channels, model, limits 0..1, tone values of each channel, and how well it predicts.

    written: the file of the press, None before it is written. fitted_on: of how many patches. press: the press.
    """

    schema: ClassVar[str] = "screenproof-press-fit/2"

    file: str
    written: str | None = field(default=None, metadata={"key": "press"})
    name: str
    channels: tuple[str, ...]
    n: float
    spectral: bool
    light: str | None
    observer: str | None
    wavelengths: str | None
    cells: Sequence[str]
    limits: LimitsSaid
    tone_values: tuple[ToneSaid, ...]
    held_out: HeldOutSaid | None
    fitted_on: int
    limit: float | None
    said: str = field(metadata={"key": "status"})
    figures: tuple[Judged, ...] = field(metadata={"key": "judged"})
    notes: tuple[Note, ...]
    press: Press = hidden()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """The 95th percentile held out, against the limit."""
        return self.figures

    def heading(self) -> str:
        """What was fitted."""
        return f"Fit of {self.file}: {', '.join(self.channels)}"

    def tables(self) -> tuple[Table, ...]:
        """The tone values, a row a channel."""
        columns = [Column("channel", left=True), *(Column(f"{100 * tint:g} prints", 1) for tint in TONES)]
        rows: list[list[Cell]] = [
            [tone.channel, *(100.0 * value for value in tone.value)] for tone in self.tone_values
        ]
        return (Table.of(columns, rows, legend="tone values in percent (ISO 20654)"),)

    def text(self) -> str:
        """The report of the fit for a terminal."""
        rows = [("patches", f"{self.fitted_on} fitted, {'curves' if self.spectral else 'XYZ'} known")]
        if not self.spectral:
            rows.append(("holds for", f"{self.light}, observer {self.observer}"))
        rows.append(("Yule-Nielsen n", f"{self.n:g}"))
        rows += [("full grid", cells) for cells in self.cells]
        held = self.held_out
        if held is not None and held.count:
            figures = f"mean {held.mean:.2f}, 95 % {held.p95:.2f}, largest {held.max:.2f} ({held.worst})"
            rows.append(
                ("held out", f"{figures} CIEDE2000 of {held.count}, {held.light}, observer {held.observer}")
            )
            rows.append(("", held.how))
        elif held is not None:
            rows.append(("held out", held.how))
        rows.append(("limits", self.limits.words(self.channels)))
        for tone in self.tone_values:
            shown = ", ".join(
                f"{100.0 * tint:.0f} prints {100.0 * value:.0f} %"
                for tint, value in zip(tone.tint, tone.value, strict=True)
            )
            rows.append((f"tone of {tone.channel}", shown))
        width = max(len(key) for key, _ in rows)
        lines = [self.heading(), "", *(f"{key.ljust(width)}  {value}" for key, value in rows)]
        if self.limit is not None:
            lines += ["", f"Limit {self.limit:g} CIEDE2000 for the 95th percentile: {self.said}."]
        return "\n".join(lines + self.ending())

    def findings(self) -> Iterator[Finding]:
        """A press that predicts worse than was asked, or of which that is not known."""
        from screenproof.questions.press.findings import of_fit

        return of_fit(self)


def fit_answer(asked: AskPressFit, open: Open) -> PressFitAnswer:
    """The press of a characterisation.

    channels: only these, and the patches that print no other. levels: fit on the ramps and on the patches with
    every channel at one of these percentages, and measure the error on all others.
    """
    from screenproof.subtractive import fit_press

    samples = _characterisation(asked, open)
    assert samples.device is not None
    if asked.channels:
        samples = _with_channels(samples, asked.channels)
    chosen = _on_levels(samples, asked.levels) if asked.levels else None
    press = fit_press(samples, fit=chosen, n=asked.n, name=asked.called or Path(samples.source).stem)
    held = press.held_out
    judged = open.judge(asked.limit).plain("p95", held.p95 if held is not None and held.count else math.nan)
    return PressFitAnswer(
        file=called(asked.characterisation),
        name=press.name,
        channels=press.channels,
        n=press.n,
        spectral=press.is_spectral,
        light=press.light,
        observer=press.observer,
        wavelengths=None if press.grid is None else str(press.grid),
        cells=cells_words(press),
        limits=LimitsSaid.of(press.limits),
        tone_values=tuple(ToneSaid.of(press, name) for name in press.channels),
        held_out=None if held is None else HeldOutSaid.of(held),
        fitted_on=len(samples) if chosen is None else int(chosen.sum()),
        limit=asked.limit,
        said=judged.status,
        figures=(judged,),
        notes=notes_of(press.notes),
        press=press,
    )


def _characterisation(asked: AskPressFit, open: Open) -> Samples:
    """The patches, from a file or as they were given."""
    from screenproof.formats import read_characterisation

    named = asked.characterisation
    if isinstance(named, (str, Path)):
        return read_characterisation(existing_file(str(named), open.folder))
    if named.device is None:
        raise bad("no tints stand beside the readings", field="characterisation", mend="give samples with tints")
    return named


def _with_channels(samples: Samples, channels: Sequence[str]) -> Samples:
    from screenproof.formats.characterisation import with_channels

    assert samples.device is not None
    for name in channels:
        if name not in samples.device.channels:
            raise bad(
                f"the characterisation has no channel {name!r}",
                field="channels",
                expected=f"of {', '.join(samples.device.channels)}",
                mend=did_you_mean(name, samples.device.channels),
            )
    return with_channels(samples, tuple(channels))


def _on_levels(samples: Samples, levels: Sequence[float]) -> NDArray[np.bool_]:
    """Which samples are single ramps, or have every channel at one of the percentages."""
    assert samples.device is not None
    tints = samples.device.values
    at = np.asarray((np.abs(tints[:, :, np.newaxis] - np.array(levels) / 100.0) < 1e-4).any(axis=2))
    chosen: NDArray[np.bool_] = at.all(axis=1) | ((tints > 1e-4).sum(axis=1) <= 1)
    if chosen.all():
        raise bad(
            f"every patch lies on the levels {', '.join(f'{one:g}' for one in levels)}",
            field="levels",
            expected="patches beside them, on which the error is measured",
            mend="leave {levels} out: the error is then measured by fitting in parts",
        )
    return chosen
