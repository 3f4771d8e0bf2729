"""Samples written and read back: the same to the last bit where the format allows it, and nothing overwritten."""

from __future__ import annotations

import json
import os
import stat
from dataclasses import replace

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples, write_beside, write_samples
from screenproof.spectra import Colorimetry, Condition, Device, Grid, Samples

SUFFIXES = (".csv", ".cgats", ".txt", ".cxf", ".json")


def full(grid: Grid | None = None) -> Samples:
    grid = grid or Grid(380, 730, 10)
    random = np.random.default_rng(11)
    curves = 0.5 + 0.4 * np.cos(np.linspace(0, 3, grid.count)[None, :] * random.random((4, 1)))
    return Samples(
        names=("Carton, white", 'Ember "deep"; warm', "#3 gr\u00fcn  two blanks", "42"),
        reflectance=curves,
        grid=grid,
        colorimetry=Colorimetry(random.random((4, 3)) * 90, "D65", "cie1964"),
        condition=Condition("45a:0", "M1", "black: ISO 13655", "made up, 45:0 = new", "2026-10-05"),
        device=Device(("C", "M", "Y", "K"), random.random((4, 4))),
        repeatability=0.0017,
        fluorescent=True,
    )


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_everything_survives(tmp_path, suffix):
    samples = full()
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert back.names == samples.names
    assert back.grid == samples.grid
    np.testing.assert_array_equal(back.reflectance, samples.reflectance)
    np.testing.assert_array_equal(back.colorimetry.xyz, samples.colorimetry.xyz)
    assert (back.colorimetry.light, back.colorimetry.observer) == ("D65", "cie1964")
    assert back.condition == samples.condition
    assert back.repeatability == samples.repeatability and back.fluorescent
    assert back.device.channels == samples.device.channels
    # Percent is another scale, so the last bit may differ.
    np.testing.assert_allclose(
        back.device.values, samples.device.values, rtol=0, atol=0 if suffix == ".json" else 2e-16
    )
    assert not [note for note in back.notes if note.kind == "assumed"], "a file of ours leaves nothing to assume"


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("grid", [Grid(400, 700, 20), Grid(360, 780, 5), Grid(380, 780, 1)], ids=str)
def test_every_grid_survives(tmp_path, suffix, grid):
    samples = full(grid)
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert back.grid == grid
    np.testing.assert_array_equal(back.reflectance, samples.reflectance)


@pytest.mark.parametrize("suffix", [".csv", ".cgats", ".json"])
@pytest.mark.parametrize("grid", [Grid(340, 840, 20), Grid(380, 730, 3.5), Grid(400.5, 700.5, 10)], ids=str)
def test_grids_that_only_some_formats_hold(tmp_path, suffix, grid):
    samples = full(grid)
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert back.grid == grid
    np.testing.assert_array_equal(back.reflectance, samples.reflectance)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_colorimetry_alone_survives(tmp_path, suffix):
    samples = Samples(
        ("a", "b"), colorimetry=Colorimetry(np.array([[95.0, 100, 108], [0.01, 0.02, 1 / 3]]), "D65", "cie1931")
    )
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert not back.is_spectral and not back.notes
    np.testing.assert_array_equal(back.colorimetry.xyz, samples.colorimetry.xyz)


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("light", ["A", "FL3.12", "LED-B3", "D5000K", "P3200K"])
def test_every_standard_light_is_known_again(tmp_path, suffix, light):
    samples = Samples(("a",), colorimetry=Colorimetry(np.array([[30.0, 20, 10]]), light, "cie2015-2"))
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert (back.colorimetry.light, back.colorimetry.observer) == (light, "cie2015-2")


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize(
    "device",
    [
        Device(("R", "G", "B"), np.array([[1, 128 / 255, 0]])),
        Device(("R", "G", "B"), np.array([[1, 1 / 3, 0.123456789]])),
        Device(("C", "M", "Y", "K", "Ember", "Teal"), np.array([[0, 0.1, 0.2, 0.3, 0.4, 0.5]])),
        Device(("Ember", "Teal"), np.array([[0.7, 0.25]])),
        Device(("C", "M", "Y"), np.array([[0.7, 0.25, 0.5]])),
    ],
    ids=["rgb codes", "rgb", "plus two", "spots", "cmy"],
)
def test_every_device_survives(tmp_path, suffix, device):
    samples = replace(full().select([0]), device=device)
    back = read_samples(write_samples(samples, tmp_path / f"out{suffix}"))
    assert back.device.channels == device.channels
    np.testing.assert_allclose(back.device.values, device.values, rtol=0, atol=2e-16)


