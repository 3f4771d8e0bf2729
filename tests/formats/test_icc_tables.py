"""Profiles with tables: read through LittleCMS, written for displays that have no matrix."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from screenproof.additive import Display, TableModel, standard_display
from screenproof.appearance import adapt, de2000, xyz_to_lab
from screenproof.formats import profile_bytes, read_profile
from screenproof.formats.icc_tables import connection_xyz
from screenproof.formats.icc_tags import Profile
from tests.additive.fit_scenes import white_pixel
from tests.formats.icc_samples import D50

DRIVES = np.random.default_rng(7).random((2000, 3))


@pytest.fixture(scope="module")
def boosted() -> Display:
    """A display with a white sub-pixel, known at 33 steps a channel."""
    axis = np.linspace(0.0, 1.0, 33)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    model = TableModel((axis,) * 3, white_pixel(nodes).reshape(33, 33, 33, 3))
    return Display("boosted", "Boosted screen", "readings", model)


@pytest.fixture(scope="module")
def data(boosted) -> bytes:
    return profile_bytes(boosted)


@pytest.fixture(scope="module")
def back(data, tmp_path_factory) -> Display:
    path = tmp_path_factory.mktemp("icc") / "boosted.icc"
    path.write_bytes(data)
    return read_profile(path)


def test_a_table_display_is_written_and_read_back(boosted, back):
    first, second = boosted.seen_by(), back.seen_by()
    assert isinstance(back.model, TableModel) and back.label == "Boosted screen"
    assert np.allclose(second.white, first.white, rtol=2e-4)
    error = de2000(
        xyz_to_lab(second.to_xyz(DRIVES), first.white), xyz_to_lab(first.to_xyz(DRIVES), first.white)
    )
    assert error.mean() < 0.05 and np.percentile(error, 95) < 0.15 and error.max() < 0.8


def test_the_lattice_keeps_what_littlecms_computes(back, data):
    straight = connection_xyz(Profile.of(data, "x"), DRIVES)
    view = back.seen_by()
    ours = adapt(view.to_xyz(DRIVES), view.white, np.array(D50), "bradford")
    error = de2000(xyz_to_lab(ours, np.array(D50)), xyz_to_lab(straight, np.array(D50)))
    assert error.mean() < 0.04 and error.max() < 0.5


def test_a_table_profile_of_an_additive_display_shows_its_colours(tmp_path):
    """HLG has no tone curves of its own channels, so it is written as tables; its formula is the truth here."""
    display = standard_display("bt2020", curve="hlg", luminance=1000)
    path = tmp_path / "hlg.icc"
    path.write_bytes(profile_bytes(display))
    back = read_profile(path).seen_by()
    view = display.seen_by()
    error = de2000(xyz_to_lab(back.to_xyz(DRIVES), view.white), xyz_to_lab(view.to_xyz(DRIVES), view.white))
    assert np.percentile(error, 95) < 0.4


def test_littlecms_agrees_in_8_bits(boosted, data):
    """Pillow's LittleCMS, another way in: the same profile to sRGB in 8 bits."""
    code = np.round(DRIVES * 255).astype(np.uint8)
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(data)),
        ImageCms.createProfile("sRGB"),
        "RGB",
        "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.NOOPTIMIZE,
    )
    theirs = np.asarray(ImageCms.applyTransform(Image.fromarray(code[None]), transform))[0].astype(float)
    view, target = boosted.seen_by(), standard_display("srgb").seen_by()
    drive, _ = target.to_drive(adapt(view.to_xyz(code / 255.0), view.white, target.white, "bradford"))
    ours = np.clip(drive, 0.0, 1.0) * 255.0
    assert np.percentile(np.abs(theirs - ours), 95) < 0.6
    assert np.abs(theirs - ours).max() < 3.0


def test_the_way_back_lands_on_the_drives(boosted, data):
    """B2A0: from CIELAB of colours the display can show back to their drives, by LittleCMS."""
    inner = 0.1 + 0.8 * DRIVES
    view = boosted.seen_by()
    lab = xyz_to_lab(adapt(view.to_xyz(inner), view.white, np.array(D50), "bradford"), np.array(D50))
    import imagecodecs

    pcs = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    drive = imagecodecs.cms_transform(
        np.ascontiguousarray(lab[None]), pcs, data, colorspace="lab", outcolorspace="rgb", outdtype="f8", intent=1
    ).reshape(-1, 3)
    shown = xyz_to_lab(view.to_xyz(np.clip(drive, 0, 1)), view.white)
    error = de2000(shown, xyz_to_lab(view.to_xyz(inner), view.white))
    assert np.median(error) < 0.5 and np.percentile(error, 95) < 2.0


def test_tables_without_a_colorimetric_one_are_said(back):
    assert any("one table (A2B0)" in note.what for note in back.notes)
    assert not any(note.kind == "odd" for note in back.notes)


def test_the_inverse_is_solved(back):
    view = back.seen_by()
    drive = 0.05 + 0.9 * DRIVES[:300]
    again, inside = view.to_drive(view.to_xyz(drive))
    assert inside.all() and np.abs(view.to_xyz(again) - view.to_xyz(drive)).max() < 1e-6 * view.white[1]
