"""Nothing that a user sees has changed unnoticed: the silver files.

Numbers of JSON are held to a relative 1e-9, with SCREENPROOF_SILVER_EXACT=1 in the environment to the last bit.
Sums in another order differ in their last bits: that is for ``pytest -n``, or with OPENBLAS_NUM_THREADS=1 too.
``python -m tests.silver.renew --check`` does the same without pytest.
"""

from __future__ import annotations

import copy
import json
import os

import pytest

from tests.conftest import ONE_THREAD
from tests.silver.compare import missing
from tests.silver.renew import changes, first
from tests.silver.silver import FILES, differences, groups, kept, text_of, visible_text

EXACT = os.environ.get("SCREENPROOF_SILVER_EXACT", "") == "1"
MEND = "If that was meant: make silver (or python -m tests.silver.renew), and look at what it says."


@pytest.mark.parametrize("group", groups())
def test_the_output_is_that_of_the_silver_files(group):
    assert ONE_THREAD or not EXACT, "to the last bit only with -n, or with OPENBLAS_NUM_THREADS=1"
    made, told = groups()[group](), []
    assert set(made) == kept(group), f"{sorted(set(made) ^ kept(group))}. {MEND}"
    for name, content in made.items():
        if lines := changes(text_of(FILES / group / name), content, exact=EXACT):
            told.append(f"{group}/{name}\n{first(lines)}")
    assert not told, "\n".join([*told, MEND])


def test_every_folder_of_files_is_asked_for():
    assert {path.name for path in FILES.iterdir() if path.is_dir()} <= set(groups())


@pytest.mark.parametrize(
    ("change", "exact", "told"),
    [
        (lambda data: None, True, []),
        (lambda data: data["samples"][0].update(excess=1.0 + 1e-12), False, []),
        (lambda data: data["samples"][0].update(excess=1.0 + 1e-12), True, ["samples[0 Teal].excess"]),
        (lambda data: data["samples"][0].update(excess=1.0 + 1e-8), False, ["samples[0 Teal].excess"]),
        (lambda data: data["samples"][0].update(excess=1), False, ["samples[0 Teal].excess"]),
        (lambda data: data["samples"].pop(), False, ["samples (length)"]),
        (lambda data: data.pop("bits"), False, [" (keys)"]),
        (lambda data: data.update(bits=data.pop("bits"), samples=data.pop("samples")), False, [" (order)"]),
        (lambda data: data.update(limit=0), False, ["limit"]),
    ],
)
def test_a_change_of_json_is_noticed_by_its_key(change, exact, told):
    old = {"samples": [{"name": "Teal", "excess": 1.0}], "bits": 8, "limit": None}
    new = copy.deepcopy(old)
    change(new)
    assert [path for path, _, _ in differences(old, new, exact=exact)] == told


def test_numbers_are_found_again_in_another_layout_and_lost_ones_are_named():
    old = {"limit": 2.0, "samples": [{"name": "Teal", "lab": [50.1, -20.5], "on": {"excess": 0.25}, "fits": True}]}
    new = {"rows": [{"excess": 0.25, "L": 50.1, "a": -20.5, "name": "Teal"}], "limit": 2}
    assert missing(old, new) == []
    assert missing(new, old) == []
    new["rows"][0]["a"], new["rows"][0]["L"] = -20.500000000000004, 2.0
    new["b"] = 50.1
    assert missing(old, new) == ["Teal: lab[0] = 50.1: in other rows", "Teal: lab[1] = -20.5: nowhere"]


def test_the_visible_text_of_a_page():
    html = (
        "<head><title>A  proof</title><style>p { color: red }</style></head>"
        "<p>Two <b>bold</b>\nwords &amp; more</p><dl><dt>made<dd>today</dl>"
        "<table><tr><th>L</th><td>50 <span>cd</span></td></tr><tr><td>a</td></tr></table>"
        "<script>let x = '<p>';</script><svg><text>axis</text></svg>"
    )
    assert visible_text(html).splitlines() == [
        "A proof", "Two bold words & more", "made | today", "L | 50 cd", "a", "axis",
    ]  # fmt: skip


def test_the_silver_files_are_small_and_whole():
    files = [path for path in FILES.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in files) < 4_000_000
    for path in files:
        if path.name.removesuffix(".gz").endswith(".json"):
            json.loads(text_of(path))
