"""What the standard observers are called: now, by their field, before they were renamed, and in files."""

from __future__ import annotations

import pytest

from screenproof.errors import InputError
from screenproof.spectra import is_standard, observer, observer_names, standard_name, stated_observer

FORMER = {"1931-2": "cie1931", "1964-10": "cie1964", "2015-2": "cie2015-2", "2015-10": "cie2015-10"}


def test_their_names():
    assert observer_names() == ("cie1931", "cie1964", "cie2015-2", "cie2015-10")
    for name in observer_names():
        assert observer(name).name == name == standard_name(name) and not observer(name).notes
    assert [observer(name).field for name in observer_names()] == [2.0, 10.0, 2.0, 10.0]
    assert observer("cie1931").label == "CIE 1931, 2 degrees"


@pytest.mark.parametrize(("field", "name"), [("2", "cie1931"), ("10", "cie1964"), (" 10 ", "cie1964")])
def test_a_field_alone_is_an_observer_and_that_is_said(field, name):
    """CIE 15:2018: the 2 degree observer is that of 1931, the 10 degree observer that of 1964."""
    found = observer(field)
    assert found.name == standard_name(field) == name
    assert (found.at_1nm == observer(name).at_1nm).all()
    (note,) = found.notes
    degrees = field.strip()
    assert note.kind == "assumed" and note.what == f"observer '{degrees}' is taken as {name} ({degrees} degrees)"


@pytest.mark.parametrize(("former", "name"), FORMER.items())
def test_a_former_name_is_answered_with_the_new_one(former, name):
    assert is_standard(former)
    with pytest.raises(InputError) as error:
        observer(former)
    assert str(error.value) == f"the observer {former!r} is called {name} now\n  to mend it: write {name}"


@pytest.mark.parametrize(
    ("written", "near"),
    [
        ("cie1932", "cie1931"),
        ("CIE1964", "cie1964"),
        ("1931", "cie1931"),
        ("1932-2", "cie1931"),
        ("cie1964-10", "cie1964"),
        ("cie2015", "cie2015-2"),
        ("2006-10", "cie2015-10"),
        ("10°", "cie1964"),
        ("10 deg", "cie1964"),
        ("2 degrees", "cie1931"),
    ],
)
def test_the_nearest_name_is_told(written, near):
    with pytest.raises(InputError) as error:
        observer(written)
    assert f"no observer is called {written!r}" in str(error.value)
    assert f"did you mean {near!r}?" in str(error.value)


@pytest.mark.parametrize("written", ["5", "me", "20", "twelve"])
def test_nothing_is_meant_by_what_is_near_to_none(written):
    with pytest.raises(InputError) as error:
        observer(written)
    assert "did you mean" not in str(error.value) and not is_standard(written)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        *FORMER.items(),
        *((name, name) for name in FORMER.values()),
        ("2", "cie1931"),
        ("'10'", "cie1964"),
        ("OBSERVER, 2 degree", "cie1931"),
        ("OBSERVER, 1964-10", "cie1964"),
        ("10.0", "cie1964"),
        ("CIE 1964", "cie1964"),
        ("1931", "cie1931"),
        ("CIE 2015 10 degree", "cie2015-10"),
        ("CIE 170-2:2015, 2", "cie2015-2"),
        ("me", None),
        ("12", None),
        ("2015", None),
    ],
)
def test_what_a_file_states(text, name):
    assert stated_observer(text) == name
