"""Profiles that are cut short, damaged or none at all: always an InputError that says so, never a traceback."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import profile_bytes, read_profile
from tests.formats.icc_samples import D50, gamma, matrix_tags, parametric, profile, table, xyz

SOUND = profile(matrix_tags(gamma(2.2)))


def refused(tmp_path, data: bytes) -> InputError:
    path = tmp_path / "screen.icc"
    path.write_bytes(data)
    with pytest.raises(InputError) as raised:
        read_profile(path)
    assert all(problem.file for problem in raised.value.problems)
    return raised.value


@pytest.mark.parametrize("length", [4, 30, 39, 60, 128, 131, 140, 200, 300, len(SOUND) - 1])
def test_a_profile_cut_short_anywhere_is_refused(tmp_path, length):
    error = refused(tmp_path, SOUND[:length])
    assert "cut short" in str(error) or "no ICC profile" in str(error)


def test_every_element_outside_the_file_is_told(tmp_path):
    error = refused(tmp_path, SOUND[: len(SOUND) - 60])
    text = str(error)
    assert f"its header states {len(SOUND)} bytes, the file has {len(SOUND) - 60}" in text
    assert "tag 'bTRC'" in text and "tag 'gTRC'" in text and len(error.problems) >= 3


def test_all_faults_of_the_tags_are_told_at_once(tmp_path):
    tags = matrix_tags(gamma(2.2), rXYZ=b"text\0\0\0\0 nothing here", gTRC=None, bTRC=parametric(7, 1.0))
    tags |= {"wtpt": xyz(0, 0, 0), "lumi": b"XYZ \0\0\0\0"}
    text = str(refused(tmp_path, profile(tags)))
    for tag in ("rXYZ", "gTRC", "bTRC", "wtpt", "lumi"):
        assert f"tag '{tag}'" in text
    assert "a parametric curve of type 7" in text


BROKEN = {
    "not a profile": (b"hello, this is a letter" * 20, "this is no ICC profile"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(200), "this is no ICC profile"),
    "no tags": (SOUND[:128] + bytes(4) + SOUND[132:], "a table of 0 tags"),
    "many tags": (SOUND[:128] + struct.pack(">I", 9999999) + SOUND[132:], "a table of 9999999 tags"),
    "nothing that makes a display": (
        profile({"desc": matrix_tags(gamma(2.2))["desc"], "wtpt": xyz(*D50)}),
        "neither a matrix with tone curves nor tables",
    ),
    "a channel of zeros": (profile(matrix_tags(gamma(2.2), bXYZ=xyz(0, 0, 0))), "the blue channel gives no light"),
    "two alike": (
        profile(matrix_tags(gamma(2.2), gXYZ=matrix_tags(gamma(2.2))["rXYZ"])),
        "lie on one line",
    ),
    "a flat curve": (profile(matrix_tags(table([0.5] * 50))), "a curve from 32768 to 32768"),
    "a falling curve": (profile(matrix_tags(table([1.0, 0.5, 0.0]))), "a curve from 65535 to 0"),
    "gamma of zero": (profile(matrix_tags(gamma(0.0))), "a tone curve with gamma 0"),
    "a parametric curve that falls": (profile(matrix_tags(parametric(1, 2.0, -1.0, 1.0))), "does not rise"),
    "a short curve": (profile(matrix_tags(table([0, 1])[:8] + struct.pack(">I", 500) + bytes(8))), "500 entries"),
    "a short parametric curve": (profile(matrix_tags(parametric(3, 2.4))), "a parametric curve of 16 bytes"),
    "no curve at all": (profile(matrix_tags(b"sf32\0\0\0\0" + bytes(8))), "is no tone curve"),
    "a flat adaptation": (
        profile(matrix_tags(gamma(2.2), chad=b"sf32\0\0\0\0" + bytes(36)), version=4),
        "cannot be inverted",
    ),
    "tables of nonsense": (
        profile(matrix_tags(gamma(2.2), A2B0=b"mft2\0\0\0\0" + bytes(60))),
        "LittleCMS cannot use the profile's tables",
    ),
}


@pytest.mark.parametrize("case", sorted(BROKEN))
def test_broken(tmp_path, case):
    data, what = BROKEN[case]
    error = refused(tmp_path, data)
    assert what in str(error) and "expected:" in str(error) + "expected:" * ("LittleCMS" in what)
    assert "to mend it:" in str(error)


def test_missing_and_empty_files(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_profile(tmp_path / "none.icc")
    assert "empty" in str(refused(tmp_path, b""))
    with pytest.raises(InputError, match="folder"):
        read_profile(tmp_path)


def test_random_damage_never_ends_in_a_traceback(tmp_path):
    from screenproof.additive import standard_display

    generator = np.random.default_rng(3)
    path = tmp_path / "screen.icc"
    outcomes = set()
    for sound in (SOUND, profile_bytes(standard_display("bt709", curve="bt1886", black=0.1))):
        for _ in range(250):
            data = bytearray(sound)
            for place in generator.integers(0, len(data), generator.integers(1, 7)):
                data[place] = generator.integers(0, 256)
            path.write_bytes(data)
            try:
                view = read_profile(path).seen_by()
                outcomes.add(bool(np.isfinite(view.to_xyz(np.eye(3))).all()))
            except InputError as error:
                outcomes.add(str(error).startswith(str(path)))
    assert outcomes == {True}


def test_a_changed_profile_is_said(tmp_path):
    from screenproof.additive import standard_display

    sound = profile_bytes(standard_display("srgb"))
    path = tmp_path / "screen.icc"
    path.write_bytes(sound)
    assert not any("checksum" in note.what for note in read_profile(path).notes)
    path.write_bytes(sound.replace("No copyright".encode("utf-16-be"), "My copyright".encode("utf-16-be")))
    assert any(note.kind == "odd" and "checksum" in note.what for note in read_profile(path).notes)


def test_bytes_after_the_end_are_said(tmp_path):
    path = tmp_path / "screen.icc"
    path.write_bytes(SOUND + bytes(12))
    assert any(f"states {len(SOUND)} bytes, the file has" in note.what for note in read_profile(path).notes)
