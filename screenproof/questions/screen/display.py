"""What a display is, by itself or as it is fitted to readings."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from screenproof.errors import Note
from screenproof.questions.answer import Answer
from screenproof.questions.sources import existing_file
from screenproof.questions.telling import RoomSaid, called, room_said
from screenproof.report.plain import hidden, notes_lines, notes_of
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.additive import Display
    from screenproof.questions.opening import Open
    from screenproof.questions.screen.question import AskDisplayFit, AskDisplayShow
    from screenproof.spectra import Array

CHANNELS = ("red", "green", "blue")
_MODELS = {
    "matrix": "a matrix with tone curves",
    "table": "a table, for a matrix does not explain the readings",
}


@dataclass(frozen=True, eq=False, repr=False)
class DisplayFigures:
    """A display in its room, for the observer of its own XYZ.

    luminance: of its white in cd/m2. xy, uv: CIE 1931 and CIE 1976 chromaticities of white, red, green and blue.
    luminances: of these and of black in cd/m2. white_temperature: in K, None far from the black bodies.
    """

    name: str
    label: str
    kind: str
    observer: str
    luminance: float
    contrast: float | None
    xy: dict[str, Array]
    uv: dict[str, Array]
    luminances: dict[str, float]
    white_temperature: float | None
    curves: tuple[str, ...]
    spectral: bool
    room: RoomSaid | None
    source: str
    notes: tuple[Note, ...]

    @classmethod
    def of(cls, display: Display) -> DisplayFigures:
        """Those of a display."""
        from screenproof.appearance import xyz_to_uv, xyz_to_xy
        from screenproof.spectra import cct_duv_of_xyz
        from screenproof.spectra.light_check import FAR_FROM_LOCUS

        view = display.seen_by()
        colours = {"white": view.white, **dict(zip(CHANNELS, view.primaries, strict=True))}
        kelvin, distance = cct_duv_of_xyz(view.white)
        return cls(
            name=display.name,
            label=display.label,
            kind=display.kind,
            observer=view.observer.name,
            luminance=float(display.luminance),
            contrast=display.contrast,
            xy={name: xyz_to_xy(xyz) for name, xyz in colours.items()},
            uv={name: xyz_to_uv(xyz) for name, xyz in colours.items()},
            luminances={name: float(xyz[1]) for name, xyz in {**colours, "black": view.black}.items()},
            white_temperature=kelvin if abs(distance) <= FAR_FROM_LOCUS else None,
            curves=() if view.curves is None else (view.curves.name,),
            spectral=display.spectral,
            room=room_said(display),
            source=display.source,
            notes=notes_of(display.notes, view.notes),
        )

    def table(self) -> Table:
        """A row for white and each primary: x, y and luminance."""
        rows: list[tuple[Cell, ...]] = [
            (name, *self.xy[name].tolist(), self.luminances[name]) for name in ("white", *CHANNELS)
        ]
        return Table.of(
            [Column("", left=True, key="light"), Column("x", 4), Column("y", 4), Column("cd/m2", 2)], rows
        )

    def lines(self) -> list[str]:
        """The numbers of the display, a line each."""
        black, contrast = self.luminances["black"], self.contrast
        lines = [self.table().text(), ""]
        lines.append(
            f"black      {black:.4g} cd/m2" + ("" if contrast is None else f", contrast {contrast:.0f} : 1")
        )
        if self.white_temperature is not None:
            lines.append(f"white      {self.white_temperature:.0f} K")
        lines.append(f"curves     {', '.join(self.curves) or 'a table, no curves of its own'}")
        lines.append(f"spectra    {'known' if self.spectral else 'not known: other observers are refused'}")
        return [*lines, *([f"source     {self.source}"] if self.source else [])]


@dataclass(frozen=True, eq=False, repr=False)
class DisplayShown(DisplayFigures, Answer):
    """A display as it stands in its room. fit: how well it explains its readings, if it has any."""

    schema: ClassVar[str] = "screenproof-display/2"

    fit: dict[str, Any] | None = None
    found: Display | None = hidden()

    def heading(self) -> str:
        """Which display, for whom, in which room."""
        kind = "" if self.kind in self.label else f" ({self.kind})"
        heading = f"{self.label}{kind}, observer {self.observer}"
        room = self.room
        return heading + ("" if room is None else f", {room.illuminance:g} lx of {room.light} on the screen")

    def tables(self) -> tuple[Table, ...]:
        """White and primaries."""
        return (self.table(),)

    def text(self) -> str:
        """The display for a terminal."""
        fit = [] if self.fit is None else ["", *fit_lines(self.fit)]
        return "\n".join([self.heading(), "", *self.lines(), *fit, *self.ending()])

    def figure(self) -> Figure:
        """Chromaticities, tones, and spectra where they are known."""
        from screenproof.questions.screen.figure import draw_display

        assert self.found is not None
        return draw_display(self.found)


def show_answer(asked: AskDisplayShow, open: Open) -> DisplayShown:
    """What a display is."""
    display = open.display(asked.screen)
    figures = DisplayFigures.of(display)
    own = {item.name: getattr(figures, item.name) for item in fields(figures)}
    return DisplayShown(**own, fit=fit_of(display), found=display)


@dataclass(frozen=True, eq=False, repr=False)
class DisplayFitted(Answer):
    """A display that was fitted to a file of readings. profile: the path of the one that was written."""

    schema: ClassVar[str] = "screenproof-display-fit/2"

    file: str
    fit: dict[str, Any]
    display: DisplayFigures
    profile: str | None = None
    notes: tuple[Note, ...] = hidden(())
    found: Display | None = hidden()

    def heading(self) -> str:
        """Of which readings, for whom."""
        return f"Fit of {self.file}, observer {self.display.observer}"

    def tables(self) -> tuple[Table, ...]:
        """White and primaries."""
        return (self.display.table(),)

    def text(self) -> str:
        """The report for a terminal."""
        notes = notes_lines(self.display.notes)
        lines = [self.heading(), "", *fit_lines(self.fit), "", *self.display.lines()]
        return "\n".join([*lines, *(["", *notes] if notes else [])])

    def save_profile(self, path: str | Path, *, force: bool = False) -> Path:
        """Write the display as an ICC v4 profile. Raises InputError when the file exists."""
        from screenproof.formats import profile_bytes, write_beside

        assert self.found is not None
        return write_beside(Path(path), profile_bytes(self.found), force=force)


def fit_answer(asked: AskDisplayFit, open: Open) -> DisplayFitted:
    """The fit of a file of readings. Raises InputError when they cannot be fitted."""
    from screenproof.additive import fit_display
    from screenproof.formats import read_readings

    path = existing_file(str(asked.readings), open.folder)
    display = fit_display(read_readings(path), path.stem)
    fit = fit_of(display)
    assert fit is not None
    return DisplayFitted(file=called(asked.readings), fit=fit, display=DisplayFigures.of(display), found=display)


def fit_of(display: Display) -> dict[str, Any] | None:
    """How well a display explains its readings, as plain data."""
    return None if display.fit is None else display.fit.as_dict()


def fit_lines(fit: dict[str, Any]) -> list[str]:
    """How well the model explains the readings; every error is of patches that the fit did not see."""
    known = "known" if fit["spectral"] else "not known"
    rows = [("model", _MODELS[fit["model"]])]
    rows.append(("readings", f"{fit['readings']} of {fit['patches']} patches, spectra {known}"))
    for key, name in (("matrix_held_out", "matrix"), ("table_held_out", "table")):
        if fit[key] is not None:
            rows.append((f"{name}, held out", _errors(fit[key])))
    if fit["repeatability_de00"] is not None:
        percent, de00 = fit["repeatability_percent"], fit["repeatability_de00"]
        rows.append(("repeatability", f"{percent:.2g} % in luminance, {de00:.2g} CIEDE2000"))
    if (failure := fit["additivity_failure"]) is not None:
        off = f"{failure['luminance_percent']:+.2f} % in luminance, {failure['de00']:.2f} CIEDE2000"
        rows.append(("additivity", f"white against the sum of the primaries: {off}"))
    if (failure := fit["channel_independence_failure"]) is not None:
        rows.append(("independence", f"mixtures against the ramps: {_errors(failure)}"))
    rows.append(("gammas", ", ".join(f"{gamma:.2f}" for gamma in fit["gammas"])))
    falls = [name for name, rises in zip(CHANNELS, fit["monotone"], strict=True) if not rises]
    rows += [("not monotone", ", ".join(falls))] if falls else []
    return [f"{key.ljust(17)}{value}" for key, value in rows]


def _errors(figures: dict[str, Any]) -> str:
    worst = f" ({figures['worst']})" if figures.get("worst") else ""
    return (
        f"mean {figures['mean']:.2f}, 95 % {figures['p95']:.2f}, largest {figures['max']:.2f}{worst} "
        f"CIEDE2000 of {figures['count']}"
    )
