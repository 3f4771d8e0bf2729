"""Where each key of a TOML text stands, so that a message about a job can name its line.

The standard library's parser gives values without places. This scanner is run only on a text that the parser
has accepted, so it need not judge: it walks the statements and writes down the line of every table, key and
array element. Paths are tuples of keys and indices, as ``("displays", 1, "room", "light")``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

Path = tuple[str | int, ...]

_BARE_END = re.compile(r"[,\]}#\r\n]")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b", '"': '"', "\\": "\\"}


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._line = 1
        self._counted_to = 0

    def line(self) -> int:
        """Line number (from 1) of the present place."""
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line

    def note(self, path: Path) -> None:
        self.lines.setdefault(path, self.line())

    def peek(self, length: int = 1) -> str:
        return self.text[self.at : self.at + length]

    def skip_blank(self, newlines: bool = True) -> None:
        blank = " \t\r\n" if newlines else " \t"
        while self.at < len(self.text):
            if self.text[self.at] in blank:
                self.at += 1
            elif newlines and self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            else:
                return

    def skip_text(self) -> str:
        """Step over a string of any of the four kinds; the raw inside is returned."""
        quote = self.peek()
        fence = quote * 3 if self.peek(3) == quote * 3 else quote
        self.at += len(fence)
        start = self.at
        while not self.text.startswith(fence, self.at):
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        end = self.at
        self.at += len(fence)
        # A long string may end in one or two quotes of its own before the fence.
        while len(fence) == 3 and self.peek() == quote:
            self.at += 1
            end += 1
        return self.text[start:end]

    def key(self) -> list[str]:
        """One key, dotted or not, up to and without what follows it."""
        parts = []
        while True:
            self.skip_blank(newlines=False)
            if self.peek() in "\"'":
                literal = self.peek() == "'"
                raw = self.skip_text()
                parts.append(raw if literal else _unescaped(raw))
            else:
                start = self.at
                while self.peek() not in " \t.=]\r\n":
                    self.at += 1
                parts.append(self.text[start : self.at])
            self.skip_blank(newlines=False)
            if self.peek() != ".":
                return parts
            self.at += 1

    def table(self, keys: Iterable[str]) -> Path:
        """The path of a table header: within an array of tables its last element is meant."""
        path: Path = ()
        for key in keys:
            path += (key,)
            self.note(path)
            if path in self._counts:
                path += (self._counts[path] - 1,)
        return path

    def value(self, path: Path) -> None:
        self.skip_blank()
        self.note(path)
        first = self.peek()
        if first and first in "\"'":
            self.skip_text()
        elif first == "[":
            self.at += 1
            index = 0
            while not self.closed("]"):
                self.value((*path, index))
                index += 1
        elif first == "{":
            self.at += 1
            while not self.closed("}"):
                self.pair(path)
        else:
            end = _BARE_END.search(self.text, self.at)
            self.at = end.start() if end else len(self.text)

    def closed(self, fence: str) -> bool:
        """Step over commas and blanks; true (and stepped over) at the closing fence."""
        self.skip_blank()
        while self.peek() == ",":
            self.at += 1
            self.skip_blank()
        if self.peek() == fence:
            self.at += 1
            return True
        return False

    def pair(self, prefix: Path) -> None:
        path = prefix
        for part in self.key():
            path += (part,)
            self.note(path)
        self.at += 1  # the equals sign
        self.value(path)

    def run(self) -> dict[Path, int]:
        prefix: Path = ()
        self.skip_blank()
        while self.at < len(self.text):
            if self.peek(2) == "[[":
                self.at += 2
                *above, last = self.key()
                array = (*self.table(above), last)
                self.note(array)
                prefix = (*array, self._counts.setdefault(array, 0))
                self._counts[array] += 1
                self.note(prefix)
                self.at += 2
            elif self.peek() == "[":
                self.at += 1
                prefix = self.table(self.key())
                self.note(prefix)
                self.at += 1
            else:
                self.pair(prefix)
            self.skip_blank()
        return self.lines


def _unescaped(raw: str) -> str:
    def one(found: re.Match[str]) -> str:
        code = found.group(1)
        return chr(int(code[1:], 16)) if code[0] in "uUx" and len(code) > 1 else _ESCAPES.get(code, code)

    return re.sub(r"\\(u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8}|x[0-9a-fA-F]{2}|.)", one, raw)


def key_lines(text: str) -> dict[Path, int]:
    """Line number (from 1) of every table, key and array element of a valid TOML text.

    >>> key_lines('title = "x"\\n[[samples]]\\nfile = "a.csv"\\n')[("samples", 0, "file")]
    3
    """
    return _Scanner(text.replace("\r\n", "\n")).run()


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """The line of a path, or of the nearest thing around it when the path itself is not written."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


def line_at(lines: dict[Path, int], text: str) -> int | None:
    """The line of a path as a person reads it (:func:`spelled`), or of the nearest thing around it."""
    known = {spelled(path): line for path, line in lines.items()}
    while text:
        if text in known:
            return known[text]
        text = text[: max(text.rfind("."), text.rfind("["), 0)]
    return None


def spelled(path: Path) -> str:
    """A path as a person reads it, counted from one: ``samples[2].file``."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text
