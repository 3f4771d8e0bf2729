"""Camera sensitivities from CSV."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_camera

NM = np.arange(400, 710, 10)
R, G, B = (np.round(np.exp(-(((NM - peak) / 40.0) ** 2)), 5) for peak in (610, 540, 460))


def write(folder, header, *columns, nm=NM, head=""):
    path = folder / "cam.csv"
    rows = [",".join(repr(v) for v in row) for row in np.column_stack([nm, *columns]).tolist()]
    path.write_text("\n".join([*([head] if head else []), *([header] if header else []), *rows]) + "\n")
    return path


@pytest.mark.parametrize("header", ["", "wavelength,R,G,B", "nm,red,green,blue", "nm,first,second,third"])
def test_three_curves(tmp_path, header):
    camera = read_camera(write(tmp_path, header, R, G, B))
    assert (camera.name, camera.kind) == ("cam", "camera")
    np.testing.assert_array_equal(camera.curves, np.stack([R, G, B], axis=1))
    assert (camera.grid.start, camera.grid.stop, camera.grid.step) == (400.0, 700.0, 10.0)


@pytest.mark.parametrize("header", ["nm,B,G,R", "nm,Blue,Green,Red"])
def test_named_curves_in_any_order(tmp_path, header):
    camera = read_camera(write(tmp_path, header, B, G, R))
    np.testing.assert_array_equal(camera.curves, np.stack([R, G, B], axis=1))


def test_named_curves_among_others(tmp_path):
    camera = read_camera(write(tmp_path, "nm,lens,R,G,B", np.ones(NM.size), R, G, B))
    np.testing.assert_array_equal(camera.curves, np.stack([R, G, B], axis=1))


def test_statements(tmp_path):
    camera = read_camera(
        write(tmp_path, "nm,R,G,B", R, G, B, head="# kind: camera\n# name: table\n# label: A camera")
    )
    assert (camera.name, camera.label) == ("table", "A camera")


def test_a_camera_is_an_observer(tmp_path):
    from screenproof.spectra import Grid, light, weights

    camera = read_camera(write(tmp_path, "nm,R,G,B", R, G, B))
    carried = weights(light("D50"), camera, Grid(400, 700, 10))
    assert carried.shape == (31, 3)
    assert carried[:, 1].sum() == pytest.approx(100.0), "green gives 100 for the perfect diffuser"


def test_mistakes_are_told_together(tmp_path):
    low = np.where(NM == 550, -0.3, R)
    with pytest.raises(InputError) as caught:
        read_camera(write(tmp_path, "nm,R,G,B", low, np.zeros(NM.size), B))
    assert "the red curve is -0.3 at 550 nm" in str(caught.value)
    assert "the green curve has no value above zero" in str(caught.value)
