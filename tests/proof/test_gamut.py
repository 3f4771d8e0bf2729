from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import GAMUT_STANDARDS, STANDARDS, modelled_display, standard_display
from screenproof.appearance import lab_to_xyz, lch_to_lab, xyz_to_lab
from screenproof.proof import Viewing, gamut, lc_outline, match, primaries_uv
from screenproof.spectra import Colorimetry, Samples, light, observer

D50, EYE = light("D50"), observer("cie1931")


def of_lab(lab):
    viewing = Viewing(D50, EYE)
    xyz = lab_to_xyz(np.atleast_2d(np.asarray(lab, dtype=float)), viewing.white)
    names = tuple(f"colour {i}" for i in range(len(xyz)))
    return Samples(names, colorimetry=Colorimetry(xyz, "D50", "cie1931"))


def test_what_is_inside_needs_no_words_and_what_is_outside_gets_them(d50):
    # A mid grey; a green and a cyan stronger than sRGB has; the cyan of coated print on a wide display.
    found = gamut(of_lab([[50, 0, 0], [55, -80, 45], [55, -37, -50]]), standard_display("srgb"), d50)
    np.testing.assert_array_equal(found.in_gamut, [True, False, False])
    assert found.excess[0] == 0.0 and found.direction[0] == ""
    assert found.suffices[0] == GAMUT_STANDARDS == ("srgb", "bt709", "p3-d65", "bt2020")
    assert found.excess[1] > 3.0
    assert "weaker" in found.direction[1]
    assert "srgb" not in found.suffices[1] and "bt2020" in found.suffices[1]


def test_standards_that_a_gamut_is_held_against_grow_and_none_is_asked_twice():
    """sRGB and BT.709 share their primaries and are two names that a client may ask for; of P3 one is enough."""

    def area(name):
        found = STANDARDS[name]
        (a, b), (c, d) = (np.subtract(other, found.red) for other in (found.green, found.blue))
        return abs(a * d - b * c) / 2

    areas = [area(name) for name in GAMUT_STANDARDS]
    assert areas == sorted(areas)
    assert [name for name in GAMUT_STANDARDS if area(name) == area("display-p3")] == ["p3-d65"]
    assert "dci-p3" not in GAMUT_STANDARDS and "oprgb" not in GAMUT_STANDARDS


def test_a_match_that_is_known_is_not_made_again(samples, d50):
    display = standard_display("srgb")
    matched = match(samples, display, d50)
    given, own = gamut(samples, display, d50, matched=matched), gamut(samples, display, d50)
    assert given.excess is matched.excess
    np.testing.assert_array_equal(given.in_gamut, own.in_gamut)
    np.testing.assert_allclose(given.excess, own.excess)
    assert given.suffices == own.suffices and given.direction == own.direction


def test_what_suffices_is_asked_at_the_displays_own_luminance():
    # Held beside the screen at 500 lx a white needs 159 cd/m2, whatever the primaries.
    viewing = Viewing(D50.with_illuminance(500.0), EYE, "absolute")
    white = of_lab([[97, 0, 0]])
    dim, bright = standard_display("bt2020", luminance=120), standard_display("srgb", luminance=300)
    assert gamut(white, dim, viewing).suffices == ((),)
    assert "srgb" in gamut(white, bright, viewing).suffices[0]


def test_primaries_are_brought_to_the_viewing_lights_white(d50):
    primaries, white = primaries_uv(standard_display("srgb"), d50)
    x, y, z = d50.white
    np.testing.assert_allclose(white, [4 * x / (x + 15 * y + 3 * z), 9 * y / (x + 15 * y + 3 * z)], atol=1e-9)
    # IEC 61966-2-1 red, green and blue in u'v', under their own white D65: no adaptation then.
    at_home, _ = primaries_uv(standard_display("srgb"), Viewing(light("D65"), EYE, object_white=None))
    np.testing.assert_allclose(at_home, [[0.4507, 0.5229], [0.1250, 0.5625], [0.1754, 0.1579]], atol=3e-4)
    assert np.abs(primaries - at_home).max() > 0.005


@pytest.mark.parametrize("basis", ["white", "absolute", "appearance"])
def test_the_outline_is_the_edge_of_what_can_be_shown(display, basis):
    viewing = Viewing(D50.with_illuminance(150.0), EYE, basis)
    outline = lc_outline(display, viewing, hues=(0.0, 100.0, 250.0))
    view = display.seen_by(EYE)
    bridge = viewing.bridge(view)

    def inside(hue, level, chroma):
        xyz = lab_to_xyz(lch_to_lab(np.array([level, chroma, hue])), viewing.white)
        return bool(view.to_drive(bridge.to_display(xyz))[1])

    assert [hue for hue, _ in outline] == [0.0, 100.0, 250.0]
    for hue, points in outline:
        assert len(points) > 8
        lightness = [level for level, _ in points]
        assert lightness == sorted(lightness)
        level, chroma = points[len(points) // 2]
        assert chroma > 5.0
        assert inside(hue, level, chroma) and not inside(hue, level, chroma + 0.05)


def test_the_outline_starts_at_the_displays_black(d50):
    (_, points), *_ = lc_outline(standard_display("srgb", black=0.8), d50)
    # 0.8 of 80 cd/m2 is Y = 1: L* = 9.0 (CIE 1976 L* of 1 percent, 903.3 x 0.01).
    assert points[0][0] == pytest.approx(8.99, abs=0.02)
    assert points[-1][0] == pytest.approx(100.0, abs=1e-6)


def test_a_lasers_gamut_holds_more_than_a_white_led_screens(samples, d50):
    shown = [
        gamut(samples, modelled_display(name, black=0.0), d50).in_gamut for name in ("white-led-lcd", "laser")
    ]
    assert shown[0].sum() < shown[1].sum()


def test_the_nearest_is_what_the_excess_is_measured_to(samples, d50):
    from screenproof.appearance import de2000

    found = gamut(samples, standard_display("srgb"), d50)
    lab = xyz_to_lab(samples.xyz([D50], [EYE])[:, 0, 0], d50.white)
    np.testing.assert_allclose(de2000(lab, found.nearest_lab), found.excess, atol=1e-6)
