"""CSV of samples in every layout and dialect that people export, with what is assumed said as a note."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples

RED = [0.1, 0.2, 0.3]
BLUE = [0.4, 0.35, 0.05]


def read(folder: Path, text: str | bytes, name: str = "samples.csv"):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_samples(path)


def said(samples, kind: str) -> str:
    return "\n".join(str(note) for note in samples.notes if note.kind == kind)


@pytest.mark.parametrize(
    "header",
    [
        "name,400,410,420",
        "Sample name,400nm,410nm,420nm",
        "sample,400 nm,410 nm,420 nm",
        "SAMPLE_NAME,nm400,nm410,nm420",
        "colour,R400,R410,R420",
        "patch,R_400,R_410,R_420",
        "label,SPECTRAL_NM_400,SPECTRAL_NM_410,SPECTRAL_NM_420",
        "name,spec_400,spec_410,spec_420",
        '"name","400.0","410.0","420.0"',
        ",400,410,420",
        "ink name,wl400,wl410,wl420",
        "wavelength,400,410,420",
    ],
)
def test_wavelengths_as_columns_in_every_spelling(tmp_path, header):
    samples = read(tmp_path, f"# unit: fraction\n{header}\nred,0.1,0.2,0.3\nblue,0.4,0.35,0.05\n")
    assert samples.names == ("red", "blue")
    assert (samples.grid.start, samples.grid.stop, samples.grid.step) == (400.0, 420.0, 10.0)
    np.testing.assert_array_equal(samples.reflectance, [RED, BLUE])
    assert not samples.notes


@pytest.mark.parametrize(
    "text",
    [
        "wavelength,red,blue\n400,0.1,0.4\n410,0.2,0.35\n420,0.3,0.05\n",
        "nm;red;blue\n400;0,1;0,4\n410;0,2;0,35\n420;0,3;0,05\n",
        "lambda\tred\tblue\n400\t0.1\t0.4\n410\t0.2\t0.35\n420\t0.3\t0.05\n",
        "wavelength [nm]\tred\tblue\n400\t0,1\t0,4\n410\t0,2\t0,35\n420\t0,3\t0,05\n",
        ",red,blue\n400,.1,.4\n410,.2,.35\n420,.3,5e-2\n",
        "wavelength red blue\n400 0.1 0.4\n410 0.2 0.35\n420 0.3 0.05\n",
        "wavelength,red,blue,,\n400,0.1,0.4,,\n\n410,0.2,0.35,,\n,,,,\n420,0.3,0.05,,\n",
    ],
    ids=["comma", "semicolon", "tab", "tab with decimal commas", "no corner", "blanks", "empty tail"],
)
def test_wavelengths_as_rows_in_every_dialect(tmp_path, text):
    samples = read(tmp_path, "# unit: fraction\n" + text)
    assert samples.names == ("red", "blue")
    np.testing.assert_array_equal(samples.reflectance, [RED, BLUE])


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_line_ends_and_encodings(tmp_path, end, codec):
    text = "# unit: fraction\nname,400,410,420\nr\u00f6d,0.1,0.2,0.3\nbl\u00e5,0.4,0.35,0.05\n".replace("\n", end)
    samples = read(tmp_path, text.encode(codec))
    assert samples.names == ("r\u00f6d", "bl\u00e5")
    np.testing.assert_array_equal(samples.reflectance, [RED, BLUE])


def test_latin_1_is_read_and_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\nname,400,410,420\nr\u00f6d,0.1,0.2,0.3\n".encode("latin-1"))
    assert samples.names == ("r\u00f6d",)
    assert "Latin-1" in said(samples, "assumed") and "line 3" in said(samples, "assumed")


def test_stated_percent_and_condition(tmp_path):
    samples = read(
        tmp_path,
        "# Unit: percent\n# geometry: 45a:0\n# filter: M1\n# backing = black tile\n# instrument: made up, 45:0\n"
        "# date: 2026-10-05\n# fluorescent: yes\n# repeatability: 0.2\n# free text that states nothing\n"
        "name,400,410,420\nred,10,20,30\n",
    )
    np.testing.assert_allclose(samples.reflectance, [RED], rtol=1e-15)
    condition = samples.condition
    assert (condition.geometry, condition.filter, condition.backing) == ("45a:0", "M1", "black tile")
    assert (condition.instrument, condition.date) == ("made up, 45:0", "2026-10-05")
    assert samples.fluorescent
    assert samples.repeatability == pytest.approx(0.002), "the repeatability is in the file's unit"
    assert not samples.notes


def test_unstated_unit_is_told_from_the_numbers_and_said(tmp_path):
    percent = read(tmp_path, "name,400,410,420\nred,10,20,30\nwhite,84,85,86\n")
    np.testing.assert_allclose(percent.reflectance[0], RED, rtol=1e-15)
    assert "taken for percent" in said(percent, "assumed") and "86" in said(percent, "assumed")
    fraction = read(tmp_path, "name,400,410,420\nred,0.1,0.2,0.3\nbrightened,1.31,1.02,0.9\n")
    np.testing.assert_array_equal(fraction.reflectance[0], RED)
    assert "taken for fractions" in said(fraction, "assumed")
    assert "above 1" in said(fraction, "odd") and "brightened" in said(fraction, "odd")


def test_one_unit_must_hold_for_all_samples(tmp_path):
    mixed = "name,400,410,420\na,10,20,30\nb,20,20,30\nc,0.1,0.2,0.3\n"
    with pytest.raises(InputError, match="line 4, c: readings up to 0.3 beside samples up to 30"):
        read(tmp_path, mixed)
    stated = read(tmp_path, "# unit: percent\n" + mixed)
    assert "c: no reading is above 0.3 percent" in said(stated, "odd")
    # A black of 1.6 percent beside a white leaves no doubt.
    black = read(tmp_path, "name,400,410,420\nwhite,85,86,87\nblack,1.6,1.5,1.4\nink,1.6,1.5,1.5\n")
    np.testing.assert_allclose(black.reflectance[1], [0.016, 0.015, 0.014], rtol=1e-14)


def test_a_misspelt_statement_is_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\n# geometri: 45a:0\nname,400,410,420\nred,0.1,0.2,0.3\n")
    assert samples.condition.geometry is None
    assert "did you mean 'geometry'" in said(samples, "odd")


def test_a_filter_that_is_none_of_the_standard_is_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\n# filter: cut\nname,400,410,420\nred,0.1,0.2,0.3\n")
    assert samples.condition.filter is None
    assert "M0, M1, M2, M3" in said(samples, "odd")


LAB = "name,LAB_L,LAB_A,LAB_B\nwhite,100,0,0\nred,50,60,40\n"


def test_lab_with_light_and_observer(tmp_path):
    from screenproof.spectra import light, observer, white_point

    samples = read(tmp_path, f"# light: D65\n# observer: 10\n{LAB}")
    own = samples.colorimetry
    assert (own.light, own.observer) == ("D65", "cie1964")
    np.testing.assert_allclose(own.xyz[0], white_point(light("D65"), observer("cie1964")), rtol=1e-12)
    # L* = 50 is Y = 18.4187 (CIE 15:2018, equation 8.1: ((50 + 16) / 116)^3).
    assert own.xyz[1, 1] == pytest.approx(100 * (66 / 116) ** 3, rel=1e-12)
    assert not samples.is_spectral and not samples.notes


@pytest.mark.parametrize(
    ("stated", "name"),
    [
        ("1931-2", "cie1931"),
        ("1964-10", "cie1964"),
        ("2015-2", "cie2015-2"),
        ("2015-10", "cie2015-10"),
        ("cie1964", "cie1964"),
    ],
)
def test_the_observer_of_an_earlier_version_is_read(tmp_path, stated, name):
    samples = read(tmp_path, f"# light: D65\n# observer: {stated}\n{LAB}")
    assert samples.colorimetry.observer == name and not samples.notes


def test_lab_without_light_and_observer_is_assumed_and_said(tmp_path):
    samples = read(tmp_path, LAB)
    assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D50", "cie1931")
    assert "light D50, observer cie1931" in said(samples, "assumed")
    half = read(tmp_path, "# light: A\n" + LAB)
    assert half.colorimetry.light == "A"
    assert "observer of the XYZ" in said(half, "assumed") and "light A" not in said(half, "assumed")


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("name,XYZ_X,XYZ_Y,XYZ_Z", "a,30.1,20.2,10.3"),
        ("name,X,Y,Z", "a,30.1,20.2,10.3"),
        ("name,XYY_X,XYY_Y,XYY_CAPY", f"a,{30.1 / 60.6!r},{20.2 / 60.6!r},20.2"),
        ("name,L*,a*,b*", None),
        ("name,L,a,b", None),
        ("name,LAB_L,LAB_C,LAB_H", None),
    ],
)
def test_every_colour_space(tmp_path, header, row):
    import colour

    white = colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"])
    lab = colour.XYZ_to_Lab(np.array([0.301, 0.202, 0.103]), colour.XYZ_to_xy(white))
    if row is None:
        numbers = colour.Lab_to_LCHab(lab) if "C" in header else lab
        row = "a," + ",".join(repr(float(value)) for value in numbers)
    samples = read(tmp_path, f"# light: D50\n# observer: 2\n{header}\n{row}\n")
    # colour-science's D50 has four decimals of xy, which is good for 0.02 in XYZ.
    np.testing.assert_allclose(samples.colorimetry.xyz, [[30.1, 20.2, 10.3]], atol=0.02)


def test_xyz_on_a_scale_of_one_only_when_stated(tmp_path):
    table = "name,X,Y,Z\na,0.3,0.2,0.1\n"
    samples = read(tmp_path, "# light: D50\n# observer: 2\n# xyz_scale: 1\n" + table)
    np.testing.assert_allclose(samples.colorimetry.xyz, [[30, 20, 10]])
    with pytest.raises(InputError, match="xyz_scale"):
        read(tmp_path, "# light: D50\n# observer: 2\n" + table)


def test_lab_and_xyz_that_disagree_are_said(tmp_path):
    header = "# light: D50\n# observer: 2\nname,LAB_L,LAB_A,LAB_B,XYZ_X,XYZ_Y,XYZ_Z\n"
    agreed = read(tmp_path, header + "grey,50,0,0,17.760,18.419,15.200\n")
    assert "both Lab and XYZ" in said(agreed, "info") and not said(agreed, "odd")
    apart = read(tmp_path, header + "grey,50,0,0,17.506,18.419,20.055\n")  # that is a grey under D65
    assert "differ by up to" in said(apart, "odd") and "grey" in said(apart, "odd")


@pytest.mark.parametrize(
    ("scale", "values", "expected"),
    [
        ("", "255,128,0", [1, 128 / 255, 0]),
        ("", "1,0.5,0", [1, 0.5, 0]),
        ("", "100,50.5,0", [1, 0.505, 0]),
        ("# device_scale: 1023\n", "1023,512,0", [1, 512 / 1023, 0]),
    ],
)
def test_drive_values_beside_samples(tmp_path, scale, values, expected):
    samples = read(
        tmp_path, f"# light: D50\n# observer: 2\n{scale}name,RGB_R,RGB_G,RGB_B,X,Y,Z\na,{values},30,20,10\n"
    )
    assert samples.device.channels == ("R", "G", "B")
    np.testing.assert_allclose(samples.device.values, [expected], rtol=1e-15)
    assert ("device_scale" in said(samples, "assumed")) == (not scale)


def test_tints_are_percent_and_spot_channels_are_numbered(tmp_path):
    samples = read(
        tmp_path,
        "# light: D50\n# observer: 2\n# device_channels: C|M|Y|K|Ember\n"
        "name,5CLR_1,5CLR_2,5CLR_3,5CLR_4,5CLR_5,X,Y,Z\na,100,50,0,25,12.5,30,20,10\n",
    )
    assert samples.device.channels == ("C", "M", "Y", "K", "Ember")
    np.testing.assert_allclose(samples.device.values, [[1, 0.5, 0, 0.25, 0.125]], rtol=1e-15)


def test_names_with_commas_marks_and_quotation(tmp_path):
    samples = read(tmp_path, '# unit: fraction\nname,400,410\n"red, ""deep""",0.1,0.2\n"#7",0.3,0.4\n')
    assert samples.names == ('red, "deep"', "#7")


