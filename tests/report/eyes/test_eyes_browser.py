"""The people on the page in a real browser: the bars stand where their figures are, on screens of any size."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from screenproof.proof.result import Result
from screenproof.report import render_page

pytestmark = pytest.mark.browser

_BARS = """() => [...document.querySelectorAll("#eyes .people")].map(table =>
    [...table.querySelectorAll("tbody tr")].map(row => {
        const box = (css) => { const e = row.querySelector(css); return e && e.getBoundingClientRect().toJSON(); };
        return { cell: box("td.bars"), limit: box(".limit"), half: box(".half"), band: box(".band"),
                 over: box(".band.over"), eye: box(".eye") };
    }))"""


def test_the_bars_stand_where_their_figures_are(browser: Browser, eyes_result: Result, tmp_path: Path) -> None:
    path = tmp_path / "index.html"
    path.write_text(render_page(eyes_result), encoding="utf-8")
    tab = browser.new_page(viewport={"width": 1160, "height": 900})
    complaints: list[str] = []
    tab.on("console", lambda message: complaints.append(message.text))
    tab.goto(path.as_uri())
    for width in (1160, 390):
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate("document.documentElement.scrollWidth") == width
        for rows, display in zip(tab.evaluate(_BARS), ("office", "wide"), strict=False):
            crowds = [on.crowd for s in eyes_result.samples for on in s.on if on.display == display and on.crowd]
            crowds.sort(key=lambda crowd: (-(crowd.share_above or 0.0), -crowd.p95))
            assert len(rows) == len(crowds) == 8
            for row, crowd in zip(rows, crowds, strict=True):
                cell, limit, half = row["cell"], row["limit"], row["half"]
                assert crowd.limit is not None and cell["width"] > 140
                # The limit's line runs through the whole row, the bar lies in the middle of its height, and the
                # mark of the standard eye under it.
                assert limit["height"] == pytest.approx(cell["height"], abs=1.5)
                middle = cell["top"] + cell["height"] / 2
                for mark in ("half", "band"):
                    assert row[mark]["top"] + row[mark]["height"] / 2 == pytest.approx(middle, abs=1.5)
                assert row["band"]["top"] < row["eye"]["top"] and row["eye"]["bottom"] <= cell["bottom"]
                unit = (limit["left"] + limit["width"] / 2 - cell["left"]) / crowd.limit
                if crowd.median * unit < cell["width"]:
                    at = cell["left"] + crowd.median * unit
                    assert half["left"] + half["width"] / 2 == pytest.approx(at, abs=2.0)
                assert row["band"]["right"] <= cell["right"] + 1
                assert bool(row["over"]) == (crowd.p95 > crowd.limit)
    # On paper the greys and patterns are kept, and every display's people stand.
    tab.emulate_media(media="print")
    exact = tab.eval_on_selector("#eyes .band.over", "e => getComputedStyle(e).printColorAdjust")
    assert exact == "exact" and tab.is_visible("#sample-2 [data-panel='1'] .ages")
    assert complaints == []
    tab.close()
