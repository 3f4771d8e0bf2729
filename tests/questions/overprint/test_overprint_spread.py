"""The doubt of a predicted overprint against the measured one, held against simulated readings of known errors."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from screenproof.proof import Viewing
from screenproof.questions.opening import Open
from screenproof.questions.overprint.printing import InksOnStock, curve_of, inks_of
from screenproof.questions.overprint.question import AskOverprint
from screenproof.questions.overprint.spread import overprint_spread
from screenproof.spectra import Grid, ReflectanceDoubt, Samples, light, observer
from screenproof.subtractive import Surface, Trapping
from tests.ink_scenes import ABSORBANCE, NM, STOCKS

INKS = ("Cyan", "Yellow")
PARTS = [one for size in (1, 2) for one in combinations(INKS, size)]
PARTNERS = ["Yellow again", "Yellow again", "Wet green"]
VIEWING = Viewing(light("D50"), observer("cie1931"))
DOUBT = ReflectanceDoubt(0.001, scale=0.004, zero=0.0005, wavelength_nm=0.1, correlation_nm=30.0, readings=2)
N = 4000


def samples_of(surface, doubt=None):
    inside = {
        "Board": STOCKS["Board"],
        "Cyan": STOCKS["Board"] * np.exp(-ABSORBANCE["Cyan"]),
        "Yellow": STOCKS["Board"] * np.exp(-ABSORBANCE["Yellow"]),
        "Yellow again": STOCKS["Board"] * np.exp(-1.05 * ABSORBANCE["Yellow"]),
        "Wet green": STOCKS["Board"] * np.exp(-ABSORBANCE["Cyan"] - 0.8 * ABSORBANCE["Yellow"]),
    }
    curves = np.stack([surface.to_measured(curve) for curve in inside.values()])
    grid = Grid(float(NM[0]), float(NM[-1]), float(NM[1] - NM[0]))
    return Samples(tuple(inside), reflectance=curves, grid=grid, doubt=doubt, source="wet.csv")


def inks_on(samples, surface, trapping):
    inks = inks_of(samples, INKS, "Board", surface)
    return InksOnStock(curve_of(samples, "Board"), inks, {"Cyan": 0.9}, surface, VIEWING, trapping)


def differences(samples, surface, trapping):
    on = inks_on(samples, surface, trapping)
    pairs = zip(PARTS, PARTNERS, strict=True)
    return np.stack([on.printed(own).lab - on.seen(curve_of(samples, name)).lab for own, name in pairs])


def misread(samples, rng):
    """The readings with errors of DOUBT: its words, written anew (each band's noise, and three causes in
    common)."""
    true, nm = samples.reflectance, samples.grid.wavelengths
    together = np.exp(-np.abs(nm[:, None] - nm) / DOUBT.correlation_nm)
    noise = rng.standard_normal(true.shape) @ np.linalg.cholesky(together).T
    scale, zero, along = rng.standard_normal(3)
    fixed = DOUBT.scale * scale * true + DOUBT.zero * zero
    fixed = fixed + DOUBT.wavelength_nm * along * np.gradient(true, samples.grid.step, axis=1)
    return replace(samples, reflectance=true + fixed + DOUBT.repeatability / np.sqrt(DOUBT.readings) * noise)


@pytest.mark.parametrize("surface", [Surface.NONE, Surface(0.03, 0.5)], ids=["bare", "with a surface"])
@pytest.mark.parametrize("trapping", [None, Trapping({INKS: 0.8})], ids=["", "trapped"])
def test_the_spread_is_that_of_simulated_readings(surface, trapping):
    samples, rng = samples_of(surface, DOUBT), np.random.default_rng(3)
    found = overprint_spread(inks_on(samples, surface, trapping), samples, "Board", PARTS, PARTNERS)
    drawn = np.stack([differences(misread(samples, rng), surface, trapping) for _ in range(N)])
    for i in range(len(PARTS)):
        wanted, had = np.cov(drawn[:, i].T), found.covariance()[i]
        # A standard deviation of N draws is known to 1/sqrt(2 N) = 1.1 %; four times that, and what is not linear.
        np.testing.assert_allclose(np.sqrt(np.diag(had)), np.sqrt(np.diag(wanted)), rtol=0.06)
        size = np.sqrt(np.outer(np.diag(wanted), np.diag(wanted)))
        np.testing.assert_allclose(had / size, wanted / size, atol=0.08)


def test_nothing_is_known_without_a_word_on_the_readings():
    samples = samples_of(Surface.NONE)
    assert overprint_spread(inks_on(samples, Surface.NONE, None), samples, "Board", PARTS, PARTNERS) is None


def test_a_figure_near_its_limit_is_undecided_where_the_readings_are_in_doubt():
    def status(doubt, limit):
        samples = samples_of(Surface.NONE, doubt)
        asked = AskOverprint(samples=samples, stock="Board", inks=INKS, measured="Wet green", limit=limit)
        return asked.ask(Open())

    sure = status(None, None)
    figure = float(sure.de00[-1])
    assert sure.status == "not judged" and figure > 1.0
    assert [status(None, figure + step).status for step in (0.05, -0.05)] == ["pass", "fail"]
    near = status(DOUBT, figure + 0.05)
    (judged,) = near.judged
    assert near.status == "undecided" and judged.low < figure < judged.high
    (finding,) = near.findings()
    assert finding.says.startswith("Undecided whether Cyan + Yellow on Board")
    assert judged.remedy is not None and finding.do == judged.remedy.words
    assert "in brackets: the 95 % interval" in near.text() and "Undecided:" in near.text()
    assert status(DOUBT, 2 * figure).status == "pass" and status(DOUBT, 0.3 * figure).status == "fail"
