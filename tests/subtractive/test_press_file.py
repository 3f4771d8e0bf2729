"""A press as plain data and back, and what of a damaged file is said."""

from __future__ import annotations

import copy
import json

import numpy as np
import pytest

from screenproof.appearance import de2000
from screenproof.errors import InputError
from screenproof.subtractive import corners, fit_press, press_from_dict, press_to_dict
from screenproof.subtractive.press_file import FIELDS, SCHEMA

TENTHS = np.arange(1, 11) / 10.0


@pytest.fixture(scope="module")
def press(invented_press):
    """Spectral, three channels, with levels between, overprints missing, notes and a stated error."""
    invented = invented_press(("C", "M", "Y"))
    inner = np.round(np.random.default_rng(4).random((40, 3)), 3)
    return fit_press(
        invented.samples(np.vstack([invented.ramps(TENTHS), corners(3)[:-1], inner])), name="sheet-fed", folds=3
    )


@pytest.fixture(scope="module")
def plain(press):
    return press_to_dict(press)


def test_it_goes_through_json_and_back(press, plain):
    back = press_from_dict(json.loads(json.dumps(plain, allow_nan=False)))
    assert press_to_dict(back) == plain
    tints = np.random.default_rng(5).random((300, 3))
    assert np.max(de2000(press.lab(tints), back.lab(tints))) < 1e-3
    assert back.channels == press.channels and back.n == press.n and back.name == "sheet-fed"
    assert back.grid == press.grid and back.held_out.patches == press.held_out.patches
    assert back.held_out.mean == pytest.approx(press.held_out.mean, abs=1e-4)
    assert back.notes == press.notes and back.grids == press.grids
    assert back.notes_on([[1.0, 1.0, 1.0]]) == press.notes_on([[1.0, 1.0, 1.0]])
    assert np.array_equal(back.support, press.support) and back.limits == press.limits


def test_a_press_of_xyz_keeps_its_light_and_observer(press):
    from dataclasses import replace

    seen = replace(press, grid=None, light="D65", observer="cie1964", nodes=100.0 * press.nodes[..., :3])
    curves = tuple(type(c)(c.tints, c.coverage[:, :3], c.whole) for c in press.curves)
    back = press_from_dict(press_to_dict(replace(seen, curves=curves)))
    assert (back.light, back.observer, back.grid) == ("D65", "cie1964", None)
    assert np.allclose(back.nodes, seen.nodes, rtol=1e-5)


def test_the_observer_of_a_press_of_an_earlier_version_goes_by_its_present_name(plain):
    former = copy.deepcopy(plain)
    former["held_out"]["observer"] = "1931-2"
    former["colour"] = {"kind": "XYZ", "light": "D65", "observer": "1964-10", "scale": "Y = 100"}
    former["nodes"] = [[100.0 * value for value in row[:3]] for row in plain["nodes"]]
    for curve in former["tone_curves"]:
        curve["coverage"] = [row[:3] for row in curve["coverage"]]
    back = press_from_dict(former)
    assert (back.observer, back.held_out.observer) == ("cie1964", "cie1931")
    assert press_to_dict(back)["colour"]["observer"] == "cie1964"


def test_it_is_made_to_be_read(plain):
    assert plain["schema"] == SCHEMA and tuple(plain) == FIELDS
    assert plain["colour"] == {"kind": "reflectance factor", "start_nm": 380.0, "stop_nm": 730.0, "step_nm": 10.0}
    assert plain["tone_curves"][1]["channel"] == "M" and plain["tone_curves"][1]["tints"][:2] == [0.0, 0.1]
    assert len(plain["nodes"]) == len(plain["support"]) and set(plain["support"]) <= set("mbe")
    assert {"mean", "p95", "max", "count", "how", "patches"} <= set(plain["held_out"])
    assert max(len(str(value)) for row in plain["nodes"] for value in row) <= 12


def spoil(*path, to):
    def change(data):
        holder = data
        for key in path[:-1]:
            holder = holder[key]
        if to is KeyError:
            del holder[path[-1]]
        else:
            holder[path[-1]] = to(holder[path[-1]]) if callable(to) else to

    return change