def test_identical_rows_are_kept_once_and_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\nname,400,410\nred,0.1,0.2\nblue,0.3,0.4\nred,0.1,0.2\n")
    assert samples.names == ("red", "blue")
    assert "lines 3, 5" in said(samples, "odd") and "kept once" in said(samples, "odd")


def test_names_that_identifiers_tell_apart(tmp_path):
    samples = read(
        tmp_path, "# unit: fraction\nid,name,400,410\nA1,red,0.1,0.2\nA2,red,0.11,0.2\nA3,blue,0.3,0.4\n"
    )
    assert samples.names == ("red (A1)", "red (A2)", "blue")
    assert "identifier was added" in said(samples, "info")


def test_a_row_that_was_not_measured_is_left_out_and_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\nname,400,410\nred,0.1,0.2\nempty,,\nblue,0.3,0.4\n")
    assert samples.names == ("red", "blue")
    assert "line 4" in said(samples, "odd") and "left out" in said(samples, "odd")


def test_columns_without_use_and_rows_without_names_are_said(tmp_path):
    samples = read(tmp_path, "# unit: fraction\n400,410,gloss\n0.1,0.2,80\n0.3,0.4,20\n")
    assert samples.names == ("1", "2")
    assert "no column holds names" in said(samples, "assumed")
    assert "gloss" in said(samples, "info")


