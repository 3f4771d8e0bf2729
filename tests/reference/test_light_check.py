"""The check of a light: its figures against colour-science and published tables, and faults found one by one."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.proof.checks import judged_lines
from screenproof.proof.judging import Judge
from screenproof.questions.light.metamerism import (
    METAMERISM_GRADES,
    VISIBLE_METAMERISM,
    grade_of,
    metamerism_lines,
)
from screenproof.questions.light.rendering import GENERAL_RENDERING, rendering, rendering_lines
from screenproof.spectra import VISIBLE, Grid, Light, Samples, light, light_names, planck, weights, white_point
from screenproof.spectra import observer as named_observer
from screenproof.spectra.light_check import (
    CHROMATICITY,
    LEVELS,
    check_visible,
    illuminance_line,
    similarity,
    spectrum_lines,
    ultraviolet_lines,
    uv_distance,
)

NM = VISIBLE.wavelengths


def judged(lines):
    """The lines as ``light check`` judges them."""
    return judged_lines(lines, Judge(None))


def illuminance_row(*given):
    return judged([illuminance_line(*given)])[0]


SHOWN = ("A", "D50", "D65", "FL2", "FL7", "FL8", "FL11", "FL12", "LED-B3", "LED-RGB1", "LED-V2", "HP1")


def test_spectral_similarity_of_the_published_table(published):
    """To 0.01 of the unrounded figures: A is tabulated there, and a formula here. C against D65 is found: 94."""
    rows = published("ssi")
    assert len(rows) > 40
    for row in rows:
        black_body = Light("black body", VISIBLE, planck(NM, 2856.0))
        reference = black_body if row["reference"].startswith("blackbody") else light(row["reference"])
        figure = similarity(light(row["test"]), reference)
        assert round(figure) == float(row["SSI_rounded"])
        assert figure == pytest.approx(float(row["SSI_unrounded"]), abs=0.01)


def test_spectral_similarity_is_colour_sciences(colour):
    generator = np.random.default_rng(4)
    for _ in range(20):
        bumps = [generator.random() * np.exp(-(((NM - c) / generator.uniform(8, 90)) ** 2)) for c in
                 generator.uniform(400, 680, 5)]  # fmt: skip
        made = Light("made", VISIBLE, np.sum(bumps, axis=0) + 0.01)
        told = colour.spectral_similarity_index(
            colour.SpectralDistribution(dict(zip(NM, made.power, strict=True))),
            colour.SpectralDistribution(dict(zip(NM, light("D50").at(NM), strict=True))),
            round_result=False,
        )
        assert similarity(made, light("D50")) == pytest.approx(told, abs=1e-6)


@pytest.mark.parametrize("name", SHOWN)
def test_colour_rendering_is_colour_sciences_of_its_own_tables(name, colour):
    """Not only that the call is made: colour-science's own tables go in there, ours here."""
    found = rendering(light(name))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        own = colour.SDS_ILLUMINANTS[name]
        cri = colour.colour_rendering_index(own, additional_data=True)
        fidelity = colour.colour_fidelity_index(own)
    assert found.ra == pytest.approx(cri.Q_a, abs=0.01)
    assert found.special == pytest.approx([cri.Q_as[i].Q_a for i in range(1, 15)], abs=0.05)
    # A daylight is known from 300 nm here and from 380 nm there.
    assert found.rf == pytest.approx(fidelity, abs=0.01)


def test_the_library_leaves_numpys_printing_as_it_was():
    before = np.get_printoptions()
    rendering(light("FL2"))
    assert np.get_printoptions() == before


def test_fl2_and_fl11_have_the_rendering_that_the_cie_prints():
    """CIE 15:2018 Table 11 (from memory): Ra 64 and 83."""
    assert round(rendering(light("FL2")).ra) == 64 and round(rendering(light("FL11")).ra) == 83


def test_temperature_and_distances_are_colour_sciences(colour):
    cmfs = colour.MSDS_CMFS
    two = cmfs["CIE 1931 2 Degree Standard Observer"].values
    ten = cmfs["CIE 1964 10 Degree Standard Observer"].values

    def uv(power, curves):
        return colour.xy_to_Luv_uv(colour.XYZ_to_xy(power @ curves))

    aim = light("D50")
    for name in SHOWN[:-1]:
        made = light(name)
        power = made.at(NM)
        rows = {row.key: row for row in spectrum_lines(made, aim)}
        kelvin, duv = colour.temperature.uv_to_CCT_Ohno2013(
            colour.UCS_to_uv(colour.XYZ_to_UCS(power @ two)), start=1500, end=12000, spacing=1.0005
        )
        assert rows["temperature"].figure == pytest.approx(kelvin, rel=5e-4)
        assert rows["duv"].figure == pytest.approx(duv, abs=2e-5)
        apart = np.linalg.norm(uv(power, ten) - uv(aim.at(NM), ten))
        assert rows["chromaticity"].figure == pytest.approx(apart, abs=1e-5)


