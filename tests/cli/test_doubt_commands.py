"""Doubt on the command line: ``--instrument``, ``--readings``, ``--screen-instrument``, ``--risk``."""

# ruff: noqa: E501  (a table is read best with one row on a line)
from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.formats import read_samples
from screenproof.proof import Viewing, match
from screenproof.spectra import instrument_class, light, observer

DEMO = Path(__file__).parents[2] / "profiles_demo" / "data"
READ = DEMO / "wide_readings.csv"
CLASS = ("--instrument", "production")


def answered(done, code=0) -> dict:
    """The JSON of a command, which is all that it may print."""
    assert done.code == code and done.err == "", done.err
    return json.loads(done.out)


def only_verdict(entry: dict) -> dict:
    (verdict,) = entry["judged"]
    return verdict


def test_undecided_is_no_failure_and_names_the_readings_that_decide(cli, colours):
    """By the tool's own advice: undecided with 1 reading, decided with those that it asks for."""
    text = colours.read_text(encoding="utf-8")
    colours.write_text(f"# repeatability: 0.004\n{text}", encoding="utf-8")
    call = ("shift", colours, "--from", "D65", "--to", "A", "--only", "Lantern red")
    plain = only_verdict(answered(cli(*call, "--limit", 50, "--json"))["samples"][0])
    limit = 0.4 * plain["figure"] + 0.6 * plain["high"]
    entry = answered(cli(*call, "--limit", limit, "--json"))["samples"][0]
    verdict = only_verdict(entry)
    assert entry["status"] == "undecided" and verdict["low"] < verdict["figure"] < limit < verdict["high"]
    ((thing, extra),) = verdict["remedy"]["extra"]
    assert thing == "sample" and extra >= 1
    more = answered(cli(*call, "--limit", limit, "--readings", 1 + extra, "--json"))["samples"][0]
    assert more["status"] == "pass" and only_verdict(more)["remedy"] is None
    done = cli(*call, "--limit", limit)
    assert done.code == 0 and "none fails, 1 is undecided" in done.out
    times = "once more" if extra == 1 else f"{extra} more times"
    assert f"Measure Lantern red {times}: that decides it with a chance of" in done.out
    assert "in brackets: the 95 % interval" in done.out
    assert "(file): one reading repeats within 0.004 in reflectance factor" in done.out
    below = cli(*call, "--limit", 2 * plain["low"] - plain["high"])
    assert below.code == 1 and "1 fails." in below.out


@pytest.mark.parametrize("known", [(), CLASS])
@pytest.mark.parametrize("limit", [0.01, 30])
def test_a_fluorescent_sample_read_once_neither_passes_nor_fails(cli, known, limit):
    """The boards of the demo state that they fluoresce: without M2 no figure in another light is known."""
    board, led = DEMO / "board_m1.csv", DEMO / "shop_led.csv"
    call = ("shift", board, "--from", "D50", "--to", led)
    for more in ((), ("--against", board), ("--display", READ)):
        # Beside the screen the light of the reading is judged too, and fails the smaller limit.
        fails = int("--display" in more and limit < 1)
        answer = answered(cli(*call, *more, "--limit", limit, *known, "--json"), fails)
        assert any("without ultraviolet" in note.get("mend", "") for note in answer["notes"])
        for entry in answer.get("pairs") or answer["samples"]:
            there = [verdict for verdict in entry["judged"] if verdict["light"] == "shop LED"]
            assert [verdict["status"] for verdict in there] == ["undecided"]
            assert "(M2)" in there[0]["remedy"]["words"] and there[0]["low"] is None
    done = cli(*call, "--limit", limit, *known)
    assert done.code == 0 and "none fails, 2 are undecided" in done.out and "command brightener" in done.out
    # The light of the reading itself is known, and without a limit the note is there all the same.
    assert "read the same samples without ultraviolet (M2)" in cli(*call).out


