"""The demo's data: made anew byte for byte, said to be invented, and in the forms that their standards ask for.

The forms are checked with readers that are not ours: LittleCMS through Pillow, colour-science, colour-cxf.
"""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).parents[2] / "profiles_demo"
DATA = DEMO / "data"
FILES = sorted(path.name for path in DATA.iterdir())


@pytest.fixture(scope="module")
def made_again(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("data")
    command = [sys.executable, str(DEMO / "make_data.py"), "--into", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return folder


def test_the_script_makes_the_same_files(made_again):
    assert sorted(path.name for path in made_again.iterdir()) == FILES


@pytest.mark.parametrize("name", FILES)
def test_the_script_makes_the_same_bytes(made_again, name):
    assert (made_again / name).read_bytes() == (DATA / name).read_bytes()


@pytest.mark.parametrize("path", [*DATA.iterdir(), *DEMO.glob("*.toml"), *DEMO.glob("*.py")], ids=lambda p: p.name)
def test_every_file_says_that_it_is_invented(path):
    raw = path.read_bytes()
    said = raw.decode("utf-16-be", "ignore") if path.suffix == ".icc" else raw.decode("utf-8")
    assert "invented" in said[:1500].lower()


def csv_table(name: str) -> tuple[list[str], list[list[str]]]:
    """Header and rows of a CSV, by the standard library."""
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    header, *rows = csv.reader(lines)
    assert {len(row) for row in rows} == {len(header)}
    return header, rows


def cgats_spectra() -> dict[str, np.ndarray]:
    """Name and curve from the CGATS file, by splitting at tabs."""
    lines = (DATA / "carton_inks.cgats").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "ISO28178"
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split("\t")
    rows = [line.split("\t") for line in lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]]
    assert f"NUMBER_OF_SETS\t{len(rows)}" in lines and f"NUMBER_OF_FIELDS\t{len(fields)}" in lines
    assert fields[2:] == [f"SPECTRAL_NM{nm}" for nm in range(380, 731, 10)]
    return {row[1].strip('"'): np.array(row[2:], dtype=float) for row in rows}


def test_the_carton_inks_are_plausible_reflectances():
    spectra = cgats_spectra()
    paper = spectra["Carton, unprinted"]
    for name, curve in spectra.items():
        assert curve.min() > 0, name
        # No brightener and transparent inks: nothing is brighter than the board, but for the noise.
        assert (curve - paper).max() < 0.006, name


def spectral_distribution(colour, curve: np.ndarray, wavelengths: np.ndarray):
    fine = colour.SpectralDistribution(curve, wavelengths)
    return fine.interpolate(colour.SpectralShape(wavelengths[0], wavelengths[-1], 1))


def lab(colour, curve: np.ndarray, light: str, observer: str, wavelengths: np.ndarray) -> np.ndarray:
    """CIELAB of a curve under a light by colour-science, integrated at 1 nm."""
    power = colour.SDS_ILLUMINANTS[light]
    cmfs = colour.MSDS_CMFS[observer]
    sd = spectral_distribution(colour, curve, wavelengths)
    shape = colour.SpectralShape(wavelengths[0], wavelengths[-1], 1)
    arguments = {"cmfs": cmfs.copy().align(shape), "illuminant": power.copy().align(shape)}
    xyz = colour.sd_to_XYZ(sd, **arguments, method="Integration")
    white = colour.sd_to_XYZ(colour.sd_ones(shape), **arguments, method="Integration")
    return colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white / 100))


def test_the_two_teals_match_in_the_booth_and_part_under_the_tubes(colour):
    """The story of the packaging job, told by colour-science: the numbers do not come from this package."""
    spectra = cgats_spectra()
    nm = np.arange(380.0, 731.0, 10.0)
    apart = {}
    for light in ("D50", "FL11"):
        two = [
            lab(colour, spectra[name], light, "CIE 1931 2 Degree Standard Observer", nm)
            for name in ("Harbour teal, spot", "Harbour teal, process build")
        ]
        apart[light] = float(colour.difference.delta_E_CIE2000(*two))
    assert apart["D50"] < 0.4
    assert 3.0 < apart["FL11"] < 4.5


def test_the_cxf_opens_in_colour_cxf_and_says_how_it_was_measured():
    import colour_cxf

    document = colour_cxf.read_cxf((DATA / "kraft_inks.cxf").read_bytes())
    objects = document.resources.object_collection.object_value
    assert [item.name for item in objects][0] == "Kraft, unprinted"
    spectrum = objects[0].color_values.choice[0]
    assert spectrum.start_wl == 400 and len(spectrum.value) == 31
    # Kraft is brown: the curve climbs all the way.
    assert spectrum.value[0] < 0.16 and spectrum.value[-1] > 0.45 and np.diff(spectrum.value).min() > -0.002
    specification = document.resources.color_specification_collection.color_specification[0]
    assert specification.id == spectrum.color_specification
    assert specification.measurement_spec.wavelength_range.increment == 10
    assert specification.measurement_spec.device.device_illumination.value.value == "M1_Daylight"


