"""What room light does to a screen: against closed formulae and a published gamut; how far to dim, to the lux."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import standard_display
from screenproof.additive.room_light import brightest_room, darkest_room, gamut_volume, room_effect
from screenproof.errors import InputError

WHITE, BLACK, SHARE = 120.0, 0.12, 0.04
SCREEN = standard_display("srgb", luminance=WHITE, black=BLACK)


def test_black_contrast_and_ratio_are_those_of_a_diffuse_reflection():
    """L = rho E / pi of a diffuse surface (CIE S 017, luminance factor), added to black and white alike."""
    for lux in (0.0, 10.0, 64.0, 500.0, 2000.0):
        found = room_effect(SCREEN, lux, "D50", SHARE)
        added = SHARE * lux / np.pi
        assert found.reflected == pytest.approx(added)
        assert (found.white, found.black) == pytest.approx((WHITE + added, BLACK + added))
        assert found.contrast == pytest.approx((WHITE + added) / (BLACK + added))
        assert found.on_off == (None if lux == 0 else pytest.approx(100 * (BLACK + added) / added))


def test_the_gamut_shrinks_as_the_room_brightens():
    series = [room_effect(SCREEN, lux, "D50", SHARE) for lux in (0.0, 32.0, 64.0, 500.0, 2000.0)]
    for key in ("area", "volume"):
        values = [getattr(one, key) for one in series]
        assert all(a > b > 0 for a, b in zip(values, values[1:], strict=False))
    # The primaries' triangle by hand: IEC 61966-2-1, x, y to u', v'.
    xy = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
    u, v = (factor * xy[:, i] / (-2 * xy[:, 0] + 12 * xy[:, 1] + 3) for i, factor in ((0, 4), (1, 9)))
    dark = room_effect(standard_display("srgb", luminance=WHITE, black=0.0), 0.0, "D50", SHARE)
    triangle = abs((u[1] - u[0]) * (v[2] - v[0]) - (u[2] - u[0]) * (v[1] - v[0])) / 2
    assert dark.area == pytest.approx(triangle, rel=1e-3)
    assert dark.contrast is None


def test_the_volume_of_srgb_is_the_published_one():
    """832,870 cubic units of CIELAB, from memory: a colour scientist's public table, with D50 by Bradford, where
    here the screen's own white is the white. And the mesh has converged."""
    view = standard_display("srgb", luminance=WHITE, black=0.0).seen_by()
    assert gamut_volume(view, 65) == pytest.approx(832870, rel=0.02)
    assert gamut_volume(view) == pytest.approx(gamut_volume(view, 65), rel=0.01)


def test_how_far_to_dim_is_the_closed_formula():
    for ratio in (20.0, 100.0, 500.0):
        found = brightest_room(lambda lux, r=ratio: room_effect(SCREEN, lux, "D50", SHARE).contrast >= r)
        lux = (WHITE - ratio * BLACK) / (ratio - 1.0) * np.pi / SHARE
        assert found == pytest.approx(lux, rel=1e-4, abs=0.06) and found <= lux
    assert brightest_room(lambda lux: room_effect(SCREEN, lux, "D50", SHARE).contrast >= 1001.0) is None
    assert brightest_room(lambda lux: True, 700.0) == 700.0
    # The black on at most twice the screen off: the room must add as much as the black itself is.
    lifted = darkest_room(lambda lux: (room_effect(SCREEN, lux, "D50", SHARE).on_off or np.inf) <= 200.0)
    assert lifted == pytest.approx(BLACK * np.pi / SHARE, abs=0.06) and lifted >= BLACK * np.pi / SHARE
    with pytest.raises(InputError, match="illuminances of 0 lx or more"):
        brightest_room(lambda lux: True, -1.0)
