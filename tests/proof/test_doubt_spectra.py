"""Doubt of readings carried from spectra to Lab: linear propagation against Monte Carlo through the full spectra,
and the stated intervals on spectral readings of known truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from screenproof.additive import standard_display
from screenproof.appearance import adaptation_matrix, de2000, xyz_to_lab
from screenproof.proof import (
    Decision,
    Spread,
    ToleranceSet,
    Viewing,
    corrected_lab,
    doubtful,
    excess_spread,
    judge_doubted,
    light_shift,
    light_spread,
    match,
    match_spread,
    pair_shift_spread,
    pair_spread,
    whole_interval,
)
from screenproof.proof.whole import statistics
from screenproof.spectra import (
    Colorimetry,
    ColorimetryDoubt,
    EmissionDoubt,
    Grid,
    ReflectanceDoubt,
    Samples,
    emission_class,
    light,
    observer,
    white_point,
)

GRID = Grid(400.0, 700.0, 10.0)
NM = GRID.wavelengths
D50, A, EYE = light("D50"), light("A"), observer("cie1931")
VIEWING = Viewing(D50, EYE)
DOUBT = ReflectanceDoubt(0.002, correlation_nm=25.0, scale=0.006, zero=0.001, wavelength_nm=0.4, readings=2)


def curves(seed, count):
    rng = np.random.default_rng(seed)
    edge, width = rng.uniform(450.0, 640.0, (count, 1)), rng.uniform(15.0, 60.0, (count, 1))
    step = 0.5 + 0.5 * np.tanh((NM - edge) / width)
    return 0.08 + 0.6 * np.where(rng.random((count, 1)) < 0.5, step, 1.0 - step)


def samples(values, doubt=DOUBT, **more):
    return Samples(tuple(f"s{i}" for i in range(len(values))), values, GRID, doubt=doubt, **more)


def read(values, doubt, rng, fixed=None):
    """Readings of curves (n, w), drawn as the model says but in a way of their own."""
    n, readings = len(values), np.broadcast_to(doubt.readings, (len(values),))
    rho = np.exp(-GRID.step / doubt.correlation_nm)
    noise = np.empty((n, NM.size))
    noise[:, 0] = rng.standard_normal(n)
    for band in range(1, NM.size):  # an autoregression of the first order has just that correlation
        noise[:, band] = rho * noise[:, band - 1] + np.sqrt(1.0 - rho**2) * rng.standard_normal(n)
    noise *= doubt.repeatability / np.sqrt(readings)[:, None]
    s, z, d = rng.standard_normal((3, n, 1)) if fixed is None else fixed
    # A shift in wavelength takes the slope of a cubic spline through the bands, not that of differences.
    bent = values + d * doubt.wavelength_nm * CubicSpline(NM, values, axis=1)(NM, 1)
    return bent * (1.0 + s * doubt.scale) + z * doubt.zero + noise


def covariance_of(draws):
    return np.cov(draws.T)


def close(found, drawn, share=0.06):
    """Each element within a share of the larger of its two standard deviations' product."""
    scale = np.sqrt(np.outer(np.diag(drawn), np.diag(drawn)))
    assert np.abs(found - drawn).max() < share * scale.max()
    assert np.abs((found - drawn) / scale).max() < 2.5 * share


