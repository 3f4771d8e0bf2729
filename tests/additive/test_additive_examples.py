"""The examples in the docstrings of the room say what the code does."""

from __future__ import annotations

import doctest
import importlib
import subprocess
import sys

import pytest

MODULES = ["blends", "display", "fusion", "parametric", "primaries", "sampled", "standards", "transfer"]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name):
    result = doctest.testmod(importlib.import_module(f"screenproof.additive.{name}"))
    assert result.attempted > 0 and result.failed == 0


def test_the_room_loads_nothing_heavy_until_it_is_needed():
    code = (
        "import screenproof.additive as a, sys; a.standard_display('srgb').seen_by().to_drive([1.0, 1.0, 1.0]);"
        "print([m for m in ('scipy', 'numba', 'colour', 'PIL', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
