"""The page in a real browser: choosers, keyboard, sorting, filtering, copying, and no request that leaves it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from screenproof.english import page_colour
from screenproof.proof.result import Result
from screenproof.report import render_page

pytestmark = pytest.mark.browser


@dataclass
class Sheet:
    """An open page, what it asked the network for, and what it complained of."""

    page: Page
    requests: list[str] = field(default_factory=list)
    failures: dict[str, str | None] = field(default_factory=dict)
    complaints: list[str] = field(default_factory=list)


Opener = Callable[..., Sheet]

_RENDERED: dict[int, tuple[Result, str]] = {}  # the result is kept, so that its id is not given to another


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    """``opened(result, width=1160)``: the page of a result, from disk."""
    pages: list[Page] = []

    def open_page(result: Result, width: int = 1160, script: bool = True) -> Sheet:
        path = tmp_path / f"index-{len(pages)}.html"
        if id(result) not in _RENDERED:
            _RENDERED[id(result)] = result, render_page(result)
        path.write_text(_RENDERED[id(result)][1], encoding="utf-8")
        page = browser.new_page(viewport={"width": width, "height": 900}, java_script_enabled=script)
        pages.append(page)
        sheet = Sheet(page)
        page.on("request", lambda request: sheet.requests.append(request.url))
        page.on("requestfailed", lambda request: sheet.failures.update({request.url: request.failure}))
        page.on("console", lambda message: sheet.complaints.append(message.text))
        page.on("pageerror", lambda error: sheet.complaints.append(str(error)))
        page.goto(path.as_uri())
        return sheet

    yield open_page
    for page in pages:
        page.context.close()


@pytest.fixture(scope="module")
def page(browser: Browser, result: Result, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A page for tests that look, choose a light or a display, and mind no other's choice before."""
    path = tmp_path_factory.mktemp("page") / "index.html"
    path.write_text(render_page(result), encoding="utf-8")
    opened = browser.new_page(viewport={"width": 1160, "height": 900})
    opened.goto(path.as_uri())
    yield opened
    opened.close()


def _background(page: Page, selector: str) -> str:
    rgb = page.eval_on_selector(selector, "e => getComputedStyle(e).backgroundColor")
    parts = [int(part) for part in rgb.removeprefix("rgb(").removesuffix(")").split(",")]
    return "#" + "".join(f"{part:02x}" for part in parts)


ENTRY = "#sample-2"
OBJECT = f"{ENTRY} [data-panel='0'] .patch .object"
SCREEN = f"{ENTRY} [data-panel='0'] .patch"


def _chosen(page: Page, chooser: str) -> str:
    words = page.eval_on_selector(f"{chooser} input:checked", "e => e.nextElementSibling.dataset.words")
    return str(words)


def test_no_request_leaves_the_page_and_nothing_is_complained_of(opened: Opener, result: Result) -> None:
    sheet = opened(result)
    for summary in sheet.page.query_selector_all("details > summary"):
        if summary.is_visible():
            summary.click()
    sheet.page.wait_for_timeout(200)
    assert len(sheet.requests) == 1 and sheet.requests[0].startswith("file://")
    assert sheet.complaints == []


def test_the_policy_stops_a_request_before_it_leaves(opened: Opener, result: Result) -> None:
    sheet = opened(result)
    stopped = sheet.page.evaluate(
        """() => new Promise(done => {
            document.addEventListener("securitypolicyviolation", event => done(event.effectiveDirective));
            new Image().src = "https://example.invalid/pixel.png";
        })"""
    )
    assert stopped == "img-src"
    assert sheet.failures == {"https://example.invalid/pixel.png": "csp"}