def test_real_reflectances_survive_every_format_in_turn(tmp_path):
    # The 24 patches of ISO 17321-1 as colour-science tabulates them.
    import colour

    patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    shape = next(iter(patches.values())).shape
    samples = Samples(
        tuple(patches),
        np.array([sd.values for sd in patches.values()]),
        Grid(shape.start, shape.end, shape.interval),
    )
    back = samples
    for i, suffix in enumerate(SUFFIXES):
        back = read_samples(write_samples(back, tmp_path / f"{i}{suffix}"))
    assert back.names == samples.names and back.grid == samples.grid
    np.testing.assert_array_equal(back.reflectance, samples.reflectance)


def test_the_json_says_what_it_is(tmp_path):
    content = json.loads(write_samples(full(), tmp_path / "out.json").read_text(encoding="utf-8"))
    assert content["schema"] == "screenproof-samples/1"
    assert content["wavelengths"] == {"start": 380.0, "stop": 730.0, "step": 10.0}
    assert len(content["reflectance"]) == 4 and len(content["reflectance"][0]) == 36


def test_the_cgats_is_of_the_standard(tmp_path):
    lines = write_samples(full(), tmp_path / "out.txt").read_text(encoding="utf-8").split("\n")
    assert lines[0] == "ISO28178"
    declared = {line.split('"')[1] for line in lines if line.startswith("KEYWORD ")}
    standard = (
        "ORIGINATOR FILE_DESCRIPTOR CREATED INSTRUMENTATION MEASUREMENT_GEOMETRY FILTER SAMPLE_BACKING "
        "WEIGHTING_FUNCTION NUMBER_OF_FIELDS NUMBER_OF_SETS KEYWORD"
    ).split()
    used = {line.split()[0] for line in lines[1 : lines.index("BEGIN_DATA_FORMAT")] if line}
    assert used - set(standard) == declared, "a keyword that is not of the standard is declared by KEYWORD"
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split("\t")
    rows = lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]
    assert f"NUMBER_OF_FIELDS {len(fields)}" in lines and f"NUMBER_OF_SETS {len(rows)}" in lines
    assert all(len(row.split("\t")) == len(fields) for row in rows)
    assert fields.count("SPECTRAL_NM") == fields.count("SPECTRAL_DEC") == 36


def test_a_reading_that_is_no_number_is_not_written(tmp_path):
    curves = np.full((2, 31), 0.5)
    curves[1, 4] = np.nan
    samples = Samples(("good", "torn"), curves, Grid(400, 700, 10))
    for suffix in SUFFIXES:
        with pytest.raises(InputError, match="no number|readings from"):
            write_samples(samples, tmp_path / f"out{suffix}")
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten_unless_asked(tmp_path):
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(InputError, match="not overwritten"):
        write_samples(full(), path)
    assert path.read_text() == "mine"
    write_samples(full(), path, force=True)
    assert len(read_samples(path)) == 4


def test_no_half_a_file_is_left_when_writing_fails(tmp_path, monkeypatch):
    path = tmp_path / "out.csv"
    path.write_text("mine")

    def full_disk(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(InputError, match="No space left on device"):
        write_beside(path, "new", force=True)
    assert path.read_text() == "mine"
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


def test_a_file_that_appears_meanwhile_is_kept(tmp_path, monkeypatch):
    path = tmp_path / "out.csv"
    plain_fsync = os.fsync

    def someone_else_writes(descriptor: int) -> None:
        plain_fsync(descriptor)
        path.write_text("theirs")

    monkeypatch.setattr(os, "fsync", someone_else_writes)
    with pytest.raises(InputError, match="not overwritten"):
        write_beside(path, "new")
    assert path.read_text() == "theirs"
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


def test_a_new_file_has_ordinary_permissions_and_a_replaced_one_keeps_its_own(tmp_path):
    ordinary = tmp_path / "ordinary"
    ordinary.write_text("x")
    new = write_beside(tmp_path / "new.csv", "a\u00e4\n")
    assert stat.S_IMODE(new.stat().st_mode) == stat.S_IMODE(ordinary.stat().st_mode)
    assert new.read_bytes() == b"a\xc3\xa4\n"
    new.chmod(0o640)
    write_beside(new, b"b", force=True)
    assert stat.S_IMODE(new.stat().st_mode) == 0o640 and new.read_bytes() == b"b"
