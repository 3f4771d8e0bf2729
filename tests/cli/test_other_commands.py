"""The commands ``run``, ``new``, ``inspect``, ``lights``, ``observers``, ``display show``."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
import tifffile

from screenproof import __version__


def test_a_new_job_runs_at_once_and_writes_everything(cli, tmp_path):
    made = cli("new", tmp_path / "first")
    assert made.code == 0 and "screenproof run" in made.out
    done = cli("run", tmp_path / "first" / "job.toml")
    assert done.code == 0 and done.err == ""
    out = tmp_path / "first" / "out"
    assert {path.name for path in out.iterdir()} == {
        ".screenproof.json",
        "drive_values.csv",
        "index.html",
        "patches",
        "result.json",
    }
    rows = list(csv.DictReader(io.StringIO((out / "drive_values.csv").read_text(encoding="utf-8"))))
    assert len(rows) == 9
    for row in rows:
        patch = out / row["patch"]
        assert patch.suffix == ".tif" and patch.stat().st_size > 300
    page = (out / "index.html").read_text(encoding="utf-8")
    assert "First job: the colours of an invented bookmark" in page and "Sea teal" in page


def test_a_patch_holds_the_judged_code_and_its_displays_profile(cli, job):
    assert cli("run", job).code == 0
    out = job.parent / "out"
    result = json.loads((out / "result.json").read_text(encoding="utf-8"))
    rows = list(csv.DictReader(io.StringIO((out / "drive_values.csv").read_text(encoding="utf-8"))))
    for sample, row in zip(result["samples"], rows, strict=True):
        with tifffile.TiffFile(out / row["patch"]) as file:
            page = file.pages[0]
            profile, pixels = bytes(page.tags[34675].value), page.asarray()
        assert profile[36:40] == b"acsp"
        assert (pixels == pixels[0, 0]).all()
        assert [int(value) for value in pixels[0, 0]] == [code * 257 for code in sample["on"][0]["code"]]


def test_running_again_replaces_the_output_and_keeps_what_a_person_added(cli, job):
    assert cli("run", job).code == 0
    assert cli("run", job).code == 0
    note = job.parent / "out" / "my notes.txt"
    note.write_text("mine", encoding="utf-8")
    done = cli("run", job)
    assert done.code == 2 and "my notes.txt" in done.err and note.read_text(encoding="utf-8") == "mine"


def test_run_with_json_prints_the_result_that_it_wrote(cli, job):
    done = cli("run", job, "--json")
    assert done.code == 0 and done.err == ""
    assert json.loads(done.out) == json.loads((job.parent / "out" / "result.json").read_text(encoding="utf-8"))


def test_a_failed_tolerance_gives_exit_code_1_and_still_writes(cli, job):
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("approval = 4.0", "approval = 4.0\npair_shift = 2.0"), encoding="utf-8")
    done = cli("run", job)
    assert done.code == 1 and "do not match in every light (the two slates)" in done.out
    assert (job.parent / "out" / "index.html").exists()


def test_png_patches_and_no_page(cli, job):
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace('patches = "tiff"', 'patches = "png"\npage = false'), encoding="utf-8")
    done = cli("run", job)
    assert done.code == 0 and "result.json" in done.out
    out = job.parent / "out"
    assert not (out / "index.html").exists()
    patches = list(out.rglob("*.png"))
    assert len(patches) == 9 and all(patch.read_bytes().startswith(b"\x89PNG") for patch in patches)


def test_the_job_may_be_run_from_anywhere(cli, job, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert cli("run", "job/job.toml").code == 0
    first = (job.parent / "out" / "drive_values.csv").read_bytes()
    monkeypatch.chdir(job.parent)
    assert cli("run", "job.toml").code == 0
    assert (job.parent / "out" / "drive_values.csv").read_bytes() == first
    assert not (tmp_path / "out").exists()


def test_new_leaves_a_folder_with_anything_in_it_alone(cli, tmp_path):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    done = cli("new", tmp_path)
    assert done.code == 2 and "not empty" in done.err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
    assert cli("new", tmp_path / "mine.txt").code == 2


def test_new_tells_scripts_what_it_wrote(cli, tmp_path):
    answer = json.loads(cli("new", tmp_path / "x", "--json").out)
    assert Path(answer["job"]).exists() and len(answer["files"]) == 2


def test_the_starters_samples_say_that_they_are_invented(cli, job):
    assert "Invented" in (job.parent / "colours.csv").read_text(encoding="utf-8").splitlines()[0]
    done = cli("inspect", job.parent / "colours.csv", "--json")
    answer = json.loads(done.out)
    assert answer["kind"] == "spectral samples" and answer["notes"] == []
    assert answer["summary"]["samples"] == 9


def test_inspect_reads_a_whole_job(cli, job):
    answer = json.loads(cli("inspect", job, "--json").out)
    assert answer["kind"] == "job"
    assert answer["summary"]["samples"] == {"bookmark": 9} and answer["summary"]["pairs"] == 1
    assert not (job.parent / "out").exists()
    shown = cli("inspect", job)
    assert shown.code == 0 and "office (standard)" in shown.out


def test_inspect_says_what_is_odd(cli, job):
    colours = job.parent / "colours.csv"
    text = colours.read_text(encoding="utf-8")
    colours.write_text(text.replace("\nStock,0.7", "\nStock,1.7"), encoding="utf-8")
    done = cli("inspect", colours)
    assert done.code == 0 and "odd: " in done.out


def test_lights_are_those_of_the_standards(cli):
    """White points of ASTM E308, Table 5, against the chromaticities that the command prints."""
    answer = json.loads(cli("lights", "--json").out)
    by_name = {light["name"]: light for light in answer["lights"]}
    assert {"A", "C", "D50", "D65", "FL2", "FL11", "LED-B3", "HP1", "ID65"} <= set(by_name)
    for name, x, z in (("A", 109.850, 35.585), ("D50", 96.422, 82.521), ("D65", 95.047, 108.883)):
        total = x + 100 + z
        assert by_name[name]["xy"] == pytest.approx([x / total, 100 / total], abs=2e-4)
    assert by_name["A"]["cct"] == pytest.approx(2856, abs=5)


def test_lights_by_name_by_temperature_and_from_a_file(cli, tmp_path):
    path = tmp_path / "lamp.csv"
    path.write_text("wavelength,power\n" + "".join(f"{nm},{nm / 400}\n" for nm in range(380, 781, 5)), "utf-8")
    answer = json.loads(cli("lights", "fl3.1", "D5000K", "P3200K", path, "--json").out)
    assert len(answer["lights"]) == 4
    assert answer["lights"][2]["cct"] == pytest.approx(3200, abs=3)
    done = cli("lights", "D5O", "P32OOK")
    assert done.code == 2 and done.err.count("no light is called") == 2


def test_observers(cli):
    answer = json.loads(cli("observers", "--json").out)
    assert [item["name"] for item in answer["observers"]] == ["cie1931", "cie1964", "cie2015-2", "cie2015-10"]
    assert "cie1964" in cli("observers").out


def test_a_field_is_told_as_the_observer_that_it_means(cli):
    answer = json.loads(cli("observers", "10", "2", "--json").out)
    assert [item["name"] for item in answer["observers"]] == ["cie1964", "cie1931"]
    said = ["observer '10' is taken as cie1964 (10 degrees)", "observer '2' is taken as cie1931 (2 degrees)"]
    assert [note["what"] for note in answer["notes"]] == said
    assert all(f"assumed: {words}" in cli("observers", "10", "2").out for words in said)


@pytest.mark.parametrize(
    ("name", "red", "green", "blue"),
    [
        # IEC 61966-2-1, SMPTE EG 432-1, ITU-R BT.2020-2, W3C CSS Color 4, IEC 61966-2-5.
        ("srgb", (0.640, 0.330), (0.300, 0.600), (0.150, 0.060)),
        ("p3-d65", (0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
        ("bt2020", (0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
        ("display-p3", (0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
        ("opRGB", (0.640, 0.330), (0.210, 0.710), (0.150, 0.060)),
    ],
)
def test_display_show_gives_the_primaries_of_the_standard(cli, name, red, green, blue):
    answer = json.loads(cli("display", "show", name, "--json").out)
    for channel, xy in (("red", red), ("green", green), ("blue", blue), ("white", (0.3127, 0.3290))):
        assert answer["xy"][channel] == pytest.approx(xy, abs=1e-9)
    assert answer["kind"] == "standard" and answer["spectral"] is False


def test_display_show_in_a_room_has_a_lower_contrast(cli):
    def contrast(*options: str) -> float:
        return json.loads(cli("display", "show", "srgb", "--black", "0.2", *options, "--json").out)["contrast"]

    assert contrast() == pytest.approx(400, rel=1e-9)
    # 500 lx on a screen that reflects 4 percent: 500 * 0.04 / pi = 6.37 cd/m2 on black and white alike.
    assert contrast("--room", "500") == pytest.approx((80 + 6.3662) / (0.2 + 6.3662), rel=1e-4)


def test_display_show_draws_a_spectral_display(cli, tmp_path):
    assert cli("display", "show", "quantum-dot-lcd", "--plot", tmp_path / "q.png").code == 0
    assert (tmp_path / "q.png").stat().st_size > 20000


def test_version(cli):
    assert cli("--version").out.strip() == f"screenproof {__version__}"


COMMANDS = [
    "run",
    "new",
    "match",
    "gamut",
    "shift",
    "inspect",
    "lights",
    "observers",
    "display fit",
    "display show",
]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example_and_json(cli, command):
    done = cli(*command.split(), "--help")
    assert done.code == 0
    assert f"Example: screenproof {command}" in done.out
    assert "--json" in done.out
    assert cli("--help").out.count(command.split()[0]) >= 1


def test_no_arguments_show_the_help(cli):
    done = cli()
    assert done.code in (0, 2) and "Commands:" in done.out + done.err