def test_a_click_on_a_light_moves_the_object_and_not_the_screen(page: Page, result: Result) -> None:
    sample = result.samples[1]
    screen = _background(page, SCREEN)
    assert screen == page_colour(sample.on[0].shown_srgb)
    seen = set()
    for light in sample.patch:
        page.click(f"{ENTRY} .chooser.light label:has([data-words='{light}'])")
        assert _background(page, OBJECT) == page_colour(sample.patch[light])
        assert _background(page, SCREEN) == screen
        said = page.inner_text(f"{ENTRY} [data-panel='0'] .said")
        assert said.startswith(f"In {light}, CIEDE2000 between object and screen: ")
        assert page.inner_text(f"{ENTRY} [data-panel='0'] .where") == light
        rows = page.eval_on_selector_all(f"{ENTRY} [data-panel='0'] .grid .chosen", "all => all.length")
        assert rows == 1
        seen.add(_background(page, OBJECT))
    assert len(seen) == len(sample.patch)


def test_the_keyboard_moves_the_object_too(page: Page, result: Result) -> None:
    sample = result.samples[1]
    page.focus(f"{ENTRY} .chooser.light input:checked")
    before, screen = _chosen(page, f"{ENTRY} .chooser.light"), _background(page, SCREEN)
    lights = list(sample.patch)
    for step in range(1, len(lights) + 1):
        page.keyboard.press("ArrowRight")
        now = lights[(lights.index(before) + step) % len(lights)]
        assert _chosen(page, f"{ENTRY} .chooser.light") == now
        assert _background(page, OBJECT) == page_colour(sample.patch[now])
        assert _background(page, SCREEN) == screen
    page.keyboard.press("ArrowLeft")
    assert _chosen(page, f"{ENTRY} .chooser.light") == lights[lights.index(before) - 1]


def test_the_focus_can_be_seen(page: Page) -> None:
    page.focus(f"{ENTRY} .chooser.light input:checked")
    page.keyboard.press("ArrowRight")
    style = page.eval_on_selector(
        f"{ENTRY} .chooser.light input:checked + span", "e => getComputedStyle(e).outlineStyle"
    )
    assert style == "solid"


def test_the_halves_of_a_patch_touch(page: Page) -> None:
    box = page.eval_on_selector(SCREEN, "e => e.getBoundingClientRect().toJSON()")
    half = page.eval_on_selector(OBJECT, "e => e.getBoundingClientRect().toJSON()")
    assert half["left"] == box["left"] and half["height"] == box["height"]
    assert half["right"] == pytest.approx((box["left"] + box["right"]) / 2, abs=0.5)
    # The object's half lies on the screen's, so that no mat can show between them.
    assert page.eval_on_selector(OBJECT, "e => getComputedStyle(e).borderRightWidth") == "0px"


def test_the_chooser_of_displays_changes_the_panel(page: Page) -> None:
    assert page.is_visible(f"{ENTRY} [data-panel='0']") and not page.is_visible(f"{ENTRY} [data-panel='1']")
    page.focus(f"{ENTRY} .chooser.display input:checked")
    page.keyboard.press("ArrowRight")
    assert page.is_visible(f"{ENTRY} [data-panel='1']") and not page.is_visible(f"{ENTRY} [data-panel='0']")
    assert "On Wide-gamut display" in page.inner_text(ENTRY)


def test_the_lights_of_a_pair_move_both_halves(page: Page, result: Result) -> None:
    pair = result.pairs[0]
    by_name = {sample.name: sample for sample in result.samples}
    for light in ("D50", "home lamp"):
        page.click(f"#pair-1 .chooser.light label:has([data-words='{light}'])")
        assert _background(page, "#pair-1 .patch .object") == page_colour(by_name[pair.a].patch[light])
        assert _background(page, "#pair-1 .patch") == page_colour(by_name[pair.b].patch[light])


def _column(page: Page, selector: str) -> list[str]:
    texts = page.eval_on_selector_all(
        f".all tbody tr:not([hidden]) {selector}", "all => all.map(e => e.innerText)"
    )
    return [str(text).strip() for text in texts]


