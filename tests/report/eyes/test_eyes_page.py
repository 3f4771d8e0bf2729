"""The people, the doubt, the sets and the brightener on the page: who argues about what, and what to do next."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from screenproof.proof.result import CrowdRecord, Remedy, Result, TrustRecord, WholeRecord, result_from_json
from screenproof.proof.tolerance import Judged, ToleranceSet
from screenproof.report import eye_words, eyes, render_page
from screenproof.report.crowd_figures import Scale, scale_for
from screenproof.report.doubt import chance, cures, doubt_of, spread, with_doubt
from screenproof.report.findings import findings_of
from screenproof.report.sheet import sample_views
from screenproof.report.words import Labels, fixed

Reader = Callable[[str], Any]
NBSP = "\N{NO-BREAK SPACE}"


@pytest.fixture(scope="module")
def html(eyes_result: Result) -> str:
    return render_page(eyes_result)


@pytest.fixture(scope="module")
def page(html: str, read_page: Reader) -> Any:
    return read_page(html)


def _styles(html: str, css: str, side: str = "left") -> list[float]:
    body = html[html.index('<table class="people"') :]
    return [float(part) for part in re.findall(rf'class="{css}" style="{side}:([\d.]+)%', body)]


def test_it_is_well_formed_and_every_link_has_its_place(html: str, page: Any) -> None:
    assert page.faults == [] and page.stack == []
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    links = [attrs["href"] or "" for tag, attrs in page.tags if tag == "a"]
    assert all(link[1:] in ids for link in links) and {"#eyes", "#wholes"} <= set(links)
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False)), levels
    assert html.index('id="attention"') < html.index('id="eyes"') < html.index('id="samples"')
    named = [attrs for tag, attrs in page.tags if attrs.get("class") == "beam" and attrs.get("role") == "img"]
    assert named and all(len(attrs["aria-label"] or "") > 30 for attrs in named)


def test_the_lead_says_what_will_be_argued_about_by_whom(page: Any) -> None:
    lead = page.said("lead")
    assert "17 % of those under 30, but 78 % of those of 70 to 80 see more than 3." in lead
    assert "Four colours will be argued about, above all Deep teal on Wide-gamut display: 17" in lead
    # Nearly everyone sees Lake teal leave its match, but it fails and is told of already.
    assert "Nearly everyone" not in lead
    assert "Of 2 sets 1 fails as a whole (kraft on Wide-gamut display), 1 is undecided" in lead
    assert "Of 8 colours 3 pass, 4 fail (" in lead and "), 1 is undecided (Rust). " in lead


def test_each_that_is_argued_about_has_its_people_and_what_next(eyes_result: Result, page: Any) -> None:
    said = page.said("eyes")
    plum = said[said.index("Plum Will be argued about on") : said.index("caddy and lid Will be")]
    assert "on Wide-gamut display and Office LCD." in plum and "(on Office LCD 4 in 10 people do)" in plum
    assert "To the tenth who see most, the object is yellower than the screen." in plum
    assert "for the standard eye (CIE 1931, 2°) only." in plum and "What next" not in plum

    shared = said[said.index("What next, for Lake teal, Deep teal and Plum") :]
    assert "Ask whoever made this page for a screen code made for many eyes" in shared
    assert '(in the job: aim = "population")' in shared and "see the object itself" in shared
    teal = said[said.index("Deep teal Will be") : said.index("Plum Will be")]
    rust = said[said.index("Rust Will be") : said.index("What next, for")]
    assert "What next: Show it on Office LCD, where 1 in 20 people see as much." in rust
    assert (
        eyes_result.samples[5].on[0].status == "fail" and "Show it on" not in teal
    )  # few see it there, but it fails
    assert "Lake teal Nearly all people see it on Wide-gamut display." in said
    # Nothing that few see is among them.
    listed = said[said.index("What people will not agree on") : said.index("9 in 10 of the people lie within")]
    for sample in eyes_result.samples:
        kinds = {eye_words.kind_of(on.crowd) for on in sample.on if on.crowd is not None}
        assert (sample.name in listed) == bool(kinds & {"all", "argued"})


def test_the_bars_are_the_figures_of_the_result(eyes_result: Result, html: str, page: Any) -> None:
    """Each mark stands at its figure over the figure at the end of the scale, found from the limit's mark."""
    tables = re.findall(r'<table class="people".*?</table>', html, re.S)
    assert len(tables) == 4  # two displays and the pairs of the section, and the pair's own
    for table, display in zip(tables, ("office", "wide"), strict=False):
        shown = [(s.name, on.crowd) for s in eyes_result.samples for on in s.on if on.display == display]
        shown.sort(key=lambda entry: eye_words.most_first(entry[1]) if entry[1] else (0.0, 0.0))
        rows = re.findall(r"<tr[^>]*><th scope=\"row\">.*?</tr>", table, re.S)
        assert [re.search(r"<bdi>(.*?)</bdi>", row)[1] for row in rows] == [name for name, _ in shown]  # type: ignore[index]
        for row, (_, crowd) in zip(rows, shown, strict=True):
            assert crowd is not None and crowd.limit is not None
            unit = _styles('<table class="people"' + row, "limit")[0] / crowd.limit
            assert _styles('<table class="people"' + row, "half")[0] == pytest.approx(
                min(crowd.median * unit, 100), abs=0.3
            )
            assert _styles('<table class="people"' + row, "eye")[0] == pytest.approx(
                crowd.standard * unit, abs=0.3
            )
            low = _styles('<table class="people"' + row, "band")[0]
            assert low == pytest.approx(min(crowd.quantiles[1] * unit, 100), abs=0.3)
            over = _styles('<table class="people"' + row, "band over")
            assert bool(over) == (crowd.p95 > crowd.limit)
            if over:
                assert over[0] == pytest.approx(max(crowd.limit, crowd.quantiles[1]) * unit, abs=0.3)
            assert ("→" in row) == (crowd.p95 * unit > 100)
            assert eye_words.percent(crowd.share_above) in row
    # A record whose shares are known from the quantiles: the words agree with them.
    assert "42" + NBSP + "%" in tables[0] and "argued about" in tables[0] and "none over 3" in tables[0]
    assert page.said("eyes").count("Below the limit a difference may still be seen.") == 1
    assert "most at age" not in page.said("eyes") and "In every row those of about 75 years" in page.said("eyes")