def test_the_interval_is_that_of_simulated_readings(cli, colours):
    """Readings of one teal by an instrument of the class, drawn by its stated standard uncertainties, and the nearest
    colour looked for anew for each: the standard deviation of 600 is known to 3 %."""
    call = ("gamut", colours, "--display", "srgb", "--only", "Sea teal", "--instrument", "basic", "--limit", 50)
    verdict = only_verdict(answered(cli(*call, "--json"))["samples"][0])
    teal = read_samples(colours).select([4])
    known = instrument_class("basic").reflectance
    nm = teal.grid.wavelengths
    random = np.random.default_rng(11)
    together = np.exp(-np.abs(nm[:, None] - nm[None]) / known.correlation_nm)
    noise = random.multivariate_normal(np.zeros(nm.size), known.repeatability**2 * together, 600)
    scale, zero, moved = random.standard_normal((3, 600, 1))
    curve, slope = teal.reflectance, np.gradient(teal.reflectance[0], nm)
    drawn = curve * (1 + known.scale * scale) + known.zero * zero + known.wavelength_nm * moved * slope + noise
    names = tuple(f"reading {i}" for i in range(600))
    read = replace(teal, names=names, reflectance=np.clip(drawn, 0, None), doubt=None, notes=())
    figures = match(read, standard_display("srgb"), Viewing(light("D50"), observer("cie1931"))).excess
    assert figures.std() == pytest.approx(verdict["uncertainty"] / 1.96, rel=0.1)
    inside = np.mean((figures > verdict["low"]) & (figures < verdict["high"]))
    assert 0.92 <= inside <= 0.98


def test_a_match_carries_the_doubt_of_the_sample_and_of_the_screen(cli, colours):
    call = ("match", colours, "--display", READ, "--limit", 1)
    none = answered(cli(*call, *CLASS, "--json"))
    both = answered(cli(*call, *CLASS, "--screen-instrument", "basic", "--json"))
    assert [source["kind"] for source in both["doubt"]["sources"]] == ["samples", "display"]
    assert both["doubt"]["risk"] == 0.05 and both["doubt"]["coverage"] == 0.95
    for one, other in zip(none["samples"], both["samples"], strict=True):
        mine, wide = only_verdict(one), only_verdict(other)
        assert wide["uncertainty"] > mine["uncertainty"]
        assert (mine["what"], mine["limit"], mine["light"], mine["observer"]) == ("match", 1.0, "D50", "cie1931")
        assert mine["figure"] == pytest.approx(one["residual"], abs=1e-9)
    out = cli(*call, *CLASS).out
    for entry in none["samples"]:
        verdict = only_verdict(entry)
        assert f"{verdict['figure']:.2f} [{verdict['low']:.2f}, {verdict['high']:.2f}]" in out


def test_a_higher_risk_decides_more(cli, colours):
    def undecided(risk):
        call = ("gamut", colours, "--display", "srgb", "--instrument", "basic", "--limit", limit, "--risk", risk)
        found = json.loads(cli(*call, "--json").out)
        assert found["doubt"]["risk"] == risk
        return {entry["name"] for entry in found["samples"] if entry["status"] == "undecided"}

    plain = answered(cli("gamut", colours, "--display", "srgb", "--instrument", "basic", "--limit", 90, "--json"))
    teal = only_verdict(next(entry for entry in plain["samples"] if entry["name"] == "Sea teal"))
    limit = 0.2 * teal["figure"] + 0.8 * teal["high"]
    careful, bold = undecided(0.001), undecided(0.25)
    assert bold < careful


def test_pairs_are_judged_with_the_doubt_of_both(cli, colours, tmp_path):
    second = tmp_path / "second.csv"
    second.write_text(colours.read_text(encoding="utf-8"), encoding="utf-8")
    call = ("shift", colours, "--from", "D65", "--to", "A,FL2", *CLASS, "--limit", 5, "--against")
    found = answered(cli(*call, second, "--json"))
    same = answered(cli(*call, colours, "--json"))
    assert [source["name"] for source in found["doubt"]["sources"]] == [str(colours), str(second)]
    for pair, one in zip(found["pairs"], same["pairs"], strict=True):
        assert [(v["light"], v["what"]) for v in pair["judged"]] == [("A", "pair_shift"), ("FL2", "pair_shift")]
        assert pair["status"] == "pass"
        # What one instrument gets wrong of both cancels between them.
        assert one["judged"][0]["uncertainty"] < pair["judged"][0]["uncertainty"]


