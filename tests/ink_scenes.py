"""Files of an invented print shop, for tests of readers, jobs and commands: made by plain textbook formulae.

The formulae are written out here, and not taken from the package: the product of transmittances, Neugebauer's
equation with a Yule-Nielsen factor, and the K/S of Kubelka and Munk with Saunderson's surface.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np

NM = np.arange(400.0, 701.0, 20.0)
K1, K2 = 0.04, 0.5
N = 2.0
"""Yule-Nielsen factor of the invented press."""


def band(centre: float, width: float) -> np.ndarray:
    return np.exp(-(((NM - centre) / width) ** 2))


STOCKS = {
    "Board": 0.86 - 0.08 * band(400, 40),
    "Kraft": 0.15 + 0.38 / (1.0 + np.exp(-(NM - 560.0) / 60.0)),
    "Slate": np.full(NM.size, 0.05),
}
ABSORBANCE = {
    "Cyan": 2.6 * band(640, 75),
    "Magenta": 2.9 * band(545, 45) + 0.5 * band(420, 40),
    "Yellow": 3.0 * band(430, 50),
    "Black": np.full(NM.size, 3.2),
}
"""-ln of the transmittance of the double pass."""


def printed(stock: str, *inks: str) -> np.ndarray:
    """Inks as transparent layers on a stock: the product of the transmittances."""
    return STOCKS[stock] * np.exp(-sum((ABSORBANCE[ink] for ink in inks), np.zeros(NM.size)))


def rows_of(curves: dict[str, np.ndarray], lead: str = "name") -> str:
    lines = [",".join([lead, *(f"{nm:g}" for nm in NM)])]
    lines += [",".join([name, *(f"{value:.6f}" for value in curve)]) for name, curve in curves.items()]
    return "\n".join(lines) + "\n"


def inks_csv(stock: str = "Board", overprints: bool = True) -> str:
    """A stock, four inks and overprints called by their inks, as fractions."""
    curves = {stock: printed(stock), **{ink: printed(stock, ink) for ink in ABSORBANCE}}
    if overprints:
        for pair in (("Cyan", "Yellow"), ("Cyan", "Magenta"), ("Magenta", "Yellow")):
            curves[" + ".join(pair)] = printed(stock, *pair)
        curves["Cyan + Magenta + Yellow"] = printed(stock, "Cyan", "Magenta", "Yellow")
    return f"# unit: fraction\n# geometry: 45:0\n# filter: M1\n{rows_of(curves)}"


CHANNELS = ("Cyan", "Magenta", "Yellow", "Black")


def halftone(tints: tuple[float, ...], inks: tuple[str, ...] = CHANNELS, stock: str = "Board") -> np.ndarray:
    """Neugebauer's equation with the Yule-Nielsen factor: areas by Demichel, dot gain a + 0.8 a (1 - a) / 2."""
    areas = [a + 0.4 * a * (1.0 - a) for a in tints]
    total = np.zeros(NM.size)
    for corner in product((0, 1), repeat=len(inks)):
        weight = np.prod([a if on else 1.0 - a for a, on in zip(areas, corner, strict=True)])
        primary = printed(stock, *(ink for ink, on in zip(inks, corner, strict=True) if on))
        total = total + weight * primary ** (1.0 / N)
    return total**N


def chart(inks: tuple[str, ...] = CHANNELS) -> list[tuple[float, ...]]:
    """Ramps of ten steps, and every combination of 0, 40 and 100 percent."""
    ramps = [
        tuple(step if i == k else 0.0 for i in range(len(inks)))
        for k in range(len(inks))
        for step in (0.1, 0.25, 0.55, 0.7, 0.85)
    ]
    return [*product((0.0, 0.4, 1.0), repeat=len(inks)), *ramps]


def chart_rows(
    tints: list[tuple[float, ...]], inks: tuple[str, ...] = CHANNELS, stock: str = "Board"
) -> list[list[str]]:
    return [
        [f"p{i}", *(f"{100.0 * t:g}" for t in row), *(f"{v:.6f}" for v in halftone(row, inks, stock))]
        for i, row in enumerate(tints, start=1)
    ]


