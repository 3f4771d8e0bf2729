"""What 300 people see of 1,000 samples beside a screen, against colour-science asked person by person, in one run.

    python benchmarks/population.py                      300 people, 1,000 samples, 5 people for the other side
    python benchmarks/population.py --people 1000 --samples 5000 --few 10

The samples are invented; the screen is a modelled quantum-dot LCD, each person adapted to both whites, so that
both sides have a public call for every step. The other side has no people of its own: it is given the curves of a
few of ours, and its time is scaled to all. Then the same for drive values that minimise the 95th percentile.
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

from screenproof.additive import modelled_display  # noqa: E402
from screenproof.proof import Viewing, crowd, match, robust_match  # noqa: E402
from screenproof.spectra import VISIBLE, Grid, Population, Samples, light, observer, population  # noqa: E402

LIMIT_SECONDS = 5.0


def invented(count: int) -> Samples:
    """Smooth reflectances, 380 to 730 nm by 10 nm."""
    rng, grid = np.random.default_rng(20160), Grid(380.0, 730.0, 10.0)
    centre, width = rng.uniform(400, 700, (count, 1)), rng.uniform(25, 120, (count, 1))
    values = 0.04 + rng.uniform(0.1, 0.75, (count, 1)) * np.exp(-(((grid.wavelengths - centre) / width) ** 2))
    return Samples(tuple(f"sample {i}" for i in range(count)), values, grid)


def peer(samples: Samples, drive: np.ndarray, people: Population, few: int) -> tuple[float, np.ndarray]:
    """Seconds, and CIEDE2000 (n, few), by the public calls of colour-science, all samples at a time."""
    warnings.simplefilter("ignore")
    import colour

    colour.utilities.filter_warnings(True, True)
    nm = VISIBLE.wavelengths
    shape, whole = colour.SpectralShape(380, 730, 10), colour.SpectralShape(360, 830, 10)
    lamp = colour.SpectralDistribution(light("D50").at(nm), nm)
    display = modelled_display("quantum-dot-lcd")
    fine = display.spectral_grid.wavelengths
    screen = display.spectrum(np.vstack([drive, np.ones(3)]))
    found = np.empty((len(samples), few))
    start = time.perf_counter()
    for p in range(few):
        curves = colour.MultiSpectralDistributions(people.curves[p], nm)
        table = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(curves, lamp, whole)
        table = colour.colorimetry.adjust_tristimulus_weighting_factors_ASTME308(table, whole, shape)
        white = lamp.values @ curves.values
        home = colour.XYZ_to_xy(white)
        objects = samples.reflectance @ table / 100.0
        shown = screen @ curves[fine]
        shown, its_white = shown[:-1] / shown[-1, 1], shown[-1] / shown[-1, 1]
        adapted = colour.chromatic_adaptation(
            shown, its_white, white / white[1], method="Von Kries", transform="CAT16"
        )
        labs = (colour.XYZ_to_Lab(side, home) for side in (adapted, objects))
        found[:, p] = colour.delta_E(*labs, method="CIE 2000")
    return time.perf_counter() - start, found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--people", type=int, default=300)
    parser.add_argument("--samples", type=int, default=1000)
    parser.add_argument("--few", type=int, default=5, help="people that the other side is timed on")
    given = parser.parse_args()
    few = min(given.few, given.people)
    samples, display = invented(given.samples), modelled_display("quantum-dot-lcd")
    viewing = Viewing(light("D50"), observer("cie1931"))
    matched = match(samples, display, viewing)
    # The first call makes what is kept: the interpolation of the grid, the white of the light.
    crowd(samples.select([0]), match(samples.select([0]), display, viewing), display, viewing, population(10))

    start = time.perf_counter()
    people = population(given.people, seed=1)
    drawn = time.perf_counter() - start
    start = time.perf_counter()
    seen = crowd(samples, matched, display, viewing, people, whites="own")
    seconds = time.perf_counter() - start
    start = time.perf_counter()
    records = [seen.record(i, 3.0) for i in range(len(samples))]
    recorded = time.perf_counter() - start

    theirs, figures = peer(samples, matched.code / 255.0, people, few)
    worst = float(np.abs(figures - seen.figures[:, :few]).max())
    scaled = theirs / few * given.people
    print(f"{given.people} people, {given.samples:,} samples, {seen.figures.size:,} differences (seconds)")
    print(f"  this package          people {drawn:.2f}  differences {seconds:.2f}  records {recorded:.2f}")
    ratio = scaled / seconds
    print(f"  colour-science        {theirs:.2f} for {few} people, scaled {scaled:.1f}; ratio {ratio:.0f}")
    print(f"  largest difference between the two: {worst:.1g} CIEDE2000")
    print(f"  median {np.median(seen.figures):.2f}, worst age of the first sample {records[0].worst_age:.0f}")

    start = time.perf_counter()
    robust = robust_match(samples, matched, display, viewing, people, cost=1.0)
    print(
        f"  drive values for the population {time.perf_counter() - start:.1f}: mean 95th percentile "
        f"{robust.p95_before.mean():.2f} to {robust.p95_after.mean():.2f}, changed {robust.changed.mean():.0%}"
    )
    print(f"  peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0:.0f} MB")
    wrong = []
    if drawn + seconds > LIMIT_SECONDS and given.people <= 300 and given.samples <= 1000:
        wrong.append(f"over {LIMIT_SECONDS:g} s")
    if worst > 1e-6:
        wrong.append("the two sides differ")
    if wrong:
        print("; ".join(wrong), file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
