"""Readings that cannot make a display are refused with what is wrong and how to mend it."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import Readings, fit_display
from screenproof.errors import InputError
from screenproof.spectra import Grid
from tests.additive.fit_scenes import SRGB_MATRIX, additive, drives

TRUTH = additive("gamma")


def fit(drive: np.ndarray, xyz: np.ndarray | None = None) -> None:
    fit_display(Readings(drive, TRUTH(drive) if xyz is None else xyz, source="screen.csv"), "x")


def no_red() -> np.ndarray:
    return drives() * [0.0, 1.0, 1.0]


def without_white() -> np.ndarray:
    return drives() * (235 / 255)


def black_and_white_swapped() -> tuple[np.ndarray, np.ndarray]:
    return drives(), TRUTH(1.0 - drives())


def dead_blue() -> tuple[np.ndarray, np.ndarray]:
    return drives(), TRUTH(drives() * [1.0, 1.0, 0.0])


REFUSED = {
    "few": (drives(2, 2), None, "9 different colours", "read more colours"),
    "same": (np.full((30, 3), 0.5), None, "all readings have the same drive", "columns of drive values"),
    "red silent": (no_red(), None, "the red channel is 0 in every reading", "read a ramp of red"),
    "no white": (without_white(), None, "no white: the highest reading is at drive 0.9216", "read the white"),
    "zeros": (drives(), np.zeros((len(drives()), 3)), "all XYZ are zero", "instrument was on the screen"),
    "swapped": (*black_and_white_swapped(), "is not darker than the white", "rows are in order"),
    "dead blue": (*dead_blue(), "the blue channel gives no light", "read blue again"),
    "greys": (np.linspace(0, 1, 40)[:, None] * np.ones(3), None, "greys only", "read a ramp of each channel"),
    "three levels": (drives(3, 3), None, "the red channel has 3 different drives", "read a ramp of red"),
}


@pytest.mark.parametrize("case", sorted(REFUSED))
def test_refused(case):
    drive, xyz, what, mend = REFUSED[case]
    with pytest.raises(InputError) as raised:
        fit(drive, xyz)
    text = str(raised.value)
    assert what in text and mend in text and "screen.csv" in text and "expected:" in text


def test_primaries_on_one_line_are_refused_with_the_file():
    linear = drives() ** 2.2
    with pytest.raises(InputError, match=r"screen.csv.*on one line"):
        fit(drives(), linear @ (SRGB_MATRIX[:, [0, 0, 2]].T * 120.0) + 0.1)


def test_all_problems_are_told_at_once():
    with pytest.raises(InputError) as raised:
        fit(np.array([[0.0, 0.1, 0.2], [0.0, 0.5, 0.4], [0.0, 0.9, 0.2]]))
    assert len(raised.value.problems) >= 4


def readings(**changed: object) -> Readings:
    given: dict = {"drive": drives(), "xyz_cd": TRUTH(drives())}
    given.update(changed)
    return Readings(**given)


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"drive": drives()[:, :2]}, "drive values of shape"),
        ({"drive": np.zeros((0, 3)), "xyz_cd": np.zeros((0, 3))}, "no readings"),
        ({"drive": drives() * 255}, "drive values from 0 to 255"),
        ({"drive": drives() - 0.5}, "drive values from -0.5"),
        ({"drive": np.where(drives() == 0.5, np.nan, drives())}, "is no number"),
        ({"xyz_cd": None}, "neither XYZ nor spectra"),
        ({"xyz_cd": TRUTH(drives())[:-1]}, "XYZ of shape"),
        ({"xyz_cd": np.where(drives() == 0.5, np.inf, 1.0)}, "no number"),
        ({"xyz_cd": TRUTH(drives()) - 20.0}, "a negative reading"),
        ({"names": ("a", "b")}, "2 names for"),
        ({"xyz_cd": None, "spectra": np.ones((len(drives()), 5))}, "spectra without their wavelengths"),
        (
            {"xyz_cd": None, "spectra": np.ones((len(drives()), 5)), "grid": Grid(400, 700, 10)},
            "spectra of shape",
        ),
    ],
)
def test_readings_are_checked(changed, what):
    with pytest.raises(InputError, match=what):
        readings(**changed)


def test_codes_are_checked():
    with pytest.raises(InputError, match="code values from 0 to 300 at 8 bits"):
        Readings.from_codes([[0, 0, 300]], 8, xyz_cd=[[1, 1, 1]])
    with pytest.raises(InputError, match="bit depth of 0"):
        Readings.from_codes([[0, 0, 1]], 0, xyz_cd=[[1, 1, 1]])
