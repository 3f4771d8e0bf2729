"""What the answers of the checks have alike: rows with their verdicts, trouble first, with the reasons below."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from screenproof.english import fixed
from screenproof.proof.checks import CheckRow
from screenproof.proof.finding import Finding, trouble_first
from screenproof.proof.judged import Judged
from screenproof.questions.answer import Answer
from screenproof.report.table import Cell, Column, Table

_DIGITS = {"u'v'": 4, "Duv": 4, "K": 0, ": 1": 0, "lx": 0, "min": 0, "%": 1, "Ra": 1, "Ri": 1, "Rf": 1, "SSI": 1}
_ORDER = ("fail", "undecided", "pass", "not judged", "not known")


class Checked(Answer):
    """The base of the answers of checks."""

    rows_key = "rows"
    rows: tuple[CheckRow, ...]

    @property
    def judged(self) -> tuple[Judged, ...]:
        """The figure of every row."""
        return tuple(row.judged for row in self.rows)

    def row(self, key: str) -> CheckRow:
        """The row with this key. KeyError without one."""
        return {row.key: row for row in self.rows}[key]

    @property
    def failed(self) -> tuple[str, ...]:
        """Keys of the rows that fail."""
        return tuple(row.key for row in self.rows if row.status == "fail")

    def _ordered(self) -> list[CheckRow]:
        return sorted(self.rows, key=lambda row: (_ORDER.index(row.status), row.figure is None))

    def tables(self) -> tuple[Table, ...]:
        """A row for each figure, what fails first, and below it a line of words for each that needs them."""
        doubted = any(row.uncertainty is not None for row in self.rows)
        columns = [
            Column("verdict", left=True),
            Column("what", left=True),
            Column("figure"),
            *([Column("+/-")] if doubted else []),
            Column("limit", left=True),
            Column("limit from", left=True),
        ]
        rows: list[list[Cell]] = [
            [
                row.status.upper() if row.status == "fail" else row.status,
                row.what,
                figure_words(row),
                *([None if row.uncertainty is None else fixed(2.0 * row.uncertainty, _digits(row))] * doubted),
                limit_words(row),
                "-" if row.limit is None else f"{row.limit.source} ({row.limit.obtained})",
            ]
            for row in self._ordered()
        ]
        legend = "\n".join(f"{row.what}: {said}" for row in self._ordered() if (said := reason(row)))
        return (Table.of(columns, rows, legend=legend),)

    def bare(self) -> Table:
        """The rows with their numbers as they are, for files."""
        heads = (
            "key",
            "status",
            "what",
            "figure",
            "unit",
            "uncertainty",
            "low",
            "high",
            "source",
            "words",
            "mend",
        )
        rows: list[list[Cell]] = []
        for row in self._ordered():
            low, high, source = (None, None, "") if row.limit is None else _limit(row)
            said = row.status, row.what, row.figure, row.unit, row.uncertainty
            rows.append([row.key, *said, low, high, source, row.words, row.mend])
        return Table.of([Column(head) for head in heads], rows)

    def to_csv(self) -> str:
        """The rows as CSV."""
        return self.bare().csv()

    def to_frame(self) -> Any:
        """The rows as a data frame of pandas. Raises InputError where that is not installed."""
        return self.bare().frame()

    def findings(self) -> Iterator[Finding]:
        """What fails, is undecided or is not known, the worst first, with what to do."""
        yield from trouble_first(
            Finding(row.key, self.subject(), "", row.judged, _says(row), row.mend)
            for row in self.rows
            if row.judged.trouble
        )

    def subject(self) -> str:
        """What was checked."""
        return ""


def _limit(row: CheckRow) -> tuple[float | None, float | None, str]:
    assert row.limit is not None
    return row.limit.low, row.limit.high, f"{row.limit.source} ({row.limit.obtained})"


def _says(row: CheckRow) -> str:
    if row.figure is None:
        return f"{row.what} is not known: {row.words}."
    verdict = "fails" if row.status == "fail" else "is undecided"
    return f"{row.what} {verdict}: {figure_words(row)}, limit {limit_words(row)}."


def _digits(row: CheckRow) -> int:
    small = row.figure is not None and row.unit == "cd/m2" and abs(row.figure) < 1.0
    return _DIGITS.get(row.unit, 2) + (2 if small else 0)


def figure_words(row: CheckRow) -> str:
    """The figure with its unit; a dash for none."""
    return fixed(row.figure, _digits(row)) + (f" {row.unit}" if row.figure is not None and row.unit else "")


def limit_words(row: CheckRow) -> str:
    """A limit as a range or a bound, in the unit of its figure."""
    if row.limit is None:
        return "-"
    digits = _DIGITS.get(row.unit, 2) + 1
    low, high = (None if one is None else f"{round(one, digits):g}" for one in (row.limit.low, row.limit.high))
    if low is not None and high is not None:
        return f"{low} to {high}"
    return f"{high} or less" if low is None else f"{low} or more"


def reason(row: CheckRow) -> str:
    """Why a row stands as it does and what to do about it; '' for one that passes without a remark."""
    if row.status == "pass" and not row.remark:
        return ""
    return "; ".join(part for part in (row.words, row.mend) if part)