def test_the_scale_is_cut_where_one_figure_would_squeeze_the_rest() -> None:
    ticks = tuple((round(2 * i / 12.36 * 100, 2), str(2 * i)) for i in range(7))
    assert scale_for([12.0]) == Scale(pytest.approx(12.36), 16.181, ticks)  # type: ignore[arg-type]
    assert [words for _, words in scale_for([0.9]).ticks] == ["0.0", "0.2", "0.4", "0.6", "0.8"]
    assert scale_for([]).top > 0
    scale = scale_for([3.0])
    assert scale.at(1e9) == 100.0 and scale.at(-1.0) == 0.0
    assert scale.at(1.5) == pytest.approx(100 * 1.5 / scale.top, abs=0.01)


def test_ages_stand_with_their_decades_and_shares(eyes_result: Result, html: str) -> None:
    entry = html[html.index('id="sample-5"') : html.index('id="sample-7"')]
    tables = re.findall(r'<table class="people ages".*?</table>', entry, re.S)
    assert len(tables) == 2
    for table, on in zip(tables, eyes_result.samples[4].on, strict=True):
        assert on.crowd is not None
        rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", table, re.S)
        assert len(rows) == len(on.crowd.by_age)
        for row, age in zip(rows, on.crowd.by_age, strict=True):
            assert f"<bdi>{age.ages[0]:g} to {age.ages[1]:g}</bdi>" in row
            assert f">{fixed(age.median, 1)}<" in row
            assert f">{100 * (age.share_above or 0):.0f}{NBSP}%<" in row


