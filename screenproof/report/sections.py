"""Answers as sections of a page: their heading, what a person should know of them, their tables."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.english import counted, sentence
from screenproof.proof.finding import Finding, trouble_first
from screenproof.proof.judged import WORST_FIRST, Status
from screenproof.report.environment import new_environment
from screenproof.report.words import STATUS_VERBS, STATUS_WORDS, made_on

if TYPE_CHECKING:
    from jinja2 import Environment


@dataclass(frozen=True)
class Section:
    """An answer on a page. title: what it is called there; frame: the class of its pattern."""

    anchor: str
    title: str
    heading: str
    status: Status
    words: str
    findings: tuple[Finding, ...]
    html: str


def sections(answers: Sequence[Any], titles: Sequence[str] = ()) -> list[Section]:
    """The sections of answers, in their order; those without a title go by their question."""
    found = []
    for place, answer in enumerate(answers, 1):
        title = titles[place - 1] if place <= len(titles) and titles[place - 1] else _named(answer)
        told = tuple(trouble_first(answer.findings()))
        status = answer.status
        found.append(
            Section(f"answer-{place}", title, answer.heading(), status, STATUS_WORDS[status], told, answer.page())
        )
    return found


def _named(answer: Any) -> str:
    return sentence(str(answer.schema).partition("/")[0].removeprefix("screenproof-").replace("-", " ")).rstrip(
        "."
    )


def first_sentence(statuses: Sequence[Status]) -> str:
    """How many answers fail, are undecided and pass: '1 of 3 answers fails, 1 is undecided, 1 passes.'"""
    judged = [one for one in statuses if one != "not judged"]
    if not judged:
        return "Nothing was judged: no limit was given."
    if set(judged) == {"pass"}:
        said = "All that was judged passes" if len(judged) > 1 else "What was judged passes"
    else:
        counts = {status: judged.count(status) for status in WORST_FIRST if status in judged}
        parts = [f"{count} {STATUS_VERBS[status][count > 1]}" for status, count in counts.items()]
        said = f"Of {counted(len(judged), 'answer')} {', '.join(parts)}"
    rest = len(statuses) - len(judged)
    return said + (f"; {rest} {'has' if rest == 1 else 'have'} no limit." if rest else ".")


def piece(answer: Any) -> str:
    """An answer's own piece of a page: by ``page.html`` beside its module, else its tables."""
    tables = "\n".join(table.html() for table in answer.tables())
    beside = Path(str(sys.modules[type(answer).__module__].__file__)).parent / "page.html"
    if not beside.is_file():
        return tables
    from markupsafe import Markup

    template = environment().from_string(beside.read_text(encoding="utf-8"))
    return template.render(answer=answer, tables=Markup(tables))


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, with what sections need."""
    made = new_environment()
    made.filters.update(sentence=sentence, date=made_on)
    return made


def answers_page(
    title: str,
    note: str,
    made: str,
    answers: Sequence[Any],
    cautions: Sequence[str] = (),
    titles: Sequence[str] = (),
) -> str:
    """A whole page of answers: one self-contained HTML text. made: an ISO 8601 time."""
    from importlib.resources import files

    css = files("screenproof.report").joinpath("templates", "sheet.css").read_text(encoding="utf-8")
    told = sections(answers, titles)
    return (
        environment()
        .get_template("answers_page.html")
        .render(
            title=title,
            note=note,
            made=made,
            lead=first_sentence([section.status for section in told]),
            sections=told,
            cautions=cautions,
            css=css,
        )
    )
