"""The proof page: one self-contained HTML file, a pure function of a result.

The page leads with what needs attention, in words, and shows every number with its unit, light and observer.
Its furniture is neutral grey, since colour is the data; a status is a word and a pattern. It loads nothing
from anywhere and opens from disk.
"""

from screenproof.report.page import render_page

__all__ = ["render_page"]
