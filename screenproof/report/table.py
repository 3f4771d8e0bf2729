"""A table, once: shown on a terminal, as HTML, as CSV, as a data frame."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import TYPE_CHECKING, Any

from screenproof.english import fixed
from screenproof.proof.judged import Judged

if TYPE_CHECKING:
    import pandas

Cell = str | float | int | bool | Judged | None


@dataclass(frozen=True)
class Column:
    """A column: its head; the decimals of its numbers; whether it stands to the left, as words do.

    key: what it is called in CSV and in a data frame, where its head would not say it.
    """

    head: str
    digits: int | None = None
    left: bool = False
    key: str = ""

    @property
    def name(self) -> str:
        """What it is called in a file."""
        return self.key or self.head


@dataclass(frozen=True)
class Table:
    """Columns and rows of plain values, with what stands above and below.

    patches: two page colours ('#rrggbb') for each row, for those who can see them; none, or as many as rows.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    title: str = ""
    legend: str = ""
    patches: tuple[tuple[str, str], ...] = field(default=())

    @classmethod
    def of(cls, columns: Iterable[Column], rows: Iterable[Sequence[Cell]], **more: Any) -> Table:
        """The table of columns and rows of any kind of sequence."""
        return cls(tuple(columns), tuple(tuple(row) for row in rows), **more)

    def cells(self, minus: str = "-") -> list[list[str]]:
        """The rows as texts."""
        return [
            [cell_text(cell, column.digits, minus) for cell, column in zip(row, self.columns, strict=True)]
            for row in self.rows
        ]

    def text(self) -> str:
        """Columns set apart by two blanks, numbers to the right, under their heads."""
        return aligned(
            [column.head for column in self.columns],
            self.cells(),
            [i for i, column in enumerate(self.columns) if column.left],
        )

    def html(self) -> str:
        """A table element; numbers have the class ``n``, and the first column heads its row."""
        heads = "".join(
            f'<th scope="col"{"" if column.left else _NUMBER}>{escape(column.head)}</th>'
            for column in self.columns
        )
        patch = '<th scope="col">patch</th>' if self.patches else ""
        lines = [f"<thead><tr>{patch}{heads}</tr></thead>", "<tbody>"]
        for place, row in enumerate(self.cells("\N{MINUS SIGN}")):
            first, *rest = row
            shown = patch_html(*self.patches[place]) if self.patches else ""
            others = "".join(
                f"<td{'' if column.left else _NUMBER}>{escape(cell)}</td>"
                for cell, column in zip(rest, self.columns[1:], strict=True)
            )
            lines.append(f'<tr>{shown}<th scope="row">{escape(first)}</th>{others}</tr>')
        caption = f"<caption>{escape(self.title)}</caption>" if self.title else ""
        below = f'<p class="quiet">{escape(self.legend)}</p>' if self.legend else ""
        return "\n".join([f"<table>{caption}", *lines, "</tbody></table>", below]).rstrip()

    def csv(self) -> str:
        """The table as CSV (RFC 4180), numbers with all their digits."""
        text = io.StringIO()
        rows = csv.writer(text, lineterminator="\r\n")
        rows.writerow([column.name for column in self.columns])
        for row in self.rows:
            rows.writerow([guarded(_bare(cell)) for cell in row])
        return text.getvalue()

    def frame(self) -> pandas.DataFrame:
        """The table as a data frame of pandas. Raises InputError where pandas is not installed."""
        return frame_of([column.name for column in self.columns], [[_bare(c) for c in row] for row in self.rows])


_NUMBER = ' class="n"'


def frame_of(columns: Sequence[str], rows: Sequence[Sequence[Any]], index: Sequence[str] | None = None) -> Any:
    """A data frame of pandas. Raises InputError where pandas is not installed."""
    try:
        import pandas  # optional, and only here
    except ModuleNotFoundError:
        from screenproof.errors import bad

        raise bad("a data frame needs pandas", mend="pip install pandas, or take to_dict()") from None
    return pandas.DataFrame(list(rows), columns=list(columns), index=None if index is None else list(index))


def patch_html(left: str, right: str) -> str:
    """A cell with two halves that touch, on a mid-grey mat."""
    halves = "".join(
        f'<span style="display:inline-block;width:1.6em;height:1.6em;background:{colour}"></span>'
        for colour in (left, right)
    )
    return f'<td style="background:#868686;padding:.3em .5em;line-height:0;white-space:nowrap">{halves}</td>'


def aligned(header: Sequence[str], rows: Iterable[Sequence[str]], left: Sequence[int] = (0,)) -> str:
    """Columns set apart by two blanks, numbers to the right; ``left`` are the columns of words."""
    cells = [list(header), *(list(row) for row in rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(header))]
    lines = []
    for row in cells:
        parts = [
            cell.ljust(width) if i in left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(parts).rstrip())
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


def cell_text(cell: Cell, digits: int | None = None, minus: str = "-") -> str:
    """A value as it is read: a figure with its interval in brackets, yes and NO, a dash for none."""
    if isinstance(cell, Judged):
        return figure_text(cell, 2 if digits is None else digits, minus)
    if isinstance(cell, bool):
        return "yes" if cell else "NO"
    if cell is None:
        return "-"
    if isinstance(cell, str):
        return cell
    return fixed(cell, digits, minus) if digits is not None else f"{cell:g}".replace("-", minus)


def figure_text(judged: Judged, digits: int = 2, minus: str = "-") -> str:
    """A figure, and its interval in brackets where it is known."""
    figure = fixed(judged.figure, digits, minus)
    if judged.low is None or judged.high is None:
        return figure
    return f"{figure} [{fixed(judged.low, digits, minus)}, {fixed(judged.high, digits, minus)}]"


def guarded(cell: Any) -> Any:
    """A text that a spreadsheet will not take for a formula; anything else as it is."""
    if not isinstance(cell, str):
        return cell
    return f"'{cell}" if cell[:1] in "=+@\t\r" or (cell[:1] == "-" and not cell[1:2].isdigit()) else cell


def _bare(cell: Cell) -> Any:
    if isinstance(cell, Judged):
        return cell.figure
    return getattr(cell, "item", lambda: cell)()
