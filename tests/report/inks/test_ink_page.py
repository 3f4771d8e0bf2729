"""The ink side of the page: it only adds, its numbers are the result's, its trouble stands first."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from screenproof.english import page_colour
from screenproof.errors import Note
from screenproof.proof.result import ComponentRecord, Result, result_from_json
from screenproof.report import render_page
from screenproof.report.gamut_figures import Point, chromaticity_figure, hue_panels
from screenproof.report.ink_figures import ceiling, recipe_figure
from screenproof.report.inks import letter
from screenproof.report.page import _asset as page_asset
from screenproof.report.words import fixed

Reader = Callable[[str], Any]


@pytest.fixture(scope="module")
def html(ink_result: Result) -> str:
    return render_page(ink_result)


@pytest.fixture(scope="module")
def page(html: str, read_page: Reader) -> Any:
    return read_page(html)


def test_it_is_well_formed_and_every_link_has_its_place(page: Any) -> None:
    assert page.faults == [] and page.stack == []
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    links = [attrs["href"] or "" for tag, attrs in page.tags if tag == "a"]
    assert all(link[1:] in ids for link in links)
    assert {"#reach", "#recipes", "#overprints", "#presses"} <= set(links)
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False)), levels


def test_without_inks_the_page_is_what_it_was(result: Result, ink_result: Result) -> None:
    plain = render_page(result)
    bare = render_page(replace(ink_result, stocks=(), overprints=(), presses=(), reach=(), recipes=(),
                               tolerances=result.tolerances))  # fmt: skip
    assert bare == plain
    for words in ("#reach", "Can it be printed", "overprint", "Presses", "trapping", "ink side", "recipe"):
        assert words not in plain
    assert plain.count("<style>") == 1 and f"<style>\n{page_asset('sheet.css')}\n</style>" in plain
    # With stocks alone there is nothing to draw: style, head and glossary differ, each in lines that are added.
    lines = set(render_page(replace(result, stocks=ink_result.stocks)).splitlines())
    missing = [line for line in plain.splitlines() if line not in lines]
    assert len(missing) <= 4  # the head's count of things, and the three lines of the tolerances' table


def test_a_result_read_back_gives_the_same_page(ink_result: Result, html: str) -> None:
    assert render_page(result_from_json(ink_result.to_json())) == html


def test_the_matrix_has_every_overprint_with_its_lab(ink_result: Result, html: str, page: Any) -> None:
    said = page.said("overprints")
    for matrix in ink_result.overprints:
        for row in matrix.cells:
            for cell in row:
                assert "\N{NO-BREAK SPACE} ".join(fixed(v, 0) for v in cell.lab).replace("\xa0 ", " ") in said
                assert page_colour(cell.srgb) in html
    assert said.count("alone") >= 2 * len(ink_result.overprints[0].inks)
    measured = ink_result.overprints[1].cells[0][2]
    assert measured.de00 is not None and f"{measured.de00:.1f} off" in said and f"{measured.de00:.2f}" in said
    halves = f'background:{page_colour(measured.measured_srgb or ())}"><span class="object" style="background:'
    assert halves + page_colour(measured.srgb) in html
    assert ink_result.overprints[0].caution in said and "surface k1 0.04, k2 0.6" in said


def test_the_inks_own_stock_stands_open_and_first(html: str) -> None:
    folds = re.findall(r'<details class="fold matrix" id="(matrix-\d)"( open)?>.*?<h3>(.*?)</h3>', html, re.S)
    assert [(number, bool(unfolded), "carton" in head) for number, unfolded, head in folds] == [
        ("matrix-1", True, True),
        ("matrix-2", False, False),
    ]


def test_what_cannot_be_printed_stands_first_in_words(page: Any) -> None:
    said = page.said("reach")
    order = ["no, 19.0 off", "no, 15.2 off", "no, 11.8 off", "no, 1.2 off", "yes"]
    places = [said.index(words) for words in order]
    assert places == sorted(places)
    assert "limit 2, fails" in said and "The stock is darker than the colour; on a white stock" in said
    assert "C 12 M 34 Y 56 K 7 sum 109" in said
    assert "8 of 16 answers are no" in said
    assert "no, 0.04 off" in said  # a small distance is not rounded to none


def test_they_join_what_needs_attention(ink_result: Result, page: Any, read_page: Reader) -> None:
    said = page.said("attention")
    assert "Cannot be printed on Four inks on kraft." in said
    assert "he nearest colour there is 19.0 CIEDE2000 away" in said
    assert "What next: Print it on Four inks on carton." in said
    alone = read_page(render_page(replace(ink_result, samples=(), approvals=(), pairs=())))
    cards = [attrs for tag, attrs in alone.tags if tag == "article" and attrs.get("class") == "card"]
    assert len(cards) == 2 + 1  # Marigold, Lantern blue on both presses in one card, and a recipe
    assert "shifts by 4.2 CIEDE2000 in home lamp, limit 3" in alone.said("attention")
    assert "Take Lacquer, 1, which passes." in alone.said("attention")
    assert (
        "Two of three colours cannot be printed on Four inks on kraft, one of three cannot be printed on Four "
        "inks on carton, and none of the recipes of Lacquer without rose passes."
    ) in alone.said("lead")


def test_a_miss_within_the_limit_is_no_trouble(ink_result: Result, read_page: Reader) -> None:
    near = tuple(item for item in ink_result.reach if item.name == "Teal")
    seen = read_page(render_page(replace(ink_result, samples=(), approvals=(), pairs=(), reach=near, recipes=())))
    assert "attention" not in seen.by_section and "no, 1.2 off" in seen.said("reach")


def test_recipes_of_one_target_stand_side_by_side(ink_result: Result, html: str, page: Any) -> None:
    said = page.said("recipes")
    assert len(re.findall(r'class="target"', html)) == 1 and "2 recipes side by side" in said
    widths = [int(width) for width in re.findall(r'class="length" style="width:(\d+)px"', html)]
    shifts = [shift.de00 for record in ink_result.recipes for card in record.recipes for shift in card.shifts]
    assert widths == [round(100 * shift / max(shifts)) for shift in shifts]
    for record in ink_result.recipes:
        for part in record.recipes[0].components:
            assert part.name in said and f"{100 * part.share:.2f}" in said and f"{10 * part.share:.3f}" in said
    assert said.count(ink_result.recipes[0].caution) == 2  # with each group of cards
    assert "Any metamer is allowed: a screen colour has no spectrum" in said
    assert "the most promising 910 of 1,350 sets of up to 3 of its 20 components" in said
    assert "±0.05 CIEDE2000" in said and "135.35" in said
    assert len(re.findall(r"<td data-label=\"home lamp\" class=\"moved fail\">", html)) == 1


def test_a_target_with_a_curve_has_it_under_the_predicted_one(
    ink_result: Result, read_page: Reader, parts: SimpleNamespace
) -> None:
    card = parts.card({"Rose magenta": 0.2277, "Chalk white": 0.7723}, 0.4, (0.5, 0.7), "pair_shift")
    made = replace(ink_result, recipes=(parts.recipes("Lacquer", (card,), parts.hump(455, 0.22)),))
    seen = read_page(render_page(made))
    assert "metamer is allowed" not in seen.said("recipes") and "curve, rms1.30 %" in seen.said("recipes")
    label = next(attrs["aria-label"] for tag, attrs in seen.tags if tag == "svg" and attrs.get("class") == "curve")
    assert label == "Predicted reflectance of recipe 1 of Lacquer for Lid plum, over the target's"


def test_what_no_recipe_reaches_is_said_with_its_reason(
    ink_result: Result, read_page: Reader, parts: SimpleNamespace
) -> None:
    card = replace(
        parts.card({"Rose magenta": 0.2277, "Chalk white": 0.7723}, 3.4, (0.5, 0.7), "light_shift"),
        verdicts=(),
        status="pass",
    )
    record = replace(parts.recipes("Lacquer", (card,), None, reached=False), status="pass")
    seen = read_page(render_page(replace(ink_result, reach=(), recipes=(record,))))
    assert "not reached" in seen.said("recipes")
    assert "no pigment is as strong" in seen.said("recipes").lower()


def test_the_presses_tell_their_error_and_how_it_was_measured(page: Any) -> None:
    said = page.said("presses")
    for words in ("C, M, Y, K", "1.75", "0.31", "0.62", "1.04", "65", "Neugebauer, cellular, with spectra",
                  "300 %; K up to 95 %", "The 65 tints, each predicted without it.", "Worst: grid 7"):  # fmt: skip
        assert words in said, words


def test_a_press_for_another_light_is_refused_with_the_reason(ink_result: Result, read_page: Reader) -> None:
    known = dict(refused="it is known for D65 only", spectral=False, held_out=None)
    refused = replace(ink_result.presses[0], **known, hull_uv=(), lc_outline=(), solids=(), stock_lab=None,
                      stock_uv=None, stock_srgb=None)  # fmt: skip
    seen = read_page(render_page(replace(ink_result, presses=(refused,), reach=())))
    assert seen.faults == []
    assert "Not calculated. It is known for D65 only." in seen.said("presses")
    assert "not measured" in seen.said("presses") and "the presses print" not in seen.said("gamut")


def test_what_lies_outside_is_listed_and_ringed(ink_result: Result, page: Any) -> None:
    said = page.said("gamut")
    assert "What the displays can show and the presses print" in said
    rows = said[said.index("What lies outside") :]
    assert "B Marigold" in rows and "C Lantern blue" in rows and "A Teal" in rows
    dark = [
        sample.name for sample in ink_result.samples if sample.lab[0] < 50 and all(o.in_gamut for o in sample.on)
    ]
    assert dark and not any(f"{name} " in rows for name in dark)  # 0.04 is too little to be seen


def _points(ringed: bool) -> list[Point]:
    return [Point(1, (0.2, 0.48), (50.0, 20.0, 30.0), "#804020", "pass", ringed=ringed)]


def test_the_figures_tone_the_presses_and_name_them(ink_result: Result) -> None:
    bare = chromaticity_figure(ink_result.displays, (), _points(False), title="a" * 30)
    drawn = chromaticity_figure(ink_result.displays, (), _points(True), title="a" * 30, presses=ink_result.presses)
    assert "#efefef" not in bare and "#efefef" in drawn and "#e1e1e1" in drawn
    assert ">Four inks on carton</text>" in drawn
    only = chromaticity_figure(ink_result.displays, (), _points(True), title="a" * 30)
    assert only.count("<path") == bare.count("<path") + 1  # the ring
    panels = hue_panels(ink_result.displays, _points(True), title="a" * 30, presses=ink_result.presses)
    assert [panel.hue for panel in panels] == [30.0] and "#efefef" in panels[0].svg
    assert set(re.findall(r">([a-z]+)</text>", panels[0].svg)) <= {"office", "wide", "carton", "kraft"}
    assert ">carton</text>" in panels[0].svg


def test_the_recipe_figure_holds_its_curves(parts: SimpleNamespace) -> None:
    low, high = parts.hump(450, 0.2), parts.hump(600, 0.52)
    assert ceiling([low], [None]) == 0.3 and ceiling([low], [high]) == 0.6
    svg = recipe_figure(low, high, 0.6, title="Two curves & more")
    assert ">predicted</text>" in svg and ">target</text>" in svg and ">60 %</text>" in svg
    assert svg.count("stroke-dasharray") == 1 and "Two curves &amp; more" in svg
    assert ">target</text>" not in recipe_figure(low, None, 0.6, title="One curve")
    # Every place of the strokes lies within the figure: nothing is drawn past the top.
    numbers = [float(y) for d in re.findall(r' d="([^"]*)"', svg) for y in re.findall(r"[ML ][\d.]+ ([\d.]+)", d)]
    assert numbers and 0 <= min(numbers) and max(numbers) <= 178


def test_letters_go_on_after_z() -> None:
    assert [letter(place) for place in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]


def test_hostile_names_stay_words(ink_result: Result, read_page: Reader) -> None:
    bad = '<script>window.hacked = 1</script>" onmouseover="1'
    press = replace(ink_result.presses[0], label=bad, channels=(bad, "M", "Y", "K"), cells=(bad,), black="most")
    reach = tuple(replace(item, name=bad, obstacles=(bad,), words=bad) for item in ink_result.reach[:1])
    card = replace(ink_result.recipes[0].recipes[0], components=(ComponentRecord(bad, 1.0, 10.0),), words=bad)
    recipe = replace(ink_result.recipes[0], name=bad, target=bad, recipes=(card,), caution=bad)
    matrix = replace(ink_result.overprints[0], name=bad, caution=bad, notes=(Note("odd", bad, bad),))
    seen = read_page(
        render_page(replace(ink_result, presses=(press,), reach=reach, recipes=(recipe,), overprints=(matrix,)))
    )
    assert seen.faults == []
    assert sum(tag == "script" for tag, _ in seen.tags) == 1
    assert not [name for _, attrs in seen.tags for name in attrs if name.startswith("on")]
    for section in ("reach", "recipes", "overprints", "presses"):
        assert "window.hacked" in seen.said(section)


def test_fifty_samples_on_two_displays_with_inks_stay_under_three_megabytes(
    make_result: Callable[..., Result], ink_result: Result, parts: SimpleNamespace
) -> None:
    big = make_result(count=50, displays=2)
    reach = [parts.reach("sample", s.name, p, s.lab, 3.0, False) for s in big.samples for p in ("carton", "kraft")]
    big = replace(big, stocks=ink_result.stocks, overprints=ink_result.overprints * 2, presses=ink_result.presses,
                  reach=(*ink_result.reach[:6], *reach), recipes=ink_result.recipes * 4)  # fmt: skip
    page = render_page(big)
    assert page.count('class="spectra"') == 100
    assert len(page.encode()) < 3_000_000
