from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.appearance import DIM, CamConditions, xyz_to_cam16, xyz_to_lab
from screenproof.errors import InputError
from screenproof.proof import BASES, Viewing, match
from screenproof.spectra import Grid, Samples, light, observer, white_point

D50, EYE = light("D50"), observer("cie1931")
NM = np.arange(380.0, 731.0, 10.0)
XYZ = np.array([[20.0, 21.0, 15.0], [5.0, 3.0, 1.0], [60.0, 70.0, 20.0], [9.0, 12.0, 40.0]])


def stock(level=0.8):
    """An invented yellowish stock."""
    return Samples(("stock",), level - 0.15 * np.exp(-(((NM - 400) / 60) ** 2))[None], Grid.of(NM))


@pytest.mark.parametrize("basis", BASES)
@pytest.mark.parametrize("name", ["D50", "A", "FL11"])
def test_the_way_back_is_the_inverse(basis, name):
    viewing = Viewing(light(name).with_illuminance(500), EYE, basis)
    for shown in (standard_display("srgb", black=0.1), modelled_display("laser").with_room(30, "D65")):
        bridge = viewing.bridge(shown.seen_by(EYE))
        np.testing.assert_allclose(bridge.to_reference(bridge.to_display(XYZ)), XYZ, rtol=1e-9)


@pytest.mark.parametrize("basis", ["white", "appearance"])
@pytest.mark.parametrize("own", [None, stock()])
def test_the_objects_white_is_shown_as_the_displays_white(basis, own):
    viewing = Viewing(D50.with_illuminance(500), EYE, basis, object_white=own)
    view = standard_display("p3-d65", black=0.2).seen_by(EYE)
    white = viewing.object_white_under(D50, EYE)
    # CIECAM16 adapts incompletely (D < 1), so the appearance of a white is a little off the other white.
    tolerance = 1e-9 if basis == "white" else 0.12
    np.testing.assert_allclose(viewing.bridge(view).to_display(white), view.white, rtol=tolerance)
    if own is not None:
        assert white[1] < 80.0


def test_lab_stays_relative_to_the_lights_white_when_the_stock_is_the_white():
    own = stock()
    found = match(own, standard_display("srgb"), Viewing(D50, EYE, object_white=own))
    np.testing.assert_allclose(found.drive, 1.0)
    np.testing.assert_array_equal(found.code, 255)
    expected = xyz_to_lab(own.xyz([D50], [EYE])[0, 0, 0], white_point(D50, EYE))
    assert expected[0] < 92.0
    np.testing.assert_allclose(found.lab[0], expected)
    np.testing.assert_allclose(found.shown_lab[0], expected, atol=1e-9)


@pytest.mark.parametrize(("adaptation", "transform"), [("cat16", "CAT16"), ("bradford", "Bradford")])
def test_the_basis_white_is_the_adaptation_of_colour_science(colour, adaptation, transform):
    view = standard_display("srgb").seen_by(EYE)
    bridge = Viewing(light("A"), EYE, adaptation=adaptation).bridge(view)
    white = white_point(light("A"), EYE)
    theirs = colour.adaptation.chromatic_adaptation_VonKries(
        XYZ, white, view.white / view.white[1] * 100, transform
    )
    np.testing.assert_allclose(bridge.to_display(XYZ), theirs * view.white[1] / 100, rtol=1e-9)


def test_a_degree_of_adaptation_lies_between_none_and_all():
    view = standard_display("srgb").seen_by(EYE)
    white = white_point(light("A"), EYE)
    shown = [Viewing(light("A"), EYE, degree=d).bridge(view).to_display(white) for d in (0.01, 0.5, 1.0)]
    ratio = [xyz[2] / xyz[1] for xyz in shown]
    assert ratio[0] < ratio[1] < ratio[2]
    assert ratio[0] == pytest.approx(white[2] / white[1], rel=0.05)
    np.testing.assert_allclose(shown[2], view.white)


def test_absolute_is_the_same_luminance():
    # Derived: a paper of Y = 87.6 has 139.42 cd/m2 at 500 lx and 557.68 cd/m2 at 2000 lx (L = E Y / 100 pi).
    view = standard_display("srgb", luminance=160).seen_by(EYE)
    for lux, luminance in ((500, 139.42), (2000, 557.68)):
        bridge = Viewing(D50.with_illuminance(lux), EYE, "absolute").bridge(view)
        assert bridge.to_display(np.array([84.0, 87.6, 72.0]))[1] == pytest.approx(luminance, abs=0.01)
        assert bridge.notes == ()


