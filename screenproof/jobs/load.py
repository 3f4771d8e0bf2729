"""Read a job file: every mistake in it, and in the files that it names, is said at once.

The order of the work: the TOML itself, then each table by itself (:mod:`.schema`), then the files that the
right tables name (:mod:`.inputs`), then what one table says of another (:mod:`.references`). A later step
leaves out what an earlier one refused.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from screenproof.errors import InputError
from screenproof.jobs import asking, doubts, eyes, fluorescence, ink_inputs, inputs, limits, references, schema
from screenproof.jobs.job import Job
from screenproof.jobs.positions import key_lines
from screenproof.jobs.reading import Reading
from screenproof.jobs.schema import PopulationTable
from screenproof.jobs.toml_text import parse_toml, read_text
from screenproof.questions.form import Form
from screenproof.questions.tables import DoubtTable

JOB_VERSION = 1


def load_job(path: str | Path, progress: Callable[[str], None] | None = None) -> Job:
    """Read the job file at ``path`` and all inputs that it names.

    ``progress`` is called with a few words before each input is read. Raises InputError with every mistake
    that was found: file, line and field of each, what was expected, how to mend it.
    """
    path = Path(path)
    text = read_text(path)
    file = path.as_posix()
    raw = parse_toml(text, file)
    reading = Reading(file, path.parent, key_lines(text), progress or (lambda words: None))
    reading.inputs[path.name] = path
    _check_top(reading, raw)
    tables = {
        name: schema.check_table(model, raw.get(name, {}), file, reading.lines, (name,), reading.problems)
        for name, model in schema.TABLES.items()
    }
    tables |= {
        name: schema.check_table(model, raw[name], file, reading.lines, (name,), reading.problems)
        for name, model in schema.OPTIONAL.items()
        if name in raw
    }
    lists = {name: _check_list(reading, raw, name, model) for name, model in schema.LISTS.items()}
    viewing, people_table, doubt = tables["viewing"], tables.get("population"), tables["doubt"]
    assert viewing is None or isinstance(viewing, schema.ViewingTable)
    assert people_table is None or isinstance(people_table, PopulationTable)

    lights = inputs.read_lights(reading, lists["lights"], viewing)
    observers = inputs.read_observers(reading, lists["observers"], viewing)
    groups = inputs.read_groups(reading, lists["samples"], viewing)
    fluorescence.check_without_uv(reading, lists["lights"], lights)
    groups = inputs.in_own_light(groups, lists["lights"])
    viewings = inputs.viewings(reading, groups, viewing, lights, observers)
    displays = inputs.read_displays(reading, lists["displays"], lights)
    tolerances, default = limits.read_tolerance_sets(reading, raw.get("tolerances", {}))
    limits.check_cameras(reading, tolerances, default, observers)
    references.check(reading, lists, groups, tolerances)
    people = eyes.read_people(reading, people_table, tolerances, default)
    eyes.check_people(reading, people_table, groups, displays, bool(lists["pairs"]))
    doubts.check_doubt(reading, groups, displays)
    ink = ink_inputs.read_ink_side(reading, lists, groups, lights, tolerances)
    questions = asking.read_questions(reading, raw)
    if reading.problems:
        raise InputError(reading.problems)
    output = tables["output"]
    assert viewing is not None and isinstance(output, schema.OutputTable) and tolerances is not None
    assert isinstance(doubt, DoubtTable)
    read = tuple(group for group in groups if group is not None)
    return Job(
        path=path,
        title=raw["title"].strip(),
        note=raw.get("note", "").strip(),
        viewing=viewing,
        groups=read,
        viewings=viewings,
        displays=tuple(display for display in displays if display is not None),
        display_tables=tuple(lists["displays"]),
        lights=tuple(lights.values()),
        observers=tuple(observers.values()),
        approvals=tuple(lists["approvals"]),
        pairs=references.pair_entries(reading, lists["pairs"], read),
        tolerances=tolerances,
        default_tolerance=default,
        output=output,
        inputs=reading.records(),
        files=dict(reading.inputs),
        notes=tuple(reading.notes),
        ink=ink,
        people=people,
        doubt=doubt,
        standards={table.name: table.standard for table in lists["lights"] if table.standard},
        without_uv=tuple(table.name for table in lists["lights"] if table.without_uv),
        questions=questions,
        lines=reading.lines,
    )


def _check_top(reading: Reading, raw: dict[str, Any]) -> None:
    questions = asking.question_keys()
    known = (*schema.TOP_KEYS, *questions)
    for key in raw:
        if key not in known:
            reading.problems.append(schema.unknown_key(key, known, reading.file, reading.lines, (key,)))
    version = raw.get("version")
    if version is None:
        reading.problem("the version is missing", ("version",), mend=f"begin with version = {JOB_VERSION}")
    elif version != JOB_VERSION or isinstance(version, bool):
        reading.problem(
            f"version {version!r} is not known",
            ("version",),
            expected=f"version = {JOB_VERSION}",
            mend="use the release that this job was written for, or bring the job up to date",
        )
    for key in ("title", "note"):
        value = raw.get(key)
        if value is None and key == "title":
            reading.problem("the title is missing", ("title",), mend='add title = "..." at the top')
        elif value is not None and (not isinstance(value, str) or (key == "title" and not value.strip())):
            reading.problem(f"{value!r} is no {key}", (key,), expected="a text in quotes")
    if not raw.get("samples") and not any(raw.get(key) for key in questions):
        reading.problem("the job has no samples", ("samples",), mend="add [[samples]] with file = ...")


def _check_list(reading: Reading, raw: dict[str, Any], name: str, model: type[Form]) -> list[Any]:
    """The tables of one kind, None in the place of each that is wrong."""
    entries = raw.get(name, [])
    if isinstance(entries, dict):
        reading.problem("a single table stands here", (name,), mend=f"write [[{name}]] with two brackets")
        return [None]
    if not isinstance(entries, list):
        reading.problem(f"{entries!r} stands here", (name,), f"one [[{name}]] table or more")
        return [None]
    checked = [
        schema.check_table(model, entry, reading.file, reading.lines, (name, index), reading.problems)
        for index, entry in enumerate(entries)
    ]
    seen: dict[str, int] = {}
    for index, entry in enumerate(entries):
        own = entry.get("name") if isinstance(entry, dict) else None
        if not isinstance(own, str):
            continue
        first = seen.setdefault(own.lower(), index)
        if first != index:
            reading.problem(
                f"{name}[{first + 1}] is called {own!r} already",
                (name, index, "name"),
                mend="give each a name of its own",
            )
    return checked
