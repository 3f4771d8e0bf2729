"""The ink side of the page: overprint matrices, what presses can print, and the presses themselves.

As in :mod:`.sheet` everything is picked from the result and put in order, trouble first; none of it is reckoned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import listed, page_colour
from screenproof.proof.ink_reach import JUST_MISSED
from screenproof.proof.judged import TROUBLE
from screenproof.report.sheet import SampleView
from screenproof.report.words import Labels, against, far, fixed, led

if TYPE_CHECKING:
    from screenproof.proof.result import (
        OverprintRecord,
        PressRecord,
        PrintRecord,
        ReachRecord,
        Result,
        SolidRecord,
    )


@dataclass(frozen=True)
class PrintView:
    """One overprint: its colour as predicted, and the measured partner's where there is one."""

    record: PrintRecord
    left: str
    right: str
    order: str


@dataclass(frozen=True)
class MatrixView:
    """An overprint matrix. ``compared`` are its overprints that have a measured partner; ``stacks`` those of
    three inks or more. ``carried``: it is not on the stock that its inks were measured on."""

    number: int
    record: OverprintRecord
    stock: str
    stock_colour: str
    own_stock: str
    carried: bool
    heads: tuple[tuple[str, str], ...]
    rows: tuple[tuple[PrintView, ...], ...]
    stacks: tuple[PrintView, ...]
    compared: tuple[PrintView, ...]
    surface: str


@dataclass(frozen=True)
class ReachView:
    """One wanted colour on one press; ``state`` is its verdict's status, or None where nothing judges it."""

    record: ReachRecord
    anchor: str
    mark: str
    press: str
    wanted: str
    nearest: str
    off: str
    words: str
    tints: tuple[tuple[str, str], ...]
    state: str | None


@dataclass(frozen=True)
class PressView:
    """A press: how its model is made, in words, and its solids with their page colours."""

    record: PressRecord
    label: str
    model: str
    stock_colour: str | None
    solids: tuple[tuple[SolidRecord, str, str], ...]
    limits: str


@dataclass(frozen=True)
class Outside:
    """A colour of the job that some display or press cannot make, and by how much each of them misses it.

    ``figures`` has for every display and then for every press: CIEDE2000 as text ('' where it was not asked),
    a word ('within', 'missed' by too little to be seen, 'outside') and the status of a verdict or None.
    """

    mark: str
    name: str
    anchor: str
    colour: str
    figures: tuple[tuple[str, str, str | None], ...]


def letter(place: int) -> str:
    """'A', 'B', ... 'Z', 'AA': the mark of a wanted colour in the figures, as numbers mark the samples."""
    text = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def matrix_views(result: Result) -> list[MatrixView]:
    """Every overprint matrix of ``result``, each set of inks with the matrix on its own stock first."""
    names = {stock.name: stock.label or stock.name for stock in result.stocks}
    ordered = sorted(
        enumerate(result.overprints),
        key=lambda entry: (_first(result, entry[1].name), entry[1].stock != entry[1].own_stock, entry[0]),
    )
    views = []
    for number, (_, matrix) in enumerate(ordered, 1):
        rows = tuple(tuple(_print_view(cell) for cell in row) for row in matrix.cells)
        stacks = tuple(_print_view(stack) for stack in matrix.stacks)
        compared = [view for row in (*rows, stacks) for view in row if view.record.measured is not None]
        compared.sort(key=lambda view: view.record.de00 or 0.0, reverse=True)
        views.append(
            MatrixView(
                number,
                matrix,
                names.get(matrix.stock, matrix.stock),
                page_colour(matrix.stock_srgb),
                names.get(matrix.own_stock, matrix.own_stock),
                matrix.stock != matrix.own_stock,
                tuple((ink.name, _weight(ink.film_weight)) for ink in matrix.inks),
                rows,
                stacks,
                tuple(compared),
                _surface(matrix),
            )
        )
    return views


def _first(result: Result, name: str) -> int:
    return next(place for place, matrix in enumerate(result.overprints) if matrix.name == name)


def _weight(weight: float) -> str:
    return "" if weight == 1.0 else f"film weight {weight:g}"


def _surface(matrix: OverprintRecord) -> str:
    if matrix.k1 == 0.0 and matrix.k2 == 0.0:
        return "no correction for the surface"
    return f"surface k1 {matrix.k1:.3g}, k2 {matrix.k2:.3g} (Saunderson), specular {matrix.specular}"


def _print_view(cell: PrintRecord) -> PrintView:
    left = page_colour(cell.srgb)
    right = left if cell.measured_srgb is None else page_colour(cell.measured_srgb)
    return PrintView(cell, left, right, " + ".join(cell.inks))