def test_whom_not_to_trust_and_the_kindest_display(page: Any) -> None:
    said = page.said("eyes")
    assert (
        "Caution. The standard eye (CIE 1931, 2°) is not to be trusted for Wide-gamut display: its primaries are "
        "narrow" in said
    )
    assert (
        "half of the samples lie less than 1.4 CIEDE2000 from their matches there, the farthest 3.9 (Lake teal)"
        in said
    )
    assert (
        "Kindest to most eyes is Office LCD: for a usual sample 19 in 20 people see less than 1.4 CIEDE2000"
        in said
    )
    assert "Not calculated. Third display is known by its XYZ only." in said
    assert (
        "holds well enough for Office LCD" in page.said("basis") and "Office LCD:" not in said.split("Kindest")[0]
    )


def test_whose_white_is_said(eyes_result: Result, page: Any, read_page: Reader) -> None:
    """With shared whites people see more than single observers, who adapt to each: the page says why."""
    assert "the two whites stand to each other as they do for CIE 1931, 2°" in page.said("eyes")
    people = eyes_result.population
    assert people is not None
    own = read_page(render_page(replace(eyes_result, population=replace(people, whites="own")))).said("eyes")
    assert "adapts to the white of each" in own and "stand to each other" not in own
    beside = replace(eyes_result, viewing=replace(eyes_result.viewing, basis="absolute"))
    assert "without an adaptation" in read_page(render_page(beside)).said("eyes")


def test_mistrust_is_told_without_any_people_too(result: Result, read_page: Reader) -> None:
    trust = (TrustRecord("wide", False, ("narrow",), "cie2015-10", None, None, None),)
    seen = read_page(render_page(replace(result, samples=result.samples[:2], pairs=(), trust=trust)))
    assert "this job asks for no people" in seen.said("eyes")
    assert "people" not in seen.said("lead")


def test_nobody_argues(eyes_result: Result, make_crowd: Callable[..., CrowdRecord], read_page: Reader) -> None:
    def with_crowd(crowd: CrowdRecord) -> Result:
        sample = eyes_result.samples[6]
        on = tuple(replace(one, crowd=crowd) for one in sample.on)
        return replace(eyes_result, samples=(replace(sample, on=on),), pairs=(), approvals=(), wholes=(), trust=())

    calm = read_page(render_page(with_crowd(make_crowd(0.3))))
    assert "No colour will be argued about." in calm.said("lead")
    assert "Nothing here will be argued about" in calm.said("eyes")
    assert "On Office LCD none of the people sees any of 1 differ by more than the limit." in calm.said("eyes")
    open_ended = read_page(render_page(with_crowd(make_crowd(2.0, limit=None))))
    assert "argued" not in open_ended.said("lead")
    assert "No limit is set for what people may see" in open_ended.said("eyes")
    assert "Ink black differs most: half of the people see less than 2.0" in open_ended.said("eyes")
    assert "over" not in " ".join(
        re.findall(r"<th[^>]*>(.*?)</th>", render_page(with_crowd(make_crowd(2, limit=None))))
    )


def test_drive_values_for_the_people_say_what_they_cost(eyes_result: Result, read_page: Reader) -> None:
    sample = eyes_result.samples[1]
    on = tuple(
        replace(one, crowd=replace(one.crowd, aim="population", standard_before=0.1, p95_before=23.4))
        for one in sample.on
        if one.crowd is not None
    )
    people = replace(eyes_result.population, aim="population", cost=1.0) if eyes_result.population else None
    made = replace(eyes_result, samples=(replace(sample, on=on),), pairs=(), wholes=(), population=people)
    seen = read_page(render_page(made))
    assert "made for these people and not for" in seen.said("eyes") and "at most 1 CIEDE2000." in seen.said("eyes")
    assert "19 in 20 would see less than 23.4" in seen.said("samples")
    assert "aim =" not in seen.said("eyes")  # it is so already


