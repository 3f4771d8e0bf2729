"""Lists of tints: columns found by name, units said or told, and what is wrong with them."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_tints

CMYK = ("C", "M", "Y", "K")


def made(tmp_path, text):
    path = tmp_path / "tints.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "header",
    [
        "name,C,M,Y,K",
        "name,CMYK_C,CMYK_M,CMYK_Y,CMYK_K",
        "name,Cyan,Magenta,Yellow,Black",
        "name,4CLR_1,4CLR_2,4CLR_3,4CLR_4",
    ],
)
def test_the_columns_of_the_process_inks_have_several_spellings(tmp_path, header):
    found = read_tints(made(tmp_path, f"# tints: percent\n{header}\na,10,20,30,40\n"), CMYK)
    np.testing.assert_allclose(found.tints, [[0.1, 0.2, 0.3, 0.4]])
    assert found.names == ("a",) and found.channels == CMYK and found.notes == ()


def test_channels_of_any_name_in_any_order(tmp_path):
    found = read_tints(made(tmp_path, "# tints: fraction\nname,Ember,Teal\na,0.25,0.5\n"), ("Teal", "Ember"))
    np.testing.assert_allclose(found.tints, [[0.5, 0.25]])


@pytest.mark.parametrize(
    ("statement", "value", "wanted", "kind"),
    [
        ("# tints: percent\n", "50", 0.5, None),
        ("# tints: fraction\n", "0.5", 0.5, None),
        ("# unit: fraction\n", "0.5", 0.5, None),
        ("# device_scale: 255\n", "51", 0.2, None),
        ("", "50", 0.5, "percent"),
        ("", "0.5", 0.5, "fractions"),
    ],
)
def test_the_unit_is_stated_or_told_and_said(tmp_path, statement, value, wanted, kind):
    found = read_tints(made(tmp_path, f"{statement}name,C,M,Y,K\na,{value},0,0,0\n"), CMYK)
    assert found.tints[0, 0] == pytest.approx(wanted)
    said = [note.what for note in found.notes if note.kind == "assumed"]
    assert (kind is None and not said) or kind in said[0]


def test_a_characterisation_serves_as_a_list(published, tmp_path):
    from tests.conftest import SHARED

    found = read_tints(SHARED / "FOGRA39L.txt", CMYK)
    assert found.tints.shape == (1617, 4) and found.tints.max() == 1.0 and found.names[0] == "1"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name,C,M,Y\na,1,2,3\n", ("no column for the channel K", "line 1")),
        ("name,C,M,Y,K,Orange\na,1,2,3,4,50\n", ("the press has no channel 'Orange'", "channels C, M, Y, K")),
        ("name,C,M,Y,Blak\na,1,2,3,4\n", ("no channel 'Blak'", "no column for the channel K")),
        (
            "# tints: fraction\nname,C,M,Y,K\na,0,0,0,0.5\nb,0,50,0,0\n",
            ("a tint of 50 on a scale of 0 to 1", "line 4"),
        ),
        ("# tints: percent\nname,C,M,Y,K\na,0,0,0,-5\n", ("a tint of -5", "line 3")),
        ("# tints: permille\nname,C,M,Y,K\na,0,0,0,5\n", ("tints in 'permille'", "line 1")),
        ("name,C,M,Y,K\na,0,1,0,1\n", ("a solid, or one percent?", "# tints: fraction")),
        ("name,C,M,Y,K\na,0,x,0,1\n", ("'x' is no number", "line 2")),
        ("name,C,M,Y,K\na,1,2,3,4\na,4,3,2,1\n", ("'a' stands 2 times with different values",)),
        ("# only this\n", ("only comments and no table",)),
        ("# kind: letdowns\nname,C,M,Y,K\na,1,2,3,4\n", ("letdowns of pigments",)),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, says):
    with pytest.raises(InputError) as caught:
        read_tints(made(tmp_path, text), CMYK)
    message = str(caught.value)
    assert "tints.csv" in message
    for part in says:
        assert part in message, message
