"""Verdicts in doubt, as text: a figure with its interval, what is undecided and what would decide it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from screenproof.cli._common import number

Entry = dict[str, Any]


def figure_text(figure: float, verdict: Entry | None) -> str:
    """A figure, and its interval in brackets where it is known."""
    if verdict is None or verdict["low"] is None:
        return number(figure)
    return f"{number(figure)} [{number(verdict['low'])}, {number(verdict['high'])}]"


def verdict_at(entry: Entry, light: str, observer: str) -> Entry | None:
    """The verdict of an entry in a light for an observer."""
    every: list[Entry] = entry.get("verdicts", [])
    return next((one for one in every if (one["light"], one["observer"]) == (light, observer)), None)


def limit_line(what: str, limit: float, entries: Iterable[Entry]) -> str:
    """How many fail a limit, and how many are undecided."""
    statuses = [entry["status"] for entry in entries]
    failing, open_ = statuses.count("fail"), statuses.count("undecided")
    told = "none fails" if failing == 0 else f"{failing} {'fails' if failing == 1 else 'fail'}"
    if open_:
        told += f", {open_} {'is' if open_ == 1 else 'are'} undecided"
    return f"{what} {limit:g} CIEDE2000: {told}."


def doubt_lines(answer: Entry, entries: Iterable[Entry]) -> list[str]:
    """What the verdicts stand on, where doubt is known, and what is undecided with its cure."""
    lines = []
    if "doubt" in answer:
        doubt = answer["doubt"]
        inside, risk = f"{100 * doubt['coverage']:g} %", f"{100 * doubt['risk']:g} %"
        lines = ["", f"in brackets: the {inside} interval; a verdict is wrong with a risk of {risk} at most"]
        for source in doubt["sources"]:
            lines.append(f"{source['name']} ({source['stated']}): {source['words']}")
        lines += [f"note: {note}" for note in doubt["notes"]]
    undecided = [
        (entry["name"], verdict)
        for entry in entries
        for verdict in entry.get("verdicts", ())
        if verdict["status"] == "undecided"
    ]
    if undecided:
        lines += ["", "Undecided:"]
    for name, verdict in undecided:
        figure, cure = figure_text(verdict["figure"], verdict), verdict["remedy"]
        where = f"{name} in {verdict['light']} for {verdict['observer']}, {figure}"
        lines.append(f"  {where}: {cure['words']}" if cure else f"  {where}")
    return lines
