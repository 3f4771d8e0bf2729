"""The command brightener: its table, JSON and figure, and what it is told wrong."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.spectra import light, planck

NM = np.arange(380, 731, 10)


def sheet(path, filter_name, rows, nm=NM):
    lines = [f"# condition: {filter_name}", "name," + ",".join(f"{at} nm" for at in nm)]
    lines += [f"{name}," + ",".join(f"{value:.5f}" for value in curve) for name, curve in rows.items()]
    path.write_text("\n".join(lines) + "\n")


@pytest.fixture
def readings(tmp_path, monkeypatch):
    """Two invented stocks, one with much brightener, excited around 370 nm, and one with hardly any."""
    monkeypatch.chdir(tmp_path)
    day, lamp = light("D50").at(NM), planck(NM, 2848.0, 1.435e-2)
    excited = np.arange(300.0, 421.0)
    curve = np.exp(-0.5 * ((excited - 370) / 18) ** 2)
    of_day, of_lamp = curve @ light("D50").at(excited), curve @ planck(excited, 2848.0, 1.435e-2)
    emitted = np.exp(-0.5 * ((NM - 440) / 22.0) ** 2) * (NM >= 400) / of_day * 75.0
    files = {"m1.csv": ("M1", of_day, day), "m2.csv": ("M2", 0.0, day), "m0.csv": ("M0", of_lamp, lamp)}
    for file, (name, excites, power) in files.items():
        rows = {
            stock: grey + amount * emitted * excites / power
            for stock, grey, amount in (("bright stock", 0.86, 0.2), ("plain stock", 0.8, 0.004))
        }
        sheet(tmp_path / file, name, rows)
    return tmp_path


COMMAND = ["brightener", "m1.csv", "--uv-excluded", "m2.csv"]


def test_what_the_brightener_does(cli, readings):
    done = cli(*COMMAND, "--to", "A,LED-B3,FL11", "--without-uv", "LED-B3")
    assert done.code == 0 and done.err == ""
    strongest, weakest = (line for line in done.out.splitlines() if line[:12] in ("bright stock", "plain stock "))
    assert "0.1" in strongest and "not known" in strongest and "not known" in weakest
    assert "in FL11: cannot be known: FL11 is known from 380 nm only" in done.out
    assert "no ultraviolet below 380 nm, as stated" in done.out
    assert "taken for granted: excitation within 300 to 420 nm" in done.out
    told = json.loads(cli(*COMMAND, "--to", "A,LED-B3,D65", "--without-uv", "LED-B3", "--json").out)
    assert told["schema"] == "screenproof-brightener/2"
    bright, plain = told["samples"]
    by_light = {at["light"]: at for at in bright["lights"]}
    # Without ultraviolet the brightener is gone: about as far from M1 as M2 is, and yellower.
    assert by_light["LED-B3"]["low"] > 0.6 * bright["de00"] and "yellower" in by_light["LED-B3"]["words"]
    assert by_light["D65"]["high"] > by_light["D65"]["low"] + 1.0
    assert "no brightener to speak of" in plain["words"]
    assert max(at["high"] for at in plain["lights"]) < 1.0


def test_a_field_is_taken_as_a_standard_observer_and_said(cli, readings):
    by_field, by_name = (json.loads(cli(*COMMAND, "--observer", who, "--json").out) for who in ("10", "cie1964"))
    taken = {"kind": "assumed", "what": "observer '10' is taken as cie1964 (10 degrees)"}
    assert by_field["observer"] == "cie1964" and by_field["notes"].count(taken) == 1
    assert by_field | {"notes": by_name["notes"]} == by_name


def test_what_is_stated_narrows_the_range(cli, readings):
    def width(*options):
        told = json.loads(cli(*COMMAND, "--to", "A", "--only", "bright stock", *options, "--json").out)
        (one,) = told["samples"]
        return one["lights"][0]["high"] - one["lights"][0]["low"]

    plain = width()
    lamp = ("--incandescent", "m0.csv")
    assert width(*lamp) < plain
    assert width("--near", "0.2", "--m1-uv", "0.05") < 0.95 * plain
    assert (
        width("--excitation", "340,410", "--near", "0.2", "--m1-uv", "0.05", *lamp, "--m0-uv", "0.1") < 0.5 * plain
    )


def test_a_lamp_of_ultraviolet_has_its_caution_and_a_figure_is_drawn(cli, readings):
    nm = np.arange(300, 701, 5)
    power = np.exp(-0.5 * ((nm - 368) / 9.0) ** 2) + 0.01 * np.exp(-0.5 * ((nm - 440) / 60.0) ** 2)
    rows = "\n".join(f"{at},{value:.6g}" for at, value in zip(nm, power, strict=True))
    (readings / "black.csv").write_text("nm,power\n" + rows + "\n")
    done = cli(*COMMAND, "--to", "black.csv,D65", "--plot", "figure.svg", "--viewing", "D65")
    assert done.code == 0, done.err
    assert "caution: " in done.out and "hurt eyes and skin" in done.out and "local rules" in done.out
    drawn = (readings / "figure.svg").read_text()
    assert "bright stock, D65" in drawn and "CIEDE2000 from the colour as read with M1" in drawn
    again = cli(*COMMAND, "--plot", "figure.svg")
    assert again.code == 2 and "--force" in again.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["m2.csv", "--uv-excluded", "m1.csv"], "measured with M2, and is used as M1"),
        (["m1.csv", "--uv-excluded", "m2.csv", "--to", "D65", "--without-uv", "D65"], "D65 is known by its own"),
        (["m1.csv", "--uv-excluded", "m2.csv", "--incandescent", "m1.csv"], "measured with M1, and is used as M0"),
        (
            ["m1.csv", "--uv-excluded", "other.csv"],
            "no sample of the readings without ultraviolet (M2) has the name",
        ),
        (["m1.csv", "--uv-excluded", "coarse.csv"], "the same bands from 420 to 700 nm"),
        (["m1.csv", "--uv-excluded", "lab.csv"], "the brightener shows only in the curves"),
        (["m1.csv", "--uv-excluded", "above.csv"], "higher than with it (M1)"),
        (["m1.csv", "--uv-excluded", "nowhere.csv"], "there is no file 'nowhere.csv'"),
        (
            [*COMMAND[1:], "--to", "D65", "--without-uv", "FL11"],
            "stated to have no ultraviolet and is not asked for",
        ),
        ([*COMMAND[1:], "--to", "D65,D65"], "D65 stands twice"),
        ([*COMMAND[1:], "--observer", "1964-10"], "the observer '1964-10' is called cie1964 now"),
        ([*COMMAND[1:], "--excitation", "320"], "--excitation: a list of 1 entries is of the wrong length"),
        ([*COMMAND[1:], "--excitation", "420,320"], "--excitation: an excitation from 420 to 320 nm"),
        ([*COMMAND[1:], "--near", "0.9"], "--near: the number 0.9 is out of range"),
        ([*COMMAND[1:], "--m0-uv", "0.1"], "there are no M0 readings to use it for"),
        ([*COMMAND[1:], "--only", "bright"], "no sample is called 'bright'"),
    ],
)
def test_what_it_is_told_wrong(cli, readings, options, said):
    curve = np.full(NM.size, 0.8)
    sheet(readings / "other.csv", "M2", {"another": curve})
    sheet(readings / "above.csv", "M2", {"bright stock": curve + 0.4})
    coarse = np.arange(380, 741, 20)
    sheet(readings / "coarse.csv", "M2", {"bright stock": np.full(coarse.size, 0.8)}, coarse)
    (readings / "lab.csv").write_text("name,L*,a*,b*\nbright stock,95,0,-5\n")
    done = cli("brightener", *options)
    assert done.code == 2 and done.out == ""
    assert said in done.err, done.err
