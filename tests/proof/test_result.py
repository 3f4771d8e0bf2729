import json
from dataclasses import replace

import pytest

from screenproof.errors import InputError, Note
from screenproof.proof.result import (
    SCHEMA,
    ApprovalRecord,
    Curve,
    DisplayRecord,
    InputRecord,
    LightRecord,
    ObserverRecord,
    OnDisplay,
    PairFigure,
    PairRecord,
    PairStart,
    Provenance,
    Refusal,
    Result,
    SampleRecord,
    ShiftFigure,
    StandardGamut,
    Summary,
    TwoCurves,
    ViewingRecord,
    result_from_json,
)
from screenproof.proof.tolerance import ToleranceSet, judge

_LIMITS = ToleranceSet("brand", match=1.0, approval=2.0)


def _verdict(what, figure):
    made = judge(_LIMITS, what, figure, light="D50", observer="cie1931")
    assert made is not None
    return made


@pytest.fixture
def whole():
    on = OnDisplay(
        "office", (0.1, 0.2, 0.3), (26, 51, 77), 8, False, 1.5, "weaker", 1.6, ("p3-d65", "bt2020"),
        (50.0, 1.0, 2.0), (0.1, 0.2, 0.3), TwoCurves((400.0, 410.0), (0.1, 0.2), (0.3, 0.4)),
        (ShiftFigure("A", "cie1931", 1.0, 1.2, 1.1, "redder"),), (Refusal("no spectra", "cie1964"),),
        (_verdict("match", 1.6),), "fail",
    )  # fmt: skip
    sample = SampleRecord(
        "teal", "carton", "inks.cgats", None, True, (9.0, 12.0, 20.0), (41.0, -20.0, -18.0), (41.0, 27.0, 222.0),
        (0.15, 0.44), {"D50": (0.0, 0.4, 0.5)}, Curve((400.0, 410.0), (0.2, 0.3)),
        (ShiftFigure("A", "cie1931", 2.0, 3.0, 2.5),), (), (), (on,),
        (Note("odd", "a spike", line=3),), "fail", "no",
    )  # fmt: skip
    display = DisplayRecord(
        "office", "Office", "readings", 120.0, None, (0.31, 0.33),
        ((0.4, 0.5), (0.1, 0.5), (0.2, 0.1)), (0.2, 0.5),
        True, 8, ((0.0, ((10.0, 5.0), (20.0, 9.0))),), (), {"model": "matrix", "held_out": {"mean": 0.1}}, "x.csv",
    )  # fmt: skip
    approval = ApprovalRecord(
        "lid", "office", "teal", (1, 2, 3), 8, 2.5, 3.0, "lighter", (1.0, 2.0, 3.0), (2.0, 3.0, 4.0),
        (0.1, 0.1, 0.1), (0.2, 0.2, 0.2), _verdict("approval", 2.5),
    )  # fmt: skip
    pair = PairRecord(
        "lid and body", "teal", "lid", (PairStart("D65", "cie1931", 0.1, 0.2),), "multiplicative",
        (PairFigure("A", "cie1931", 1.0, 1.1, 1.2, 1.3, "redder"),),
    )  # fmt: skip
    return Result(
        "Caddies", "invented", "2026-01-02T03:04:05+00:00",
        ViewingRecord("D50", "cie1931", "white", "cat16", "diffuser", 8, (96.4, 100.0, 82.5)),
        (LightRecord("D50", "D50", "CIE", (0.3457, 0.3585), 5000.0, None),),
        (ObserverRecord("cie1931", "CIE 1931", "eye"),), (display,),
        (StandardGamut("srgb", ((0.45, 0.52), (0.12, 0.56), (0.17, 0.15))),), (sample,), (approval,), (pair,),
        Summary("fail", {"pass": 0, "fail": 1, "undecided": 0}, "One sample fails.", ("It is off.",)), {"brand": _LIMITS},  # noqa: E501
        Provenance((InputRecord("inks.cgats", "ab" * 32, 12),), {"screenproof": "0"}, ("CIE 15",), ("CIEDE2000",)),
        ("a caution",), (Note("info", "größer"),),
    )  # fmt: skip


def test_a_result_reads_back_equal_from_its_json(whole):
    assert result_from_json(whole.to_json()) == whole
    assert result_from_json(whole.to_json(indent=None).encode()) == whole


def test_the_json_has_the_documented_keys(whole):
    plain = json.loads(whole.to_json())
    assert next(iter(plain)) == "schema" and plain["schema"] == SCHEMA
    assert set(plain) == {
        "schema", "title", "note", "made", "viewing", "lights", "observers", "displays", "standard_gamuts",
        "samples", "approvals", "pairs", "findings", "summary", "tolerances", "provenance", "cautions", "notes",
        "stocks", "overprints", "presses", "reach", "recipes", "population", "trust", "doubt", "wholes",
    }  # fmt: skip
    assert plain["pairs"][0]["from"] == [{"light": "D65", "observer": "cie1931", "de00": 0.1, "deab": 0.2}]
    on = plain["samples"][0]["on"][0]
    assert on["verdicts"][0] == {
        "what": "match", "figure": 1.6, "limit": 1.0, "metric": "de00", "status": "fail", "light": "D50",
        "observer": "cie1931", "uncertainty": None, "tolerance": "brand", "low": None, "high": None,
        "remedy": None,
    }  # fmt: skip
    assert on["refused"] == [{"reason": "no spectra", "observer": "cie1964"}]


def test_a_figure_that_is_no_number_never_reaches_the_json(whole):
    display = replace(whole.displays[0], luminance=float("nan"))
    with pytest.raises(ValueError, match="not JSON compliant"):
        replace(whole, displays=(display,)).to_json()


def test_another_schema_is_refused(whole):
    other = whole.to_json().replace(SCHEMA, "screenproof-result/9")
    with pytest.raises(InputError, match="expected: 'screenproof-result/2'"):
        result_from_json(other, file="result.json")


def test_text_that_is_no_json_is_refused_with_its_line():
    with pytest.raises(InputError) as caught:
        result_from_json('{\n"schema": \n}', file="result.json")
    assert (caught.value.problems[0].file, caught.value.problems[0].line) == ("result.json", 3)


def test_every_wrong_field_is_named(whole):
    plain = json.loads(whole.to_json())
    del plain["viewing"]["light"]
    plain["pairs"][0]["from"][0]["de00"] = "far"
    with pytest.raises(InputError) as caught:
        result_from_json(json.dumps(plain))
    assert {problem.field for problem in caught.value.problems} == {"viewing.light", "pairs.0.from.0.de00"}
