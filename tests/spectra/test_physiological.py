"""Eyes by age and field: how they are named, what they see, and what is said of a wrong one."""

from __future__ import annotations

import doctest
import importlib

import numpy as np
import pytest

from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import Grid, light, observer, observer_specs, physiological_observer, weights, white_point
from screenproof.spectra.physiological import matrix_to_xyz


@pytest.mark.parametrize("module", ["cielab", "observer", "physiological", "population"])
def test_examples_run(module):
    done = doctest.testmod(importlib.import_module(f"screenproof.spectra.{module}"))
    assert done.attempted > 0 and done.failed == 0


@pytest.mark.parametrize(
    ("written", "name", "label"),
    [
        ("age=60", "age=60,field=2", "60 years, 2 degrees"),
        ("field=10", "age=32,field=10", "32 years, 10 degrees"),
        (" Field = 1 , AGE=20.5 ", "age=20.5,field=1", "20.5 years, 1 degree"),
        (
            "deutan=6",
            "age=32,field=2,deutan=6",
            "anomalous trichromat (deutan, M cones shifted by 6 nm towards L), 32 years, 2 degrees",
        ),
        (
            "tritan=3,protan=20,field=10",
            "age=32,field=10,protan=20,tritan=3",
            "anomalous trichromat (protan, L cones shifted by 20 nm towards M; tritan, S cones shifted by 3 nm "
            "towards M), 32 years, 10 degrees",
        ),
        ("protan=0", "age=32,field=2", "32 years, 2 degrees"),
    ],
)
def test_an_eye_has_one_name_however_it_is_written(written, name, label):
    eye = observer(written)
    assert (eye.name, eye.label, eye.kind) == (name, label, "eye")
    assert observer(eye.name) is eye
    parts = dict(part.split("=") for part in name.split(","))
    assert (eye.age, eye.field) == (float(parts["age"]), float(parts["field"]))
    assert physiological_observer(**{key: float(value) for key, value in parts.items()}) is eye


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("age=90", "observer: age is 90\n  expected: 20 to 80 years, where CIE 170-1:2006 defines its model"),
        ("age=19.9", "age is 19.9"),
        ("field=0.5", "field is 0.5\n  expected: 1 to 10 degrees, where"),
        ("field=nan", "field is nan"),
        ("deutan=-1", "deutan is -1\n  expected: 0 to 20 nm"),
        ("protan=25,tritan=21", "protan is 25\n  expected: 0 to 20 nm\nobserver: tritan is 21"),
        ("protan=12,deutan=12", "protan and deutan are 24 nm together: L and M would change places\n  exp"),
        ("age=sixty", "observer 'age=sixty': age is 'sixty'\n  expected: a number, 20 to 80 years"),
        ("age=", "age is ''"),
        ("feild=2", "an eye has no 'feild'\n  expected: any of age, field, protan, deutan, tritan\n  to mend"),
        ("age=60,age=30", "age stands twice\n  to mend it: keep one of the two"),
        ("age=60,2", "'2' has no value\n  expected: age=60,field=2"),
        ("age=60,", "a comma with nothing beside it"),
        ("age=old,width=2", "age is 'old'\n  expected: a number, 20 to 80 years\nobserver 'age=old,width=2': an "),
        ("age60", "'age60'\n  expected: one of cie1931, cie1964, cie2015-2, cie2015-10, an eye "),
    ],
)
def test_what_is_wrong_of_an_eye_is_said(written, said):
    with pytest.raises(InputError) as error:
        observer(written)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("written", "specs"),
    [
        ("cie1931,age=60,field=2,age=25,field=10", ["cie1931", "age=60,field=2", "age=25,field=10"]),
        ("age=60, deutan=6 ,cie1931 , cam.csv,field=10", ["age=60,deutan=6", "cie1931", "cam.csv", "field=10"]),
        ("age=60,age=25", ["age=60", "age=25"]),
        ("cie2015-2,,cie1964,", ["cie2015-2", "cie1964"]),
        (" , ", []),
    ],
)
def test_a_list_of_observers_is_split_where_the_next_one_begins(written, specs):
    assert observer_specs(written) == specs


def test_matrices_between_2_and_10_degrees_are_between_those_of_2_and_10():
    two, six, ten = (matrix_to_xyz(field) for field in (2.0, 6.0, 10.0))
    assert np.allclose(six, (two + ten) / 2, atol=1e-12)
    assert np.array_equal(matrix_to_xyz(1.0), two)


def test_the_more_a_cone_is_shifted_the_less_red_and_green_differ():
    """What an anomalous trichromat is known by: common practice, no source."""
    grid = Grid(400.0, 700.0, 10.0)
    nm = grid.wavelengths
    d50 = light("D50")
    red = 0.1 + 0.5 / (1 + np.exp(-(nm - 590.0) / 10.0))
    green = 0.1 + 0.4 * np.exp(-(((nm - 530.0) / 40.0) ** 2))
    for kind in ("protan", "deutan"):
        seen = []
        for shift in (0.0, 5.0, 10.0, 15.0, 20.0):
            eye = physiological_observer(**{kind: shift})
            lab = xyz_to_lab(np.stack([red, green]) @ weights(d50, eye, grid), white_point(d50, eye))
            seen.append(float(np.hypot(*(lab[0, 1:] - lab[1, 1:]))))
        assert np.all(np.diff(seen) < 0) and seen[-1] < 0.6 * seen[0]


def test_an_old_eye_parts_a_pair_that_matches_for_a_young_one():
    """Two greys, one with a dip at 420 nm and a hump at 470 nm that cancel for 25 years, do not cancel for 75."""
    grid = Grid(380.0, 730.0, 10.0)
    nm, d50 = grid.wavelengths, light("D50")
    young, old = physiological_observer(25), physiological_observer(75)
    humps = np.stack([np.exp(-(((nm - at) / 12.0) ** 2)) for at in (420.0, 470.0, 540.0, 610.0)])
    amounts = np.linalg.solve((humps[1:] @ weights(d50, young, grid)).T, humps[0] @ weights(d50, young, grid))
    odd = 0.5 + 0.1 * (humps[0] - amounts @ humps[1:])
    pair = np.stack([np.full(nm.size, 0.5), odd])
    assert odd.min() > 0 and odd.max() < 1
    seen = []
    for eye in (young, old):
        lab = xyz_to_lab(pair @ weights(d50, eye, grid), white_point(d50, eye))
        seen.append(float(de2000(lab[:1], lab[1:])[0]))
    assert seen[0] < 1e-6 and seen[1] > 0.5