def test_the_screen_shift_is_judged_in_every_light_for_every_observer(cli, colours):
    call = ("shift", colours, "--display", READ, "--from", "D50", "--to", "A", "--observer", "cie1931,age=60", *CLASS)
    found = answered(cli(*call, "--limit", 60, "--json"))
    for entry in found["samples"]:
        places = [(one["light"], one["observer"]) for one in entry["shift"]]
        assert [(v["light"], v["observer"]) for v in entry["judged"]] == places
        for verdict, plain in zip(entry["judged"], entry["shift"], strict=True):
            assert verdict["figure"] == pytest.approx(plain["de00"], abs=1e-9)
            assert verdict["what"] == "observer_shift" and verdict["status"] == "pass"


def test_what_a_file_says_of_its_readings_needs_no_option(cli, colours):
    call = ("match", colours, "--display", "srgb", "--limit", 1, "--json")
    assert "doubt" not in answered(cli(*call), code=1)
    text = colours.read_text(encoding="utf-8")
    colours.write_text(f"# repeatability: 0.004\n{text}", encoding="utf-8")
    found = answered(cli(*call), code=1)
    assert found["doubt"]["sources"][0]["stated"] == "file"
    assert all(only_verdict(entry)["uncertainty"] > 0 for entry in found["samples"])
    moved = ("shift", colours, "--to", "FL11", "--only", "Lantern red", "--limit", 50, "--json")
    one, four = (only_verdict(answered(cli(*moved, *more))["samples"][0]) for more in ((), ("--readings", 4)))
    assert four["uncertainty"] == pytest.approx(one["uncertainty"] / 2, rel=0.02)


MATCH = ("match", "colours.csv", "--display", "srgb")
MISTAKES = [
    ((*MATCH, "--instrument", "production"), ["--instrument: there is no limit to decide by", "add --limit"]),
    ((*MATCH, "--risk", "0.1", "--readings", "3"), ["--risk: there is no limit", "--readings: there is no limit"]),
    ((*MATCH, "--limit", "2", "--instrument", "producton"), ["--instrument: no class of instruments for objects is called 'producton'", "did you mean 'production'?"]),
    ((*MATCH, "--limit", "2", "--readings", "3"), ["--readings: 3 readings of each are stated, but not how well one of them repeats", "add --instrument and its class"]),
    ((*MATCH, "--limit", "2", "--instrument", "basic", "--readings", "0"), ["--readings: the number 0 is out of range", "1 to 10000"]),
    ((*MATCH, "--limit", "2", "--readings", "some"), ["--readings", "whole number"]),
    ((*MATCH, "--limit", "2", "--risk", "0.6"), ["--risk: the number 0.6 is out of range", "0.05 is usual"]),
    ((*MATCH, "--limit", "2", "--risk", "nan"), ["--risk: the number nan is out of range"]),
    ((*MATCH, "--limit", "2", "--screen-instrument", "basic"), ["--screen-instrument: sRGB is no screen that an instrument has read"]),
    (("match", "colours.csv", "--display", str(READ), "--limit", "2", "--screen-instrument", "eye"), ["--screen-instrument: no class of instruments for screens is called 'eye'", "reference, laboratory, production, basic"]),
    (("shift", "colours.csv", "--limit", "2", "--screen-instrument", "basic"), ["--screen-instrument: no screen takes part", "add --display"]),
    (("shift", "colours.csv", "--against", "colours.csv", "--limit", "2", "--screen-instrument", "basic"), ["no screen takes part"]),
]


@pytest.mark.parametrize(("arguments", "says"), MISTAKES, ids=lambda value: " ".join(map(str, value))[-50:])
def test_a_mistake_about_doubt_ends_with_2_and_words_that_help(cli, colours, monkeypatch, arguments, says):
    monkeypatch.chdir(colours.parent)
    done = cli(*arguments)
    assert done.code == 2, done.out
    assert done.out == "" and "Traceback" not in done.err
    for piece in says:
        assert piece in done.err, f"{piece!r} is not in:\n{done.err}"


def test_a_file_without_any_match_close_to_zero_is_judged(cli):
    """The paints of the demo: read with the best class, none is so close that its interval is from 0."""
    for kind in ("reference", "laboratory", "production", "basic"):
        call = ("match", DEMO / "set_paints.csv", "--display", "srgb", "--instrument", kind, "--limit", 2, "--json")
        answer = answered(cli(*call), 1)
        verdicts = [only_verdict(entry) for entry in answer["samples"]]
        assert all(verdict["low"] <= verdict["figure"] <= verdict["high"] for verdict in verdicts)
        assert all(verdict["low"] > 0 for verdict in verdicts) == (kind == "reference")
