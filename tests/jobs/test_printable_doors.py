"""Whether a colour can be printed: the same press, colour and limit get the same verdict at every door."""

from __future__ import annotations

import json

import pytest

import screenproof as sp
from screenproof.cli import main
from screenproof.jobs import load_job, run_job
from screenproof.questions.presses import misses
from screenproof.questions.sources import open_press
from tests.ink_scenes import write_shop

NEON = "# light: D50\n# observer: cie1931\nname,L,a,b\nneon,80,-60,40\ngrey,60,0,0\n"
JOB = """version = 1
title = "One colour"

[[samples]]
file = "neon.csv"
{reads}

[[displays]]
name = "srgb"
standard = "srgb"

[[presses]]
name = "shop"
file = "press.csv"
samples = ["neon", "grey"]

[tolerances.house]
printable = {limit!r}
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_shop(tmp_path)
    (tmp_path / "neon.csv").write_text(NEON, encoding="utf-8")
    return tmp_path


def at_three_doors(folder, capsys, limit, instrument=None):
    """The judged figures of neon and grey by the command, by a press of a job, and from Python."""
    more = [] if instrument is None else ["--instrument", instrument]
    with pytest.raises(SystemExit) as left:
        main(["printable", "press.csv", "neon.csv", "--limit", repr(limit), "--json", *more])
    told = json.loads(capsys.readouterr().out)
    by_command = [one["judged"][0] for one in told["samples"]]
    reads = "" if instrument is None else f'instrument = "{instrument}"'
    (folder / "job.toml").write_text(JOB.format(limit=limit, reads=reads), encoding="utf-8")
    by_job = [one.verdict for one in run_job(load_job(folder / "job.toml")).reach]
    by_python = sp.printable("press.csv", "neon.csv", limit=limit, instrument=instrument).judged
    assert left.value.code == (1 if "fail" in {one["status"] for one in by_command} else 0)
    return by_command, by_job, by_python


@pytest.mark.parametrize("instrument", [None, "production"])
@pytest.mark.parametrize(
    ("above", "status"), [(-6.0, "fail"), (-0.3, "undecided"), (0.3, "undecided"), (6.0, "pass")]
)
def test_command_job_and_python_agree(shop, capsys, above, status, instrument):
    """The limit is so many times above the figure as the press misses by, and as its reading is uncertain by."""
    excess = sp.printable("press.csv", "neon.csv").excess[0]
    unit = open_press("press.csv").held_out.mean + (0.0 if instrument is None else 0.5)
    by_command, by_job, by_python = at_three_doors(shop, capsys, float(excess + above * unit), instrument)
    for command, job, python in zip(by_command, by_job, by_python, strict=True):
        for key in ("what", "status", "figure", "low", "high", "uncertainty", "light", "observer"):
            assert command[key] == getattr(job, key) == getattr(python, key), key
    neon, grey = by_python
    assert neon.status == status and neon.figure == pytest.approx(excess)
    # What is printable is 0 away, exactly, however doubtful its reading is.
    assert (grey.status, grey.figure, grey.low, grey.high) == ("pass", 0.0, None, None)


def test_what_only_the_press_leaves_open_is_printed_and_measured(shop, capsys):
    excess = float(sp.printable("press.csv", "neon.csv").excess[0])
    answer = sp.printable("press.csv", "neon.csv", limit=excess + 0.3 * open_press("press.csv").held_out.mean)
    words = answer.judged[0].remedy.words
    tints = " ".join(f"{name} {100 * share:.0f}" for name, share in answer.tints[0].items())
    assert f"print and measure these tints ({tints} %)" in words
    assert any(source.kind == "press" and "kept out of its fit" in source.words for source in answer.doubt.sources)
    assert words in answer.text() and next(iter(answer.findings())).judged.status == "undecided"


def test_a_press_misses_by_its_mean_and_where_nothing_was_measured_by_its_largest(shop):
    press = open_press("press.csv")
    tints = [[0.4, 0.3, 0.2, 0.1], [0.0, 0.0, 0.0, 0.0]]
    assert misses(press, tints) == pytest.approx([press.held_out.mean] * 2)
    # On estimated overprints all of a tint's share counts with the largest difference held out.
    from dataclasses import replace

    import numpy as np

    from screenproof.subtractive.press import ESTIMATED

    guessed = replace(press, support=np.full_like(press.support, ESTIMATED))
    assert misses(guessed, tints) == pytest.approx([press.held_out.max] * 2)
    assert misses(replace(press, held_out=None), tints) is None


def test_a_job_says_that_the_press_is_in_the_doubt(shop):
    (shop / "job.toml").write_text(JOB.format(limit=2.0, reads=""), encoding="utf-8")
    doubt = run_job(load_job(shop / "job.toml")).doubt
    assert [source.kind for source in doubt.sources] == ["samples", "press"]
    assert any("how far a press misses is in the doubt" in note for note in doubt.notes)


def test_the_old_name_of_the_limit_is_answered_at_its_line(shop, capsys):
    text = JOB.format(limit=2.0, reads="").replace("printable = 2.0", "reach = 2.0")
    (shop / "job.toml").write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit) as left:
        main(["run", "job.toml"])
    said = capsys.readouterr()
    line = text.splitlines().index("reach = 2.0") + 1
    assert left.value.code == 2 and said.out == ""
    assert f"job.toml, line {line}, tolerances.house.reach: reach is called printable now" in said.err
    assert "printable = 2.0" in said.err
