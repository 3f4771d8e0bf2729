"""A room asked of on the command line and in Python, and verdicts in doubt."""

from __future__ import annotations

import json

import pytest

from screenproof.cli import main
from screenproof.jobs.starter import colours_csv
from screenproof.questions.form import filled
from screenproof.questions.gamut.question import AskGamut
from screenproof.questions.opening import Open
from screenproof.questions.room.question import AskRoom


@pytest.fixture
def colours(tmp_path):
    path = tmp_path / "colours.csv"
    path.write_text(colours_csv(), encoding="utf-8")
    return str(path)


def asked(**given):
    return filled(AskRoom, given).ask(Open())


def test_a_command_and_python_say_the_same(colours, capsys):
    given = {"samples": colours, "display": "srgb", "black": 0.2, "room": 500.0, "contrast": 100.0, "excess": 2.0}
    options = [text for key, value in list(given.items())[1:] for text in (f"--{key}", str(value))]
    with pytest.raises(SystemExit) as ended:
        main(["room", colours, *options, "--json"])
    assert ended.value.code == 1
    assert json.loads(capsys.readouterr().out) == json.loads(asked(**given).to_json())


def test_without_samples_there_are_no_rows_and_the_screen_is_the_table():
    answer = asked(room=500.0)
    assert answer.to_dict()["samples"] == [] and answer.status == "not judged"
    assert [row.split(",")[0] for row in answer.to_csv().split("\r\n")[1:4]] == ['"white', '"black', '"contrast']


def test_an_excess_near_its_limit_is_undecided_as_that_of_gamut_is(colours):
    given = {"samples": colours, "display": "srgb", "black": 0.2, "room": 500.0, "instrument": "basic"}
    largest = max(own[0].figure for own in asked(**given, excess=50.0).figures)
    answer = asked(**given, excess=1.001 * largest)
    kept = next(one for one in answer.limits if one.key == "excess")
    assert (kept.holds, kept.status, answer.status) == (True, "undecided", "undecided")
    gamut = filled(AskGamut, {**given, "limit": 1.001 * largest}).ask(Open())
    assert [own[0].status for own in answer.figures] == list(gamut.statuses)
    text = answer.text()
    assert "undecided  Every sample within" in text and "Undecided:" in text
    (finding,) = answer.findings()
    assert finding.judged == kept.judged and finding.judged.status == "undecided"
    # Nothing known of the readings: the figure is taken as it stands.
    assert asked(**given | {"instrument": None}, excess=1.001 * largest).status == "pass"


def test_a_limit_that_does_not_hold_is_found_with_the_room_that_keeps_it():
    answer = asked(room=500.0, black=0.2, contrast=100.0)
    (finding,) = answer.findings()
    assert finding.kind == "contrast" and finding.says.endswith("of what it is.")
    judged = answer.limits[0].judged
    assert judged.figure == pytest.approx(answer.lit.contrast) and judged.limit == 100.0
    assert answer.limits[1].status == "not judged"  # the usual ratio was not asked for
