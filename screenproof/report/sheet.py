"""The page's content, one small class for each thing that the templates set in type.

All of it is picked from the result, none of it is reckoned: a mark stands where the result has a verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screenproof.english import page_colour
from screenproof.proof.judged import TROUBLE
from screenproof.report.doubt import doubt_of, figure_of
from screenproof.report.eye_words import kind_of, most_first, passing_words
from screenproof.report.words import STATUS_WORDS, Labels, fixed, led

if TYPE_CHECKING:
    from screenproof.proof.result import OnDisplay, Result, SampleRecord
    from screenproof.proof.tolerance import Judged, Status


@dataclass(frozen=True)
class Cell:
    """One figure of a grid, with its status where it was judged and its doubt where one is known."""

    text: str
    status: str | None
    doubt: str = ""


@dataclass(frozen=True)
class Row:
    """One light of a grid: two page colours that touch (or None), and a cell for every observer."""

    light: str
    left: str | None
    right: str | None
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class FigureGrid:
    """Figures over lights (rows) and observers (columns): ``metric`` names the formula, ``limit`` the bound."""

    observers: tuple[str, ...]
    rows: tuple[Row, ...]
    metric: str
    limit: str | None


@dataclass(frozen=True)
class Glow:
    """A light to choose: its name, its label, and the object's page colour in it."""

    name: str
    label: str
    colour: str


@dataclass(frozen=True)
class DisplayView:
    """One sample on one display."""

    on: OnDisplay
    label: str
    screen: str
    status: Status
    said: dict[str, str]  # by light, what the chooser says
    grid: FigureGrid | None
    refused: tuple[str, ...]
    excess: Judged | None
    match: Judged | None
    suffices: tuple[str, ...]
    figure: str = ""


@dataclass(frozen=True)
class SampleView:
    """One sample: its number on the page, its colours, and itself on every display."""

    number: int
    sample: SampleRecord
    status: Status
    glows: tuple[Glow, ...]
    chosen: str
    colour: str
    displays: tuple[DisplayView, ...]
    alone: FigureGrid | None
    refused: tuple[str, ...]
    reflectance: str = ""
    face: int = 0  # the place of the display that its trouble is about

    @property
    def shown(self) -> DisplayView | None:
        """The display that its trouble is about, else the first; None without any."""
        return self.displays[self.face] if self.displays else None

    @property
    def words(self) -> str:
        """Its status in words; a sample that passes says when people will not agree on it."""
        rest = passing_words(display.on.crowd for display in self.displays) if self.status == "pass" else ""
        return STATUS_WORDS[self.status] + rest

    @property
    def beyond_page(self) -> bool:
        """Whether the sample lies outside sRGB, in which the page is written."""
        return any(
            "srgb" not in display.on.suffices and (bool(display.on.suffices) or not display.on.in_gamut)
            for display in self.displays
        )

    @property
    def trouble(self) -> bool:
        """Whether it needs somebody's attention."""
        return self.status in TROUBLE

    @property
    def anchor(self) -> str:
        """The id of the sample's place on the page."""
        return f"sample-{self.number}"


def sample_views(result: Result, labels: Labels) -> list[SampleView]:
    """Every sample of ``result`` in the order of the job, numbered from 1."""
    return [_sample_view(result, labels, sample, number) for number, sample in enumerate(result.samples, 1)]


def _sample_view(result: Result, labels: Labels, sample: SampleRecord, number: int) -> SampleView:
    order = dict.fromkeys([result.viewing.light, *(light.name for light in result.lights), *sample.patch])
    glows = tuple(
        Glow(name, labels.light(name), page_colour(sample.patch[name])) for name in order if name in sample.patch
    )
    colours = {glow.name: glow.colour for glow in glows}
    home = colours.get(result.viewing.light) or (glows[0].colour if glows else "#ffffff")
    alone = shift_grid(
        labels, sample.light_shift, sample.verdicts, "light_shift", {n: (c, home) for n, c in colours.items()}
    )
    views = tuple(_display_view(labels, sample, on, colours, glows) for on in sample.on)
    return SampleView(
        number,
        sample,
        sample.status,
        glows,
        _chosen(sample, colours, result.viewing.light),
        home,
        views,
        alone,
        _refusals(labels, sample.refused),
        face=_face(views),
    )


def _face(views: Sequence[DisplayView]) -> int:
    """The place of the display that a sample is first seen on: where it fails worst, else where people argue."""
    verdicts = [[one for one in view.on.verdicts if one.trouble] for view in views]
    if any(verdicts):
        return max(
            (place for place, some in enumerate(verdicts) if some),
            key=lambda place: (max(one.severity for one in verdicts[place]), -place),
        )
    crowds = [(view.on.crowd, place) for place, view in enumerate(views)]
    seen = [(most_first(crowd), place) for crowd, place in crowds if crowd and kind_of(crowd) in ("argued", "all")]
    return min(seen)[1] if seen else 0


