"""Readings of a display from CSV and CGATS: layouts, scales, statements, and every mistake with its line."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import fit_display
from screenproof.errors import InputError
from screenproof.formats import read_readings
from screenproof.spectra import emission_xyz, observer
from tests.additive.fit_scenes import GRID, additive, bands, drives

DRIVES = drives(17, 3)
XYZ = additive("gamma")(DRIVES)


def csv_text(
    drive: np.ndarray, values: np.ndarray, columns: str = "X,Y,Z", head: str = "", names: str = "R,G,B"
) -> str:
    rows = [",".join(f"{v:.10g}" for v in row) for row in np.hstack([drive, values])]
    return head + f"{names},{columns}\n" + "\n".join(rows) + "\n"


def read(tmp_path, text: str, name: str = "screen.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_readings(path)


def refused(tmp_path, text: str, name: str = "screen.csv") -> InputError:
    with pytest.raises(InputError) as raised:
        read(tmp_path, text, name)
    assert all(problem.file for problem in raised.value.problems)
    return raised.value


def test_drive_values_and_xyz(tmp_path):
    readings = read(tmp_path, csv_text(DRIVES, XYZ))
    assert np.allclose(readings.drive, DRIVES, atol=1e-9) and np.allclose(readings.xyz_cd, XYZ, rtol=1e-9)
    assert not readings.spectral and readings.observer == "cie1931"
    assert readings.names[0] == "line 2" and readings.source.endswith("screen.csv")


@pytest.mark.parametrize(
    ("top", "said"), [(1, "0..1"), (100, "percent"), (255, "0..255"), (1023, "0..1023"), (4095, "0..4095")]
)
def test_a_scale_that_is_not_stated_is_told_from_the_numbers_and_said(tmp_path, top, said):
    code = np.round(DRIVES * top) if top > 100 else DRIVES * top
    readings = read(tmp_path, csv_text(code, XYZ))
    assert np.allclose(readings.drive, code / top, atol=1e-9)
    assert any(note.kind == "assumed" and said in note.what for note in readings.notes)


@pytest.mark.parametrize(
    "head",
    [
        "# bits: 10\n",
        "# bit depth: 10 bit\n",
        "# device_scale: 1023\n",
        "# drive: 0..1023\n",
        "# R, G, B: drive values 0..1023\n",
        "# 10 bit codes\n",
    ],
)
def test_a_stated_scale_is_kept(tmp_path, head):
    # Codes up to 255 of 1023, with nothing brighter: only the statement can tell.
    code = np.round(DRIVES * 255)
    readings = read(tmp_path, csv_text(code, XYZ, head=head))
    assert np.allclose(readings.drive, code / 1023)
    assert not any("scale of the drive" in note.what for note in readings.notes)


def test_prose_about_the_panel_is_no_scale(tmp_path):
    readings = read(tmp_path, csv_text(np.round(DRIVES * 255), XYZ, head="# RGB OLED, 10 bit panel, 120 Hz\n"))
    assert readings.drive.max() == 1.0


@pytest.mark.parametrize("names", ["RGB_R,RGB_G,RGB_B", "red,green,blue", "r,g,b"])
@pytest.mark.parametrize("columns", ["XYZ_X,XYZ_Y,XYZ_Z", "X,Y,Z", "x [cd/m2],y [cd/m2],z [cd/m2]"])
def test_names_of_columns(tmp_path, names, columns):
    assert len(read(tmp_path, csv_text(DRIVES, XYZ, columns, names=names))) == len(DRIVES)


def test_semicolons_and_decimal_commas(tmp_path):
    text = csv_text(DRIVES, XYZ).replace(",", ";").replace(".", ",")
    readings = read(tmp_path, text)
    assert np.allclose(readings.xyz_cd, XYZ) and np.allclose(readings.drive, DRIVES)


def test_statements_are_kept(tmp_path):
    head = "# display: Invented desk screen\n# instrument: invented colorimeter\n"
    head += "# date: 2026-05-01\n# observer: 10\n"
    readings = read(tmp_path, csv_text(DRIVES, XYZ, head=head))
    assert (readings.display, readings.instrument) == ("Invented desk screen", "invented colorimeter")
    assert (readings.date, readings.observer) == ("2026-05-01", "cie1964")
    assert fit_display(readings, "desk").label == "Invented desk screen"


@pytest.mark.parametrize("stated", ["1964-10", "cie1964", "10 degrees"])
def test_the_observer_is_read_in_its_present_and_former_spellings(tmp_path, stated):
    assert read(tmp_path, csv_text(DRIVES, XYZ, head=f"# observer: {stated}\n")).observer == "cie1964"


def test_names_of_patches(tmp_path):
    lines = csv_text(DRIVES[:3], XYZ[:3]).splitlines()
    text = "\n".join([f"name,{lines[0]}"] + [f"step {i},{line}" for i, line in enumerate(lines[1:])])
    assert read(tmp_path, text).names == ("step 0", "step 1", "step 2")


def test_chromaticity_and_luminance(tmp_path):
    drive, xyz = DRIVES[1:], XYZ[1:]
    xyy = np.column_stack([xyz[:, :2] / xyz.sum(axis=1, keepdims=True), xyz[:, 1]])
    readings = read(tmp_path, csv_text(drive, xyy, "XYY_X,XYY_Y,XYY_CAPY"))
    assert np.allclose(readings.xyz_cd, xyz, rtol=1e-6)


SPECTRA = DRIVES**2.2 @ bands() + 1e-6
NM = ",".join(f"{nm:g}" for nm in GRID.wavelengths)


@pytest.mark.parametrize("columns", [NM, ",".join(f"nm{nm:g}" for nm in GRID.wavelengths)])
def test_spectra(tmp_path, columns):
    readings = read(tmp_path, csv_text(DRIVES, SPECTRA, columns))
    assert readings.spectral and readings.grid == GRID and readings.xyz_cd is None
    assert np.allclose(readings.spectra, SPECTRA, rtol=1e-8)
    assert fit_display(readings, "x").spectral


def test_a_unit_of_the_spectra_is_obeyed_and_a_wrong_one_noticed(tmp_path):
    milli = read(tmp_path, csv_text(DRIVES, SPECTRA * 1e3, NM, head="# unit: mW/(sr m2 nm)\n"))
    assert np.allclose(milli.spectra, SPECTRA, rtol=1e-8)
    wrong = read(tmp_path, csv_text(DRIVES, SPECTRA * 1e3, NM))
    assert any(note.kind == "odd" and "unlike any display" in note.what for note in wrong.notes)
    assert "unit 'furlongs'" in str(refused(tmp_path, csv_text(DRIVES, SPECTRA, NM, head="# unit: furlongs\n")))


def test_spectra_beside_xyz_are_used_and_compared(tmp_path):
    own = emission_xyz(SPECTRA, GRID, observer("cie1931"))
    both = read(tmp_path, csv_text(DRIVES, np.hstack([own, SPECTRA]), "X,Y,Z," + NM))
    assert both.spectral and both.xyz_cd is None
    assert any(note.kind == "info" and "both spectra and XYZ" in note.what for note in both.notes)
    off = read(tmp_path, csv_text(DRIVES, np.hstack([own * 1.1, SPECTRA]), "X,Y,Z," + NM))
    assert any(note.kind == "odd" and "9.1 % below" in note.what for note in off.notes)


def test_relative_xyz_are_noticed(tmp_path):
    readings = read(tmp_path, csv_text(DRIVES, XYZ / XYZ[:, 1].max() * 100))
    assert any(note.kind == "assumed" and "exactly 100" in note.what for note in readings.notes)
    assert not any("exactly" in note.what for note in read(tmp_path, csv_text(DRIVES, XYZ)).notes)


def test_a_row_without_reading_is_left_out_and_said(tmp_path):
    lines = csv_text(DRIVES, XYZ).splitlines()
    lines[5] = ",".join(lines[5].split(",")[:3]) + ",,,"
    readings = read(tmp_path, "\n".join(lines))
    assert len(readings) == len(DRIVES) - 1
    assert any(note.line == 6 and "no reading" in note.what for note in readings.notes)


CGATS = """CGATS.17
ORIGINATOR "invented"
INSTRUMENTATION "invented spectroradiometer"
CREATED "2026-05-02"
DISPLAY "Invented stage monitor"
BITS "8"
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
SAMPLE_ID RGB_R RGB_G RGB_B {columns}
END_DATA_FORMAT
NUMBER_OF_SETS {count}
BEGIN_DATA
{rows}
END_DATA
"""


def cgats_text(values: np.ndarray, columns: str, code: np.ndarray | None = None) -> str:
    shown = np.round(DRIVES * 255) if code is None else code
    rows = [
        f"A{i} " + " ".join(f"{v:.10g}" for v in row) for i, row in enumerate(np.hstack([shown, values]), start=1)
    ]
    text = CGATS.format(columns=columns, count=len(rows), rows="\n".join(rows))
    return text.replace("FIELDS 7", f"FIELDS {4 + len(columns.split())}")


def test_cgats(tmp_path):
    readings = read(tmp_path, cgats_text(XYZ, "XYZ_X XYZ_Y XYZ_Z"), "screen.cgats")
    assert np.allclose(readings.drive, np.round(DRIVES * 255) / 255) and np.allclose(readings.xyz_cd, XYZ)
    assert (readings.display, readings.date) == ("Invented stage monitor", "2026-05-02")
    assert readings.instrument == "invented spectroradiometer" and readings.names[0] == "A1"
    assert not any("scale of the drive" in note.what for note in readings.notes)


def test_cgats_spectra(tmp_path):
    columns = " ".join(f"SPECTRAL_NM{nm:.0f}" for nm in GRID.wavelengths)
    readings = read(tmp_path, cgats_text(SPECTRA, columns), "screen.txt")
    assert readings.grid == GRID and np.allclose(readings.spectra, SPECTRA, rtol=1e-8)


def test_cgats_tables_by_number(tmp_path):
    first = cgats_text(np.zeros((len(DRIVES), 3)), "LAB_L LAB_A LAB_B").replace("RGB_", "OTHER_")
    path = tmp_path / "two.cgats"
    path.write_text(first + cgats_text(XYZ, "XYZ_X XYZ_Y XYZ_Z").split("\n", 1)[1], encoding="utf-8")
    readings = read_readings(path)
    assert np.allclose(readings.xyz_cd, XYZ) and any("table 2 was read" in note.what for note in readings.notes)
    with pytest.raises(InputError, match="no table '7'"):
        read_readings(f"{path}#7")
    with pytest.raises(InputError, match="no drive values"):
        read_readings(f"{path}#1")


def test_all_bad_rows_are_told_at_once_with_their_lines(tmp_path):
    lines = csv_text(np.round(DRIVES * 255), XYZ, head="# bits: 8\n").splitlines()
    lines[4] = "16,0,zero,1,1,1"
    lines[7] = "300,0,0,1,1,1"
    lines[9] = "16,0,0,nan,1,1"
    lines[11] = "16,0,0,1,1"
    text = str(refused(tmp_path, "\n".join(lines)))
    for part in ("line 5", "'zero' is no number", "line 10", "no reading", "line 12", "5 cells"):
        assert part in text
    assert "line 8: a drive value of 300 on a scale of 0 to 255" in text
    # Four mistakes, each told once.
    assert text.count("expected:") == 4


HEAD = csv_text(DRIVES, XYZ)
REFUSED = {
    "no drive": (HEAD.replace("R,G,B", "a,b,c"), "no drive values"),
    "four channels": (HEAD.replace("R,G,B,X,Y,Z", "C,M,Y,K,X,Y"), "device values of 4 channels"),
    "no light": (HEAD.replace("X,Y,Z", "u,v,w"), "no column holds XYZ or spectra"),
    "lab": (HEAD.replace("X,Y,Z", "L,a,b"), "Lab tells no luminance"),
    "negative": (HEAD + "0.5,0.5,0.5,-9,1,1\n", "a negative reading of -9"),
    "no header": (HEAD.split("\n", 1)[1], "no column names"),
    "only comments": ("# a\n# b\n", "only comments"),
    "no rows": ("R,G,B,X,Y,Z\n", "no row"),
    "a light": ("# kind: light\n" + HEAD, "the file says that it holds 'light'"),
    "bad bits": ("# bits: many\n" + HEAD, "bits is 'many'"),
    "bad scale": ("# device_scale: loud\n" + HEAD, "the scale of the drive values is 'loud'"),
    "bad observer": ("# observer: cat\n" + HEAD, "the observer 'cat'"),
    "uneven bands": (csv_text(DRIVES[:, :3], XYZ, "400,410,430"), "missing band: 420 nm"),
    "json": ('{"a": 1}', "this is"),
    "binary": ("\x00\x01\x02", "binary"),
}


@pytest.mark.parametrize("case", sorted(REFUSED))
def test_refused(tmp_path, case):
    text, what = REFUSED[case]
    assert what in str(refused(tmp_path, text))


def test_bad_chromaticities_are_told(tmp_path):
    drive, xyy = np.array([[1.0, 1.0, 1.0], [0.5, 0.5, 0.5]]), np.array([[0.3, 0.3, 90], [0.9, 0.3, 20]])
    text = csv_text(drive, xyy, "XYY_X,XYY_Y,XYY_CAPY")
    assert "line 3: chromaticity x = 0.9, y = 0.3" in str(refused(tmp_path, text))


def test_a_profile_is_not_a_file_of_readings(tmp_path):
    from screenproof.additive import standard_display
    from screenproof.formats import profile_bytes

    path = tmp_path / "screen.icc"
    path.write_bytes(profile_bytes(standard_display("srgb")))
    with pytest.raises(InputError, match="ICC profile"):
        read_readings(path)
