"""The proof page: one self-contained HTML file made of a result.

The templates set the content of :mod:`.sheet`, :mod:`.cards` and :mod:`.findings` in type, with every text
escaped. The page's own policy forbids it to load anything; its one script is admitted by its hash, so that no
words of a sample's name could ever run.
"""

from __future__ import annotations

import base64
import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from screenproof import english
from screenproof.proof.colours import JudgedColour, judged_colours
from screenproof.proof.ink_reach import JUST_MISSED
from screenproof.proof.judged import TROUBLE
from screenproof.report import cards, doubt, eyes, figures, gamut_figures, inks, recipes, words
from screenproof.report.environment import new_environment
from screenproof.report.eye_words import metric_words, passing_words
from screenproof.report.findings import findings_of
from screenproof.report.findings.count import lead
from screenproof.report.sheet import (
    DisplayView,
    FigureGrid,
    Glow,
    SampleView,
    sample_views,
    shift_grid,
    verdict_of,
)
from screenproof.report.words import Labels

if TYPE_CHECKING:
    from jinja2 import Environment

    from screenproof.proof.result import PairRecord, Result

FULL_SAMPLES = 120
"""So many samples get their own entry, those in trouble first; of a longer job the rest is in the table only."""

MOST_CARDS = 9
"""So many troubles get a card with a patch; the rest is listed by name."""


@dataclass(frozen=True)
class WorstShift:
    """A shift for the table: ``figure`` for sorting, ``text`` and ``doubt`` for reading, and what it is for."""

    figure: float
    text: str
    doubt: str
    light: str
    observer: str
    status: str | None


@dataclass(frozen=True)
class TableRow:
    """A row of the table: one sample on one display (or on none).

    ``colours`` are the object's page colours in the lights of the table's chooser, parted by blanks.
    """

    view: SampleView
    display: DisplayView | None
    index: int
    colours: str
    shift: WorstShift | None
    status: str
    words: str


@dataclass(frozen=True)
class PairGlow:
    """A light to see a pair in, and the page colours of its two samples there."""

    label: str
    left: str
    right: str


@dataclass(frozen=True)
class PairView:
    """A pair with its grid, and the lights to see it in: first seen where it fails worst."""

    number: int
    pair: PairRecord
    grid: FigureGrid | None
    glows: tuple[PairGlow, ...]
    chosen: int
    seen: eyes.Panel | None


