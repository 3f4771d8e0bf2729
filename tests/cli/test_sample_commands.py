"""The commands ``match``, ``gamut`` and ``shift``: their keys, their exit codes, what they print."""

from __future__ import annotations

import json
import warnings
from pathlib import Path

import numpy as np
import pytest

MATCH = ("--display", "srgb", "--light", "D50", "--observer", "cie1931", "--basis", "white", "--bits", 8)


def answered(done) -> dict:
    """The JSON of a command, which is all that it may print."""
    assert done.err == ""
    return json.loads(done.out)


def test_match_gives_the_keys_that_others_script_against(cli, colours):
    done = cli("match", colours, *MATCH, "--json")
    assert done.code == 0
    samples = answered(done)["samples"]
    assert len(samples) == 9
    for sample in samples:
        assert {"name", "drive", "code", "in_gamut", "excess", "residual", "xyz", "lab"} <= set(sample)
        assert len(sample["drive"]) == 3 and all(0 <= value <= 1 for value in sample["drive"])
        assert all(isinstance(value, int) and 0 <= value <= 255 for value in sample["code"])
        assert (sample["excess"] == 0) == sample["in_gamut"]


def test_match_agrees_with_colour_science_to_half_a_code(cli, colours, colour):
    """XYZ by colour-science's E308 integration, its CAT16, its sRGB encoding: an independent way to the drive."""
    samples = answered(cli("match", colours, *MATCH, "--json"))["samples"]
    lines = [line for line in colours.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    nm = [float(cell) for cell in lines[0].split(",")[1:]]
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    d50 = colour.SDS_ILLUMINANTS["D50"]
    white = colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"])
    d65 = colour.xy_to_XYZ([0.3127, 0.3290])
    compared = 0
    for line, sample in zip(lines[1:], samples, strict=True):
        values = [float(cell) for cell in line.rsplit(",", 36)[1:]]
        spectrum = colour.SpectralDistribution(dict(zip(nm, values, strict=True)))
        with warnings.catch_warnings():
            # It tells that it brings the light to the observer's wavelengths.
            warnings.simplefilter("ignore")
            xyz = colour.sd_to_XYZ(spectrum, cmfs, d50) / 100
        adapted = colour.chromatic_adaptation(xyz, white, d65, transform="CAT16")
        drive = colour.XYZ_to_RGB(adapted, "sRGB", apply_cctf_encoding=True)
        if sample["in_gamut"]:
            assert np.abs(drive - sample["drive"]).max() * 255 < 0.5
            compared += 1
        else:
            assert drive.min() < 0 or drive.max() > 1
    assert compared >= 6


def test_a_limit_that_is_exceeded_gives_exit_code_1(cli, colours):
    strict = cli("match", colours, "--display", "srgb", "--limit", "0.5")
    assert strict.code == 1
    assert "fail" in strict.out
    generous = cli("match", colours, "--display", "srgb", "--limit", "20")
    assert generous.code == 0
    assert " fail" not in generous.out.split("Limit")[1].split("\n", 1)[1]


def test_the_table_has_trouble_first_and_names_the_situation(cli, colours):
    out = cli("match", colours, "--display", "srgb").out
    lines = out.splitlines()
    assert "sRGB" in lines[0] and "D50" in lines[0] and "cie1931" in lines[0]
    body = lines[lines.index(next(line for line in lines if line.startswith("---"))) + 1 :]
    shown = ["NO" in line.split() for line in body[:9]]
    assert shown == sorted(shown, reverse=True) and sum(shown) == 2
    assert body[0].startswith("Sea teal")
    assert "CIEDE2000" in out


@pytest.mark.parametrize("bits", [8, 10, 12, 16])
def test_codes_are_integers_of_the_asked_depth(cli, colours, bits):
    done = cli("match", colours, "--display", "p3-d65", "--bits", bits, "--only", "Slate", "--json")
    (sample,) = answered(done)["samples"]
    for drive, code in zip(sample["drive"], sample["code"], strict=True):
        assert abs(code - drive * (2**bits - 1)) <= 1.51


def test_room_light_raises_the_black_and_so_the_excess_of_a_dark_sample(cli, colours):
    def excess(*options) -> float:
        done = cli("gamut", colours, "--display", "srgb", "--only", "Night blue", *options, "--json")
        return answered(done)["samples"][0]["excess"]

    assert excess() == 0
    assert excess("--room", "500", "--screen-reflectance", "0.1") > 1


def test_the_stock_as_white_is_shown_as_the_displays_white(cli, colours):
    done = cli("match", colours, "--display", "srgb", "--object-white", "Stock", "--only", "Stock", "--json")
    (sample,) = answered(done)["samples"]
    assert sample["code"] == [255, 255, 255]


def test_gamut_tells_what_would_suffice(cli, colours):
    done = cli("gamut", colours, "--display", "srgb", "--json")
    assert done.code == 0
    by_name = {sample["name"]: sample for sample in answered(done)["samples"]}
    assert by_name["Sea teal"]["suffices"] == ["bt2020"]
    assert by_name["Slate"]["suffices"] == ["srgb", "bt709", "p3-d65", "bt2020"]
    assert by_name["Sea teal"]["direction"]
    assert cli("gamut", colours, "--display", "srgb", "--limit", "3").code == 1


def test_shift_of_pairs_gives_the_keys_that_others_script_against(cli, colours):
    call = ("--against", colours, "--from", "D65", "--to", "A,FL2,FL11", "--observer", "cie1964", "--json")
    done = cli("shift", colours, *call)
    assert done.code == 0
    pairs = answered(done)["pairs"]
    assert [pair["name"] for pair in pairs][0] == "Stock"
    for pair in pairs:
        assert [item["light"] for item in pair["shift"]] == ["A", "FL2", "FL11"]
        for item in pair["shift"]:
            assert {"light", "observer", "de00", "deab"} <= set(item)
            assert item["observer"] == "cie1964"
            assert item["de00"] == pytest.approx(0, abs=1e-9)


def two_files(folder: Path, left: str, right: str) -> tuple[Path, Path]:
    """Two files of one sample each out of the starter's, under the names 'a' and ``right``'s own."""
    from screenproof.jobs.starter import HEADER, INKS, reflectance, wavelengths

    head = HEADER + ",".join(["name", *(f"{nm:g}" for nm in wavelengths())])
    paths = []
    for stem, ink in (("left", left), ("right", right)):
        path = folder / f"{stem}.csv"
        row = ",".join([f'"{ink}"', *(f"{value:.6f}" for value in reflectance(INKS[ink]))])
        path.write_text(f"{head}\n{row}\n", encoding="utf-8")
        paths.append(path)
    return paths[0], paths[1]


def test_pairs_of_other_names_go_by_order_and_it_is_said(cli, tmp_path):
    left, right = two_files(tmp_path, "Slate", "Slate, mixed")
    done = cli("shift", left, "--against", right, "--from", "D50", "--to", "A", "--json")
    answer = answered(done)
    (pair,) = answer["pairs"]
    assert (pair["name"], pair["partner"]) == ("Slate", "Slate, mixed")
    assert pair["from"][0]["de00"] < 0.1 < 3 < pair["shift"][0]["de00"]
    assert any("order" in note["what"] for note in answer["notes"])
    assert cli("shift", left, "--against", right, "--from", "D50", "--to", "A", "--limit", "2").code == 1


def test_what_has_no_partner_is_listed(cli, colours, tmp_path):
    _, right = two_files(tmp_path, "Slate", "Plum")
    done = cli("shift", colours, "--against", right)
    assert done.code == 2
    assert "without a partner" in done.err and "'Moss'" in done.err and "'Plum'" not in done.err


def test_shift_alone_is_of_each_sample_and_a_grey_keeps_its_colour(cli, colours):
    answer = answered(cli("shift", colours, "--from", "D65", "--to", "A", "--json"))
    assert answer["kind"] == "light_shift"
    figures = {sample["name"]: sample["shift"][0]["de00"] for sample in answer["samples"]}
    assert figures["Slate"] < 0.1 < 5 < figures["Slate, mixed"]


def test_shift_against_a_display_keeps_the_screen_and_moves_the_object(cli, colours):
    eyes = ("--observer", "cie1931,cie2015-2")
    call = ("shift", colours, "--display", "rgb-oled", "--from", "D50", "--to", "A", *eyes)
    answer = answered(cli(*call, "--json"))
    mixed = next(sample for sample in answer["samples"] if sample["name"] == "Slate, mixed")
    moved = {(item["light"], item["observer"]): item["de00"] for item in mixed["shift"]}
    # The mixed slate was made to match under D50, and the screen match stays where it was.
    assert moved["D50", "cie1931"] < 0.5 < 5 < moved["A", "cie1931"]
    assert moved["D50", "cie2015-2"] > 0.5


TAKEN = {"kind": "assumed", "what": "observer '10' is taken as cie1964 (10 degrees)"}


@pytest.mark.parametrize(
    ("command", "more"),
    [
        ("match", ("--display", "rgb-oled")),
        ("gamut", ("--display", "rgb-oled")),
        ("shift", ()),
        ("shift", ("--display", "rgb-oled")),
        ("shift", ("--against", "colours.csv")),
        ("room", ("--display", "rgb-oled", "--room", "64")),
    ],
)
def test_a_field_is_taken_as_a_standard_observer_and_said(cli, colours, monkeypatch, command, more):
    monkeypatch.chdir(colours.parent)
    by_field = answered(cli(command, colours, *more, "--observer", "10", "--json"))
    by_name = answered(cli(command, colours, *more, "--observer", "cie1964", "--json"))
    assert by_field["notes"].count(TAKEN) == 1 and TAKEN not in by_name["notes"]
    by_field["notes"].remove(TAKEN)
    assert by_field == by_name
    text = cli(command, colours, *more, "--observer", "10").out
    assert f"assumed: {TAKEN['what']}" in text


@pytest.mark.parametrize("order", ["cie1931,cie2015-2", "cie2015-2,cie1931"])
def test_an_observer_for_whom_a_display_is_not_known_is_said_in_any_order(cli, colours, order):
    answer = answered(cli("shift", colours, "--display", "srgb", "--to", "A", "--observer", order, "--json"))
    assert {item["observer"] for sample in answer["samples"] for item in sample["shift"]} == {"cie1931"}
    assert any("not calculated" in note and "spectra" in note for note in map(str, answer["notes"]))


def test_a_file_that_is_no_figure_is_not_replaced_by_one(cli, colours, tmp_path):
    samples = tmp_path / "samples.svg"
    samples.write_bytes(Path(colours).read_bytes())
    done = cli("match", samples, "--display", "srgb", "--plot", samples, "--force")
    assert done.code == 2 and "no figure" in done.err
    assert samples.read_bytes() == Path(colours).read_bytes()


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("match", ["--display", "srgb"]),
        ("gamut", ["--display", "p3-d65"]),
        ("shift", ["--to", "A,FL11"]),
        ("inspect", []),
    ],
)
@pytest.mark.parametrize("suffix", [".png", ".svg"])
def test_a_plot_is_an_image_of_its_kind_and_never_replaces_a_file(
    cli, colours, tmp_path, command, options, suffix
):
    target = tmp_path / f"figure{suffix}"
    assert cli(command, colours, *options, "--plot", target).code == 0
    data = target.read_bytes()
    assert data.startswith(b"\x89PNG") if suffix == ".png" else b"<svg" in data
    again = cli(command, colours, *options, "--plot", target)
    assert again.code == 2 and "not overwritten" in again.err
    assert target.read_bytes() == data
    assert cli(command, colours, *options, "--plot", target, "--force").code == 0
    assert target.read_bytes() == data
