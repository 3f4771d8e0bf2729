"""Displays and lights from what a job or a command line names."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.jobs import load_job
from screenproof.jobs.starter import new_job
from screenproof.questions.groups import ScreenOptions
from screenproof.questions.opening import Open
from screenproof.questions.sources import build_display, existing_file, open_light, open_observer
from screenproof.questions.tables import DisplayTable

NM = np.arange(400.0, 701.0, 5.0)


def lobe(centre: float, width: float = 15.0) -> np.ndarray:
    return np.exp(-(((NM - centre) / width) ** 2))


@pytest.fixture
def primaries(tmp_path):
    """A file with the spectra of red, green and blue, relative."""

    def write(name="primaries.csv", header="wavelength,red,green,blue", scale=1.0, columns=None):
        spectra = np.stack([lobe(610), lobe(535), lobe(455)] if columns is None else columns) * scale
        rows = [",".join(f"{value:.8g}" for value in (nm, *row)) for nm, row in zip(NM, spectra.T, strict=True)]
        (tmp_path / name).write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
        return tmp_path / name

    return write


def test_a_display_from_primaries_has_their_spectra_and_the_asked_luminance(primaries, colour):
    table = DisplayTable(name="own", primaries=str(primaries()), luminance=120.0, curve="gamma2.4")
    display = build_display(table)
    assert display.spectral and display.luminance == pytest.approx(120, rel=1e-9)
    # The chromaticity of full red, integrated by hand with colour-science's observer.
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    bars = np.stack([np.interp(NM, cmfs.wavelengths, cmfs.values[:, i]) for i in range(3)], axis=1)
    xyz = lobe(610) @ bars
    red = display.seen_by().primaries[0]
    assert red[:2] / red.sum() == pytest.approx(xyz[:2] / xyz.sum(), abs=5e-4)


def test_the_order_of_the_columns_does_not_matter_when_they_are_named(primaries):
    path = primaries("turned.csv", "wavelength,blue,red,green", columns=[lobe(455), lobe(610), lobe(535)])
    turned = build_display(DisplayTable(name="own", primaries=str(path), luminance=120.0))
    plain = build_display(DisplayTable(name="own", primaries=str(primaries()), luminance=120.0))
    assert turned.seen_by().primaries == pytest.approx(plain.seen_by().primaries, rel=1e-9)


def test_spectra_in_their_unit_need_no_luminance_and_relative_ones_do(primaries):
    absolute = build_display(DisplayTable(name="own", primaries=str(primaries(scale=5e-3))))
    assert 10 < absolute.luminance < 1000
    with pytest.raises(InputError, match="add luminance"):
        build_display(DisplayTable(name="own", primaries=str(primaries(scale=1e3))))


def test_two_columns_are_no_primaries(primaries):
    path = primaries("two.csv", "wavelength,red,green", columns=[lobe(610), lobe(535)])
    with pytest.raises(InputError, match="red, green and blue"):
        build_display(DisplayTable(name="own", primaries=str(path), luminance=100.0))


def test_a_measured_black_is_kept(primaries):
    columns = [lobe(610), lobe(535), lobe(455), np.full(NM.size, 0.002)]
    path = primaries("black.csv", "wavelength,red,green,blue,black", columns=columns)
    display = build_display(DisplayTable(name="own", primaries=str(path), luminance=100.0))
    assert 20 < display.contrast < 2000


def test_a_light_goes_by_name_before_a_file_of_that_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "A").write_text("nonsense", encoding="utf-8")
    assert open_light("a").name == "A" and open_light("FL3.1").name == "FL3.1"


def test_one_light_of_several_in_a_file_is_named_after_a_hash(tmp_path):
    job = new_job(tmp_path / "job")[0]
    rows = [f"{nm},{1 + k / 40},{3 - k / 40}" for k, nm in enumerate(range(380, 781, 5))]
    (job.parent / "lamps.csv").write_text("wavelength,warm,cold\n" + "\n".join(rows) + "\n", encoding="utf-8")
    text = job.read_text(encoding="utf-8").replace('standard = "A"', 'file = "lamps.csv#warm"')
    job.write_text(text, encoding="utf-8")
    loaded = load_job(job)
    assert loaded.lights[1].name == "home lamp" and loaded.lights[1].power[-1] > loaded.lights[1].power[0]
    assert "lamps.csv" in [record.path for record in loaded.inputs]
    job.write_text(text.replace("#warm", "#worm"), encoding="utf-8")
    with pytest.raises(InputError, match="'worm'"):
        load_job(job)


@pytest.mark.parametrize("name", ["no\0name.csv", "x" * 5000, "no/such/folder/file.csv"])
def test_names_that_no_file_can_have_are_only_missing_files(name):
    with pytest.raises(InputError, match="there is no file"):
        existing_file(name)


def test_an_observer_is_a_standard_or_a_file():
    assert open_observer("cie2015-10").field == 10
    with pytest.raises(InputError, match="no file"):
        open_observer("camera.csv")


def test_a_standard_observer_goes_before_a_file_of_its_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "10").mkdir()
    (tmp_path / "cie1931").write_text("no camera", encoding="utf-8")
    (tmp_path / "1931-2").write_text("no camera", encoding="utf-8")
    assert (open_observer("10").name, open_observer("cie1931").name) == ("cie1964", "cie1931")
    with pytest.raises(InputError, match="is called cie1931 now"):
        open_observer("1931-2")


def test_the_room_of_the_options_is_on_the_screen():
    screen = ScreenOptions(display="srgb", room=500.0, room_light="A", screen_reflectance=0.02)
    display = Open().display(screen)
    # Diffuse reflection: rho E / pi = 0.02 * 500 / pi cd/m2.
    assert display.seen_by().black[1] == pytest.approx(3.1831, rel=1e-4)
