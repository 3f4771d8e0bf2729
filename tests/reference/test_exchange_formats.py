"""Exchange formats against what is published of them: keyword lists, real files, other readers.

Sources: shared/exchange_keywords.csv (each row names its own), a measured CxF3 file that comes with colour-cxf,
and characterisation data of print conditions.
"""

from __future__ import annotations

import csv
import glob
import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from screenproof.appearance import xyz_to_lab
from screenproof.formats import read_samples
from screenproof.formats._cxf_spec import FILTERS
from screenproof.formats._fields import classify
from screenproof.formats._stated import canonical, light_of
from screenproof.formats._text import Problems
from screenproof.spectra import light, observer, white_point

SHARED = Path(__file__).parents[2] / "shared"


def keyword_rows(form: str) -> list[dict[str, str]]:
    with (SHARED / "exchange_keywords.csv").open(encoding="utf-8") as stream:
        rows = csv.DictReader(line for line in stream if not line.startswith("#"))
        return [row for row in rows if row["format"].startswith(form)]


CGATS = keyword_rows("ISO 28178")
CXF = {row["keyword_or_tag"]: row["meaning"] for row in keyword_rows("CxF3")}


def test_every_field_name_of_the_list_is_known():
    spoken_of = " ".join(row["keyword_or_tag"] for row in CGATS)
    problems = Problems("x")
    for field in ("SAMPLE_ID", "SAMPLE_NAME"):
        assert field in spoken_of
        fields = classify([field, "SPEC_400"], problems)
        assert (fields.name, fields.identifier) in ((0, None), (None, 0))
    for triple, what in (
        ("LAB_L LAB_A LAB_B", "lab"),
        ("XYZ_X XYZ_Y XYZ_Z", "xyz"),
        ("XYY_X XYY_Y XYY_CAPY", "xyy"),
    ):
        assert triple in spoken_of
        assert getattr(classify(triple.split(), problems), what) == (0, 1, 2)
    for device in ("CMYK_C CMYK_M CMYK_Y CMYK_K", "RGB_R RGB_G RGB_B"):
        assert device in spoken_of
        assert classify(device.split(), problems).channels == tuple(name[-1] for name in device.split())
    assert "LAB_C LAB_H" in spoken_of
    assert classify(["LAB_L", "LAB_C", "LAB_H"], problems).lch == (0, 1, 2)
    spelt = next(row["keyword_or_tag"] for row in CGATS if "one column per wavelength" in row["meaning"])
    spellings = spelt.split(" / ")
    assert len(spellings) == 4
    for name in spellings:
        assert classify(["SAMPLE_ID", name], problems).bands == ((380.0, 1),)
    assert any("SPECTRAL_NM + SPECTRAL_DEC" in row["keyword_or_tag"] for row in CGATS)
    paired = classify(["SPECTRAL_NM", "SPECTRAL_DEC", "SPECTRAL_NM", "SPECTRAL_DEC"], problems)
    assert paired.pairs == ((0, 1), (2, 3)) and paired.unit == "fraction"
    assert not problems
    for further in ("D_RED", "MEAN_DE", "STDEV_XYZ"):
        assert classify([further, "NM400"], problems).ignored == (further,)


@pytest.mark.parametrize(
    ("keyword", "meaning"),
    [
        ("CREATED", "date"),
        ("INSTRUMENTATION", "instrument"),
        ("ILLUMINATION_NAME", "light"),
        ("OBSERVER_ANGLE", "observer"),
        ("FILTER", "filter"),
        ("SAMPLE_BACKING", "backing"),
        ("MEASUREMENT_GEOMETRY", "geometry"),
    ],
)
def test_header_keywords_of_the_list_are_understood(keyword, meaning):
    assert any(keyword in row["keyword_or_tag"] for row in CGATS)
    assert canonical(keyword) == meaning


def test_illuminants_that_cxf_enumerates():
    named = CXF["Illuminant"].split()
    assert len(named) == 23
    # The CIE lists none of these under that name: makers' lamps, a correlated colour temperature, B of old, D60.
    unknown = {"B", "D60", "9300", "TL83", "TL84", "UL30", "UL35", "UL50", "Custom"}
    assert {name for name in named if light_of(name) is None} == unknown
    assert light_of("F11") == "FL11" and light_of("D65") == "D65"


def test_measurement_conditions_that_cxf_enumerates():
    named = [name.strip() for name in CXF["Device/DeviceIllumination"].split(",")]
    ours = {name: condition for name, condition in FILTERS.items()}
    for name in named:
        wanted = re.match(r"M[0-3]", name)
        assert ours.get(name.upper()) == (wanted[0] if wanted else None)


