"""The pages of the documents: their fenced blocks, and a run of all of them, which is made once for who asks."""

from __future__ import annotations

import atexit
import io
import re
import shlex
import shutil
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest

from screenproof.cli import main

TOP = Path(__file__).parents[2]
PAGES = [TOP / "README.md", TOP / "profiles_demo" / "README.md", *sorted((TOP / "docs").glob("*.md"))]


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it printed."""

    returncode: int
    stdout: str
    stderr: str


FENCE = re.compile(r"^```(?P<info>[^\n`]*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Block:
    """A fenced block: its mark, the words beside it, its text and the line on which it begins."""

    mark: str
    options: dict[str, str]
    body: str
    line: int


def blocks_of(page: Path) -> list[Block]:
    """The fenced blocks of a page in their order."""
    text = page.read_text(encoding="utf-8")
    found = []
    for match in FENCE.finditer(text):
        mark, *words = match["info"].split() or [""]
        options = dict(word.split("=", 1) for word in words)
        found.append(Block(mark, options, match["body"], text.count("\n", 0, match.start()) + 1))
    return found


def commands_of(block: Block) -> list[tuple[str, list[str]]]:
    """Commands of a console block, each with the lines that it is to print."""
    commands: list[tuple[str, list[str]]] = []
    for line in block.body.splitlines():
        if line.startswith("$ "):
            commands.append((line[2:], []))
        elif commands and commands[-1][0].endswith("\\"):
            commands[-1] = (commands[-1][0][:-1] + line.strip(), [])
        else:
            assert commands, f"line {block.line}: output before a command"
            commands[-1][1].append(line)
    return commands


def matches(expected: list[str], printed: list[str]) -> bool:
    """Whether the printed lines are the expected ones; ``...`` stands for any number of lines."""
    if not expected:
        return not printed
    if expected[0] == "...":
        return any(matches(expected[1:], printed[skip:]) for skip in range(len(printed) + 1))
    return bool(printed) and expected[0] == printed[0] and matches(expected[1:], printed[1:])


def plain(text: str | list[str]) -> list[str]:
    """Lines with single blanks, without empty lines."""
    lines = text.splitlines() if isinstance(text, str) else text
    return [" ".join(line.split()) for line in lines if line.strip()]


def run(command: str, folder: Path) -> Done:
    """Run ``screenproof ...`` in ``folder``, in this process: to start one takes longer than most commands."""
    program, *arguments = shlex.split(command, comments=True)
    assert program == "screenproof", command
    out, err = io.StringIO(), io.StringIO()
    environment = pytest.MonkeyPatch()
    with environment.context() as here, redirect_stdout(out), redirect_stderr(err):
        here.chdir(folder)
        here.setattr(sys, "argv", ["screenproof"])
        here.setenv("COLUMNS", "120")
        here.setenv("NO_COLOR", "1")
        with pytest.raises(SystemExit) as left:
            main(arguments)
    return Done(int(left.value.code or 0), out.getvalue(), err.getvalue())


@dataclass(frozen=True)
class Step:
    """A command of a page: its block, the lines that it is to print, and how it ended."""

    block: Block
    command: str
    expected: list[str]
    done: Done


@dataclass
class Ran:
    """A page that was run in ``folder``: its commands, and the error that ended it early, if one did."""

    folder: Path
    steps: list[Step] = field(default_factory=list)
    error: BaseException | None = None


def copy_of_the_demo() -> Path:
    """A new temporary folder that holds a copy of the demo and nothing else; it goes when the process ends."""
    place = Path(tempfile.mkdtemp(prefix="pages-")).resolve()
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    leave_out = shutil.ignore_patterns("out", "__pycache__")
    shutil.copytree(TOP / "profiles_demo", place / "profiles_demo", ignore=leave_out)
    return place


@cache
def ran_page(page: Path) -> Ran:
    """All blocks of a page, run in their order in a folder of its own."""
    ran, names = Ran(copy_of_the_demo()), {"__name__": page.stem}
    with pytest.MonkeyPatch.context() as here:
        here.chdir(ran.folder)
        try:
            for block in blocks_of(page):
                _run_block(block, f"{page.name}, line {block.line}", ran, names)
        except (Exception, pytest.fail.Exception) as error:
            ran.error = error
    return ran


def _run_block(block: Block, place: str, ran: Ran, names: dict[str, str]) -> None:
    if "file" in block.options:
        target = ran.folder / block.options["file"]
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(block.body, encoding="utf-8")
    if block.mark == "python":
        exec(compile(block.body, place, "exec"), names)
    elif block.mark == "console":
        for command, expected in commands_of(block):
            ran.steps.append(Step(block, command, expected, run(command, ran.folder)))