def test_grades_are_the_published_ones(published):
    rows = published("metamerism_grades")
    assert [row["category"] for row in rows] == ["A", "B", "C", "D", "E"]
    assert [(row["category"], float(row["MI_cielab_high"])) for row in rows[:-1]] == list(METAMERISM_GRADES)
    for row in rows:
        low = float(row["MI_cielab_low"])
        assert grade_of(low + 0.001) == row["category"]
    assert grade_of(0.25) == "A" and grade_of(7.0) == "E"
    booth = [row for row in published("viewing_limits") if row["standard"] == "ISO 3664:2009"]
    limits = {row["item"]: row["value"] for row in booth}
    assert limits["Ra / each Ri"] == f">={GENERAL_RENDERING.low:g} / >=80"
    assert limits["visible MI category (shall / should)"] == "C / B"
    assert (grade_of(VISIBLE_METAMERISM.high), grade_of(VISIBLE_METAMERISM.better_high)) == ("C", "B")
    assert float(limits["illuminant D50, u10'v10' circle"]) == CHROMATICITY.high
    assert limits["P1 critical comparison"] == "2000 +-500 (should +-250)"
    assert (LEVELS["P1"].low, LEVELS["P1"].high, LEVELS["P1"].better_low) == (2000 - 500, 2000 + 500, 2000 - 250)
    assert limits["P2 practical appraisal"] == "500 +-125"
    assert (LEVELS["P2"].low, LEVELS["P2"].high) == (500 - 125, 500 + 125)
    assert limits["UV metamerism index"] == "<1.5"


def pairs(count=5, strength=0.12):
    """Standards, and partners that match them in D50 for 10 degrees and nowhere else: a wave without its part that
    the observer sees (Cohen and Kappauf: the residual of a projection)."""
    generator = np.random.default_rng(8)
    seen = weights(light("D50"), named_observer("cie1964"), VISIBLE)
    unseen = np.eye(NM.size) - seen @ np.linalg.solve(seen.T @ seen, seen.T)
    first = np.array([0.35 + 0.1 * np.sin(NM / generator.uniform(40, 90)) for _ in range(count)])
    waves = np.array([np.sin(NM / 9.5 + phase) for phase in generator.uniform(0, 6.28, count)]) @ unseen
    second = first + strength * waves
    names = tuple(f"pair {i}" for i in range(count))
    return Samples(names, first, VISIBLE), Samples(names, second, VISIBLE)


def test_the_metamerism_index_is_the_mean_difference_by_colour_science(colour):
    first, second = pairs()
    ten = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].values

    def labs(samples, power):
        scale = 1.0 / (power @ ten)[1]
        white = colour.XYZ_to_xy(power @ ten)
        return colour.XYZ_to_Lab(samples.reflectance @ (power[:, None] * ten) * scale, white)

    for name in ("FL2", "FL11", "LED-V2"):
        power = light(name).at(NM)
        index = colour.delta_E(labs(first, power), labs(second, power), method="CIE 1976").mean()
        row = metamerism_lines(light(name), light("D50"), (first, second))[0]
        assert row.figure == pytest.approx(index, abs=2e-3)
        assert f"grade {grade_of(index)}" in row.words and "not the standard's" in row.words
    assert metamerism_lines(light("D50"), light("D50"), (first, second))[0].figure < 1e-6


def near_d50(gain):
    return Light("made", VISIBLE, light("D50").at(NM) * gain)


def balanced(bands):
    """Bands of light in the amounts that give D50 its colour for 10 degrees."""
    who = named_observer("cie1964")
    spectra = np.array([np.exp(-(((NM - at) / width) ** 2)) for at, width in bands])
    amounts = np.linalg.solve((spectra @ who.at_1nm).T, white_point(light("D50"), who))
    return Light("made", VISIBLE, amounts @ spectra)