def test_shares_are_said_as_a_client_says_them() -> None:
    words = {0.0: "nobody", 0.004: "fewer than 1 in 100 people", 0.01: "1 in 100 people", 0.05: "1 in 20 people",
             0.09: "1 in 10 people", 0.31: "3 in 10 people", 0.5: "half of the people", 0.96: "nearly all people",
             1.0: "all people"}  # fmt: skip
    assert {share: eye_words.in_ten(share) for share in words} == words
    assert eye_words.percent(0.002) == f"< 1{NBSP}%" and eye_words.percent(0.998) == f"> 99{NBSP}%"
    assert eye_words.percent(None) == "–"


def test_age_is_told_only_where_it_tells(make_crowd: Callable[..., CrowdRecord]) -> None:
    crowd = make_crowd(2.0)
    assert eye_words.by_whom(crowd) == f"4{NBSP}% of those under 30, but 40{NBSP}% of those of 70 to 80"
    assert eye_words.trouble_there(crowd) == "40 in 100 people of 70 to 80 see more than 3"
    young = tuple(replace(age, share_above=0.0 if age.ages[0] < 40 else 1.0) for age in crowd.by_age)
    assert (
        eye_words.by_whom(replace(crowd, by_age=young[:3]))
        == "none of those under 40, but all of those of 40 to 50"
    )
    assert eye_words.by_whom(replace(crowd, by_age=young[::-1][3:])).startswith("none")
    flat = replace(crowd, by_age=tuple(replace(age, share_above=0.2) for age in crowd.by_age))
    assert eye_words.by_whom(flat) == "young and old much alike"
    assert eye_words.by_whom(replace(crowd, by_age=crowd.by_age[:1])) == ""


def test_one_advice_for_several_stands_once(
    eyes_result: Result, make_crowd: Callable[..., CrowdRecord], read_page: Reader
) -> None:
    samples = tuple(
        replace(s, on=tuple(replace(on, crowd=make_crowd(2.5 + i / 10)) for on in s.on[:1]))
        for i, s in enumerate(eyes_result.samples)
    )
    labels = Labels.of(eyes_result)
    made = replace(eyes_result, samples=samples, pairs=())
    seen = eyes.eyes_view(made, labels, sample_views(made, labels), findings_of(made))
    assert seen is not None
    assert not any(item.advice for item in seen.items) and seen.more == 8 - eyes.MOST_ITEMS
    assert [whom for whom, _ in seen.shared] == ["all of them"]
    # One order for all: headline, list and bars.
    assert [row.name for row in seen.panels[0].rows[: eyes.MOST_ITEMS]] == [
        item.told.subject for item in seen.items
    ]
    assert f"above all {seen.items[0].told.subject}" in read_page(render_page(made)).said("lead")
    assert [item.told.subject for item in seen.items] == [s.name for s in samples[::-1]][: eyes.MOST_ITEMS]


def test_undecided_has_its_interval_and_its_cure(html: str, page: Any) -> None:
    attention = page.said("attention")
    rust = attention[attention.index("Rust undecided") :]
    assert (
        "Undecided whether it is met well enough by its code on Office LCD. With 8-bit codes the screen stays 0.9 ± 0.2"  # noqa: E501
        in rust
    )
    assert "What next: Measure Rust 4 more times and Office LCD twice more." in rust
    entry = html[html.index('id="sample-3"') :].partition('<details class="sample"')[0]
    assert "What next: <bdi>Measure Rust 4 more times" in entry
    # Even about the figure: ±. Near none: the ends of the interval.
    assert f'>3.2 <span class="doubt">±{NBSP}0.2</span>' in entry
    assert '>0.2 <span class="doubt">(0.0 to 0.6)</span>' in entry


def _verdict(figure: float, low: float | None, high: float | None, **more: Any) -> Judged:
    return Judged("match", figure, 1.0, "de00", "undecided", low=low, high=high, **more)


