"""Doubt as the page prints it: a figure with what is left open of it, what would decide, and sets as a whole.

A figure whose interval lies evenly about it stands with its ±, any other (near no difference at all) with the ends
of its interval. Nothing is reckoned here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screenproof.english import sentence
from screenproof.proof.tolerance import METRIC_LABELS
from screenproof.report.words import Labels, against, fixed

if TYPE_CHECKING:
    from screenproof.proof.result import BrightenerLight, BrightenerRecord, Result, WholeFigure, WholeRecord
    from screenproof.proof.tolerance import Judged

_EVEN = 0.15  # of half the interval: so far from its middle a figure may lie and still stand with a ±

_NONE = 0.005  # an uncertainty below it is not shown: it is far below what is seen, and rounds to none

STATISTICS = {"mean": "mean", "p95": "95th percentile", "worst": "largest"}

STATED = {
    "file": "by its file",
    "repeated readings": "from repeated readings",
    "job": "by the job",
    "class": "by its class of instrument",
    "held out": "by patches kept out of its fit",
    "unknown": "not known",
}


def spread(
    figure: float, low: float | None, high: float | None, uncertainty: float | None = None, digits: int = 1
) -> str:
    """'± 0.3', or '(0.0 to 0.6)' where that is not even about the figure.

    '' where no doubt is known, or only one so small that it would be read as none.
    """
    if low is not None and high is not None and high > low:
        half = (high - low) / 2.0
        if half < _NONE:
            return ""
        if low <= 0.0 or abs((low + high) / 2.0 - figure) > _EVEN * half:
            return f"({fixed(low, digits)} to {_shown(high, digits)})"
        uncertainty = half if uncertainty is None else uncertainty
    if uncertainty is None or uncertainty < _NONE:
        return ""
    return f"±\N{NO-BREAK SPACE}{_shown(uncertainty, digits)}"


def doubt_of(verdict: Judged | None, digits: int = 1) -> str:
    """The spread of a verdict's figure, with as many decimals as the figure itself is shown with."""
    if verdict is None:
        return ""
    digits = telling(verdict, digits)
    shown = against(verdict.figure, verdict.limit, digits)
    places = digits if shown.startswith("just") else _decimals(shown)
    return spread(verdict.figure, verdict.low, verdict.high, verdict.uncertainty, places)


def telling(verdict: Judged, digits: int = 1) -> int:
    """``digits``, or one more where rounding would hide why the verdict is what it is.

    That is so where the interval as it is shown does not lie to its limit as the status says: about it when
    undecided, else on one side.
    """
    if verdict.low is None or verdict.high is None or verdict.high - verdict.low < 2.0 * _NONE:
        return digits
    undecided = verdict.status == "undecided"
    astride = verdict.low < verdict.limit < verdict.high
    if undecided != astride and (undecided or verdict.low <= 0.0):
        return digits  # no decimal would show it
    figure = round(verdict.figure, digits)
    half = verdict.uncertainty if verdict.uncertainty is not None else (verdict.high - verdict.low) / 2.0
    low, high = round(verdict.low, digits), round(verdict.high, digits)
    if verdict.low > 0.0:  # shown with its ±
        low, high = round(figure - round(half, digits), 6), round(figure + round(half, digits), 6)
    shown = {
        "undecided": low < verdict.limit < high,
        "pass": high < verdict.limit,
        "fail": low > verdict.limit,
    }
    return digits if shown.get(verdict.status, True) else digits + 1


def figure_of(verdict: Judged, digits: int = 1) -> str:
    """A verdict's figure, with the decimals that show its side of the limit and why it is judged so."""
    return against(verdict.figure, verdict.limit, telling(verdict, digits))


def chance(verdict: Judged, risk: float | None) -> str:
    """'more than 5 % chance that it is over', of an undecided verdict; else nothing."""
    if verdict.status != "undecided" or risk is None:
        return ""
    side = "over" if verdict.figure <= verdict.limit else "within it"
    return f"more than {100 * risk:g}\N{NO-BREAK SPACE}% chance that it is {side}"


def with_doubt(verdict: Judged, digits: int = 1) -> str:
    """'3.2 ± 0.4': a verdict's figure beside its limit, with its spread if one is known."""
    doubt = doubt_of(verdict, digits)
    return figure_of(verdict, digits) + (f"\N{NO-BREAK SPACE}{doubt}" if doubt else "")


