"""Drive values for a population: no worse a 95th percentile, no dearer than stated, near the best there is."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from screenproof.additive import SpectralTable, modelled_display
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.proof import ToleranceSet, Viewing, crowd, match, robust_match
from screenproof.spectra import Colorimetry, Grid, Samples, light, observer, population

NM = np.arange(380.0, 731.0, 10.0)


def table_of(name, steps=3):
    model = modelled_display(name).model
    axis = np.linspace(0.0, 1.0, steps)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    table = SpectralTable((axis,) * 3, model.spectrum(nodes).reshape(steps, steps, steps, -1), model.grid)
    return replace(modelled_display(name), name="table", model=table)


def repeated(samples, i, times):
    """Sample i as often as there are drive values to try it with."""
    curves = np.repeat(samples.reflectance[i : i + 1], times, axis=0)
    return Samples(tuple(map(str, range(times))), curves, samples.grid)


SCREENS = {
    "phosphor-tube": lambda: modelled_display("phosphor-tube"),
    "led in a room": lambda: modelled_display("white-led-lcd").with_room(100.0, "FL2", 0.04),
    "hlg": lambda: modelled_display("quantum-dot-lcd", curve="hlg", luminance=1000.0, black=0.0),
    "laser": lambda: modelled_display("laser"),
    "table": lambda: table_of("narrow-red-lcd"),
}


@pytest.fixture(scope="module")
def samples(colour):
    """The 24 patches of ISO 17321-1 and six strong curves that few displays can show."""
    curves = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    patches = np.array([np.interp(NM, curve.wavelengths, curve.values) for curve in curves.values()])
    centre = np.array([[430.0], [470.0], [505.0], [530.0], [600.0], [650.0]])
    strong = 0.01 + 0.85 * np.exp(-(((NM - centre) / 18.0) ** 2))
    return Samples(tuple(f"sample {i}" for i in range(30)), np.vstack([patches, strong]), Grid.of(NM))


@pytest.fixture(scope="module")
def people():
    return population(40, seed=2)


@pytest.mark.parametrize("name", SCREENS)
@pytest.mark.parametrize(("cost", "bits"), [(0.0, 8), (1.0, 8), (3.0, 10)])
def test_the_95th_percentile_falls_and_the_cost_is_kept(name, cost, bits, samples, people):
    display, viewing = SCREENS[name](), Viewing(light("D50"), observer("cie1931"))
    matched = match(samples, display, viewing, bits=bits)
    assert matched.in_gamut.any() and not matched.in_gamut.all()
    found = robust_match(samples, matched, display, viewing, people, cost=cost)
    # What is claimed, asked anew of the crowd and of the display.
    before = crowd(samples, matched, display, viewing, people)
    after = crowd(samples, found.match, display, viewing, people)
    assert np.allclose(found.p95_before, before.p95, atol=1e-9)
    assert np.allclose(found.p95_after, after.p95, atol=1e-9)
    assert (after.p95 <= before.p95 + 1e-9).all()
    assert (after.standard <= before.standard + cost + 1e-9).all()
    view = display.seen_by(viewing.observer)
    seen = view.to_xyz(found.match.code / (2.0**bits - 1))
    shown = xyz_to_lab(viewing.bridge(view).to_reference(seen), viewing.white)
    assert np.allclose(found.match.shown_lab, shown, atol=1e-9)
    assert np.allclose(found.match.residual, de2000(matched.lab, shown), atol=1e-9)
    assert np.allclose(found.standard_after, found.match.residual, atol=1e-9)
    # What was not changed is as it was; what was, is a gain. Gamut and excess belong to the display.
    kept = ~found.changed
    assert (found.p95_after[found.changed] < found.p95_before[found.changed]).all()
    assert np.array_equal(found.match.code[kept], matched.code[kept])
    assert np.array_equal(found.match.drive[kept], matched.drive[kept])
    assert found.match.code.min() >= 0 and found.match.code.max() <= 2**bits - 1
    assert found.match.drive.min() >= 0 and found.match.drive.max() <= 1
    assert np.array_equal(found.match.excess, matched.excess) and found.match.bits == bits
    if cost > 0:
        gain = before.p95 - after.p95
        inside = matched.in_gamut
        assert gain[inside].mean() > 0.1 and gain[~inside].mean() > 0.05 and found.changed.mean() > 0.7
        assert np.median(after.standard - before.standard) > 0.05


def test_a_dearer_match_is_no_worse(samples, people):
    display, viewing = modelled_display("laser"), Viewing(light("D50"), observer("cie1931"), basis="absolute")
    matched = match(samples, display, viewing)
    means = [
        robust_match(samples, matched, display, viewing, people, cost=cost).p95_after.mean()
        for cost in (0.0, 0.6, 2.0)
    ]
    assert all(later < earlier - 0.05 for earlier, later in zip(means, means[1:], strict=False))


def test_nothing_better_is_found_by_scipy_or_by_trying_all_codes(samples, people):
    display, viewing = modelled_display("laser"), Viewing(light("D50"), observer("cie1931"))
    some = samples.select([3, 7, 26])
    matched = match(some, display, viewing, bits=16)
    found = robust_match(some, matched, display, viewing, people, cost=1.0)
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    limit = found.standard_before + 1.0
    for i in range(3):

        def p95(drives, i=i):
            drive = np.atleast_2d(drives.T)
            shown = xyz_to_lab(bridge.to_reference(view.to_xyz(drive)), viewing.white)
            seen = crowd(repeated(some, i, len(drive)), matched, display, viewing, people, drive=drive)
            over = np.maximum(de2000(matched.lab[i], shown) - limit[i], 0.0)
            return seen.p95 + 100.0 * over

        near = matched.drive[i]
        bounds = [(max(0.0, d - 0.12), min(1.0, d + 0.12)) for d in near]
        best = differential_evolution(
            p95, bounds, vectorized=True, updating="deferred", popsize=12, maxiter=30, rng=1, polish=False
        )
        assert found.p95_after[i] < best.fun + 0.08
    # At 8 bits, every code within 8 of the match.
    matched = match(some, display, viewing, bits=8)
    found = robust_match(some, matched, display, viewing, people, cost=0.5)
    around = np.array(list(product(range(-8, 9), repeat=3)))
    for i in range(2):
        codes = matched.code[i] + around
        shown = xyz_to_lab(bridge.to_reference(view.to_xyz(codes / 255.0)), viewing.white)
        allowed = codes[de2000(matched.lab[i], shown) <= found.standard_before[i] + 0.5]
        many = repeated(some, i, len(allowed))
        seen = crowd(many, matched, display, viewing, people, drive=allowed / 255.0)
        assert found.p95_after[i] < seen.p95.min() + 0.05


def test_it_works_in_the_metric_and_at_the_depth_that_are_asked_for(samples, people):
    display, viewing = modelled_display("quantum-dot-lcd"), Viewing(light("D50"), observer("cie1964"))
    matched, tolerance = match(samples, display, viewing, bits=8), ToleranceSet("x", "cmc", match=1.0)
    found = robust_match(samples, matched, display, viewing, people, cost=0.7, bits=10, tolerance=tolerance)
    assert found.match.bits == 10
    after = crowd(samples, found.match, display, viewing, people, tolerance=tolerance)
    ten = match(samples, display, viewing, bits=10)
    before = crowd(samples, ten, display, viewing, people, tolerance=tolerance)
    assert np.allclose(found.p95_before, before.p95, atol=1e-9)
    assert np.allclose(found.p95_after, after.p95, atol=1e-9)
    assert (after.standard <= before.standard + 0.7 + 1e-9).all() and after.p95.mean() < before.p95.mean() - 0.1
    again = robust_match(samples, matched, display, viewing, people, cost=0.7, bits=10, tolerance=tolerance)
    assert np.array_equal(found.match.code, again.match.code)


def test_wrong_input_and_what_cannot_be_known(samples, people):
    display, viewing = modelled_display("laser"), Viewing(light("D50"), observer("cie1931"))
    matched = match(samples, display, viewing)
    for cost in (-0.1, np.nan, np.inf):
        with pytest.raises(InputError, match="a cost of"):
            robust_match(samples, matched, display, viewing, people, cost=cost)
    with pytest.raises(InputError, match="bit depth of 9"):
        robust_match(samples, matched, display, viewing, people, bits=9)
    xyz = samples.xyz([viewing.light], [viewing.observer])[:, 0, 0]
    flat = Samples(samples.names, colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    plain = replace(display, model=display.seen_by().model)
    for left, screen in ((flat, display), (samples, plain)):
        found = robust_match(left, matched, screen, viewing, people)
        assert found.refused is not None and found.match is matched and not found.changed.any()
        assert found.p95_after.size == 0
