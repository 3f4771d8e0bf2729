"""The room's docstring examples run, and its lazily loaded names are those that a type checker sees."""

from __future__ import annotations

import ast
import doctest
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

import screenproof.subtractive as room

HOME = Path(room.__file__).parent


@pytest.mark.parametrize("path", sorted(HOME.glob("*.py")), ids=lambda p: p.stem)
def test_examples_run(path):
    name = "screenproof.subtractive" + ("" if path.stem == "__init__" else f".{path.stem}")
    done = doctest.testmod(importlib.import_module(name))
    assert done.failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder()
    modules = [
        importlib.import_module(f"screenproof.subtractive.{m}") for m in ("surface", "layers", "kubelka_munk")
    ]
    assert all(any(test.examples for test in finder.find(module)) for module in modules)


def test_lazy_names_are_those_for_type_checkers():
    tree = ast.parse((HOME / "__init__.py").read_text(encoding="utf-8"))
    seen = {
        (node.module.rsplit(".", 1)[1], alias.asname)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("screenproof.subtractive.")
        for alias in node.names
    }
    lazy = {(module, name) for module, names in room._MODULES.items() for name in names}
    assert seen == lazy
    for module, name in lazy:
        held = getattr(importlib.import_module(f"screenproof.subtractive.{module}"), name)
        assert getattr(room, name) is held
    assert {name for _, name in lazy} <= set(dir(room))
    with pytest.raises(AttributeError, match="no attribute 'varnish'"):
        _ = room.varnish


def test_a_name_asked_for_loads_its_module_only():
    code = (
        "import sys; from screenproof.subtractive import Surface; "
        "print(sorted(m for m in sys.modules if m.startswith('screenproof.subtractive.')), 'scipy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['screenproof.subtractive.surface'] False"
