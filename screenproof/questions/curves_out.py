"""The base of questions whose ``-o`` writes curves as a file of samples."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.questions.form import walk
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer


class CurvesOut(Question):
    """Its answer has ``samples``, the curves that are written."""

    writes = "Write the curves: .csv, .cgats, .cxf or .json."

    def check_out(self, out: Path, force: bool) -> None:
        """Raise InputError when the file cannot be written, or is one of those that are read."""
        from screenproof.questions.writing import refuse_existing

        named = [value for item, value in walk(self) if item.is_thing and not item.many]
        refuse_existing(out, [Path(one) for one in named if isinstance(one, (str, Path))], force)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """The curves of the answer as a file of samples, by the suffix of ``out``."""
        from screenproof.formats import write_samples

        return write_samples(answer.samples, out, force=force)  # type: ignore[attr-defined]