def test_absolute_without_an_illuminance_says_what_was_assumed():
    view = standard_display("srgb", luminance=160).seen_by(EYE)
    bridge = Viewing(D50, EYE, "absolute").bridge(view)
    assert bridge.to_display(np.array([96.0, 100.0, 82.0]))[1] == pytest.approx(160.0)
    (note,) = bridge.notes
    assert note.kind == "assumed" and "160 cd/m2" in note.what and note.about == "light D50"


def test_appearance_keeps_the_correlates_of_ciecam16_by_colour_science(colour):
    viewing = Viewing(light("A").with_illuminance(800), EYE, "appearance", display_surround="dim", display_la=12.0)
    view = standard_display("srgb", luminance=120).seen_by(EYE)
    bridge = viewing.bridge(view)
    surrounds = colour.VIEWING_CONDITIONS_CIECAM16
    object_side = colour.XYZ_to_CIECAM16(
        XYZ, white_point(light("A"), EYE), 800 / np.pi * 0.2, 20.0, surrounds["Average"]
    )
    shown = bridge.to_display(XYZ) / 1.2
    display_side = colour.XYZ_to_CIECAM16(shown, view.white / 1.2, 12.0, 20.0, surrounds["Dim"])
    for name in ("J", "C", "h"):
        np.testing.assert_allclose(getattr(display_side, name), getattr(object_side, name), rtol=1e-6)
    assert bridge.notes == ()


def test_appearance_in_like_conditions_changes_nothing():
    # The same white, level and surround on both sides: XYZ stay what they are.
    view = standard_display("srgb", luminance=100).seen_by(EYE)
    lamp = light("D65").with_illuminance(100 * np.pi)
    viewing = Viewing(lamp, EYE, "appearance", object_white=view.white)
    np.testing.assert_allclose(viewing.bridge(view).to_display(XYZ), XYZ, rtol=1e-9)


def test_appearance_without_an_illuminance_says_what_was_assumed():
    view = standard_display("srgb").seen_by(EYE)
    (note,) = Viewing(D50, EYE, "appearance").bridge(view).notes
    assert note.kind == "assumed" and "500 lx" in note.what
    assert Viewing(D50, EYE, "appearance", la=40.0).bridge(view).notes == ()


def test_the_conditions_of_an_object_follow_its_light():
    viewing = Viewing(D50.with_illuminance(1000), EYE, surround="dim")
    here = viewing.conditions()
    assert here.surround is DIM
    assert here.la == pytest.approx(1000 / np.pi * 0.2)
    np.testing.assert_allclose(here.white, white_point(D50, EYE))
    assert viewing.conditions(light("A")).la == pytest.approx(500 / np.pi * 0.2)


@pytest.mark.parametrize("basis", BASES)
def test_carrying_an_object_from_the_viewing_light_leaves_it(basis):
    viewing = Viewing(D50.with_illuminance(700), EYE, basis)
    np.testing.assert_allclose(viewing.carry(XYZ, viewing.light, EYE), XYZ, rtol=1e-9)


def test_carrying_an_object_from_another_light():
    a = light("A").with_illuminance(250)
    white_a, white = white_point(a, EYE), white_point(D50, EYE)
    adapted = Viewing(D50, EYE).carry(white_a, a, EYE)
    np.testing.assert_allclose(adapted, white)
    held = Viewing(D50.with_illuminance(500), EYE, "absolute")
    np.testing.assert_allclose(held.carry(white_a, a, EYE), 0.5 * white_a)
    np.testing.assert_allclose(held.carry(white_a, light("A"), EYE), white_a)
    seen = Viewing(D50.with_illuminance(500), EYE, "appearance")
    there = xyz_to_cam16(XYZ, CamConditions(white_a, 250 / np.pi * 0.2))
    here = xyz_to_cam16(seen.carry(XYZ, a, EYE), seen.conditions())
    np.testing.assert_allclose(
        np.array([here.J, here.C, here.h]), np.array([there.J, there.C, there.h]), rtol=1e-9
    )


