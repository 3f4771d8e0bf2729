"""Mistakes on the command line: exit code 2, nothing on standard output, words that help, no traceback."""

from __future__ import annotations

import subprocess
import sys

import pytest

MISTAKES = [
    (["match", "nowhere.csv", "--display", "srgb"], ["there is no file 'nowhere.csv'"]),
    (["match", "colors.csv", "--display", "srgb"], ["'colors.csv'", "did you mean 'colours.csv'?"]),
    (["match", ".", "--display", "srgb"], ["is a folder"]),
    (["match", "colours.csv", "--display", "sgrb"], ["'sgrb'", "did you mean 'srgb'?", "p3-d65"]),
    (["match", "colours.csv", "--display", "office.icc"], ["there is no file 'office.icc'"]),
    (["match", "colours.csv", "--display", "srgb", "--light", "D51"], ["D51", "D50"]),
    (["match", "colours.csv", "--display", "srgb", "--light", "lamp.csv"], ["there is no file 'lamp.csv'"]),
    (["match", "colours.csv", "--display", "srgb", "--observer", "1932-2"], ["1932-2", "did you mean 'cie1931'?"]),
    (["match", "colours.csv", "--display", "srgb", "--observer", "1931-2"], ["'1931-2' is called cie1931 now"]),
    (["gamut", "colours.csv", "--display", "srgb", "--observer", "1964-10"], ["'1964-10' is called cie1964 now"]),
    (["shift", "colours.csv", "--observer", "cie1931,2015-10"], ["'2015-10' is called cie2015-10 now"]),
    (["shift", "colours.csv", "--observer", "cie1964,10"], ["--observer", "cie1964 stands twice"]),
    (["observers", "2015-2"], ["'2015-2' is called cie2015-2 now"]),
    (["match", "colours.csv", "--display", "srgb", "--basis", "wite"], ["--basis", "did you mean 'white'?"]),
    (["match", "colours.csv", "--display", "srgb", "--adaptation", "cat02"], ["--adaptation", "cat16, bradford"]),
    (["match", "colours.csv", "--display", "srgb", "--surround", "dusk"], ["--surround", "average, dim, dark"]),
    (["match", "colours.csv", "--display", "srgb", "--bits", "9"], ["bit depth of 9", "8, 10, 12, 16"]),
    (["match", "colours.csv", "--display", "srgb", "--bits", "eight"], ["--bits: 'eight'", "a whole number"]),
    (["match", "colours.csv", "--display", "srgb", "--population", "1e3"], ["--population: '1e3'", "such"]),
    (["match", "colours.csv", "--display", "srgb", "--population=banana"], ["--population: 'banana'", "whole"]),
    (["match", "colours.csv", "--display", "srgb", "--limit", "banana"], ["--limit: 'banana'", "such as 0.5"]),
    (["shift", "colours.csv", "--limit", "3", "--risk", "5%"], ["--risk: '5%' is no number", "without a unit"]),
    (["room", "--display", "srgb", "--room", "500lx"], ["--room: '500lx' is no number", "without a unit"]),
    (["display", "check", "x.csv", "--off", "dark"], ["--off: 'dark' is no number", "expected: a number"]),
    (["match", "colours.csv", "--display", "srgb", "--limit", "-1"], ["--limit"]),
    (["match", "colours.csv", "--display", "srgb", "--limit", "nan"], ["--limit"]),
    (["match", "colours.csv", "--display", "srgb", "--only", "Mos"], ["'Mos'", "Moss"]),
    (["match", "colours.csv", "--display", "srgb", "--object-white", "Stok"], ["--object-white", "'Stock'"]),
    (["match", "colours.csv", "--display", "srgb", "--curve", "gama"], ["gama"]),
    (["match", "colours.csv", "--display", "srgb", "--luminance", "-5"], ["--luminance", "above 0"]),
    (["match", "colours.csv", "--display", "srgb", "--black", "90"], ["black", "80"]),
    (["match", "colours.csv", "--display", "srgb", "--room", "-1"], ["room illuminance", "0 lx or more"]),
    (["match", "colours.csv", "--display", "srgb", "--room-light", "A"], ["--room-light", "add --room"]),
    (
        ["match", "colours.csv", "--display", "srgb", "--basis", "absolute", "--illuminance", "0"],
        ["illuminance of 0 lx"],
    ),
    (["match", "colours.csv", "--display", "srgb", "--illuminance", "500"], ["--illuminance", "no effect"]),
    (["gamut", "colours.csv", "--display", "srgb", "--surround", "dark"], ["--surround", "basis appearance"]),
    (["match", "colours.csv", "--display", "srgb", "--curve", "gamma-1"], ["gamma-1"]),
    (["shift", "colours.csv", "--correction", "additive"], ["--correction", "--against"]),
    (["match", "colours.csv", "--display", "srgb", "--plot", "figure.pdf"], [".pdf", ".png or .svg"]),
    (["match", "colours.csv", "--display", "srgb", "--plot", "no/where.png"], ["no folder"]),
    (["match", "colours.csv", "--dispaly", "srgb"], ["--dispaly", "--display"]),
    (["match"], ["SAMPLES"]),
    (["matsch", "colours.csv"], ["matsch", "match"]),
    (["gamut", "lab.csv", "--display", "srgb", "--light", "A"], ["lab.csv", "D50", "reflectance curves"]),
    (["shift", "lab.csv", "--to", "A"], ["lab.csv", "reflectance curve"]),
    (["shift", "colours.csv", "--to", "A,A"], ["--to", "A stands twice"]),
    (["shift", "colours.csv", "--to", ","], ["--to", "no name"]),
    (["shift", "colours.csv", "--to", "A,FL99,D5"], ["FL99", "D5"]),
    (["shift", "colours.csv", "--against", "lab.csv"], ["without a partner"]),
    (["shift", "colours.csv", "--against", "colours.csv", "--correction", "both"], ["both", "multiplicative"]),
    (["shift", "colours.csv", "--against", "colours.csv", "--display", "srgb"], ["--against", "two different"]),
    (["inspect", "nowhere"], ["there is no file 'nowhere'"]),
    (["inspect", "lab.csv", "--plot", "lab.png"], ["there is no figure for"]),
    (["match", "colours.csv", "--display", "broken.icc"], ["broken.icc"]),
    (["display", "show", "oled"], ["'oled'", "rgb-oled"]),
    (["display", "fit", "nowhere.csv"], ["there is no file 'nowhere.csv'"]),
    (["lights", "D50", "X99"], ["X99"]),
    (["run", "."], ["is a folder"]),
    (["run", "colours.csv"], ["not valid TOML"]),
    (["new", "."], ["not empty"]),
]


