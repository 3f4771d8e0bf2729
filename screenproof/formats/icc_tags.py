"""The bytes of an ICC profile: header, tag table and the few tag types that a display's profile needs.

ICC.1:2022 (profile version 4.4) and ICC.1:2001-04 (version 2.4). Every length is checked before it is used, and
everything that is wrong with a file is told at once.
"""

from __future__ import annotations

import hashlib
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from screenproof.additive import ToneCurve, icc_parametric, power, sampled
from screenproof.additive.parametric import PARAMETER_COUNTS
from screenproof.errors import InputError, Note, bad
from screenproof.formats._text import Problems, read_bytes
from screenproof.spectra import Array

D50_PCS = np.array([0.9642, 1.0, 0.8249])
"""XYZ of the connection space's white, ICC.1:2022, 7.2.16."""

HEADER_BYTES = 128
_MOST_TAGS = 200
DAMAGED = "export the profile again, or fetch it again: this copy is damaged or cut short"

CLASSES = {
    "mntr": "a display",
    "prtr": "a printer or press",
    "scnr": "a scanner or camera",
    "spac": "a colour space",
    "link": "a device link",
    "abst": "an abstract effect",
    "nmcl": "named colours",
}


@dataclass(frozen=True)
class Profile:
    """An ICC profile taken apart: ``tags`` are the raw elements by signature."""

    file: str
    data: bytes
    version: int
    device_class: str
    colour_space: str
    connection_space: str
    tags: dict[str, bytes]
    notes: tuple[Note, ...] = ()

    @classmethod
    def read(cls, path: str | Path) -> Profile:
        """Take the profile at ``path`` apart. InputError for what is missing, cut short or no profile."""
        return cls.of(read_bytes(path), str(path))

    @classmethod
    def of(cls, data: bytes, file: str) -> Profile:
        """Take the bytes of a profile apart; ``file`` is for messages.

        Raises InputError, with every fault of header and tag table, for bytes that are no sound profile.
        """
        problems = Problems(file)
        if data[36:40] != b"acsp":
            short = 8 <= len(data) < 40 and data[:2] == b"\x00\x00"
            problems.add(
                f"a profile cut short after {len(data)} bytes" if short else "this is no ICC profile",
                expected="a header of 128 bytes with 'acsp' at byte 36, then a table of tags",
                mend=DAMAGED if short else "give an .icc or .icm file",
            )
            problems.raise_any()
        if len(data) < HEADER_BYTES + 4:
            problems.add(
                f"a profile cut short: {len(data)} bytes, within its header",
                expected="a header of 128 bytes and a table of tags",
                mend=DAMAGED,
            )
            problems.raise_any()
        notes: list[Note] = []
        _check_size(data, problems, notes)
        version = data[8]
        if version not in (2, 4):
            problems.add(
                f"a profile of version {version}.{data[9] >> 4}",
                expected="version 2 or 4 (ICC.1)",
                mend="export the profile as version 4",
            )

        def word(start: int) -> str:
            return data[start : start + 4].decode("latin-1").strip("\x00 ")

        tags = _tags(data, problems)
        problems.raise_any()
        _check_identity(data, file, notes)
        return cls(file, data, version, word(12), word(16), word(20), tags, tuple(notes))

    def has(self, *signatures: str) -> bool:
        """Whether all of the tags are there."""
        return all(signature in self.tags for signature in signatures)

    def fault(self, signature: str, what: str, expected: str | None = None) -> InputError:
        """An error about one tag."""
        return bad(what, file=self.file, field=f"tag '{signature}'", expected=expected, mend=DAMAGED)

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
        """The first XYZ triple (3,) of an XYZType tag (ICC.1:2022, 10.31)."""
        return _fixed(self._element(signature, "XYZ ", 20)[8:20])

    def matrix(self, signature: str) -> Array:
        """The (3, 3) of an s15Fixed16ArrayType tag such as 'chad' (ICC.1:2022, 10.22)."""
        return _fixed(self._element(signature, "sf32", 44)[8:44]).reshape(3, 3)

    def curve(self, signature: str, notes: list[Note]) -> ToneCurve:
        """The tone curve of a 'curv' or 'para' tag (ICC.1:2022, 10.6 and 10.18).

        A table that falls somewhere is made monotone, and ``notes`` says where it fell.
        """
        if signature not in self.tags:
            raise self.fault(signature, "the tag is missing", "a tone curve for each of red, green and blue")
        element = self.tags[signature]
        kind = element[:4]
        if kind == b"para" and len(element) >= 12:
            return self._parametric(signature, element)
        if kind == b"curv" and len(element) >= 12:
            return self._table(signature, element, notes)
        raise self.fault(
            signature,
            f"an element of type {kind.decode('latin-1')!r} with {len(element)} bytes is no tone curve",
            "an element of type 'curv' or 'para'",
        )

    def _parametric(self, signature: str, element: bytes) -> ToneCurve:
        kind = struct.unpack(">H", element[8:10])[0]
        if kind >= len(PARAMETER_COUNTS):
            raise self.fault(signature, f"a parametric curve of type {kind}", "type 0 to 4")
        end = 12 + 4 * PARAMETER_COUNTS[kind]
        if len(element) < end:
            raise self.fault(signature, f"a parametric curve of {len(element)} bytes", f"{end} bytes")
        try:
            return icc_parametric(kind, _fixed(element[12:end]).tolist())
        except InputError as error:
            raise self.fault(signature, error.problems[0].what, error.problems[0].expected) from None

    def _table(self, signature: str, element: bytes, notes: list[Note]) -> ToneCurve:
        count = struct.unpack(">I", element[8:12])[0]
        if len(element) < 12 + 2 * count:
            raise self.fault(
                signature, f"a curve of {count} entries in {len(element)} bytes", f"{12 + 2 * count} bytes"
            )
        values = np.frombuffer(element, ">u2", count, 12).astype(np.float64)
        if count == 0:
            return power(1.0)
        if count == 1:
            # u8Fixed8Number, 10.6: one entry is an exponent.
            if not 0.1 <= values[0] / 256.0 <= 10.0:
                raise self.fault(signature, f"a tone curve with gamma {values[0] / 256.0:g}", "0.1 to 10")
            return power(float(values[0]) / 256.0)
        if values[-1] <= values[0] or values.max() <= values[0]:
            raise self.fault(
                signature,
                f"a curve from {values[0]:.0f} to {values[-1]:.0f}",
                "a curve that rises from drive 0 to full drive",
            )
        return sampled(_risen(values, signature, self.file, notes) / 65535.0, label="profile curve")

    def text(self, signature: str) -> str | None:
        """The words of a 'desc', 'mluc' or 'text' tag, or None where there are none.

        Of several languages English is taken, else the first (ICC.1:2022, 10.15).
        """
        element = self.tags.get(signature, b"")
        if element[:4] == b"desc" and len(element) >= 12:
            count = struct.unpack(">I", element[8:12])[0]
            return _clean(element[12 : 12 + count].split(b"\x00")[0].decode("latin-1"))
        if element[:4] == b"text":
            return _clean(element[8:].split(b"\x00")[0].decode("latin-1"))
        if element[:4] == b"mluc" and len(element) >= 28:
            count, width = struct.unpack(">II", element[8:16])
            if width != 12:
                return None
            records = [element[16 + 12 * i : 28 + 12 * i] for i in range(min(count, 100))]
            records = [record for record in records if len(record) == 12]
            records.sort(key=lambda record: record[:2] != b"en")
            length, offset = struct.unpack(">II", records[0][4:12])
            return _clean(element[offset : offset + length].decode("utf-16-be", errors="replace"))
        return None


