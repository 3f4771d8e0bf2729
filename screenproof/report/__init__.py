"""What every answer is shown with: tables, drawings, plain data, and the proof page of a job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screenproof.report.page import render_page

__all__ = ["render_page"]


def __getattr__(name: str) -> Any:
    # The page is made with jinja2, which a table does without.
    if name == "render_page":
        from screenproof.report.page import render_page

        return render_page
    raise AttributeError(name)
