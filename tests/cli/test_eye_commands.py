"""Eyes and crowds on the command line: ``--observer age=60``, ``--population``, ``--aim``, and their mistakes."""

# ruff: noqa: E501  (a table is read best with one row on a line)
from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.additive import modelled_display
from screenproof.appearance import xyz_to_lab
from screenproof.formats import read_samples
from screenproof.proof import Viewing, crowd, match
from screenproof.spectra import light, observer, physiological_observer, population
from tests.ink_scenes import write_shop

SCREEN = ("--display", "rgb-oled")
PEOPLE = ("--population", 40)


def answered(done, code=0) -> dict:
    """The JSON of a command, which is all that it may print."""
    assert done.code == code and done.err == "", done.err
    return json.loads(done.out)


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_shop(tmp_path)


def test_observers_says_what_a_written_one_means(cli):
    one, two = answered(cli("observers", "deutan=6", "age=20.5", "--json"))["observers"]
    assert (one["name"], one["age"], one["field"]) == ("age=32,field=2,deutan=6", 32, 2)
    assert two["label"] == "20.5 years, 2 degrees"
    told = cli("observers", "age=60,field=10").out
    assert "60 years, 10 degrees" in told and "Besides" not in told
    assert "age=60,field=2" in cli("observers").out


@pytest.mark.parametrize("command", ["match", "gamut"])
def test_an_eye_by_age_is_the_viewing_observer(cli, colours, command):
    found = answered(cli(command, colours, *SCREEN, "--observer", "age=70", "--json"))
    assert found["observer"] == "age=70,field=2"
    samples, eye = read_samples(colours), physiological_observer(70)
    expected = samples.xyz([light("D50")], [eye])[:, 0, 0]
    lab = xyz_to_lab(expected, Viewing(light("D50"), eye).white)
    assert np.allclose([one["lab"] for one in found["samples"]], lab, atol=1e-9)


def test_shift_takes_a_list_of_eyes(cli, colours):
    found = answered(
        cli(
            "shift",
            colours,
            "--from",
            "D50",
            "--to",
            "A",
            "--observer",
            "cie1931,age=60,field=2,age=25,deutan=6",
            "--json",
        )
    )
    names = [item["observer"] for item in found["samples"][0]["shift"]]
    assert names == ["cie1931", "age=60,field=2", "age=25,field=2,deutan=6"]
    screen = answered(cli("shift", colours, *SCREEN, "--observer", "age=60,cie1931", "--json"))
    assert screen["observer"] == "age=60,field=2"


def test_the_other_commands_take_an_eye_by_age(cli, shop):
    cli("press", "fit", "press.csv", "-o", "press.json")
    eye = ("--observer", "age=60,field=10", "--json")
    for words in (
        ("overprint", "inks.csv", "--stock", "Board", "--inks", "Cyan,Yellow"),
        ("recipe", "find", "letdowns.csv", "target.csv"),
        ("recipe", "correct", "letdowns.csv", "--batch", "batch.csv", "--trial", "trial.csv", "target.csv"),
        ("printable", "press.json", "kraft.csv"),
        ("blend", "kraft.csv", "--parts", "Kraft=0.5,Cyan=0.5"),
    ):
        plain = cli(*words, "--json")
        assert plain.err == "", (words, plain.err)
        standard = json.loads(plain.out)
        done = cli(*words, *eye)
        assert done.code in (0, 1) and done.err == "", (words, done.err)
        found = json.loads(done.out)
        assert found["observer"] == "age=60,field=10"
        assert found != standard | {"observer": found["observer"]}, words


