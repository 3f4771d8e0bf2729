"""ICC profiles made byte by byte for the tests, after ICC.1:2022 and, for version 2, ICC.1:2001-04."""

from __future__ import annotations

import struct
from collections.abc import Sequence

import numpy as np

D50 = (0.9642, 1.0, 0.8249)
# sRGB colorants adapted to D50, as LittleCMS writes them (shared/exchange_keywords.csv).
COLORANTS = ((0.436035, 0.222488, 0.013916), (0.385117, 0.716904, 0.097061), (0.143051, 0.060608, 0.713913))
D65 = (0.9505, 1.0, 1.0891)


def fixed(*values: float) -> bytes:
    """s15Fixed16 numbers."""
    return b"".join(struct.pack(">i", round(value * 65536)) for value in values)


def xyz(*values: float) -> bytes:
    return b"XYZ \0\0\0\0" + fixed(*values)


def gamma(value: float) -> bytes:
    """A 'curv' of one entry: an exponent as u8Fixed8."""
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(value * 256)) + b"\0\0"


def table(values: Sequence[float]) -> bytes:
    entries = np.round(np.asarray(values) * 65535).astype(">u2").tobytes()
    return b"curv\0\0\0\0" + struct.pack(">I", len(values)) + entries


def parametric(kind: int, *values: float) -> bytes:
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + fixed(*values)


def desc(text: str) -> bytes:
    """The textDescriptionType of version 2."""
    return b"desc\0\0\0\0" + struct.pack(">I", len(text) + 1) + text.encode("ascii") + bytes(79)


def mluc(*texts: tuple[str, str]) -> bytes:
    """A multiLocalizedUnicodeType of (language, words) pairs."""
    start = 16 + 12 * len(texts)
    records, words = b"", b""
    for language, text in texts:
        encoded = text.encode("utf-16-be")
        records += language.encode("ascii") + b"XX" + struct.pack(">II", len(encoded), start + len(words))
        words += encoded
    return b"mluc\0\0\0\0" + struct.pack(">II", len(texts), 12) + records + words


def profile(
    tags: dict[str, bytes],
    *,
    version: int = 2,
    device_class: bytes = b"mntr",
    space: bytes = b"RGB ",
    connection: bytes = b"XYZ ",
) -> bytes:
    """Header, tag table and elements."""
    table_bytes, body = b"", b""
    start = 132 + 12 * len(tags)
    for signature, element in tags.items():
        table_bytes += signature.encode("ascii") + struct.pack(">II", start + len(body), len(element))
        body += element + bytes(-len(element) % 4)
    head = struct.pack(">I4sB3x", start + len(body), bytes(4), version) + device_class + space + connection
    head += struct.pack(">6H", 2026, 1, 2, 3, 4, 5) + b"acsp" + bytes(28) + fixed(*D50) + bytes(48)
    return head + struct.pack(">I", len(tags)) + table_bytes + body


def matrix_tags(curve: bytes, **changed: bytes) -> dict[str, bytes]:
    """The tags of a version 2 matrix profile of a D65 display with one curve; ``None`` drops a tag."""
    tags = {"desc": desc("Invented screen"), "cprt": b"text\0\0\0\0none\0", "wtpt": xyz(*D65)}
    tags |= {f"{name}XYZ": xyz(*c) for name, c in zip("rgb", COLORANTS, strict=True)}
    tags |= {f"{name}TRC": curve for name in "rgb"}
    tags.update(changed)
    return {key: value for key, value in tags.items() if value}


def cut(data: bytes, length: int) -> bytes:
    return data[:length]
