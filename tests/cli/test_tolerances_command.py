"""The command ``tolerances``, and presets and whole-set limits in a job file."""

from __future__ import annotations

import json

import pytest

from screenproof.jobs import load_job
from screenproof.jobs.starter import new_job
from screenproof.proof.tolerance import METRICS

CAMERA = "wavelength,red,green,blue\n" + "".join(
    f"{nm},{max(0, 1 - abs(nm - 600) / 99):.3f},{max(0, 1 - abs(nm - 540) / 99):.3f},"
    f"{max(0, 1 - abs(nm - 450) / 99):.3f}\n"
    for nm in range(400, 701, 10)
)


@pytest.fixture
def job(tmp_path):
    return new_job(tmp_path / "job")[0]


def with_set(job, text: str, more: str = "") -> None:
    """The starter's job with its tolerance set replaced by ``text``."""
    whole = job.read_text(encoding="utf-8")
    start = whole.index("[tolerances.")
    end = whole.find("\n[", start + 1)
    whole = whole[:start] + text + "\n" + more + ("" if end < 0 else whole[end:])
    job.write_text(whole, encoding="utf-8")


def test_all_presets_are_listed_with_their_sources(cli):
    done = cli("tolerances")
    assert done.code == 0
    assert "press-solids: solids of a press against their aims" in done.out and "CIEDE2000: pair 3.5" in done.out
    assert "from memory" in done.out and "common practice, no source" in done.out
    answer = json.loads(cli("tolerances", "contract-proof", "dyed-cloth", "--json").out)
    assert answer["schema"] == "screenproof-tolerances/1"
    proof, cloth = answer["presets"]
    assert proof["limits"] == {"mean": 2.5, "worst": 5.0} and proof["metric"] in METRICS
    assert cloth["metric_label"] == "CMC(2:1)" and "ISO 105-J03" in cloth["source"]


def test_a_name_that_is_none(cli):
    done = cli("tolerances", "press solids", "nothing")
    assert done.code == 2
    assert "did you mean 'press-solids'?" in done.err and "no preset is called 'nothing'" in done.err


def test_help_has_an_example(cli):
    done = cli("tolerances", "--help")
    assert done.code == 0 and "Example: screenproof tolerances" in done.out and "--json" in done.out


def test_a_job_takes_a_preset(job):
    with_set(job, '[tolerances.bookmark]\npreset = "contract-proof"\nmatch = 1.0')
    house = load_job(job).tolerances["bookmark"]
    assert (house.mean, house.worst, house.match, house.preset) == (2.5, 5.0, 1.0, "contract-proof")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('preset = "contract-prof"', ("tolerances.bookmark.preset", "did you mean 'contract-proof'?")),
        ('preset = "contract-proof"\nmetric = "deab"', ("tolerances.bookmark.metric", "are in CIEDE2000")),
        ("match = 1\np95 = 4\nworst = 3", ("tolerances.bookmark.p95", "can never decide")),
    ],
)
def test_mistakes_name_their_line(job, cli, text, said):
    with_set(job, f"[tolerances.bookmark]\n{text}")
    done = cli("run", job)
    line = next(
        i
        for i, row in enumerate(job.read_text(encoding="utf-8").splitlines(), 1)
        if row.startswith(said[0].rsplit(".", 1)[1] + " =") and row in text
    )
    assert done.code == 2 and f"line {line}, {said[0]}" in done.err and said[1] in done.err


def test_cam16_ucs_judges_no_camera(job, cli):
    (job.parent / "cam.csv").write_text(CAMERA, encoding="utf-8")
    camera = '\n[[observers]]\nname = "eye of glass"\nfile = "cam.csv"\n'
    with_set(job, '[tolerances.bookmark]\nmetric = "cam16ucs"\nlight_shift = 2', camera)
    done = cli("run", job)
    assert done.code == 2 and "tolerances.bookmark.metric" in done.err
    assert "CAM16-UCS says how an eye sees, and eye of glass is a camera" in done.err
    assert "judge light_shift by de00" in done.err


def test_a_camera_is_judged_by_another_metric(job):
    (job.parent / "cam.csv").write_text(CAMERA, encoding="utf-8")
    camera = '\n[[observers]]\nname = "eye of glass"\nfile = "cam.csv"\n'
    with_set(job, '[tolerances.bookmark]\nmetric = "de00"\nlight_shift = 2', camera)
    assert [observer.kind for observer in load_job(job).observers].count("camera") == 1
