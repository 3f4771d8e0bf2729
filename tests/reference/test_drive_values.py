"""Drive values of the 24 patches of ISO 17321-1 on sRGB, against colour-science and LittleCMS.

The reflectances of the 24 patches are those that colour-science carries.
"""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.appearance import lab_to_xyz
from screenproof.proof import Viewing, match
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer

# The library says that it brings light, observer and curves onto one grid, which is wanted.
pytestmark = pytest.mark.filterwarnings("ignore::colour.utilities.verbose.ColourRuntimeWarning")


@pytest.fixture(scope="module")
def patches(colour):
    curves = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    nm = np.arange(380.0, 731.0, 10.0)
    values = np.array([np.interp(nm, curve.wavelengths, curve.values) for curve in curves.values()])
    assert values.shape == (24, 36)
    return Samples(tuple(f"patch {i + 1}" for i in range(24)), values, Grid.of(nm))


def xyz_by_colour_science(colour, patches, name):
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    lamp = colour.SDS_ILLUMINANTS[name]
    curves = colour.MultiSpectralDistributions(patches.reflectance.T, patches.grid.wavelengths)
    return colour.msds_to_XYZ(curves, cmfs, lamp, method="ASTM E308") / 100.0


def test_within_half_a_code_of_colour_science_under_d65(colour, patches):
    ours = match(patches, standard_display("srgb"), Viewing(light("D65"), observer("cie1931")))
    xyz = xyz_by_colour_science(colour, patches, "D65")
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    theirs = colour.XYZ_to_RGB(xyz, srgb, srgb.whitepoint, apply_cctf_encoding=True)
    inside = ours.in_gamut
    assert inside.sum() >= 22
    assert np.abs(ours.drive - theirs)[inside].max() * 255 < 0.5
    # The patch outside sRGB has its unbounded values clipped there and the nearest colour here.
    assert np.all((theirs[~inside] < 0).any(axis=1) | (theirs[~inside] > 1).any(axis=1))


@pytest.mark.parametrize(("adaptation", "transform"), [("bradford", "Bradford"), ("cat16", "CAT16")])
def test_within_half_a_code_of_colour_science_under_d50_adapted(colour, patches, adaptation, transform):
    ours = match(
        patches, standard_display("srgb"), Viewing(light("D50"), observer("cie1931"), adaptation=adaptation)
    )
    xyz = xyz_by_colour_science(colour, patches, "D50")
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    theirs = colour.XYZ_to_RGB(
        xyz, srgb, white, chromatic_adaptation_transform=transform, apply_cctf_encoding=True
    )
    inside = ours.in_gamut
    assert inside.sum() >= 22
    assert np.abs(ours.drive - theirs)[inside].max() * 255 < 0.5


def test_within_the_8_bit_rounding_of_littlecms(patches):
    from PIL import Image, ImageCms

    # The white of the ICC connection space, which LittleCMS wrote into a profile: 0.9642, 1, 0.8249.
    pcs = np.array([96.42, 100.0, 82.49])
    viewing = Viewing(light("D50"), observer("cie1931"), adaptation="bradford", object_white=pcs)
    lab = match(patches, standard_display("srgb"), viewing).lab
    # Pillow's 8-bit Lab: L* 0..100 on 0..255, a* and b* as signed bytes. The patches are rounded to that on both
    # sides, so that only the transform is compared, to the 8-bit rounding of what comes out.
    coded = np.stack([np.rint(lab[:, 0] * 2.55), np.rint(lab[:, 1]), np.rint(lab[:, 2])], axis=-1).astype(int)
    image = Image.frombytes("LAB", (24, 1), (coded % 256).astype(np.uint8).tobytes())
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("LAB", 5000),
        ImageCms.createProfile("sRGB"),
        "LAB",
        "RGB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        # Without this it interpolates in a coarse table that it makes of the profiles, and is up to 9 codes off.
        flags=ImageCms.Flags.NOOPTIMIZE,
    )
    theirs = np.asarray(ImageCms.applyTransform(image, transform)).reshape(24, 3)

    rounded = lab_to_xyz(coded * [1 / 2.55, 1.0, 1.0], pcs)
    again = Samples(patches.names, colorimetry=Colorimetry(rounded, "D50", "cie1931"))
    found = match(again, standard_display("srgb"), viewing)
    inside = found.in_gamut
    assert inside.sum() >= 22
    assert np.abs(found.drive * 255 - theirs)[inside].max() < 0.51
    # The codes try their neighbours, so they may leave the plain rounding by one.
    assert np.abs(found.code - theirs.astype(int))[inside].max() <= 1