def test_spectra_with_lab_of_another_light_are_said(tmp_path):
    header = "name,400,450,500,550,600,650,700,LAB_L,LAB_A,LAB_B\n"
    row = "grey,0.2,0.2,0.2,0.2,0.2,0.2,0.2,{}\n"
    # An even reflectance of 0.2 is a neutral of L* = 116 * 0.2^(1/3) - 16 under every light.
    neutral = f"{116 * 0.2 ** (1 / 3) - 16:.4f},0,0"
    right = read(tmp_path, "# unit: fraction\n# light: D50\n# observer: 2\n" + header + row.format(neutral))
    assert right.is_spectral and right.colorimetry is not None and not said(right, "odd")
    wrong = read(tmp_path, "# unit: fraction\n# light: D50\n# observer: 2\n" + header + row.format("51.8,9,-20"))
    assert "differ from the spectra" in said(wrong, "odd")
    silent = read(tmp_path, "# unit: fraction\n" + header + row.format(neutral))
    assert silent.colorimetry is None and "not used" in said(silent, "info")


def test_all_mistakes_are_told_together_with_their_lines(tmp_path):
    with pytest.raises(InputError) as caught:
        read(
            tmp_path,
            "# unit: permille\n# fluorescent: perhaps\nname,400,410,420\nred,0.1,x,0.3\nblue,,0.2,nan\n"
            "green,0.1,0.2\nblue,0.2,0.2,0.2\n",
        )
    lines = [problem.line for problem in caught.value.problems]
    assert lines == sorted(lines) and set(lines) == {1, 2, 4, 5, 6}
    text = str(caught.value)
    assert "line 4, 410: 'x' is no number" in text
    assert "line 5, 400: an empty cell" in text
    assert "line 5, 420: 'nan' is no reading" in text
    assert "line 6: the row has 3 cells, the column names 4" in text


