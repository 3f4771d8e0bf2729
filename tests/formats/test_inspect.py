"""What a file holds, told from its content."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import inspect_file, write_samples
from screenproof.spectra import Colorimetry, Condition, Device, Grid, Samples

NM = range(380, 790, 10)


def said(found, kind: str) -> str:
    return "\n".join(str(note) for note in found.notes if note.kind == kind)


def full() -> Samples:
    grid = Grid(400, 700, 10)
    return Samples(
        ("red", "blue"),
        np.array([[0.2] * grid.count, [0.4] * grid.count]),
        grid,
        Colorimetry(np.array([[19.2844, 20, 16.5042], [38.5688, 40, 33.0084]]), "D50", "cie1931"),
        Condition("45a:0", "M1", "black", "made up", "2026-10-05"),
        Device(("C", "M", "Y", "K"), np.zeros((2, 4))),
        0.001,
    )


@pytest.mark.parametrize(
    ("suffix", "form"),
    [
        (".csv", "CSV"),
        (".cgats", "CGATS text (ISO 28178)"),
        (".cxf", "CxF3 (ISO 17972)"),
        (".json", "JSON"),
    ],
)
def test_samples_of_every_format(tmp_path, suffix, form):
    path = write_samples(full(), tmp_path / f"inks{suffix}")
    hidden = path.rename(tmp_path / "inks.dat")
    found = inspect_file(hidden)
    assert (found.kind, found.format, found.path) == ("spectral samples", form, str(hidden))
    summary = found.summary
    assert summary["samples"] == 2 and summary["names"] == ["red", "blue"]
    assert summary["wavelengths"] == "400 to 700 nm by 10 nm" and summary["bands"] == 31
    assert summary["reflectance"] == {"lowest": 0.2, "highest": 0.4}
    assert (summary["colorimetry"]["light"], summary["colorimetry"]["observer"]) == ("D50", "cie1931")
    assert summary["condition"]["filter"] == "M1" and summary["condition"]["instrument"] == "made up"
    assert summary["device"] == ["C", "M", "Y", "K"] and summary["repeatability"] == 0.001
    assert summary["bytes"] == hidden.stat().st_size
    assert found.notes == ()
    json.dumps(summary)


def test_what_a_cgats_file_says_of_itself(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text(
        'CGATS.17\nORIGINATOR "made up"\nTARGET_TYPE "a chart"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\n'
        "END_DATA_FORMAT\nBEGIN_DATA\n1 50 0 0\nEND_DATA\n"
    )
    found = inspect_file(path)
    assert found.kind == "colorimetric samples"
    assert found.summary["identifier"] == "CGATS.17" and found.summary["tables"] == 1
    assert found.summary["originator"] == "made up" and found.summary["target type"] == "a chart"
    assert "light D50" in said(found, "assumed")


def test_what_is_odd_about_samples(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("name,400,410,420,430,440\nred,0.1,0.1,0.9,0.1,0.1\nwhite,1.2,1.1,1,1,1\ndark,-0.1,0,0,0,0\n")
    found = inspect_file(path)
    odd = said(found, "odd")
    assert "red: a spike at 420 nm" in odd
    assert "white: reflectance above 1" in odd
    assert "dark: negative reflectance" in odd
    assert "leave out much of the visible range" in odd
    assert "M0 to M3" in said(found, "info") and "geometry is not stated" in said(found, "info")


def test_lights(tmp_path):
    path = tmp_path / "lamps.csv"
    path.write_text("wavelength,even power,warm power\n" + "".join(f"{nm},1,{nm / 560:.4f}\n" for nm in NM))
    found = inspect_file(path)
    assert (found.kind, found.format) == ("lights", "CSV")
    even, warm = found.summary["lights"]
    assert even["name"] == "even power" and even["wavelengths"] == "380 to 780 nm by 10 nm"
    # Equal energy is at x = y = 1/3 (CIE 15:2018, Table 3 of illuminant E).
    assert (even["x"], even["y"]) == pytest.approx((1 / 3, 1 / 3), abs=5e-4)
    assert even["correlated colour temperature"] == pytest.approx(5455, abs=30)
    assert warm["correlated colour temperature"] < even["correlated colour temperature"]
    one = inspect_file(f"{path}#warm power")
    assert one.kind == "light" and one.summary["lights"][0]["name"] == "warm power"


def test_a_spectral_file_of_a_lamp(tmp_path):
    path = tmp_path / "lamp"
    data = "".join(f'<SpectralData wavelength="{nm}">1</SpectralData>' for nm in NM)
    path.write_text(
        '<IESTM2714 xmlns="iestm2714" version="1.0"><Header><Description>Lamp</Description></Header>'
        f"<SpectralDistribution><SpectralQuantity>flux</SpectralQuantity>{data}</SpectralDistribution></IESTM2714>"
    )
    found = inspect_file(path)
    assert (found.kind, found.format) == ("light", "IES TM-27 (SPDX XML)")
    assert found.summary["lights"][0]["label"] == "Lamp"


def test_a_camera(tmp_path):
    path = tmp_path / "cam.csv"
    rows = [(nm, *(np.exp(-(((nm - peak) / 50) ** 2)) for peak in (600, 540, 460))) for nm in NM]
    path.write_text("# kind: camera\nnm,R,G,B\n" + "".join(",".join(map(str, row)) + "\n" for row in rows))
    found = inspect_file(path)
    assert found.kind == "camera" and found.notes == ()
    assert found.summary["peaks"] == {"red": 600.0, "green": 540.0, "blue": 460.0}


@pytest.mark.parametrize(
    ("text", "kind", "assumed"),
    [
        ("nm,power\n{}", "light", False),
        ("nm,lamp\n{}", "spectral samples", True),
        ("# illuminance: 500\nnm,lamp\n{}", "light", False),
        ("# kind: light\nnm,lamp\n{}", "light", False),
        ("# kind: samples\nnm,lamp\n{}", "spectral samples", False),
        ("# unit: fraction\nnm,ink\n{}", "spectral samples", False),
        ("# filter: M1\nnm,ink\n{}", "spectral samples", False),
        ("{}", "light", True),
    ],
)
def test_two_columns_are_told_apart_and_doubt_is_said(tmp_path, text, kind, assumed):
    path = tmp_path / "a.csv"
    path.write_text(text.format("".join(f"{nm},0.5\n" for nm in NM)))
    found = inspect_file(path)
    assert found.kind == kind
    assert ("could be read as something else" in said(found, "assumed")) == assumed


READINGS = [
    (0, 0, 0, 0.1),
    (255, 0, 0, 30),
    (128, 0, 0, 6),
    (0, 255, 0, 100),
    (0, 0, 255, 10),
    (255, 255, 255, 140),
]


def test_readings_of_a_display(tmp_path):
    path = tmp_path / "screen.csv"
    rows = "".join(f"{r},{g},{b},{y},{y},{y}\n" for r, g, b, y in READINGS)
    path.write_text("# bits: 8\n# unit: cd/m2\nR,G,B,X,Y,Z\n" + rows)
    found = inspect_file(path)
    assert found.kind == "display readings"
    summary = found.summary
    assert (summary["readings"], summary["red ramp"], summary["green ramp"], summary["greys"]) == (6, 2, 1, 1)
    assert summary["white luminance (cd/m2)"] == 140 and summary["black luminance (cd/m2)"] == 0.1
    assert summary["spectral"] is False


def test_readings_of_a_display_in_cgats(tmp_path):
    path = tmp_path / "screen.txt"
    rows = "".join(f"{i} {r} {g} {b} {y} {y} {y}\n" for i, (r, g, b, y) in enumerate(READINGS))
    path.write_text(
        'CGATS.17\nKEYWORD "UNIT"\nUNIT "cd/m2"\n'
        "BEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z\n"
        f"END_DATA_FORMAT\nBEGIN_DATA\n{rows}END_DATA\n"
    )
    found = inspect_file(path)
    assert (found.kind, found.format) == ("display readings", "CGATS text (ISO 28178)")
    assert found.summary["white luminance (cd/m2)"] == 140


def test_a_display_profile(tmp_path):
    """The sRGB profile that LittleCMS writes through Pillow."""
    from PIL import ImageCms

    path = tmp_path / "screen.dat"
    path.write_bytes(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    found = inspect_file(path)
    assert (found.kind, found.format) == ("ICC profile", "ICC profile")
    assert found.summary["class"] == "display" and found.summary["colour space"] == "RGB"
    assert found.summary["connection space"] == "XYZ" and found.summary["version"].startswith("4.")
    assert found.summary["model"] == "MatrixModel"
    json.dumps(found.summary)


def test_a_profile_that_is_no_display_and_is_cut_short(tmp_path):
    from PIL import ImageCms

    path = tmp_path / "lab.icc"
    data = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    path.write_bytes(data[:-10])
    found = inspect_file(path)
    assert found.summary["colour space"] == "Lab"
    assert "cannot be named as a display" in said(found, "info")
    assert f"states {len(data)} bytes, the file has {len(data) - 10}" in said(found, "odd")


def test_a_bad_file_is_told_as_its_reader_tells_it(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("name,400,410\nred,0.1,x\n")
    with pytest.raises(InputError, match="line 2, 410: 'x' is no number"):
        inspect_file(path)
