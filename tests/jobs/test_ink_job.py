"""A job with inks, presses and recipes: its result against the textbook formulae of tests/ink_scenes.py."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from screenproof.jobs import load_job, run_job
from screenproof.proof import result_from_json
from screenproof.subtractive import OVERPRINT_CAUTION, RECIPE_CAUTION
from tests.ink_jobs import JOB, write_job
from tests.ink_scenes import ABSORBANCE, STOCKS, paint, printed


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return run_job(load_job(write_job(tmp_path_factory.mktemp("job"))))


def changed(tmp_path, *swaps):
    text = JOB
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    return run_job(load_job(write_job(tmp_path, text)))


def test_the_result_reads_back_from_its_json(result):
    assert result_from_json(result.to_json()) == result
    plain = json.loads(result.to_json())
    assert plain["schema"] == "screenproof-result/2" and len(plain["overprints"]) == 2


def test_stocks_are_samples_of_the_job(result):
    board, kraft = result.stocks
    assert (board.name, board.label, kraft.label) == ("board", "board", "Brown kraft")
    assert kraft.sample == "Kraft" and kraft.lab[0] < board.lab[0]
    np.testing.assert_allclose(board.reflectance.values, STOCKS["Board"], atol=1e-6)


def test_the_matrix_is_the_product_of_the_transmittances(result):
    own, kraft = result.overprints
    assert (own.stock, own.own_stock, kraft.stock, kraft.own_stock) == ("board", "board", "kraft", "board")
    inks = ("Cyan", "Magenta", "Yellow")
    assert tuple(ink.name for ink in own.inks) == inks and own.caution == OVERPRINT_CAUTION
    for matrix, stock in ((own, "Board"), (kraft, "Kraft")):
        for first, row in zip(inks, matrix.cells, strict=True):
            for top, cell in zip(inks, row, strict=True):
                parts = (first,) if first == top else (first, top)
                assert cell.inks == parts
                np.testing.assert_allclose(cell.curve.values, printed(stock, *parts), atol=2e-3)
        (stack,) = matrix.stacks
        assert stack.inks == inks
    np.testing.assert_allclose(own.inks[0].transmittance.values, np.exp(-ABSORBANCE["Cyan"]), atol=2e-5)


def test_measured_partners_are_found_by_their_names(result):
    own, kraft = result.overprints
    assert own.cells[0][2].measured == "board/Cyan + Yellow" and own.cells[0][2].de00 < 0.05
    assert own.cells[0][2].trapping == pytest.approx(1.0, abs=2e-3)
    assert own.cells[0][2].de00_untrapped is not None and own.cells[2][0].measured is None
    # Single inks were measured on kraft as well; on their own stock an ink is its own measurement.
    assert kraft.cells[0][0].measured == "kraft/Cyan" and own.cells[0][0].measured is None
    assert kraft.cells[0][2].measured == "kraft/Cyan + Yellow" and kraft.cells[0][2].de00 < 0.05
    assert any("drinks ink" in note.what for note in kraft.notes)
    assert not any("drinks ink" in note.what for note in own.notes)


def test_partners_can_be_named_and_film_weights_set(tmp_path):
    found = changed(
        tmp_path,
        (
            "trapping = true",
            'film = { Cyan = 0.5 }\noverprints = [{ inks = ["Yellow", "Cyan"], sample = "Magenta" }]',
        ),
    )
    own = found.overprints[0]
    assert own.cells[2][0].measured == "board/Magenta" and own.cells[2][0].de00 > 20
    assert own.inks[0].film_weight == 0.5 and own.inks[1].film_weight == 1.0
    np.testing.assert_allclose(
        own.cells[0][0].curve.values, STOCKS["Board"] * np.exp(-0.5 * ABSORBANCE["Cyan"]), atol=1e-5
    )
    assert all(cell.trapping is None for row in own.cells for cell in row)


def test_a_press_is_told_with_its_gamut(result):
    (press,) = result.presses
    assert (press.name, press.label, press.source) == ("sheetfed", "The sheetfed press", "press.csv")
    assert press.channels == ("Cyan", "Magenta", "Yellow", "Black") and press.spectral and press.black == "smooth"
    assert press.limit_total == 3.0 and press.limit_channels == (1.0, 1.0, 1.0, 0.95)
    assert press.held_out.count > 50 and press.held_out.max < 2.0 and press.refused is None
    assert [solid.channels for solid in press.solids][:5] == [*((c,) for c in press.channels), ("Cyan", "Magenta")]
    assert len(press.solids) == 4 + 6 and len(press.hull_uv) > 20
    assert [hue for hue, _ in press.lc_outline] == [hue for hue, _ in result.displays[0].lc_outline]
    assert press.stock_lab == pytest.approx(result.stocks[0].lab, abs=0.05)


def test_approvals_and_named_samples_are_judged_by_the_press(result):
    by_name = {item.name: item for item in result.reach}
    assert list(by_name) == ["Leaf", "Neon", "By hand", "board/Cyan", "board/Yellow"]
    leaf, neon, hand = by_name["Leaf"], by_name["Neon"], by_name["By hand"]
    assert (leaf.kind, leaf.display, leaf.code) == ("approval", "studio", (120, 150, 105))
    assert leaf.printable and leaf.excess == 0.0 and leaf.verdict.status == "pass" and leaf.obstacles == ()
    assert not neon.printable and neon.excess > 10 and neon.status == "fail" and neon.obstacles
    assert neon.verdict.what == "printable" and neon.verdict.figure == pytest.approx(neon.excess)
    assert (hand.kind, hand.display, hand.code) == ("approval", None, None)
    assert by_name["board/Cyan"].kind == "sample" and by_name["board/Cyan"].verdict is not None
    assert leaf.coverage == pytest.approx(sum(leaf.tints)) and leaf.coverage <= 3.0 and leaf.tints[3] <= 0.95
    # Approvals without a sample, or without a display, are for the press alone.
    assert result.approvals == ()


def test_without_names_every_sample_is_asked_and_none_judged(tmp_path):
    found = changed(tmp_path, ('samples = ["board/Cyan", "board/Yellow"]\n', 'approvals = ["Leaf"]\n'))
    samples = [item for item in found.reach if item.kind == "sample"]
    assert len(samples) == 9 + 9 + 1 and all(item.verdict is None for item in samples)
    assert [item.name for item in found.reach if item.kind == "approval"] == ["Leaf"]
    assert any("lie outside what The sheetfed press prints, without failing" in s for s in found.summary.sentences)


def test_recipes_for_a_sample_and_for_an_approval(result):
    lid, leaf = result.recipes
    assert (lid.target, lid.target_kind, lid.shift_kind, lid.display) == ("Lid", "sample", "pair_shift", None)
    first = lid.recipes[0]
    amounts = {part.name: part.amount for part in first.components}
    assert amounts == pytest.approx({"Red earth": 1.5, "Blue": 0.5, "White": 8.0}, rel=0.02)
    assert first.de00 < 0.1 and [shift.light for shift in first.shifts] == ["shop"] and first.status == "pass"
    assert {verdict.what for verdict in first.verdicts} == {"recipe", "pair_shift"}
    np.testing.assert_allclose(first.reflectance.values, paint(Red_earth=0.15, Blue=0.05), atol=0.002)
    np.testing.assert_allclose(lid.target_reflectance.values, paint(Red_earth=0.15, Blue=0.05), atol=1e-5)
    assert (leaf.target, leaf.target_kind, leaf.shift_kind) == ("Leaf", "approval", "inconstancy")
    assert leaf.target_reflectance is None and leaf.display == "studio" and len(leaf.recipes) <= 2
    assert leaf.recipes[0].rms is None and leaf.caution == RECIPE_CAUTION
    assert all(len(card.components) <= 4 for card in leaf.recipes)


def test_the_sentences_tell_the_trouble_first_and_then_what_to_take(result):
    sentences = result.summary.sentences
    assert sentences[0].startswith("Neon cannot be printed on The sheetfed press") and "limit 2." in sentences[0]
    assert any(
        s.startswith("Lid: recipe 1 of lid (Red earth, Blue and White) comes within 0.0") for s in sentences
    )
    assert result.summary.status == "fail" and result.summary.counts["fail"] == 1
    assert OVERPRINT_CAUTION in result.cautions and RECIPE_CAUTION in result.cautions


def test_two_recipes_that_match_and_shift_differently_are_told_apart(tmp_path):
    """With a strict pair shift only the pigments that made the colour hold in the shop."""
    found = changed(
        tmp_path, ("pair_shift = 1.0", "pair_shift = 0.3"), ('name = "lid"\n', 'name = "lid"\ncount = 12\n')
    )
    lid = found.recipes[0]
    statuses = [card.status for card in lid.recipes]
    assert lid.status == "pass" and "fail" in statuses
    bad = next(
        card
        for card in lid.recipes
        if card.de00 < 1.0 and any(v.what == "pair_shift" and v.status == "fail" for v in card.verdicts)
    )
    shown = next(verdict for verdict in bad.verdicts if verdict.what == "pair_shift")
    assert shown.light == "shop" and shown.figure == pytest.approx(bad.shifts[0].de00, abs=0.02)
    (told,) = [s for s in found.summary.sentences if "matches as well" in s]
    assert told.startswith("Lid: recipe ") and f"but shifts by {bad.shifts[0].de00:.1f} in shop" in told


def test_no_recipe_passes_where_the_right_pigments_are_barred(tmp_path):
    barred = 'sample = "Lid"\nwithout = ["Blue", "Green", "Carbon", "Violet"]\nbatch'
    found = changed(tmp_path, ('sample = "Lid"\nbatch', barred))
    lid = found.recipes[0]
    assert lid.status == "fail" and not lid.reached and lid.pigments == 2
    assert any(
        s.startswith("Lid has no recipe that is good enough (lid)") and "No mixture of up to" in s for s in found.summary.sentences  # noqa: E501
    )


def test_inputs_standards_and_formulae_are_told(result):
    paths = {item.path for item in result.provenance.inputs}
    assert {"press.csv", "letdowns.csv", "inks.csv", "kraft.csv"} <= paths
    assert any("ISO 20654" in text for text in result.provenance.standards)
    assert sum("Kubelka-Munk" in text or "Neugebauer" in text for text in result.provenance.formulae) == 2


def test_the_stock_as_white_is_that_of_the_press(tmp_path):
    found = changed(
        tmp_path,
        ('light = "D50"\n', 'light = "D50"\nobject_white = "stock"\n'),
        ('group = "board"\n', 'group = "board"\nstock = "Board"\n'),
        ('group = "kraft"\n', 'group = "kraft"\nstock = "Kraft"\n'),
        ('file = "target.csv"\ngroup = "lid"\n', 'file = "target.csv"\ngroup = "lid"\nstock = "Lid"\n'),
        ("code = [0, 255, 60]", "code = [255, 255, 255]"),
    )
    white = next(item for item in found.reach if item.name == "Neon")
    assert white.printable and white.coverage < 0.01
    assert white.lab == pytest.approx(found.presses[0].stock_lab, abs=1e-6)


def test_a_press_known_for_another_light_is_told_and_not_asked(tmp_path):
    from tests.conftest import SHARED

    text = JOB.replace('light = "D50"', 'light = "A"').replace("total = 300\nlimits = { Black = 95 }\n", "")
    text = text.replace('samples = ["board/Cyan", "board/Yellow"]\n', "")
    path = write_job(tmp_path, text)
    (tmp_path / "press.csv").write_bytes((SHARED / "FOGRA39L.txt").read_bytes())
    found = run_job(load_job(path))
    (press,) = found.presses
    assert "only known by XYZ for D50" in press.refused and press.hull_uv == () and press.stock_lab is None
    assert found.reach == () and any("was not asked" in s for s in found.summary.sentences)
    assert result_from_json(found.to_json()) == found


def test_a_light_of_the_jobs_own_name_is_the_one_that_the_press_holds_for(tmp_path):
    from tests.conftest import SHARED

    text = JOB.replace('light = "D50"', 'light = "booth"').replace(
        "[[lights]]", '[[lights]]\nname = "booth"\nstandard = "D50"\n\n[[lights]]', 1
    )
    text = text.replace("limits = { Black = 95 }\n", "limits = { K = 95 }\n")
    path = write_job(tmp_path, text)
    (tmp_path / "press.csv").write_bytes((SHARED / "FOGRA39L.txt").read_bytes())
    found = run_job(load_job(path))
    assert found.presses[0].refused is None and not found.presses[0].spectral and len(found.reach) == 5


def test_a_job_without_inks_is_as_it_was(tmp_path):
    cut = JOB[: JOB.index("[[approvals]]")] + "[tolerances.house]\nexcess = 50.0\n"
    found = run_job(load_job(write_job(tmp_path, cut)))
    assert (found.stocks, found.overprints, found.presses, found.reach, found.recipes) == ((), (), (), (), ())
    assert OVERPRINT_CAUTION not in found.cautions and RECIPE_CAUTION not in found.cautions


def test_the_command_runs_it_and_writes_the_page(tmp_path, capsys):
    from screenproof.cli import main

    path = write_job(tmp_path)
    with pytest.raises(SystemExit) as ended:
        main(["run", str(path)])
    printed_text = capsys.readouterr().out
    assert ended.value.code == 1 and "caution: A recipe here is about colour only" in printed_text
    assert (tmp_path / "out" / "index.html").exists()
    text = (tmp_path / "out" / "result.json").read_text(encoding="utf-8")
    again = result_from_json(text)
    assert again.recipes and replace(again, made="").reach == again.reach


def test_inspect_tells_what_a_job_has_of_inks(tmp_path):
    from screenproof.jobs.inspection import inspect_any

    summary = inspect_any(str(write_job(tmp_path)))["summary"]
    assert summary["stocks"] == ["board", "kraft"] and summary["inks"] == {"process": 3}
    assert summary["presses"] == {"sheetfed": "Cyan Magenta Yellow Black"} and summary["recipes"] == [
        "lid",
        "leaf",
    ]
