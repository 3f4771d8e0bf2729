"""What many people see, as tables: after a match, a gamut or a shift that was asked for a population."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screenproof.cli._common import number, table

Entry = dict[str, Any]


def percent(share: float) -> str:
    """A share 0..1 as whole percent; what is not quite none or all is not called so."""
    if 0 < share < 0.005:
        return "<1 %"
    if 0.995 < share < 1:
        return ">99 %"
    return f"{100 * share:.0f} %"


def people_line(answer: Entry) -> str:
    """Who the people are, in one line."""
    who = answer["population"]
    return f"People: {who['label']} (seed {who['seed']})"


def crowd_lines(answer: Entry) -> list[str]:
    """The lines that a match says of its people; none without any."""
    if "population" not in answer:
        return []
    rows = [(entry["name"], None, entry["crowd"]) for entry in answer["samples"]]
    lines = ["", people_line(answer), *_made_for(answer), "", _crowd_table(rows, answer["observer"], "sample")]
    legend = _legend("the sample beside the screen", answer["limit"])
    return [*lines, "", *legend, *_whites_line(answer, answer["observer"])]


def shift_crowd_lines(answer: Entry) -> list[str]:
    """The lines that a shift says of its people; none without any."""
    if "population" not in answer:
        return []
    pairs = answer["kind"] == "pair_shift"
    rows = []
    for entry in answer["pairs" if pairs else "samples"]:
        label = entry["name"]
        if pairs and entry["partner"] != label:
            label = f"{label} / {entry['partner']}"
        rows += [(label, crowd["light"], crowd) for crowd in entry["crowd"]]
    lines = ["", people_line(answer), "", _crowd_table(rows, answer["seen_by"], "pair" if pairs else "sample")]
    what = "the second of the pair beside the first, as they are, without a correction"
    legend = _legend(what if pairs else "the sample beside the screen", answer["limit"])
    return [*lines, "", *legend, *([] if pairs else _whites_line(answer, answer["seen_by"]))]


def _whites_line(answer: Entry, observer: str) -> list[str]:
    """Whose white: why people see more than an --observer of their age is told to see."""
    if answer.get("basis", "white") == "absolute":
        return []
    return [
        f"Both whites are in view at once, and stand to each other as they do for {observer}. An",
        "--observer adapts to each by itself, and mostly sees less than a person with the same eyes does here.",
    ]


def _made_for(answer: Entry) -> list[str]:
    who = answer["population"]
    if who["aim"] != "population":
        return []
    changed = [entry["crowd"] for entry in answer["samples"]]
    lower = sum(crowd["p95"] < crowd["p95_before"] for crowd in changed)
    return [
        f"The drive values are made for these people: the 95 % is lower for {lower} of {len(changed)} samples, "
        f"and observer {answer['observer']} sees {who['cost']:g} more at most."
    ]


def _crowd_table(rows: Sequence[tuple[str, str | None, Entry]], observer: str, first: str) -> str:
    """A row per sample (and light), where people see most first."""
    rows = sorted(rows, key=lambda row: -row[2]["p95"])
    lit = any(light is not None for _, light, _ in rows)
    limit = rows[0][2]["limit"]
    before = any(crowd["p95_before"] is not None for _, _, crowd in rows)
    header = [first, *(["light"] if lit else []), "median", *(["95 % before"] if before else []), "95 %"]
    header += [*([f"{observer} before"] if before else []), observer]
    header += [*([f"above {limit:g}"] if limit is not None else []), "worst age", "those who see most see it"]
    cells = [
        [
            name,
            *([light or ""] if lit else []),
            number(crowd["median"]),
            *([number(crowd["p95_before"])] if before else []),
            number(crowd["p95"]),
            *([number(crowd["standard_before"])] if before else []),
            number(crowd["standard"]),
            *([percent(crowd["share_above"])] if limit is not None else []),
            f"{crowd['worst_age']:.0f}",
            crowd["words"],
        ]
        for name, light, crowd in rows
    ]
    return table(header, cells, left=(0, 1, len(header) - 1) if lit else (0, len(header) - 1))


def _legend(what: str, limit: float | None) -> list[str]:
    lines = [
        f"CIEDE2000 of {what}: half of the people see the median or less, 19 of 20 the 95 % or less.",
        "Those who see most are a tenth; worst age is the middle of the decade that sees most.",
    ]
    if limit is not None:
        lines.append(f"above {limit:g}: the share of people who see more than that. It is no verdict.")
    return lines

