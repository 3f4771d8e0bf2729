"""When the viewing observer is not to be trusted: narrow primaries, screens of unlike technology, CIE 2015."""

from __future__ import annotations

from dataclasses import replace
from math import erfc, log, sqrt

import numpy as np
import pytest

from screenproof.additive import Peak, SpectralTable, Technology, modelled_display, standard_display
from screenproof.errors import InputError
from screenproof.proof import Viewing, crowd, match, screen_shift, trust
from screenproof.proof.trust import (
    COMMON,
    NARROW_NM,
    common_light,
    like_field,
    primary_spectra,
    white_difference,
    widths,
)
from screenproof.spectra import (
    VISIBLE,
    Colorimetry,
    Grid,
    Samples,
    light,
    observer,
    physiological_observer,
    population,
)

NM = np.arange(380.0, 731.0, 10.0)
FINE = VISIBLE.wavelengths


@pytest.fixture(scope="module")
def patches(colour):
    curves = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    values = np.array([np.interp(NM, curve.wavelengths, curve.values) for curve in curves.values()])
    return Samples(tuple(f"patch {i + 1}" for i in range(24)), values, Grid.of(NM))


def viewing_for(name="cie1931", **kept):
    return Viewing(light("D50"), observer(name), **kept)


def told(patches, viewing, *names):
    displays = [modelled_display(name) if isinstance(name, str) else name for name in names]
    return trust([(display, [(patches, match(patches, display, viewing))]) for display in displays], viewing)


def equal_peaks(width):
    peaks = tuple((Peak(centre, width),) for centre in (620, 535, 455))
    return modelled_display(Technology(f"{width} nm", peaks), white="D50", luminance=100.0, black=0.0)


def test_the_width_that_counts_as_narrow_is_where_half_of_the_people_see_more_than_1(patches):
    """The claim of the module's heading, computed; the figures there are rounded to 0.1."""
    people, medians = population(300, seed=1), []
    for width in (60, 50, 40, 20, 2):
        display = equal_peaks(width)
        matched = match(patches, display, viewing_for())
        assert matched.in_gamut.all()
        seen = crowd(patches, matched, display, viewing_for(), people, drive=matched.drive)
        medians.append(np.median(seen.figures))
    assert np.allclose(medians, [0.6, 0.8, 1.1, 1.9, 2.3], atol=0.051)
    assert 40 < NARROW_NM < 50 and medians[1] < 1.0 < medians[2]


def test_widths_at_half_height():
    peaks = np.stack([Peak(centre, width).at(FINE) for centre, width in ((455, 20), (535, 60), (620, 44))])
    assert np.allclose(widths(peaks), [20, 60, 44], atol=1.01)
    # Two lines count together, and a low foot does not count.
    lines = Peak(611, 4).at(FINE) + Peak(631, 4).at(FINE) + 0.2 * Peak(590, 60).at(FINE)
    assert 7 <= widths(lines[None])[0] <= 11


def test_light_in_common():
    first, same = Peak(500, 30).at(FINE), 7.0 * Peak(500, 30).at(FINE)
    # Two normal curves whose centres are d apart have 2 Phi(-d / 2 sigma) in common: erfc, from any handbook.
    for apart in (0, 5, 14, 60):
        sigma = 30.0 / (2.0 * sqrt(2.0 * log(2.0)))
        expected = erfc(apart / (2.0 * sigma) / sqrt(2.0))
        found = common_light(same[None], Peak(500 + apart, 30).at(FINE)[None])[0]
        assert found == pytest.approx(expected, abs=1e-3)
    # As the heading says: 60 % in common at not quite half the width.
    near, far = (common_light(first[None], Peak(500 + d, 30).at(FINE)[None])[0] for d in (12.5, 15.0))
    assert far < COMMON < near


@pytest.mark.parametrize(
    ("name", "narrow"),
    [
        ("phosphor-tube", False),
        ("white-led-lcd", False),
        ("white-oled", False),
        ("narrow-red-lcd", True),
        ("quantum-dot-lcd", True),
        ("rgb-oled", True),
        ("laser", True),
    ],
)
def test_which_technologies_are_narrow(patches, name, narrow):
    (record,) = told(patches, viewing_for(), name)
    assert any("narrow" in reason for reason in record.reasons) == narrow
    assert record.display == name and record.trusted == (not record.reasons)


def test_screens_of_unlike_technology_are_told_of_each_other(patches):
    viewing = viewing_for()
    records = told(patches, viewing, "white-led-lcd", "white-oled")
    for record, other in zip(records, ("White OLED", "White-LED LCD"), strict=True):
        assert not record.trusted
        assert any("unlike" in reason and other in reason for reason in record.reasons)
    # One technology, another white, black and luminance: a good LCD is still trusted.
    twin = modelled_display("white-led-lcd", name="twin", white="D50", luminance=90.0, black=0.3)
    assert all(record.trusted for record in told(patches, viewing, "white-led-lcd", twin.with_room(50.0)))