@pytest.mark.parametrize(
    "words",
    [
        ("overprint", "inks.csv", "--stock", "Board", "--inks", "Cyan,Yellow"),
        (
            "other-stock",
            "inks.csv",
            "--stock",
            "Board",
            "--onto",
            "Kraft",
            "--onto-file",
            "kraft.csv",
            "--ink",
            "Cyan",
        ),
        ("recipe", "find", "letdowns.csv", "target.csv"),
        ("recipe", "correct", "letdowns.csv", "--batch", "batch.csv", "--trial", "trial.csv", "target.csv"),
        ("printable", "press.csv", "kraft.csv"),
        ("press", "predict", "press.csv", "tints.csv"),
        ("press", "separate", "press.csv", "kraft.csv"),
        ("blend", "kraft.csv", "--parts", "Kraft=0.5,Cyan=0.5"),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_the_other_commands_take_a_field_for_a_standard_observer_and_say_so(cli, shop, words):
    taken = {"kind": "assumed", "what": "observer '10' is taken as cie1964 (10 degrees)"}
    by_field, by_name = (json.loads(cli(*words, "--observer", who, "--json").out) for who in ("10", "cie1964"))
    assert by_field["observer"] == "cie1964" and by_field["notes"].count(taken) == 1
    by_field["notes"].remove(taken)
    assert by_field == by_name


def test_match_tells_what_people_see(cli, colours):
    found = answered(
        cli(
            "match",
            colours,
            *SCREEN,
            *PEOPLE,
            "--limit",
            20,
            "--ages",
            "30-70",
            "--field",
            10,
            "--seed",
            3,
            "--json",
        )
    )
    who = found["population"]
    assert (who["count"], who["seed"], who["field"], who["aim"], who["cost"]) == (40, 3, 10.0, "observer", None)
    assert (
        30 <= who["ages"][0] < who["ages"][1] <= 70 and who["label"] == "40 people of 30 to 70 years, 10 degrees"
    )
    samples, display = read_samples(colours), modelled_display("rgb-oled")
    viewing = Viewing(light("D50"), observer("cie1931"))
    people = population(40, seed=3, ages=(30, 70), field=10)
    expected = crowd(samples, match(samples, display, viewing), display, viewing, people)
    for i, entry in enumerate(found["samples"]):
        told = entry["crowd"]
        assert told["median"] == pytest.approx(np.median(expected.figures[i]), abs=1e-9)
        assert told["p95"] == pytest.approx(np.quantile(expected.figures[i], 0.95), abs=1e-9)
        assert told["share_above"] == np.mean(expected.figures[i] > 20)
        assert told["standard"] == pytest.approx(entry["residual"], abs=1e-6)
        assert len(told["quantiles"]) == 21 and told["light"] == "D50" and told["words"]
        assert sum(age["count"] for age in told["by_age"]) == 40
    (on,) = who["displays"]
    largest = max(found["samples"], key=lambda entry: entry["crowd"]["p95"])
    assert (on["largest_sample"], on["largest"]) == (largest["name"], largest["crowd"]["p95"])
    # The limit judges the observer's residual, not the people.
    assert {entry["status"] for entry in found["samples"]} == {"pass"}


def test_the_same_seed_gives_the_same_figures(cli, colours):
    call = ("match", colours, *SCREEN, *PEOPLE, "--json")
    first = answered(cli(*call))
    assert first == answered(cli(*call, "--seed", 1, "--ages", "20-80", "--field", 2))
    assert first["samples"][0]["crowd"] != answered(cli(*call, "--seed", 2))["samples"][0]["crowd"]


def test_the_table_of_people_has_those_on_top_who_see_most(cli, colours):
    out = cli("match", colours, *SCREEN, *PEOPLE, "--limit", 3).out
    assert "People: 40 people of 20 to 80 years, 2 degrees (seed 1)" in out
    lines = out.split("People:")[1].splitlines()
    header = next(line for line in lines if line.startswith("sample"))
    for word in ("median", "95 %", "cie1931", "above 3", "worst age", "those who see most see it"):
        assert word in header
    body = lines[lines.index(header) + 2 :][:9]
    p95 = [float(line[: header.index("95 %") + 4].split()[-1]) for line in body]
    assert p95 == sorted(p95, reverse=True) and len(body) == 9
    assert "It is no verdict." in out


def test_whose_white_is_said_and_one_person_is_not_given_two_answers_unsaid(cli, colours):
    """With a shared white people see more than an observer of their age, who adapts to each: the text says why."""
    said = "stand to each other as they do for age=60,field=2"
    call = ("--display", "laser", "--population", 10, "--ages", "60")
    assert said in cli("match", colours, *call, "--observer", "age=60").out
    assert said in cli("shift", colours, *call, "--from", "D50", "--observer", "age=60").out
    assert "Both whites" not in cli("match", colours, *call, "--basis", "absolute").out
    assert "Both whites" not in cli("shift", colours, "--against", colours, "--population", 10).out


@pytest.mark.parametrize("cost", [0.0, 0.7, None])
def test_drive_values_for_people_lower_the_95_percent_at_the_stated_cost(cli, colours, cost):
    asked = [] if cost is None else ["--cost", cost]
    found = answered(cli("match", colours, *SCREEN, *PEOPLE, "--aim", "population", *asked, "--json"))
    plain = answered(cli("match", colours, *SCREEN, *PEOPLE, "--json"))
    assert found["population"]["cost"] == (0.5 if cost is None else cost)
    lower = 0
    for entry, before in zip(found["samples"], plain["samples"], strict=True):
        told = entry["crowd"]
        assert told["aim"] == "population"
        assert told["p95_before"] == pytest.approx(before["crowd"]["p95"], abs=1e-9)
        assert told["standard_before"] == pytest.approx(before["residual"], abs=1e-6)
        assert told["p95"] <= told["p95_before"]
        assert told["standard"] <= told["standard_before"] + found["population"]["cost"] + 1e-9
        assert entry["residual"] == pytest.approx(told["standard"], abs=1e-6)
        assert (entry["code"] == before["code"]) == (told["p95"] == told["p95_before"])
        lower += told["p95"] < told["p95_before"]
    # For no cost only what shows another code just as well to the observer can be better.
    assert lower >= (7 if cost != 0.0 else 0)
    out = cli("match", colours, *SCREEN, *PEOPLE, "--aim", "population", *asked).out
    assert (
        f"the 95 % is lower for {lower} of 9 samples" in out and "95 % before" in out and "cie1931 before" in out
    )


def test_few_people_and_a_dear_aim_are_noted(cli, colours):
    call = ("match", colours, "--display", "rgb-oled", "--only", "Moss", "--aim", "population", "--limit", 1)
    odd = cli(*call, "--population", 12, "--cost", 1).out
    assert "odd: population: 12 people are few" in odd and "cost of 1 is not below the limit of a match, 1" in odd
    sound = cli(*call, "--population", 40, "--cost", 0.9).out
    assert "people are few" not in sound and "the limit of a match" not in sound
    shift = cli("shift", colours, "--display", "rgb-oled", "--only", "Moss", "--to", "A", "--population", 12).out
    assert "12 people are few" in shift


def test_gamut_tells_for_how_many_people_a_colour_is_outside(cli, colours):
    call = ("gamut", colours, "--display", "white-led-lcd", *PEOPLE)
    found = answered(cli(*call, "--json"))
    shares = {entry["name"]: entry["share_outside"] for entry in found["samples"]}
    inside = {entry["name"]: entry["in_gamut"] for entry in found["samples"]}
    assert shares["Slate"] == 0 and inside["Slate"]
    assert shares["Sea teal"] == 1 and not inside["Sea teal"]
    assert all(0 <= share <= 1 for share in shares.values()) and found["population"]["count"] == 40
    out = cli(*call).out
    assert "outside for" in out and "100 %" in out and "People: 40 people" in out


def test_shift_tells_what_people_see_beside_the_screen_in_every_light(cli, colours):
    call = ("shift", colours, *SCREEN, *PEOPLE, "--from", "D50", "--to", "A,FL11", "--limit", 30)
    found = answered(cli(*call, "--json"))
    at_home = answered(cli("match", colours, *SCREEN, *PEOPLE, "--limit", 30, "--json"))
    assert found["seen_by"] == "cie1931" and found["population"]["count"] == 40
    for entry, same in zip(found["samples"], at_home["samples"], strict=True):
        assert [one["light"] for one in entry["crowd"]] == ["D50", "A", "FL11"]
        assert np.allclose(entry["crowd"][0]["quantiles"], same["crowd"]["quantiles"], atol=1e-9)
        for one, plain in zip(entry["crowd"], entry["shift"], strict=True):
            assert one["standard"] == pytest.approx(plain["de00"], abs=1e-9)
    out = cli(*call).out
    assert out.count("FL11") > 9 and "above 30" in out


def test_shift_of_pairs_tells_what_people_see_of_them_as_they_are(cli, colours, tmp_path):
    a, b = tmp_path / "a.csv", tmp_path / "b.csv"
    lines = colours.read_text(encoding="utf-8").splitlines()
    head = [line for line in lines if line.startswith("#") or line.startswith("name")]
    slate = next(line for line in lines if line.startswith("Slate,"))
    mixed = next(line for line in lines if line.startswith('"Slate, mixed"'))
    a.write_text("\n".join([*head, slate]), encoding="utf-8")
    b.write_text("\n".join([*head, mixed]), encoding="utf-8")
    call = (
        "shift",
        a,
        "--against",
        b,
        *PEOPLE,
        "--from",
        "D50",
        "--to",
        "A",
        "--observer",
        "age=25",
        "--correction",
        "none",
    )
    found = answered(cli(*call, "--json"))
    (pair,) = found["pairs"]
    assert [one["light"] for one in pair["crowd"]] == ["D50", "A"] and found["seen_by"] == "age=25,field=2"
    assert pair["crowd"][0]["standard"] == pytest.approx(pair["from"][0]["de00"], abs=1e-9)
    assert pair["crowd"][1]["standard"] == pytest.approx(pair["shift"][0]["de00"], abs=1e-9)
    assert pair["crowd"][1]["share_above"] is None
    out = cli(*call).out
    assert (
        "Slate / Slate, mixed" in out and "without a correction" in out and "above" not in out.split("People")[1]
    )


@pytest.mark.parametrize("name", ["crowd.png", "crowd.svg"])
def test_the_figure_of_a_crowd(cli, colours, tmp_path, name):
    path = tmp_path / name
    call = ("match", colours, *SCREEN, *PEOPLE, "--limit", 2, "--aim", "population", "--plot")
    assert cli(*call, path).code in (0, 1)
    data = path.read_bytes()
    if name.endswith("png"):
        assert data.startswith(b"\x89PNG")
        return
    text = data.decode()
    for words in (
        "What people see of each sample beside RGB OLED",
        "5 to 95 % of the people",
        "median",
        "observer cie1931",
        "limit 2",
        "Sea teal",
        "95 % before",
        "above it",
        "in D50",
    ):
        assert words in text, words
    again = tmp_path / "again.svg"
    cli(*call, again)
    assert again.read_bytes() == data


def test_the_figure_of_a_crowd_has_a_panel_for_each_light(cli, colours, tmp_path):
    path = tmp_path / "lights.svg"
    cli("shift", colours, *SCREEN, *PEOPLE, "--from", "D50", "--to", "A,FL11", "--plot", path)
    text = path.read_text(encoding="utf-8")
    assert all(f">in {name}<" in text for name in ("D50", "A", "FL11")) and "limit" not in text
    cli("shift", colours, "--against", colours, *PEOPLE, "--to", "A", "--plot", path, "--force")
    assert "two partners side by side" in path.read_text(encoding="utf-8")


MATCH = ("match", "colours.csv", *SCREEN)
MISTAKES = [
    ((*MATCH, "--ages", "20-60"), ["--ages: there are no people for it", "add --population 200"]),
    ((*MATCH, "--field", "2", "--seed", "4"), ["--field: there are no people", "--seed: there are no people"]),
    ((*MATCH, "--aim", "population"), ["--aim: there are no people for it"]),
    (
        (*MATCH, "--population", "40", "--cost", "2"),
        ["--cost: a cost is what drive values made for people may take", "add --aim population"],
    ),
    (
        (*MATCH, "--population", "40", "--aim", "population", "--cost", "-1"),
        ["--cost: the number -1.0 is out of range", "0 or more"],
    ),
    (
        (*MATCH, "--population", "40", "--aim", "poplation"),
        [
            "--aim: the text 'poplation' is not one of the choices",
            "observer, population",
            "did you mean 'population'?",
        ],
    ),
    ((*MATCH, "--population", "3"), ["--population: a population of 3", "10 to 5000", "200 is enough"]),
    ((*MATCH, "--population", "many"), ["--population: 'many'", "whole number"]),
    ((*MATCH, "--population", "40", "--ages", "10-30"), ["--ages: an age of 10 years", "20 to 80 years"]),
    (
        (*MATCH, "--population", "40", "--ages", "60-30"),
        ["--ages: ages from 60 down to 30", "write the lower first"],
    ),
    ((*MATCH, "--population", "40", "--ages", "young"), ["--ages: 'young' are no ages", "such as 20-80"]),
    ((*MATCH, "--population", "40", "--field", "20"), ["--field: a field of 20 degrees", "1 to 10 degrees"]),
    ((*MATCH, "--population", "40", "--seed", "-2"), ["--seed: the seed is -2", "0 or above"]),
    (("match", "colours.csv", "--display", "srgb", "--population", "40"), ["--population", "spectra", "rgb-oled"]),
    (("gamut", "colours.csv", "--display", "srgb", "--population", "40"), ["--population", "spectra"]),
    (("match", "lab.csv", *SCREEN, "--population", "40"), ["--population", "reflectance curve"]),
    (("gamut", "colours.csv", *SCREEN, "--population", "40", "--aim", "population"), ["No such option", "--aim"]),
    (
        ("shift", "colours.csv", "--population", "40"),
        ["--population: people are asked about two colours side by side", "add --display", "--against"],
    ),
    (("shift", "colours.csv", "--display", "srgb", "--population", "40"), ["--population", "spectra"]),
    (
        ("shift", "colours.csv", "--observer", "age=60,age=60,field=2"),
        ["--observer", "age=60,field=2 stands twice"],
    ),
    (("shift", "colours.csv", "--observer", "cie1931,age=95"), ["age is 95", "20 to 80 years"]),
    (("shift", "colours.csv", "--observer", ","), ["--observer", "no name is given", "cie1931,age=60,field=2"]),
    ((*MATCH, "--observer", "age=60,feild=2"), ["an eye has no 'feild'", "did you mean field=2?"]),
    (("observers", "age=10", "1931"), ["age is 10", "no observer is called '1931'"]),
    (("printable", "press.json", "--population", "40"), ["No such option", "--population"]),
    (("recipe", "find", "letdowns.csv", "--population", "40"), ["No such option", "--population"]),
]


@pytest.fixture
def here(colours, monkeypatch):
    folder = colours.parent
    text = "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\nlone,50,10,10\n"
    (folder / "lab.csv").write_text(text, encoding="utf-8")
    monkeypatch.chdir(folder)
    return folder


@pytest.mark.parametrize(("arguments", "says"), MISTAKES, ids=lambda value: " ".join(map(str, value))[:60])
def test_a_mistake_about_eyes_ends_with_2_and_words_that_help(cli, here, arguments, says):
    before = {path.name: path.read_bytes() for path in here.iterdir()}
    done = cli(*arguments)
    assert done.code == 2, done.out
    assert done.out == "" and "Traceback" not in done.err
    for piece in says:
        assert piece in done.err, f"{piece!r} is not in:\n{done.err}"
    assert {path.name: path.read_bytes() for path in here.iterdir()} == before
