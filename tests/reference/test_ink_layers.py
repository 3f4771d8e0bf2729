"""Surfaces, transparent layers and Kubelka-Munk against the tables in shared/, to the digits that they give.

The tables of closed formulae were computed outside this project; the mixtures of ``km_mixing_examples`` are the
test values of a public general colour library. A tolerance is half a unit of the last printed digit, and a hair
for the rounding of a printed half.
"""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.spectra import Grid
from screenproof.subtractive import Ink, Pigment, Surface, cloth, ink_from_readings, overprint, paint
from screenproof.subtractive.kubelka_munk import ks, layer, r_inf
from screenproof.subtractive.surface import fresnel, fresnel_diffuse, fresnel_diffuse_internal

SIX = 0.5e-6 + 1e-12
FIVE = 0.5e-5 + 1e-12


def column(rows, name):
    return np.array([float(row[name]) for row in rows])


def test_beer_lambert(published):
    rows = published("beer_lambert")
    assert len(rows) == 16
    for row in rows:
        once, paper, layers = (float(row[c]) for c in ("T_single_pass", "R_paper", "layers"))
        # A transmittance T of one pass is T^2 of the double pass; as many bands as a grid needs.
        ink = Ink("ink", Grid(500.0, 510.0, 10.0), np.full(2, once**2))
        found = overprint([paper, paper], [ink], [layers])
        assert found[0] == pytest.approx(float(row["R"]), abs=SIX)
        density = -np.log10(found[0] / paper)
        assert density == pytest.approx(float(row["D_relative"]), abs=SIX)


def test_product_of_the_transmittances_on_the_stock():
    """R12 = R1 R2 / Rp: 0.30 and 0.55 on 0.85 make 0.1941176. Common practice, no source; the figure is
    computed."""
    grid = Grid(500.0, 510.0, 10.0)
    stock = [0.85, 0.85]
    one, other = (ink_from_readings([r, r], stock, grid, name=n) for r, n in ((0.30, "one"), (0.55, "other")))
    assert overprint(stock, [one, other])[0] == pytest.approx(0.1941176, abs=0.5e-7)
    assert overprint(stock, [other, one])[0] == pytest.approx(0.1941176, abs=0.5e-7)


def test_ks_of_opaque_layers_and_back(published):
    rows = published("kubelka_munk_ks")
    r, expected = column(rows, "R_inf"), column(rows, "K_over_S")
    assert np.abs(ks(r) - expected).max() < SIX
    assert np.abs(r_inf(ks(r), 1.0) - column(rows, "R_back")).max() < SIX


def test_layers_over_a_backing(published):
    rows = published("kubelka_munk_layer")
    k, s, x, backing, expected = (column(rows, name) for name in ("K", "S", "X", "Rg", "R"))
    assert np.abs(layer(k, s, x, backing) - expected).max() < SIX
    notes = [row["note"] for row in rows]
    thick = notes.index("hiding limit R_inf=0.641742")
    assert r_inf(k[thick], s[thick]) == pytest.approx(0.641742, abs=SIX)
    clear = next(i for i, note in enumerate(notes) if note.startswith("S=0"))
    assert layer(k[clear], 0.0, x[clear], backing[clear]) == pytest.approx(
        backing[clear] * np.exp(-2.0 * k[clear] * x[clear]), rel=1e-12
    )


def test_saunderson_both_ways(published):
    rows = published("saunderson")
    geometries = {row["geometry"] for row in rows}
    assert len(geometries) == 3
    for row in rows:
        specular = "excluded" if "excluded" in row["geometry"] else "included"
        surface = Surface(float(row["k1"]), float(row["k2"]), specular)
        inside, outside = float(row["R_internal"]), float(row["R_measured"])
        assert surface.to_measured(inside) == pytest.approx(outside, abs=SIX)
        assert surface.to_internal(surface.to_measured(inside)) == pytest.approx(inside, abs=SIX)
        assert ks(inside) == pytest.approx(float(row["KS_from_internal"]), abs=SIX)
        assert ks(surface.to_measured(inside)) == pytest.approx(float(row["KS_from_measured"]), abs=SIX)


def test_fresnel_values(published):
    for row in published("saunderson_fresnel"):
        n = float(row["n"])
        assert float(fresnel(n)) == pytest.approx(float(row["k1_normal_incidence"]), abs=FIVE)
        assert float(fresnel(n, 45.0)) == pytest.approx(float(row["k1_45deg"]), abs=FIVE)
        assert fresnel_diffuse(n) == pytest.approx(float(row["k1_diffuse_external"]), abs=FIVE)
        assert fresnel_diffuse_internal(n) == pytest.approx(float(row["k2_diffuse_internal"]), abs=FIVE)


def test_two_constant_letdowns(published):
    rows = published("two_constant_mix")
    grid = Grid(500.0, 510.0, 10.0)
    white = Pigment("white", grid, np.full(2, 0.002), np.ones(2))
    colour = Pigment("colour", grid, np.full(2, 4.0), np.full(2, 0.35))
    inside, outside = paint([colour], white), paint([colour], white, Surface(0.04, 0.6))
    for row in rows:
        shares = [float(row["c_pigment"]), float(row["c_white"])]
        k, s = inside.k_s(shares)
        assert k[0] == pytest.approx(float(row["K"]), abs=SIX)
        assert s[0] == pytest.approx(float(row["S"]), abs=SIX)
        assert k[0] / s[0] == pytest.approx(float(row["K_over_S"]), abs=SIX)
        assert inside.reflect(shares)[0] == pytest.approx(float(row["R_inf_internal"]), abs=SIX)
        assert outside.reflect(shares)[0] == pytest.approx(float(row["R_measured_k1_0.04_k2_0.6"]), abs=SIX)
        # The single constant of the same two: K/S of each by itself, added by concentration.
        single = shares[1] * 0.002 + shares[0] * 4.0 / 0.35
        assert single == pytest.approx(float(row["single_constant_K_over_S"]), abs=SIX)


# As the table's column "inputs" gives them.
ROWS = np.array([[1, 0.5, 1, 0.5, 1], [1, 1, 0.25, 0.5, 0.5], [1, 1, 0.75, 0.25, 0.25]])
SCATTERING = np.array([[0.2, 0.4, 0.6, 0.8, 1], [1, 0.8, 0.6, 0.4, 0.2], [0.2, 0.8, 0.2, 0.8, 0.2]])
WIDE = Grid(400.0, 440.0, 10.0)


def test_mixtures_of_a_public_library(published):
    rows = published("km_mixing_examples")
    assert len(rows) == 27
    names = ("one", "two", "three")
    pigments = [Pigment(n, WIDE, k, s) for n, k, s in zip(names, ROWS, SCATTERING, strict=True)]
    dyes = [Pigment(n, WIDE, ks(r), np.zeros(5), "dye") for n, r in zip(names, ROWS, strict=True)]
    ground = Pigment("nothing", WIDE, np.zeros(5), np.ones(5))
    models = {
        "single-constant": cloth(dyes, ground),
        "two-constant": paint(pigments),
        "two-constant + Saunderson (specular excluded) k1=0.033 k2=0.66": paint(
            pigments, surface=Surface(0.033, 0.66, "excluded")
        ),
    }
    assert {row["model"] for row in rows} == set(models)
    for row in rows:
        shares = [float(row[c]) for c in ("c1", "c2", "c3")]
        expected = [float(row[f"R{nm}"]) for nm in (400, 410, 420, 430, 440)]
        assert np.abs(models[row["model"]].reflect(shares) - expected).max() < 2e-15
