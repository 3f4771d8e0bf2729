"""The page on Python is run: ten snippets, each by names alone, none with an import from a room."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs" / "python.md"


def test_the_snippets_print_what_they_show(monkeypatch):
    monkeypatch.chdir(TOP / "profiles_demo")
    flags = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    failed, tried = doctest.testfile(str(PAGE), module_relative=False, optionflags=flags)
    assert failed == 0 and tried > 25


def test_ten_snippets_import_nothing_but_the_face():
    text = PAGE.read_text(encoding="utf-8")
    assert len(re.findall(r"^## \d+\. ", text, re.MULTILINE)) >= 10
    imports = re.findall(r"^(?:>>>|\.\.\.) +((?:import|from) .*)$", text, re.MULTILINE)
    assert set(imports) == {"import screenproof as sp"}