def _display_view(
    labels: Labels, sample: SampleRecord, on: OnDisplay, colours: dict[str, str], glows: tuple[Glow, ...]
) -> DisplayView:
    screen = page_colour(on.shown_srgb)
    swatches = {name: (colour, screen) for name, colour in colours.items()}
    grid = shift_grid(labels, on.shift, on.verdicts, "observer_shift", swatches)
    return DisplayView(
        on,
        labels.display(on.display),
        screen,
        on.status,
        {glow.name: _said(labels, on, glow.name, glow.label) for glow in glows},
        grid,
        _refusals(labels, on.refused),
        verdict_of(on.verdicts, "excess"),
        verdict_of(on.verdicts, "match"),
        tuple(labels.display(name) for name in on.suffices),
    )


def _chosen(sample: SampleRecord, colours: dict[str, str], home: str) -> str:
    """The light that a sample is first seen in: where it fails worst, else the viewing light."""
    verdicts = [*sample.verdicts, *(verdict for on in sample.on for verdict in on.verdicts)]
    failing = [
        verdict
        for verdict in verdicts
        if verdict.what in ("observer_shift", "light_shift") and verdict.trouble and verdict.light in colours
    ]
    worst = max(failing, key=lambda one: one.severity, default=None)
    return worst.light if worst is not None and worst.light else home


def _said(labels: Labels, on: OnDisplay, light: str, label: str) -> str:
    """What the chooser says of a light: the figures for its observers, in words."""
    parts = []
    for figure in on.shift:
        if figure.light == light:
            words = led(" (object ", figure.words)
            words += ")" if words else ""
            parts.append(f"{fixed(figure.de00, 1)} for {labels.observer(figure.observer)}{words}")
    if not parts:
        return f"In {label}: no difference was calculated."
    return f"In {label}, CIEDE2000 between object and screen: " + "; ".join(parts) + "."


def verdict_of(verdicts: Iterable[Judged], what: str) -> Judged | None:
    """The worst verdict on ``what``, or None."""
    return max(
        (verdict for verdict in verdicts if verdict.what == what), key=lambda one: one.severity, default=None
    )


def shift_grid(
    labels: Labels,
    figures: Sequence[Any],
    verdicts: Sequence[Judged],
    what: str,
    swatches: Mapping[str, tuple[str, str | None]],
) -> FigureGrid | None:
    """``figures`` (each of one light and observer) as a grid with the verdicts on ``what`` as its marks.

    The numbers are in the formula of the verdicts, where there are any, else CIEDE2000. None when there is no
    figure.
    """
    if not figures:
        return None
    judged = {(verdict.light, verdict.observer): verdict for verdict in verdicts if verdict.what == what}
    any_verdict = next(iter(judged.values()), None)
    lights = tuple(dict.fromkeys(figure.light for figure in figures))
    observers = tuple(dict.fromkeys(figure.observer for figure in figures))
    by_place = {(figure.light, figure.observer): figure for figure in figures}

    def cell(light: str, observer: str) -> Cell:
        figure, verdict = by_place.get((light, observer)), judged.get((light, observer))
        if figure is None:
            return Cell("–", None)
        if verdict is not None:
            return Cell(figure_of(verdict), verdict.status, doubt_of(verdict))
        if any_verdict is None:
            return Cell(fixed(figure.de00, 1), None)
        value = getattr(figure, any_verdict.metric, None)
        return Cell("–" if value is None else fixed(value, 1), None)

    rows = []
    for light in lights:
        left, right = swatches.get(light, (None, None))
        rows.append(Row(labels.light(light), left, right, tuple(cell(light, eye) for eye in observers)))
    limit = None if any_verdict is None else f"{any_verdict.limit:g}"
    names = tuple(labels.observer(eye) for eye in observers)
    return FigureGrid(names, tuple(rows), labels.metric(any_verdict), limit)


def _refusals(labels: Labels, refused: Iterable[Any]) -> tuple[str, ...]:
    """Why something was not calculated, and for whom; a reason common to several observers stands once."""
    reasons: dict[str, list[str]] = {}
    for entry in refused:
        reasons.setdefault(entry.reason, [])
        if entry.observer is not None:
            reasons[entry.reason].append(labels.observer(entry.observer))
    return tuple(f"{'; '.join(eyes)}: {reason}" if eyes else reason for reason, eyes in reasons.items())
