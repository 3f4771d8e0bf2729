"""Words for hues and differences. The rules are common practice, no source; the names are our own choice."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.appearance import difference_words, difference_words_many, hue_name, hue_names


@pytest.mark.parametrize(
    ("ref", "lab", "words"),
    [
        ([50, 50, 25], [54, 50, 25], "lighter"),
        ([50, 50, 25], [46, 50, 25], "darker"),
        ([50, 50, 25], [50, 60, 30], "stronger"),
        ([50, 50, 25], [50, 40, 20], "weaker"),
        ([50, 50, 25], [50, 46, 32], "yellower"),
        ([50, 50, 20], [50, 53, 10], "bluer"),
        ([80, 0, 90], [80, -9, 89.5], "greener"),
        ([80, 0, 90], [80, 9, 89.5], "redder"),
        ([50, -50, 12], [50, -49, 20], "yellower"),
        ([50, -50, 12], [50, -51, 2], "bluer"),
        ([40, -15, -45], [40, -22, -42], "greener"),
        ([40, -15, -45], [40, -7, -46.9], "redder"),
        ([50, 0, 0], [50, -2, 0], "greener"),
        ([50, 0, 0], [50, 2, 0], "redder"),
        ([50, 0, 0], [50, 0, 2], "yellower"),
        ([50, 0, 0], [50, 0, -2], "bluer"),
        ([50, 50, 25], [50, 50, 25], "the same"),
        ([50, 50, 25], [50.01, 50, 25], "the same"),
    ],
)
def test_a_difference_in_one_direction_has_one_word(ref, lab, words):
    assert difference_words(ref, lab) == words


def test_the_greatest_part_comes_first_and_small_parts_are_left_out():
    assert difference_words([50, 50, 25], [56, 56, 28]) == "lighter, stronger"
    assert difference_words([50, 50, 25], [52, 62, 31]) == "stronger, lighter"
    assert difference_words([50, 50, 25], [50.3, 62, 31]) == "stronger"


def test_reversing_the_pair_reverses_the_word():
    assert difference_words([50, 0, 0], [53, -1, 4]) == "yellower, lighter"
    assert difference_words([53, -1, 4], [50, 0, 0]) == "bluer, darker"


def test_hues_go_round_the_circle_by_name():
    angles = np.radians([30.0, 60.0, 90.0, 118.0, 150.0, 200.0, 260.0, 305.0, 330.0, 350.0])
    lab = np.stack([np.full(10, 50.0), 40.0 * np.cos(angles), 40.0 * np.sin(angles)], axis=-1)
    assert hue_names(lab).tolist() == [
        "red", "orange", "yellow", "yellow-green", "green", "blue-green", "blue", "violet", "purple", "red",
    ]  # fmt: skip
    assert [hue_name(lab) for lab in ([95, 0, -2], [50, 2, 2], [10, 0, 0])] == ["white", "grey", "black"]


def test_many_at_once_are_the_same_words():
    rng = np.random.default_rng(12)
    refs = np.stack([rng.uniform(0, 100, 40), rng.normal(0, 30, 40), rng.normal(0, 30, 40)], axis=-1)
    others = refs[:, np.newaxis] + rng.normal(0.0, 2.0, (40, 3, 3))
    whole = difference_words_many(refs[:, np.newaxis], others)
    assert whole.shape == (40, 3)
    assert all(whole[i, j] == difference_words(refs[i], others[i, j]) for i in range(40) for j in range(3))
