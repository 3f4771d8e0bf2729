"""Characterisations that cannot be fitted, each refused with its place, what was expected and how to mend it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import Colorimetry, Device, light, observer
from screenproof.subtractive import TintLimits, corners, fit_press, reach, separate, separate_spectra

TENTHS = np.arange(1, 11) / 10.0


@pytest.fixture(scope="module")
def invented(invented_press):
    return invented_press(("C", "M"))


@pytest.fixture(scope="module")
def good(invented):
    return replace(invented.samples(np.vstack([invented.ramps(TENTHS), corners(2)[-1:]])), source="chart.txt")


@pytest.fixture(scope="module")
def press(good):
    return fit_press(good, folds=3)


def without(samples, *rows):
    return samples.select(np.delete(np.arange(len(samples)), rows))


def with_tints(samples, change):
    values = samples.device.values.copy()
    change(values)
    return replace(samples, device=Device(samples.device.channels, values))


def with_curves(samples, change):
    values = samples.reflectance.copy()
    change(values)
    return replace(samples, reflectance=values)


def put(row, column, value):
    return lambda values: values.__setitem__((row, column), value)


# Rows of the chart: 0 the stock, 1 to 10 the ramp of C, 11 to 20 that of M, 21 the overprint.
MISTAKES = {
    "no tints": (lambda s: replace(s, device=None), "no tints stand beside the readings"),
    "a tint in percent": (lambda s: with_tints(s, put(3, 0, 30.0)), "a tint of 30"),
    "a negative tint": (lambda s: with_tints(s, put(3, 1, -0.1)), "a tint of -0.1"),
    "a tint that is no number": (lambda s: with_tints(s, put(3, 1, np.nan)), "a tint of nan"),
    "no bare stock": (lambda s: without(s, 0), "no patch of the bare stock"),
    "no solid": (lambda s: without(s, 20), "no solid of M: its ramp ends at 90 %"),
    "no ramp at all": (lambda s: without(s, *range(11, 21)), "no solid of M"),
    "a ramp that goes back": (
        lambda s: with_curves(s, lambda v: v.__setitem__(slice(5, 7), v[[2, 1]])),
        "the ramp of C goes back",
    ),
    "a solid as light as the stock": (
        lambda s: with_curves(s, lambda v: v.__setitem__(slice(11, 21), v[0])),
        "the solid of M (20: 0 100) has the colour of the bare stock",
    ),
    "a reading missing": (lambda s: with_curves(s, put(4, 8, np.nan)), "a reflectance above 1.5, or missing"),
    "percent for a fraction": (lambda s: with_curves(s, lambda v: np.multiply(v, 100.0, out=v)), "above 1.5"),
    "a channel named twice": (
        lambda s: replace(s, device=Device(("C", "C"), s.device.values)),
        "the channel C stands twice",
    ),
    "nine channels": (
        lambda s: replace(s, device=Device(tuple("abcdefghi"), np.zeros((len(s), 9)))),
        "9 channels",
    ),
    "XYZ beyond white": (
        lambda s: replace(
            s, reflectance=None, grid=None, colorimetry=Colorimetry(np.full((len(s), 3), 180.0), "D50", "cie1931")
        ),
        "an XYZ above 150",
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_what_cannot_be_fitted(good, name):
    spoil, says = MISTAKES[name]
    with pytest.raises(InputError) as caught:
        fit_press(spoil(good))
    assert says in str(caught.value) and "chart.txt" in str(caught.value)
    assert all(problem.expected for problem in caught.value.problems)


def test_every_problem_is_said_at_once(good):
    spoilt = with_curves(with_tints(good, put(3, 1, 7.0)), put(4, 8, np.nan))
    with pytest.raises(InputError) as caught:
        fit_press(spoilt)
    assert len(caught.value.problems) == 2
    with pytest.raises(InputError) as caught:
        fit_press(without(good, 0, 10, 20))
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"fit": [1, 0]}, "a fit set of"),
        ({"fit": np.zeros(22, dtype=bool)}, "some true"),
        ({"fit": np.arange(22) < 5}, "no solid"),
        ({"n": 0.5}, "Yule-Nielsen factor of 0.5"),
        ({"folds": 1}, "1 parts to judge"),
        ({"n": float("inf")}, "Yule-Nielsen factor of inf"),
    ],
)
def test_arguments_of_the_fit(good, given, says):
    with pytest.raises(InputError, match=says):
        fit_press(good, **given)


def test_a_small_step_back_is_the_noise_of_readings(good):
    """It is taken as level, and said."""

    def dip(values):
        values[8] = values[9] * 0.985

    press = fit_press(with_curves(good, dip), folds=3)
    assert any(note.kind == "odd" and "goes back by" in note.what for note in press.notes)
    assert (np.diff(press.curves[0].whole) > 0.0).all()


def test_readings_of_nothing_are_taken_for_next_to_nothing_and_said(good):
    press = fit_press(with_curves(good, put(10, 5, -0.001)), folds=3)
    assert any("reflect nothing or less" in note.what and note.kind == "odd" for note in press.notes)
    assert (press.predict([[1.0, 0.0], [1.0, 1.0]]) > 0.0).all()


def test_no_tones_between_is_assumed_and_said(invented):
    press = fit_press(invented.samples(corners(2)))
    assert press.held_out.count == 0 and np.isnan(press.held_out.mean)
    assert sum("no tones between stock and solid" in note.what for note in press.notes) == 2
    middle = press.predict([[0.5, 0.0]])[0]
    ends = press.predict([[0.0, 0.0], [1.0, 0.0]])
    assert np.allclose(middle, (0.5 * np.sqrt(ends).sum(axis=0)) ** 2, atol=1e-6)


D50, EYE = light("D50"), observer("cie1931")


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda p: separate(p, [[50, 0]]), "colours of shape"),
        (lambda p: separate(p, [[50, 0, float("nan")]]), "colour 1 is no number"),
        (lambda p: separate(p, [[50, 0, 0]], black="some"), "least, most, smooth"),
        (lambda p: separate(p, [[50, 0, 0]], limits=TintLimits(3.0, (1.0,))), "limits of 1 channels"),
        (lambda p: reach(p, [[50, 0, 0]], limits=TintLimits(3.0, (1.0, 1.0, 1.0))), "limits of 3 channels"),
        (lambda p: TintLimits(300.0, (100.0, 1.0)), "divide percentages by 100"),
        (lambda p: TintLimits(0.0, (1.0, 1.0)), "a limit of 0 on the total"),
        (lambda p: TintLimits(float("nan"), (1.0, 1.0)), "a limit of nan"),
        (
            lambda p: separate_spectra(p, np.ones((1, 5)), p.grid, under=D50, others=[light("A")], seen_by=EYE),
            "with 5 bands",
        ),
        (
            lambda p: separate_spectra(p, p.predict([[0, 0]]), p.grid, under=D50, others=[], seen_by=EYE),
            "no other light",
        ),
        (
            lambda p: separate_spectra(
                p, np.full((1, 36), np.nan), p.grid, under=D50, others=[light("A")], seen_by=EYE
            ),
            "reflectance that is no number",
        ),
    ],
)
def test_arguments_of_a_separation(press, call, says):
    with pytest.raises(InputError, match=says):
        call(press)
