"""The proof page as a text: well-formed, self-contained, escaped, lean, and true to the result."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from screenproof.proof.result import Result
from screenproof.proof.tolerance import ToleranceSet
from screenproof.report import render_page
from screenproof.report.page import FULL_SAMPLES, MOST_CARDS
from screenproof.report.words import against, fixed

VOID = {"meta", "input", "br", "path", "link", "img", "hr"}  # <path/> closes itself
HEADINGS = {"h1", "h2", "h3", "h4"}


class Tree(HTMLParser):
    """Walks a page, checks that every tag is closed in order, and keeps what the tests ask for."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, dict[str, str | None]]] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.faults: list[str] = []
        self.feed(html)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag, _ in self.open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(set(names)) != len(names):
            self.faults.append(f"<{tag}> has an attribute twice: {names}")
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if not self.open or self.open[-1][0] != tag:
            self.faults.append(f"</{tag}> at {self.getpos()} closes <{self.open[-1][0] if self.open else ''}>")
            return
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.texts.append((tuple(tag for tag, _ in self.open), data))

    def all(self, tag: str, css: str | None = None) -> list[dict[str, str | None]]:
        """The attributes of every such element, of the class ``css`` if one is given."""
        return [
            attrs
            for name, attrs in self.tags
            if name == tag and (css is None or css in (attrs.get("class") or "").split())
        ]

    @property
    def words(self) -> str:
        """The text that a reader sees."""
        return "".join(text for path, text in self.texts if not {"style", "script"} & set(path))


@pytest.fixture(scope="module")
def html(result: Result) -> str:
    return render_page(result)


@pytest.fixture(scope="module")
def tree(html: str) -> Tree:
    return Tree(html)


def test_it_is_well_formed(tree: Tree) -> None:
    assert tree.faults == []
    ids = [attrs["id"] for _, attrs in tree.tags if "id" in attrs]
    assert len(ids) == len(set(ids))


def test_landmarks_and_headings_are_in_order(tree: Tree) -> None:
    for tag in ("header", "nav", "main", "footer", "h1", "title"):
        assert len(tree.all(tag)) == 1, tag
    levels = [int(tag[1]) for tag, _ in tree.tags if tag in HEADINGS]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False)), levels


def test_every_link_within_the_page_has_its_place(tree: Tree) -> None:
    ids = {attrs["id"] for _, attrs in tree.tags if "id" in attrs}
    links = [attrs["href"] or "" for attrs in tree.all("a")]
    assert links and all(link.startswith("#") and link[1:] in ids for link in links)


def test_figures_controls_and_tables_are_labelled(tree: Tree) -> None:
    for attrs in tree.all("svg"):
        assert attrs.get("role") == "img" and len(attrs.get("aria-label") or "") > 20
    for attrs in tree.all("th"):
        assert attrs.get("scope") in ("row", "col")
    for attrs in tree.all("button"):
        assert attrs.get("type") == "button"
    assert len(tree.all("fieldset")) == len(tree.all("legend")) > 0


def test_nothing_is_loaded_from_anywhere(html: str, tree: Tree) -> None:
    assert not re.search(r"(?i)https?:|\burl\(|@import|\bsrc\s*=|\bsrcset\s*=", html)
    assert not [tag for tag, _ in tree.tags if tag in ("link", "img", "iframe", "object", "embed", "base")]


def test_its_policy_forbids_everything_but_its_own_script(html: str, tree: Tree) -> None:
    policy = next(a["content"] or "" for a in tree.all("meta") if a.get("http-equiv") == "Content-Security-Policy")
    script = "".join(text for path, text in tree.texts if "script" in path)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'")
    assert "script-src 'unsafe-inline'" not in policy
    # The policy has to stand before whatever it is to govern.
    assert html.index("Content-Security-Policy") < html.index("<style>") < html.index("<script>")


def test_the_same_result_gives_the_same_page(result: Result, html: str) -> None:
    assert render_page(result) == html


