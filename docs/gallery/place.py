"""Where the gallery's scripts find the demo's data, and how they draw: colour only where colour is meant."""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib
import numpy as np

from screenproof.additive import fit_display, standard_display
from screenproof.appearance import adapt, xyz_to_lab
from screenproof.formats import read_readings, read_samples
from screenproof.spectra import Samples, light, observer, weights, white_point

matplotlib.use("Agg")
from matplotlib import pyplot as plt  # noqa: E402  (the way of drawing comes first)

DATA = Path(__file__).resolve().parents[2] / "profiles_demo" / "data"
LIGHT, EYE = light("D50"), observer("cie1931")
WHITE = white_point(LIGHT, EYE)
INK, QUIET, MAT = "#111111", "#5c5c5c", "#828282"

plt.rcParams.update(
    {
        "font.size": 9,
        "axes.titlesize": 9,
        "axes.edgecolor": QUIET,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.titlelocation": "left",
        "legend.frameon": False,
        "figure.constrained_layout.use": True,
        "savefig.dpi": 110,
    }
)


APPROVED = {
    "Harbour teal": (58, 132, 122),
    "Oolong brown": (110, 75, 50),
    "Marigold": (245, 198, 70),
    "Lantern blue": (40, 70, 230),
    "Lid plum": (98, 84, 126),
}
"""What was approved on the office display, as codes at 8 bits."""


def approved(name: str) -> np.ndarray:
    """XYZ (3,) under D50 of a colour that was approved on the office display: adapted from its white to D50."""
    view = fit_display(read_readings(DATA / "office_readings.csv"), "office").seen_by()
    return adapt(view.to_xyz(np.array([APPROVED[name]]) / 255), view.white, WHITE)[0]


def samples(file: str) -> Samples:
    """A file of the demo. All of it is invented."""
    return read_samples(DATA / file)


def curves(file: str) -> dict[str, np.ndarray]:
    """Name and reflectance curve of every sample of a file."""
    read = samples(file)
    return dict(zip(read.names, read.reflectance, strict=True))


def xyz(curve: np.ndarray, grid) -> np.ndarray:
    """XYZ of curves (..., w) under D50 for the 1931 observer."""
    return curve @ weights(LIGHT, EYE, grid)


def lab(curve: np.ndarray, grid) -> np.ndarray:
    """CIELAB of curves (..., w) under D50 for the 1931 observer."""
    return xyz_to_lab(xyz(curve, grid), WHITE)


def on_screen(colour: np.ndarray) -> np.ndarray:
    """sRGB 0..1 in which to show XYZ (n, 3) under D50: adapted to the screen's white, cut off where it ends."""
    view = standard_display("srgb").seen_by()
    drive, _ = view.to_drive(adapt(np.atleast_2d(colour), WHITE, view.white))
    return np.clip(drive, 0, 1)


def patch(axes, x: float, y: float, w: float, h: float, colour: np.ndarray, text: str = "") -> None:
    """A rectangle of XYZ ``colour``, with a word below it."""
    axes.add_patch(plt.Rectangle((x, y), w, h, color=on_screen(colour)[0], lw=0))
    if text:
        axes.text(x + w / 2, y - 0.03, text, ha="center", va="top", color="white", fontsize=8)


def mat(axes, title: str = "") -> None:
    """A mid-grey ground without scales, on which patches lie."""
    axes.set(xlim=(0, 1), ylim=(0, 1), xticks=[], yticks=[], facecolor=MAT, title=title)
    for spine in axes.spines.values():
        spine.set_visible(False)


def figure(width: float = 8.6, height: float = 3.4, columns: int = 2, **more):
    """A figure with its axes side by side."""
    return plt.subplots(1, columns, figsize=(width, height), **more)


def save(drawn, script: str) -> None:
    """Write the figure beside the script, or into the folder that the command line names."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(script).resolve().parent
    folder.mkdir(parents=True, exist_ok=True)
    drawn.savefig(folder / f"{Path(script).stem}.png", metadata={"Software": None})
    plt.close(drawn)