def test_a_figure_stands_with_what_is_open_of_it() -> None:
    assert with_doubt(_verdict(0.9, None, None)) == "0.9"
    assert with_doubt(_verdict(0.9, 0.6, 1.2)) == f"0.9{NBSP}±{NBSP}0.3"
    assert with_doubt(_verdict(0.1, 0.0, 0.4)) == f"0.1{NBSP}(0.0 to 0.4)"
    assert doubt_of(_verdict(1.0004, 0.98, 1.02)) == f"±{NBSP}0.02"
    assert with_doubt(_verdict(1.0004, 0.98, 1.02)) == f"just over{NBSP}1{NBSP}±{NBSP}0.02"
    # One more decimal where rounding would hide why: an undecided one reaches over its limit, a pass does not.
    near = replace(_verdict(7.149, 7.063, 7.234), limit=7.2)
    assert with_doubt(near) == f"7.15{NBSP}±{NBSP}0.09"
    assert with_doubt(replace(near, figure=7.08, low=7.02, high=7.14, status="pass")) == f"7.08{NBSP}±{NBSP}0.06"
    assert with_doubt(replace(near, figure=5.08, low=5.02, high=5.14, status="pass")) == f"5.1{NBSP}±{NBSP}0.1"
    assert chance(near, 0.05) == f"more than 5{NBSP}% chance that it is over" and chance(near, None) == ""
    assert chance(replace(near, figure=7.3), 0.1) == f"more than 10{NBSP}% chance that it is within it"

    assert spread(0.9, 0.88, 0.92) == f"±{NBSP}0.02"  # and one more that keeps it from being none
    assert spread(0.9, 0.899, 0.901) == spread(0.0, 0.0, 0.0004) == spread(0.9, None, None, 0.001) == ""
    assert spread(0.9, None, None, 0.25) == f"±{NBSP}0.2" and doubt_of(None) == ""


def test_of_many_cures_the_one_that_asks_for_most_is_enough() -> None:
    few, many = (Remedy(f"Measure it {n} more times.", (("sample", n),)) for n in (2, 5))
    better = Remedy("Both with one instrument.")
    verdicts = [_verdict(0.9, 0.8, 1.1, remedy=remedy) for remedy in (few, many, better, better)]
    assert cures(verdicts) == ["measure it 5 more times", "both with one instrument"]
    assert cures([replace(verdicts[0], status="fail")]) == []
    assert cures([_verdict(0.9, 0.8, 1.1)]) == [
        "repeat the readings: the doubt is larger than the distance to the limit"
    ]


def test_sets_are_judged_as_a_whole(page: Any) -> None:
    said = page.said("wholes")
    assert "kraftWide-gamut display4CIEDE20001.62 ± 0.12 limit 1 over the limit" in said
    assert "1.90 (1.70 to 2.20) limit 2 undecided2.10Lake tealundecided" in said
    attention = page.said("attention")
    assert "Fails as a whole on Wide-gamut display. The mean is 1.62 ± 0.12 CIEDE2000, limit 1." in attention
    assert "What next: Begin with Plum, which is farthest off." in attention
    assert "Undecided as a whole on Office LCD." in attention


def test_the_doubt_says_where_it_comes_from(page: Any) -> None:
    said = page.said("basis")
    assert "the chance that this is wrong is at most 5 %" in said and "hold the truth 95 times in 100" in said
    assert "inks.cgatsOne reading repeats within 0.001 in R.by its class of instrument" in said
    assert "Wide-gamut displayNothing: its share of the doubt is missing in every figure.not known" in said


def test_brightener_is_a_bound_or_a_reason(page: Any) -> None:
    said = page.said("samples")
    assert "Brightener adds up to 0.120 of reflectance factor (at 440 nm)." in said
    assert "shop tubes0.6 to 2.4Between 0.6 and 2.4 from its colour as read, yellower." in said
    assert "shop LED–Cannot be known: its light below 400 nm is not known." in said


