"""The examples in the room's docstrings are run, and give what they say."""

from __future__ import annotations

import doctest
import importlib

import pytest


@pytest.mark.parametrize("name", ["spaces", "adaptation", "cam16", "difference", "words"])
def test_examples(name):
    module = importlib.import_module(f"screenproof.appearance.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0
