"""How the rows of a check are printed: trouble first, what could not be looked at last, with the reasons below."""

from __future__ import annotations

from typing import Any

from screenproof.cli._common import number, table

_DIGITS = {"u'v'": 4, "Duv": 4, "cd/m2": 2, "L*": 2, "K": 0, ": 1": 0, "lx": 0, "min": 0, "": 2, "%": 1}
_ORDER = ("fail", "undecided", "pass", "told", "not checked")


def checks_table(rows: list[dict[str, Any]]) -> str:
    """The rows as a table, and a line of words for each that needs them."""
    ordered = sorted(rows, key=lambda row: _ORDER.index(row["status"]))
    doubted = any(row["uncertainty"] is not None for row in rows)
    header = ["verdict", "what", "figure", *(["+/-"] if doubted else []), "limit", "limit from"]
    lines = []
    for row in ordered:
        digits = _digits(row)
        expanded = None if row["uncertainty"] is None else 2.0 * row["uncertainty"]
        figure = number(row["figure"], digits) + (f" {row['unit']}" if row["figure"] is not None else "")
        cells = [row["status"].upper() if row["status"] == "fail" else row["status"], row["what"], figure.rstrip()]
        cells += [number(expanded, digits)] if doubted else []
        lines.append([*cells, limit_text(row), source_text(row)])
    last = len(header) - 1
    text = table(header, lines, left=(0, 1, last - 1, last))
    said = [f"{row['what']}: {_reason(row)}" for row in ordered if _reason(row)]
    return text + ("\n\n" + "\n".join(said) if said else "")


def _digits(row: dict[str, Any]) -> int:
    digits = _DIGITS.get(row["unit"], 1 if row["unit"] in ("Ra", "Ri", "Rf", "SSI") else 2)
    small = row["figure"] is not None and row["unit"] == "cd/m2" and abs(row["figure"]) < 1.0
    return digits + 2 if small else digits


def _reason(row: dict[str, Any]) -> str:
    if row["status"] == "pass" and not row["remark"]:
        return ""
    return "; ".join(part for part in (row["words"], row["mend"]) if part)


def limit_text(row: dict[str, Any]) -> str:
    """A limit as a range or a bound, in the unit of its figure."""
    limit = row["limit"]
    if limit is None:
        return "-"
    digits = _digits({**row, "figure": None})
    low, high = (None if limit[key] is None else f"{round(limit[key], digits + 1):g}" for key in ("low", "high"))
    if low is not None and high is not None:
        return f"{low} to {high}"
    return f"{high} or less" if low is None else f"{low} or more"


def source_text(row: dict[str, Any]) -> str:
    """Where a limit is from and how it was obtained."""
    limit = row["limit"]
    return "-" if limit is None else f"{limit['source']} ({limit['obtained']})"