def ripple():
    """Daylight with ripples that D50's colour does not show, which metameric pairs do."""
    seen = named_observer("cie1964").at_1nm
    unseen = np.eye(NM.size) - seen @ np.linalg.solve(seen.T @ seen, seen.T)
    wave = unseen @ (light("D50").at(NM) * np.sin(NM / 9.5 + 1.0))
    return Light("made", VISIBLE, light("D50").at(NM) + 0.8 * wave)


FAULTS = {
    "none": (light("D50"), 2000.0, set()),
    "warm": (light("D4400K"), 2000.0, {"chromaticity"}),
    "green": (near_d50(1.0 + 0.16 * np.exp(-(((NM - 540.0) / 60.0) ** 2))), 2000.0, {"chromaticity"}),
    "three bands": (balanced(((450, 18), (535, 22), (615, 18))), 2000.0, {"ra", "ri"}),
    "ripples": (ripple(), 2000.0, {"metamerism"}),
    "dim": (light("D50"), 1100.0, {"illuminance"}),
    "glaring": (light("D50"), 4000.0, {"illuminance"}),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_of_a_light_is_found_and_no_other(fault):
    made, lux, expected = FAULTS[fault]
    aim = light("D50")
    # Metamerism and rendering go together in most lamps: only ripples are judged by pairs.
    specimens = pairs() if fault in ("none", "ripples", "dim") else None
    rows = judged(
        [
            *spectrum_lines(made, aim),
            *rendering_lines(rendering(made)),
            *metamerism_lines(made, aim, specimens),
            illuminance_line(lux),
            *ultraviolet_lines(made),
        ]
    )
    assert {row.key for row in rows if row.status == "fail"} == expected
    assert all(row.mend for row in rows if row.status == "fail")


def test_illuminance_is_held_against_the_level_that_is_wanted():
    assert illuminance_row(520.0).status == "pass" and "P2" in illuminance_row(520.0).words
    assert illuminance_row(520.0, "P1").status == "fail" and illuminance_row(520.0, "P1").mend.startswith("raise")
    assert illuminance_row(1600.0, "p1").remark
    assert illuminance_row(None, "P2").status == "not known"
    for wrong, level in ((500.0, "P3"), (0.0, None), (float("inf"), "P1")):
        with pytest.raises(InputError):
            illuminance_row(wrong, level)


def test_a_light_far_from_the_locus_has_no_temperature():
    rows = {
        row.key: row for row in judged(spectrum_lines(balanced(((535, 20), (450, 5), (650, 5))), light("D50")))
    }
    assert rows["temperature"].status == "not judged" and rows["temperature"].figure is not None
    green = Light("green", VISIBLE, np.exp(-(((NM - 535.0) / 12.0) ** 2)))
    rows = {row.key: row for row in judged(spectrum_lines(green, light("D50")))}
    unread = rows["temperature"]
    assert unread.figure is None and unread.status == "not judged" and "Duv" in unread.words


def test_a_light_that_shows_nothing_is_refused():
    heat = np.where(NM >= 760.0, 1.0, 0.0)
    check_visible(Light("lamp", VISIBLE, 0.2 + heat))
    for power in (heat, np.where(NM < 390.0, 1e-9, 0.0), 1e-300 * heat):
        with pytest.raises(InputError, match="nothing can be seen by it"):
            check_visible(Light("dark", VISIBLE, power))


def test_a_light_too_far_from_white_has_no_fidelity():
    """colour-science's own answer for it is no number."""
    blue = rendering(Light("blue", VISIBLE, np.where(NM <= 430.0, 1.0, 0.0)))
    assert blue.rf is None and np.isfinite([blue.ra, *blue.special]).all()
    row = next(row for row in judged(rendering_lines(blue)) if row.key == "rf")
    assert row.status == "not judged" and row.figure is None and "CIECAM02" in row.words


def test_ultraviolet_is_told_only_where_it_was_measured():
    told = {row.key: row for row in judged(ultraviolet_lines(light("D50")))}
    d50 = light("D50")
    share = 100 * d50.at(np.arange(300, 400)).sum() / d50.at(np.arange(400, 701)).sum()
    assert told["ultraviolet"].figure == pytest.approx(share)
    assert told["uv_metamerism"].status == "not known" and "specimens" in told["uv_metamerism"].words
    cut = Light("cut", Grid(380.0, 780.0, 5.0), d50.at(Grid(380.0, 780.0, 5.0).wavelengths))
    (unread, *_) = judged(ultraviolet_lines(cut))
    assert unread.status == "not judged" and unread.figure is None
    assert uv_distance(cut, d50) < 5e-4 and set(SHOWN) <= set(light_names())