def render_page(result: Result, *, patches: str | None = "patches/") -> str:
    """The proof page of ``result`` as one HTML text that needs no other file and no network.

    ``patches`` is the folder with the images for the displays themselves, as the page names it; None when the
    job writes none. The same result gives the same page to the byte.
    """
    labels = Labels.of(result)
    views = sample_views(result, labels)
    wanted = inks.reach_views(result, labels, views)
    outside = inks.outside(result, views, wanted) if result.presses else []
    points = _points(views, wanted, outside)
    presses = [press for press in result.presses if press.hull_uv]
    by_name = {view.sample.name: view for view in views}
    targets = recipes.target_views(result, labels)
    printed = bool(result.stocks or result.overprints or result.presses or wanted or targets)
    found = findings_of(result)
    attention = cards.cards(result, labels, found, views, wanted)
    peopled = eyes.eyes_view(result, labels, views, found)
    wholes = doubt.whole_views(result, labels)
    colours = {one.name: one for one in judged_colours(result) if one.kind == "sample"}
    advices = {card.anchor: card.advice for card in attention if card.status == "undecided"}
    mine = {view.anchor: [one for one in found if view.sample.name in one.colours] for view in views}
    reasons = {anchor: " ".join(one.entry or one.lead for one in own) for anchor, own in mine.items()}
    drawn = [_with_figures(labels, view) for view in _set_in_full(views, attention)]
    glows = max((view.glows for view in views), key=len, default=())
    ages = {
        (view.number, index): panel for view in drawn for index, panel in eyes.age_panels(labels, view).items()
    }
    css = ["sheet.css", *["inks.css"] * printed, *["eyes.css"] * bool(peopled or wholes or ages)]
    script = _asset("sheet.js")
    page = _environment().get_template("page.html")
    return page.render(
        result=result,
        labels=labels,
        lead=lead(result, labels),
        views=views,
        in_trouble=[view for view in drawn if view.trouble],
        at_ease=[view for view in drawn if not view.trouble],
        left_out=len(views) - len(drawn),
        reasons=reasons,
        advices=advices,
        eyes=peopled,
        people_limit=eyes.people_limit(result),
        trusted=eyes.trusted(result, labels),
        ages=ages,
        wholes=wholes,
        set_in_full={view.anchor for view in drawn},
        cards=attention[:MOST_CARDS],
        more_cards=attention[MOST_CARDS:],
        pairs=[_pair_view(result, labels, pair, number, by_name) for number, pair in enumerate(result.pairs, 1)],
        rows=[row for view in views for row in _rows(view, colours[view.sample.name], glows)],
        chromaticity=gamut_figures.chromaticity_figure(
            result.displays,
            result.standard_gamuts,
            points,
            title=_chromaticity_title(result, labels),
            presses=presses,
        ),
        panels=gamut_figures.hue_panels(
            result.displays, points, title="Lightness over chroma of the samples", presses=presses
        ),
        printed=printed,
        wanted=[view for view in wanted if view.record.kind == "approval"],
        wanted_samples=[view for view in wanted if view.record.kind == "sample"],
        targets=targets,
        matrices=inks.matrix_views(result),
        press_views=inks.press_views(result),
        drawn_presses=presses,
        outside=outside,
        just_missed=JUST_MISSED,
        head=inks.header_words(result),
        what_words=_what_words(result, printed),
        table_glows=glows,
        patches=patches,
        css="".join(_asset(name) for name in css),
        script=script,
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
    )


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = new_environment()
    environment.filters.update(
        fixed=words.fixed,
        plain=words.plain,
        numbers=words.numbers,
        colour=english.page_colour,
        date=words.made_on,
        listed=english.listed,
        counted=english.counted,
        sentence=english.sentence,
        fit=words.fit_words,
        number=english.number,
        css=_css,
        frame=lambda status: _css(status, "pass" if status == "pass" else "plain"),
        brightened=doubt.brightener_said,
    )
    environment.globals.update(
        status_words=words.STATUS_WORDS,
        trouble=TROUBLE,
        kind_words=words.KIND_WORDS,
        basis_words=words.BASIS_WORDS,
        against=words.against,
        doubt_of=doubt.doubt_of,
        with_doubt=doubt.with_doubt,
        chance=doubt.chance,
        passing_words=passing_words,
        metric_words=metric_words,
        brightener_lines=doubt.brightener_lines,
        statistics=tuple(doubt.STATISTICS.values()),
        stated_words=doubt.STATED,
        dashes=("solid", "dashed", "dash and dot", "dotted", "long dashes"),
    )
    return environment


def _css(status: str | None, other: str = "") -> str:
    """The pattern of a status: hatched, dotted, or ``other``."""
    return "fail" if status == "fail" else "undecided" if status in TROUBLE else other


@lru_cache(maxsize=4)
def _asset(name: str) -> str:
    return files("screenproof.report").joinpath("templates", name).read_text(encoding="utf-8")


def _set_in_full(views: Sequence[SampleView], attention: Sequence[cards.Card]) -> list[SampleView]:
    """The samples that get their own entry, in the order of the job: those in trouble before the others."""
    rank = {card.anchor: place for place, card in enumerate(attention)}
    last = len(attention)
    chosen = sorted(views, key=lambda view: (rank.get(view.anchor, last), not view.trouble))[:FULL_SAMPLES]
    return sorted(chosen, key=lambda view: view.number)


def _with_figures(labels: Labels, view: SampleView) -> SampleView:
    name, sample = view.sample.name, view.sample
    displays = []
    for display in view.displays:
        if display.on.spectra is None:
            displays.append(display)
            continue
        svg = figures.spectra_figure(
            display.on.spectra, title=f"Spectra of the light from {name} and from its patch on {display.label}"
        )
        displays.append(replace(display, figure=svg))
    alone = ""
    if sample.reflectance is not None and not all(display.figure for display in displays):
        alone = figures.reflectance_figure(sample.reflectance, title=f"Reflectance factor of {name}")
    return replace(view, displays=tuple(displays), reflectance=alone)


