"""Lines of TOML keys, checked against the standard library's own reading of the same text."""

from __future__ import annotations

import tomllib

import pytest

from screenproof.jobs.positions import key_lines, line_of, spelled
from screenproof.jobs.starter import files

TEXT = '''\
# a comment with = and [brackets]
version = 1
title = """two
lines ] with "quotes" and # no comment"""
'quoted key' = 'a # b'

[viewing]
light = "D50" # after it
deep.er.key = 3

[[samples]]
file = "a.csv"
only = [
  "one", # first
  "two]",
]
[[samples]]
file = "b\\"c.csv"
room = { illuminance = 64, "light" = "D50", list = [[1, 2], [3]] }
[samples.more]
k = 1979-05-27T07:32:00Z

[tolerances."a b"]
match = 1.0
'''


def test_lines_are_those_that_a_person_counts():
    lines = key_lines(TEXT)
    assert lines["version",] == 2
    assert lines["title",] == 3
    assert lines["quoted key",] == 5
    assert lines["viewing",] == 7
    assert lines["viewing", "deep", "er", "key"] == 9
    assert lines["samples", 0] == 11
    assert lines["samples", 0, "only", 1] == 15
    assert lines["samples", 1] == 17
    assert lines["samples", 1, "room", "list", 1, 0] == 19
    assert lines["samples", 1, "more", "k"] == 21
    assert lines["tolerances", "a b", "match"] == 24


def paths(value: object, here: tuple = ()) -> set[tuple]:
    """Every path in a parsed TOML value."""
    found = {here} if here else set()
    if isinstance(value, dict):
        for key, item in value.items():
            found |= paths(item, (*here, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            found |= paths(item, (*here, index))
    return found


@pytest.mark.parametrize(
    "text",
    [
        TEXT,
        TEXT.replace("\n", "\r\n"),
        (files("screenproof.jobs") / "starter_files" / "job.toml").read_text("utf-8"),
    ],
    ids=["all forms", "CRLF", "starter"],
)
def test_every_path_that_the_parser_finds_has_a_line_and_no_other(text):
    assert set(key_lines(text)) == paths(tomllib.loads(text))


def test_a_path_that_is_not_written_has_the_line_of_what_is_around_it():
    lines = key_lines(TEXT)
    assert line_of(lines, ("samples", 1, "stock")) == 17
    assert line_of(lines, ("nowhere",)) is None


def test_paths_are_spelled_counting_from_one():
    assert spelled(("samples", 1, "only", 0)) == "samples[2].only[1]"
