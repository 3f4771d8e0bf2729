"""What every answer can: tables, text, plain data, a figure, and the worst of its verdicts."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from screenproof.errors import InputError, Note, bad
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged, Status, worst
from screenproof.report.plain import answer_dict, json_text, notes_lines
from screenproof.report.table import Table

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


class Answer:
    """The base of answers: frozen dataclasses over arrays, one row a sample (or a pair, a recipe ...).

    schema: the name and version of its plain data. rows_key: what its rows are called there.
    """

    schema: ClassVar[str]
    rows_key: ClassVar[str] = "samples"
    notes: tuple[Note, ...]

    def heading(self) -> str:
        """What was asked, in a line: of what, in which light, for whom."""
        return self.schema.partition("/")[0].removeprefix("screenproof-")

    def tables(self) -> tuple[Table, ...]:
        """The answer as tables, the first with a row for each of its rows."""
        return ()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every figure that was held against a limit, row by row."""
        return ()

    @property
    def status(self) -> Status:
        """The worst of all that was judged."""
        return worst(one.status for one in self.judged)

    def findings(self) -> Iterable[Finding]:
        """What a person should know, the worst first."""
        return ()

    def text(self) -> str:
        """The whole answer for a terminal."""
        parts = [self.heading()]
        for table in self.tables():
            parts += ["", *([table.title] if table.title else []), table.text()]
            parts += ["", table.legend] if table.legend else []
        return "\n".join(parts + self.ending())

    def ending(self) -> list[str]:
        """The last lines of the text: the notes."""
        notes = notes_lines(self.notes)
        return ["", *notes] if notes else []

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data: the same as ``--json`` prints."""
        return answer_dict(self, self.rows_key)

    def to_json(self) -> str:
        """The answer as JSON text."""
        return json_text(self.to_dict())

    def to_csv(self) -> str:
        """The first table as CSV."""
        return self.tables()[0].csv()

    def to_frame(self) -> Any:
        """The first table as a data frame of pandas. Raises InputError where that is not installed."""
        return self.tables()[0].frame()

    def page(self) -> str:
        """Its piece of a page, as HTML: made of ``page.html`` beside its module where there is one, else its
        tables."""
        from screenproof.report.sections import piece

        return piece(self)

    def figure(self) -> Figure:
        """The figure of ``--plot``. Raises InputError where there is none."""
        raise bad(f"there is no figure for {self.schema}", field="plot", mend="leave it out")

    def plot(self, ax: Axes | None = None) -> Any:
        """The figure; with ``ax`` it is drawn as a picture into those axes, which are returned."""
        figure = self.figure()
        if ax is None:
            return figure
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        canvas: Any = FigureCanvasAgg(figure)
        canvas.draw()
        ax.imshow(canvas.buffer_rgba())
        ax.set_axis_off()
        return ax

    def save(self, path: str | Path, *, force: bool = False) -> Path:
        """Write the answer as CSV or JSON, by the suffix of ``path``. Raises InputError when it exists."""
        from screenproof.formats import write_beside
        from screenproof.questions.writing import ANSWER_FORMS, check_suffix

        path = Path(path)
        check_suffix(path, ANSWER_FORMS, "an answer", field=None)
        text = self.to_csv() if path.suffix.lower() == ".csv" else self.to_json() + "\n"
        return write_beside(path, text, force=force)

    def put(self, path: Path) -> Answer:
        """The answer, which says where it was written if it has a field ``written`` for that."""
        if all(one.name != "written" for one in dataclasses.fields(self)):  # type: ignore[arg-type]
            return self
        return dataclasses.replace(self, written=path.as_posix())  # type: ignore[type-var]

    def __repr__(self) -> str:
        count = len(self.tables()[0].rows) if self.tables() else 0
        return f"<{type(self).__name__}: {self.heading()}; {count} {self.rows_key}, {self.status}>"

    def _repr_html_(self) -> str:
        from html import escape

        tables = "".join(table.html() for table in self.tables())
        notes = "".join(f"<li>{escape(line)}</li>" for line in notes_lines(self.notes))
        return f"<p>{escape(self.heading())}</p>{tables}" + (f"<ul>{notes}</ul>" if notes else "")


class AnswerInRows(Answer):
    """The base of answers each row of which has its own judged figures."""

    figures: tuple[tuple[Judged, ...], ...]

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every figure that was held against a limit, row by row."""
        return tuple(one for own in self.figures for one in own)


def refuse(problems: Iterable[Any], file: str | None = None) -> None:
    """Raise InputError for what was asked and cannot be known: refusals with their reasons; nothing without
    any."""
    from screenproof.errors import Problem

    found = [
        Problem(
            one.reason,
            file,
            None,
            None if one.observer is None else f"observer {one.observer}",
            mend="measure what is missing (curves of the samples, spectra of the display), or ask for what the "
            "data can answer",
        )
        for one in problems
    ]
    if found:
        raise InputError(found)