def _shown(value: float, digits: int) -> str:
    """``value`` with ``digits`` decimals, or with one more where that keeps it from being none."""
    for count in (digits, digits + 1):
        if float(f"{value:.{count}f}") > 0.0:
            return fixed(value, count)
    return fixed(value, digits)


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def cures(verdicts: Sequence[Judged]) -> list[str]:
    """What would decide those of ``verdicts`` that are undecided, in words that stand within a sentence.

    Of several that ask for readings of the same things, the one that asks for most is enough for all. What has no
    remedy of its own is told to be read again.
    """
    most: dict[tuple[str, ...], tuple[int, str]] = {}
    for verdict in verdicts:
        if verdict.status != "undecided":
            continue
        remedy = verdict.remedy
        if remedy is None or not remedy.words.strip():
            key: tuple[str, ...] = ()
            count, words = 0, "repeat the readings: the doubt is larger than the distance to the limit"
        else:
            key, count = tuple(name for name, _ in remedy.extra), sum(more for _, more in remedy.extra)
            words = remedy.words.strip().rstrip(".")
            if not key:
                key = (words,)  # each that readings would not decide has words of its own
            words = words[0].lower() + words[1:] if words[1:2].islower() else words
        if count >= most.get(key, (-1, ""))[0]:
            most[key] = count, words
    return list(dict.fromkeys(words for _, words in most.values()))


@dataclass(frozen=True)
class WholeCell:
    """One statistic of a set: its figure, spread, limit and status; empty texts where there is none."""

    text: str
    doubt: str
    limit: str
    status: str | None


@dataclass(frozen=True)
class WholeView:
    """A set judged as a whole; ``cells`` are its mean, 95th percentile and largest, in this order."""

    anchor: str
    whole: WholeRecord
    name: str
    where: str
    metric: str
    cells: tuple[WholeCell, ...]


def whole_views(result: Result, labels: Labels) -> list[WholeView]:
    """The sets of ``result`` that are judged as a whole, those in trouble first."""
    rank = ("fail", "undecided", "not known", "pass", "not judged")
    order = sorted(range(len(result.wholes)), key=lambda i: rank.index(result.wholes[i].status))
    return [_whole_view(labels, result.wholes[i], i + 1) for i in order]


def _whole_view(labels: Labels, whole: WholeRecord, number: int) -> WholeView:
    by_name = {figure.statistic: figure for figure in whole.figures}
    where = labels.display(whole.display) if whole.display else "pairs" if whole.what == "pairs" else ""
    metric = labels.metrics.get(whole.tolerance) or METRIC_LABELS.get(whole.metric, whole.metric)
    cells = tuple(_whole_cell(by_name.get(statistic)) for statistic in STATISTICS)
    return WholeView(f"whole-{number}", whole, whole.name or "all samples", where, metric, cells)


def _whole_cell(figure: WholeFigure | None) -> WholeCell:
    if figure is None:
        return WholeCell("–", "", "", None)
    text = fixed(figure.figure, 2) if figure.limit is None else against(figure.figure, figure.limit, 2)
    shown = spread(figure.figure, figure.low, figure.high, None, 2 if text.startswith("just") else _decimals(text))
    return WholeCell(text, shown, "" if figure.limit is None else f"{figure.limit:g}", figure.status)


def whole_said(view: WholeView, status: str) -> str:
    """The statistics of a set that have ``status``, as 'its mean is 1.42 ± 0.10, limit 1.2'."""
    said = [
        f"the {name} is {cell.text}{' ' if cell.doubt else ''}{cell.doubt} {view.metric}, limit {cell.limit}"
        for name, cell in zip(STATISTICS.values(), view.cells, strict=True)
        if cell.status == status
    ]
    return sentence("; ".join(said))


def brightener_lines(labels: Labels, record: BrightenerRecord) -> tuple[tuple[str, str, str], ...]:
    """What is known of a brightened sample, light by light: (light, CIEDE2000 as a span, in words)."""
    return tuple((labels.light(one.light), _span(one), _light_words(one)) for one in record.lights)


def _span(one: BrightenerLight) -> str:
    if one.low is None or one.high is None:
        return "–"
    low, high = fixed(one.low, 1), fixed(one.high, 1)
    return low if low == high else f"{low} to {high}"


def _light_words(one: BrightenerLight) -> str:
    if one.low is None or one.high is None:
        return sentence(f"cannot be known: {one.reason}" if one.reason else "cannot be known")
    return sentence(one.words)


def brightener_said(record: BrightenerRecord) -> str:
    """How much of a sample's curve is light of a brightener."""
    words = record.words or (
        f"up to {record.emission:.3f} of the reflectance factor (at {record.peak_nm:g} nm) is light of a "
        f"brightener; without it the colour lies {record.de00:.1f} CIEDE2000 away"
    )
    return sentence(words)
