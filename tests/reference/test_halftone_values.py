"""Halftones against published and computed values: shared/halftones.csv, shared/fogra39_tvi.csv, FOGRA39L itself.

Each row of the tables names its source. Tolerances are half a unit of the last printed digit.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from screenproof.appearance import lab_to_xyz, xyz_to_lab
from screenproof.formats import read_samples
from screenproof.spectra import light, observer, white_point
from screenproof.subtractive import (
    coverage_from_density,
    demichel,
    neugebauer,
    process_tone_value,
    spot_tone_value,
)

SHARED = Path(__file__).parents[2] / "shared"
WHITE = white_point(light("D50"), observer("cie1931"))
CMY = ("W", "Y", "M", "R", "C", "G", "B", "CMY")
"""The overprints of C, M, Y in the order of halftone.corners, by the names of the table."""


@pytest.fixture(scope="module")
def fogra39():
    return read_samples(SHARED / "FOGRA39L.txt")


def rows_of(published, kind):
    rows = [row for row in published("halftones") if row["kind"] == kind]
    assert rows
    return rows


def test_murray_davies_and_yule_nielsen_from_densities(published):
    rows = rows_of(published, "density")
    assert len(rows) == 12
    for row in rows:
        densities = [float(row[f"{name}_density"]) for name in ("tint", "stock", "solid")]
        found = float(coverage_from_density(*densities, n=float(row["n"])))
        assert found == pytest.approx(float(row["coverage"]), abs=5e-7)


def test_demichel_areas(published):
    for row in rows_of(published, "demichel"):
        areas = demichel([float(row[ink]) for ink in "cmy"])
        assert areas == pytest.approx([float(row[name]) for name in CMY], abs=1e-12)


def test_neugebauer_from_the_solids_of_fogra51(published):
    """The table's XYZ white is D50 as 96.422, 100, 82.521; its four decimals hold for Lab of that white."""
    white = np.array([96.422, 100.0, 82.521])
    names = {"W": "paper", "R": "R (M+Y)", "G": "G (C+Y)", "B": "B (C+M)"}
    solids = {
        row["patch"]: [float(row[axis]) for axis in ("L", "a", "b")]
        for row in published("iso12647_aims")
        if row["substrate"] == "PS1 premium coated (FOGRA51 data set)"
    }
    lab = np.array([solids[names.get(name, name)] for name in CMY])
    for row in rows_of(published, "neugebauer"):
        tints = [float(row[ink]) for ink in "cmy"]
        found = xyz_to_lab(neugebauer(tints, lab_to_xyz(lab, white), float(row["n"])), white)
        assert found == pytest.approx([float(row[axis]) for axis in ("L", "a", "b")], abs=2e-3)


def test_tone_values_of_fogra39(fogra39, published):
    """The table was computed from a profile of the same data, so it agrees to its interpolation: 0.5 %."""
    device, xyz = fogra39.device.values, fogra39.colorimetry.xyz
    where = {tuple(np.round(100 * row, 2)): i for i, row in enumerate(device)}

    def patch(ink, tone):
        return xyz[where[tuple(tone if name == ink else 0.0 for name in "CMYK")]]

    rows = published("fogra39_tvi")
    assert len(rows) == 16
    for row in rows:
        ink, tone = row["ink"], float(row["tone_pct"])
        found = process_tone_value(patch(ink, tone), patch(ink, 0.0), patch(ink, 100.0), ink)
        assert 100 * float(found) == pytest.approx(float(row["tone_value"]), abs=0.5)


def test_tone_value_increase_of_the_standard_at_40_percent(fogra39):
    """ISO 12647-2:2004 curves A and B: 13 % for C, M, Y and 16 % for K at 40 % (from memory), give or take 1 %."""
    device, xyz = fogra39.device.values, fogra39.colorimetry.xyz
    where = {tuple(np.round(100 * row, 2)): i for i, row in enumerate(device)}
    for k, (ink, increase) in enumerate(zip("CMYK", (13.0, 13.0, 13.0, 16.0), strict=True)):
        values = []
        for tone in (40.0, 0.0, 100.0):
            tints = [0.0] * 4
            tints[k] = tone
            values.append(xyz[where[tuple(tints)]])
        assert 100 * float(process_tone_value(*values, ink)) - 40.0 == pytest.approx(increase, abs=1.1)


def test_the_solids_of_fogra39_are_the_aims_of_the_standard(fogra39, published):
    aims = {
        row["patch"]: [float(row[axis]) for axis in ("L", "a", "b")]
        for row in published("iso12647_aims")
        if row["substrate"].endswith("(= FOGRA39 condition)") and row["obtained"].startswith("found")
    }
    tints = {
        "paper": (0, 0, 0, 0),
        "C": (1, 0, 0, 0),
        "M": (0, 1, 0, 0),
        "Y": (0, 0, 1, 0),
        "K": (0, 0, 0, 1),
        "R (M+Y)": (0, 1, 1, 0),
        "G (C+Y)": (1, 0, 1, 0),
        "B (C+M)": (1, 1, 0, 0),
        "CMY": (1, 1, 1, 0),
    }
    assert set(tints) <= set(aims)
    lab = xyz_to_lab(fogra39.colorimetry.xyz, WHITE)
    device = fogra39.device.values
    for patch, inks in tints.items():
        found = lab[(device == np.array(inks)).all(axis=1)]
        assert len(found) and np.abs(found - aims[patch]).max() <= 0.05


def test_spot_tone_value_from_the_formula_of_the_standard(fogra39):
    """V = 116 f(X/Xn) - 16 of each value, written out, on the XYZ that the file prints; the reader takes its Lab.

    ISO 20654:2017 (formula from memory). Both columns carry two decimals, so the tone values agree to 0.001.
    """
    text = (SHARED / "FOGRA39L.txt").read_text(encoding="ascii")
    rows = [line.split() for line in text.split("BEGIN_DATA\n")[1].splitlines() if line[:1].isdigit()]
    table = np.array([[float(cell) for cell in row] for row in rows])
    for channel in range(1, 5):
        others = [k for k in range(1, 5) if k != channel]
        ramp = np.flatnonzero((table[:, others] == 0).all(axis=1))
        ramp = ramp[np.argsort(table[ramp, channel], kind="stable")]
        ratio = table[ramp, 5:8] / WHITE
        cube = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), (841 / 108) * ratio + 4 / 29)
        v = 116.0 * cube - 16.0
        expected = np.sqrt(((v - v[0]) ** 2).sum(axis=1) / ((v[-1] - v[0]) ** 2).sum())
        xyz = fogra39.colorimetry.xyz[ramp]
        assert spot_tone_value(xyz, xyz[0], xyz[-1], WHITE) == pytest.approx(expected, abs=1e-3)
        assert (np.diff(expected) >= 0.0).all() and expected[-1] == 1.0
