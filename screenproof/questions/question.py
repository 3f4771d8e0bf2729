"""A question: what is asked, as a form; its answer; and all that each door needs to put it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from screenproof.questions.form import Form

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer
    from screenproof.questions.opening import Open


class Question(Form):
    """The base of questions. The docstring of a subclass is its help.

    name: what it is called, as a command ('press fit') and, with underscores, in a job and in Python. short: its
    line in a list of commands. example: a command line. doing: what is said while it runs. plots: whether there is
    a figure. writes: what ``-o`` writes, where that is not the answer as CSV or JSON. in_job: whether a job may
    have tables of it. formerly: options that it had, each with how it is written now.
    """

    name: ClassVar[str]
    short: ClassVar[str]
    example: ClassVar[str] = ""
    doing: ClassVar[str] = "working"
    plots: ClassVar[bool] = False
    writes: ClassVar[str] = ""
    written_as: ClassVar[str] = ""
    in_job: ClassVar[bool] = True
    formerly: ClassVar[dict[str, str]] = {}

    def ask(self, open: Open) -> Answer:
        """The answer. Raises InputError for what cannot be used or known; fields are those of the form."""
        raise TypeError(f"{type(self).__name__} does not say how it is answered")

    def check_out(self, out: Path, force: bool) -> None:
        """Raise InputError, before anything is calculated, when ``-o`` cannot be written."""
        from screenproof.questions.writing import check_answer_file

        check_answer_file(out, force)

    def write(self, answer: Answer, out: Path, force: bool) -> Path:
        """Write what ``-o`` asks for."""
        return answer.save(out, force=force)