HOSTILE = (
    "<script>window.hacked = 1</script>",
    '" onmouseover="window.hacked = 1" x=\'',
    "--><style>body{display:none}</style>",
    "&lt;b&gt; &amp; $x^2$ {{ 7 * 191 }} {% raw %}",
    "\N{ARABIC LETTER SEEN}\N{ARABIC LETTER LAM}\N{ARABIC LETTER MEEM} \N{RIGHT-TO-LEFT OVERRIDE}red",
    "\N{TEACUP WITHOUT HANDLE}\N{WAVING BLACK FLAG} \N{CJK UNIFIED IDEOGRAPH-8336}\N{CJK UNIFIED IDEOGRAPH-8272}",
    "long" * 700,
    "</title></h1>words0 words1",
)


@pytest.fixture(scope="module")
def hostile(make_result: Callable[..., Result]) -> Result:
    """A result in which every name that a user may give is out to break the page."""
    made = make_result(names=HOSTILE, title=HOSTILE[0], note=HOSTILE[1])
    displays = tuple(replace(d, label=HOSTILE[i]) for i, d in enumerate(made.displays))
    lights = tuple(replace(light, label=HOSTILE[i], source=HOSTILE[0]) for i, light in enumerate(made.lights))
    observers = tuple(replace(eye, label=HOSTILE[i]) for i, eye in enumerate(made.observers))
    samples = tuple(replace(s, group=HOSTILE[1], source=HOSTILE[0], reason=HOSTILE[2]) for s in made.samples)
    tolerances = {HOSTILE[0]: made.tolerances["brand"]}
    return replace(
        made, displays=displays, lights=lights, observers=observers, samples=samples, tolerances=tolerances
    )


def test_hostile_names_are_words_and_nothing_else(hostile: Result, tree: Tree) -> None:
    page = render_page(hostile)
    seen = Tree(page)
    assert seen.faults == []
    assert len(seen.all("script")) == len(seen.all("style")) == len(seen.all("title")) == 1
    assert not [name for _, attrs in seen.tags for name in attrs if name.startswith("on")]
    assert {tag for tag, _ in seen.tags} == {tag for tag, _ in tree.tags}
    for name in HOSTILE:
        assert name in seen.words
    assert "1337" not in seen.words  # 7 * 191
    for _, attrs in seen.tags:
        style = attrs.get("style")
        assert style is None or re.fullmatch(r"(max-width:[\d.]+px)|(background:#[0-9a-f]{6})", style), style


def test_names_in_a_figure_are_the_users_own(hostile: Result) -> None:
    seen = Tree(render_page(hostile))
    inside = [text for path, text in seen.texts if "svg" in path]
    assert HOSTILE[0][:29] in "".join(inside)  # long names are cut in the figure, and only there
    assert not [text for text in inside if re.fullmatch(r"words\d+", text)]


def test_drive_values_and_codes_are_those_of_the_result(result: Result, tree: Tree) -> None:
    copied = {attrs["data-copy"] for attrs in tree.all("button", "copy")}
    for sample in result.samples:
        for on in sample.on:
            assert " ".join(f"{part:.6f}" for part in on.drive) in copied
            assert " ".join(str(part) for part in on.code) in copied
        assert " ".join(f"{part:.4f}" for part in sample.xyz) in copied


def test_numbers_stand_with_their_light_and_observer(result: Result, tree: Tree) -> None:
    first = result.samples[0]
    assert f"XYZ{fixed(first.xyz[0])}" in re.sub(r"\s", "", tree.words)
    assert "D50, CIE\N{NO-BREAK SPACE}1931, 2°" in tree.words


def test_marks_are_the_verdicts_of_the_result(result: Result, tree: Tree) -> None:
    shifts = [v for s in result.samples for on in s.on for v in on.verdicts if v.what == "observer_shift"]
    alone = [v for s in result.samples for v in s.verdicts]
    pairs = [v for pair in result.pairs for v in pair.verdicts]
    failed = sum(v.status == "fail" for v in [*shifts, *alone, *pairs])
    assert failed > 20
    assert len([1 for path, text in tree.texts if text.strip() == "over the limit"]) == failed
    cells = [text for path, text in tree.texts if path[-1:] == ("td",)]
    for verdict in shifts:
        assert against(verdict.figure, verdict.limit) in cells


