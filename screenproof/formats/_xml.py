"""XML of a stranger, read so that it can neither blow up nor reach out, with the line of every element."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, ParseError

from screenproof.errors import bad
from screenproof.formats._text import refuse_binary

MAX_XML_BYTES = 128 * 1024 * 1024
"""A tree takes some thirty times the memory of its text."""


class Tree:
    """The root of a document and the line on which each of its elements begins."""

    def __init__(self, root: Element, lines: dict[int, int], kept: list[Element]) -> None:
        self.root = root
        self._lines = lines
        self._kept = kept  # so that the identities of elements stay their own

    def line(self, element: Element) -> int | None:
        """The line on which ``element`` begins."""
        return self._lines.get(id(element))


def local(element: Element) -> str:
    """The name of an element without its namespace."""
    return str(element.tag).rpartition("}")[2]


def namespace(element: Element) -> str:
    """The namespace of an element, empty when it has none."""
    tag = str(element.tag)
    return tag[1:].partition("}")[0] if tag.startswith("{") else ""


def parse_xml(data: bytes, path: str | Path) -> Tree:
    """The tree of an XML document.

    A document type, entities and references to other files are refused before anything is expanded: nothing
    is fetched. Raises InputError for these, and for XML that is cut short or ill-formed, with the line.
    """
    from xml.etree.ElementTree import TreeBuilder

    from defusedxml.common import DefusedXmlException, DTDForbidden, EntitiesForbidden
    from defusedxml.ElementTree import DefusedXMLParser

    refuse_binary(data, path)
    if len(data) > MAX_XML_BYTES:
        raise bad(
            f"the XML has {len(data) / 1e6:.0f} MB",
            file=path,
            expected=f"at most {MAX_XML_BYTES / 1e6:.0f} MB",
            mend="split it into several files",
        )
    lines: dict[int, int] = {}
    kept: list[Element] = []

    class Builder(TreeBuilder):
        def start(self, tag: Any, attrs: Any) -> Any:
            element = super().start(tag, attrs)
            lines[id(element)] = parser.parser.CurrentLineNumber
            kept.append(element)
            return element

    parser = DefusedXMLParser(target=Builder(), forbid_dtd=True)
    try:
        parser.feed(data)
        root = parser.close()
    except DefusedXmlException as error:
        what = (
            "a document type declaration"
            if isinstance(error, DTDForbidden)
            else "an entity declaration"
            if isinstance(error, EntitiesForbidden)
            else "a reference to another file"
        )
        raise bad(
            f"the XML has {what}, which is refused: it can make a small file enormous or read other files",
            file=path,
            line=parser.parser.CurrentLineNumber,
            expected="plain XML without <!DOCTYPE> and <!ENTITY>",
            mend="remove the declaration, or export the file again",
        ) from None
    except ParseError as error:
        line = error.position[0] if hasattr(error, "position") else None
        reason = str(error).partition(":")[0]
        raise bad(
            f"the XML is damaged: {reason}",
            file=path,
            line=line,
            expected="well-formed XML to its last closing tag",
            mend="export or copy the file again: it may be cut short",
        ) from None
    except (LookupError, ValueError) as error:
        raise bad(
            f"the XML cannot be decoded: {error}",
            file=path,
            expected="UTF-8 or UTF-16 as its first line says",
            mend="save it as UTF-8",
        ) from None
    return Tree(root, lines, kept)
