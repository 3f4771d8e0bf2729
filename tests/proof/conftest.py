"""What the tests of this room share: invented curves, and displays of every model."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import Display, TableModel, modelled_display, standard_display
from screenproof.proof import Viewing
from screenproof.spectra import Grid, Samples, light, observer

NM = np.arange(380.0, 731.0, 10.0)


def invented(count, seed=1, strongest=0.85):
    """Invented smooth reflectances: greys, bands and edges, many of them strong."""
    rng = np.random.default_rng(seed)
    centre, width = rng.uniform(400, 700, (count, 1)), rng.uniform(15, 80, (count, 1))
    band = np.exp(-(((NM - centre) / width) ** 2))
    edge = 1.0 / (1.0 + np.exp(-(NM - centre) / (0.3 * width)))
    kind = rng.integers(0, 3, (count, 1))
    shape = np.select([kind == 0, kind == 1], [band, edge], 1.0 - edge)
    low = rng.uniform(0.02, 0.1, (count, 1))
    values = low + (strongest - low) * rng.uniform(0.2, 1.0, (count, 1)) * shape
    return Samples(tuple(f"sample {i}" for i in range(count)), values, Grid.of(NM), source="invented")


def tabled(name="srgb", steps=9, black=0.2):
    """A standard display known only by a table of its XYZ, evenly spaced in drive."""
    view = standard_display(name, black=black).seen_by()
    axis = np.linspace(0.0, 1.0, steps)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    return Display(
        "tabled", "a display by a table", "readings", TableModel((axis, axis, axis), view.to_xyz(nodes))
    )


@pytest.fixture(scope="session")
def samples():
    return invented(60)


@pytest.fixture
def d50():
    return Viewing(light("D50"), observer("cie1931"))


DISPLAYS = {
    "srgb": lambda: standard_display("srgb"),
    "srgb with black": lambda: standard_display("srgb", black=0.3),
    "bt2020 pq": lambda: standard_display("bt2020", curve="pq", luminance=1000.0),
    "bt2020 hlg": lambda: standard_display("bt2020", curve="hlg", luminance=1000.0),
    "in a room": lambda: modelled_display("white-led-lcd").with_room(64.0, "D50", 0.04),
    "laser": lambda: modelled_display("laser"),
    "table": tabled,
}


@pytest.fixture(params=list(DISPLAYS))
def display(request):
    return DISPLAYS[request.param]()
