"""Display standards against their published digits, and against colour-science as a second source."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import (
    STANDARD_DISPLAYS,
    STANDARDS,
    bt1886,
    hlg,
    hlg_inverse_oetf,
    hlg_oetf,
    power,
    pq,
    pq_eotf,
    pq_inverse_eotf,
    srgb_curve,
    standard_display,
)

IN_TABLE = {
    "srgb": "sRGB",
    "bt709": "BT.709",
    "p3-d65": "P3-D65",
    "bt2020": "BT.2020",
    "display-p3": "P3-D65",  # the same primaries and white
    "dci-p3": "DCI-P3",
    "oprgb": "opRGB",
}


def colourspace(colour, name):
    """The colour space of colour-science that a standard defines.

    It has no opRGB, but one of the same primaries, white and exponent: the only one with that exponent and D65.
    """
    spaces = colour.RGB_COLOURSPACES
    named = {"srgb": "sRGB", "bt709": "ITU-R BT.709", "p3-d65": "P3-D65", "bt2020": "ITU-R BT.2020",
             "display-p3": "Display P3", "dci-p3": "DCI-P3"}  # fmt: skip
    if name in named:
        return spaces[named[name]]
    found = {
        id(space): space
        for space in spaces.values()
        if getattr(space.cctf_decoding, "keywords", {}).get("exponent") == 563 / 256
        and np.allclose(space.whitepoint, (0.3127, 0.3290))
    }
    assert name == "oprgb" and len(found) == 1
    return found.popitem()[1]


def matrix_of(row, kind):
    return np.array([[float(row[f"{kind}_{i}{j}"]) for j in (1, 2, 3)] for i in (1, 2, 3)])


@pytest.fixture(scope="module")
def table(published):
    return {row["standard"]: row for row in published("display_standards")}


@pytest.mark.parametrize("name", STANDARD_DISPLAYS)
def test_primaries_and_white_are_the_published_ones(name, table):
    row, standard = table[IN_TABLE[name]], STANDARDS[name]
    for ours, letter in (
        (standard.red, "r"),
        (standard.green, "g"),
        (standard.blue, "b"),
        (standard.white, "w"),
    ):
        assert ours == (float(row[f"x{letter}"]), float(row[f"y{letter}"]))


@pytest.mark.parametrize("name", STANDARD_DISPLAYS)
def test_derived_matrix_has_the_digits_that_the_standard_prints(name, published):
    rows = [row for row in published("display_matrices") if row["display"] == name]
    printed = np.array([[float(row[c]) for c in "rgb"] for row in rows])
    assert printed.shape == (3, 3)
    # Half a unit of the fourth decimal.
    np.testing.assert_allclose(STANDARDS[name].matrix, printed, atol=5.0001e-5)


@pytest.mark.parametrize("name", STANDARD_DISPLAYS)
def test_derived_matrices_both_ways_to_seven_decimals(name, table):
    row = table[IN_TABLE[name]]
    matrix = STANDARDS[name].matrix
    np.testing.assert_allclose(matrix, matrix_of(row, "RGB2XYZ"), atol=5.0001e-8)
    np.testing.assert_allclose(np.linalg.inv(matrix), matrix_of(row, "XYZ2RGB"), atol=5.0001e-8)


# colour-science keeps the printed four decimals for sRGB and five for the space of opRGB, and derives the others.
WITHIN = {"srgb": 5e-5, "oprgb": 5.0001e-6}


@pytest.mark.parametrize("name", STANDARD_DISPLAYS)
def test_primaries_and_matrices_agree_with_colour_science(name, colour):
    space, standard, within = colourspace(colour, name), STANDARDS[name], WITHIN.get(name, 1e-9)
    np.testing.assert_allclose(space.primaries, [standard.red, standard.green, standard.blue], atol=1e-12)
    np.testing.assert_allclose(space.whitepoint, standard.white, atol=1e-12)
    np.testing.assert_allclose(STANDARDS[name].matrix, space.matrix_RGB_to_XYZ, atol=within)
    view = standard_display(name).seen_by()
    np.testing.assert_allclose(view.matrix / view.white[1], space.matrix_RGB_to_XYZ, atol=within)


def rows_of(published, function):
    rows = [row for row in published("transfer_functions") if row["function"].startswith(function)]
    assert rows
    return rows


@pytest.mark.parametrize(
    ("function", "curve"), [("sRGB EOTF", srgb_curve()), ("DCI gamma 2.6", power(2.6))], ids=["sRGB", "DCI"]
)
def test_curves_at_published_values(function, curve, published):
    for row in rows_of(published, function):
        value = float(curve.forward(np.array(float(row["input"]))))
        # Nine printed digits. At the break itself the two parts of the sRGB curve are 2.3e-9 apart: the standard
        # says the lower one (V <= 0.04045), the table has the upper.
        seam = 2.5e-9 if row["input"] == "0.04045" else 0.0
        assert value == pytest.approx(float(row["output_direct"]), rel=5e-9, abs=max(seam, 1e-15))


def test_bt1886_with_black_level_at_published_values(published):
    """ITU-R BT.1886:2011 Annex 1 for whites from 1 to 300 cd/m2 and blacks from 0 to 0.3 cd/m2."""
    for row in rows_of(published, "BT.1886 EOTF"):
        levels = dict(part.split("=") for part in row["parameters"].split())
        white, black = float(levels["Lw"]), float(levels["Lb"])
        signal = np.array(float(row["input"]))
        expected = pytest.approx(float(row["output_direct"]), rel=5e-9, abs=1e-12)
        assert float(bt1886(white, black).luminance(signal)) == expected
        display = standard_display("bt709", luminance=white, black=black)
        assert display.seen_by().to_xyz(np.full(3, float(signal)))[1] == expected


def test_pq_at_published_levels(published):
    """Whole percent, from memory (see the table's header), so within half a percent."""
    for row in published("hdr_levels"):
        signal = float(pq_inverse_eotf(np.array(float(row["luminance"]))))
        assert 100 * signal == pytest.approx(float(row["pq_percent"]), abs=0.5)


def test_hlg_at_published_levels(published):
    """Whole percent, from memory, on the nominal 1000 cd/m2 display."""
    system = hlg(1000.0)
    rows = [row for row in published("hdr_levels") if row["hlg_percent"]]
    for row in rows:
        level = float(row["luminance"]) / 1000.0
        signal = system.inverse(np.full(3, level))
        np.testing.assert_allclose(100 * signal, float(row["hlg_percent"]), atol=0.5)
    assert len(rows) == 5


def test_hlg_constants_of_bt2100():
    """ITU-R BT.2100-2 Table 5: the two parts meet at 1/12 and 1/2; b and c as printed (from memory)."""
    assert float(hlg_oetf(np.array(1 / 12))) == pytest.approx(0.5, abs=1e-9)
    assert float(hlg_oetf(np.array(1.0))) == pytest.approx(1.0, abs=1e-7)
    assert float(hlg_inverse_oetf(np.array(0.5))) == pytest.approx(1 / 12, abs=1e-9)
    assert 1 - 4 * 0.17883277 == pytest.approx(0.28466892, abs=1e-12)
    assert hlg(1000.0).gamma == pytest.approx(1.2)
    assert hlg(2000.0).gamma == pytest.approx(1.2 + 0.42 * np.log10(2.0))


def test_pq_against_colour_science(colour):
    signal = np.linspace(0.0, 1.0, 513)
    theirs = colour.models.eotf_ST2084(signal)
    np.testing.assert_allclose(pq_eotf(signal), theirs, rtol=1e-12, atol=1e-12)
    luminance = np.geomspace(1e-5, 1e4, 200)
    np.testing.assert_allclose(
        pq_inverse_eotf(luminance), colour.models.eotf_inverse_ST2084(luminance), rtol=1e-12
    )
    # On a display of 1000 cd/m2 the same signal gives the same light, up to its peak.
    view = standard_display("bt2020", curve="pq").seen_by()
    below = signal[theirs <= 1000.0]
    shown = view.to_xyz(np.repeat(below[:, None], 3, axis=1))[:, 1]
    np.testing.assert_allclose(shown, theirs[theirs <= 1000.0], rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize(("peak", "black"), [(1000.0, 0.0), (1000.0, 0.05), (600.0, 0.01), (2000.0, 0.005)])
def test_hlg_with_its_system_gamma_against_colour_science(peak, black, colour):
    signal = np.random.default_rng(7).random((500, 3))
    theirs = colour.models.eotf_BT2100_HLG(signal, L_B=black, L_W=peak, method="ITU-R BT.2100-2")
    np.testing.assert_allclose(hlg(peak, black).luminance(signal), theirs, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("name", STANDARD_DISPLAYS)
def test_displays_against_colour_science(name, colour):
    """Drive to XYZ of the whole display: the standard's decoding and matrix as colour-science has them."""
    drive = np.random.default_rng(3).random((1000, 3))
    decode = {
        "srgb": colour.models.eotf_sRGB,
        "bt709": colour.models.eotf_BT1886,
        "p3-d65": lambda v: v**2.6,
        "bt2020": colour.models.eotf_BT1886,
        "display-p3": colour.models.eotf_sRGB,
        "dci-p3": colourspace(colour, "dci-p3").cctf_decoding,
        "oprgb": colourspace(colour, "oprgb").cctf_decoding,
    }[name]
    expected = decode(drive) @ colourspace(colour, name).matrix_RGB_to_XYZ.T
    view = standard_display(name).seen_by()
    tolerance = {"srgb": 1e-4, "oprgb": 1.5e-5}.get(name, 1e-9)
    np.testing.assert_allclose(view.to_xyz(drive) / view.white[1], expected, atol=tolerance)


def test_default_luminances_and_whites():
    """80 cd/m2 of IEC 61966-2-1, 100 of ITU-R BT.2035 for BT.1886, 48 of SMPTE RP 431-2; D65 xy 0.3127 0.3290.

    160 of IEC 61966-2-5 is from memory. No source gives Display P3 one: that of sRGB, whose curve it has.
    """
    luminances = {"srgb": 80, "bt709": 100, "p3-d65": 48, "bt2020": 100}
    luminances |= {"display-p3": 80, "dci-p3": 48, "oprgb": 160}
    assert set(luminances) == set(STANDARD_DISPLAYS)
    for name, luminance in luminances.items():
        display = standard_display(name)
        white = display.seen_by().white
        assert display.luminance == pytest.approx(luminance, rel=1e-12)
        xy = (0.314, 0.351) if name == "dci-p3" else (0.3127, 0.3290)
        np.testing.assert_allclose(white[:2] / white.sum(), xy, atol=1e-12)
    assert standard_display("bt2020", curve="hlg").luminance == pytest.approx(1000.0, rel=1e-6)


def test_pq_ceiling_is_the_signal_of_the_peak():
    """0.7518 for 1000 cd/m2: the usual figure, from memory."""
    assert pq(1000.0).ceiling == pytest.approx(0.7518, abs=5e-5)
    assert pq(10000.0).ceiling == pytest.approx(1.0, abs=1e-12)