def chart_csv(
    inks: tuple[str, ...] = CHANNELS,
    stock: str = "Board",
    rows: list[list[str]] | None = None,
    channels: str | None = None,
) -> str:
    """A characterisation in percent, its channels by the inks' own names."""
    header = ["name", *inks, *(f"{nm:g}" for nm in NM)]
    body = chart_rows(chart(inks), inks, stock) if rows is None else rows
    said = ", ".join(inks) if channels is None else channels
    lines = ["# unit: fraction", f"# channels: {said}", "# tints: percent", ",".join(header)]
    return "\n".join([*lines, *(",".join(row) for row in body)]) + "\n"


def tints_csv(tints: list[tuple[float, ...]], inks: tuple[str, ...] = CHANNELS) -> str:
    rows = [",".join([f"t{i}", *(f"{100.0 * t:g}" for t in row)]) for i, row in enumerate(tints, start=1)]
    return "\n".join(["# tints: percent", ",".join(["name", *inks]), *rows]) + "\n"


PIGMENTS = {
    "Red earth": (2.2 * band(500, 75) + 0.03, 0.55 + 0.1 * band(650, 90)),
    "Blue": (4.0 * band(610, 85) + 0.9 * band(420, 40) + 0.02, 0.35 + 0.0 * NM),
    "Yellow ochre": (3.0 * band(430, 55) + 0.02, 0.8 + 0.0 * NM),
    "Green": (2.6 * band(660, 70) + 2.0 * band(430, 50) + 0.05, 0.4 + 0.0 * NM),
    "Carbon": (6.0 + 0.0 * NM, 0.15 + 0.0 * NM),
    "Violet": (3.4 * band(575, 45) + 0.5 * band(470, 40) + 0.02, 0.4 + 0.0 * NM),
}
"""K and S of each pigment, relative to the scattering of the white."""
WHITE = (0.004 + 0.05 * band(400, 25), np.ones(NM.size))


def paint(**shares: float) -> np.ndarray:
    """Measured reflectance of pigments in white, specular excluded: Kubelka-Munk, then Saunderson."""
    parts = {name.replace("_", " "): share for name, share in shares.items()}
    rest = 1.0 - sum(parts.values())
    k = rest * WHITE[0] + sum(share * PIGMENTS[name][0] for name, share in parts.items())
    s = rest * WHITE[1] + sum(share * PIGMENTS[name][1] for name, share in parts.items())
    ratio = k / s
    inside = 1.0 + ratio - np.sqrt(ratio**2 + 2.0 * ratio)
    return (1.0 - K1) * (1.0 - K2) * inside / (1.0 - K2 * inside)


LETDOWN_HEAD = (
    "# kind: letdowns\n# medium: paint\n# base: White\n# unit: fraction\n# concentration: fraction\n"
    f"# k1: {K1}\n# k2: {K2}\n# specular: excluded\n"
)


def letdowns_csv(head: str = LETDOWN_HEAD, extra: str = "", pigments: tuple[str, ...] = tuple(PIGMENTS)) -> str:
    """Masstones and tints of every pigment in white, with a cost each."""
    lines = [",".join(["pigment", "concentration", "cost", *(f"{nm:g}" for nm in NM)])]
    lines.append(",".join(["White", "1", "3", *(f"{v:.6f}" for v in paint())]))
    for i, name in enumerate(pigments):
        for share in (1.0, 0.4, 0.1, 0.02):
            curve = paint(**{name: share})
            lines.append(",".join([name, f"{share:g}", f"{8 + 5 * i}", *(f"{v:.6f}" for v in curve)]))
    return head + "\n".join(lines) + "\n" + extra


def samples_csv(curves: dict[str, np.ndarray]) -> str:
    return f"# unit: fraction\n# geometry: 45:0\n# filter: M1\n{rows_of(curves)}"


def write_shop(folder: Path) -> Path:
    """All files of the shop in a folder: inks, kraft, press, tints, letdowns, target, batch and trial."""
    files = {
        "inks.csv": inks_csv(),
        "kraft.csv": inks_csv("Kraft"),
        "slate.csv": samples_csv({"Slate": STOCKS["Slate"]}),
        "press.csv": chart_csv(),
        "tints.csv": tints_csv([(0.5, 0.0, 0.0, 0.0), (0.3, 0.6, 0.2, 0.1)]),
        "letdowns.csv": letdowns_csv(),
        "target.csv": samples_csv({"Lid": paint(Red_earth=0.15, Blue=0.05)}),
        "batch.csv": "# kind: batch\n# unit: kg\ncomponent,amount\nWhite,8.0\nRed earth,1.5\nBlue,0.5\n",
        "trial.csv": samples_csv({"Trial": paint(Red_earth=0.142, Blue=0.0475)}),
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