def test_trouble_stands_first_and_open(result: Result, html: str, tree: Tree) -> None:
    entries = tree.all("details", "sample")
    by_number = {f"sample-{number}": sample for number, sample in enumerate(result.samples, 1)}
    statuses = [by_number[entry["id"] or ""].status for entry in entries]
    assert len(entries) == len(result.samples)
    assert statuses == sorted(statuses, key=lambda status: status == "pass")
    assert [("open" in entry) for entry in entries] == [status != "pass" for status in statuses]
    assert html.index('id="attention"') < html.index('id="samples"') < html.index('id="gamut"')


def test_every_trouble_has_a_card_or_a_line(result: Result, tree: Tree) -> None:
    failing = sum(sample.status == "fail" for sample in result.samples)
    failing += sum(a.verdict is not None and a.verdict.status == "fail" for a in result.approvals)
    failing += sum(pair.status == "fail" for pair in result.pairs)
    cards = [a for a in tree.all("article", "card") if "id" not in a]  # the approvals' own cards have an id
    assert 0 < failing <= MOST_CARDS
    assert len(cards) == failing
    for words in ("Cannot be shown on Office LCD.", "Leaves its match on", "Changes with the light.",
                  "Is not the approved colour.", "match in every light", "What next:"):  # fmt: skip
        assert words in tree.words


def test_the_advice_names_a_display_of_the_job_before_any_other(make_result: Callable[..., Result]) -> None:
    only = ToleranceSet("shown", excess=1.0)
    assert (
        "What next: Show it on Wide-gamut display." in Tree(render_page(make_result(count=2, limits=only))).words
    )
    alone = Tree(render_page(make_result(count=2, limits=only, displays=1))).words
    assert "What next: Show it on a display that covers P3-D65." in alone


def test_a_sample_is_first_seen_where_it_fails_worst(result: Result, html: str) -> None:
    for number, sample in enumerate(result.samples, 1):
        verdicts = [*sample.verdicts, *(v for on in sample.on for v in on.verdicts if v.what == "observer_shift")]
        failing = [v for v in verdicts if v.status == "fail"]
        worst = max(failing, key=lambda v: v.figure / v.limit).light if failing else result.viewing.light
        checked = re.search(rf'name="s{number}-light"[^>]* checked><span data-words="([^"]*)"', html)
        assert checked is not None and checked[1] == worst


def test_more_troubles_than_cards_are_listed_by_name(make_result: Callable[..., Result]) -> None:
    strict = ToleranceSet("strict", observer_shift=0.01)
    many = make_result(count=24, displays=1, limits=strict)
    seen = Tree(render_page(many))
    cards = [a for a in seen.all("article", "card") if "id" not in a]
    assert len(cards) == MOST_CARDS
    named = {link["href"] for link in seen.all("a")}
    assert {f"#sample-{number}" for number in range(1, 25)} <= named


def test_a_result_in_which_all_passes_has_nothing_to_attend_to(make_result: Callable[..., Result]) -> None:
    wide = ToleranceSet("wide", observer_shift=90.0)
    page = render_page(make_result(limits=wide))
    seen = Tree(page)
    assert 'id="attention"' not in page
    assert not [a for a in seen.all("details", "sample") if "open" in a]
    assert seen.faults == []


def test_undecided_is_dots_and_a_word(result: Result) -> None:
    first = result.samples[0]
    doubtful = tuple(
        replace(v, status="undecided", uncertainty=0.3) if v.status == "fail" else v for v in first.on[0].verdicts
    )
    on = (replace(first.on[0], verdicts=doubtful, status="undecided"),)
    sample = replace(first, on=on, verdicts=(), light_shift=(), status="undecided")
    seen = Tree(render_page(replace(result, samples=(sample,), approvals=(), pairs=())))
    assert len(seen.all("div", "undecided")) == 1
    assert seen.all("td", "undecided") and not seen.all("td", "fail")
    assert "Undecided whether it holds on Office LCD." in seen.words
    assert "one is undecided" in seen.words
    assert "repeat the readings" in seen.words.lower()


