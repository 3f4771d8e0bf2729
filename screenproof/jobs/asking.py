"""Questions in a job: every question may stand there as a table of its own name, with its fields as keys.

A ``[[compare]]`` has ``a``, ``b``, ``limit`` and whatever else the question has, a ``title`` for its section of
the page, and sees the job's samples (by group), lights, observers, displays and tolerance sets by their names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Problem
from screenproof.jobs.positions import line_at
from screenproof.jobs.reading import Reading
from screenproof.questions import questions
from screenproof.questions.form import fields_of, filled, said
from screenproof.questions.opening import Open, spoken

if TYPE_CHECKING:
    from screenproof.jobs.job import Job
    from screenproof.questions.answer import Answer
    from screenproof.questions.question import Question


@dataclass(frozen=True, eq=False)
class Asked:
    """A question of a job: where it stands ('compare[1]'), its title, and the question."""

    place: str
    title: str
    question: Question


def question_keys() -> dict[str, str]:
    """The keys of a job that are questions, with the questions' names."""
    names = [name for name, one in questions().items() if one.in_job]
    return {name.replace(" ", "_").replace("-", "_"): name for name in names}


def read_questions(reading: Reading, raw: Mapping[str, Any]) -> tuple[Asked, ...]:
    """The questions of a job in its order; what is wrong with one is written down in ``reading``."""
    found = []
    for key, name in question_keys().items():
        entries = raw.get(key, [])
        if not isinstance(entries, list):
            reading.problem(f"{said(entries)} stands here", (key,), mend=f"write [[{key}]] with two brackets")
            continue
        for index, entry in enumerate(entries):
            if not isinstance(entry, dict):
                reading.problem(f"{said(entry)} stands here", (key, index), mend=f"write it as [[{key}]]")
                continue
            given = dict(entry)
            title = given.pop("title", "")
            place = f"{key}[{index + 1}]"
            if not isinstance(title, str):
                reading.problem(f"{said(title)} is of the wrong kind", (key, index, "title"), "a text in quotes")
                continue
            _note_files(reading, questions()[name], given)
            try:
                found.append(Asked(place, title, filled(questions()[name], given)))
            except InputError as error:
                reading.problems += _placed(error, questions()[name], place, reading.file, reading.lines)
    return tuple(found)


def _note_files(reading: Reading, question: type[Question], given: Mapping[str, Any]) -> None:
    """Write down the files that go into the job."""
    for item in fields_of(question):
        value = given.get(item.key, given.get(item.name))
        for one in value if isinstance(value, list) else [value]:
            if item.is_thing and isinstance(one, str):
                reading.uses(one)


def answers(job: Job, say: Callable[[str], None]) -> tuple[Answer, ...]:
    """The answers to the questions of a job. Raises InputError with the mistakes of all of them."""
    found: list[Answer] = []
    problems: list[Problem] = []
    scope: dict[str, dict[str, Any]] = {
        "samples": {group.group: group.samples for group in job.groups},
        "lights": {light.name: light for light in job.lights},
        "observers": {one.name: one for one in job.observers},
        "displays": {display.name: display for display in job.displays},
    }
    for asked in job.questions:
        say(asked.title or asked.place)
        try:
            answer = asked.question.ask(Open(job.folder, say, scope, job.tolerances))
            found.append(answer)
        except InputError as error:
            problems += _placed(error, type(asked.question), asked.place, str(job.path), job.lines)
    if problems:
        raise InputError(problems)
    return tuple(found)


def _placed(
    error: InputError, question: type[Question], place: str, file: str, lines: dict[Any, int]
) -> list[Problem]:
    """The problems of a question at the line of the job where each stands."""
    keys = {name: item.key for item in fields_of(question) for name in (item.name, item.key)}
    told = spoken(error, question, lambda name: keys.get(name, name)).problems
    found = []
    for problem in told:
        if problem.file is not None:
            found.append(problem)
            continue
        field = f"{place}.{problem.field}" if problem.field else place
        found.append(replace(problem, file=file, line=line_at(lines, field), field=field))
    return found