def test_light_shift_and_pairs_are_those_of_draws_through_the_spectra():
    rng, n = np.random.default_rng(1), 20_000
    a, b = curves(2, 2)[[0]], curves(2, 2)[[0]] + 0.02 * np.sin(NM / 40.0)
    whites = [white_point(lamp, EYE) for lamp in (D50, A)]
    many = np.repeat(a, n, axis=0), np.repeat(b, n, axis=0)
    shared = rng.standard_normal((3, n, 1))
    seen = [samples(read(side, DOUBT, rng, shared), None) for side in many]
    xyz = [[side.xyz([lamp], [EYE])[:, 0, 0] for lamp in (D50, A)] for side in seen]

    found = light_spread(samples(a), D50, A, EYE).covariance()[0]
    moved = light_shift(seen[0], D50, [A], [EYE])
    close(found, covariance_of(moved.lab[:, 0, 0] - moved.lab_reference[:, 0]))

    one = [samples(side, replace(DOUBT, instrument="press room")) for side in (a, b)]
    for correction in ("multiplicative", "additive", "none"):
        found = pair_shift_spread(*one, D50, A, EYE, correction).covariance()[0]
        corrected = corrected_lab(xyz[0][0], xyz[1][0], xyz[1][1], *whites, correction)
        close(found, covariance_of(corrected - xyz_to_lab(xyz[0][1], whites[1])))

    found = pair_spread(*one, D50, EYE)
    close(
        found.covariance()[0], covariance_of(xyz_to_lab(xyz[1][0], whites[0]) - xyz_to_lab(xyz[0][0], whites[0]))
    )
    # The same pair by two instruments: what the instruments bring adds up instead of cancelling.
    two = [samples(side, replace(DOUBT, instrument=name)) for side, name in ((a, "one"), (b, "two"))]
    apart = pair_spread(*two, D50, EYE)
    assert np.trace(apart.parts[0].fixed[0]) > 10.0 * np.trace(found.parts[2].fixed[0])
    seen = [read(side, DOUBT, rng) for side in many]
    lab = [xyz_to_lab(samples(side, None).xyz([D50], [EYE])[:, 0, 0], whites[0]) for side in seen]
    close(apart.covariance()[0], covariance_of(lab[1] - lab[0]))
    # Pairs within one file were read by one instrument, also without its name.
    same = samples(np.concatenate([a, b]), DOUBT, source="strip.csv")
    assert pair_spread(same.select([0]), same.select([1]), D50, EYE).parts[2].name == "both"
    assert len(pair_spread(samples(a), samples(b), D50, EYE).parts) == 2, "two unnamed sets are two instruments"


def test_the_screen_is_that_of_draws_of_luminance_and_chromaticity():
    """Readings of colour and white drawn as luminance and x, y, and put through the basis."""
    rng, n = np.random.default_rng(4), 20_000
    doubt = EmissionDoubt(0.004, 0.0006, 0.03, 0.002, model_de=0.0, readings=3)
    display = replace(standard_display("srgb"), doubt=doubt)
    one = samples(curves(9, 1), None)
    viewing = replace(VIEWING, basis="white")
    matched = match(one, display, viewing)
    found = match_spread(one, matched, display, viewing)
    assert [part.name for part in found.parts] == ["screen"]

    view = display.seen_by(EYE)
    colour, white = view.to_xyz(matched.code / 255.0)[0], view.white
    always = rng.standard_normal((n, 3)) * [0.03, 0.002, 0.002]

    def reading(xyz):
        error = always + rng.standard_normal((n, 3)) * [0.004, 0.0006, 0.0006] / np.sqrt(3.0)
        x, y = xyz[0] / xyz.sum() + error[:, 1], xyz[1] / xyz.sum() + error[:, 2]
        big = xyz[1] * (1.0 + error[:, 0])
        return np.stack([big * x / y, big, big * (1.0 - x - y) / y], axis=1)

    colours, whites = reading(colour), reading(white)
    lab = np.array(
        [
            xyz_to_lab(np.linalg.solve(adaptation_matrix(viewing.white, w), c), viewing.white)
            for c, w in zip(colours[:4000], whites[:4000], strict=True)
        ]
    )
    close(found.covariance()[0], covariance_of(lab), share=0.1)
    # More readings of the screen take the random share down, and nothing else.
    more = match_spread(one, matched, replace(display, doubt=replace(doubt, readings=12)), viewing)
    assert found.covariance({"screen": 9}) == pytest.approx(more.covariance())
    # What the model misses is told as a mean CIEDE2000, and is one.
    lost = match_spread(one, matched, replace(display, doubt=EmissionDoubt(model_de=0.8)), viewing)
    moved = matched.shown_lab + rng.multivariate_normal(np.zeros(3), lost.covariance()[0], n)
    assert de2000(matched.shown_lab, moved).mean() == pytest.approx(0.8, rel=0.03)


