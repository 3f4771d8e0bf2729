from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.proof import Viewing, nearest, reach_of
from screenproof.proof.reach import GeneralReach, MatrixReach, light_of, position_of
from screenproof.spectra import light, observer

EYE = observer("cie1931")


def reach_for(display, viewing):
    view = display.seen_by(EYE)
    return reach_of(view, viewing.bridge(view), viewing.white)


def exhaustive(lab, reach, side=61, inside=31):
    """The smallest CIEDE2000 over a dense grid of positions, then over ever finer grids round its best four."""
    even = np.linspace(0.0, 1.0, side)
    flat = np.stack(np.meshgrid(even, even), axis=-1).reshape(-1, 2)
    nodes = [np.insert(flat, axis, end, axis=1) for axis in range(3) for end in (0.0, 1.0)]
    even = np.linspace(0.0, 1.0, inside)
    nodes.append(np.stack(np.meshgrid(even, even, even), axis=-1).reshape(-1, 3))
    nodes = np.concatenate(nodes)
    shown = reach.lab(nodes)
    cube = np.stack(np.meshgrid(*(np.linspace(-1, 1, 7),) * 3), axis=-1).reshape(-1, 3)
    smallest = np.empty(len(lab))
    for i, one in enumerate(lab):
        distance = de2000(one, shown)
        best = np.argpartition(distance, 4)[:4]
        ends, width = nodes[best], 1.5 / inside
        smallest[i] = distance[best].min()
        while width > 1e-4:
            tried = np.clip(ends[:, None] + width * cube, 0.0, 1.0)
            distance = de2000(one, reach.lab(tried))
            pick = distance.argmin(axis=1)
            ends, width = tried[np.arange(len(best)), pick], width / 2.5
            smallest[i] = min(smallest[i], distance.min())
    return smallest


def outside(display, viewing, count=25, seed=4):
    """Lab of colours that BT.2020 shows and the display does not."""
    wide = standard_display("bt2020").seen_by(EYE)
    drives = np.random.default_rng(seed).uniform(0, 1, (4000, 3))
    # The darkest and weakest are left out: they are inside of every display.
    drives = drives[np.ptp(drives, axis=1) > 0.5]
    home = Viewing(viewing.light, EYE)
    xyz = home.bridge(wide).to_reference(wide.to_xyz(drives))
    view = display.seen_by(EYE)
    out = ~view.to_drive(viewing.bridge(view).to_display(xyz))[1]
    lab = xyz_to_lab(xyz[out], viewing.white)
    return lab[:count]


@pytest.mark.parametrize("basis", ["white", "absolute", "appearance"])
def test_as_near_as_an_exhaustive_search_on_every_display(display, basis):
    viewing = Viewing(light("D50").with_illuminance(200), EYE, basis)
    lab = outside(display, viewing)
    if len(lab) == 0:
        # BT.2020 itself, and lasers wider still, show everything that is asked on the basis white.
        assert basis != "absolute" and display.name in ("bt2020", "laser")
        return
    reach = reach_for(display, viewing)
    drive, distance = nearest(lab, reach)
    assert drive.min() >= 0.0 and drive.max() <= 1.0
    view = display.seen_by(EYE)
    shown = xyz_to_lab(viewing.bridge(view).to_reference(view.to_xyz(drive)), viewing.white)
    np.testing.assert_allclose(distance, de2000(lab, shown), atol=2e-3)
    assert (distance - exhaustive(lab, reach)).max() < 0.02


def test_a_colour_that_can_be_shown_is_found(samples, d50):
    reach = reach_for(standard_display("srgb"), d50)
    drives = np.random.default_rng(3).uniform(0.05, 0.95, (200, 3))
    view = standard_display("srgb").seen_by(EYE)
    lab = xyz_to_lab(d50.bridge(view).to_reference(view.to_xyz(drives)), d50.white)
    found, distance = nearest(lab, reach)
    assert distance.max() < 1e-2
    assert np.abs(found - drives).max() < 1e-2


def test_far_outside_the_smallest_may_lie_by_the_grey_axis(d50):
    # A light red of more chroma than any surface has: by the formula a greyish colour is nearest, not a pink.
    lab = np.array([[94.74, 97.90, -7.30]])
    reach = reach_for(standard_display("srgb", black=0.3), d50)
    drive, distance = nearest(lab, reach)
    assert distance[0] <= exhaustive(lab, reach)[0] + 0.02
    assert np.ptp(drive) < 0.1


def test_no_colour_is_a_valid_question(d50):
    drive, distance = nearest(np.empty((0, 3)), reach_for(standard_display("srgb"), d50))
    assert drive.shape == (0, 3) and distance.shape == (0,)


def test_many_colours_give_what_few_do(d50):
    # More than one chunk of the search.
    reach = reach_for(standard_display("srgb"), d50)
    lab = np.tile(outside(standard_display("srgb"), d50, 30), (50, 1))
    drive, distance = nearest(lab, reach)
    few_drive, few_distance = nearest(lab[:30], reach)
    np.testing.assert_allclose(distance.reshape(50, 30), np.tile(few_distance, (50, 1)), atol=1e-6)
    np.testing.assert_allclose(drive.reshape(50, 30, 3), np.tile(few_drive, (50, 1, 1)), atol=1e-3)


def test_the_fast_reach_of_a_matrix_display_shows_what_the_general_one_does(d50):
    for name in ("srgb", "bt709", "p3-d65"):
        display = standard_display(name, black=0.2)
        view = display.seen_by(EYE)
        fast, general = reach_for(display, d50), GeneralReach(view, d50.bridge(view), d50.white)
        assert isinstance(fast, MatrixReach)
        position = np.random.default_rng(2).uniform(0, 1, (50, 3))
        drive = fast.drive(position)
        expected = xyz_to_lab(d50.bridge(view).to_reference(view.to_xyz(drive)), d50.white)
        np.testing.assert_allclose(fast.lab(position), expected, atol=1e-8)
        np.testing.assert_allclose(general.drive(position), drive, atol=2e-3)
        codes = np.random.default_rng(3).integers(0, 256, (40, 3))
        for bits in (8, 16):
            np.testing.assert_allclose(
                fast.xyz_of_codes(codes, bits), general.xyz_of_codes(codes, bits), atol=1e-9
            )


def test_positions_go_as_lightness():
    position = np.linspace(0.0, 1.0, 101)
    np.testing.assert_allclose(position_of(light_of(position)), position, atol=1e-12)
    grey = xyz_to_lab(light_of(position)[:, None] * [95.0, 100.0, 108.0], np.array([95.0, 100.0, 108.0]))
    np.testing.assert_allclose(grey[:, 0], 100 * position, atol=1e-9)
