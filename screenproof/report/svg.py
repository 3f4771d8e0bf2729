"""A matplotlib figure as lean inline SVG.

Matplotlib writes a whole document: a prologue, metadata, nested groups with ids, a style sheet that would
reach the host page, six decimals. A page with a hundred figures wants only the shapes. So the document is
parsed and written anew as flat paths and texts with one decimal, without ids. Text stays text, in the face
of the page, and words that a user wrote never pass through the typesetter: the figure holds a key in their
place (:class:`Words`), which is exchanged for the escaped words here.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree
from xml.sax.saxutils import escape, quoteattr

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"-?\d+\.?\d*(?:e-?\d+)?")
_KEPT = ("fill", "stroke", "stroke-width", "stroke-dasharray", "opacity", "text-anchor", "font-weight")
_DEFAULTS = {"opacity": "1", "text-anchor": "start", "stroke-dasharray": "none", "stroke": "none"}


class Words:
    """Keys that stand in a figure for words that a user wrote, until the SVG is made.

    The typesetter would measure the words, warn of glyphs that its own fonts lack and take a dollar sign for
    mathematics; a key of plain letters has none of that.
    """

    def __init__(self) -> None:
        self._words: list[str] = []

    def key(self, words: str) -> str:
        """The key to put in the figure in the place of ``words``."""
        self._words.append(words)
        return f"words{len(self._words) - 1}"

    def read(self, text: str) -> str:
        """The words of a key; any other text comes back as it is."""
        match = re.fullmatch(r"words(\d+)", text)
        return self._words[int(match[1])] if match and int(match[1]) < len(self._words) else text


def lean_svg(figure: Figure, *, title: str, css: str, words: Words | None = None) -> str:
    """``figure`` as an ``<svg>`` element for an HTML page, with ``title`` as its name for screen readers.

    ``css`` is the class of the element. One point of the figure is one CSS pixel at its natural size; the
    page may scale it, as there is a viewBox. Texts keep their sizes and anchors, and take the page's face.
    """
    import matplotlib

    buffer = io.BytesIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "screenproof"}):
        figure.savefig(buffer, format="svg", metadata={"Date": None}, transparent=True)
    root = ElementTree.fromstring(buffer.getvalue())
    box = " ".join(_round(number) for number in (root.get("viewBox") or "").split())
    width = box.split()[2]
    parts = [
        f'<svg class={quoteattr(css)} viewBox="{box}" role="img" aria-label={quoteattr(title)} '
        f'style="max-width:{width}px">'
    ]
    for element in root.iter():
        if element.tag == f"{_SVG}path":
            parts.append(_path(element))
        elif element.tag == f"{_SVG}text":
            parts.append(_text(element, words or Words()))
    parts.append("</svg>")
    return "".join(parts)


def _round(number: str, digits: int = 1) -> str:
    rounded = f"{float(number):.{digits}f}"
    if "." in rounded:
        rounded = rounded.rstrip("0").rstrip(".")
    return "0" if rounded in ("-0", "") else rounded


def _style(element: ElementTree.Element) -> dict[str, str]:
    style = {}
    for entry in (element.get("style") or "").split(";"):
        name, _, value = entry.partition(":")
        style[name.strip()] = value.strip()
    return style


def _attributes(style: dict[str, str]) -> str:
    kept = ""
    for name in _KEPT:
        value = style.get(name)
        if value is None or value == _DEFAULTS.get(name):
            continue
        if name in ("stroke-width", "stroke-dasharray", "opacity"):
            value = _NUMBER.sub(lambda match: _round(match[0], 2), value)
        kept += f" {name}={quoteattr(value)}"
    return kept


def _path(element: ElementTree.Element) -> str:
    data = _NUMBER.sub(lambda match: _round(match[0]), element.get("d") or "")
    data = re.sub(r"\s+", " ", data).strip()
    data = re.sub(r" ?([MLCQZz]) ?", r"\1", data)
    # A second L (or C) of the same kind is understood, so its letter becomes the blank that parts the numbers.
    data = re.sub(r"L([^MLCQZz]*(?:L[^MLCQZz]*)*)", lambda match: "L" + match[1].replace("L", " "), data)
    return f'<path d="{data}"{_attributes(_style(element))}/>' if data else ""


def _text(element: ElementTree.Element, words: Words) -> str:
    style = _style(element)
    size = _round(style.get("font-size", "13px").removesuffix("px"))
    text = escape(words.read("".join(element.itertext())))
    x, y = (_round(element.get(axis) or "0") for axis in "xy")
    fill = style.get("fill", "#000000")
    kept = _attributes({**style, "fill": fill})
    return f'<text x="{x}" y="{y}" font-size="{size}"{kept}>{text}</text>'
