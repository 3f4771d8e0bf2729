"""One question, three doors: command, job and Python give the same answer with the same verdict.

Every question has a row here; one without fails. The rows name the demo's data (all of it invented).
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

import screenproof as sp
from screenproof.cli import main
from screenproof.face import asking
from screenproof.jobs import load_job
from screenproof.jobs.asking import answers
from screenproof.questions import questions
from screenproof.questions.form import fields_of
from screenproof.report.plain import json_text

DEMO = Path(__file__).parents[2] / "profiles_demo" / "data"

ASKED: dict[str, dict[str, Any]] = {
    "match": {"samples": "labels.csv", "display": "display-p3", "limit": 0.1, "instrument": "production"},
    "gamut": {"samples": "labels.csv", "display": "srgb", "room": 64.0, "limit": 1.0},
    "shift": {"samples": "labels.csv", "from": "D50", "to": ["A", "FL11"], "limit": 3.0, "readings": 3,
              "instrument": "basic"},
    "compare": {"a": "labels.csv", "b": "labels.csv", "limit": 1.0, "mean": 0.5, "instrument": "production"},
    "approve": {"samples": "labels.csv", "only": ["Label cream"], "code": [243, 214, 188], "display": "srgb",
                "limit": 6.0, "instrument": "basic"},
    "brightener": {"samples": "board_m1.csv", "uv_excluded": "board_m2.csv", "to": ["A", "D65"]},
    "overprint": {"samples": "inks_on_carton.cgats", "stock": "Coated carton", "inks": ["Cyan", "Yellow"]},
    "other-stock": {"samples": "inks_on_carton.cgats", "ink": "Cyan", "stock": "Coated carton",
                    "onto": "Kraft board", "onto_file": "inks_on_kraft.csv"},
    "press fit": {"characterisation": "kraft_press.cgats", "limit": 1.0},
    "press predict": {"press": "kraft_press.cgats", "tints": "kraft_press.cgats", "against": "kraft_press.cgats",
                      "limit": 1.0},
    "press separate": {"press": "carton_press.cgats", "targets": "labels.csv", "limit": 2.0, "instrument": "basic"},  # noqa: E501
    "printable": {"press": "carton_press.cgats", "samples": "labels.csv", "limit": 1.0, "instrument": "basic"},
    "recipe find": {"library": "lacquer_letdowns.csv", "display": "srgb", "code": "120,90,80", "components": 2,
                    "limit": 0.3},
    "recipe correct": {"library": "lacquer_letdowns.csv", "samples": "lid_trial.csv", "batch": "lid_batch.csv",
                       "trial": "lid_trial.csv"},
    "recipe library": {"library": "lacquer_letdowns.csv"},
    "display fit": {"readings": "office_readings.csv"},
    "display show": {"display": "display-p3", "luminance": 160.0, "room": 64.0},
    "display check": {"readings": "office_readings.csv", "against": "soft-proof", "instrument": "production"},
    "light check": {"light": "led_panel.spdx", "illuminance": 2100.0},
    "room": {"samples": "labels.csv", "display": "office_readings.csv", "room": 64.0, "excess": 1.0},
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """A folder with the demo's data."""
    place = tmp_path_factory.mktemp("doors") / "data"
    shutil.copytree(DEMO, place)
    return place


def written(value: Any) -> list[str]:
    """A value as it is written behind an option, or several."""
    if isinstance(value, dict):
        return [",".join(f"{name}={amount}" for name, amount in value.items())]
    if isinstance(value, list):
        return (
            [",".join(str(one) for one in value)]
            if all(isinstance(one, int) for one in value)
            else [*map(str, value)]
        )
    return [str(value)]


def by_command(name: str, asked: dict[str, Any], capsys) -> tuple[Any, int]:
    items = {key: item for item in fields_of(questions()[name]) for key in (item.name, item.key)}
    words = name.split()
    for key, value in asked.items():
        item = items[key]
        for text in written(value):
            words += [text] if item.ask.positional else [item.option] if value is True else [item.option, text]
    with pytest.raises(SystemExit) as left:
        main([*words, "--json"])
    printed = capsys.readouterr()
    assert left.value.code in (0, 1), printed.err
    return json.loads(printed.out), int(left.value.code)


def toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{name}" = {toml(one)}' for name, one in value.items()) + " }"
    if isinstance(value, list):
        return f"[{', '.join(toml(one) for one in value)}]"
    return json.dumps(value)


def by_job(name: str, asked: dict[str, Any], folder: Path) -> Any:
    key = name.replace(" ", "_").replace("-", "_")
    lines = ["version = 1", 'title = "One question"', "", f"[[{key}]]"]
    lines += [f"{field} = {toml(value)}" for field, value in asked.items()]
    job = folder / f"{key}.toml"
    job.write_text("\n".join(lines) + "\n", encoding="utf-8")
    (answer,) = answers(load_job(job), lambda words: None)
    return answer


@pytest.mark.parametrize("name", questions())
def test_every_door_gives_the_same_answer(name, folder, capsys, monkeypatch):
    assert name in ASKED, f"give {name!r} a row in {Path(__file__).name}"
    asked = ASKED[name]
    monkeypatch.chdir(folder)
    data, code = by_command(name, asked, capsys)
    python = {
        item.name: asked[key]
        for item in fields_of(questions()[name])
        for key in {item.name, item.key} & set(asked)
    }
    answer = asking(name)(**python)
    assert json.loads(json_text(answer.to_dict())) == data
    if questions()[name].in_job:
        # A job may be run from anywhere: paths in it count from its own folder.
        text = json_text(by_job(name, asked, folder).to_dict())
        assert json.loads(text.replace(f"{folder.as_posix()}/", "")) == data
    assert code == (1 if answer.status == "fail" else 0)
    assert data["schema"] == answer.schema
    # The views of it: a table with a row for each, a page's piece, a short repr.
    assert answer.tables() and answer.tables()[0].rows
    assert answer.page() and len(repr(answer)) < 400 and answer._repr_html_().startswith("<p>")
    assert {one.status for one in answer.judged} <= {"pass", "fail", "undecided", "not known", "not judged"}


def test_every_row_is_of_a_question():
    assert set(ASKED) <= set(questions())


def test_the_face_has_every_question_and_at_most_sixty_names():
    names = dir(sp)
    assert {name.replace(" ", "_").replace("-", "_") for name in questions()} <= set(names)
    assert len(names) <= 60
    for name in names:
        assert getattr(sp, name) is not None