def test_the_lamp_file_opens_in_colour_science(colour):
    lamp = colour.SpectralDistribution_IESTM2714(str(DATA / "led_panel.spdx")).read()
    assert lamp.shape.start == 380 and lamp.shape.end == 780 and lamp.shape.interval == 2
    assert lamp.header.comments.startswith("Invented demo data")
    lamp = lamp.interpolate(colour.SpectralShape(380, 780, 1))
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(lamp.shape)
    xy = colour.XYZ_to_xy(colour.sd_to_XYZ(lamp, cmfs, method="Integration") / 100)
    assert 4600 < colour.temperature.xy_to_CCT(xy, "McCamy 1992") < 5300


def test_the_profile_opens_in_littlecms_and_its_white_is_the_connection_white():
    from PIL import Image, ImageCms

    profile = ImageCms.getOpenProfile(io.BytesIO((DATA / "retouch_screen.icc").read_bytes()))
    assert ImageCms.getProfileDescription(profile).strip() == "Invented retouching screen"
    assert profile.profile.version == pytest.approx(4.4)
    # The primaries sum to D50 in the connection space (ICC.1:2022, 9.2).
    primaries = [profile.profile.red_colorant, profile.profile.green_colorant, profile.profile.blue_colorant]
    assert np.sum([colorant[0] for colorant in primaries], axis=0) == pytest.approx([0.9642, 1, 0.8249], abs=2e-4)
    to_lab = ImageCms.buildTransform(profile, ImageCms.createProfile("LAB"), "RGB", "LAB")
    pixels = Image.frombytes("RGB", (2, 1), bytes([255, 255, 255, 118, 118, 118]))
    white, grey = ImageCms.applyTransform(pixels, to_lab).tobytes()[0::3]
    assert white == 255
    # Gamma 2.2: Y = (118/255)**2.2 = 0.1836, L* = 49.9 by CIE 15.
    assert grey / 2.55 == pytest.approx(49.9, abs=0.4)


def test_the_display_readings_are_those_of_a_display():
    header, rows = csv_table("office_readings.csv")
    assert header == ["R", "G", "B", "X", "Y", "Z"]
    values = np.array(rows, dtype=float)
    drive, y = values[:, :3], values[:, 4]
    white = y[(drive == 255).all(axis=1)][0]
    assert white == pytest.approx(160, rel=0.02)
    parts = sum(y[(drive == np.eye(3)[i] * 255).all(axis=1)][0] for i in range(3))
    black = y[(drive == 0).all(axis=1)][0]
    # Light adds (common practice, no source): red, green and blue alone make the white, within the repeatability.
    assert parts - 2 * black == pytest.approx(white, rel=0.01)
    assert 500 < white / black < 2000


def test_the_wide_readings_are_spectra_in_physical_units(colour):
    header, rows = csv_table("wide_readings.csv")
    nm = np.array(header[3:], dtype=float)
    values = np.array(rows, dtype=float)
    white = values[(values[:, :3] == 255).all(axis=1)][0, 3:]
    efficiency = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy()
    v = np.interp(nm, efficiency.wavelengths, efficiency.values[:, 1])
    # 683 lm/W (SI brochure, 9th edition: K_cd).
    assert 683 * 4 * float(white @ v) == pytest.approx(160, rel=0.02)


def test_the_camera_and_the_shop_lamp_are_curves_that_end_low():
    header, rows = csv_table("studio_camera.csv")
    assert header == ["wavelength", "R", "G", "B"]
    curves = np.array(rows, dtype=float)[:, 1:]
    assert curves.max() == pytest.approx(1, abs=1e-4) and curves.min() >= 0
    # Behind an infrared cut nothing is left in the far red.
    assert curves[-10:].max() < 0.002
    peaks = [380 + 5 * int(i) for i in curves.argmax(axis=0)]
    assert peaks[0] > peaks[1] > peaks[2]
    _, lamp = csv_table("shop_led.csv")
    assert max(float(row[1]) for row in lamp) == pytest.approx(1, abs=1e-4)


def test_percent_is_percent_and_fraction_is_fraction():
    assert max(float(v) for row in csv_table("labels.csv")[1] for v in row[1:]) > 50
    assert max(float(v) for row in csv_table("set_paints.csv")[1] for v in row[1:]) < 1
    # One wavelength a line, names with commas in quotes.
    header, rows = csv_table("set_fabrics.csv")
    assert header[1] == "Curtain, grey blue" and [row[0] for row in rows] == [str(x) for x in range(400, 701, 10)]
