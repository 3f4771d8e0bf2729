"""What is printed: numbers, columns, progress, and names that would harm a terminal or a script."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

import pytest

from screenproof.cli import _common


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1.005, 2, "1.00"),
        (-0.001, 2, "0.00"),
        (-0.006, 2, "-0.01"),
        (None, 2, "-"),
        (0.0, 4, "0.0000"),
        (-12.0, 0, "-12"),
    ],
)
def test_numbers_have_fixed_decimals_and_no_negative_nought(value, digits, text):
    assert _common.number(value, digits) == text


def test_columns_are_aligned():
    lines = _common.table(["name", "x"], [["long name", "1.00"], ["b", "10.00"]]).splitlines()
    assert lines == ["name           x", "---------  -----", "long name   1.00", "b          10.00"]


def test_progress_is_silent_where_nobody_waits(capsys):
    say = _common.progress()
    say("working")
    assert capsys.readouterr() == ("", "")


def test_progress_on_a_terminal_begins_after_half_a_second_and_wipes_its_line(monkeypatch, capsys):
    now = [100.0]
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    say = _common.progress()
    say("too early")
    now[0] += 0.6
    say("fitting")
    say("")
    err = capsys.readouterr().err
    assert "too early" not in err and "fitting" in err and err.endswith("\r\x1b[K")


def test_a_name_cannot_steer_the_terminal(cli, colours):
    text = colours.read_text(encoding="utf-8").replace("\nMoss,", "\n\x1b[31mMoss\x07,")
    colours.write_text(text, encoding="utf-8")
    done = cli("match", colours, "--display", "srgb")
    assert "\x1b" not in done.out + done.err and "\x07" not in done.out + done.err


def ascii_run(folder, *arguments):
    """The command line in a process whose streams are ASCII."""
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    return subprocess.run(
        [sys.executable, "-m", "screenproof", *arguments], capture_output=True, cwd=folder, env=environment
    )


def test_names_that_the_terminal_cannot_show_are_no_error(colours):
    name = "Grün ✓ 緑"
    colours.write_text(colours.read_text(encoding="utf-8").replace("\nMoss,", f"\n{name},"), encoding="utf-8")
    done = ascii_run(colours.parent, "match", "colours.csv", "--display", "srgb", "--json")
    assert done.returncode == 0, done.stderr
    assert name in [sample["name"] for sample in json.loads(done.stdout)["samples"]]
    shown = ascii_run(colours.parent, "match", "colours.csv", "--display", "srgb")
    assert shown.returncode == 0 and b"Gr\\xfcn" in shown.stdout
    wrong = ascii_run(colours.parent, "match", "colours.csv", "--display", "sübgb")
    assert wrong.returncode == 2 and b"Traceback" not in wrong.stderr