@pytest.fixture
def here(colours, monkeypatch):
    """A folder with a good file, a file of Lab only, and a profile cut short."""
    folder = colours.parent
    text = "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\nlone,50,10,10\n"
    (folder / "lab.csv").write_text(text, encoding="utf-8")
    (folder / "broken.icc").write_bytes(b"\x00" * 36 + b"acsp" + b"\x00" * 20)
    monkeypatch.chdir(folder)
    return folder


@pytest.mark.parametrize(("arguments", "says"), MISTAKES, ids=lambda value: " ".join(value)[:60])
@pytest.mark.parametrize("form", ["text", "json"])
def test_a_mistake_ends_with_2_and_words_that_help(cli, here, arguments, says, form):
    before = {path.name: path.read_bytes() for path in here.iterdir()}
    done = cli(*arguments, *(["--json"] if form == "json" else []))
    assert done.code == 2, done.out
    assert done.out == ""
    assert "Traceback" not in done.err
    for piece in says:
        assert piece.lower() in done.err.lower(), f"{piece!r} is not in:\n{done.err}"
    assert {path.name: path.read_bytes() for path in here.iterdir()} == before


def test_several_mistakes_are_told_at_once(cli, here):
    done = cli("match", "colours.csv", "--display", "srgb", "--basis", "wite", "--adaptation", "cat2")
    assert "--basis" in done.err and "--adaptation" in done.err


def test_a_reader_that_goes_away_is_no_error(here):
    """``screenproof lights | true``: no traceback, and no code of a failed tolerance."""
    script = f"'{sys.executable}' -m screenproof lights --json 2>errors.txt | true; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, cwd=here, check=True)
    assert done.stdout.strip() == "0"
    assert (here / "errors.txt").read_text(encoding="utf-8") == ""