def test_sorting_by_numbers_and_by_words(opened: Opener, result: Result) -> None:
    page = opened(result).page
    excess = sorted(float(f"{on.excess:.2f}") for sample in result.samples for on in sample.on)
    head = page.locator(".all th", has=page.get_by_role("button", name="excess", exact=True))
    button = head.get_by_role("button")
    assert head.get_attribute("aria-sort") == "none"
    button.click()
    assert head.get_attribute("aria-sort") == "ascending"
    assert [float(text) for text in _column(page, "[data-label='excess']")] == excess
    button.focus()
    page.keyboard.press("Enter")
    assert head.get_attribute("aria-sort") == "descending"
    assert [float(t) for t in _column(page, "[data-label='excess']")] == sorted(
        (float(t) for t in excess), reverse=True
    )
    page.get_by_role("button", name="sample", exact=True).click()
    names = _column(page, "th a")
    assert names == sorted(names) and len(names) == len(excess)
    assert head.get_attribute("aria-sort") == "none"


def test_filtering_by_words_verdict_and_display(opened: Opener, result: Result) -> None:
    page = opened(result).page
    total = sum(len(sample.on) for sample in result.samples)
    assert page.inner_text(".filter output") == f"{total} of {total} rows"
    page.fill(".filter [name=words]", "TEAL carton")
    assert set(_column(page, "th a")) == {"Lake teal", "Deep teal"}
    page.select_option(".filter [name=display]", label="Office LCD")
    assert page.inner_text(".filter output") == f"2 of {total} rows"
    page.fill(".filter [name=words]", "")
    page.select_option(".filter [name=status]", label="passes")
    expected = [
        sample.name
        for sample in result.samples
        if sample.on[0].status == "pass" and all(verdict.status == "pass" for verdict in sample.verdicts)
    ]
    assert _column(page, "th a") == expected and expected
    assert set(_column(page, "td.state")) == {"passes"}


def test_the_table_can_be_seen_in_another_light(page: Page, result: Result) -> None:
    half = ".all tbody tr:nth-child(3) [data-colours]"
    page.click("#table-light label:has([data-words='home lamp'])")
    assert _background(page, half) == page_colour(result.samples[1].patch["home lamp"])


def test_copying_by_click_and_by_key(opened: Opener, result: Result) -> None:
    page = opened(result).page
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    on = result.samples[1].on[0]
    code = " ".join(str(part) for part in on.code)
    button = page.get_by_role("button", name="Copy code of Lake teal on Office LCD")
    button.click()
    page.wait_for_function("document.querySelector('#told').textContent.startsWith('Copied')")
    assert page.evaluate("navigator.clipboard.readText()") == code
    page.get_by_role("button", name="Copy drive values of Lake teal on Office LCD").focus()
    page.keyboard.press("Enter")
    drive = " ".join(f"{part:.6f}" for part in on.drive)
    page.wait_for_function("words => document.querySelector('#told').textContent === 'Copied ' + words", arg=drive)
    assert page.evaluate("navigator.clipboard.readText()") == drive


def test_copying_without_the_clipboard_falls_back_to_a_selection(opened: Opener, result: Result) -> None:
    page = opened(result).page
    page.evaluate(
        """() => {
            Object.defineProperty(navigator, "clipboard", { value: undefined });
            document.addEventListener("copy", () => { window.copied = getSelection().toString()
                || document.activeElement.value; });
        }"""
    )
    button = page.get_by_role("button", name="Copy code of Lake teal on Office LCD")
    button.click()
    code = " ".join(str(part) for part in result.samples[1].on[0].code)
    page.wait_for_function("document.querySelector('#told').textContent.startsWith('Copied')")
    assert page.evaluate("window.copied") == code
    assert button.evaluate("e => e === document.activeElement")  # the focus comes back
    # And where that is forbidden too, the number stands selected with the words what to do.
    page.evaluate("document.execCommand = () => false")
    button.click()
    page.wait_for_function("document.querySelector('#told').textContent.startsWith('Selected')")
    assert page.evaluate("getSelection().toString()").strip() == code


