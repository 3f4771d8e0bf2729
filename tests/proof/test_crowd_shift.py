"""What people see in other lights: person by person it is the screen shift of that person as the observer."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.errors import InputError
from screenproof.formats import read_samples
from screenproof.jobs.starter import colours_csv
from screenproof.proof import Viewing, crowd, match, screen_shift
from screenproof.proof.crowd_shift import screen_shift_crowd
from screenproof.spectra import light, observer, population


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    path = tmp_path_factory.mktemp("crowd") / "colours.csv"
    path.write_text(colours_csv(), encoding="utf-8")
    samples = read_samples(path)
    display = modelled_display("rgb-oled")
    viewing = Viewing(light("D50"), observer("cie1931"))
    return samples, match(samples, display, viewing), display, viewing


LIGHTS = [light("A"), light("FL11")]


def test_each_who_adapts_to_own_whites_sees_the_screen_shift_of_that_person(scene):
    people = population(12, seed=5)
    lights = [scene[3].light, *LIGHTS]
    seen = screen_shift_crowd(*scene, lights, people, whites="own")
    one_by_one = screen_shift(*scene, lights, people.observers)
    assert [one.light for one in seen] == ["D50", "A", "FL11"]
    assert np.allclose(np.stack([one.figures for one in seen], axis=1), one_by_one.de00, atol=1e-9)
    plain = screen_shift(*scene, lights, [scene[3].observer]).de00[..., 0]
    assert np.allclose(np.stack([one.standard for one in seen], axis=1), plain, atol=1e-9)


def test_in_the_viewing_light_it_is_the_crowd_of_the_match(scene):
    people = population(40)
    (seen,) = screen_shift_crowd(*scene, [scene[3].light], people)
    expected = crowd(*scene, people)
    assert np.allclose(seen.figures, expected.figures, atol=1e-9)
    for i in range(9):
        mine, theirs = seen.record(i, 2.0), expected.record(i, 2.0)
        assert np.allclose(mine.quantiles, theirs.quantiles, atol=1e-9)
        said = [(r.words, r.worst_age, r.share_above, r.light) for r in (mine, theirs)]
        assert said[0] == said[1]


def test_many_samples_are_the_same_piece_by_piece(scene, monkeypatch):
    from screenproof.proof import crowd_shift

    people = population(30)
    whole = screen_shift_crowd(*scene, LIGHTS, people)
    monkeypatch.setattr(crowd_shift, "_PAIRS_AT_ONCE", 60)
    for one, other in zip(whole, screen_shift_crowd(*scene, LIGHTS, people), strict=True):
        assert np.allclose(one.figures, other.figures, atol=1e-12)
        assert [one.words(i) for i in range(9)] == [other.words(i) for i in range(9)]


def test_what_cannot_be_known_is_refused(scene):
    samples, matched, _, viewing = scene
    people = population(10)
    with pytest.raises(InputError, match="spectra"):
        screen_shift_crowd(samples, matched, standard_display("srgb"), viewing, LIGHTS, people)
    absolute = Viewing(viewing.light, viewing.observer, "appearance")
    with pytest.raises(InputError, match="basis 'appearance'"):
        screen_shift_crowd(*scene[:3], absolute, LIGHTS, people)
