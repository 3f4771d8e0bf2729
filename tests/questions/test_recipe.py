"""Recipes asked for: verdicts with a recipe's own doubt, the same from a job; weights; options that moved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import chi

from screenproof.errors import InputError
from screenproof.formats import read_library
from screenproof.proof import Viewing
from screenproof.proof.covariance import with_model
from screenproof.proof.judging import Judge
from screenproof.questions import questions
from screenproof.questions.form import filled
from screenproof.questions.opening import Open
from screenproof.questions.recipe.cards import MEAN_OF_RMS, judged_recipes, whole_status
from screenproof.questions.recipe.target import of_sample
from screenproof.subtractive.target import local_metric
from tests.ink_jobs import write_job


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_job(tmp_path_factory.mktemp("shop")).parent


def ask(question, folder, /, **given):
    return filled(questions()[question], given).ask(Open(folder=folder))


def test_the_judge_takes_up_the_root_mean_square_that_a_recipe_states():
    """sqrt(trace(M C)) is what a recipe calls its doubt (subtractive/doubt.py): it must come back."""
    lab = np.array([[40.0, 30.0, -20.0], [80.0, -5.0, 60.0]])
    doubt = np.array([0.51, 0.07])
    covariance = with_model(None, lab, MEAN_OF_RMS * doubt).covariance()
    back = np.sqrt(np.einsum("nij,nji->n", local_metric(lab), covariance))
    np.testing.assert_allclose(back, doubt, rtol=1e-9)


@pytest.mark.parametrize("doubt", [0.1, 0.17, 0.2, 0.3, 0.51, 1.0])
def test_a_recipe_on_its_target_passes_only_where_its_own_doubt_lets_it(folder, doubt):
    """A mixed colour that lies about the prediction by three normal components alike is off by a length of the chi
    distribution (SciPy): it passes 0.3 where the chance of more is within the risk of 5 %."""
    answer = ask("recipe find", folder, library="letdowns.csv", samples="target.csv", count=1)
    (recipe,) = answer.found.recipes
    assert recipe.de00 < 0.01
    wanted = of_sample(Open(folder=folder).samples("target.csv"), Viewing("D50", "cie1931"))
    grid = answer.samples.grid
    ((verdict,),) = judged_recipes(Judge.of_limit(0.3), [replace(recipe, doubt=doubt)], grid, wanted)
    sigma = doubt / np.sqrt(3.0)
    over = chi(3).sf(0.3 / sigma)
    assert verdict.status == ("pass" if over < 0.045 else "undecided")
    assert verdict.high == pytest.approx(sigma * chi(3).ppf(0.95), rel=0.05)
    if verdict.status == "undecided":
        assert (
            verdict.remedy.words
            == f"Mix this recipe and measure it: the fit of its components leaves {doubt:.2f} CIEDE2000 open."
        )


def test_a_doubtful_reading_of_the_target_is_counted_in(folder):
    given = {"library": "letdowns.csv", "samples": "target.csv", "count": 1, "limit": 0.3}
    assert ask("recipe find", folder, **given).status == "pass"
    doubted = ask("recipe find", folder, **given, instrument="basic")
    assert doubted.status == "undecided" and doubted.judged[0].high > 0.5
    (told,) = doubted.findings()
    assert told.says.startswith("Undecided whether recipe 1 meets Lid") and "better class" in told.do


def test_one_recipe_that_passes_is_enough():
    assert whole_status(["fail", "undecided", "pass"]) == "pass"
    assert whole_status(["fail", "undecided"]) == "undecided"
    assert whole_status(["fail", "fail"]) == "fail" and whole_status(["not judged"]) == "not judged"


def test_a_job_and_the_question_come_to_the_same_verdicts(folder):
    from screenproof.jobs import load_job, run_job

    record = run_job(load_job(folder / "job.toml")).recipes[0]
    answer = ask(
        "recipe find", folder, library="letdowns.csv", samples="target.csv", batch=10, to=["FL11"], limit=1.0
    )
    assert len(record.recipes) == len(answer.figures) == 3 and record.status == answer.status == "pass"
    for card, (own,), components in zip(record.recipes, answer.figures, answer.components, strict=True):
        first, *shifts = card.verdicts
        assert card.components == components and [one.what for one in shifts] == ["pair_shift"]
        assert replace(first, tolerance="") == replace(own, tolerance="")


def test_weights_are_written_in_grams_or_kilograms(folder):
    given = {"library": "letdowns.csv", "samples": "target.csv", "count": 1}
    plain = ask("recipe find", folder, **given, batch=0.25, resolution=0.001).to_dict()
    assert ask("recipe find", folder, **given, batch="250g", resolution="1 g").to_dict() == plain
    with pytest.raises(InputError, match="a weight of 0 kg"):
        ask("recipe find", folder, **given, batch="0g")
    words = {"library": "letdowns.csv", "samples": "target.csv", "trial": "trial.csv"}
    typed = ask("recipe correct", folder, **words, batch="White=8,Red earth=1500g,Blue=500g").to_dict()
    assert (
        ask("recipe correct", folder, **words, batch={"White": 8.0, "Red earth": 1.5, "Blue": 0.5}).to_dict()
        == typed
    )


def test_a_library_at_hand_is_as_good_as_its_file(folder):
    found = read_library(folder / "letdowns.csv")
    by_file = ask("recipe find", folder, library="letdowns.csv", samples="target.csv", count=2).to_dict()
    at_hand = ask("recipe find", folder, library=found, samples="target.csv", count=2).to_dict()
    assert {**at_hand, "library": by_file["library"]} == by_file


def test_what_belongs_to_another_target_is_refused(folder):
    for given, told in (
        ({"display": "srgb", "code": "1,2,3", "name": "Lid"}, "a name, and no file that it is in"),
        ({"samples": "target.csv", "bits": 10}, "no code to use it for"),
        ({"display": "srgb", "code": "#010203", "bits": 10}, "#rrggbb is a code of 8 bits"),
        ({"display": "srgb", "code": ["1,2,3", "4,5,6"]}, "2 codes for one target"),
        ({"samples": "target.csv", "risk": 0.1}, "no limit to decide by"),
    ):
        with pytest.raises(InputError, match=told):
            ask("recipe find", folder, library="letdowns.csv", **given)