def reach_views(result: Result, labels: Labels, samples: Sequence[SampleView]) -> list[ReachView]:
    """Every wanted colour on every press, trouble first: what fails, what cannot be printed, what can.

    Approved colours go before samples.
    """
    channels = {press.name: press.channels for press in result.presses}
    numbers = {view.sample.name: str(view.number) for view in samples}
    letters = letters_of(result)
    views = []
    for number, item in enumerate(result.reach, 1):
        mark = letters.get(item.name, "") if item.kind == "approval" else numbers.get(item.name, "")
        limit = item.verdict
        off = far(item.excess) if limit is None else against(limit.figure, limit.limit)
        parts = channels.get(item.press) or tuple(str(place) for place in range(1, len(item.tints) + 1))
        tints = tuple((name, fixed(100 * tint, 0)) for name, tint in zip(parts, item.tints, strict=True))
        views.append(
            ReachView(
                item,
                f"reach-{number}",
                mark,
                labels.press(item.press),
                page_colour(item.srgb),
                page_colour(item.nearest_srgb),
                off,
                led("", item.words),
                tints,
                None if limit is None else limit.status,
            )
        )
    return sorted(views, key=_reach_rank)


def _reach_rank(view: ReachView) -> tuple[bool, int, float]:
    item = view.record
    state = 0 if view.state == "fail" else 1 if view.state in TROUBLE else 2 if not item.printable else 3
    over = item.verdict.severity[1] if item.verdict is not None and state < 2 else item.excess
    return item.kind != "approval", state, -over


def letters_of(result: Result) -> dict[str, str]:
    """The letters of the approved colours that presses were asked for, in the order of the job."""
    names = dict.fromkeys(item.name for item in result.reach if item.kind == "approval")
    return {name: letter(place) for place, name in enumerate(names)}


def press_views(result: Result) -> list[PressView]:
    """Every press of ``result``."""
    return [
        PressView(
            press,
            press.label or press.name,
            _model(press),
            None if press.stock_srgb is None else page_colour(press.stock_srgb),
            tuple((solid, " + ".join(solid.channels), page_colour(solid.srgb)) for solid in press.solids),
            _limits(press),
        )
        for press in result.presses
    ]


def _model(press: PressRecord) -> str:
    """'Neugebauer, cellular, with spectra'."""
    known = f"known by XYZ for {press.light}, {press.observer}, only"
    parts = ["cellular" if press.cells else "one cell", "with spectra" if press.spectral else known]
    return "Neugebauer, " + ", ".join(parts)


def _limits(press: PressRecord) -> str:
    """'total 300 %; K up to 95 %'."""
    capped = [
        f"{name} up to {100 * limit:.0f} %"
        for name, limit in zip(press.channels, press.limit_channels, strict=True)
        if limit < 1.0
    ]
    return "; ".join([f"{100 * press.limit_total:.0f} %", *capped])


def outside(result: Result, samples: Sequence[SampleView], wanted: Sequence[ReachView]) -> list[Outside]:
    """The colours that lie outside a display or a press, approved ones first, then the samples by number."""
    by_name: dict[tuple[str, str], dict[str, ReachView]] = {}
    for view in wanted:
        by_name.setdefault((view.record.kind, view.record.name), {})[view.record.press] = view
    found = []
    for name, mark in letters_of(result).items():
        there = by_name["approval", name]
        first = next(iter(there.values()))
        figures = [("", "", None)] * len(result.displays) + _missed(result, there)
        if any(word == "outside" for _, word, _ in figures):
            found.append(Outside(mark, name, first.anchor, first.wanted, tuple(figures)))
    for sample in samples:
        shown = {display.on.display: display for display in sample.displays}
        figures = []
        for display in result.displays:
            here = shown.get(display.name)
            if here is None:
                figures.append(("", "", None))
            elif here.on.in_gamut:
                figures.append(("", "within", None))
            else:
                state = None if here.excess is None else here.excess.status
                figures.append((far(here.on.excess), _word(here.on.excess), state))
        figures += _missed(result, by_name.get(("sample", sample.sample.name), {}))
        if any(word == "outside" for _, word, _ in figures):
            found.append(
                Outside(str(sample.number), sample.sample.name, sample.anchor, sample.colour, tuple(figures))
            )
    return found


def _word(excess: float) -> str:
    return "outside" if excess >= JUST_MISSED else "missed"


def _missed(result: Result, there: dict[str, ReachView]) -> list[tuple[str, str, str | None]]:
    figures: list[tuple[str, str, str | None]] = []
    for press in result.presses:
        view = there.get(press.name)
        if view is None:
            figures.append(("", "", None))
        elif view.record.printable:
            figures.append(("", "within", None))
        else:
            figures.append((view.off, _word(view.record.excess), view.state))
    return figures


def header_words(result: Result) -> str:
    """'2 presses, 3 stocks, recipes for 1 colour': what the head of the page adds; '' without an ink side."""
    parts = []
    for count, one, many in (
        (len(result.presses), "press", "presses"),
        (len(result.stocks), "stock", "stocks"),
        (len(result.overprints), "overprint matrix", "overprint matrices"),
        (sum(len(record.recipes) for record in result.recipes), "recipe", "recipes"),
    ):
        if count:
            parts.append(f"{count} {one if count == 1 else many}")
    return listed(parts)
