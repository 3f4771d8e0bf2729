"""Verdicts with the doubt of the readings, against simulating the readings themselves, in one run.

    python benchmarks/doubt.py                    2,000 pairs, 20 of them simulated with 10,000 readings each
    python benchmarks/doubt.py --pairs 10000 --few 50

The curves are invented, the two of a pair read by two instruments of the class 'production'. The other side is
what one writes with NumPy and colour-science: curves with every error drawn, their Lab, delta_E, and the spread of
it. It is given the weights of light and observer; its time is scaled to all pairs. Its spread must be ours.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
import warnings
from pathlib import Path

import numpy as np

TOP = Path(__file__).parents[1]
sys.path.insert(0, str(TOP))

from screenproof.proof import Decision, Viewing, judge_doubted, pair_spread  # noqa: E402
from screenproof.proof.tolerance import ToleranceSet  # noqa: E402
from screenproof.spectra import (  # noqa: E402
    Grid,
    Samples,
    instrument_class,
    light,
    observer,
    weights,
    white_point,
)

LIMIT_SECONDS, LIMIT = 2.0, 2.0
LIGHT, EYE, GRID = light("D50"), observer("cie1931"), Grid(380.0, 730.0, 10.0)
WHITE, WEIGHTS = white_point(LIGHT, EYE), weights(LIGHT, EYE, GRID)
DOUBT = instrument_class("production").reflectance


def invented(count: int) -> tuple[Samples, Samples]:
    """Smooth reflectances, and the same printed again with up to a tenth more or less ink."""
    rng = np.random.default_rng(1062012)
    centre, width = rng.uniform(400, 700, (count, 1)), rng.uniform(25, 120, (count, 1))
    first = 0.04 + rng.uniform(0.1, 0.75, (count, 1)) * np.exp(-(((GRID.wavelengths - centre) / width) ** 2))
    second = first ** rng.uniform(0.9, 1.1, (count, 1))
    names = tuple(f"sample {i}" for i in range(count))
    return Samples(names, first, GRID, doubt=DOUBT), Samples(names, second, GRID, doubt=DOUBT)


def peer(a: np.ndarray, b: np.ndarray, draws: int) -> tuple[float, np.ndarray]:
    """Seconds, and the standard deviation (n,) of CIEDE2000 over ``draws`` simulated readings of each pair."""
    warnings.simplefilter("ignore")
    import colour

    colour.utilities.filter_warnings(True, True)
    rng, nm = np.random.default_rng(5), GRID.wavelengths
    correlation = np.exp(-np.abs(nm[:, None] - nm[None, :]) / DOUBT.correlation_nm)
    root = float(DOUBT.repeatability) * np.linalg.cholesky(correlation)
    home = colour.XYZ_to_xy(WHITE)
    found = np.empty(len(a))
    start = time.perf_counter()
    for i, pair in enumerate(zip(a, b, strict=True)):
        labs = []
        for curve in pair:
            scale, zero, moved = rng.standard_normal((3, draws, 1))
            read = curve * (1 + DOUBT.scale * scale) + DOUBT.zero * zero
            read += rng.standard_normal((draws, nm.size)) @ root.T + DOUBT.wavelength_nm * moved * np.gradient(
                curve, nm
            )
            labs.append(colour.XYZ_to_Lab(read @ WEIGHTS / 100.0, home))
        found[i] = colour.delta_E(*labs, method="CIE 2000").std()
    return time.perf_counter() - start, found


def judged(a: Samples, b: Samples) -> tuple[float, list]:
    """Seconds, and the verdicts."""
    from screenproof.appearance import xyz_to_lab

    tolerance, conditions = ToleranceSet("contract", pair=LIMIT), Viewing(LIGHT, EYE).conditions()
    start = time.perf_counter()
    labs = [xyz_to_lab(side.reflectance @ WEIGHTS, WHITE) for side in (a, b)]
    spread = pair_spread(a, b, LIGHT, EYE)
    found = judge_doubted(tolerance, "pair", *labs, WHITE, conditions, spread, Decision())
    return time.perf_counter() - start, found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pairs", type=int, default=2000)
    parser.add_argument("--few", type=int, default=20, help="pairs that the other side is timed on")
    parser.add_argument("--draws", type=int, default=10_000)
    given = parser.parse_args()
    a, b = invented(given.pairs)
    # The first call loads what is imported where it is used.
    judged(a.select([0, 1]), b.select([0, 1]))
    seconds, verdicts = judged(a, b)
    figures = np.array([verdict.figure for verdict in verdicts])
    status = [verdict.status for verdict in verdicts]

    # Far from zero, where a standard deviation tells all; near it no side's is the whole answer.
    wide = np.array([verdict.uncertainty for verdict in verdicts])
    far = np.flatnonzero(figures > 3 * wide)[: given.few]
    theirs, spreads = peer(a.reflectance[far], b.reflectance[far], given.draws)
    ratios = spreads / (wide[far] / 1.96)
    scaled = theirs / len(far) * given.pairs
    counts = ", ".join(f"{word} {status.count(word)}" for word in ("pass", "undecided", "fail"))
    print(f"{given.pairs:,} pairs, limit {LIMIT:g}: {counts} (seconds)")
    print(f"  this package    {seconds:.2f}, advice included")
    ratio = scaled / seconds
    print(f"  the other side  {theirs:.2f} for {len(far)} pairs, scaled {scaled:.0f}; ratio {ratio:.0f}")
    print(f"  its spread over ours: {ratios.min():.2f} to {ratios.max():.2f}, mean {ratios.mean():.3f}")
    print(f"  peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0:.0f} MB")
    wrong = []
    if seconds > LIMIT_SECONDS and given.pairs <= 2000:
        wrong.append(f"over {LIMIT_SECONDS:g} s")
    if abs(ratios.mean() - 1) > 0.05:
        wrong.append("the two sides differ")
    if wrong:
        print("; ".join(wrong), file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