def test_the_interval_holds_the_truth_of_spectral_readings():
    """10,000 readings of a sample against its screen match, instrument and screen both in doubt, at four
    distances: band noise that goes together, and agreement errors, all the way from the curve to CIEDE2000."""
    rng, n = np.random.default_rng(6), 10_000
    display = replace(standard_display("srgb"), doubt=replace(emission_class("production").emission, model_de=0.2))
    truth = samples(curves(12, 6)[[3]])
    matched = match(truth, display, VIEWING, bits=16)
    screen = match_spread(replace(truth, doubt=None), matched, display, VIEWING)
    tolerance = ToleranceSet("t", "de00", match=1.0)
    held = []
    for lift in (0.0, 0.006, 0.02, 0.1):
        base = truth.reflectance * (1.0 + lift) + lift * 0.02
        shown = matched.shown_lab + rng.multivariate_normal(np.zeros(3), screen.covariance()[0], n)
        readings = samples(read(np.repeat(base, n, axis=0), DOUBT, rng), DOUBT)
        lab = xyz_to_lab(readings.xyz([D50], [EYE])[:, 0, 0], VIEWING.white)
        many = replace(matched, code=np.repeat(matched.code, n, axis=0))
        spread = match_spread(readings, many, display, VIEWING)
        found = doubtful(tolerance, shown, lab, VIEWING.white, VIEWING.conditions(), spread, Decision())
        true = xyz_to_lab(samples(base).xyz([D50], [EYE])[:, 0, 0], VIEWING.white)
        distance = float(de2000(matched.shown_lab, true)[0])
        held.append((distance, float(((found.low <= distance) & (distance <= found.high)).mean())))
    assert held[0][0] < 0.01 < held[1][0] < held[2][0] < held[3][0]
    assert all(0.93 <= coverage <= 0.97 for _, coverage in held), held


def test_a_sample_deep_inside_the_gamut_has_no_doubt_of_its_excess():
    display = standard_display("srgb")
    values = np.stack([np.full(NM.size, 0.3), np.where(NM > 605.0, 0.9, 0.01), np.where(NM > 560.0, 0.55, 0.02)])
    own = samples(values, replace(DOUBT, readings=1))
    matched = match(own, display, VIEWING)
    spread = excess_spread(own, matched, display, VIEWING)
    assert matched.in_gamut.tolist()[:2] == [True, False]
    assert np.all(spread.covariance()[0] == 0.0) and np.trace(spread.covariance()[1]) > 0.0
    assert spread.covariance()[1] == pytest.approx(
        match_spread(own, matched, display, VIEWING).covariance()[1], rel=1.0
    )
    assert excess_spread(samples(values, None), matched, display, VIEWING) is None


def test_samples_of_lab_only_bring_their_doubt_as_it_stands():
    xyz = np.array([[20.0, 22.0, 10.0], [30.0, 28.0, 20.0]])
    own = Samples(
        ("a", "b"), colorimetry=Colorimetry(xyz, "D50", "cie1931"), source="lab.csv",
        doubt=ColorimetryDoubt(np.array([0.1, 0.2]), 0.3, readings=np.array([1, 4])),
    )  # fmt: skip
    spread = pair_spread(own.select([0]), own.select([1]), D50, EYE)
    # One instrument: its agreement cancels wholly, and 0.1^2 + 0.2^2 / 4 are left.
    assert spread.covariance()[0] == pytest.approx(0.02 * np.eye(3), abs=1e-9)
    display = standard_display("srgb")
    against = match_spread(own, match(own, display, VIEWING), display, VIEWING)
    assert against.covariance()[1] == pytest.approx((0.01 + 0.09) * np.eye(3), abs=1e-9)


