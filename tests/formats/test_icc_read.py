"""ICC profiles in: matrix and curves, against LittleCMS and the figures of the standards."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import ImageCms

from screenproof.appearance import adapt, xyz_to_xy
from screenproof.errors import InputError
from screenproof.formats import read_profile
from tests.formats.icc_samples import (
    COLORANTS,
    D50,
    D65,
    desc,
    fixed,
    gamma,
    matrix_tags,
    mluc,
    parametric,
    profile,
    table,
    xyz,
)

DRIVES = np.random.default_rng(5).integers(0, 256, (2000, 3)) / 255.0


def littlecms(data: bytes, drive: np.ndarray) -> np.ndarray:
    """XYZ in the connection space, by LittleCMS in double precision without its shortcuts."""
    import imagecodecs

    target = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
    sent = imagecodecs.cms_transform(
        np.ascontiguousarray(drive[None]),
        data,
        target,
        colorspace="rgb",
        outcolorspace="xyz",
        outdtype="f8",
        intent=1,
    )
    return sent.reshape(-1, 3)


def opened(tmp_path, data: bytes):
    path = tmp_path / "screen.icc"
    path.write_bytes(data)
    return read_profile(path)


def connection(display, drive: np.ndarray) -> np.ndarray:
    """Our XYZ in the connection space: adapted to D50, white at 1."""
    view = display.seen_by()
    return adapt(view.to_xyz(drive), view.white, np.array(D50), "bradford")


def test_the_srgb_profile_of_littlecms(tmp_path):
    data = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    display = opened(tmp_path, data)
    view = display.seen_by()
    # IEC 61966-2-1:1999: white and primaries; LittleCMS rounds its adaptation to 1.5e-5.
    assert np.allclose(xyz_to_xy(view.white), [0.3127, 0.3290], atol=2e-4)
    for primary, xy in zip(view.matrix.T, [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)], strict=True):
        assert np.allclose(xyz_to_xy(primary), xy, atol=5e-4)
    light = view.curves.forward(np.array([0.5, 0.02, 0.04]))
    assert np.allclose(light, [0.2140411, 0.02 / 12.92, 0.04 / 12.92], rtol=2e-3)
    assert display.kind == "profile" and display.label
    # s15Fixed16 has steps of 1.5e-5; a few of them add up.
    assert np.allclose(connection(display, DRIVES), littlecms(data, DRIVES), atol=2e-4)


SLOPE = 0.99 ** (1 / 2.2) - 0.05  # so that the curve of type 4 ends at 1
CURVES = {
    "gamma": (gamma(2.2), lambda x: x ** (round(2.2 * 256) / 256)),
    "identity": (b"curv\0\0\0\0" + bytes(4), lambda x: x),
    "table": (table(np.linspace(0, 1, 1024) ** 1.8), lambda x: x**1.8),
    "two entries": (table([0.0, 1.0]), lambda x: x),
    # The five function types of ICC.1:2022, 10.18, table 68.
    "type 0": (parametric(0, 2.4), lambda x: x**2.4),
    "type 1": (parametric(1, 2.0, 1.1, -0.1), lambda x: np.where(x >= 0.1 / 1.1, (1.1 * x - 0.1).clip(0) ** 2, 0)),
    "type 2": (
        parametric(2, 2.0, 1.0, -0.05, 0.0975),
        lambda x: np.where(x >= 0.05, (x - 0.05).clip(0) ** 2, 0) + 0.0975,
    ),
    "type 3": (
        parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045),
        lambda x: np.where(x >= 0.04045, ((x + 0.055) / 1.055) ** 2.4, x / 12.92),
    ),
    "type 4": (
        parametric(4, 2.2, SLOPE, 0.05, 0.1, 0.05, 0.01, 0.01),
        lambda x: np.where(x >= 0.05, (SLOPE * x + 0.05) ** 2.2 + 0.01, 0.1 * x + 0.01),
    ),
}
VERSION_4 = {"wtpt": xyz(*D50), "desc": mluc(("en", "Invented screen"))}


@pytest.mark.parametrize("name", sorted(CURVES))
def test_every_form_of_tone_curve(tmp_path, name):
    element, function = CURVES[name]
    data = profile(matrix_tags(element))
    display = opened(tmp_path, data)
    view = display.seen_by()
    grey = np.linspace(0.0, 1.0, 256)
    assert np.allclose(view.curves.forward(grey[:, None] * np.ones(3)), function(grey)[:, None], atol=1e-4)
    assert np.allclose(connection(display, DRIVES), littlecms(data, DRIVES), atol=3e-4)


def test_a_version_2_profile_says_its_white(tmp_path):
    view = opened(tmp_path, profile(matrix_tags(gamma(2.2)))).seen_by()
    assert np.allclose(view.white / view.white[1], D65, atol=2e-3)
    assert np.allclose(xyz_to_xy(view.matrix[:, 0]), [0.64, 0.33], atol=2e-3)


def test_a_version_4_profile_says_it_by_its_adaptation(tmp_path):
    # The D65 Bradford matrix of LittleCMS's sRGB profile (shared/exchange_keywords.csv).
    bradford = (1.047882, 0.022919, -0.050217, 0.029587, 0.990479, -0.017075, -0.009247, 0.015076, 0.751678)
    tags = matrix_tags(gamma(2.2), chad=b"sf32\0\0\0\0" + fixed(*bradford), **VERSION_4)
    view = opened(tmp_path, profile(tags, version=4)).seen_by()
    assert np.allclose(xyz_to_xy(view.white), [0.3127, 0.3290], atol=2e-4)


def test_a_profile_that_hides_its_white_is_taken_for_d50_and_said(tmp_path):
    display = opened(tmp_path, profile(matrix_tags(gamma(2.2), wtpt=xyz(*D50))))
    white = display.seen_by().white
    assert np.allclose(white / white[1], D50, atol=1e-4)
    assert any(note.kind == "assumed" and "taken to be D50" in note.what for note in display.notes)


def test_the_luminance_is_stated_or_assumed_and_said(tmp_path):
    bright = opened(tmp_path, profile(matrix_tags(gamma(2.2), lumi=xyz(0, 145.5, 0))))
    assert bright.luminance == pytest.approx(145.5, abs=1e-4)
    assert not any("how bright" in note.what for note in bright.notes)
    for changed in ({}, {"lumi": xyz(0, 0, 0)}):
        silent = opened(tmp_path, profile(matrix_tags(gamma(2.2), **changed)))
        assert silent.luminance == pytest.approx(100.0)
        assert any(note.kind == "assumed" and "100 cd/m2 is taken" in note.what for note in silent.notes)


def test_names_in_both_versions_and_several_languages(tmp_path):
    assert opened(tmp_path, profile(matrix_tags(gamma(2.2)))).label == "Invented screen"
    several = mluc(("fr", "Écran inventé"), ("en", "Invented screen"), ("de", "Erfundener Schirm"))
    assert opened(tmp_path, profile(matrix_tags(gamma(2.2), desc=several), version=4)).label == "Invented screen"
    only = mluc(("fr", "Écran\tinventé\n"))
    assert opened(tmp_path, profile(matrix_tags(gamma(2.2), desc=only), version=4)).label == "Écran inventé"
    assert opened(tmp_path, profile(matrix_tags(gamma(2.2), desc=None))).label == "screen"
    assert opened(tmp_path, profile(matrix_tags(gamma(2.2), desc=desc("A\x07B")))).label == "A B"


def test_a_curve_that_falls_is_said_and_made_monotone(tmp_path):
    curve = np.linspace(0, 1, 256) ** 2.2
    curve[100:104] = curve[100:104][::-1]
    display = opened(tmp_path, profile(matrix_tags(gamma(2.2), gTRC=table(curve))))
    note = next(note for note in display.notes if "falls" in note.what)
    assert note.kind == "odd" and "gTRC" in note.about and "falls at 3 of its 256" in note.what
    light = display.seen_by().curves.forward(np.linspace(0, 1, 999)[:, None] * np.ones(3))
    assert np.all(np.diff(light, axis=0) >= 0)


def test_colorants_that_do_not_add_up_to_d50_are_said(tmp_path):
    off = xyz(*(1.1 * np.array(COLORANTS[1])))
    display = opened(tmp_path, profile(matrix_tags(gamma(2.2), gXYZ=off)))
    assert any(note.kind == "odd" and "add up to" in note.what for note in display.notes)


def test_a_curve_that_does_not_end_at_one_keeps_the_stated_luminance(tmp_path):
    short = table(0.9 * np.linspace(0, 1, 256) ** 2.2)
    display = opened(tmp_path, profile(matrix_tags(short, lumi=xyz(0, 200, 0))))
    assert display.seen_by().white[1] == pytest.approx(200.0, abs=1e-3)


@pytest.mark.parametrize(
    ("changed", "what", "mend"),
    [
        ({"device_class": b"prtr", "space": b"CMYK"}, "a printer or press with CMYK", "printer is no display"),
        ({"device_class": b"prtr"}, "a printer or press with RGB colours", "printer is no display"),
        ({"device_class": b"scnr"}, "a scanner or camera with RGB colours", "profile of your screen"),
        ({"device_class": b"link"}, "a device link", "profile of your screen"),
        ({"space": b"GRAY"}, "a display with GRAY colours", "profile of your screen"),
        ({"version": 5}, "a profile of version 5.0", "as version 4"),
    ],
)
def test_other_profiles_are_refused(tmp_path, changed, what, mend):
    with pytest.raises(InputError) as raised:
        opened(tmp_path, profile(matrix_tags(gamma(2.2)), **changed))
    assert what in str(raised.value) and mend in str(raised.value) and "screen.icc" in str(raised.value)


def test_an_inverse_of_a_profile_display_is_exact(tmp_path):
    view = opened(tmp_path, profile(matrix_tags(table(np.linspace(0, 1, 1024) ** 2.2)))).seen_by()
    drive, inside = view.to_drive(view.to_xyz(DRIVES))
    assert inside.all() and np.abs(view.to_xyz(drive) - view.to_xyz(DRIVES)).max() < 1e-9 * view.white[1]
