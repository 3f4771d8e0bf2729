"""``display fit``, ``display show``, ``display check`` and ``light check``: every door gives the same answer."""

from __future__ import annotations

import csv
import io
import json
import sys
from contextlib import redirect_stdout
from pathlib import Path

import numpy as np
import pytest

from screenproof.cli import main
from screenproof.proof.judged import TROUBLE
from screenproof.questions import questions
from screenproof.questions.form import filled
from screenproof.questions.opening import Open
from screenproof.spectra import light

DEMO = Path(__file__).parents[2] / "profiles_demo" / "data"
READINGS, LAMP = str(DEMO / "office_readings.csv"), str(DEMO / "shop_led.csv")

ASKED = [
    ("display fit", {"readings": READINGS}, [READINGS]),
    ("display show", {"display": READINGS, "room": 64.0}, [READINGS, "--room", "64"]),
    ("display show", {"display": "rgb-oled", "luminance": 100.0}, ["rgb-oled", "--luminance", "100"]),
    (
        "display check",
        {"readings": READINGS, "against": "soft-proof", "instrument": "production", "white": "0.3127,0.3290"},
        [READINGS, "--against", "soft-proof", "--instrument", "production", "--white", "0.3127,0.3290"],
    ),
    ("light check", {"light": LAMP, "illuminance": 700.0}, [LAMP, "--illuminance", "700"]),
]


def command(*arguments: str) -> tuple[int, str]:
    out = io.StringIO()
    with redirect_stdout(out), pytest.raises(SystemExit) as left:
        main(list(arguments))
    return int(left.value.code or 0), out.getvalue()


def asked(name: str, **given):
    return filled(questions()[name], given).ask(Open())


@pytest.mark.parametrize(("name", "given", "options"), ASKED, ids=lambda one: one if isinstance(one, str) else "")
def test_the_command_and_python_give_the_same(name, given, options):
    answer = asked(name, **given)
    code, printed = command(*name.split(), *options, "--json")
    assert json.loads(printed) == json.loads(answer.to_json())
    assert code == (answer.status == "fail")
    assert command(*name.split(), *options)[1] == answer.text() + "\n"


def test_a_light_may_be_given_as_it_is():
    made = light("FL2")
    given, named = asked("light check", light=made, aim=light("D50")), asked("light check", light="FL2")
    assert given.to_dict() == named.to_dict() and given.row("ra").status == "fail"


def test_a_row_says_what_the_judge_said():
    answer = asked("display check", readings=READINGS, instrument="production", risk=0.01)
    for row in answer.rows:
        assert row.status == row.judged.status
        assert row.judged.limited == (row.limit is not None)
        if row.figure is not None:
            assert row.judged.figure == row.figure
        if row.judged.limited:
            assert (row.uncertainty is None) == (row.judged.uncertainty is None)
    told = {finding.kind: finding for finding in answer.findings()}
    assert set(told) == {row.key for row in answer.rows if row.status in TROUBLE}
    assert all(told[row.key].do == row.mend and row.what in told[row.key].says for row in answer.rows
               if row.key in told)  # fmt: skip
    # Less risk asks for more distance from the limit: nothing is decided that was not.
    usual = asked("display check", readings=READINGS, instrument="production", risk=0.2)
    undecided = {row.key for row in answer.rows if row.status == "undecided"}
    assert undecided >= {row.key for row in usual.rows if row.status == "undecided"}


def test_rows_are_written_with_all_their_digits(tmp_path):
    file = tmp_path / "lamp.csv"
    code, printed = command("light", "check", LAMP, "-o", str(file))
    assert code == 1 and "written: " in printed
    rows = {row["key"]: row for row in csv.DictReader(io.StringIO(file.read_text(encoding="utf-8")))}
    answer = asked("light check", light=LAMP)
    assert set(rows) == {row.key for row in answer.rows}
    for row in answer.rows:
        written = rows[row.key]
        assert written["status"] == row.status and written["unit"] == row.unit
        assert written["figure"] == "" if row.figure is None else float(written["figure"]) == row.figure
    assert float(rows["ra"]["low"]) == 90.0 and rows["ra"]["high"] == ""


def test_the_path_of_a_written_profile_stands_in_the_json(tmp_path):
    profile = tmp_path / "office.icc"
    _, printed = command("display", "fit", READINGS, "-o", str(profile), "--json")
    assert json.loads(printed)["profile"] == profile.as_posix() and profile.read_bytes()[36:40] == b"acsp"
    again = asked("display fit", readings=READINGS).save_profile(tmp_path / "again.icc")
    # The header has the time, and a hash over it (ICC.1:2022, 7.2).
    assert again.read_bytes()[128:] == profile.read_bytes()[128:]


def test_a_screen_that_is_drawn_is_the_one_that_was_asked_for():
    figure = asked("display show", display="srgb", room=64.0).figure()
    assert len(figure.axes) == 2  # without spectra
    lines = {line.get_label(): line for line in figure.axes[1].lines}
    assert set(lines) == {"red", "green", "blue", "grey"}
    assert np.asarray(lines["grey"].get_ydata())[-1] == pytest.approx(1.0)


def test_colour_science_is_not_needed_for_a_screen():
    code = (
        f"import sys; from screenproof.questions import questions; from screenproof.questions.form import filled; "
        f"from screenproof.questions.opening import Open; "
        f"filled(questions()['display check'], {{'readings': {READINGS!r}}}).ask(Open()).text(); "
        "print([name for name in ('colour', 'matplotlib') if name in sys.modules])"
    )
    import subprocess

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=DEMO.parents[1])
    assert done.stdout.strip() == "[]", done.stderr
