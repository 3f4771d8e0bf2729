"""What is said of a misspelt word: one rule for the whole house."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from screenproof import errors
from screenproof.errors import did_you_mean, near_words, nearest

DISPLAYS = ("srgb", "bt709", "p3-d65", "bt2020")


def test_examples():
    result = doctest.testmod(errors)
    assert result.attempted > 0 and result.failed == 0


@pytest.mark.parametrize(
    ("word", "meant"),
    [("sgrb", "srgb"), ("SRGB", "srgb"), (" P3D65", "p3-d65"), ("bt-2020", "bt2020"), ("mauve", None), ("", None)],
)
def test_the_nearest_word_is_found_in_any_case(word, meant):
    assert nearest(word, DISPLAYS) == meant
    assert did_you_mean(word, DISPLAYS) == (None if meant is None else f"did you mean {meant!r}?")


def test_the_known_word_keeps_its_own_case():
    assert nearest("fl2", ["FL2", "D50"]) == "FL2"
    assert near_words("tae", ["Tea", "TEA", "Teal"], 2) == ["Tea", "Teal"]  # of two that differ by case, the first


def test_no_word_is_near_to_what_is_no_word():
    assert did_you_mean(3, DISPLAYS) is None
    assert did_you_mean("srgb", []) is None


def test_a_higher_cutoff_finds_less_and_a_lower_one_more():
    assert nearest("sgb", DISPLAYS, 0.9) is None
    assert nearest("sgb", DISPLAYS) == "srgb"
    assert near_words("bt", DISPLAYS, 4, 0.9) == []
    assert set(near_words("bt", DISPLAYS, 4, 0.4)) == {"bt709", "bt2020"}


def test_all_of_the_house_asks_here():
    """No other module compares words on its own, so that a misspelt word is answered alike everywhere."""
    package = Path(errors.__file__).parent
    asks = re.compile(r"get_close_matches|\bimport difflib\b|\bfrom difflib\b")
    found = {p.relative_to(package).as_posix() for p in package.rglob("*.py") if asks.search(p.read_text("utf-8"))}
    assert found == {"errors.py"}
