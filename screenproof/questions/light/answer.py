"""A light against ISO 3664, with its colour rendering."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from screenproof.english import fixed
from screenproof.errors import Note
from screenproof.proof.checks import CheckRow, judged_lines
from screenproof.questions.checking import Checked
from screenproof.questions.light.metamerism import metamerism_lines, specimen_pairs
from screenproof.questions.light.rendering import Rendering, rendering, rendering_lines
from screenproof.questions.sources import light_and_notes, looks_like_file, without_selector
from screenproof.questions.telling import called
from screenproof.report.plain import hidden, notes_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.questions.form import LightLike
    from screenproof.questions.light.question import AskLightCheck
    from screenproof.questions.opening import Open
    from screenproof.spectra import Light

UV_CAUTION = Note(
    "caution",
    "lamps with ultraviolet can harm eyes and skin: follow the maker's instructions, local codes and licensed "
    "practice",
    about="ultraviolet",
)
FLICKER_CAUTION = Note(
    "caution",
    "a spectrum does not show flicker, which can harm people with photosensitive epilepsy and others: have dimmed "
    "and LED lamps tested, and follow the local code for workplaces",
    about="flicker",
)


@dataclass(frozen=True, eq=False, repr=False)
class LightChecked(Checked):
    """A checked light. range_nm: first and last wavelength of its spectrum, and the step. compared: it and its
    aim."""

    schema: ClassVar[str] = "screenproof-light-check/2"

    light: str
    label: str
    aim: str
    range_nm: tuple[float, float, float]
    source: str
    rendering: Rendering
    rows: tuple[CheckRow, ...]
    notes: tuple[Note, ...]
    compared: tuple[Light, ...] = hidden(())

    def heading(self) -> str:
        """Which light, from where to where, against what."""
        name = self.light if not self.label else f"{self.light}, {self.label}"
        low, high, step = self.range_nm
        return f"Check of {name}, {low:g} to {high:g} nm by {step:g}, against {self.aim} and ISO 3664:2009"

    def subject(self) -> str:
        """The light."""
        return self.light

    def text(self) -> str:
        """The check for a terminal."""
        (table,) = self.tables()
        special = "R1 to R14   " + " ".join(fixed(value, 0).rjust(4) for value in self.rendering.special)
        said = ["", table.legend] if table.legend else []
        return "\n".join([self.heading(), "", table.text(), *said, "", special, *self.ending()])

    def figure(self) -> Figure:
        """The spectrum beside the aim's, and the rendering indices."""
        from screenproof.questions.light.figure import draw

        return draw(self)


def light_answer(asked: AskLightCheck, open: Open) -> LightChecked:
    """The check of a light. Raises InputError as its inputs do."""
    from screenproof.spectra.light_check import (
        check_visible,
        illuminance_line,
        spectrum_lines,
        ultraviolet_lines,
    )

    light, notes = _opened(asked.light, open)
    aim = open.light(asked.aim)
    for one in (light, aim):
        check_visible(one)
    pairs = None
    if asked.specimens is not None:
        partners = None if asked.partners is None else open.samples(asked.partners)
        pairs = specimen_pairs(open.samples(asked.specimens), partners, called(asked.specimens))
    falling = light.illuminance if asked.illuminance is None else asked.illuminance
    lit = illuminance_line(falling, asked.level)
    rendered = rendering(light)
    uv = ultraviolet_lines(light)
    lines = [
        *spectrum_lines(light, aim),
        *rendering_lines(rendered),
        *metamerism_lines(light, aim, pairs),
        lit,
        *uv,
    ]
    dark = uv[0].figure is not None and uv[0].figure <= 0.1
    return LightChecked(
        light=light.name,
        label=light.label,
        aim=aim.name,
        range_nm=(light.grid.start, light.grid.stop, light.grid.step),
        source=light.source,
        rendering=rendered,
        rows=judged_lines(lines, open.judge(None)),
        notes=notes_of(notes, _own_notes(light, aim.name), () if dark else (UV_CAUTION,), (FLICKER_CAUTION,)),
        compared=(light, aim),
    )


def _opened(named: LightLike, open: Open) -> tuple[Light, Sequence[Note]]:
    """A light and what is odd about it; a standard name goes before a file, as everywhere."""
    if isinstance(named, (str, Path)) and looks_like_file(without_selector(str(named))):
        file = (open.folder or Path()) / without_selector(str(named))
        if file.is_file():
            return light_and_notes(str(named), open.folder)
    return open.light(named), ()


def _own_notes(light: Light, aim: str) -> Iterator[Note]:
    yield Note(
        "info", "no doubt is known of a single spectrum: figures are compared with their limits as they are"
    )
    if aim != "D50":
        yield Note("assumed", f"the limits of ISO 3664 are for D50; here they are asked of {aim}")
    if light.grid.start > 380.0 or light.grid.stop < 780.0:
        yield Note(
            "assumed",
            f"the spectrum is known from {light.grid.start:g} to {light.grid.stop:g} nm; past its ends the "
            "colour rendering indices take none (CIE 224) or the last value (CIE 13.3)",
            about=light.name,
            mend="measure 380 to 780 nm",
        )
