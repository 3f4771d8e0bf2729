"""Samples taken by name, place, slice, list and mask; their Lab; as a data frame; and in short words."""

from __future__ import annotations

import importlib.util
import sys
from types import SimpleNamespace

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import Colorimetry, Condition, Device, Grid, Samples, light, observer

NM = Grid(380.0, 730.0, 10.0)
NAMES = ("Tea", "Rose", "Leaf", "Sky", "Earth")


@pytest.fixture
def samples():
    """Five invented curves, from dark to light, with the values of a press."""
    curves = np.linspace(0.1, 0.9, 5)[:, None] * np.linspace(0.5, 1.0, NM.count)
    tints = Device(("K",), np.linspace(1.0, 0.0, 5)[:, None])
    return Samples(NAMES, curves, NM, device=tints, condition=Condition(filter="M1"), source="tins.csv")


@pytest.fixture
def colours():
    xyz = np.array([[20.0, 21.0, 15.0], [5.0, 4.0, 3.0]])
    return Samples(("Tea", "Rose"), colorimetry=Colorimetry(xyz, "D50", "cie1931"))


@pytest.mark.parametrize(
    ("key", "names"),
    [
        ("Tea", ["Tea"]),
        (0, ["Tea"]),
        (-1, ["Earth"]),
        (np.int64(3), ["Sky"]),
        (slice(1, 3), ["Rose", "Leaf"]),
        (slice(None, None, -2), ["Earth", "Leaf", "Tea"]),
        (["Sky", "Tea"], ["Sky", "Tea"]),
        (("Rose", -1, 2), ["Rose", "Earth", "Leaf"]),
        (np.array([4, 1]), ["Earth", "Rose"]),
        (np.array(["Leaf"]), ["Leaf"]),
        (np.array([True, False, False, True, False]), ["Tea", "Sky"]),
        ([False, False, True, False, False], ["Leaf"]),
    ],
)
def test_samples_are_taken_with_all_that_belongs_to_them(samples, key, names):
    taken = samples[key]
    at = [NAMES.index(name) for name in names]
    assert isinstance(taken, Samples) and taken.names == tuple(names)
    np.testing.assert_array_equal(taken.reflectance, samples.reflectance[at])
    np.testing.assert_array_equal(taken.device.values, samples.device.values[at])
    assert (taken.source, taken.condition, taken.grid) == ("tins.csv", samples.condition, NM)


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("Tee", ["no sample is called 'Tee'", "nearest names: Tea", "tins.csv"]),
        (["Tea", "leaf"], ["no sample is called 'leaf'", "nearest names: Leaf"]),
        (5, ["no sample 5 among 5", "0 to 4"]),
        (-6, ["no sample -6", "-1 back to -5"]),
        (1.0, ["1.0 names no sample", "a name, a place from 0 to 4"]),
        (None, ["None names no sample"]),
        (True, ["True names no sample"]),
        ([1, 2.5], ["2.5 names no sample"]),
        (np.array([[0, 1]]), ["[0, 1] names no sample"]),
        ([], ["no sample is asked for"]),
        (slice(3, 3), ["no sample is asked for"]),
        (np.zeros(5, dtype=bool), ["no sample is asked for"]),
        ([True, False], ["a mask of 2 for 5 samples"]),
        (["Tea", 0], ["'Tea' stands twice"]),
    ],
)
def test_what_names_no_sample_is_said(samples, key, said):
    with pytest.raises(InputError) as refused:
        samples[key]
    assert all(words in str(refused.value) for words in said)


def test_a_loop_gives_one_sample_at_a_time(samples):
    each = list(samples)
    assert len(each) == len(samples) == 5
    assert [one.names for one in each] == [(name,) for name in NAMES]
    np.testing.assert_array_equal(np.concatenate([one.reflectance for one in each]), samples.reflectance)
    assert "Rose" in samples and "rose" not in samples and each[0] not in samples


@pytest.mark.parametrize(("lamp", "eye"), [("D50", "cie1931"), ("a", "cie1964"), ("FL11", "age=60,field=2")])
def test_lab_by_name_against_colour_science(samples, lamp, eye, colour):
    """From XYZ and the white, both by this package's weights, colour-science makes the Lab."""
    found = samples.lab(lamp, eye)
    assert found.shape == (5, 3)
    who, under = observer(eye), light(lamp)
    xyz = samples.xyz([under], [who])[:, 0, 0]
    white = Samples(("white",), np.ones((1, NM.count)), NM).xyz([under], [who])[0, 0, 0]
    theirs = colour.XYZ_to_Lab(xyz / 100.0, colour.XYZ_to_xy(white))
    # The perfect diffuser has Y = 100 to rounding on this grid.
    np.testing.assert_allclose(found, theirs, atol=2e-3)
    np.testing.assert_array_equal(samples.lab(under, who), found)


def test_lab_of_the_perfect_diffuser_is_100():
    white = Samples(("white",), np.ones((1, NM.count)), NM)
    np.testing.assert_allclose(white.lab("FL2", "cie2015-10"), [[100.0, 0.0, 0.0]], atol=1e-3)


def test_lab_of_what_is_known_in_one_light_alone(colours, colour):
    """The white is that of ASTM E308-18, Table 5; at 1 nm Z is 0.008 less, which is 0.004 in b*."""
    theirs = colour.XYZ_to_Lab(colours.colorimetry.xyz / 100.0, colour.XYZ_to_xy([96.422, 100.0, 82.521]))
    np.testing.assert_allclose(colours.lab("D50", "cie1931"), theirs, atol=5e-3)
    with pytest.raises(InputError, match="measure the reflectance curves"):
        colours.lab("A", "cie1931")
    with pytest.raises(InputError, match="a float is no light"):
        colours.lab(5000.0, "cie1931")
    with pytest.raises(InputError, match="a NoneType is no observer"):
        colours.lab("D50", None)


def test_a_frame_needs_pandas_and_says_so(samples, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(InputError) as refused:
        samples.to_frame()
    assert "pandas is not installed" in str(refused.value) and "pip install pandas" in str(refused.value)


def test_a_frame_has_a_row_for_each_sample(samples, colours, monkeypatch):
    """With pandas itself where it is installed; else what would be handed to it."""
    if importlib.util.find_spec("pandas") is None:

        def frame(values, index, columns):
            return SimpleNamespace(values=values, index=index, columns=columns)

        monkeypatch.setitem(sys.modules, "pandas", SimpleNamespace(DataFrame=frame))
    curves = samples.to_frame()
    assert list(curves.index) == list(NAMES) and list(curves.columns) == NM.wavelengths.tolist()
    np.testing.assert_array_equal(curves.values, samples.reflectance)
    xyz = colours.to_frame()
    assert list(xyz.index) == ["Tea", "Rose"] and list(xyz.columns) == ["X", "Y", "Z"]
    np.testing.assert_array_equal(xyz.values, colours.colorimetry.xyz)


def test_the_short_form_fits_a_line(samples, colours):
    assert repr(samples) == "Samples(5: 'Tea', 'Rose', 'Leaf' ...; 380 to 730 nm by 10 nm, M1, tins.csv)"
    assert repr(colours) == "Samples(2: 'Tea', 'Rose'; XYZ for D50, cie1931)"