def test_limits_of_wholes_and_where_they_come_from_join_the_tolerances(result: Result, read_page: Reader) -> None:
    limits = ToleranceSet("proof", pair=2.5, p95=5.0, preset="contract-proof", source="ISO 12647-7, from memory")
    small = replace(result, samples=result.samples[:1], pairs=(), approvals=())
    said = read_page(render_page(replace(small, tolerances={"proof": limits}))).said("basis")
    assert "pair as it is, in the first light" in said and "95th percentile of a set" in said
    assert "proof ISO 12647-7, from memory" in said and "mean of a set" not in said


def test_a_result_read_back_gives_the_same_page(eyes_result: Result, html: str) -> None:
    few = replace(eyes_result, samples=eyes_result.samples[2:4], pairs=())
    assert render_page(result_from_json(few.to_json())) == render_page(few)
    assert 'style="left:' in html


def test_hostile_names_stay_words(eyes_result: Result, read_page: Reader) -> None:
    bad = '</style><script>window.hacked = 1</script>" onload="x'
    sample = replace(eyes_result.samples[2], name=bad)
    assert eyes_result.population is not None and eyes_result.doubt is not None
    crowd = sample.on[1].crowd
    assert crowd is not None and sample.brightener is not None
    lights = tuple(replace(one, light=bad, words=bad, reason=bad) for one in sample.brightener.lights)
    sample = replace(
        sample,
        on=(replace(sample.on[0], crowd=replace(crowd, words=bad)), replace(sample.on[1], crowd=crowd)),
        brightener=replace(sample.brightener, words=bad, lights=lights),
    )
    seen = read_page(
        render_page(
            replace(
                eyes_result,
                samples=(sample, eyes_result.samples[1]),
                displays=tuple(replace(d, label=bad) for d in eyes_result.displays),
                population=replace(eyes_result.population, label=bad, source=bad, refused=(bad,)),
                trust=tuple(replace(t, reasons=(bad,), observer=bad, sample=bad) for t in eyes_result.trust),
                doubt=replace(
                    eyes_result.doubt,
                    notes=(bad,),
                    sources=tuple(replace(s, name=bad, words=bad, stated=bad) for s in eyes_result.doubt.sources),
                ),
                wholes=tuple(replace(w, name=bad, worst_name=bad) for w in eyes_result.wholes),
            )
        )
    )
    assert seen.faults == []
    assert sum(tag == "script" for tag, _ in seen.tags) == 1
    assert not [name for _, attrs in seen.tags for name in attrs if name.startswith("on")]
    for section in ("eyes", "wholes", "samples", "basis", "attention"):
        assert "window.hacked" in seen.said(section)
    styles = {attrs["style"] for _, attrs in seen.tags if "style" in attrs}
    number = r"[\d.]+%"
    allowed = rf"background:#[0-9a-f]{{6}}|max-width:[\d.]+px|--step:{number}|left:{number}(;width:{number})?"
    assert all(re.fullmatch(allowed, style or "") for style in styles)


def test_hundreds_of_samples_cost_little_more(eyes_result: Result, make_crowd: Callable[..., CrowdRecord]) -> None:
    """The bars are no drawings: 300 crowds add less than 1.5 KB each, and all but the first rows are folded."""
    labels = Labels.of(eyes_result)
    one = eyes_result.samples[6]
    many = tuple(
        replace(one, name=f"sample {i}", on=tuple(replace(on, crowd=make_crowd(t)) for on in one.on[:1]))
        for i, t in enumerate(np.linspace(0.2, 3.0, 300))
    )
    made = replace(eyes_result, samples=many, pairs=())
    seen = eyes.eyes_view(made, labels, sample_views(made, labels), findings_of(made))
    assert seen is not None and len(seen.panels) == 1
    assert len(seen.panels[0].rows) == eyes.ROWS and len(seen.panels[0].folded) == 300 - eyes.ROWS
    assert [row.name for row in seen.panels[0].rows[:2]] == ["sample 299", "sample 298"]


