"""Write the parts of docs/reference.md that are made of the questions: the commands, and the fields of each.

``python docs/make_reference.py`` writes them between their marks; ``--check`` writes nothing, and ends with 1
where the page is not as it would be made.
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from screenproof.cli import app
from screenproof.english import listed
from screenproof.questions import questions
from screenproof.questions.form import FormField, fields_of
from screenproof.questions.question import Question

PAGE = Path(__file__).with_name("reference.md")


def commands() -> Iterator[str]:
    """A table of all commands: those about a job and a file, the questions in their order, the others."""
    rows = {
        name: _row(usage(one), _first(one), f"[fields](#{name.replace(' ', '-')})")
        for name, one in questions().items()
    }
    for command in app.registered_commands:
        assert command.name is not None and command.callback is not None
        parameters = inspect.signature(command.callback, eval_str=True).parameters.values()
        said = [one for parameter in parameters for one in getattr(parameter.annotation, "__metadata__", ())]
        words = [one.metavar for one in said if type(one).__name__ == "ArgumentInfo"]
        rows[command.name] = _row(" ".join([command.name, *words]), _first(command.callback), "`--help`")
    yield from ("| command | what it does | fields |", "|---|---|---|")
    first = ("run", "new", "inspect")
    yield from (rows[name] for name in (*first, *(name for name in rows if name not in first)))


def _first(command: object) -> str:
    """The first paragraph of a command's docstring."""
    return _marked(" ".join((inspect.getdoc(command) or "").split("\n\n")[0].split()))


def usage(question: type[Question]) -> str:
    """The name of a command with what stands after it without an option: ``printable PRESS [SAMPLES]``."""
    words = [question.name]
    for item in fields_of(question):
        if item.ask.positional:
            word = item.option.strip("[]")
            words.append(word if item.required else f"[{word}]")
    return " ".join(words)


def entries() -> Iterator[str]:
    """An entry for every question: its help, its example, its name at each door, its fields."""
    for name, one in questions().items():
        key = re.sub("[ -]", "_", name)
        doors = [f"in Python `sp.{key}(...)`", *([f"in a job `[[{key}]]`"] if one.in_job else [])]
        yield from (f"### {name}", "", _marked(inspect.getdoc(one) or ""), "")
        yield from ("```sh", one.example, "```", "")
        more = ["It has a figure: `--plot`."] if one.plots else []
        more += [f"`-o`: {one.writes[:1].lower()}{one.writes[1:]}"] if one.writes else []
        yield " ".join([f"{listed(doors)[:1].upper()}{listed(doors)[1:]}.", *more])
        yield ""
        yield "| option | key, keyword | unit | default | bounds | what it is |"
        yield "|---|---|---|---|---|---|"
        yield from (_field(item) for item in fields_of(one))
        yield ""


def _field(item: FormField) -> str:
    """The row of a field. With its keyword where that is not the key."""
    keyword = "" if item.key == item.name else f", `{item.name}`"
    option = f"{item.ask.short}, {item.option}" if item.ask.short else item.option
    cells = f"`{item.key}`{keyword}", item.ask.unit, default(item), bounds(item), _marked(item.ask.help)
    return _row(option, *cells)


def _row(name: str, *cells: str) -> str:
    """A row of a table; what would end a cell is written so that it does not."""
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in (f"`{name}`", *cells)) + " |"


def default(item: FormField) -> str:
    """What a field is unless it is given."""
    if item.required:
        return "required"
    value: Any = item.default
    if value is None or value == () or value == {}:
        return ""
    if isinstance(value, tuple):
        return f"`{','.join(str(one) for one in value)}`"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    return f"`{value}`" if isinstance(value, str) else f"`{value:g}`"


def bounds(item: FormField) -> str:
    """What the values of a field may be, in words."""
    said = item.ask
    low = f"above {said.above:g}" if said.above is not None else ""
    if said.at_least is not None:
        low = f"{said.at_least:g}" if said.at_most is not None else f"{said.at_least:g} or more"
    high = ""
    if said.at_most is not None:
        high = f"to {said.at_most:g}" if low else f"{said.at_most:g} or less"
    parts = [" ".join(part for part in (low, high) if part)]
    if said.choices:
        parts.append(listed([f"`{one}`" for one in said.choices], last="or"))
    if said.count is not None:
        parts.append(f"{said.count} of them")
    elif item.many:
        parts.append("several")
    return ", ".join(part for part in parts if part)


def _marked(text: str) -> str:
    """Help as Markdown: options and keys that are written in it stand as code."""
    return re.sub(r"(?<![`\w-])(--[a-z][a-z-]*)", r"`\1`", text).replace("``", "`").replace("<", "&lt;")


def made(text: str) -> str:
    """The text of the page with its parts made anew. Raises ValueError where the marks of one are missing."""
    for name, lines in (("commands", commands()), ("fields", entries())):
        begin, end = f"<!-- {name}: made by docs/make_reference.py -->", f"<!-- {name}: end -->"
        before, found, rest = text.partition(begin)
        _, closed, after = rest.partition(end)
        if not (found and closed):
            raise ValueError(f"{PAGE.name}: there is no {begin} with {end} after it")
        inside = "\n".join(lines).strip()
        text = f"{before}{begin}\n\n{inside}\n\n{end}{after}"
    return text


def main() -> None:
    """Write the page, or look whether it is as it would be written."""
    old = PAGE.read_text(encoding="utf-8")
    new = made(old)
    if sys.argv[1:] == ["--check"]:
        if new != old:
            sys.exit(f"{PAGE.name} is not as its questions are: python docs/make_reference.py")
        return
    PAGE.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    main()
