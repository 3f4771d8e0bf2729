"""The gallery's scripts run, draw, and print what the page says that they print.

A number may differ from the page's by one unit of its last digit (two for grams, which are a rounded optimum): the
last digits of a least squares solution are those of the machine's linear algebra.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

TOP = Path(__file__).parents[2]
GALLERY = TOP / "docs" / "gallery"
PAGE = (TOP / "docs" / "gallery.md").read_text(encoding="utf-8")
SCRIPTS = sorted(path.name for path in GALLERY.glob("*.py") if path.name != "place.py")

_SHOWN = re.compile(r"\(gallery/(?P<script>\w+\.py)\)\n\n```text\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
_NUMBER = re.compile(r"-?\d+(?:\.(?P<decimals>\d+))?")


def told() -> dict[str, str]:
    """Script and what the page says that it prints."""
    return {match["script"]: match["text"] for match in _SHOWN.finditer(PAGE)}


def same(printed: str, page: str) -> bool:
    """Whether the words are the same, and the numbers within the last digit."""
    if _NUMBER.sub("#", printed) != _NUMBER.sub("#", page):
        return False
    for ours, theirs in zip(_NUMBER.finditer(printed), _NUMBER.finditer(page), strict=True):
        decimals = len(theirs["decimals"] or "")
        grams = page[theirs.end() : theirs.end() + 2] == " g"
        if abs(float(ours[0]) - float(theirs[0])) > (2.01 if grams else 1.01) * 10.0**-decimals:
            return False
    return True


def test_the_comparison_can_fail():
    assert same("a 1.44 g\n", "a 1.45 g\n") and same("add 236 g", "add 238 g")
    assert not same("a 1.4", "a 1.6") and not same("add 236 g", "add 239 g") and not same("yes 1", "no 1")


def test_the_page_shows_every_script_with_its_figure():
    assert sorted(told()) == SCRIPTS
    for script in SCRIPTS:
        assert f"(images/gallery/{script[:-3]}.png)" in PAGE
        assert (TOP / "docs" / "images" / "gallery" / f"{script[:-3]}.png").exists()


@pytest.mark.parametrize("script", SCRIPTS)
def test_the_script_answers_its_question(script, tmp_path):
    from PIL import Image

    text = (GALLERY / script).read_text(encoding="utf-8")
    question = re.match(r'"""(.+\?)\n', text)
    assert question and f"\n## {question[1]}\n" in PAGE
    environment = {**os.environ, "PYTHONPATH": str(TOP), "MPLBACKEND": "Agg", "PYTHONWARNINGS": "error"}
    done = subprocess.run(
        [sys.executable, str(GALLERY / script), str(tmp_path)],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=100,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert same(done.stdout, told()[script]), f"{script} prints\n{done.stdout}"
    with Image.open(tmp_path / f"{script[:-3]}.png") as picture:
        pixels = np.asarray(picture.convert("L"), dtype=float)
    assert pixels.shape[1] > 700 and pixels.std() > 20
