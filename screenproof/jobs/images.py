"""16-bit RGB images with a display's ICC profile in them, as TIFF or PNG."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint16]

ICC_TAG = 34675
"""TIFF tag InterColorProfile (ICC.1:2022, annex B.4)."""


def tiff_image(pixels: Pixels, profile: bytes, title: str) -> bytes:
    """A TIFF 6.0 of RGB ``pixels`` (h, w, 3) with ``profile`` in tag 34675, deflated, without loss."""
    import tifffile

    stream = io.BytesIO()
    tifffile.imwrite(
        stream,
        np.ascontiguousarray(pixels),
        photometric="rgb",
        compression="adobe_deflate",
        predictor=True,
        iccprofile=profile,
        description=title.encode("ascii", "replace").decode(),
        software="screenproof",
        metadata=None,
    )
    return stream.getvalue()


def png_image(pixels: Pixels, profile: bytes, title: str) -> bytes:
    """A PNG of RGB ``pixels`` (h, w, 3), 16 bits a channel, with ``profile`` in iCCP (ISO/IEC 15948).

    Written here because the imaging library at hand writes RGB with 8 bits only.
    """
    height, width = pixels.shape[:2]
    header = struct.pack(">IIBBBBB", width, height, 16, 2, 0, 0, 0)
    # Each row begins with its filter; 0 leaves the row as it is. Samples are big-endian.
    rows = np.ascontiguousarray(pixels.astype(">u2")).view(np.uint8).reshape(height, width * 6)
    raw = np.zeros((height, width * 6 + 1), dtype=np.uint8)
    raw[:, 1:] = rows
    # Chunks go by keyword and text in Latin-1; the profile's name is at most 79 characters.
    text = b"Title\0" + title.encode("latin-1", "replace")
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", header),
            _chunk(b"iCCP", b"display\0\0" + zlib.compress(profile, 9)),
            _chunk(b"tEXt", text),
            _chunk(b"IDAT", zlib.compress(raw.tobytes(), 9)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