def test_thousands_of_mistakes_are_counted_not_listed(tmp_path):
    rows = "".join(f"s{i},x,y\n" for i in range(500)).replace("x,y", "0.1,q")
    with pytest.raises(InputError) as caught:
        read(tmp_path, "name,400,410\n" + rows)
    assert len(caught.value.problems) == 41
    assert "460 more mistakes" in str(caught.value)


def test_a_large_file_is_read_in_seconds(tmp_path):
    import time

    values = np.random.default_rng(7).random((5000, 36)).round(4)
    head = "name," + ",".join(str(nm) for nm in range(380, 740, 10))
    body = "\n".join(f"s{i}," + ",".join(map(str, row)) for i, row in enumerate(values.tolist()))
    start = time.perf_counter()
    samples = read(tmp_path, f"# unit: fraction\n{head}\n{body}\n")
    taken = time.perf_counter() - start
    np.testing.assert_array_equal(samples.reflectance, values)
    assert taken < 15, f"{taken:.1f} s for 5,000 spectra"


def test_names_that_differ_only_by_case_are_noted(tmp_path):
    path = tmp_path / "alike.csv"
    rows = "Moss,50,1,1\nmoss,40,1,1\nSand,70,1,9\n"
    path.write_text("# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\n" + rows)
    samples = read_samples(path)
    assert samples.names == ("Moss", "moss", "Sand")
    (note,) = [note for note in samples.notes if note.kind == "odd"]
    assert "'Moss' and 'moss'" in note.what and "Sand" not in note.what and "write them alike" in note.mend
