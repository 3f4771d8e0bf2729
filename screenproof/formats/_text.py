"""Bytes of a file to lines of text and numbers, with the mistakes of real files said rather than passed on."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from screenproof.errors import InputError, Note, Problem, bad, near_words

MAX_BYTES = 512 * 1024 * 1024
"""A larger file is taken for a slip: a million spectra of 36 bands as text stay below it."""

MAX_PROBLEMS = 40
"""More mistakes than this in one file have one cause; the rest are counted, not listed."""

_MAGIC: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"II*\x00", "a TIFF picture"),
    (b"MM\x00*", "a TIFF picture"),
    (b"GIF8", "a GIF picture"),
    (b"PK\x03\x04", "a zip archive (spreadsheets of the .xlsx and .ods kind are such archives too)"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"%PDF", "a PDF document"),
    (b"\xd0\xcf\x11\xe0", "an office document of the old binary kind"),
    (b"\x7fELF", "a program"),
)

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\Z")
_NUMBER_COMMA = re.compile(r"[+-]?(?:\d+(?:,\d*)?|,\d+)(?:[eE][+-]?\d+)?\Z")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1b\x1d-\x1f\x7f]")


@dataclass
class Problems:
    """Collects the mistakes of one file, so that one of them does not hide the others."""

    file: str
    found: list[Problem] = field(default_factory=list)
    more: int = 0

    def add(
        self,
        what: str,
        *,
        line: int | None = None,
        field: str | None = None,
        expected: str | None = None,
        mend: str | None = None,
    ) -> None:
        """Note one mistake; past the fortieth they are only counted."""
        if len(self.found) >= MAX_PROBLEMS:
            self.more += 1
        else:
            self.found.append(Problem(what, self.file, line, field, expected, mend))

    def take(self, error: InputError) -> None:
        """Add the mistakes that another part of the package found."""
        self.found.extend(error.problems)

    def __bool__(self) -> bool:
        return bool(self.found)

    def raise_any(self) -> None:
        """Raise one InputError with all of them, if there are any."""
        if not self.found:
            return
        problems = sorted(self.found, key=lambda problem: problem.line or 0)
        if self.more:
            problems.append(Problem(f"and {self.more} more mistakes of this file", self.file))
        raise InputError(problems)


def read_bytes(path: str | Path) -> bytes:
    """The bytes of a file; InputError when it is missing, empty, a folder, unreadable or far too large."""
    place = Path(path)
    if place.is_dir():
        raise bad("this is a folder", file=path, expected="a file", mend="name a file in that folder")
    try:
        size = place.stat().st_size
        if size > MAX_BYTES:
            raise bad(
                f"the file has {size / 1e6:.0f} MB",
                file=path,
                expected=f"at most {MAX_BYTES / 1e6:.0f} MB",
                mend="split it into several files",
            )
        data = place.read_bytes()
    except FileNotFoundError:
        raise bad("there is no such file", file=path, mend=_near_file(place)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise bad(
            f"the file cannot be read: {reason}",
            file=path,
            expected="a file that you may read",
            mend="check its permissions and its path",
        ) from None
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf"):
        raise bad(
            "the file is empty",
            file=path,
            expected="data",
            mend="export it again, or check that the copy was finished",
        )
    return data


def _near_file(place: Path) -> str:
    try:
        names = [entry.name for entry in place.parent.iterdir()]
    except OSError:
        return "check the folder's name"
    near = near_words(place.name, names, 3, 0.6)
    return f"did you mean {' or '.join(near)}?" if near else "check the name and the folder"


def refuse_binary(data: bytes, path: str | Path) -> None:
    """InputError when ``data`` is no text: says what it is where its first bytes tell."""
    for magic, kind in _MAGIC:
        if data.startswith(magic):
            raise bad(
                f"this is {kind}, whatever its name says",
                file=path,
                expected="a text file (CSV, CGATS, CxF3, SPDX or JSON)",
                mend="export the data as text",
            )
    if data[36:40] == b"acsp":
        raise bad(
            "this is an ICC profile",
            file=path,
            expected="a text file (CSV, CGATS, CxF3, SPDX or JSON)",
            mend="name the profile as a display, not as samples or a light",
        )


def decode(data: bytes, path: str | Path) -> tuple[str, tuple[Note, ...]]:
    """Text of ``data``: UTF-8, or UTF-16 with a mark (or plainly recognisable), else Latin-1, which is said.

    Raises InputError for binary data.
    """
    file = str(path)
    refuse_binary(data, path)
    notes: list[Note] = []
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = _utf16(data, "utf-16", path)
    elif len(data) > 3 and data[1:4:2] == b"\x00\x00" and data[0:3:2].strip(b"\x00") != b"":
        text = _utf16(data, "utf-16-le", path)
    elif len(data) > 3 and data[0:3:2] == b"\x00\x00" and data[1:4:2].strip(b"\x00") != b"":
        text = _utf16(data, "utf-16-be", path)
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            text = data.decode("latin-1")
            line = len(re.findall(r"\r\n|\r|\n", text[: error.start])) + 1
            notes.append(
                Note(
                    "assumed",
                    "not UTF-8: read as Latin-1, so a name with letters beyond ASCII may be misspelt",
                    file=file,
                    line=line,
                    mend="save the file as UTF-8",
                )
            )
    control = _CONTROL.search(text)
    if control is not None:
        line = len(re.findall(r"\r\n|\r|\n", text[: control.start()])) + 1
        raise bad(
            f"binary data (byte value {ord(control.group())}) where text should be",
            file=path,
            line=line,
            expected="a text file (CSV, CGATS, CxF3, SPDX or JSON)",
            mend="export the data as text, or check that the file is not damaged",
        )
    return text, tuple(notes)


def _utf16(data: bytes, codec: str, path: str | Path) -> str:
    try:
        return data.decode(codec)
    except UnicodeDecodeError:
        raise bad(
            "the text starts as UTF-16 but breaks off or is damaged",
            file=path,
            expected="UTF-8 or UTF-16 text",
            mend="save the file as UTF-8",
        ) from None


def split_lines(text: str) -> list[str]:
    """Lines of ``text`` that end in CR, LF or CRLF (and nowhere else, unlike str.splitlines)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines and lines[-1] == "":
        lines.pop()
    return lines


def read_text(path: str | Path) -> tuple[str, tuple[Note, ...]]:
    """Text of a file and what had to be assumed to read it."""
    return decode(read_bytes(path), path)


def number(cell: str, *, comma: bool = False) -> float | None:
    """``cell`` as a finite number, or None. ``comma``: the decimal mark is a comma.

    Words such as ``nan`` and ``inf`` are no readings and give None, and so do figures too large for a double.
    """
    cell = cell.strip().replace("\u2212", "-")
    if comma:
        if not _NUMBER_COMMA.match(cell):
            return None
        cell = cell.replace(",", ".")
    elif not _NUMBER.match(cell):
        return None
    value = float(cell)
    return value if abs(value) != float("inf") else None


def split_selector(path: str | Path) -> tuple[Path, str | None]:
    """``'lamps.csv#shop'`` to the file and the name in it; a file whose own name has ``#`` wins."""
    place = Path(path)
    if "#" not in place.name or place.exists():
        return place, None
    stem, _, selector = str(path).rpartition("#")
    return Path(stem), selector.strip() or None
