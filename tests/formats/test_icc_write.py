"""ICC profiles out: read back, and used by LittleCMS as they are meant."""

from __future__ import annotations

import hashlib
import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageCms

from screenproof.additive import (
    ChannelCurves,
    Display,
    MatrixModel,
    bt1886,
    display_from_primaries,
    power,
    same_curve,
    standard_display,
)
from screenproof.appearance import adapt, de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.formats import profile_bytes, read_profile, write_profile
from screenproof.formats.icc_tags import Profile
from tests.formats.icc_samples import D50

DRIVES = np.random.default_rng(9).random((3000, 3))


def fitted() -> Display:
    from screenproof.additive import fit_display
    from tests.additive.fit_scenes import additive, drives, noisy

    return fit_display(noisy(additive("s-shaped"), drives(), 1), "fitted")


def spectral() -> Display:
    from tests.additive.fit_scenes import GRID, bands

    return display_from_primaries(bands(), GRID, same_curve(power(2.3)), black=0.05, name="spectral")


def mixed() -> Display:
    """Three unlike curves, a black that leans to blue."""
    matrix = standard_display("p3-d65").seen_by().matrix * 2
    curves = ChannelCurves(power(2.1), bt1886(250.0, 0.2), power(2.3))
    return Display("mixed", "Mixed screen", "standard", MatrixModel(curves, matrix, np.array([0.21, 0.2, 0.42])))


DISPLAYS = {
    "srgb": lambda: standard_display("srgb"),
    "bt709": lambda: standard_display("bt709", curve="bt1886", luminance=100, black=0.1),
    "p3": lambda: standard_display("p3-d65", curve="gamma2.6", luminance=300, black=0.02),
    "bt2020 pq": lambda: standard_display("bt2020", curve="pq"),
    "linear": lambda: standard_display("srgb", curve="linear"),
    "mixed": mixed,
    "fitted": fitted,
    "spectral": spectral,
}


@pytest.fixture(scope="module")
def written():
    """Each display with the bytes of its profile."""
    made = {name: make() for name, make in DISPLAYS.items()}
    return {name: (display, profile_bytes(display)) for name, display in made.items()}


@pytest.mark.parametrize("name", sorted(DISPLAYS))
def test_what_is_written_is_read_back(tmp_path, written, name):
    display, data = written[name]
    path = tmp_path / "out.icc"
    path.write_bytes(data)
    back = read_profile(path)
    first, second = display.seen_by(), back.seen_by()
    assert back.label == display.label
    assert back.luminance == pytest.approx(display.luminance, rel=1e-5)
    assert np.allclose(second.white, first.white, rtol=1e-4)
    # The black is rounded to a 65536th of the white, in a curve's table or its offset.
    assert np.allclose(second.black, first.black, atol=2e-5 * first.white.max())
    error = de2000(
        xyz_to_lab(second.to_xyz(DRIVES), first.white), xyz_to_lab(first.to_xyz(DRIVES), first.white)
    )
    assert error.mean() < 0.01 and error.max() < 0.1
    assert not [note for note in back.notes if note.kind == "odd"]


@pytest.mark.parametrize("name", sorted(DISPLAYS))
def test_littlecms_converts_to_srgb_as_we_do(written, name):
    display, data = written[name]
    code = np.round(DRIVES * 255).astype(np.uint8)
    # Without optimisation LittleCMS computes each colour itself instead of reading a coarse table.
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(data)),
        ImageCms.createProfile("sRGB"),
        "RGB",
        "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.NOOPTIMIZE,
    )
    theirs = np.asarray(ImageCms.applyTransform(Image.fromarray(code[None]), transform))[0].astype(float)
    view = display.seen_by()
    target = standard_display("srgb").seen_by()
    drive, _ = target.to_drive(adapt(view.to_xyz(code / 255.0), view.white, target.white, "bradford"))
    ours = np.clip(drive, 0.0, 1.0) * 255.0
    # Rounding to the nearest code is half a code; the profile's own 16-bit numbers take a little more, most where
    # the sRGB curve is steepest, near black.
    assert np.abs(theirs - ours).max() < 0.65
    assert np.mean(np.abs(theirs - ours) <= 0.51) > 0.97


