"""What is known of readings: values, words, and how it goes with the samples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import (
    EMISSION_CLASSES,
    INSTRUMENT_CLASSES,
    Colorimetry,
    ColorimetryDoubt,
    EmissionDoubt,
    Grid,
    ReflectanceDoubt,
    Samples,
    doubt_of,
    emission_class,
    instrument_class,
    joined_doubt,
    shares_instrument,
)

GRID = Grid(400.0, 700.0, 100.0)


def samples(names, doubt=None, **more):
    return Samples(tuple(names), np.full((len(names), 4), 0.5), GRID, doubt=doubt, **more)


def test_doubt_goes_with_its_samples():
    each = ReflectanceDoubt(np.array([0.001, 0.002, 0.003]), readings=np.array([1, 2, 3]), instrument="one")
    chosen = samples("abc", each).select([2, 0])
    assert chosen.doubt.repeatability.tolist() == [0.003, 0.001] and chosen.doubt.readings.tolist() == [3, 1]
    bands = ReflectanceDoubt(np.array([[0.1, 0.2, 0.3, 0.4]]) / 100)
    both = Samples.joined([chosen, samples("d", bands)])
    assert both.doubt.repeatability.shape == (3, 4)
    assert both.doubt.repeatability[:, 1].tolist() == [0.003, 0.001, 0.002]
    assert both.doubt.readings.tolist() == [3, 1, 1] and both.doubt.instrument == ""
    with pytest.raises(ValueError, match="read-only"):
        each.repeatability[0] = 1.0


def test_joining_keeps_what_is_alike_and_the_largest_of_what_is_not():
    one, two = (
        ReflectanceDoubt(0.001, scale=0.01, stated="class"),
        ReflectanceDoubt(0.001, scale=0.002, zero=0.003),
    )
    found = joined_doubt([samples("a", one), samples("b", two)])
    assert (found.repeatability, found.scale, found.zero, found.readings) == (0.001, 0.01, 0.003, 1)
    assert found.stated == "job" and joined_doubt([samples("a"), samples("b")]) is None
    # What is not known of a part is 0 there, as it is without joining.
    part = joined_doubt([samples("a"), samples("b", one)])
    assert part.repeatability.tolist() == [0.0, 0.001] and part.instrument == ""
    lab = Samples(
        ("c",), colorimetry=Colorimetry([[20.0, 20.0, 20.0]], "D50", "cie1931"), doubt=ColorimetryDoubt(0.1)
    )
    with pytest.raises(InputError, match="one set"):
        joined_doubt([samples("a", one), lab])


def test_the_old_repeatability_is_a_doubt():
    assert doubt_of(samples("a", repeatability=0.004)).repeatability == 0.004
    assert doubt_of(samples("a")) is None and doubt_of(samples("a", ReflectanceDoubt())) is None
    lab = Samples(("c",), colorimetry=Colorimetry([[20.0, 20.0, 20.0]], "D50", "cie1931"), repeatability=0.1)
    assert doubt_of(lab) is None, "in reflectance factor, it says nothing about Lab"


def test_who_was_read_by_one_instrument():
    named = [
        samples("a", ReflectanceDoubt(0.001, instrument=name), source="x.csv") for name in ("one", "one", "two")
    ]
    assert shares_instrument(named[0], named[1]) and not shares_instrument(named[0], named[2])
    bare = [samples("a", ReflectanceDoubt(0.001), source=name) for name in ("x.csv", "x.csv", "y.csv", "")]
    assert shares_instrument(bare[0], bare[1]) and not shares_instrument(bare[0], bare[2])
    assert not shares_instrument(bare[3], replace(bare[3])) and not shares_instrument(samples("a"), samples("a"))


def test_words_have_units():
    assert ReflectanceDoubt(0.002, scale=0.004, zero=0.001, wavelength_nm=0.3, readings=3).words() == (
        "one reading repeats within 0.002 in reflectance factor (bands go together over 20 nm); instruments agree "
        "within 0.4 % of the reading, 0.001 in the dark, 0.3 nm; 3 readings of each"
    )
    spread = ColorimetryDoubt(np.array([0.1, 0.25]), readings=np.array([1, 5]))
    assert (
        spread.words() == "one reading repeats within 0.1 to 0.25 in each of L*, a*, b*; 1 to 5 readings of each"
    )
    assert "CIEDE2000" in EmissionDoubt(model_de=0.5).words() and ReflectanceDoubt().words() == "nothing is known"


def test_classes_go_from_the_best_to_the_worst():
    curves = [made.reflectance for made in INSTRUMENT_CLASSES.values()]
    parts = [(own.repeatability, own.scale, own.zero, own.wavelength_nm) for own in curves]
    labs = [made.colorimetry for made in INSTRUMENT_CLASSES.values()]
    parts = [(*own, lab.repeatability_de, lab.agreement_de) for own, lab in zip(parts, labs, strict=True)]
    assert np.all(np.diff(np.array(parts), axis=0) > 0.0)
    screens = [(c.emission.luminance, c.emission.chromaticity, c.emission.luminance_agreement,
                c.emission.chromaticity_agreement) for c in EMISSION_CLASSES.values()]  # fmt: skip
    assert np.all(np.diff(np.array(screens), axis=0) > 0.0)
    assert instrument_class("Production").reflectance.stated == "class"
    assert emission_class("basic").emission.known


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (lambda: ReflectanceDoubt(-0.001), "repeatability: -0.001 is no standard deviation"),
        (lambda: ReflectanceDoubt(0.001, scale=float("nan")), "scale: nan is no standard deviation"),
        (lambda: ReflectanceDoubt(0.001, readings=0), "readings: 0 readings"),
        (lambda: ReflectanceDoubt(0.001, readings=np.array([1.5])), r"readings: \[ ?1.5\] readings"),
        (lambda: ReflectanceDoubt(np.zeros((1, 2, 3))), "more than two axes"),
        (lambda: ColorimetryDoubt(np.zeros((2, 2))), "more than one axis"),
        (lambda: EmissionDoubt(luminance=np.array([0.1, 0.2])), "more than one value for a screen"),
        (lambda: samples("ab", ReflectanceDoubt(np.zeros(3))), r"repeatability of shape \(3,\) for 2 samples"),
        (lambda: samples("ab", ReflectanceDoubt(np.zeros((2, 3)))), "2 samples of 4 bands"),
        (lambda: samples("ab", ReflectanceDoubt(0.001, readings=np.array([1, 2, 3]))), "readings of shape"),
        (lambda: samples("a", ColorimetryDoubt(0.1)), "doubt of Lab for samples with curves"),
        (lambda: instrument_class("laboratry"), "did you mean 'laboratory'"),
        (lambda: emission_class("perfect"), "one of reference, laboratory, production, basic"),
    ],
)
def test_what_is_no_doubt_is_told(make, text):
    with pytest.raises(InputError, match=text):
        make()
