"""Numbers and sentences as the page prints them, and the greys that it prints them in."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files

import pytest

from screenproof import english
from screenproof.proof.result import Result
from screenproof.proof.tolerance import Judged, ToleranceSet
from screenproof.report import render_page, words
from screenproof.report.findings.count import lead
from screenproof.report.sheet import verdict_of
from screenproof.report.words import Labels


def test_numbers_have_a_true_minus_and_no_negative_zero() -> None:
    assert words.fixed(-1.256, 2) == "\N{MINUS SIGN}1.26"
    assert words.fixed(-0.001, 2) == "0.00"
    assert words.plain((-1.25, 0.5), 2) == "-1.25 0.50"


@pytest.mark.parametrize(
    ("figure", "limit", "shown"),
    [
        (3.14, 2.0, "3.1"),
        (2.04, 2.0, "2.04"),  # 2.0 would look like a pass
        (2.004, 2.0, "just over\N{NO-BREAK SPACE}2"),
        (1.96, 2.0, "2.0"),  # 2.0 is within the limit, as the figure is
        (2.0, 2.0, "2.0"),
        (0.96, 0.97, "0.96"),
    ],
)
def test_a_figure_shows_on_which_side_of_its_limit_it_lies(figure: float, limit: float, shown: str) -> None:
    assert words.against(figure, limit) == shown
    assert (float(shown) > limit) == (figure > limit) if shown[0].isdigit() else "over" in shown


def test_page_colours_are_cut_to_srgb() -> None:
    assert english.page_colour((0.0, 0.5, 1.0)) == "#0080ff"
    assert english.page_colour((-0.2, 1.4, 0.2)) == "#00ff33"


def test_small_words() -> None:
    assert english.listed(["a"]) == "a"
    assert english.listed(["a", "b", "c"], last="or") == "a, b or c"
    assert english.counted(1, "sample") == "1 sample"
    assert english.counted(0, "sample") == "0 samples"
    assert words.led(": it is ", "bluer") == ": it is bluer"
    assert words.led(": it is ", "the same") == words.led(": it is ", "") == ""
    assert english.sentence("over it") == "Over it."
    assert english.sentence("is it?") == "Is it?"
    assert english.sentence("") == ""
    assert words.made_on("2026-11-05T09:30:00+00:00") == "5 November 2026"
    assert words.made_on("yesterday") == "yesterday"


def test_a_fit_is_told_in_sentences() -> None:
    fit = {
        "model": "matrix",
        "readings": 105,
        "held_out": {"mean": 0.2, "p95": 0.5, "max": 0.914, "count": 94},
        "repeatability_de00": None,
        "additivity_failure": {"luminance_percent": -0.2, "de00": 0.62},
        "channel_independence_failure": {"mean": 0.17},
    }
    assert words.fit_words(fit) == (
        "Fitted to 105 readings as a matrix with tone curves. On 94 patches held out of the fit: mean 0.20, "
        "95th percentile 0.50, largest 0.91 CIEDE2000. Red, green and blue together miss the white by 0.62 "
        "CIEDE2000. Mixtures lie 0.17 CIEDE2000 from the sum of their ramps in the mean."
    )
    assert words.fit_words({"model": "other"}) == "Fitted as other."
    assert words.fit_words({}) == ""


def test_the_worst_verdict_is_a_failure_before_a_doubt() -> None:
    doubt = Judged("match", 9.0, 1.0, "de00", "undecided")
    fail = Judged("match", 1.2, 1.0, "de00", "fail")
    worse = Judged("match", 1.3, 1.0, "de00", "fail")
    none = Judged("match", 0.5, 0.0, "de00", "fail")
    assert max([doubt, fail, worse], key=lambda one: one.severity) is worse
    assert verdict_of([doubt, fail], "match") is fail
    assert verdict_of([fail], "excess") is None
    assert none.severity == (True, 0.5)


def _lead(result: Result) -> str:
    return "".join(phrase.text for phrase in lead(result, Labels.of(result)))


def test_the_lead_counts_what_fails(result: Result) -> None:
    said = _lead(result)
    counts = {state: sum(s.status == state for s in result.samples) for state in ("pass", "fail")}
    assert sum(counts.values()) == len(result.samples)
    assert said.startswith(f"Of 8 colours {counts['pass']} pass, {counts['fail']} fail (")
    # The ways to fail are told of samples that add up to those that fail, each by its name.
    ways = said[said.index("(") + 1 : said.index(")")].split("; ")
    named = [s for s in result.samples if sum(s.name in way for way in ways) == 1]
    assert {s.name for s in named} == {s.name for s in result.samples if s.status == "fail"}
    for sample in named:
        way = next(way for way in ways if sample.name in way)
        whats = {
            v.what for v in [*sample.verdicts, *(v for on in sample.on for v in on.verdicts)] if v.status == "fail"
        }
        assert ("cannot be shown" in way) == ("excess" in whats)
        assert ("match on" in way) == ("observer_shift" in whats)
        assert ("with the light" in way) == ("light_shift" in whats)
    strong = [phrase.text for phrase in lead(result, Labels.of(result)) if phrase.strong]
    assert any("fail" in text for text in strong) and not [text for text in strong if "pass" in text]


def test_the_lead_of_a_job_that_passes_is_its_own_summary(make_result: Callable[..., Result]) -> None:
    made = make_result(limits=ToleranceSet("wide", observer_shift=90.0))
    assert made.summary.status == "pass"
    assert _lead(made).strip() == made.summary.first == "All 8 colours pass."


def test_the_lead_with_approvals_alone_in_trouble(make_result: Callable[..., Result]) -> None:
    made = make_result(limits=ToleranceSet("approvals", approval=0.5), count=1)
    assert made.approvals[0].verdict is not None and made.approvals[0].verdict.status == "fail"
    made = replace(made, summary=replace(made.summary, status="fail"))
    assert (
        _lead(made).strip()
        == "Of 1 colour 1 fails (Fern green is not the approved colour); only approvals were judged."
    )


def _luminance(grey: str) -> float:
    """Relative luminance of '#rgb' or '#rrggbb' (IEC 61966-2-1)."""
    digits = grey.removeprefix("#")
    digits = digits if len(digits) == 6 else "".join(2 * digit for digit in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    assert len(set(parts)) == 1, f"{grey} is not neutral"
    return parts[0] / 12.92 if parts[0] <= 0.04045 else ((parts[0] + 0.055) / 1.055) ** 2.4


def test_the_furniture_is_neutral_grey_and_the_words_have_contrast() -> None:
    css = files("screenproof.report").joinpath("templates", "sheet.css").read_text(encoding="utf-8")
    colours = set(re.findall(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}\b", css))
    luminances = {grey: _luminance(grey) for grey in colours}  # asserts that each is a grey
    assert "#fff" in luminances and "#111" in luminances
    for name in ("ink", "quiet"):
        grey = re.search(rf"--{name}: (#\w+)", css)
        assert grey is not None
        # WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1; 7 to 1 is AAA (1.4.6).
        assert 1.05 / (luminances[grey[1]] + 0.05) >= 7.0


def test_the_mat_is_a_mid_grey() -> None:
    css = files("screenproof.report").joinpath("templates", "sheet.css").read_text(encoding="utf-8")
    mat = re.search(r"--mat: (#\w+)", css)
    assert mat is not None
    # L* = 116 Y^(1/3) - 16 (ISO/CIE 11664-4)
    assert 116 * _luminance(mat[1]) ** (1 / 3) - 16 == pytest.approx(55, abs=0.5)


def test_what_no_limit_judged_is_not_said_to_pass(make_result: Callable[..., Result]) -> None:
    unjudged = render_page(make_result(limits=ToleranceSet("approvals", approval=0.5), count=1))
    judged = render_page(make_result(limits=ToleranceSet("wide", observer_shift=90.0), count=1))
    assert ">not judged</td>" in unjudged and ">passes</td>" not in unjudged
    assert ">passes</td>" in judged and ">not judged</td>" not in judged