@pytest.mark.parametrize("name", sorted(DISPLAYS))
def test_littlecms_reads_the_tags_as_meant(written, name):
    display, data = written[name]
    seen = ImageCms.ImageCmsProfile(io.BytesIO(data)).profile
    assert seen.version == pytest.approx(4.4)
    assert (seen.device_class, seen.xcolor_space.strip(), seen.connection_space.strip()) == ("mntr", "RGB", "XYZ")
    assert seen.profile_description == display.label
    assert np.allclose(seen.media_white_point[0], D50, atol=2e-5)
    assert seen.luminance[0][1] == pytest.approx(display.luminance, rel=1e-4)
    colorants = np.array([seen.red_colorant[0], seen.green_colorant[0], seen.blue_colorant[0]])
    assert np.allclose(colorants.sum(axis=0), D50, atol=4e-5)
    own = np.array(seen.chromatic_adaptation[0])
    assert np.allclose(own @ (display.seen_by().white / display.seen_by().white[1]), D50, atol=4e-5)
    assert seen.is_matrix_shaper and seen.copyright


@pytest.mark.parametrize("name", sorted(DISPLAYS))
def test_layout_and_checksum(written, name):
    data = written[name][1]
    assert struct.unpack(">I", data[:4])[0] == len(data) and len(data) % 4 == 0
    count = struct.unpack(">I", data[128:132])[0]
    entries = [struct.unpack(">4sII", data[132 + 12 * i : 144 + 12 * i]) for i in range(count)]
    assert all(offset % 4 == 0 and offset + size <= len(data) for _, offset, size in entries)
    # ICC.1:2022, 7.2.18: the MD5 of the profile with flags, intent and ID at zero.
    plain = data[:44] + bytes(4) + data[48:64] + bytes(4) + data[68:84] + bytes(16) + data[100:]
    assert data[84:100] == hashlib.md5(plain).digest()
    # ICC.1:2022, 8.4: what a matrix profile of a display must hold.
    required = {b"desc", b"cprt", b"wtpt", b"chad", b"rXYZ", b"gXYZ", b"bXYZ", b"rTRC", b"gTRC", b"bTRC"}
    assert required <= {signature for signature, _, _ in entries}


def test_standard_curves_are_written_as_formulas(written):
    def kind(name: str) -> tuple[bytes, int]:
        element = Profile.of(written[name][1], name).tags["gTRC"]
        return element[:4], struct.unpack(">H", element[8:10])[0]

    assert kind("srgb") == (b"para", 3)
    assert kind("linear") == (b"para", 0)
    assert kind("bt709") == (b"para", 4)
    assert kind("p3") == (b"para", 4)
    assert kind("bt2020 pq")[0] == kind("fitted")[0] == b"curv"
    assert struct.unpack(">I", Profile.of(written["fitted"][1], "x").tags["rTRC"][8:12])[0] >= 1024
    # sRGB in s15Fixed16, as LittleCMS writes it (shared/exchange_keywords.csv).
    element = Profile.of(written["srgb"][1], "x").tags["rTRC"]
    values = np.frombuffer(element[12:32], ">i4") / 65536.0
    assert np.allclose(values, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045], atol=1e-5)


def test_a_room_is_no_part_of_the_profile(written):
    display, data = written["srgb"]
    assert profile_bytes(display.with_room(500, "D50", 0.04))[132:] == data[132:]


def test_a_build_can_be_repeated(monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    first, second = (profile_bytes(standard_display("srgb")) for _ in range(2))
    assert first == second
    # 2023-11-14 22:13:20 UTC.
    assert struct.unpack(">6H", first[24:36]) == (2023, 11, 14, 22, 13, 20)


def test_a_file_is_not_overwritten(tmp_path):
    path = write_profile(standard_display("srgb"), tmp_path / "out.icc")
    before = path.read_bytes()
    with pytest.raises(InputError, match="not overwritten"):
        write_profile(standard_display("bt2020"), path)
    assert path.read_bytes() == before
    write_profile(standard_display("bt2020"), path, force=True)
    assert path.read_bytes() != before
