"""Match, gamut and shift of very many reflectances: this package against colour-science calls, in one run.

    python benchmarks/proof_speed.py                  100,000 samples, 12 lights, 3 observers
    python benchmarks/proof_speed.py --samples 20000  quicker

Each side works in its own process, one after the other, on the same invented reflectances (36 bands), and reports
the time of each part and its peak memory. What each side does stands in benchmarks/README.md. The script ends
with 1 when the two sides do not agree, for then their times mean nothing.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

LIGHTS = ("D50", "D65", "A", "C", "FL2", "FL7", "FL11", "FL3.12", "LED-B1", "LED-B3", "LED-RGB1", "HP1")
OBSERVERS = ("cie1931", "cie1964", "cie2015-2")
VIEWING, OWN = "D50", "cie1931"
STANDARDS = ("srgb", "bt709", "p3-d65", "bt2020")
BITS = 8
CALLED = 1000
NM = np.arange(380.0, 731.0, 10.0)


def reflectances(count: int, seed: int = 7) -> np.ndarray:
    """Invented reflectances (n, 36): sums of two smooth bands, edges and greys, as inks and paints have."""
    rng = np.random.default_rng(seed)
    values = np.full((count, NM.size), 0.03)
    for _ in range(2):
        centre, width = rng.uniform(380, 730, (count, 1)), rng.uniform(20, 120, (count, 1))
        band = np.exp(-(((NM - centre) / width) ** 2))
        edge = 1.0 / (1.0 + np.exp(-(NM - centre) / (0.25 * width)))
        values += rng.uniform(0.0, 0.45, (count, 1)) * np.where(rng.random((count, 1)) < 0.5, band, edge)
    return values


class Clock:
    """Seconds by part, and the processor's seconds over all cores by part."""

    def __init__(self) -> None:
        self.parts: dict[str, float] = {}
        self.processor: dict[str, float] = {}

    def __call__(self, part: str, work: Callable[[], Any]) -> Any:
        start, busy = time.perf_counter(), time.process_time()
        answer = work()
        self.parts[part] = self.parts.get(part, 0.0) + time.perf_counter() - start
        self.processor[part] = self.processor.get(part, 0.0) + time.process_time() - busy
        return answer


def ours(values: np.ndarray) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """The three questions as a user of this package asks them."""
    from screenproof.additive import modelled_display
    from screenproof.proof import Viewing, gamut, match, screen_shift
    from screenproof.spectra import Grid, Samples, light, observer

    samples = Samples(tuple(f"s{i}" for i in range(len(values))), values, Grid.of(NM))
    display = modelled_display("white-led-lcd", black=0.0)
    viewing = Viewing(light(VIEWING), observer(OWN))
    lights, observers = [light(name) for name in LIGHTS], [observer(name) for name in OBSERVERS]
    clocks = []
    for _ in range(2):
        clock = Clock()
        matched = clock("match", lambda: match(samples, display, viewing, BITS))
        found = clock("gamut", lambda matched=matched: gamut(samples, display, viewing, matched=matched))
        moved = clock(
            "shift",
            lambda matched=matched: screen_shift(samples, matched, display, viewing, lights, observers),
        )
        clocks.append(clock)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    # Timed once more by itself, to be compared with and without: the search for the nearest colour.
    from screenproof.proof import nearest, reach_of

    view = display.seen_by(viewing.observer)
    reach = reach_of(view, viewing.bridge(view), viewing.white)
    clock = Clock()
    clock("nearest", lambda: nearest(matched.lab[~matched.in_gamut], reach))
    report = {
        "first": clocks[0].parts,
        "warm": clocks[1].parts,
        "processor": sum(clocks[1].processor.values()),
        "nearest": clock.parts["nearest"],
        "outside": int((~matched.in_gamut).sum()),
        "peak_mb": memory,
    }
    answers = {
        "drive": matched.drive,
        "inside": matched.in_gamut,
        "code": matched.code,
        "residual": matched.residual,
        "excess": matched.excess,
        "suffices": np.array([[name in names for name in STANDARDS] for names in found.suffices]),
        "de00": moved.de00,
        "deab": moved.deab,
        "cam16ucs": moved.cam16ucs,
    }
    return report, answers