def test_the_white_of_a_stock_known_by_its_curve_follows_every_light_and_observer():
    own = stock()
    viewing = Viewing(D50, EYE, object_white=own)
    ten = observer("cie1964")
    np.testing.assert_allclose(viewing.object_white_under(light("A"), ten), own.xyz([light("A")], [ten])[0, 0, 0])
    assert viewing.seen_by(ten).observer is ten


def test_the_white_of_a_stock_known_by_its_xyz_is_not_guessed_elsewhere():
    viewing = Viewing(D50, EYE, object_white=np.array([80.0, 83.0, 66.0]))
    np.testing.assert_allclose(viewing.object_white_under(D50, EYE), [80.0, 83.0, 66.0])
    with pytest.raises(InputError, match="only known as XYZ under D50 for cie1931"):
        viewing.object_white_under(light("A"), EYE)
    with pytest.raises(InputError, match="reflectance curve"):
        viewing.seen_by(observer("cie1964"))


@pytest.mark.parametrize(
    ("settings", "field", "said"),
    [
        ({"basis": "relative"}, "basis", "white, absolute, appearance"),
        ({"adaptation": "von kries"}, "adaptation", "cat16, bradford"),
        ({"surround": "bright"}, "surround", "average, dim, dark"),
        ({"degree": 0.0}, "degree", "above 0"),
        ({"degree": 1.5}, "degree", "up to 1"),
        ({"la": -1.0}, "la", "above 0"),
        ({"yb": 0.0}, "yb", "above 0"),
        ({"basis": "absolute", "adaptation": "bradford"}, "adaptation", "no effect"),
        ({"basis": "appearance", "degree": 0.5}, "adaptation", "no effect"),
        ({"basis": "absolute", "object_white": np.array([80.0, 83.0, 66.0])}, "object_white", "no effect"),
        ({"display_surround": "dim"}, "display_surround", "appearance"),
        ({"display_la": 20.0}, "display_surround", "appearance"),
        ({"object_white": np.array([80.0, 83.0])}, "object_white", "Y above 0"),
        ({"object_white": np.array([80.0, 0.0, 66.0])}, "object_white", "Y above 0"),
    ],
)
def test_a_setting_that_makes_no_sense_is_refused(settings, field, said):
    with pytest.raises(InputError) as caught:
        Viewing(D50, EYE, **settings)
    assert caught.value.problems[0].field == field
    assert said in str(caught.value)


def test_all_wrong_settings_come_at_once():
    with pytest.raises(InputError) as caught:
        Viewing(D50, EYE, basis="x", adaptation="y", surround="z")
    assert {problem.field for problem in caught.value.problems} >= {"basis", "adaptation", "surround"}


@pytest.mark.parametrize("given", [(D50, EYE), ("D50", EYE), (D50, "cie1931"), ("d50", "cie1931")])
def test_light_and_observer_may_be_given_by_name(given):
    viewing = Viewing(*given)
    assert (viewing.light.name, viewing.observer.name) == ("D50", "cie1931")
    # ASTM E308-18, Table 5: the white of D50 for the 1931 observer; at 1 nm it is within 0.01 of that.
    np.testing.assert_allclose(viewing.white, [96.422, 100.0, 82.521], atol=0.01)
    np.testing.assert_array_equal(viewing.white, white_point(D50, EYE))
    assert viewing.seen_by(observer("cie1964")).observer.name == "cie1964"


@pytest.mark.parametrize(
    ("light_given", "observer_given", "said"),
    [
        ("D5O", EYE, ["'D5O'", "nearest names: ", "D50"]),
        (D50, "cie1932", ["'cie1932'", "did you mean 'cie1931'?"]),
        (5000, EYE, ["light: a int is no light", "such as 'D50'"]),
        (D50, None, ["observer: a NoneType is no observer", "age=60,field=2"]),
        (EYE, D50, ["light: a Observer is no light", "observer: a Light is no observer"]),
    ],
)
def test_what_is_no_light_or_observer_is_said_of_both(light_given, observer_given, said):
    with pytest.raises(InputError) as refused:
        Viewing(light_given, observer_given)
    assert all(words in str(refused.value) for words in said)


def test_a_wrong_name_does_not_hide_another_mistake():
    with pytest.raises(InputError) as refused:
        Viewing("D5O", EYE, "white", degree=2.0)
    assert len(refused.value.problems) == 2
