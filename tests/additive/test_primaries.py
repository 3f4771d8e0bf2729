"""Modelled primaries by technology, and the published tube primaries, against standards and colour-science."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import (
    STANDARDS,
    TECHNOLOGIES,
    Band,
    Peak,
    Technology,
    display_from_primaries,
    modelled_display,
    power,
    same_curve,
    technology,
)
from screenproof.appearance import xyz_to_uv, xyz_to_xy
from screenproof.errors import InputError
from screenproof.spectra import Grid, observer


def area(corners):
    (ax, ay), (bx, by), (cx, cy) = corners
    return 0.5 * abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))


def standard_area(name, to=xyz_to_xy):
    return area(to(STANDARDS[name].matrix.T))


def modelled_area(name, to=xyz_to_xy):
    return area(to(modelled_display(name, black=0.0).seen_by().primaries))


@pytest.mark.parametrize("name", TECHNOLOGIES)
def test_modelled_displays_say_what_they_are(name):
    display = modelled_display(name)
    assert display.kind == "modelled" and display.spectral and "modelled" in display.label
    assert [note.kind for note in display.notes] == ["assumed"]
    assert "not measured" in display.notes[0].what
    assert display.spectral_grid == Grid(380.0, 780.0, 1.0)
    spectra = display.spectrum(np.eye(3))
    assert (spectra >= 0).all() and spectra.shape == (3, 401)


@pytest.mark.parametrize("name", TECHNOLOGIES)
def test_white_point_and_luminance_are_the_ones_asked_for(name):
    display = modelled_display(name, luminance=160.0, black=0.2, white="D50")
    white = display.seen_by().white
    assert white[1] == pytest.approx(160.0)
    np.testing.assert_allclose(white[:2] / white.sum(), (0.34567, 0.35851), atol=2e-5)
    assert display.seen_by().black[1] == pytest.approx(0.2)
    by_xy = modelled_display(name, white=(0.3127, 0.3290)).seen_by().white
    np.testing.assert_allclose(by_xy[:2] / by_xy.sum(), (0.3127, 0.3290), atol=1e-9)


# Common practice, no source: a tube and a plain white-LED panel cover about BT.709, the wide ones about P3,
# lasers at the BT.2020 wavelengths nearly BT.2020.
@pytest.mark.parametrize(
    ("name", "standard", "low", "high"),
    [
        ("phosphor-tube", "bt709", 0.9, 1.1),
        ("white-led-lcd", "bt709", 0.9, 1.1),
        ("narrow-red-lcd", "p3-d65", 0.9, 1.1),
        ("white-oled", "p3-d65", 0.85, 1.1),
        ("quantum-dot-lcd", "p3-d65", 0.95, 1.2),
        ("rgb-oled", "p3-d65", 0.95, 1.2),
        ("laser", "bt2020", 0.97, 1.01),
    ],
)
def test_gamut_is_about_that_of_the_standard_that_the_technology_was_made_for(name, standard, low, high):
    assert low < modelled_area(name) / standard_area(standard) < high
    assert low - 0.05 < modelled_area(name, xyz_to_uv) / standard_area(standard, xyz_to_uv) < high + 0.05


@pytest.mark.parametrize("to", [xyz_to_xy, xyz_to_uv], ids=["xy", "uv"])
def test_gamuts_come_in_the_expected_order(to):
    areas = {name: modelled_area(name, to) for name in TECHNOLOGIES}
    narrow = max(areas["phosphor-tube"], areas["white-led-lcd"])
    wide = [areas[name] for name in ("narrow-red-lcd", "white-oled", "quantum-dot-lcd", "rgb-oled")]
    assert narrow < 0.95 * min(wide)
    assert max(wide) < 0.95 * areas["laser"]


def test_laser_primaries_are_those_of_bt2020():
    """ITU-R BT.2020: monochromatic light of 630, 532 and 467 nm."""
    xy = xyz_to_xy(modelled_display("laser", black=0.0).seen_by().primaries)
    standard = STANDARDS["bt2020"]
    np.testing.assert_allclose(xy, [standard.red, standard.green, standard.blue], atol=0.002)


def test_one_white_and_unlike_spectra_part_for_another_observer():
    """Two displays with one D65 for 1931 differ for the 10 degree observer: why observers are a choice."""
    tube, laser = modelled_display("phosphor-tube"), modelled_display("laser")
    for display in (tube, laser):
        np.testing.assert_allclose(xyz_to_xy(display.seen_by().white), (0.3127, 0.3290), atol=2e-4)
    other = observer("cie2015-10")
    apart = np.linalg.norm(xyz_to_uv(tube.seen_by(other).white) - xyz_to_uv(laser.seen_by(other).white))
    assert apart > 0.005


def test_peaks_and_bands_have_the_widths_they_are_given():
    nm = np.array([540.0, 530.0, 560.0])
    np.testing.assert_allclose(Peak(540, 20, 2.0, 40).at(nm), [2.0, 1.0, 1.0])
    band = Band(500, 600, 5, 5, leak=0.0)
    np.testing.assert_allclose(band.at(np.array([500.0, 550.0, 600.0])), [0.5, 1.0, 0.5], atol=1e-4)
    assert Band(600, None, leak=0.01).at(np.array([400.0]))[0] == pytest.approx(0.01, abs=1e-6)


def test_a_technology_of_ones_own():
    own = Technology("Own diodes", ((Peak(640, 18),), (Peak(525, 30),), (Peak(465, 20),)), luminance=1000.0)
    display = modelled_display(own)
    assert display.luminance == pytest.approx(1000.0) and "Own diodes" in display.label
    assert area(xyz_to_xy(display.seen_by().primaries)) > standard_area("p3-d65")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: technology("quantum-dots"), "quantum-dots"),
        (lambda: modelled_display("laser", white=(0.7, 0.2)), "white point"),
        (lambda: modelled_display("laser", white=(0.6, 0.6)), "x = 0.6"),
        (lambda: modelled_display("laser", black=200.0), "not darker"),
        (lambda: modelled_display("laser", luminance=0.0), "white of 0"),
        (lambda: modelled_display("laser", curve="wavy"), "wavy"),
        (lambda: modelled_display("laser", white="D6S"), "D6S"),
    ],
)
def test_models_that_make_no_sense_are_refused(make, says):
    with pytest.raises(InputError) as error:
        make()
    assert says in str(error.value)


@pytest.mark.parametrize("name", ["Typical CRT Brainard 1997", "Apple Studio Display"])
def test_published_primaries_make_a_display_with_the_white_and_gamut_that_colour_science_integrates(name, colour):
    measured = colour.MSDS_DISPLAY_PRIMARIES[name]
    grid = Grid.of(measured.wavelengths)
    spectra = measured.values.T
    display = display_from_primaries(spectra, grid, same_curve(power(2.4)), luminance=100.0, name="tube")
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    fine = colour.SpectralShape(grid.start, grid.stop, 1)
    theirs = []
    for channel in spectra:
        # Straight lines between the 5 nm readings, summed at 1 nm.
        curve = colour.SpectralDistribution(channel, measured.wavelengths)
        curve = curve.interpolate(fine, interpolator=colour.LinearInterpolator)
        theirs.append(colour.sd_to_XYZ(curve, cmfs.copy().align(fine), k=683, method="Integration"))
    theirs = np.array(theirs)
    theirs *= 100.0 / theirs.sum(axis=0)[1]
    view = display.seen_by()
    assert view.white[1] == pytest.approx(100.0)
    np.testing.assert_allclose(view.white, theirs.sum(axis=0), rtol=1e-4)
    np.testing.assert_allclose(xyz_to_xy(view.primaries), xyz_to_xy(theirs), atol=2e-5)
    assert area(xyz_to_xy(view.primaries)) == pytest.approx(area(xyz_to_xy(theirs)), rel=2e-4)
    # Common practice, no source: a display of that time has about the gamut of BT.709, not of P3.
    assert 0.6 < area(xyz_to_xy(view.primaries)) / standard_area("bt709") < 1.15
    drive = np.random.default_rng(8).random((1000, 3))
    for who in ("cie1931", "cie1964", "cie2015-2", "cie2015-10"):
        seen = display.seen_by(observer(who))
        back, inside = seen.to_drive(seen.to_xyz(drive))
        assert inside.all()
        np.testing.assert_allclose(back, drive, atol=1e-9)