def test_a_link_unfolds_its_sample(opened: Opener, result: Result) -> None:
    page = opened(result).page
    number = next(n for n, sample in enumerate(result.samples, 1) if sample.status == "pass")
    entry = f"#sample-{number}"
    assert not page.eval_on_selector(entry, "e => e.open")
    page.click(f".all a[href='{entry}'] >> nth=0")
    assert page.eval_on_selector(entry, "e => e.open")
    page.click(f"{entry} > summary")
    page.click(f".all a[href='{entry}'] >> nth=0")  # the same link again
    assert page.eval_on_selector(entry, "e => e.open")
    page.click("[data-unfold=none]")
    assert page.eval_on_selector_all("details.sample[open]", "all => all.length") == 0
    page.click("[data-unfold=all]")
    assert page.eval_on_selector_all("details.sample[open]", "all => all.length") == len(result.samples)


def _fits(page: Page, width: int) -> bool:
    page.set_viewport_size({"width": width, "height": 900})
    return bool(page.evaluate("document.documentElement.scrollWidth") == width)


def test_the_page_never_scrolls_sideways(opened: Opener, result: Result) -> None:
    page = opened(result).page
    page.click("[data-unfold=all]")
    for summary in page.query_selector_all("details.figures > summary"):
        if summary.is_visible():
            summary.click()
    assert all(_fits(page, width) for width in (1160, 760, 390))


def test_long_names_do_not_break_the_page(opened: Opener, make_result: Callable[..., Result]) -> None:
    name = "<script>window.hacked = 1</script>" + "long" * 200
    long = make_result(names=(name,), title=name, note=name)
    long = replace(long, displays=tuple(replace(d, label=name) for d in long.displays))
    long = replace(long, lights=tuple(replace(light, label=name + light.name) for light in long.lights))
    sheet = opened(long)
    assert all(_fits(sheet.page, width) for width in (1160, 390))
    assert sheet.page.evaluate("window.hacked") is None
    assert sheet.complaints == []


def test_without_the_script_everything_is_there_to_read(opened: Opener, result: Result) -> None:
    page = opened(result, script=False).page
    assert page.is_visible(f"{ENTRY} [data-panel='0']") and page.is_visible(f"{ENTRY} [data-panel='1']")
    assert not page.is_visible(f"{ENTRY} .chooser") and not page.is_visible(".filter")
    assert page.is_visible(".all tbody tr:last-child")


def test_on_paper_all_displays_stand_and_no_controls(opened: Opener, make_result: Callable[..., Result]) -> None:
    page = opened(make_result(count=2)).page
    page.emulate_media(media="print")
    assert page.is_visible(f"{ENTRY} [data-panel='0']") and page.is_visible(f"{ENTRY} [data-panel='1']")
    for control in (".chooser", ".filter", ".copy", "nav", ".tools"):
        assert not page.is_visible(control), control
    assert page.inner_text(".all thead").split()[:4] == ["no.", "patch", "sample", "display"]
    exact = page.eval_on_selector(SCREEN, "e => getComputedStyle(e).printColorAdjust")
    assert exact == "exact"
    paper = page.pdf(prefer_css_page_size=True, page_ranges="1")
    assert paper.startswith(b"%PDF")


def test_what_scrolls_can_be_reached_by_key(opened: Opener, result: Result) -> None:
    page = opened(result, 390).page
    reach = page.evaluate(
        """() => [...document.querySelectorAll(".scroll")].filter(box => box.checkVisibility())
            .map(box => [box.scrollWidth > box.clientWidth + 1, box.tabIndex === 0])"""
    )
    assert any(scrolls for scrolls, _ in reach)
    assert all(scrolls == reached for scrolls, reached in reach)
