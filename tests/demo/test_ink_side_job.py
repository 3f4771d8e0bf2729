"""The job of the ink side tells its stories. Its figures are our own; test_ink_data.py has the truth beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from screenproof.jobs import load_job, run_job
from screenproof.proof.result import Result

JOB = Path(__file__).parents[2] / "profiles_demo" / "ink_side.toml"
ON_CARTON, ON_KRAFT = "coated carton", "kraft board"


@pytest.fixture(scope="module")
def result() -> Result:
    return run_job(load_job(JOB))


def test_the_job_says_that_it_is_invented_and_where_it_writes():
    job = load_job(JOB)
    assert job.note.startswith("Invented demo.")
    assert job.output.folder == "out/ink_side"


def test_what_the_presses_cannot_print(result):
    asked = {(item.name, item.press): item for item in result.reach if item.kind == "approval"}
    names = {name for name, _ in asked}
    assert names == {"Harbour teal", "Oolong brown", "Marigold", "Lantern blue"}
    failed = {key for key, item in asked.items() if item.status == "fail"}
    assert failed == {
        ("Lantern blue", ON_CARTON),
        ("Lantern blue", ON_KRAFT),
        ("Marigold", ON_KRAFT),
        ("Harbour teal", ON_KRAFT),
    }
    for item in asked.values():
        assert item.printable == (item.excess == 0) and item.coverage <= 3 + 1e-9
        assert item.coverage == pytest.approx(sum(item.tints))
    dark = asked["Marigold", ON_KRAFT]
    assert dark.excess > 15 and any("stock is darker" in obstacle for obstacle in dark.obstacles)
    assert asked["Lantern blue", ON_CARTON].excess > 10


def test_the_presses_say_how_good_they_are(result):
    by_name = {press.name: press for press in result.presses}
    assert set(by_name) == {ON_CARTON, ON_KRAFT}
    assert by_name[ON_CARTON].held_out.mean < 0.5 and by_name[ON_CARTON].held_out.count == 65
    assert "not known" in by_name[ON_KRAFT].held_out.how
    # Kraft holds less of every hue than carton does.
    for (hue, wide), (same, narrow) in zip(
        by_name[ON_CARTON].lc_outline, by_name[ON_KRAFT].lc_outline, strict=True
    ):
        assert hue == same and max(c for _, c in wide) > max((c for _, c in narrow), default=0)


def test_overprints_hold_on_their_own_stock_and_are_too_strong_on_kraft(result):
    grounds = {record.stock: record for record in result.overprints}
    assert set(grounds) == {"carton", "kraft", "film"}

    def measured(record):
        every = [cell for row in record.cells for cell in row] + list(record.stacks)
        return {cell.inks: cell for cell in every if cell.measured is not None and len(cell.inks) > 1}

    own = measured(grounds["carton"])
    assert len(own) == 6
    for cell in own.values():
        assert cell.de00 < 1.0 < cell.de00_untrapped and 0.75 < cell.trapping < 1
    assert own["Cyan", "Magenta", "Yellow"].measured == "Cyan + Magenta + Yellow"
    # The rough board drinks ink, which no curve from carton can know; film takes a little more.
    for cell in measured(grounds["kraft"]).values():
        assert cell.de00 > 3 and "darker" in cell.words
    assert all(1 < cell.de00 < 3 for cell in measured(grounds["film"]).values())


def test_the_lid_holds_with_rose_magenta_and_breaks_under_the_tubes_without(result):
    with_it, without = result.recipes
    assert with_it.target == without.target == "Lid plum" and with_it.shift_kind == "inconstancy"
    best, other = with_it.recipes[0], without.recipes[0]
    assert "Rose magenta" in {part.name for part in best.components}
    assert "Rose magenta" not in {part.name for card in without.recipes for part in card.components}
    assert best.de00 < 0.3 and other.de00 < 0.3
    tubes = [{shift.light: shift.de00 for shift in card.shifts}["shop tubes"] for card in (best, other)]
    assert tubes[1] > 2 * tubes[0]
    assert (with_it.status, without.status) == ("pass", "fail")
    assert {verdict.light for verdict in other.verdicts if verdict.status == "fail"} == {"shop tubes"}
    assert "light fastness" in with_it.caution or "stand light" in with_it.caution


def test_the_summary_begins_with_the_trouble(result):
    sentences = result.summary.sentences
    assert sentences[0].startswith("Marigold cannot be printed on")
    assert any(
        "Lid plum has no recipe that is good enough (Lid lacquer without rose magenta)" in text
        for text in sentences
    )
    assert result.summary.status == "fail"
    # Its set has no limit for samples themselves: none is said to pass.
    assert "were not judged (only colours on presses and recipes were)" in result.summary.first
