"""The ink side of the page in a real browser: it fits the screen, its folds open, it prints."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from screenproof.proof.result import Result
from screenproof.report import render_page

pytestmark = pytest.mark.browser


def test_it_fits_the_screen_and_its_folds_open(browser: Browser, ink_result: Result, tmp_path: Path) -> None:
    path = tmp_path / "index.html"
    path.write_text(render_page(ink_result), encoding="utf-8")
    tab = browser.new_page(viewport={"width": 1160, "height": 900})
    complaints: list[str] = []
    tab.on("console", lambda message: complaints.append(message.text))
    tab.on("pageerror", lambda error: complaints.append(str(error)))
    tab.goto(path.as_uri())
    for fold in tab.query_selector_all("details.fold:not([open]) > summary"):
        fold.click()
    for width in (1160, 390):
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate("document.documentElement.scrollWidth") == width
        # Both recipes and their bars are in sight without scrolling sideways.
        bars = tab.eval_on_selector_all(
            ".beside .length", "all => all.map(e => e.getBoundingClientRect().toJSON())"
        )
        assert len(bars) == 4 and all(0 < bar["right"] <= width for bar in bars)
        assert max(bar["width"] for bar in bars) == pytest.approx(100, abs=1)
    # The sorting of the samples' table is not taken by a table of the ink side.
    tab.click(".all th button >> nth=1")
    assert tab.get_attribute(".all th[aria-sort=ascending]", "aria-sort") == "ascending"
    # On paper what is unfolded stands, and the patches keep their colours.
    tab.emulate_media(media="print")
    assert tab.is_visible("#matrix-2 table.matrix") and tab.is_visible("#reach table.reach")
    exact = tab.eval_on_selector("#matrix-1 .patch", "e => getComputedStyle(e).printColorAdjust")
    assert exact == "exact" and complaints == []
    tab.close()