def test_colour_values_only_are_refused_with_the_reason(make_result: Callable[..., Result]) -> None:
    seen = Tree(render_page(make_result(colorimetric=True)))
    assert seen.faults == []
    assert "Not calculated. Only colour values are known, no spectrum." in seen.words
    assert "measured as colour values only" in seen.words
    assert not seen.all("svg", "spectra") and not seen.all("fieldset", "light")
    assert "nan" not in seen.words.lower().split()


def test_a_display_without_spectra_leaves_the_reflectance(result: Result) -> None:
    first = result.samples[1]
    plain = replace(first, on=tuple(replace(on, spectra=None) for on in first.on))
    seen = Tree(render_page(replace(result, samples=(plain,), approvals=(), pairs=())))
    assert len(seen.all("svg", "spectra")) == len(first.on)
    assert "only colour values are known, so its light cannot be drawn" in seen.words
    assert "measured as colour values only" not in seen.words


def test_one_display_with_spectra_and_one_without(result: Result) -> None:
    first = result.samples[1]
    mixed = replace(first, on=(replace(first.on[0], spectra=None), first.on[1]))
    seen = Tree(render_page(replace(result, samples=(mixed,), approvals=(), pairs=())))
    labels = [attrs["aria-label"] or "" for attrs in seen.all("svg", "spectra")]
    assert [label.split(" of ")[0] for label in labels] == ["Reflectance factor", "Spectra"]
    assert "measured as colour values only" not in seen.words


@pytest.mark.parametrize("displays", [0, 1, 4])
def test_any_number_of_displays(make_result: Callable[..., Result], displays: int) -> None:
    made = make_result(displays=displays)
    seen = Tree(render_page(made))
    assert seen.faults == []
    assert len(seen.all("svg", "chromaticity")) == 1
    assert len(seen.all("section", "panel")) == displays * len(made.samples)


def test_an_empty_result_is_still_a_page(result: Result) -> None:
    seen = Tree(render_page(replace(result, samples=(), approvals=(), pairs=(), tolerances={})))
    assert seen.faults == []


def test_a_long_job_keeps_the_rest_in_the_table(
    make_result: Callable[..., Result], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert FULL_SAMPLES >= 100
    monkeypatch.setattr("screenproof.report.page.FULL_SAMPLES", 14)  # a page of so many takes seconds to draw
    page = render_page(make_result(count=14 + 9, displays=1))
    seen = Tree(page)
    assert len(seen.all("details", "sample")) == 14
    assert "9 more samples of this long job stand in the table below only" in seen.words
    assert page.count('<tr data-status="') == 14 + 9
    ids = {attrs["id"] for _, attrs in seen.tags if "id" in attrs}
    assert all((link["href"] or "")[1:] in ids for link in seen.all("a"))


def test_the_formula_of_the_tolerance_is_named_with_its_weights(make_result: Callable[..., Result]) -> None:
    cmc = ToleranceSet("cloth", metric="cmc", match=1.0, excess=1.0, observer_shift=2.0)
    seen = Tree(render_page(make_result(limits=cmc)))
    assert "Object against screen, CMC(2:1), limit 2" in seen.words


def test_it_says_where_the_patches_are_right(result: Result, html: str, tree: Tree) -> None:
    assert "right only on a colour-managed screen that shows sRGB" in tree.words
    assert "in the folder patches/ beside this page" in tree.words
    assert "patches/" not in Tree(render_page(result, patches=None)).words


def test_provenance_tolerances_cautions_and_notes_are_all_there(result: Result, tree: Tree) -> None:
    for entry in result.provenance.inputs:
        assert entry.sha256 in tree.words and entry.path in tree.words
    for words in (*result.provenance.standards, *result.provenance.formulae, *result.cautions):
        assert words.rstrip(".") in tree.words
    for name, version in result.provenance.versions.items():
        assert f"{name} {version}" in tree.words
    assert "one reading is above 1" in tree.words.lower() and "(Straw, inks.cgats, line 14)" in tree.words
    assert "brand" in tree.words