def peer(values: np.ndarray, subset: int) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """The same with the public calls of colour-science, vectorised as far as they go, in bounded pieces."""
    warnings.simplefilter("ignore")
    import colour
    from scipy.optimize import minimize

    from screenproof.additive import modelled_display
    from screenproof.spectra import VISIBLE, light, observer

    colour.utilities.filter_warnings(True, True)
    # The inputs of both sides are the same curves: lights, observers and the display's primaries.
    shape = colour.SpectralShape(380, 730, 10)
    fine = colour.SpectralShape(360, 830, 1)
    nm = VISIBLE.wavelengths
    curves = {name: colour.MultiSpectralDistributions(observer(name).at_1nm, nm) for name in OBSERVERS}
    lamps = {name: colour.SpectralDistribution(light(name).at(nm), nm) for name in LIGHTS}
    assert fine == curves[OWN].shape
    display = modelled_display("white-led-lcd", black=0.0)
    gamma = 2.2
    clock = Clock()

    def weights(lamp: str, who: str) -> np.ndarray:
        whole = colour.SpectralShape(360, 830, 10)
        factors = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(curves[who], lamps[lamp], whole)
        return np.asarray(colour.colorimetry.adjust_tristimulus_weighting_factors_ASTME308(factors, whole, shape))

    def white(lamp: str, who: str) -> np.ndarray:
        xyz = lamps[lamp].values @ curves[who].values
        return xyz / xyz[1]

    tables = clock("weights", lambda: {(lamp, who): weights(lamp, who) for lamp in LIGHTS for who in OBSERVERS})
    whites = {key: white(*key) for key in tables}
    home = whites[VIEWING, OWN]
    home_xy = colour.XYZ_to_xy(home)

    def space_for(who: str) -> Any:
        primaries = display.seen_by(observer(who)).primaries
        return colour.RGB_Colourspace(
            "display",
            colour.XYZ_to_xy(primaries),
            colour.XYZ_to_xy(primaries.sum(axis=0)),
            use_derived_matrix_RGB_to_XYZ=True,
            use_derived_matrix_XYZ_to_RGB=True,
            cctf_encoding=lambda x: colour.models.gamma_function(x, 1 / gamma, "Mirror"),
            cctf_decoding=lambda x: colour.models.gamma_function(x, gamma, "Mirror"),
        )

    space = space_for(OWN)
    standards = [colour.RGB_COLOURSPACES[n] for n in ("sRGB", "ITU-R BT.709", "Display P3", "ITU-R BT.2020")]

    def lab_of(xyz: np.ndarray, to_xy: np.ndarray = home_xy) -> np.ndarray:
        return np.asarray(colour.XYZ_to_Lab(xyz, to_xy))

    def shown(drive: np.ndarray) -> np.ndarray:
        xyz = colour.RGB_to_XYZ(
            drive, space, home_xy, chromatic_adaptation_transform="CAT16", apply_cctf_decoding=True
        )
        return lab_of(xyz)

    def to_drive(xyz: np.ndarray) -> np.ndarray:
        return np.asarray(
            colour.XYZ_to_RGB(
                xyz, space, home_xy, chromatic_adaptation_transform="CAT16", apply_cctf_encoding=True
            )
        )

    # Its own call for many spectra by the same standard, on a subset; the rest works with the weights at once.
    few = values[:CALLED]
    spectra = colour.MultiSpectralDistributions(few.T, shape.wavelengths)

    def called() -> np.ndarray:
        return np.asarray(
            colour.msds_to_XYZ(spectra, cmfs=curves[OWN], illuminant=lamps[VIEWING], method="ASTM E308")
        )

    by_call = clock("XYZ by call, subset", called)
    xyz = clock("match", lambda: values @ tables[VIEWING, OWN] / 100.0)
    lab = clock("match", lambda: lab_of(xyz))
    raw = clock("match", lambda: to_drive(xyz))
    inside = np.all((raw >= -1e-9) & (raw <= 1 + 1e-9), axis=1)

    # The nearest colour has no call: SciPy's bounded minimiser on CIEDE2000, from the clipped values.
    outside = np.flatnonzero(~inside)
    drive = np.clip(raw, 0.0, 1.0)
    chosen = (
        outside[np.linspace(0, len(outside) - 1, min(subset, len(outside))).astype(int)] if len(outside) else []
    )

    def search() -> np.ndarray:
        ends = []
        for i in chosen:

            def distance(d: np.ndarray, i: int = int(i)) -> float:
                return float(colour.delta_E(lab[i], shown(d), method="CIE 2000"))

            ends.append(minimize(distance, drive[i], bounds=[(0.0, 1.0)] * 3, method="L-BFGS-B").fun)
        return np.array(ends)

    excess = clock("nearest, subset", search)

    # The fastest way that its calls allow: a grid on the faces for all samples at once, then 26 neighbours at
    # halved steps. It has one start only, so how far it stays behind is printed.
    def grid_search() -> np.ndarray:
        even = np.linspace(0.0, 1.0, 17)
        flat = np.stack(np.meshgrid(even, even), axis=-1).reshape(-1, 2)
        nodes = np.concatenate([np.insert(flat, axis, end, axis=1) for axis in range(3) for end in (0.0, 1.0)])
        node_lab = shown(nodes)
        around = np.stack(np.meshgrid(*([-1, 0, 1],) * 3, indexing="ij"), axis=-1).reshape(-1, 3)
        found = []
        for first in range(0, len(outside), 2000):
            wanted = lab[outside[first : first + 2000]][:, None]
            ends = nodes[colour.delta_E(wanted, node_lab, method="CIE 2000").argmin(axis=1)]
            rows = np.arange(len(ends))
            for step in 0.5 ** np.arange(5, 15):
                tried = np.clip(ends[:, None] + step * around, 0.0, 1.0)
                distance = colour.delta_E(wanted, shown(tried), method="CIE 2000")
                ends = tried[rows, distance.argmin(axis=1)]
            found.append(distance.min(axis=1))
        return np.concatenate(found) if found else np.empty(0)

    grid_excess = clock("nearest, grid", grid_search)

    # The code and its 26 neighbours, in pieces that keep the memory bounded.
    steps = np.stack(np.meshgrid(*([-1, 0, 1],) * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    top = 2**BITS - 1

    def neighbours() -> np.ndarray:
        left = []
        for first in range(0, len(values), 10_000):
            part = slice(first, first + 10_000)
            tried = np.clip(np.rint(drive[part] * top)[:, None] + steps, 0, top) / top
            left.append(colour.delta_E(lab[part][:, None], shown(tried), method="CIE 2000").min(axis=1))
        return np.concatenate(left)

    residual = clock("match, neighbours", neighbours)

    def suffices() -> np.ndarray:
        able = []
        for other in standards:
            linear = colour.XYZ_to_RGB(xyz, other, home_xy, chromatic_adaptation_transform="CAT16")
            able.append(np.all((linear >= -1e-9) & (linear <= 1 + 1e-9), axis=1))
        return np.stack(able, axis=1)

    able = clock("gamut", suffices)

    # The screen shows the plain rounding here: one of the 27, which makes no difference to the work.
    code = np.rint(drive * top)
    shape_out = (len(values), len(LIGHTS), len(OBSERVERS))
    de00, deab, ucs = np.empty(shape_out), np.empty(shape_out), np.empty(shape_out)

    def to_ucs(xyz_100: np.ndarray, white_100: np.ndarray) -> np.ndarray:
        cam = colour.XYZ_to_CIECAM16(xyz_100, white_100, 500 / np.pi * 0.2, 20.0)
        return np.asarray(colour.JMh_CAM16_to_CAM16UCS(np.stack([cam.J, cam.M, cam.h], axis=-1)))

    def shift() -> None:
        for o, who in enumerate(OBSERVERS):
            here = whites[VIEWING, who]
            here_xy, own = colour.XYZ_to_xy(here), space_for(who)
            screen = colour.RGB_to_XYZ(
                code / top, own, here_xy, chromatic_adaptation_transform="CAT16", apply_cctf_decoding=True
            )
            screen_lab, screen_ucs = lab_of(screen, here_xy), to_ucs(screen * 100, here * 100)
            for i, lamp in enumerate(LIGHTS):
                seen = values @ tables[lamp, who] / 100.0
                moved = colour.chromatic_adaptation(
                    seen, whites[lamp, who], here, method="Von Kries", transform="CAT16"
                )
                moved_lab = lab_of(moved, here_xy)
                de00[:, i, o] = colour.delta_E(screen_lab, moved_lab, method="CIE 2000")
                deab[:, i, o] = colour.delta_E(screen_lab, moved_lab, method="CIE 1976")
                ucs[:, i, o] = colour.delta_E(screen_ucs, to_ucs(moved * 100, here * 100), method="CAM16-UCS")

    clock("shift", shift)
    report = {
        "parts": clock.parts,
        "processor": clock.processor,
        "outside": len(outside),
        "subset": len(chosen),
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
    }
    answers = {
        "drive": raw, "inside": inside, "code": code, "residual": residual,
        "xyz": xyz[: len(few)] * 100.0, "by_call": by_call,
        "chosen": np.asarray(chosen, dtype=int), "excess": excess, "grid_excess": grid_excess,
        "outside": outside, "suffices": able,
        "de00": de00, "deab": deab, "cam16ucs": ucs,
    }  # fmt: skip
    return report, answers


def run_side(side: str, count: int, subset: int, folder: Path) -> dict[str, Any]:
    """One side in a process of its own."""
    target = folder / f"{side}.npz"
    command = [sys.executable, __file__, "--side", side, "--samples", str(count), "--subset", str(subset)]
    done = subprocess.run([*command, "--answers", str(target)], check=True, stdout=subprocess.PIPE, text=True)
    answer: dict[str, Any] = json.loads(done.stdout.strip().splitlines()[-1])
    return answer


def compare(folder: Path) -> list[str]:
    """How far the two sides are apart, and what is wrong if they are too far."""
    a, b = (dict(np.load(folder / f"{side}.npz")) for side in ("ours", "peer"))
    both = a["inside"] & b["inside"]
    same_code = np.all(a["code"] == b["code"], axis=1) & both
    figures = {
        "in or out of gamut, share that differs": (np.mean(a["inside"] != b["inside"]), 1e-5),
        "drive values, inside": (np.abs(a["drive"] - b["drive"])[both].max(), 1e-6),
        "residual of the codes, inside": (np.abs(a["residual"] - b["residual"])[both].max(), 1e-6),
        "excess, by how much ours is larger than by SciPy": ((a["excess"][b["chosen"]] - b["excess"]).max(), 0.02),
        "excess, by how much ours is larger than by grid": (
            (a["excess"][b["outside"]] - b["grid_excess"]).max(),
            0.02,
        ),
        "XYZ, its weights against its own call": (np.abs(b["xyz"] - b["by_call"]).max(), 0.01),
        "what suffices, share that differs": (np.mean(a["suffices"] != b["suffices"]), 1e-4),
        **{
            f"shift {name}, where the codes are the same": (np.abs(a[name] - b[name])[same_code].max(), 1e-6)
            for name in ("de00", "deab", "cam16ucs")
        },
    }
    behind = b["grid_excess"] - a["excess"][b["outside"]]
    wrong = []
    print("\nDo both sides give the same?")
    for name, (value, limit) in figures.items():
        print(f"  {name:48s} {value:10.2g}   limit {limit:g}")
        if not value <= limit:
            wrong.append(name)
    print(
        f"  the grid search stays behind by up to {behind.max():.2g}, by over 0.02 in {np.mean(behind > 0.02):.1%}"
    )
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--samples", type=int, default=100_000)
    parser.add_argument(
        "--subset", type=int, default=40, help="outside colours that the peer's search is timed on"
    )
    parser.add_argument("--side", choices=("ours", "peer"), help=argparse.SUPPRESS)
    parser.add_argument("--answers", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.side:
        values = reflectances(given.samples)
        report, answers = ours(values) if given.side == "ours" else peer(values, given.subset)
        np.savez(given.answers, **answers)
        print(json.dumps(report))
        return 0
    with tempfile.TemporaryDirectory() as folder:
        mine = run_side("ours", given.samples, given.subset, Path(folder))
        theirs = run_side("peer", given.samples, given.subset, Path(folder))
        wrong = compare(Path(folder))
    parts = theirs["parts"]
    scaled = parts["nearest, subset"] * theirs["outside"] / max(theirs["subset"], 1)
    rest = sum(seconds for part, seconds in parts.items() if not part.endswith(("subset", "grid")))
    every = given.samples / min(CALLED, given.samples) * len(LIGHTS) * len(OBSERVERS)
    calls = parts["XYZ by call, subset"] * every
    plain = rest - parts["match, neighbours"]
    print(
        f"\n{given.samples:,} reflectances, {len(LIGHTS)} lights, {len(OBSERVERS)} observers, "
        f"{theirs['outside']:,} out of gamut (seconds)"
    )
    for name in ("first", "warm"):
        print(f"  this package, {name:5s}  " + "  ".join(f"{k} {v:.2f}" for k, v in mine[name].items()))
    print(f"    of which the search for the nearest colours {mine['nearest']:.2f}")
    print("  colour-science       " + "  ".join(f"{k} {v:.2f}" for k, v in parts.items()))
    print(f"    its search for the nearest, scaled from {theirs['subset']} to {theirs['outside']:,}: {scaled:.0f}")
    print(f"    msds_to_XYZ (ASTM E308) for all lights and observers, scaled from {CALLED:,}: {calls:.0f}")
    print(f"  peak memory: this package {mine['peak_mb']:.0f} MB, colour-science {theirs['peak_mb']:.0f} MB")
    for name in ("first", "warm"):
        total = sum(mine[name].values())
        without = total - mine["nearest"]
        print(
            f"  ratio, {name}: with SciPy's search {(rest + scaled) / total:.0f}, with the grid search "
            f"{(rest + parts['nearest, grid']) / total:.1f}, without a search on either side "
            f"{rest / without:.1f}, and without the 26 neighbours on the other side only {plain / without:.1f}; "
            f"without a search, but with its own call for XYZ, {(rest + calls) / without:.0f}"
        )
    busy = sum(seconds for part, seconds in theirs["processor"].items() if not part.endswith("subset"))
    print(
        f"  processor time over all cores, warm, with the grid search: {busy:.1f} s against "
        f"{mine['processor']:.1f} s, ratio {busy / mine['processor']:.1f}"
    )
    if wrong:
        print("the two sides differ: " + "; ".join(wrong), file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
