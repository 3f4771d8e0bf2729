"""The group recipe: recipes found again, batches corrected, libraries, and the caution on all of it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.ink_scenes import LETDOWN_HEAD, letdowns_csv, paint, write_shop


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_shop(tmp_path)


def answer(done):
    assert done.code in (0, 1) and done.err == "", done.err
    return json.loads(done.out)


FIND = ["recipe", "find", "letdowns.csv", "target.csv"]


def test_a_bare_recipe_prints_its_help(cli):
    done = cli("recipe")
    assert "find" in done.out + done.err and "correct" in done.out + done.err and "Traceback" not in done.err
    assert "about colour only" in cli("recipe", "--help").out.lower()


def test_the_recipe_that_made_the_colour_is_found_again(shop, cli):
    found = answer(cli(*FIND, "--batch", "20", "--components", "3", "--json"))
    first = found["recipes"][0]
    parts = {part["name"]: part for part in first["components"]}
    assert set(parts) == {"Red earth", "Blue", "White"} and list(parts)[-1] == "White"
    assert parts["Red earth"]["amount"] == pytest.approx(0.15 * 20, rel=0.02)
    assert parts["Blue"]["amount"] == pytest.approx(0.05 * 20, rel=0.02)
    assert sum(part["amount"] for part in parts.values()) == pytest.approx(20.0)
    assert first["de00"] < 0.1 and max(shift["de00"] for shift in first["shifts"]) < 0.1 and found["reached"]
    np.testing.assert_allclose(first["reflectance"]["values"], paint(Red_earth=0.15, Blue=0.05), atol=0.002)
    assert first["cost"] == pytest.approx(20 * (0.15 * 8 + 0.05 * 13 + 0.8 * 3), rel=0.02)
    assert found["light"] == "D50" and found["lights"] == ["A", "FL11"] and found["pigments"] == 6


def test_every_recipe_output_has_the_caution(shop, cli):
    from screenproof.subtractive import RECIPE_CAUTION

    correct = ["recipe", "correct", "letdowns.csv", "--batch", "batch.csv", "--trial", "trial.csv"]
    for words in (FIND, [*correct, "target.csv"], ["recipe", "library", "letdowns.csv"]):
        assert RECIPE_CAUTION in cli(*words).out
        notes = answer(cli(*words, "--json"))["notes"]
        assert [note["what"] for note in notes if note["kind"] == "caution"] == [RECIPE_CAUTION]


def test_without_a_pigment_the_next_best_is_taken_and_judged(shop, cli):
    found = answer(cli(*FIND, "--without", "Blue", "--json"))
    assert all("Blue" not in [part["name"] for part in one["components"]] for one in found["recipes"])
    assert found["pigments"] == 5
    failed = cli(*FIND, "--without", "Blue,Green,Carbon,Violet", "--limit", "1")
    assert (
        failed.code == 1 and "NOT reached within 1 CIEDE2000: no mixture" in failed.out and ", fail" in failed.out
    )


def test_amounts_are_rounded_to_the_scale(shop, cli):
    found = answer(cli(*FIND, "--batch", "5", "--resolution", "0.01", "--json"))
    for recipe in found["recipes"]:
        for part in recipe["components"]:
            assert part["amount"] == pytest.approx(round(part["amount"], 2), abs=1e-12)
        assert sum(part["amount"] for part in recipe["components"]) == pytest.approx(5.0, abs=1e-12)


def test_a_screen_target_allows_any_metamer_and_says_so(shop, cli):
    found = answer(cli("recipe", "find", "letdowns.csv", "--display", "srgb", "--code", "150,110,110", "--json"))
    assert any("any of its metamers is allowed" in note["what"] for note in found["notes"])
    assert found["target"]["reflectance"] is None and found["recipes"][0]["rms"] is None
    assert found["recipes"][0]["de00"] < 1.0


def test_predicted_curves_are_written(shop, cli):
    from screenproof.formats import read_samples

    done = cli(*FIND, "--count", "2", "-o", "recipes.csv")
    assert done.code == 0 and "written: recipes.csv" in done.out
    assert read_samples(shop / "recipes.csv").names == ("Recipe 1", "Recipe 2")


def test_a_batch_that_is_off_is_brought_home(shop, cli):
    words = ["recipe", "correct", "letdowns.csv", "--trial", "trial.csv", "target.csv"]
    found = answer(cli(*words, "--batch", "batch.csv", "--json"))
    assert found["batch"] == 10.0 and found["de00_before"] > 0.5
    assert found["possible"] and found["de00"] <= 0.3 and found["status"] == "pass"
    added = {part["name"]: part["add"] for part in found["components"]}
    assert all(amount >= 0.0 for amount in added.values()) and added["Red earth"] > 0.0
    assert found["added"] == pytest.approx(sum(added.values())) and found["growth"] == found["added"] / 10.0
    for part in found["components"]:
        assert part["after"] == pytest.approx(part["amount"] + part["add"])
    # By the formula that made the trial: what is in it in effect, and what was added, give the target.
    red, blue = (
        part["effective"] + part["add"] for part in found["components"] if part["name"] in ("Red earth", "Blue")
    )
    total = sum(part["effective"] + part["add"] for part in found["components"])
    np.testing.assert_allclose(
        paint(Red_earth=red / total, Blue=blue / total), paint(Red_earth=0.15, Blue=0.05), atol=0.004
    )
    typed = answer(cli(*words, "--batch", "White=8,Red earth=1.5,Blue=0.5", "--json"))
    assert typed["added"] == pytest.approx(found["added"], abs=1e-6)
    assert "ADD" in cli(*words, "--batch", "batch.csv").out


def test_what_cannot_be_mended_fails_with_the_reason(shop, cli):
    from tests.ink_scenes import samples_csv

    (shop / "dark.csv").write_text(samples_csv({"Dark": paint(Carbon=0.3)}), encoding="utf-8")
    words = ["recipe", "correct", "letdowns.csv", "target.csv", "--trial", "dark.csv"]
    done = cli(*words, "--batch", "White=7,Carbon=3", "--growth", "10")
    assert done.code == 1 and "NOT mended" in done.out and "nothing can be taken out" in done.out


def test_a_trial_that_is_right_needs_nothing(shop, cli):
    words = ["recipe", "correct", "letdowns.csv", "target.csv", "--trial", "target.csv"]
    done = cli(*words, "--batch", "batch.csv")
    assert done.code == 0 and "Add nothing." in done.out


def test_a_library_is_told_and_kept(shop, cli):
    found = answer(cli("recipe", "library", "letdowns.csv", "-o", "library.json", "--json"))
    assert [one["name"] for one in found["components"]][-1] == "White" and found["components"][-1]["base"]
    assert all(one["letdowns"] == 4 and one["worst_de00"] < 0.05 for one in found["components"][:-1])
    assert found["components"][0]["concentrations"] == [0.02, 1.0]
    again = answer(cli("recipe", "find", "library.json", *FIND[3:], "--json"))
    assert again["recipes"][0]["de00"] < 0.1
    assert cli("recipe", "library", "letdowns.csv", "-o", "library.json").code == 2


def test_spot_inks_are_mixed_for_the_stock_they_are_printed_on(shop, cli):
    from tests.formats.test_letdowns import inks_text
    from tests.ink_scenes import ABSORBANCE, STOCKS, samples_csv

    (shop / "bases.csv").write_text(inks_text(), encoding="utf-8")
    for stock, words in (("Board", []), ("Kraft", ["--stock-file", "kraft.csv", "--stock", "Kraft"])):
        wanted = STOCKS[stock] * np.exp(-0.3 * ABSORBANCE["Cyan"] - 0.2 * ABSORBANCE["Yellow"])
        (shop / "wanted.csv").write_text(samples_csv({"Leaf": wanted}), encoding="utf-8")
        found = answer(cli("recipe", "find", "bases.csv", "wanted.csv", *words, "--json"))
        shares = {part["name"]: part["share"] for part in found["recipes"][0]["components"]}
        assert found["stock"] == stock and found["medium"] == "inks"
        assert shares == pytest.approx({"Cyan": 0.3, "Yellow": 0.2, "extender": 0.5}, abs=0.01)


def test_dyes_are_told_in_percent_of_the_cloth(shop, cli):
    from tests.formats.test_letdowns import cloth_text
    from tests.ink_scenes import samples_csv

    (shop / "dyes.csv").write_text(cloth_text(), encoding="utf-8")
    from tests.ink_scenes import band

    ks = 0.03 + 0.05 * band(400, 40) + 1.5 * 2.0 * band(510, 50)
    (shop / "wanted.csv").write_text(
        samples_csv({"Shawl": 1.0 + ks - np.sqrt(ks**2 + 2.0 * ks)}), encoding="utf-8"
    )
    found = answer(cli("recipe", "find", "dyes.csv", "wanted.csv", "--batch", "50", "--json"))
    (madder,) = found["recipes"][0]["components"]
    assert madder["share"] == pytest.approx(1.5, rel=0.01) and madder["amount"] == pytest.approx(0.75, rel=0.01)


def test_letdowns_without_a_surface_are_another_library(shop, cli):
    head = (
        LETDOWN_HEAD.replace("# k1: 0.04\n", "").replace("# k2: 0.5\n", "").replace("# specular: excluded\n", "")
    )
    (shop / "bare.csv").write_text(letdowns_csv(head), encoding="utf-8")
    assert answer(cli("recipe", "library", "bare.csv", "--json"))["surface"]["k1"] == 0.0