def _clean(text: str) -> str | None:
    """One line without control characters, or None for nothing."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:200] or None


def _risen(values: Array, signature: str, file: str, notes: list[Note]) -> Array:
    """A curve's entries made never to fall: the nearest such ones in least squares, when some do."""
    falls = np.flatnonzero(np.diff(values) < 0)
    if not falls.size:
        return values
    from scipy.optimize import isotonic_regression

    first = int(falls[0])
    notes.append(
        Note(
            "odd",
            f"the tone curve falls at {falls.size} of its {values.size} entries, first from {values[first]:.0f} "
            f"to {values[first + 1]:.0f} at drive {(first + 1) / (values.size - 1):.4g}; it was made monotone",
            about=f"tag '{signature}'",
            file=file,
            mend="make the profile again from new readings",
        )
    )
    return np.asarray(isotonic_regression(values).x, dtype=np.float64)


def _fixed(data: bytes) -> Array:
    """s15Fixed16 numbers."""
    return np.frombuffer(data, ">i4").astype(np.float64) / 65536.0


def _check_size(data: bytes, problems: Problems, notes: list[Note]) -> None:
    stated = struct.unpack(">I", data[0:4])[0]
    if stated > len(data):
        problems.add(
            f"a profile cut short: its header states {stated} bytes, the file has {len(data)}",
            expected=f"{stated} bytes",
            mend=DAMAGED,
        )
    elif stated < len(data):
        notes.append(
            Note("odd", f"the profile states {stated} bytes, the file has {len(data)}", file=problems.file)
        )


def _tags(data: bytes, problems: Problems) -> dict[str, bytes]:
    """Elements by signature. One that reaches outside the file is a problem of its own."""
    count = struct.unpack(">I", data[HEADER_BYTES : HEADER_BYTES + 4])[0]
    end = HEADER_BYTES + 4 + 12 * count
    if count > _MOST_TAGS or not count or end > len(data):
        problems.add(
            f"a table of {count} tags in {len(data)} bytes",
            expected=f"1 to {_MOST_TAGS} tags of 12 bytes each, within the file",
            mend=DAMAGED,
        )
        return {}
    tags = {}
    for start in range(HEADER_BYTES + 4, end, 12):
        signature = data[start : start + 4].decode("latin-1")
        offset, size = struct.unpack(">II", data[start + 4 : start + 12])
        if offset + size > len(data) or size < 8 or offset < end:
            problems.add(
                f"the element takes bytes {offset} to {offset + size}; the elements lie from {end} to {len(data)}",
                field=f"tag {signature!r}",
                expected="an element of 8 bytes or more within the file",
                mend=DAMAGED,
            )
            continue
        tags[signature] = data[offset : offset + size]
    return tags


def identity_of(data: bytes) -> bytes:
    """The profile ID: MD5 with flags, rendering intent and ID set to zero (ICC.1:2022, 7.2.18)."""
    plain = bytearray(data)
    plain[44:48], plain[64:68], plain[84:100] = bytes(4), bytes(4), bytes(16)
    return hashlib.md5(bytes(plain), usedforsecurity=False).digest()


def _check_identity(data: bytes, file: str, notes: list[Note]) -> None:
    """Say when the bytes are not those that the profile's own checksum was made of."""
    stated = data[84:100]
    if data[8] >= 4 and any(stated) and stated != identity_of(data[: struct.unpack(">I", data[0:4])[0]]):
        notes.append(
            Note(
                "odd",
                "the profile's checksum is not that of its bytes: it was changed after it was made, or is damaged",
                file=file,
                mend="fetch the profile again",
            )
        )
