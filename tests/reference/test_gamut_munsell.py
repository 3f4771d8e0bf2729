"""The nearest displayable colour of real surface colours, against an exhaustive search.

Source of the colours: the renotation of real Munsell colours (Newhall, Nickerson & Judd 1943), under
illuminant C for the CIE 1931 observer, as colour-science carries them. The exhaustive search has nothing of
the search that it checks: every node of a dense grid over the faces of the drive cube and of a coarser one
through its inside, by CIEDE2000 (itself held against the published pairs elsewhere), then ever finer grids
round the best of them. The dense grid has 201 by 201 nodes on each face, and 51 to the side inside and in
the dark corner. Run once over all 1,226 colours outside sRGB with 400 by 400 on the faces alone, it was
never nearer than the search by more than 4e-8, and farther by up to 2e-4, but for one dark violet: its
nearest colour lies inside the cube, where the best of the faces is 0.13 farther.
"""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.proof import Viewing, gamut, match
from screenproof.spectra import Colorimetry, Samples, light, observer

WITHIN = 0.02
OUTSIDE = 500
FACE, INSIDE, DARK = 201, 51, 0.25
AT_ONCE = 20
BEST = 3


@pytest.fixture(scope="module")
def munsell(colour):
    """All real Munsell colours as samples of colorimetry under C, 1931."""
    entries = colour.MUNSELL_COLOURS["Munsell Colours Real"]
    names = tuple(f"{hue} {value:g}/{chroma:g}" for (hue, value, chroma), _ in entries)
    x, y, luminance = np.array([xyy for _, xyy in entries]).T
    xyz = np.stack([x / y * luminance, luminance, (1 - x - y) / y * luminance], axis=-1)
    return Samples(names, colorimetry=Colorimetry(xyz, "C", "cie1931"), source="Munsell renotation")


@pytest.fixture(scope="module")
def viewing():
    return Viewing(light("C"), observer("cie1931"))


@pytest.fixture(scope="module")
def matched(munsell, viewing):
    return match(munsell, standard_display("srgb"), viewing)


def srgb_lab(drive, viewing):
    """What sRGB shows, in reference Lab."""
    view = standard_display("srgb").seen_by()
    return xyz_to_lab(viewing.bridge(view).to_reference(view.to_xyz(drive)), viewing.white)


def nodes():
    """Drives of the dense grid: all faces, the inside, and its dark corner once more."""
    even = np.linspace(0.0, 1.0, FACE)
    flat = np.stack(np.meshgrid(even, even, indexing="ij"), axis=-1).reshape(-1, 2)
    for axis in range(3):
        for side in (0.0, 1.0):
            yield np.insert(flat, axis, side, axis=1)
    even = np.linspace(0.0, 1.0, INSIDE)
    inside = np.stack(np.meshgrid(even, even, even, indexing="ij"), axis=-1).reshape(-1, 3)
    yield inside
    # Dark colours are far apart in even drive values: a step of 0.02 near black is one of 1.5 in L*.
    yield inside * DARK


def exhaustive(lab, viewing):
    """The smallest CIEDE2000 (n,) of Lab (n, 3) to anything that sRGB shows."""
    ends, lengths = [], []
    for drives in nodes():
        shown = srgb_lab(drives, viewing)
        for first in range(0, len(lab), AT_ONCE):
            distance = de2000(lab[first : first + AT_ONCE, None], shown)
            found = distance.argmin(axis=1)
            ends.append(drives[found])
            lengths.append(distance[np.arange(len(found)), found])
    ends = np.concatenate(ends).reshape(8, len(lab), 3)
    lengths = np.concatenate(lengths).reshape(8, len(lab))
    smallest = lengths.min(axis=0)
    around = np.linspace(-1.0, 1.0, 9)
    around = np.stack(np.meshgrid(around, around, around, indexing="ij"), axis=-1).reshape(-1, 3)
    # The best node of each part of the grid is followed, not only the best of all.
    for rank in np.argsort(lengths, axis=0)[:BEST]:
        end = ends[rank, np.arange(len(lab))]
        width = 1.5 / INSIDE
        while width > 1e-4:
            tried = np.clip(end[:, None] + width * around, 0.0, 1.0)
            distance = de2000(lab[:, None], srgb_lab(tried, viewing))
            pick = distance.argmin(axis=1)
            end, width = tried[np.arange(len(lab)), pick], width / 2.5
            smallest = np.minimum(smallest, distance.min(axis=1))
    return smallest


def test_the_excess_of_500_colours_outside_srgb_is_that_of_an_exhaustive_search(matched, viewing):
    outside = np.flatnonzero(~matched.in_gamut)
    chosen = outside[np.linspace(0, len(outside) - 1, OUTSIDE).astype(int)]
    assert len(set(chosen)) == OUTSIDE
    smallest = exhaustive(matched.lab[chosen], viewing)
    assert np.abs(matched.excess[chosen] - smallest).max() < WITHIN
    assert matched.excess[chosen].max() > 15.0


def test_the_excess_is_exactly_zero_inside(matched):
    assert matched.in_gamut.sum() > 1000
    assert np.all(matched.excess[matched.in_gamut] == 0.0)
    assert np.all(matched.excess[~matched.in_gamut] > 0.0)


def test_the_excess_is_the_distance_to_the_colour_that_the_drive_shows(matched, viewing):
    shown = srgb_lab(matched.drive, viewing)
    assert matched.drive.min() >= 0.0 and matched.drive.max() <= 1.0
    np.testing.assert_allclose(de2000(matched.lab, shown), matched.excess, atol=1e-6)
    np.testing.assert_allclose(shown, matched.nearest_lab, atol=1e-6)


def test_inside_and_outside_agree_with_the_matrix_of_colour_science(colour, munsell, matched, viewing):
    # Adapted by CAT16 from C, as the library has it, and through its own sRGB matrix (four decimals).
    white = viewing.white / 100.0
    adaptation = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        white, colour.xy_to_XYZ(colour.RGB_COLOURSPACES["sRGB"].whitepoint), transform="CAT16"
    )
    linear = munsell.colorimetry.xyz / 100.0 @ adaptation.T
    linear = linear @ colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
    margin = np.minimum(linear, 1.0 - linear).min(axis=1)
    clear = np.abs(margin) > 1e-3
    assert clear.sum() > 2600
    np.testing.assert_array_equal(matched.in_gamut[clear], margin[clear] > 0)


def test_a_wider_standard_display_suffices_for_more(munsell, viewing, matched):
    found = gamut(munsell, standard_display("srgb"), viewing, matched=matched)
    counts = {name: sum(name in names for names in found.suffices) for name in ("srgb", "p3-d65", "bt2020")}
    assert counts["srgb"] == matched.in_gamut.sum()
    assert counts["srgb"] < counts["p3-d65"] < counts["bt2020"]
    assert all("p3-d65" in names for names in found.suffices if "srgb" in names)
