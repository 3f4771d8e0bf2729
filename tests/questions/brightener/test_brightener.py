"""Brightener asked of on the command line and in Python."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from screenproof.cli import main
from screenproof.errors import InputError
from screenproof.formats import read_samples
from screenproof.proof.brightener import brightener
from screenproof.questions.brightener.question import AskBrightener
from screenproof.questions.form import filled
from screenproof.questions.opening import Open
from screenproof.spectra import light, observer

DATA = Path(__file__).parents[3] / "profiles_demo" / "data"
M1, M2 = str(DATA / "board_m1.csv"), str(DATA / "board_m2.csv")


def asked(**given):
    return filled(AskBrightener, {"samples": M1, "uv_excluded": M2, **given}).ask(Open())


def test_a_command_and_python_say_the_same(capsys):
    given = {"to": ["A", "FL11"], "without_uv": ["FL11"], "excitation": [310.0, 415.0], "near": 0.2, "m1_uv": 0.1}
    options = [
        "--to",
        "A,FL11",
        "--without-uv",
        "FL11",
        "--excitation",
        "310,415",
        "--near",
        "0.2",
        "--m1-uv",
        "0.1",
    ]
    with pytest.raises(SystemExit) as ended:
        main(["brightener", M1, "--uv-excluded", M2, *options, "--json"])
    assert ended.value.code == 0
    assert json.loads(capsys.readouterr().out) == json.loads(asked(**given).to_json())


def test_samples_and_lights_may_be_given_as_they_are():
    m1, m2, shop = read_samples(M1), read_samples(M2), light("FL11")
    answer = filled(AskBrightener, {"samples": m1, "uv_excluded": m2, "to": [shop], "without_uv": [shop]}).ask(
        Open()
    )
    found = brightener(m1, m2, None, [shop], observer("cie1931"), light("D50"), without_uv=["FL11"])
    assert answer.lights == tuple(record.lights for record in found.records if record is not None)
    assert np.array_equal(answer.m1, m1.reflectance[[m1.index(name) for name in answer.names]])


def test_a_light_whose_ultraviolet_is_not_known_is_a_finding():
    answer = asked(to=["D65", "FL11"])
    (finding,) = answer.findings()
    assert finding.subject == "FL11" and "its ultraviolet, which excites brighteners, is not known" in finding.says
    rows = answer.to_csv().splitlines()
    assert rows[0].endswith('"in D65, least","in D65, most","in FL11, least","in FL11, most"')
    assert rows[1].endswith(",,")
    with pytest.raises(InputError, match="not asked for"):
        asked(to=["A"], without_uv=["FL11"])