def test_a_whole_of_pairs_shows_the_worst_pair(eyes_result: Result, read_page: Reader) -> None:
    whole = WholeRecord(
        "aims and proof", "pairs", None, 1, "de00", eyes_result.wholes[1].figures, "caddy and lid", "fail"
    )
    seen = read_page(render_page(replace(eyes_result, samples=eyes_result.samples[1:2], wholes=(whole,))))
    assert "aims and proof, 1 pair fails Fails as a whole." in seen.said("attention")
    assert "The set fails as a whole (aims and proof)." in seen.said("lead")


def test_what_passes_and_is_argued_about_says_so_while_it_is_folded(html: str) -> None:
    plum = html[html.index('id="sample-5"') :].partition("</summary>")[0]
    assert "passes, argued about</span>" in plum
    row = html[html.index('data-words="plum') :].partition("</tr>")[0]
    assert ">passes, argued about</td>" in row
    assert "Passes all that was judged. Will be argued about on Wide-gamut display and Office LCD.</bdi>" in plum


def test_an_advice_knows_what_people_see_there(
    eyes_result: Result, make_crowd: Callable[..., CrowdRecord], read_page: Reader
) -> None:
    """To show on another display what people will argue about there is no cure, and its figure is told."""
    teal = next(s for s in eyes_result.samples if s.name == "Lake teal")
    office, wide = teal.on
    assert any(v.what == "excess" and v.status == "fail" for v in office.verdicts)

    def next_of(typical: float, aim: str = "observer") -> str:
        crowd = make_crowd(typical)
        on = (office, replace(wide, crowd=crowd, verdicts=(), status="pass"))
        people = replace(eyes_result.population, aim=aim) if eyes_result.population else None
        made = replace(eyes_result, samples=(replace(teal, on=on),), population=people, pairs=(), wholes=())
        said = read_page(render_page(made)).said("attention")
        return str(said[said.index("What next: Show it on") :])

    share = next(age.share_above for age in make_crowd(2.9).by_age if age.ages == (70, 80))
    there = (
        f"on Wide-gamut display, but there {100 * (share or 0):.0f} in 100 people of 70 to 80 see more than 3: "
    )
    assert there + "have the code made for many eyes, or decide on the object" in next_of(2.9)
    assert there + "decide on the object" in next_of(2.9, "population")
    assert "but there" not in next_of(0.3)


def test_an_entry_opens_on_the_display_that_its_trouble_is_about(eyes_result: Result) -> None:
    views = {view.sample.name: view for view in sample_views(eyes_result, Labels.of(eyes_result))}
    plum = views["Plum"]  # it passes, and more people see it on the second display
    assert plum.status == "pass" and plum.face == 1 and plum.shown is plum.displays[1]
    assert views["Rust"].face == 0 and views["Ink black"].face == 0
    few = render_page(replace(eyes_result, samples=(plum.sample,), pairs=(), wholes=()))
    chosen = re.search(r'name="s1-display" value="(\d)" checked', few)
    assert chosen is not None and chosen[1] == "1" and few.count(" checked") == 3


def test_the_limit_for_the_people_says_where_it_comes_from(eyes_result: Result, read_page: Reader) -> None:
    own = read_page(render_page(eyes_result))
    assert "The limit for each person, 3 CIEDE2000, is the job's own for its people" in own.said("eyes")
    assert "for each person of the population" in own.said("basis")
    assert "Nobody was asked: for each the difference was calculated" in own.said("eyes")
    sets = {name: replace(one, observer_shift=3.0) for name, one in eyes_result.tolerances.items()}
    same = read_page(render_page(replace(eyes_result, tolerances=sets, samples=eyes_result.samples[:1])))
    assert "is the job's limit of shifts" in same.said("eyes")


def test_the_reference_of_a_light_shift_stands_right(eyes_result: Result) -> None:
    for view in sample_views(eyes_result, Labels.of(eyes_result)):
        assert view.alone is not None
        colours = {glow.label: glow.colour for glow in view.glows}
        assert all((row.left, row.right) == (colours[row.light], view.colour) for row in view.alone.rows)