def _points(
    views: Sequence[SampleView], wanted: Sequence[inks.ReachView], outside: Sequence[inks.Outside]
) -> list[gamut_figures.Point]:
    """The samples by number and the approved colours by letter, each of these once with its worst status."""
    beyond = {entry.anchor for entry in outside}
    points = [
        gamut_figures.Point(
            view.number,
            view.sample.uv,
            view.sample.lch,
            view.colour,
            view.status,
            ringed=view.anchor in beyond,
        )
        for view in views
    ]
    marks = {entry.mark for entry in outside}
    seen: set[str] = set()
    for view in wanted:  # trouble stands first
        if view.record.kind == "approval" and view.mark not in seen:
            seen.add(view.mark)
            lightness, a, b = view.record.lab
            lch = (lightness, math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360.0)
            points.append(
                gamut_figures.Point(
                    0, view.record.uv, lch, view.wanted, view.state or "pass", view.mark, view.mark in marks
                )
            )
    return points


def _rows(view: SampleView, colour: JudgedColour, glows: Sequence[Glow]) -> list[TableRow]:
    mine = {glow.name: glow.colour for glow in view.glows}
    colours = " ".join(mine.get(glow.name, view.colour) for glow in glows)
    if not view.displays:
        return [TableRow(view, None, 0, colours, None, view.status, view.words)]
    rows = []
    for index, display in enumerate(view.displays):
        status = colour.status_on(display.on.display)
        said = words.STATUS_WORDS[status] + (passing_words([display.on.crowd]) if status == "pass" else "")
        rows.append(TableRow(view, display, index, colours, _worst_shift(display), status, said))
    return rows


def _worst_shift(display: DisplayView) -> WorstShift | None:
    """The largest shift of a sample on a display, or None without any.

    It is the worst verdict where the shifts were judged, else the largest CIEDE2000.
    """
    verdict = verdict_of(display.on.verdicts, "observer_shift")
    if verdict is not None:
        shown, spread = doubt.figure_of(verdict), doubt.doubt_of(verdict)
        return WorstShift(
            verdict.figure, shown, spread, verdict.light or "", verdict.observer or "", verdict.status
        )
    figure = max(display.on.shift, key=lambda entry: entry.de00, default=None)
    if figure is None:
        return None
    return WorstShift(figure.de00, f"{figure.de00:.1f}", "", figure.light, figure.observer, None)


def _pair_view(
    result: Result, labels: Labels, pair: PairRecord, number: int, by_name: dict[str, SampleView]
) -> PairView:
    start = pair.from_[0].light if pair.from_ else result.viewing.light
    colours = {
        light: cards.pair_colours(pair, light, by_name)
        for light in dict.fromkeys([start, *(figure.light for figure in pair.shift)])
    }
    worst = verdict_of([verdict for verdict in pair.verdicts if verdict.trouble], "pair_shift")
    chosen = list(colours).index(worst.light) if worst is not None and worst.light in colours else 0
    grid = shift_grid(labels, pair.shift, pair.verdicts, "pair_shift", dict(colours))
    glows = tuple(PairGlow(labels.light(light), *sides) for light, sides in colours.items())
    return PairView(number, pair, grid, glows, chosen, eyes.pair_panel(labels, pair))


def _what_words(result: Result, printed: bool) -> dict[str, str]:
    """The limits that the table of tolerances has: the usual ones, and what one of the sets asks for besides."""
    asked = {
        what: said
        for what, said in words.WHOLE_WHAT_WORDS.items()
        if any(getattr(tolerance, what) is not None for tolerance in result.tolerances.values())
    }
    return {**words.WHAT_WORDS, **(words.INK_WHAT_WORDS if printed else {}), **asked}


def _chromaticity_title(result: Result, labels: Labels) -> str:
    names = english.listed([display.label or display.name for display in result.displays]) or "no display"
    return (
        f"Chromaticity diagram, CIE 1976 u'v': {english.counted(len(result.samples), 'sample')} "
        f"and the gamuts of {names}, for {labels.condition()}"
    )
