"""CGATS.17 and ISO 28178 text as its many writers spell it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples

RED = [0.1, 0.2, 0.3]
BLUE = [0.4, 0.35, 0.05]


def table(fields: str, rows: list[str], head: str = "", identifier: str = "ISO28178") -> str:
    count = len(fields.split())
    return "\n".join(
        [
            identifier,
            head.rstrip("\n"),
            f"NUMBER_OF_FIELDS {count}",
            "BEGIN_DATA_FORMAT",
            fields,
            "END_DATA_FORMAT",
            f"NUMBER_OF_SETS {len(rows)}",
            "BEGIN_DATA",
            *rows,
            "END_DATA",
            "",
        ]
    )


def read(folder: Path, text: str, name: str = "samples.cgats"):
    path = folder / name
    path.write_bytes(text.encode())
    return read_samples(path)


def said(samples, kind: str) -> str:
    return "\n".join(str(note) for note in samples.notes if note.kind == kind)


@pytest.mark.parametrize("identifier", ["ISO28178", "CGATS.17", "CGATS.5", "IT8.7/4", "NCGATS", "XYZ1"])
def test_any_file_identifier(tmp_path, identifier):
    text = table("SAMPLE_ID NM400 NM410 NM420", ["1 0.1 0.2 0.3"], identifier=identifier)
    np.testing.assert_array_equal(read(tmp_path, text).reflectance, [RED])


def test_no_file_identifier_at_all(tmp_path):
    text = table("SAMPLE_ID NM400 NM410 NM420", ["1 0.1 0.2 0.3"], identifier="")
    np.testing.assert_array_equal(read(tmp_path, text).reflectance, [RED])


@pytest.mark.parametrize(
    "spelling",
    [
        "SPECTRAL_NM{}",
        "SPECTRAL_NM_{}",
        "SPEC_{}",
        "NM{}",
        "nm{}",
        "NM_{}",
        "R_{}",
        "R{}",
        "SPECTRAL_{}",
        "nm{}.0",
        "{}",
    ],
)
def test_a_field_for_each_wavelength_in_every_spelling(tmp_path, spelling):
    fields = " ".join(spelling.format(nm) for nm in (400, 410, 420))
    samples = read(
        tmp_path, table(f"SAMPLE_ID SAMPLE_NAME {fields}", ["1 red 0.1 0.2 0.3", '2 "deep blue" 0.4 0.35 0.05'])
    )
    assert samples.names == ("red", "deep blue")
    assert (samples.grid.start, samples.grid.stop, samples.grid.step) == (400.0, 420.0, 10.0)
    np.testing.assert_array_equal(samples.reflectance, [RED, BLUE])
    assert "taken for fractions" in said(samples, "assumed")


@pytest.mark.parametrize(("value", "factor"), [("SPECTRAL_DEC", 1), ("SPECTRAL_PCT", 100)])
def test_pairs_of_wavelength_and_value_state_the_unit(tmp_path, value, factor):
    fields = "SAMPLE_ID SAMPLE_NAME " + " ".join(["SPECTRAL_NM", value] * 3)
    row = '1 "red ink" ' + " ".join(f"{nm} {r * factor:.6g}" for nm, r in zip((400, 410, 420), RED, strict=True))
    samples = read(tmp_path, table(fields, [row]))
    np.testing.assert_allclose(samples.reflectance, [RED], rtol=1e-15)
    assert not said(samples, "assumed")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [" ", "\t", "   "])
def test_line_ends_and_separators(tmp_path, end, mark):
    text = table("SAMPLE_ID SAMPLE_NAME NM400 NM410", ['1 "a b" 0.1 0.2', "2 c 0.3 0.4"]).replace(end, "\n")
    rows = []
    for line in text.split("\n"):
        inside = line.startswith(("1 ", "2 ", "SAMPLE_ID"))
        rows.append(line.replace('"a b"', "@").replace(" ", mark).replace("@", '"a b"') if inside else line)
    samples = read(tmp_path, end.join(rows))
    assert samples.names == ("a b", "c")
    np.testing.assert_array_equal(samples.reflectance, [[0.1, 0.2], [0.3, 0.4]])


def test_tabs_need_no_quotation_marks(tmp_path):
    fields = "SAMPLE_ID\tSAMPLE_NAME\tNM400\tNM410"
    samples = read(tmp_path, table(fields, ["1\tdeep red\t0.1\t0.2", "2\tblue\t0.3\t0.4"]))
    assert samples.names == ("deep red", "blue")


def test_keywords_of_the_condition(tmp_path):
    head = (
        'ORIGINATOR "made up"\nCREATED "2026-10-05"\nINSTRUMENTATION "made up, 45:0"\n'
        'MEASUREMENT_GEOMETRY "45a:0"\n'
        'FILTER "M1"\nSAMPLE_BACKING "black"\nKEYWORD "FLUORESCENT"\nFLUORESCENT "yes"\n'
        'KEYWORD "REPEATABILITY"\nREPEATABILITY "0.002"\nKEYWORD "UNIT"\nUNIT "fraction"\n# a comment'
    )
    samples = read(tmp_path, table("SAMPLE_ID NM400 NM410", ["1 0.1 0.2"], head))
    condition = samples.condition
    assert (condition.geometry, condition.filter, condition.backing) == ("45a:0", "M1", "black")
    assert (condition.instrument, condition.date) == ("made up, 45:0", "2026-10-05")
    assert samples.fluorescent and samples.repeatability == 0.002
    assert not samples.notes


LAB_ROWS = ["1 0 0 0 0 95 1.5 -6", "2 100 0 0 0 56.12 -34.9 -52.52"]
LAB_FIELDS = "SAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B"


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        ('WEIGHTING_FUNCTION "ILLUMINANT, D50"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"', ("D50", "cie1931")),
        ('ILLUMINATION_NAME "D65"\nOBSERVER_ANGLE "10"', ("D65", "cie1964")),
        ('ILLUMINANT "F11"\nOBSERVER "CIE 2 degree"', ("FL11", "cie1931")),
        ('ILLUMINANT "CIE A"\nOBSERVER "CIE 1964 10 degree"', ("A", "cie1964")),
        ('WEIGHTING_FUNCTION "ILLUMINANT, D65"\nWEIGHTING_FUNCTION "OBSERVER, 1964-10"', ("D65", "cie1964")),
        ('WEIGHTING_FUNCTION "ILLUMINANT, D50"\nWEIGHTING_FUNCTION "OBSERVER, cie2015-2"', ("D50", "cie2015-2")),
        (
            'INSTRUMENTATION "D50, 2 degree, geometry 45/0, no polarisation filter, white backing"',
            ("D50", "cie1931"),
        ),
    ],
)
def test_light_and_observer_of_lab(tmp_path, head, expected):
    samples = read(tmp_path, table(LAB_FIELDS, LAB_ROWS, head))
    assert (samples.colorimetry.light, samples.colorimetry.observer) == expected
    assert not said(samples, "assumed")
    assert samples.device.channels == ("C", "M", "Y", "K")
    np.testing.assert_array_equal(samples.device.values, [[0, 0, 0, 0], [1, 0, 0, 0]])


def test_prose_of_the_instrumentation_is_used_and_said(tmp_path):
    head = 'INSTRUMENTATION "D50, 2 degree, geometry 45/0, no polarisation filter, white backing"'
    samples = read(tmp_path, table(LAB_FIELDS, LAB_ROWS, head))
    assert (samples.condition.geometry, samples.condition.backing) == ("45/0", "white")
    assert "taken from the text of INSTRUMENTATION" in said(samples, "info")


def test_a_paper_weight_is_no_measurement_condition(tmp_path):
    # Public characterisation files describe the paper as 115 g/m2: that is not M2.
    head = (
        'WEIGHTING_FUNCTION "ILLUMINANT, D50"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"\n'
        'INSTRUMENTATION "M0, paper of 115 g/m2"\nPRINT_CONDITIONS "coated, 60 g/m2"'
    )
    assert read(tmp_path, table(LAB_FIELDS, LAB_ROWS, head)).condition.filter == "M0"
    assert read(tmp_path, table(LAB_FIELDS, LAB_ROWS, head.replace("M0, ", ""))).condition.filter is None


def test_a_condition_in_another_keyword_than_filter(tmp_path):
    head = 'FILTER "none"\nMEASUREMENT_SOURCE "Illumination=D50 M1"'
    assert read(tmp_path, table(LAB_FIELDS, LAB_ROWS, head)).condition.filter == "M1"


@pytest.mark.parametrize(
    ("fields", "row", "channels", "values"),
    [
        ("RGB_R RGB_G RGB_B", "255 128 0", ("R", "G", "B"), [1, 128 / 255, 0]),
        ("CMY_C CMY_M CMY_Y", "100 50 0", ("C", "M", "Y"), [1, 0.5, 0]),
        (
            "6CLR_1 6CLR_2 6CLR_3 6CLR_4 6CLR_5 6CLR_6",
            "100 50 0 0 25 75",
            tuple("123456"),
            [1, 0.5, 0, 0, 0.25, 0.75],
        ),
    ],
)
def test_device_fields(tmp_path, fields, row, channels, values):
    head = 'WEIGHTING_FUNCTION "ILLUMINANT, D50"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"'
    samples = read(tmp_path, table(f"SAMPLE_ID {fields} XYZ_X XYZ_Y XYZ_Z", [f"1 {row} 30 20 10"], head))
    assert samples.device.channels == channels
    np.testing.assert_allclose(samples.device.values, [values], rtol=1e-15)


def test_fields_that_are_not_used_are_said(tmp_path):
    samples = read(tmp_path, table("SAMPLE_ID NM400 NM410 D_RED STDEV_DE", ["1 0.1 0.2 1.2 0.1"]))
    assert "D_RED, STDEV_DE" in said(samples, "info")


def test_decimal_commas_are_read_and_said(tmp_path):
    samples = read(tmp_path, table("SAMPLE_ID NM400 NM410", ["1 0,1 0,2"]))
    np.testing.assert_array_equal(samples.reflectance, [[0.1, 0.2]])
    assert "decimal commas" in said(samples, "odd")


def test_rows_that_are_wrapped_over_lines(tmp_path):
    text = table("SAMPLE_ID SAMPLE_NAME NM400 NM410 NM420", ["1 red 0.1 0.2 0.3", "2 blue 0.4 0.35 0.05"])
    text = text.replace("1 red 0.1 ", "1 red 0.1\n").replace("0.4 0.35 ", "0.4\n0.35 ")
    samples = read(tmp_path, text)
    assert samples.names == ("red", "blue")
    np.testing.assert_array_equal(samples.reflectance, [RED, BLUE])


def test_several_tables_are_said_and_named_by_number(tmp_path):
    first = table("SAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K", ["1 0 0 0 0"])
    second = table("SAMPLE_ID NM400 NM410 NM420", ["1 0.1 0.2 0.3"], identifier="")
    third = table("SAMPLE_ID NM400 NM410 NM420", ["7 0.4 0.35 0.05"], identifier="")
    path = tmp_path / "many.txt"
    path.write_text(first + second + third)
    samples = read_samples(path)
    np.testing.assert_array_equal(samples.reflectance, [RED])
    assert "holds 3 tables; table 2 was read" in said(samples, "assumed")
    assert read_samples(f"{path}#3").names == ("7",)
    with pytest.raises(InputError, match="a number from 1 to 3"):
        read_samples(f"{path}#4")


def test_a_missing_end_is_harmless_when_all_rows_are_there(tmp_path):
    text = table("SAMPLE_ID NM400 NM410", ["1 0.1 0.2", "2 0.3 0.4"]).replace("\nEND_DATA\n", "\n")
    samples = read(tmp_path, text)
    assert len(samples) == 2 and "END_DATA is missing" in said(samples, "odd")


def test_a_file_is_known_by_its_content(tmp_path):
    text = table("SAMPLE_ID NM400 NM410 NM420", ["1 0.1 0.2 0.3"])
    for name in ("data.csv", "data", "data.cxf", "data.json"):
        np.testing.assert_array_equal(read(tmp_path, text, name).reflectance, [RED])


def test_all_mistakes_are_told_together_with_their_lines(tmp_path):
    text = table("SAMPLE_ID NM400 NM410 NM420", ["1 0.1 0.2 0.3", "2 0.1 0.2", "3 0.1 x 0.3", "4 0.1 0.2 0.3 0.4"])
    with pytest.raises(InputError) as caught:
        read(tmp_path, text.replace("NUMBER_OF_FIELDS 4", "NUMBER_OF_FIELDS 5"))
    message = str(caught.value)
    assert "line 3: NUMBER_OF_FIELDS says 5, but 4 fields are named" in message
    assert "line 10: the row has 3 values, there are 4 fields" in message
    assert "line 11, NM410: 'x' is no number" in message
    assert "line 12: the row has 5 values" in message
