"""A job's verdict is the same wherever it is read: in result.json, on the terminal and on the page.

How many pass, and which, is our own output; the stories are those that the demo's data were made to tell.
"""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import screenproof as sp
from screenproof.jobs.starter import new_job
from screenproof.questions.sources import open_press
from tests.demo.pages import copy_of_the_demo, run
from tests.ink_scenes import write_shop
from tests.started_jobs import changed

PAGE_WORDS = {"pass": "passes", "fail": "fails", "undecided": "undecided", "not judged": "not judged"}


@dataclass(frozen=True)
class Told:
    """A job that was run: its exit code, result.json, what the terminal printed, and the page."""

    code: int
    result: dict[str, Any]
    printed: str
    page: str

    @property
    def statuses(self) -> dict[str, str]:
        return {sample["name"]: sample["status"] for sample in self.result["samples"]}

    def lead(self) -> str:
        """The page's lead without its marks."""
        (lead,) = re.findall(r'<p class="lead">(.*?)</p>', self.page, re.DOTALL)
        return plain(lead)

    def entries(self) -> dict[str, str]:
        """The verdict that stands beside each sample's name on the page, without what people will make of it."""
        found = re.findall(
            r'<h3><span class="number">\d+</span> <bdi>([^<]*)</bdi></h3>\s*<span class="verdict [^"]*">([^<]*)<',
            self.page,
        )
        return {plain(name): plain(words).removesuffix(", argued about") for name, words in found}


def plain(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", "", text)).replace("\N{NO-BREAK SPACE}", " ")


def told(folder: Path, job: str, out: str) -> Told:
    """A job as it is run from the terminal in ``folder``, with what it wrote into ``out``."""
    done = run(f"screenproof run {job}", folder)
    assert done.returncode in (0, 1), done.stderr
    result = json.loads((folder / out / "result.json").read_text(encoding="utf-8"))
    page = (folder / out / "index.html").read_text(encoding="utf-8")
    return Told(done.returncode, result, done.stdout, page)


def assert_alike(told: Told) -> None:
    """The first sentence, the verdict of each sample and their counts are the same at all three places."""
    first = told.result["summary"]["first"]
    assert first and first in told.printed.splitlines()
    assert told.lead().startswith(first)
    assert told.entries() == {name: PAGE_WORDS[status] for name, status in told.statuses.items()}
    counts = {status: count for status, count in told.result["summary"]["counts"].items() if count}
    assert counts == Counter(told.statuses.values())
    assert told.code == (told.result["summary"]["status"] == "fail")


@pytest.fixture(scope="module")
def packaging() -> Told:
    return told(copy_of_the_demo(), "profiles_demo/packaging.toml", "profiles_demo/out/packaging")


def test_packaging_is_told_alike_in_the_result_on_the_terminal_and_on_the_page(packaging):
    assert_alike(packaging)
    assert packaging.result["summary"]["first"].startswith("Of 19 colours 9 pass, 6 fail (")
    assert Counter(packaging.statuses.values()) == {"pass": 9, "fail": 6, "undecided": 4}


@pytest.mark.parametrize(
    ("name", "status", "kind"),
    [
        ("Tea leaf green, spot", "fail", "approval"),
        ("Harbour teal, spot", "fail", "pair_shift"),
        ("Harbour teal, process build", "fail", "pair_shift"),
        ("Slate grey, spot", "undecided", "approval"),
    ],
)
def test_packaging_a_colour_that_passes_alone_has_the_verdict_of_its_approval_or_pair(
    packaging, name, status, kind
):
    sample = next(one for one in packaging.result["samples"] if one["name"] == name)
    alone = [*sample["verdicts"], *(one for on in sample["on"] for one in on["verdicts"])]
    assert alone and {one["status"] for one in alone} == {"pass"}
    assert sample["status"] == status and packaging.entries()[name] == PAGE_WORDS[status]
    (finding,) = [
        one
        for one in packaging.result["findings"]
        if name in one["subject"] and one["judged"] is not None and one["judged"]["status"] == status
    ]
    assert finding["kind"] == kind and finding["says"] in packaging.printed.splitlines()
    assert f"  next: {finding['do']}" in packaging.printed.splitlines()


def started(tmp_path: Path, limits: str, *swaps: tuple[str, str]) -> Told:
    """The starter's job with these limits alone."""
    job = new_job(tmp_path / "job")[0]
    changed(job, ("match = 1.0\nexcess = 8.0\napproval = 4.0\n", limits), *swaps)
    return told(job.parent, "job.toml", "out")


def test_a_job_of_which_only_a_pair_was_judged_does_not_say_that_the_rest_passes(tmp_path):
    found = started(tmp_path, "pair_shift = 9.0\n")
    assert_alike(found)
    assert found.result["pairs"][0]["status"] == found.result["summary"]["status"] == "pass"
    assert found.result["summary"]["first"] == "Of 9 colours 2 pass, 7 were not judged (only pairs were)."
    assert {name for name, status in found.statuses.items() if status == "pass"} == {"Slate", "Slate, mixed"}


def test_a_job_of_which_only_an_approval_was_judged_and_is_undecided_says_so(tmp_path):
    file = 'file = "colours.csv"\n'
    found = started(tmp_path, "approval = 1.3\n", (file, f'{file}instrument = "production"\n'))
    assert_alike(found)
    verdict = found.result["approvals"][0]["verdict"]
    # Nearer to the limit than the doubt of its reading: on neither side for sure.
    assert verdict["low"] < verdict["limit"] < verdict["high"] and verdict["status"] == "undecided"
    assert (found.result["summary"]["status"], found.code) == ("undecided", 0)
    first = "Of 9 colours 1 is undecided (Plum), 8 were not judged (only approvals were)."
    assert found.result["summary"]["first"] == first
    assert "Undecided whether Plum is the approved colour" in found.printed


PRESS_JOB = """version = 1
title = "One colour on one press"

[[samples]]
file = "neon.csv"

[[displays]]
name = "srgb"
standard = "srgb"

[[presses]]
name = "shop"
file = "press.csv"
samples = ["neon"]

[tolerances.house]
printable = {limit!r}
"""


def test_a_job_of_which_only_what_can_be_printed_was_judged_and_is_undecided_says_so(tmp_path):
    write_shop(tmp_path)
    colours = "# light: D50\n# observer: cie1931\nname,L,a,b\nneon,80,-60,40\ngrey,60,0,0\n"
    (tmp_path / "neon.csv").write_text(colours, encoding="utf-8")
    press = tmp_path / "press.csv"
    # Nearer to the limit than the press misses by on patches that its fit did not see.
    excess = sp.printable(press, tmp_path / "neon.csv").excess[0]
    limit = float(excess) + 0.3 * open_press(str(press)).held_out.mean
    (tmp_path / "job.toml").write_text(PRESS_JOB.format(limit=limit), encoding="utf-8")
    found = told(tmp_path, "job.toml", "out")
    assert_alike(found)
    assert found.statuses == {"neon": "undecided", "grey": "not judged"}
    assert (found.result["summary"]["status"], found.code) == ("undecided", 0)
    first = "Of 2 colours 1 is undecided (neon), 1 was not judged (only colours on presses were)."
    assert found.result["summary"]["first"] == first
    assert "Undecided whether" in found.printed
