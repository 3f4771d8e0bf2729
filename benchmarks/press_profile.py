"""A press hidden in an ICC profile: fit some of its colours, predict the rest, say how far off.

    python benchmarks/press_profile.py CMYK.icc

The profile's own table (absolute colorimetric, LittleCMS in doubles) is taken for the press: tints go in,
CIELAB comes out. Three charts of a few hundred tints are fitted, and each press predicts the same 4,000 random
tints of at most 320 %: ramps with every combination of 0, 40 and 100 %; solids, their overprints and ramps;
solids, overprints and ramps with 300 random tints. For Debian the profile is that of libgs-common:
/usr/share/color/icc/ghostscript/default_cmyk.icc (it is not part of this project: its licence is the AGPL).
Ends with 1 when the first is off by more than it may be.
"""

from __future__ import annotations

import argparse
import sys
import time
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

ABSOLUTE_COLORIMETRIC = 3
RAMP = np.array([2, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100]) / 100.0
ASKED, HEAVIEST = 4000, 3.2
MEAN, P95 = 0.3, 0.7
"""What the press of ramps and the grid of three levels may be off, CIEDE2000."""


def lab_of(profile: bytes, tints: np.ndarray) -> np.ndarray:
    """CIELAB (n, 3) of tints (n, 4), relative to the perfect diffuser."""
    import imagecodecs
    from PIL import ImageCms

    target = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    sent = imagecodecs.cms_transform(
        np.ascontiguousarray(100.0 * tints[None]),
        profile,
        target,
        colorspace="cmyk",
        outcolorspace="lab",
        outdtype="f8",
        intent=ABSOLUTE_COLORIMETRIC,
    )
    return np.asarray(sent, dtype=np.float64).reshape(-1, 3)


def charts() -> dict[str, np.ndarray]:
    ramps = np.vstack([np.zeros(4), *(level * np.eye(4)[k] for k in range(4) for level in RAMP)])
    solids = np.array(list(product((0.0, 1.0), repeat=4)))
    grid = np.array(list(product((0.0, 0.4, 1.0), repeat=4)))
    rng = np.random.default_rng(12642)
    scattered = np.round(rng.random((300, 4)) * (rng.random((300, 4)) < 0.75), 2)
    return {
        "ramps, grid of 0, 40, 100 %": np.vstack([ramps, grid]),
        "ramps, solids, overprints": np.vstack([ramps, solids]),
        "these and 300 random tints": np.vstack([ramps, solids, scattered]),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("profile", type=Path)
    data = parser.parse_args().profile.read_bytes()

    from screenproof.appearance import de2000, lab_to_xyz
    from screenproof.spectra import Colorimetry, Device, Samples, light, observer, white_point
    from screenproof.subtractive import fit_press

    white = white_point(light("D50"), observer("cie1931"))
    rng = np.random.default_rng(7)
    asked = rng.random((3 * ASKED, 4)) * (rng.random((3 * ASKED, 4)) < 0.8)
    asked = asked[asked.sum(axis=1) <= HEAVIEST][:ASKED]
    true = lab_of(data, asked)
    within = True
    for number, (name, tints) in enumerate(charts().items()):
        tints = np.unique(tints, axis=0)
        samples = Samples(
            tuple(str(i) for i in range(len(tints))),
            colorimetry=Colorimetry(lab_to_xyz(lab_of(data, tints), white), "D50", "cie1931"),
            device=Device(("C", "M", "Y", "K"), tints),
        )
        start = time.perf_counter()
        press = fit_press(samples)
        seconds = time.perf_counter() - start
        apart = np.asarray(de2000(true, press.lab(asked)))
        held = press.held_out
        assert held is not None
        p95 = float(np.percentile(apart, 95))
        within &= number > 0 or (apart.mean() <= MEAN and p95 <= P95)
        print(
            f"{name:28} {len(tints):4} patches, n = {press.n:g}, {seconds:.1f} s: {len(asked)} others "
            f"{apart.mean():.2f} mean, {p95:.2f} 95 %, {apart.max():.2f} at most (CIEDE2000); "
            f"said to be {held.mean:.2f}, {held.p95:.2f}, {held.max:.2f}"
            + (" of single inks" if "not known" in held.how else "")
        )
    return 0 if within else 1


if __name__ == "__main__":
    raise SystemExit(main())