def test_a_measured_cxf_file_gives_the_lab_that_its_instrument_gave():
    """144 patches, 380 to 680 nm, measured by an instrument that also gave their Lab under D50 (2 degrees).

    The file comes with colour-cxf 0.1.1 as the sample of its own tests. The instrument's Lab stem from the
    tables of ASTM E308, ours from weights made at 1 nm; a tenth of a CIELAB unit is what this leaves.
    """
    samples = read_samples(str(files("colour_cxf") / "tests" / "resources" / "sample.cxf"))
    assert len(samples) == 144 and str(samples.grid) == "380 to 680 nm by 10 nm"
    assert samples.condition.geometry == "45a:0"
    assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D50", "cie1931")
    under, eye = light("D50"), observer("cie1931")
    white = white_point(under, eye)
    apart = np.linalg.norm(
        xyz_to_lab(samples.xyz([under], [eye])[:, 0, 0], white) - xyz_to_lab(samples.colorimetry.xyz, white),
        axis=1,
    )
    assert apart.mean() < 0.1 and apart.max() < 0.15


# Header as in the public characterisation data of ISO 12647-2:2013 coated stock, with the paper and the solids
# of that set (CMYK in percent, then Lab): values found in a public copy of the file, given to two decimals.
CHARACTERISATION = """ISO28178
ORIGINATOR\t"made up from published values"
FILE_DESCRIPTOR\t"coated, M1"
CREATED\t"May 2015"
INSTRUMENTATION\t"D50, 2 degree, geometry 45/0, no polarization filter, white backing, according to ISO 13655"
PRINT_CONDITIONS\t"Offset printing, paper of 115 g/m2, tone value increase curve A (CMYK)"
ILLUMINATION_NAME\t"D50"
OBSERVER_ANGLE\t"2"
FILTER\t"M1"
WEIGHTING_FUNCTION\t"ILLUMINANT, D50"
WEIGHTING_FUNCTION\t"OBSERVER, 2 degree"
KEYWORD\t"TVI"
NUMBER_OF_FIELDS\t8
BEGIN_DATA_FORMAT
SAMPLE_ID\tCMYK_C\tCMYK_M\tCMYK_Y\tCMYK_K\tLAB_L\tLAB_A\tLAB_B
END_DATA_FORMAT
NUMBER_OF_SETS\t6
BEGIN_DATA
1\t0\t0\t0\t0\t95.00\t1.50\t-6.00
2\t100\t0\t0\t0\t56.12\t-34.90\t-52.52
3\t0\t100\t0\t0\t48.06\t75.29\t-5.18
4\t0\t0\t100\t0\t88.94\t-4.04\t92.37
5\t0\t0\t0\t100\t16.00\t0.07\t-0.33
6\t100\t100\t100\t100\t12.71\t0.53\t4.89
END_DATA
"""


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_characterisation_data(tmp_path, end):
    path = tmp_path / "coated.txt"
    path.write_bytes(CHARACTERISATION.replace("\n", end).encode())
    samples = read_samples(path)
    assert samples.names == ("1", "2", "3", "4", "5", "6")
    assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D50", "cie1931")
    assert samples.condition.filter == "M1" and samples.condition.geometry == "45/0"
    lab = xyz_to_lab(samples.colorimetry.xyz, white_point(light("D50"), observer("cie1931")))
    np.testing.assert_allclose(lab[1], [56.12, -34.90, -52.52], atol=1e-9)
    np.testing.assert_array_equal(samples.device.values[5], [1, 1, 1, 1])
    assert not [note for note in samples.notes if note.kind in ("odd", "assumed")]


def test_installed_characterisation_files_agree_with_themselves(tmp_path):
    """Lab and XYZ of each public file in the system's folder are one colour, to their printed digits.

    Where the system has none, the published rows above stand in, with their XYZ by colour-science's own Lab
    conversion: the check is the same.
    """
    import colour

    found = sorted(glob.glob("/usr/share/color/icc/*.ti3"))
    if not found:
        lab = np.array([[95.0, 1.5, -6.0], [56.12, -34.9, -52.52], [16.0, 0.07, -0.33]])
        white = white_point(light("D50"), observer("cie1931"))
        xyz = 100 * colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(white))
        rows = [
            " ".join(map(str, [i, *a, *np.round(b, 2)])) for i, (a, b) in enumerate(zip(lab, xyz, strict=True))
        ]
        path = tmp_path / "rows.txt"
        path.write_text(
            'CGATS.17\nILLUMINANT "D50"\nOBSERVER "2"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B '
            "XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n" + "\n".join(rows) + "\nEND_DATA\n"
        )
        found = [str(path)]
    for path in found:
        samples = read_samples(path)
        said = "\n".join(note.what for note in samples.notes)
        assert "both Lab and XYZ are given; Lab is used" in said, f"{path}: {said}"
        assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D50", "cie1931")
        assert samples.condition.filter is None, "no file of this age states M0 to M3"
