"""The bytes of an ICC profile: header, tag table and the few tag types that a display's profile needs.

ICC.1:2022 (profile version 4.4) and ICC.1:2001-04 (version 2.4). Every length is checked before it is used,
so that a profile that was cut short or is not one is said, not guessed.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from screenproof.additive import ToneCurve, icc_parametric, power, sampled
from screenproof.errors import InputError, bad
from screenproof.spectra import Array

HEADER_BYTES = 128
_MOST_TAGS = 200
_DAMAGED = "export the profile again: this one is damaged or cut short"


@dataclass(frozen=True)
class Profile:
    """An ICC profile taken apart: ``tags`` are the raw elements by signature."""

    file: str
    data: bytes
    version: int
    device_class: str
    colour_space: str
    connection_space: str
    intent: int
    tags: dict[str, bytes]

    @classmethod
    def read(cls, path: str | Path) -> Profile:
        """Take the profile at ``path`` apart. Raises InputError for what is missing, cut short or no profile."""
        place = Path(path)
        try:
            data = place.read_bytes()
        except FileNotFoundError:
            raise bad("there is no such file", file=path, mend="look at the spelling of the path") from None
        except OSError as error:
            raise bad(f"the file cannot be read: {error.strerror or error}", file=path) from None
        return cls.of(data, str(path))

    @classmethod
    def of(cls, data: bytes, file: str) -> Profile:
        """Take the bytes of a profile apart; ``file`` is for messages."""
        if len(data) < HEADER_BYTES + 4 or data[36:40] != b"acsp":
            what = "a profile cut short" if data[36:40] == b"acsp" else "no ICC profile"
            raise bad(
                f"{what}: {len(data)} bytes",
                file=file,
                expected="an ICC profile: a header of 128 bytes with 'acsp' in it, then a table of tags",
                mend="give an .icc or .icm file; " + _DAMAGED,
            )
        stated = struct.unpack(">I", data[0:4])[0]
        if stated > len(data):
            raise bad(
                f"a profile cut short: its header states {stated} bytes, the file has {len(data)}",
                file=file,
                expected=f"{stated} bytes",
                mend=_DAMAGED,
            )

        def word(start: int) -> str:
            return data[start : start + 4].decode("latin-1").strip("\x00 ")

        return cls(
            file,
            data,
            data[8],
            word(12),
            word(16),
            word(20),
            struct.unpack(">I", data[64:68])[0],
            _tags(data, file),
        )

    def has(self, *signatures: str) -> bool:
        """Whether all of the tags are there."""
        return all(signature in self.tags for signature in signatures)

    def fault(self, signature: str, what: str, expected: str | None = None) -> InputError:
        """An error about one tag."""
        return bad(what, file=self.file, field=f"tag '{signature}'", expected=expected, mend=_DAMAGED)

    def _element(self, signature: str, kind: str, least: int) -> bytes:
        if signature not in self.tags:
            raise self.fault(signature, "the tag is missing", "the tags of a display's profile")
        element = self.tags[signature]
        found = element[:4].decode("latin-1")
        if found != kind or len(element) < least:
            raise self.fault(
                signature,
                f"an element of type {found!r} with {len(element)} bytes",
                f"type {kind!r} with at least {least} bytes",
            )
        return element

    def xyz(self, signature: str) -> Array:
        """The first XYZ triple (3,) of an XYZType tag."""
        return _fixed(self._element(signature, "XYZ ", 20)[8:20])

    def matrix(self, signature: str) -> Array:
        """The (3, 3) of an s15Fixed16ArrayType tag such as 'chad'."""
        return _fixed(self._element(signature, "sf32", 44)[8:44]).reshape(3, 3)

    def curve(self, signature: str) -> ToneCurve:
        """The tone curve of a 'curv' or 'para' tag (ICC.1:2022, 10.6 and 10.18)."""
        if signature not in self.tags:
            raise self.fault(signature, "the tag is missing", "a tone curve for each of red, green and blue")
        element = self.tags[signature]
        try:
            if element[:4] == b"para" and len(element) >= 12:
                kind = struct.unpack(">H", element[8:10])[0]
                counts = (1, 3, 4, 5, 7)
                if kind < len(counts) and len(element) >= 12 + 4 * counts[kind]:
                    return icc_parametric(kind, list(_fixed(element[12 : 12 + 4 * counts[kind]])))
            if element[:4] == b"curv" and len(element) >= 12:
                count = struct.unpack(">I", element[8:12])[0]
                if len(element) >= 12 + 2 * count:
                    values = np.frombuffer(element, ">u2", count, 12).astype(np.float64)
                    if count == 0:
                        return power(1.0)
                    if count == 1:
                        return power(float(values[0]) / 256.0)
                    return sampled(values / 65535.0)
        except InputError as error:
            raise self.fault(signature, error.problems[0].what, error.problems[0].expected) from None
        raise self.fault(signature, "a tone curve that cannot be read", "an element of type 'curv' or 'para'")

    def text(self, signature: str) -> str | None:
        """The words of a 'desc', 'mluc' or 'text' tag, or None where there are none."""
        element = self.tags.get(signature, b"")
        if element[:4] == b"desc" and len(element) >= 12:
            count = struct.unpack(">I", element[8:12])[0]
            return element[12 : 12 + count].split(b"\x00")[0].decode("latin-1").strip() or None
        if element[:4] == b"text":
            return element[8:].split(b"\x00")[0].decode("latin-1").strip() or None
        if element[:4] == b"mluc" and len(element) >= 28:
            length, offset = struct.unpack(">II", element[20:28])
            return element[offset : offset + length].decode("utf-16-be", errors="replace").strip("\x00 ") or None
        return None


def _fixed(data: bytes) -> Array:
    """s15Fixed16 numbers."""
    return np.frombuffer(data, ">i4").astype(np.float64) / 65536.0


def _tags(data: bytes, file: str) -> dict[str, bytes]:
    count = struct.unpack(">I", data[HEADER_BYTES : HEADER_BYTES + 4])[0]
    end = HEADER_BYTES + 4 + 12 * count
    if count > _MOST_TAGS or end > len(data):
        raise bad(f"a table of {count} tags in {len(data)} bytes", file=file, mend=_DAMAGED)
    tags = {}
    for start in range(HEADER_BYTES + 4, end, 12):
        signature = data[start : start + 4].decode("latin-1")
        offset, size = struct.unpack(">II", data[start + 4 : start + 12])
        if offset + size > len(data) or size < 8:
            raise bad(
                f"the element reaches to byte {offset + size}, the file has {len(data)}",
                file=file,
                field=f"tag {signature!r}",
                mend=_DAMAGED,
            )
        tags[signature] = data[offset : offset + size]
    return tags
