"""Patch images, read back by libraries that had no part in writing them."""

from __future__ import annotations

import io
import struct
import zlib

import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from screenproof.jobs.images import png_image, tiff_image


@pytest.fixture(scope="module")
def profile() -> bytes:
    """The sRGB profile that LittleCMS makes."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.fixture(scope="module")
def pixels() -> np.ndarray:
    random = np.random.default_rng(7)
    return random.integers(0, 65536, (5, 7, 3), dtype=np.uint16)


def test_a_tiff_has_16_bits_and_the_profile_in_its_tag(pixels, profile):
    data = tiff_image(pixels, profile, "Grün on office")
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = file.pages[0]
        assert page.bitspersample == 16 and page.photometric == 2
        assert bytes(page.tags[34675].value) == profile
        assert np.array_equal(page.asarray(), pixels)
        assert page.tags["ImageDescription"].value == "Gr?n on office"
    with Image.open(io.BytesIO(data)) as image:
        assert image.info["icc_profile"] == profile
        assert image.size == (7, 5)


def png_chunks(data: bytes) -> dict[bytes, bytes]:
    """The chunks of a PNG by kind, their checksums verified (ISO/IEC 15948, 5.3)."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    found, at = {}, 8
    while at < len(data):
        (length,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        assert struct.unpack_from(">I", data, at + 8 + length)[0] == zlib.crc32(kind + body)
        found[kind] = body
        at += 12 + length
    return found


def test_a_png_has_16_bits_and_the_profile_in_iccp(pixels, profile):
    data = png_image(pixels, profile, "patch")
    chunks = png_chunks(data)
    assert struct.unpack(">IIBBBBB", chunks[b"IHDR"]) == (7, 5, 16, 2, 0, 0, 0)
    raw = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8).reshape(5, 1 + 42)
    assert (raw[:, 0] == 0).all()
    assert np.array_equal(raw[:, 1:].copy().view(">u2").reshape(5, 7, 3), pixels)
    with Image.open(io.BytesIO(data)) as image:
        assert image.info["icc_profile"] == profile
        # Pillow gives the upper byte of 16-bit RGB.
        assert np.abs(np.asarray(image).astype(int) - (pixels >> 8)).max() <= 1


def test_opencv_reads_the_same_16_bits_from_the_png(pixels, profile):
    read = cv2.imdecode(np.frombuffer(png_image(pixels, profile, "patch"), np.uint8), cv2.IMREAD_UNCHANGED)
    assert read.dtype == np.uint16
    assert np.array_equal(read[..., ::-1], pixels)
