"""A press read forwards and backwards, against the plain formula in NumPy, in one run.

    python benchmarks/press.py                   1,000,000 tints, a cube of 33 x 33 x 33 display colours
    python benchmarks/press.py --tints 200000 --cube 17

The press is the invented one of the demo: four channels, 36 bands, a grid of three levels. Forwards:
reflectances of the tints, and XYZ under D50. The other side is the Neugebauer equation with Yule and Nielsen's
n as one writes it down, the 16 areas of Demichel in one expression, one product with the 16 overprints, one
power, one product with the weights; tone values are given to it. It knows nothing of bands that differ in dot
gain, or of cells. Each side works in a process of its own, so that its peak memory is its own. Backwards,
colours of an sRGB display are separated.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

TOP = Path(__file__).parents[1]
sys.path.insert(0, str(TOP))

CHART = TOP / "profiles_demo" / "data" / "carton_press.cgats"
ROUNDS = 3


def tints_of(count: int) -> np.ndarray:
    return np.random.default_rng(12642).random((count, 4))


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def timed(work: Any) -> tuple[dict[str, float], Any]:
    """The shortest of a few runs, by the clock and by the processor (all cores added), and the last answer."""
    best, busiest, answer = np.inf, np.inf, None
    for _ in range(ROUNDS):
        answer = None
        start, busy = time.perf_counter(), time.process_time()
        answer = work()
        best, busiest = min(best, time.perf_counter() - start), min(busiest, time.process_time() - busy)
    return {"seconds": best, "processor": busiest}, answer


def fitted() -> Any:
    from screenproof.formats import read_samples
    from screenproof.subtractive import fit_press

    return fit_press(read_samples(CHART), folds=2)


def ours(count: int, what: str) -> dict[str, Any]:
    """This package. ``what``: curves or xyz; the kernel is compiled and loaded before the clock runs."""
    press, tints = fitted(), tints_of(count)
    work = press.xyz if what == "xyz" else press.predict
    work(tints[: min(count, 50_000)])
    before = peak_mb()
    seconds, answer = timed(lambda: work(tints))
    return {**seconds, "peak_mb": peak_mb(), "before_mb": before, "mean": float(np.mean(answer))}


def plain(count: int, what: str) -> dict[str, Any]:
    """The formula in NumPy, on all tints at once."""
    from screenproof.subtractive import corners

    press, tints = fitted(), tints_of(count)
    n, roots = press.n, press.predict(corners(4)) ** (1.0 / press.n)
    weights = np.asarray(press.weights())
    curves = [(curve.tints, curve.whole) for curve in press.curves]
    before = peak_mb()

    def work() -> np.ndarray:
        share = np.stack([np.interp(tints[:, k], *curves[k]) for k in range(4)], axis=1)
        c, m, y, k = (np.stack([1.0 - share[:, i], share[:, i]], axis=1) for i in range(4))
        areas = np.einsum("nc,nm,ny,nk->ncmyk", c, m, y, k).reshape(-1, 16)
        curve = (areas @ roots) ** n
        return curve @ weights if what == "xyz" else curve

    seconds, answer = timed(work)
    return {**seconds, "peak_mb": peak_mb(), "before_mb": before, "mean": float(np.mean(answer))}


def backwards(side: int) -> dict[str, Any]:
    """A cube of display colours separated, with smooth black and 300 % at most."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.formats import read_samples
    from screenproof.subtractive import TintLimits, fit_press, separate

    press = fit_press(read_samples(TOP / "shared" / "FOGRA39L.txt"), folds=2)
    steps = np.linspace(0.0, 1.0, side)
    drive = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    linear = np.where(drive <= 0.04045, drive / 12.92, ((drive + 0.055) / 1.055) ** 2.4)
    # IEC 61966-2-1 primaries, adapted to D50 by the matrix of ICC profiles.
    matrix = [
        [0.4360747, 0.3850649, 0.1430804],
        [0.2225045, 0.7168786, 0.0606169],
        [0.0139322, 0.0971045, 0.7141733],
    ]
    lab = xyz_to_lab(100.0 * linear @ np.array(matrix).T, press.white())
    limits = TintLimits(3.0, (1.0, 1.0, 1.0, 0.95))
    separate(press, lab[:: max(1, len(lab) // 5000)], limits=limits)
    start, busy = time.perf_counter(), time.process_time()
    found = separate(press, lab, limits=limits, black="smooth")
    return {
        "colours": len(lab),
        "seconds": time.perf_counter() - start,
        "processor_seconds": time.process_time() - busy,
        "printable": int(found.printable.sum()),
        "worst_printable": float(found.de00[found.printable].max()),
        "largest_total": float(found.tints.sum(axis=1).max()),
        "peak_mb": peak_mb(),
    }


def apart(*given: str) -> dict[str, Any]:
    """One side in a process of its own."""
    done = subprocess.run([sys.executable, __file__, "--side", *given], capture_output=True, text=True, check=True)
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tints", type=int, default=1_000_000)
    parser.add_argument("--cube", type=int, default=33)
    parser.add_argument("--side", nargs=3, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.side:
        side, size, what = given.side
        sides: dict[str, Any] = {"ours": ours, "plain": plain}
        answer = backwards(int(size)) if side == "back" else sides[side](int(size), what)
        print(json.dumps(answer))
        return
    size = str(given.tints)
    print(f"{given.tints:,} tints, 4 channels, 36 bands")
    for what in ("curves", "xyz"):
        mine, other = apart("ours", size, what), apart("plain", size, what)
        print(f"  {what}")
        for name, side in (("this package", mine), ("plain NumPy", other)):
            print(
                f"    {name:13} {side['seconds']:6.2f} s, {side['processor']:6.2f} s of the processor, "
                f"{side['peak_mb'] - side['before_mb']:5.0f} MB above {side['before_mb']:.0f}"
            )
        print(
            f"    ratio         {mine['seconds'] / other['seconds']:6.2f} by the clock, "
            f"{mine['processor'] / other['processor']:.2f} by the processor"
        )
    back = apart("back", str(given.cube), "")
    print(f"{back['colours']:,} display colours separated")
    seconds, busy, peak = back["seconds"], back["processor_seconds"], back["peak_mb"]
    print(f"    {seconds:.1f} s, {busy:.1f} s of the processor, {peak:.0f} MB at most")
    print(
        f"    {back['printable']:,} printable, the worst of these {back['worst_printable']:.3f} CIEDE2000 off; "
        f"total at most {100 * back['largest_total']:.1f} %"
    )


if __name__ == "__main__":
    main()
