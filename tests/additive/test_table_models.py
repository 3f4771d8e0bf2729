"""Tables over the drives: interpolation against libraries, the solved inverse, what lies outside."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import (
    Display,
    ProfileModel,
    SpectralTable,
    TableModel,
    modelled_display,
    standard_display,
)
from screenproof.additive.lattice import Lattice
from screenproof.appearance import xyz_to_lab
from screenproof.errors import InputError
from screenproof.spectra import emission_xyz, observer, observer_names

RNG = np.random.default_rng(99)
EVEN = np.linspace(0.0, 1.0, 9)
UNEVEN = (np.array([0.0, 0.1, 0.3, 0.6, 1.0]), np.linspace(0.0, 1.0, 6) ** 2, np.linspace(0.0, 1.0, 7))


def dimmed(axes, interpolation="tetrahedral", black=0.2):
    """A display that is not additive: it dims mixtures, as a panel with a limit on its power does."""
    view = standard_display("p3-d65", curve="gamma2.2", luminance=200.0, black=black).seen_by()
    nodes = Lattice(axes).nodes
    xyz = view.to_xyz(nodes)
    load = nodes.mean(axis=1, keepdims=True)
    xyz *= 1.0 - 0.3 * load**2
    return TableModel(axes, xyz.reshape(*(axis.size for axis in axes), 3), interpolation)


def test_tetrahedral_and_trilinear_reading_against_colour_science(colour):
    table = dimmed((EVEN,) * 3)
    drive = RNG.random((2000, 3))
    theirs = colour.algebra.table_interpolation_tetrahedral(drive, table.values)
    np.testing.assert_allclose(table.to_xyz(drive), theirs, rtol=1e-9)
    theirs = colour.algebra.table_interpolation_trilinear(drive, table.values)
    np.testing.assert_allclose(dimmed((EVEN,) * 3, "trilinear").to_xyz(drive), theirs, rtol=1e-9)


def test_trilinear_reading_on_uneven_axes_against_scipy():
    from scipy.interpolate import RegularGridInterpolator

    table = dimmed(UNEVEN, "trilinear")
    drive = RNG.random((2000, 3))
    theirs = RegularGridInterpolator(UNEVEN, table.values)(drive)
    np.testing.assert_allclose(table.to_xyz(drive), theirs, rtol=1e-12)


def test_nodes_are_kept_and_drives_outside_are_held_at_the_faces():
    for interpolation in ("tetrahedral", "trilinear"):
        table = dimmed(UNEVEN, interpolation)
        nodes = Lattice(UNEVEN).nodes
        np.testing.assert_allclose(table.to_xyz(nodes), table.values.reshape(-1, 3), rtol=1e-12)
        np.testing.assert_allclose(
            table.to_xyz(np.array([[1.4, -0.2, 0.5]])), table.to_xyz(np.array([[1.0, 0.0, 0.5]]))
        )


@pytest.mark.parametrize("interpolation", ["tetrahedral", "trilinear"])
@pytest.mark.parametrize(
    "axes",
    [(np.array([0.0, 1.0]),) * 3, (EVEN,) * 3, UNEVEN, (np.linspace(0, 1, 21),) * 3],
    ids=["corners", "even", "uneven", "fine"],
)
def test_inverse_is_exact_for_every_colour_inside(axes, interpolation):
    table = dimmed(axes, interpolation)
    drive = RNG.random((20_000, 3))
    xyz = table.to_xyz(drive)
    back, inside = table.to_drive(xyz)
    assert inside.all()
    assert np.abs(table.to_xyz(back) - xyz).max() < 1e-8
    assert np.abs(back - drive).max() < 1e-6


@pytest.mark.parametrize("interpolation", ["tetrahedral", "trilinear"])
def test_the_tables_surface_is_inside(interpolation):
    table = dimmed((EVEN,) * 3, interpolation)
    face = RNG.random((3000, 3))
    face[np.arange(3000), RNG.integers(0, 3, 3000)] = RNG.integers(0, 2, 3000)
    drive, inside = table.to_drive(table.to_xyz(face))
    assert inside.all()
    assert drive.min() >= 0.0 and drive.max() <= 1.0


@pytest.mark.parametrize("interpolation", ["tetrahedral", "trilinear"])
def test_outside_colours_get_the_near_drive_of_a_search_of_the_surface(interpolation):
    """As near, in CIELAB, as the best of 40,000 points on the faces."""
    table = dimmed((EVEN,) * 3, interpolation)
    white = table.values[-1, -1, -1]
    target = table.to_xyz(RNG.random((300, 3))) * RNG.uniform([0.6, 0.6, 0.6], [1.7, 1.7, 1.7], (300, 3)) + 5.0
    drive, inside = table.to_drive(target)
    assert 20 < (~inside).sum()
    assert drive.min() >= 0.0 and drive.max() <= 1.0
    line = np.linspace(0.0, 1.0, 82)
    u, v = (part.ravel() for part in np.meshgrid(line, line))
    faces = [np.insert(np.stack([u, v], axis=1), axis, end, axis=1) for axis in range(3) for end in (0.0, 1.0)]
    surface = xyz_to_lab(table.to_xyz(np.concatenate(faces)), white)
    out = np.flatnonzero(~inside)
    goal = xyz_to_lab(target[out], white)
    ours = np.linalg.norm(xyz_to_lab(table.to_xyz(drive[out]), white) - goal, axis=1)
    best = np.array([np.linalg.norm(surface - one, axis=1).min() for one in goal])
    assert (ours <= best + 0.02).mean() > 0.97
    assert (ours - best).max() < 0.5


def test_a_table_display_is_seen_with_its_room():
    display = Display("panel", "Panel", "readings", dimmed((EVEN,) * 3)).with_room(300.0, "D65", 0.03)
    view = display.seen_by()
    assert view.matrix is None and view.curves is None
    drive = RNG.random((500, 3))
    back, inside = view.to_drive(view.to_xyz(drive))
    assert inside.all()
    np.testing.assert_allclose(back, drive, atol=1e-7)
    np.testing.assert_allclose(
        view.black[1], dimmed((EVEN,) * 3).values[0, 0, 0, 1] + 0.03 * 300 / np.pi, rtol=1e-9
    )
    doubled = display.with_luminance(2 * display.luminance)
    np.testing.assert_allclose(doubled.model.values, 2 * display.model.values)


def test_a_spectral_table_is_seen_by_every_observer_as_its_spectra_are():
    source = modelled_display("rgb-oled", black=0.1)
    nodes = Lattice((EVEN,) * 3).nodes
    spectra = source.spectrum(nodes) * (1.0 - 0.3 * nodes.mean(axis=1, keepdims=True) ** 2)
    grid = source.spectral_grid
    model = SpectralTable((EVEN,) * 3, spectra.reshape(9, 9, 9, grid.count), grid)
    display = Display("panel", "Panel", "readings", model)
    assert display.spectral
    drive = RNG.random((200, 3))
    for who in observer_names():
        view = display.seen_by(observer(who))
        assert not view.notes
        integrated = emission_xyz(display.spectrum(drive), grid, observer(who))
        np.testing.assert_allclose(view.to_xyz(drive), integrated, rtol=1e-9)
        back, inside = view.to_drive(integrated)
        assert inside.all()
        np.testing.assert_allclose(back, drive, atol=1e-7)
    assert display.with_luminance(123.0).luminance == pytest.approx(123.0)


def test_a_pair_of_functions_is_a_display_within_its_tolerance():
    view = standard_display("srgb", luminance=100.0, black=0.5).seen_by()

    def coarse(xyz):
        return np.round(np.clip(view.to_drive(xyz)[0], 0.0, 1.0) * 255) / 255

    model = ProfileModel(view.to_xyz, coarse, tolerance=0.02)
    display = Display("pair", "Pair", "profile", model)
    seen = display.seen_by()
    drive = RNG.random((500, 3))
    back, inside = seen.to_drive(seen.to_xyz(drive))
    assert inside.all()
    assert np.abs(back - drive).max() <= 0.5 / 255 + 1e-9
    _, inside = seen.to_drive(np.array([[200.0, 200.0, 200.0], [60.0, 10.0, 80.0]]))
    assert not inside.any()
    assert display.with_luminance(250.0).seen_by().white[1] == pytest.approx(250.0)
    table = model.as_table(9)
    nodes = Lattice((EVEN,) * 3).nodes
    np.testing.assert_allclose(table.to_xyz(nodes), view.to_xyz(nodes), rtol=1e-12)


def flat():
    values = np.zeros((2, 2, 2, 3))
    values[1] = 1.0
    TableModel((np.array([0.0, 1.0]),) * 3, values).to_drive(np.ones((1, 3)) * 0.5)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: TableModel((EVEN,) * 3, np.ones((9, 9, 8, 3))), "shape"),
        (lambda: TableModel((EVEN,) * 3, np.full((9, 9, 9, 3), np.nan)), "no numbers"),
        (lambda: TableModel((EVEN,) * 3, np.ones((9, 9, 9, 3))), "not brighter"),
        (lambda: TableModel((EVEN[:-1],) * 3, np.ones((8, 8, 8, 3))), "do not ascend from 0 to 1"),
        (lambda: TableModel((EVEN[::-1],) * 3, np.ones((9, 9, 9, 3))), "do not ascend"),
        (lambda: dimmed((EVEN,) * 3, "cubic"), "cubic"),
        (flat, "flat"),
    ],
)
def test_tables_that_make_no_sense_are_refused(make, says):
    with pytest.raises(InputError) as error:
        make()
    assert says in error.value.problems[0].what and error.value.problems[0].expected
