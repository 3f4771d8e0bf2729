"""Amounts, codes and weights: a text of a command line, a list of a job and a value of Python are the same."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.questions.ink_names import amounts_of, names_in
from screenproof.questions.parsing import amounts, codes, hex_faults, parsed, weight_kg, weights_kg

CODE = (66, 148, 73)


@pytest.mark.parametrize(
    "written",
    ["66,148,73", "66 148 73", "#429449", " #429449 ", [66, 148, 73], CODE, np.array(CODE), ["66,148,73"], [CODE]],
    ids=str,
)
def test_a_code_in_every_way_of_writing(written):
    assert parsed(codes, written, "code") == (CODE,)


def test_several_codes():
    wanted = (CODE, (0, 128, 255))
    for written in (["#429449", "0,128,255"], [CODE, "#0080ff"], np.array(wanted)):
        assert parsed(codes, written, "code") == wanted


@pytest.mark.parametrize(
    "written", ["10,20", "#42944", "a,b,c", [1.5, 2, 3], [True, 0, 0], [-1, 0, 0], 7], ids=str
)
def test_what_is_no_code_is_said(written):
    with pytest.raises(InputError, match="is no code") as caught:
        parsed(codes, written, "code")
    assert all(problem.field == "code" for problem in caught.value.problems)


def test_a_code_with_a_hash_has_8_bits():
    assert list(hex_faults(parsed(codes, "#429449", "code"), 8, "code")) == []
    assert list(hex_faults(parsed(codes, "66,148,73", "code"), 10, "code")) == []
    (problem,) = hex_faults(parsed(codes, ["1,2,3", "#429449"], "code"), 10, "code")
    assert "8 bits, not of 10" in problem.what


@pytest.mark.parametrize(
    ("written", "kilograms"),
    [
        ("250g", 0.25),
        ("1.5kg", 1.5),
        ("1.5 KG", 1.5),
        ("2", 2.0),
        (1.5, 1.5),
        (np.float64(0.5), 0.5),
        ("1e3 mg", 0.001),
    ],
)
def test_a_weight_with_and_without_a_unit(written, kilograms):
    assert parsed(weight_kg, written, "batch") == pytest.approx(kilograms, rel=1e-15)


@pytest.mark.parametrize("written", ["heavy", "5 stone", "-1kg", float("nan"), "inf", True, [1], ""], ids=str)
def test_what_is_no_weight_is_said(written):
    with pytest.raises(InputError, match="such as 250g"):
        parsed(weight_kg, written, "batch")


def test_amounts_by_name_with_commas_in_the_names():
    wanted = {"Blue, dark": 0.9, "Yellow": 1.1}
    for written in ("Blue, dark=0.9,Yellow=1.1", ["Blue, dark=0.9", "Yellow=1.1"], wanted):
        assert parsed(amounts, written, "film") == wanted
    assert parsed(weights_kg, "White=8.2,Red=310g", "batch") == {"White": 8.2, "Red": pytest.approx(0.31)}


def test_every_mistake_in_amounts_is_said_at_once():
    with pytest.raises(InputError) as caught:
        parsed(amounts, "Cyan=thin,Yellow=-1,Black=1,Black=2", "film")
    whats = [problem.what for problem in caught.value.problems]
    assert whats == ["'thin' is no number", "Yellow=-1", "Black stands twice"]
    for written in ("0.9", 0.9, [0.9]):
        with pytest.raises(InputError, match=r"Cyan=0\.9"):
            parsed(amounts, written, "film")
    with pytest.raises(InputError, match=r"'Cian'[\s\S]*did you mean 'Cyan'"):
        amounts_of({"Cian": 1.0}, ["Cyan", "Yellow"], "film")


def test_names_with_commas_are_put_together_again():
    known = ["Cyan", "Blue, dark", "Yellow"]
    assert names_in(["Cyan", "Blue", "dark"], known, "inks") == ["Cyan", "Blue, dark"]
    assert names_in(["Cyan, Blue, dark, Yellow"], known, "inks") == ["Cyan", "Blue, dark", "Yellow"]