MISTAKES = {
    "another schema": (spoil("schema", to="screenproof-result/1"), "schema is 'screenproof-result/1'"),
    "a later version": (spoil("schema", to="screenproof-press/9"), "fit the press again with this version"),
    "no nodes": (spoil("nodes", to=KeyError), "nodes: is missing"),
    "a node cut off": (spoil("nodes", to=lambda rows: rows[:-1]), "nodes: has the shape"),
    "a band cut off": (spoil("nodes", 3, to=lambda row: row[:-1]), "rows of unlike length"),
    "a word among numbers": (spoil("nodes", 3, 2, to="dark"), "what is no number"),
    "a node of nothing": (spoil("nodes", 3, 2, to=0.0), "nodes: run from 0 to"),
    "a node in percent": (spoil("nodes", 3, 2, to=45.0), "up to 1.5"),
    "not finite": (spoil("nodes", 3, 2, to=float("nan")), "not finite"),
    "support too short": (spoil("support", to="mm"), "support: has 2 letters"),
    "support unknown": (spoil("support", to=lambda s: "x" + s[1:]), "m, b or e"),
    "n below 1": (spoil("yule_nielsen_n", to=0.4), "yule_nielsen_n: is 0.4"),
    "n as a word": (spoil("yule_nielsen_n", to="two"), "yule_nielsen_n: is 'two'"),
    "a channel twice": (spoil("channels", to=["C", "C", "Y"]), "unlike names"),
    "nine channels": (spoil("channels", to=list("abcdefghi")), "1 to 8 unlike names"),
    "a curve missing": (spoil("tone_curves", to=lambda c: c[:2]), "tone_curves: are 2"),
    "a curve that falls": (spoil("tone_curves", 0, "whole", 3, to=0.05), "tone_curves.C: does not rise"),
    "a curve that ends early": (spoil("tone_curves", 1, "tints", -1, to=0.95), "do not rise from 0 to 1"),
    "a curve of unlike length": (
        spoil("tone_curves", 1, "coverage", to=lambda c: c[:-1]),
        "tone_curves.M.coverage",
    ),
    "levels of two channels": (spoil("levels", to=lambda c: c[:2]), "levels: are 2"),
    "levels out of order": (spoil("levels", 2, to=lambda c: c[::-1]), "levels.Y"),
    "one level": (spoil("levels", 2, to=[0.0]), "levels.Y"),
    "limits in percent": (spoil("limits", "channels", to=[100, 100, 100]), "limits: a limit of 100"),
    "no total": (spoil("limits", "total", to=KeyError), "limits.total: is missing"),
    "colour of no kind": (spoil("colour", "kind", to="density"), "colour.kind"),
    "uneven wavelengths": (spoil("colour", "step_nm", to=11.0), "cannot be walked"),
    "held out in words": (spoil("held_out", to="good"), "held_out: is 'good'"),
    "a note of no kind": (spoil("notes", to=[{"kind": "loud", "what": "x"}]), "kind (odd, assumed"),
    "a grid of two channels": (spoil("grids", to=[{"levels": [[0, 1], [0, 1]]}]), "grids.1.levels"),
    "a condition unknown": (spoil("condition", to={"filter": "M9"}), "condition: measurement condition 'M9'"),
    "a field that is not known": (lambda data: data.update(gloss=3), "gloss: is not known"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_damaged_file_is_refused(plain, name):
    change, says = MISTAKES[name]
    data = copy.deepcopy(plain)
    change(data)
    with pytest.raises(InputError) as caught:
        press_from_dict(data, file="a.press.json")
    assert says in str(caught.value) and "a.press.json" in str(caught.value)
    assert all(problem.expected for problem in caught.value.problems)


@pytest.mark.parametrize("data", [None, [], "press", {}, {"channels": ["C"]}])
def test_what_is_no_press_is_refused(data):
    with pytest.raises(InputError, match="does not say its schema"):
        press_from_dict(data)


def test_all_mistakes_are_said_at_once(plain):
    data = copy.deepcopy(plain)
    data["limits"] = {"total": -1, "channels": [1, 1]}
    data["levels"][0] = [0.0, 0.5]
    with pytest.raises(InputError) as caught:
        press_from_dict(data)
    assert len(caught.value.problems) >= 3