def test_whites_that_are_equal_for_one_observer_only(colour):
    """LCD against OLED by sums at 1 nm, with the CIE 2015 functions that colour-science carries.

    That whites of the two kinds matched by 1931 figures do not match for people is a published finding (from
    memory).
    """
    first, second = (primary_spectra(modelled_display(name)) for name in ("white-led-lcd", "rgb-oled"))
    old, new = (
        colour.MSDS_CMFS[name].copy().align(colour.SpectralShape(390, 780, 1)).values
        for name in ("CIE 1931 2 Degree Standard Observer", "CIE 2015 2 Degree Standard Observer")
    )
    some = (FINE >= 390) & (FINE <= 780)
    white = first.sum(axis=0)
    gains = np.linalg.solve((second[:, some] @ old).T, white[some] @ old)
    one, other = white[some] @ new, (gains @ second)[some] @ new
    lab = colour.XYZ_to_Lab(np.array([one, other]) / one[1], colour.XYZ_to_xy(one))
    expected = colour.delta_E(lab[0], lab[1], method="CIE 2000")
    found = white_difference(first, second, observer("cie1931"), observer("cie2015-2"))
    # The library's functions begin at 390 nm, those of 1931 here at 360.
    assert found == pytest.approx(expected, abs=0.02) and found > 3.0
    same = white_difference(first, second, observer("cie1931"), observer("cie1931"))
    assert same == pytest.approx(0.0, abs=1e-9)
    # A green that is no green cannot mix the other's white.
    odd = second.copy()
    odd[1] = Peak(610, 20).at(FINE)
    assert white_difference(first, odd, observer("cie1931"), observer("cie2015-2")) is None


def test_what_the_2015_functions_would_change(patches):
    viewing = viewing_for(basis="absolute")
    display = modelled_display("rgb-oled")
    matched = match(patches, display, viewing)
    (record,) = trust([(display, [(patches, matched)])], viewing)
    assert record.observer == "cie2015-2" and record.median > 1.0
    assert any(f"{record.median:.1f} CIEDE2000" in reason for reason in record.reasons)
    # In the basis 'white', each eye adapted to its own white, it is the shift to that observer.
    white = viewing_for()
    matched = match(patches, display, white)
    shift = screen_shift(patches, matched, display, white, [white.light], [observer("cie2015-2")]).de00[:, 0, 0]
    parts = [patches.select(range(10)), patches.select(range(10, 24))]
    halves = [(part, match(part, display, white)) for part in parts]
    (record,) = trust([(display, halves)], white, whites="own")
    assert record.median == pytest.approx(np.median(shift)) and record.largest == pytest.approx(shift.max())
    assert record.sample == patches.names[int(shift.argmax())]


def test_the_like_field():
    assert like_field(observer("cie1931")).name == "cie2015-2"
    assert like_field(observer("cie1964")).name == "cie2015-10"
    assert like_field(physiological_observer(60, 4)).name == "cie2015-2"
    assert like_field(physiological_observer(60, 6)).name == "cie2015-10"


def test_what_cannot_be_said(patches):
    (record,) = told(patches, viewing_for("cie2015-2"), "laser")
    assert record.median is None and record.sample is None and "narrow" in record.reasons[0]
    srgb, viewing = standard_display("srgb"), viewing_for()
    assert told(patches, viewing, srgb, "white-led-lcd")[0].display == "white-led-lcd"
    assert told(patches, viewing, srgb) == ()
    with pytest.raises(InputError, match="no spectra"):
        primary_spectra(srgb)
    xyz = patches.xyz([viewing.light], [viewing.observer])[:, 0, 0]
    flat = Samples(patches.names, colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    (record,) = told(flat, viewing, "white-led-lcd")
    assert record.median is None and record.trusted


def test_primaries_of_a_table_are_its_corners_above_the_black(patches):
    plain = modelled_display("quantum-dot-lcd", black=0.4)
    axis = np.linspace(0.0, 1.0, 3)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    spectra = plain.model.spectrum(nodes).reshape(3, 3, 3, -1)
    table = replace(plain, model=SpectralTable((axis,) * 3, spectra, plain.model.grid))
    assert np.allclose(primary_spectra(table), primary_spectra(plain), atol=1e-12)
    assert np.allclose(primary_spectra(plain.with_room(200.0)), primary_spectra(plain), atol=1e-12)