def test_a_whole_set_by_one_instrument():
    """The mean of 24 figures of which half of the doubt is shared; at least so the 95th percentile and worst."""
    rng, sets, n = np.random.default_rng(10), 80, 24
    tolerance, decision = ToleranceSet("t", "de00", mean=1.0), Decision(draws=200)
    base = np.column_stack([rng.uniform(30, 80, n), rng.uniform(-40, 40, n), rng.uniform(-40, 40, n)])
    truth = base + rng.standard_normal((n, 3)) * 0.8
    values = curves(20, n)
    spread = light_spread(samples(values), D50, A, EYE)
    part = replace(
        spread.parts[0],
        random=np.broadcast_to(0.05 * np.eye(3), (n, 3, 3)),
        modes=np.broadcast_to(np.sqrt(0.05) * np.eye(3), (n, 3, 3)),
    )
    spread = Spread((part,))
    true = statistics(de2000(base, truth))
    errors = spread.draws(sets, 77)
    assert np.cov(errors[:, 0].T) == pytest.approx(0.1 * np.eye(3), abs=0.06)
    assert np.corrcoef(errors[:, 0, 0], errors[:, 5, 0])[0, 1] == pytest.approx(0.5, abs=0.25)
    held = np.zeros(3)
    for error in errors:
        found = whole_interval(
            tolerance, base, truth + error, VIEWING.white, VIEWING.conditions(), spread, decision
        )
        held += [
            found[key][0] <= t <= found[key][1] for key, t in zip(("mean", "p95", "worst"), true, strict=True)
        ]
    # 80 sets tell a share of 0.95 within 0.05 (two standard deviations).
    assert np.all(held / sets >= 0.9) and held[0] < sets, held / sets
    assert whole_interval(tolerance, base, truth, VIEWING.white, VIEWING.conditions(), None, decision) is None
    two = Spread.joined([spread, Spread.nothing(3)])
    assert len(two) == n + 3 and np.all(two.covariance()[-3:] == 0.0)
    assert two.select([0]).covariance() == pytest.approx(spread.covariance()[:1])


@pytest.mark.parametrize("bits", [8, 12])
def test_a_match_made_from_its_reading_is_as_doubtful_as_the_reading(bits):
    """The residual is small because the codes follow the reading, however wrong that is. 6,000 readings of a known
    truth, each matched for itself: the interval holds what the true object and its patch differ by, and of those
    that pass at most the risk are wrong."""
    truth = curves(21, 6)
    rng = np.random.default_rng(22)
    doubt = replace(DOUBT, readings=1)
    known = samples(truth, doubt)
    display = standard_display("p3-d65")
    inside = match(known, display, VIEWING, 16).in_gamut
    truth = np.repeat(truth[inside], 6000 // int(inside.sum()), axis=0)
    readings = samples(np.clip(read(truth, doubt, rng), 0.0, None), doubt)
    matched = match(readings, display, VIEWING, bits)
    spread = match_spread(readings, matched, display, VIEWING)
    true_lab = xyz_to_lab(samples(truth).xyz([D50], [EYE])[:, 0, 0], VIEWING.white)
    real = de2000(true_lab, matched.shown_lab)
    shown = (matched.lab, matched.shown_lab, VIEWING.white, VIEWING.conditions(), spread, Decision(draws=400))
    limit = float(np.quantile(real, 0.9))
    for level in (0.5 * limit, limit, 1.3 * limit):
        tolerance = ToleranceSet("t", match=level)
        found = judge_doubted(tolerance, "match", *shown, moved="reference", follows=True, cures=False)
        passed = np.array([v.status == "pass" for v in found])
        assert (real[passed] > level).sum() <= 0.05 * max(passed.sum(), 1)
    assert passed.mean() > 0.3, "something must pass for the last to mean anything"
    inside_it = np.mean([v.low <= one <= v.high for v, one in zip(found, real, strict=True)])
    assert 0.93 <= inside_it <= 0.975
    # And the residual that was read says next to nothing of it.
    assert np.median(matched.residual) < 0.3 * np.median(real) or bits == 8
