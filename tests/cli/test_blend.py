"""The command ``blend``: its keys, its numbers, its exit codes, its words, its figure, its mistakes."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.formats import write_samples
from tests.additive.blend_papers import CURVES, papers

PARTS = "Blue=0.5,Yellow=0.5"
FOUR = "Vermilion,Leaf green,Blue,Black"


@pytest.fixture
def file(tmp_path, monkeypatch):
    """The invented papers as CSV, one of them with a comma in its name, in a folder of its own."""
    from dataclasses import replace

    every = papers()
    names = tuple("Black, matt" if name == "Black" else name for name in every.names)
    write_samples(replace(every, names=names, source=""), tmp_path / "papers.csv")
    write_samples(papers("Olive"), tmp_path / "olive.json")
    text = "# light: D50\n# observer: cie1931\nname,L,a,b\nPale,70,5,40\nDeep,30,-5,-40\nGrey,50,0,0\n"
    (tmp_path / "lab.csv").write_text(text, encoding="utf-8")
    camera = "# kind: camera\nwavelength,R,G,B\n" + "".join(
        f"{nm},{np.exp(-(((nm - 600) / 40) ** 2)):.4f},{np.exp(-(((nm - 540) / 40) ** 2)):.4f},"
        f"{np.exp(-(((nm - 460) / 40) ** 2)):.4f}\n"
        for nm in range(400, 701, 10)
    )
    (tmp_path / "camera.csv").write_text(camera, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return "papers.csv"


def answered(done) -> dict:
    assert done.err == ""
    return json.loads(done.out)


def test_the_check_is_the_average_of_the_curves_and_the_disc_the_same_grey(cli, file):
    check = answered(cli("blend", file, "--parts", PARTS, "--pattern", "check", "--size", "2mm", "--json"))
    disc = answered(cli("blend", file, "--parts", "Blue=180deg,Yellow=180deg", "--pattern", "sectors", "--json"))
    curve = np.array(check["blend"]["reflectance"]["values"])
    np.testing.assert_allclose(curve, 0.5 * (CURVES["Blue"] + CURVES["Yellow"]), atol=1e-6)
    assert check["blend"]["reflectance"]["wavelengths"][::30] == [400.0, 700.0]
    assert check["blend"] == disc["blend"]
    assert check["blend"]["hue"] == "grey"
    assert check["blend"]["lch"][1] < 0.01
    assert check["disc"] is None and disc["disc"]["flicker"] is None


def test_the_keys_that_others_script_against(cli, file):
    call = (
        "--parts",
        PARTS,
        "--pattern",
        "check",
        "--size",
        "2mm",
        "--distance",
        "3m",
        "--light",
        "D50",
        "--json",
    )
    done = cli("blend", file, *call)
    assert done.code == 0
    answer = answered(done)
    assert answer["schema"] == "screenproof-blend/1"
    assert {"file", "light", "observer", "parts", "blend", "match", "pattern", "fusion", "visibility", "disc",
            "limit", "judged", "status", "notes"} <= set(answer)  # fmt: skip
    assert [part["name"] for part in answer["parts"]] == ["Blue", "Yellow"]
    for part in answer["parts"]:
        assert part["area"] == 0.5 and part["degrees"] == 180.0 and len(part["xyz"]) == len(part["lab"]) == 3
    assert answer["pattern"]["size_mm"] == 2.0
    assert answer["fusion"]["feature_mm"] == pytest.approx(2 * 3437.7467, abs=1e-3)
    assert answer["fusion"]["half_period_mm"] == pytest.approx(np.sqrt(2) * 3437.7467, abs=1e-3)
    seen = answer["visibility"]
    assert seen["distance_mm"] == 3000.0
    assert seen["cycles_per_degree"] == pytest.approx(3000 * np.tan(np.radians(1)) / (2 * np.sqrt(2)))
    assert 0 < seen["de00"]["mean"] < seen["de00"]["p95"] <= seen["de00"]["max"] < 5
    assert seen["unblurred_de00"]["mean"] > 20
    assert answer["status"] is None and answer["judged"] == []


def test_far_away_nothing_is_seen_and_near_all_of_it(cli, file):
    def share(distance):
        call = ("--parts", PARTS, "--pattern", "stripes", "--size", "1cm", "--distance", distance, "--json")
        return answered(cli("blend", file, *call))["visibility"]["share"]

    assert share("10km") < 1e-9
    assert share("0.1mm") == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("parts", "areas"),
    [
        ("Blue=1/3,Yellow=2/3", (1 / 3, 2 / 3)),
        ("Blue=25%,Yellow=75%", (0.25, 0.75)),
        ("Blue=90deg,Yellow=270°", (0.25, 0.75)),
        ("Blue=0.3, Yellow=rest", (0.3, 0.7)),
        ("Black, matt=0.2,Blue=0.8", (0.2, 0.8)),
    ],
)
def test_areas_may_be_written_in_several_ways(cli, file, parts, areas):
    found = answered(cli("blend", file, "--parts", parts, "--json"))["parts"]
    np.testing.assert_allclose([part["area"] for part in found], areas, atol=1e-12)


def test_parts_may_be_given_one_by_one(cli, file):
    one = cli("blend", file, "--parts", "Black, matt=0.2", "--parts", "Blue=0.8", "--json").out
    assert one == cli("blend", file, "--parts", "Black, matt=0.2,Blue=0.8", "--json").out


def test_sector_angles_solve_the_equations(cli, file):
    call = ("--match", "Olive", "--of", "Vermilion,Leaf green,Blue,Black, matt", "--json")
    answer = answered(cli("blend", file, *call))
    match, parts = answer["match"], answer["parts"]
    rows = np.vstack([np.array([part["xyz"] for part in parts]).T, np.ones(4)])
    solved = np.linalg.solve(rows, [*match["target_xyz"], 1.0])
    np.testing.assert_allclose([part["degrees"] for part in parts], 360.0 * solved, atol=1e-7)
    assert match["exact"] and match["reason"] is None and match["de00"] < 1e-6
    assert answer["pattern"]["kind"] == "sectors"
    cautions = [note["what"] for note in answer["notes"] if note["kind"] == "caution"]
    assert len(cautions) == 2 and "epilepsy" in " ".join(cautions) and "fingers" in " ".join(cautions)


def test_a_target_from_another_file_and_its_match_in_other_lights(cli, file):
    of = ("--of", "Vermilion,Leaf green,Blue,Black, matt")
    call = ("--match", "Olive", "--target-file", "olive.json", *of, "--to", "A,FL11", "--json")
    match = answered(cli("blend", file, *call))["match"]
    assert match["exact"]
    assert [item["light"] for item in match["shift"]] == ["A", "FL11"]
    assert all(item["de00"] > 2 for item in match["shift"])


def test_what_cannot_be_matched_is_said_and_judged(cli, file):
    call = ("--match", "Signal orange", "--of", "Vermilion,Yellow,White,Black, matt")
    done = cli("blend", file, *call)
    assert done.code == 0  # no limit, nothing judged
    assert "is not matched" in done.out and "nearest blend" in done.out
    answer = answered(cli("blend", file, *call, "--json"))
    assert answer["match"]["exact"] is False and answer["match"]["de00"] > 1
    strict = cli("blend", file, *call, "--limit", "1")
    assert strict.code == 1 and "Limit 1 CIEDE2000, match" in strict.out
    assert cli("blend", file, *call, "--limit", "50").code == 0


def test_a_limit_judges_what_is_left_of_a_pattern(cli, file):
    call = ("--parts", PARTS, "--pattern", "check", "--size", "2mm", "--limit", "1", "--distance")
    near, far = cli("blend", file, *call, "1m"), cli("blend", file, *call, "6m")
    assert (near.code, far.code) == (1, 0)
    assert "visibility" in near.out and "fail" in near.out and "pass" in far.out


def test_the_vanishing_distance_is_where_a_limit_of_one_is_met(cli, file):
    call = ("--parts", PARTS, "--pattern", "dots", "--size", "2mm", "--json")
    gone = answered(cli("blend", file, *call))["fusion"]["vanishes_from_mm"]
    for factor, left in ((0.99, True), (1.01, False)):
        seen = answered(cli("blend", file, *call, "--distance", f"{gone * factor:.3f}mm"))["visibility"]
        assert (seen["de00"]["p95"] > 1.0) is left


def test_flicker_from_speed_and_sectors(cli, file):
    call = ("--parts", PARTS, "--rpm", "1500", "--sectors", "4", "--illuminance", "1000")
    answer = answered(cli("blend", file, *call, "--json"))
    found = answer["disc"]["flicker"]
    assert found["frequency_hz"] == 50.0 and found["repeats"] == 2 and found["flashes"] and not found["fused"]
    luminous = [part["xyz"][1] for part in answer["parts"]]
    np.testing.assert_allclose(found["luminances"], [1000 * y / 100 / np.pi for y in sorted(luminous)])
    out = cli("blend", file, *call).out
    assert "50 Hz" in out and "1800 rev/min" in out and "BT.1702" in out and "caution" in out
    fast = cli("blend", file, "--parts", PARTS, "--rpm", "4000").out
    assert "fast enough" in fast and "caution" in fast


def test_a_ruling_is_a_period(cli, file):
    call = ("--parts", "Blue=0.2,Yellow=0.8", "--pattern", "dots", "--size", "60/cm", "--angle", "45", "--json")
    answer = answered(cli("blend", file, *call))
    assert answer["pattern"]["size_mm"] == pytest.approx(1 / 6)
    assert answer["pattern"]["angle"] == pytest.approx(45.0)
    assert answer["fusion"]["feature_mm"] == pytest.approx(573.0, abs=0.05)
    assert answer["fusion"]["half_period_mm"] == pytest.approx(286.5, abs=0.05)
    assert [note["kind"] for note in answer["notes"]] == ["odd"]  # light spreads in paper


def test_an_angle_that_was_not_quite_taken_is_said(cli, file):
    call = ("--parts", PARTS, "--pattern", "dots", "--size", "1mm", "--angle", "15", "--json")
    answer = answered(cli("blend", file, *call))
    assert answer["pattern"]["angle"] == pytest.approx(15.95, abs=0.01)
    assert "15.95" in answer["notes"][0]["what"]


def test_lab_alone_blends_in_its_own_light(cli, file):
    answer = answered(cli("blend", "lab.csv", "--parts", "Pale=0.5,Deep=0.5", "--json"))
    assert answer["blend"]["reflectance"] is None
    mean = np.mean([part["xyz"] for part in answer["parts"]], axis=0)
    np.testing.assert_allclose(answer["blend"]["xyz"], mean)


def test_another_eye_is_assumed_to_blur_alike_and_a_camera_averages_only(cli, file):
    call = ("--parts", PARTS, "--pattern", "check", "--size", "2mm", "--json", "--observer")
    other = answered(cli("blend", file, *call, "cie1964", "--distance", "3m"))
    assert any("cie1964" in note["what"] and note["kind"] == "assumed" for note in other["notes"])
    camera = answered(cli("blend", file, *call, "camera.csv"))
    assert camera["fusion"]["vanishes_from_mm"] is None and camera["fusion"]["feature_mm"] > 6000


@pytest.mark.parametrize(
    ("suffix", "call"),
    [
        (".png", ("--parts", PARTS, "--pattern", "check", "--size", "2mm", "--distance", "3m")),
        (".svg", ("--parts", "Blue=0.3,Yellow=0.7", "--pattern", "dots", "--size", "1mm")),
        (".png", ("--match", "Olive", "--of", "Vermilion,Leaf green,Blue,Black, matt", "--size", "100mm")),
        (".svg", ("--parts", PARTS)),
    ],
    ids=["check", "dots", "disc", "colours"],
)
def test_a_figure_is_drawn_beside_the_same_answer(cli, file, tmp_path, call, suffix):
    target = tmp_path / f"blend{suffix}"
    drawn = cli("blend", file, *call, "--plot", target, "--json")
    assert drawn.code == 0 and drawn.out == cli("blend", file, *call, "--json").out
    data = target.read_bytes()
    assert data.startswith(b"\x89PNG" if suffix == ".png" else b"<?xml")
    assert len(data) > 5000
    again = cli("blend", file, *call, "--plot", target)
    assert again.code == 2 and "not overwritten" in again.err and target.read_bytes() == data
    forced = cli("blend", file, *call, "--plot", target, "--force")
    assert forced.code == 0 and target.read_bytes() == data  # the same answer, the same bytes


def test_the_picture_is_the_pattern_and_at_a_distance_its_mean(file):
    from screenproof.jobs.blend_plots import _srgb, _tiled
    from screenproof.jobs.blends import BlendWords, scene_of

    scene = scene_of(file, BlendWords(parts=(PARTS,), pattern="check", size="2mm"))
    near = _srgb(_tiled(scene.pattern.image(scene.xyz), scene), scene)
    far = _srgb(_tiled(scene.seen.blurred(1e6), scene), scene)
    assert near.std(axis=(0, 1)).max() > 0.1 and far.std(axis=(0, 1)).max() < 1e-9
    assert np.ptp(far.mean(axis=(0, 1))) < 0.01  # grey


BASE = ["papers.csv", "--parts", PARTS]
MISTAKES = [
    (["papers.csv"], ["nothing to blend", "--parts", "--match"]),
    (["papers.csv", "--parts", "Blue=0.5,Yellow=0.4"], ["sum to 0.9", "0.1 has no part"]),
    (["papers.csv", "--parts", "Blue=50,Yellow=50"], ["sum to 100", "divide percentages by 100"]),
    (["papers.csv", "--parts", "Blue=50%,Yellow=60%"], ["sum", "110"]),
    (["papers.csv", "--parts", "Blue=180deg,Yellow=90deg"], ["sum to 270 degrees", "90 degrees has no part"]),
    (["papers.csv", "--parts", "Blue=1.5,Yellow=-0.5"], ["area of -0.5", "Yellow"]),
    (["papers.csv", "--parts", "Blu=0.5,Yelow=0.5"], ["'Blu'", "Blue", "'Yelow'", "Yellow"]),
    (["papers.csv", "--parts", "Blue=half,Yellow=0.5"], ["'half'", "0.5, 1/3, 50%"]),
    (["papers.csv", "--parts", "Blue=1/0,Yellow=0.5"], ["'1/0'"]),
    (["papers.csv", "--parts", "Blue,Yellow"], ["'Blue,Yellow' is no part", "NAME=AREA"]),
    (["papers.csv", "--parts", "Blue=50%,Yellow=0.5"], ["percent and fractions", "one unit"]),
    (["papers.csv", "--parts", "Blue=0.5,Blue=0.5"], ["Blue stands twice"]),
    (["papers.csv", "--parts", "Blue=rest,Yellow=rest"], ["rest of Blue and Yellow", "one rest"]),
    (["papers.csv", "--parts", "Blue=1.2,Yellow=rest"], ["nothing is left for Yellow"]),
    (["papers.csv", "--parts", "Blue=1"], ["one part is no blend"]),
    (["papers.csv", "--parts", ""], ["no part is given"]),
    ([*BASE, "--match", "Olive", "--of", "Blue,Yellow"], ["--match", "give one of the two"]),
    (["papers.csv", "--match", "Olive"], ["nothing to match it with", "--of"]),
    ([*BASE, "--of", "Blue,Yellow"], ["--of", "add --match"]),
    (["papers.csv", "--match", "Oliv", "--of", FOUR], ["'Oliv'", "Olive"]),
    (["papers.csv", "--match", "Olive", "--of", "Blue,Yello"], ["'Yello'", "Yellow"]),
    (["papers.csv", "--match", "Olive", "--of", "Blue,Olive"], ["the target and one of the papers"]),
    (["papers.csv", "--match", "Olive", "--of", "Blue,Yellow,Blue"], ["Blue stands twice"]),
    (["papers.csv", "--match", "Olive", "--of", "Blue"], ["1 paper(s)", "two or more"]),
    (["papers.csv", "--match", "Olive", "--of", ","], ["no name is given"]),
    (["papers.csv", "--match", "Olive", "--of", "Blue,Yellow", "--target-file", "none.csv"], ["'none.csv'"]),
    ([*BASE, "--target-file", "olive.json"], ["--target-file", "add --match"]),
    ([*BASE, "--to", "A"], ["--to", "add --match"]),
    (["lab.csv", "--match", "Grey", "--of", "Pale,Deep", "--to", "A"], ["--to", "curve"]),
    (["lab.csv", "--parts", "Pale=0.5,Deep=0.5", "--light", "A"], ["lab.csv", "D50"]),
    ([*BASE, "--pattern", "chek"], ["'chek'", "did you mean 'check'?"]),
    ([*BASE, "--size", "2"], ["2 has no unit", "2mm"]),
    ([*BASE, "--size", "two mm"], ["'two mm' is no length"]),
    ([*BASE, "--size", "2parsec"], ["'parsec'", "mm, cm"]),
    ([*BASE, "--size", "2MM"], ["did you mean 'mm'?"]),
    ([*BASE, "--size", "0mm"], ["0mm", "above 0"]),
    ([*BASE, "--size=-2mm"], ["-2mm", "above 0"]),
    ([*BASE, "--size", "2mm", "--distance", "0m"], ["--distance", "0m", "above 0"]),
    ([*BASE, "--size", "2mm", "--distance", "3"], ["--distance", "3 has no unit"]),
    ([*BASE, "--size", "2mm", "--distance", "3/m"], ["'3/m' is no length"]),
    ([*BASE, "--size", "2mm", "--distance", "1e999m"], ["no length"]),
    ([*BASE, "--distance", "3m"], ["--distance", "add --size"]),
    (["papers.csv", "--parts", "Blue=0.123,Yellow=rest", "--pattern", "check"], ["no whole squares", "stripes"]),
    (
        ["papers.csv", "--parts", "Blue=0.2,Yellow=0.3,White=0.5", "--pattern", "dots"],
        ["dots of 3 parts", "the ground"],
    ),
    ([*BASE, "--angle", "45"], ["--angle", "--pattern dots"]),
    ([*BASE, "--pattern", "check", "--rpm", "100"], ["--rpm", "does not spin"]),
    ([*BASE, "--rpm", "0"], ["0 revolutions"]),
    ([*BASE, "--rpm", "1000", "--sectors", "5"], ["5 sectors for 2 parts", "multiple of 2"]),
    ([*BASE, "--rpm", "1000", "--illuminance", "-1"], ["illuminance of -1"]),
    ([*BASE, "--illuminance", "500"], ["--illuminance", "add --rpm"]),
    ([*BASE, "--limit", "1"], ["--limit", "nothing is judged"]),
    ([*BASE, "--size", "2mm", "--distance", "3m", "--limit", "-1"], ["limit of -1"]),
    ([*BASE, "--size", "2mm", "--distance", "3m", "--observer", "camera.csv"], ["camera", "an eye"]),
    ([*BASE, "--light", "D51"], ["D51"]),
    ([*BASE, "--observer", "1932"], ["1932"]),
    ([*BASE, "--plot", "blend.pdf"], [".pdf", ".png or .svg"]),
    (["paper.csv", "--parts", PARTS], ["'paper.csv'", "did you mean 'papers.csv'?"]),
]


@pytest.mark.parametrize(("arguments", "says"), MISTAKES, ids=lambda value: " ".join(value)[:50])
def test_a_mistake_ends_with_2_and_words_that_help(cli, file, tmp_path, arguments, says):
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    done = cli("blend", *arguments)
    assert done.code == 2, done.out
    assert done.out == "" and "Traceback" not in done.err
    for piece in says:
        assert piece.lower() in done.err.lower(), f"{piece!r} is not in:\n{done.err}"
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_several_mistakes_are_told_at_once(cli, file):
    done = cli("blend", file, "--parts", PARTS, "--distance", "3m", "--to", "A", "--pattern", "chek")
    for piece in ("--distance", "--to", "--pattern"):
        assert piece in done.err
