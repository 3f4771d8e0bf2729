"""Inks on three stocks, presses and a lacquer maker's pigments for the demo. All of it is invented.

No curve here was measured and none copies a real product. The forms are physical ones, and on purpose not quite
those that the package fits: dots spread more on other inks than on the bare stock, light spreads farther in the
stock the longer its wavelength, the second ink lies thinner on the first, weighings are a little off. A model
that is fitted to these readings has something to miss.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from invented_matter import COLORANTS, Array, Colorant, below_surface, carton, kraft, step, under_surface

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")

# What is in each ink, by colorant. The spot inks are those of the packaging job.
INKS: Mapping[str, Mapping[str, float]] = {
    "Cyan": {"cyan": 1.0},
    "Magenta": {"magenta": 1.0},
    "Yellow": {"yellow": 1.0},
    "Black": {"black": 1.0},
    "Harbour teal": {"turquoise": 0.35, "violet": 0.05, "black": 0.20},
    "Ember orange": {"orange": 0.64},
}

# How much of the upper ink lies on the inks below it, of what lies on the bare stock. Those not named take 0.95.
KEPT: Mapping[tuple[str, ...], float] = {
    ("Cyan", "Magenta"): 0.90,
    ("Cyan", "Yellow"): 0.93,
    ("Magenta", "Yellow"): 0.91,
    ("Cyan", "Magenta", "Yellow"): 0.85,
    ("Harbour teal", "Ember orange"): 0.88,
    ("Yellow", "Harbour teal"): 0.92,
}


def white_film(wavelengths: Array) -> Array:
    """A white opaque film, as labels are made of: cold white, and dark below 400 nm where titania absorbs."""
    return 0.895 - 0.62 * step(wavelengths, 399, -7) - 0.008 * step(wavelengths, 480, -40)


@dataclass(frozen=True)
class Stock:
    """A stock as a printer meets it.

    curve: the bare stock; weight: film weight of inks on it, of that on carton; gloss: stray mirror reflection;
    gain: how much more a 50 % dot covers; spread: Yule-Nielsen factor at 550 nm.
    """

    name: str
    curve: Array
    weight: float
    gloss: float
    gain: float
    spread: float


def stocks(wavelengths: Array) -> dict[str, Stock]:
    """The three stocks of the caddies: a rough board drinks ink, a film lets all of it lie on top."""
    return {
        "carton": Stock("Coated carton", carton(wavelengths), 1.00, 0.004, 0.145, 1.75),
        "kraft": Stock("Kraft board", kraft(wavelengths), 0.78, 0.008, 0.205, 2.30),
        "film": Stock("White film", white_film(wavelengths), 1.06, 0.002, 0.120, 1.25),
    }


def absorbance(ink: str, wavelengths: Array) -> Array:
    """Absorbance of one film weight of an ink, light passing once."""
    return sum(
        (amount * COLORANTS[name].absorbance(wavelengths) for name, amount in INKS[ink].items()),
        np.zeros(wavelengths.shape),
    )


def printed(stock: Stock, wavelengths: Array, order: Sequence[str], weights: Array | None = None) -> Array:
    """Solids of inks printed in this ``order`` on a stock, with what each keeps of its weight on the others.

    weights: (n, c) how heavily each ink is printed, 1 being usual. Returns (w,), or (n, w) with weights.
    """
    path = np.zeros(wavelengths.shape)
    for place, ink in enumerate(order):
        kept = 1.0 if place == 0 else KEPT.get(tuple(order[: place + 1]), 0.95)
        heavy = 1.0 if weights is None else weights[:, place, None]
        path = path + stock.weight * kept * heavy * absorbance(ink, wavelengths)
    inner = below_surface(stock.curve) * np.exp(-2 * path)
    out: Array = stock.gloss + (1 - stock.gloss) * under_surface(inner)
    return out


def halftones(
    stock: Stock, wavelengths: Array, tints: Array, weights: Array | None = None, inks: Sequence[str] = PROCESS
) -> Array:
    """Reflectances (n, w) of tints (n, c), 0..1: dots at random, that spread on each other, under spread light.

    weights: (n, c) how heavily each ink is printed at each patch, 1 being usual.
    """
    c = len(inks)
    heavy = np.ones((len(tints), c)) if weights is None else weights
    # Offset inks gain alike, black a little more.
    gain = stock.gain * np.array([1.12 if ink == "Black" else 1.0 for ink in inks])
    bump = 4 * tints * (1 - tints)
    share = tints + gain * bump
    for upper in range(1, c):
        below = share[:, :upper].sum(axis=1)
        share[:, upper] += 0.10 * gain[upper] * bump[:, upper] * below
    share = np.clip(share, 0, 1)
    spread = stock.spread * (wavelengths / 550) ** 0.25
    total = np.zeros((len(tints), len(wavelengths)))
    for on in product((False, True), repeat=c):
        area = np.prod(np.where(on, share, 1 - share), axis=1)
        order = [ink for ink, there in zip(inks, on, strict=True) if there]
        total += area[:, None] * printed(stock, wavelengths, order, heavy[:, list(on)]) ** (1 / spread)
    out: Array = total**spread
    return out


GREY = (1.0, 0.78, 0.76)

Patches = list[tuple[str, tuple[float, ...]]]


def chart(levels: Sequence[float], grid: Sequence[float]) -> Patches:
    """A chart in CMYK: bare stock, ramps, a full grid, greys, doubles; names, tints in percent."""
    rows: str = [("stock", (0, 0, 0, 0))]
    for i, ink in enumerate("CMYK"):
        rows += [(f"{ink} {level:g}", tuple(level if j == i else 0 for j in range(4))) for level in levels]
    there = {tints for _, tints in rows}
    rows += [
        ("grid " + "-".join(f"{t:g}" for t in tints), tints)
        for tints in product(grid, repeat=4)
        if tints not in there
    ]
    rows += [(f"grey {level}", (*(round(level * share) for share in GREY), 0)) for level in (10, 25, 50, 75)]
    rows += [
        (f"{name}, {again}", tints)
        for again in ("again", "and again")
        for name, tints in (rows[0], ("CMY", (100, 100, 100, 0)))
    ]
    return rows


def mixtures(count: int, generator: np.random.Generator) -> Patches:
    """Tints as pictures have them: two or three inks, black now and then, none above 320 percent in all."""
    rows: str = []
    while len(rows) < count:
        used = generator.random(4) < (0.75, 0.75, 0.75, 0.35)
        tints = np.round(100 * generator.beta(0.8, 1.1, 4) * used)
        if tints.sum() <= 320 and (tints > 0).sum() > 1:
            rows.append((f"mixture {len(rows) + 1}", tuple(tints.tolist())))
    return rows


# ---------------------------------------------------------------------------------------- lacquer pigments


@dataclass(frozen=True)
class LacquerPigment:
    """A pigment of the lacquer maker: what it absorbs, how strongly, and what it scatters (white is 1).

    scatter: at 550 nm; slope: exponent of its fall towards the red; cost per kg in an invented currency; density
    in kg per litre.
    """

    colour: Colorant
    strength: float
    scatter: float
    slope: float
    cost: float
    density: float


def _pigment(
    strength: float,
    scatter: float,
    cost: float,
    density: float,
    *,
    bands: Sequence[tuple[float, float, float]] = (),
    edges: Sequence[tuple[float, float, float]] = (),
    grey: float = 0.0,
    slope: float = 0.6,
) -> LacquerPigment:
    return LacquerPigment(Colorant(bands, edges, grey), strength, scatter, slope, cost, density)


WHITE_NAME = "Chalk white"

# Twenty pigments, made up: organic ones are strong and scatter little, earths and blacks the other way round.
# Violets, turquoises and blues come in two kinds: with narrow bands and with broad ones. Between those two kinds
# a colour can be matched and still part under a lamp with lines.
PIGMENTS: Mapping[str, LacquerPigment] = {
    "Lemon yellow": _pigment(6.0, 0.30, 14, 1.6, edges=[(482, 9, 1.0)], grey=0.008),
    "Sunflower yellow": _pigment(5.0, 0.40, 16, 1.7, edges=[(512, 11, 1.0)], grey=0.010),
    "Ochre earth": _pigment(
        1.6, 0.65, 4, 3.6, edges=[(528, 26, 0.8), (600, 45, 0.16)], bands=[(870, 160, 0.2)], grey=0.02
    ),
    "Apricot orange": _pigment(5.5, 0.28, 22, 1.5, bands=[(480, 90, 0.8)], edges=[(548, 10, 0.6)], grey=0.010),
    "Ember orange": _pigment(5.0, 0.35, 24, 1.6, bands=[(500, 80, 0.7)], edges=[(575, 9, 0.6)], grey=0.010),
    "Poppy red": _pigment(6.0, 0.25, 21, 1.5, bands=[(520, 85, 0.8)], edges=[(592, 9, 0.5)], grey=0.014),
    "Brick earth": _pigment(2.2, 0.85, 4, 4.6, edges=[(575, 16, 0.9), (660, 60, 0.10)], grey=0.03),
    "Rose magenta": _pigment(
        5.0, 0.14, 33, 1.5, bands=[(528, 62, 1.0), (566, 44, 0.8), (430, 110, 0.20)], grey=0.020
    ),
    "Bramble violet": _pigment(
        7.0, 0.10, 46, 1.5, bands=[(534, 36, 0.7), (572, 34, 1.0), (614, 30, 1.05), (390, 80, 0.14)], grey=0.030
    ),
    "Heather violet": _pigment(3.0, 0.30, 18, 2.2, bands=[(560, 130, 1.0), (420, 90, 0.18)], grey=0.04),
    "Night blue": _pigment(
        8.0, 0.10, 29, 1.6, bands=[(610, 60, 0.9), (660, 60, 0.75), (560, 60, 0.42), (715, 60, 0.8)], grey=0.025
    ),
    "Sky blue": _pigment(1.5, 0.50, 17, 3.9, bands=[(610, 110, 1.0), (560, 90, 0.30), (690, 70, 0.32)], grey=0.03),
    "Lagoon turquoise": _pigment(
        8.0, 0.10, 31, 1.6, bands=[(606, 36, 0.9), (660, 34, 1.0), (708, 50, 0.9), (420, 90, 0.25)], grey=0.035
    ),
    "Sea blue": _pigment(1.7, 0.55, 16, 4.2, bands=[(640, 170, 1.0), (400, 90, 0.40)], grey=0.03),
    "Pine green": _pigment(
        7.0, 0.10, 30, 2.0, bands=[(640, 70, 1.0), (690, 70, 0.9), (430, 80, 0.75), (590, 60, 0.22)], grey=0.030
    ),
    "Moss green": _pigment(
        1.3, 0.75, 9, 5.1, bands=[(610, 120, 0.8), (440, 110, 1.0), (700, 120, 0.35)], grey=0.06
    ),
    "Walnut brown": _pigment(2.0, 0.55, 5, 3.9, edges=[(590, 55, 0.9)], grey=0.16),
    "Peat umber": _pigment(1.8, 0.50, 5, 3.4, edges=[(560, 70, 0.8)], grey=0.36),
    "Lamp black": _pigment(10.0, 0.60, 6, 1.8, bands=[(420, 200, 0.08)], grey=0.95),
    "Slate black": _pigment(3.0, 0.35, 5, 4.9, bands=[(650, 200, 0.06)], grey=0.90),
}


def k_and_s(name: str, wavelengths: Array) -> tuple[Array, Array]:
    """Absorption and scattering of a pigment, or of the white, at concentration 1; the white scatters 1 at 550."""
    if name == WHITE_NAME:
        white = (550 / wavelengths) ** 0.35
        return 0.0012 + 1.2 * COLORANTS["titania"].absorbance(wavelengths), white
    pigment = PIGMENTS[name]
    return (
        pigment.strength * pigment.colour.absorbance(wavelengths),
        pigment.scatter * (550 / wavelengths) ** pigment.slope,
    )


def lacquer(wavelengths: Array, shares: Mapping[str, float]) -> Array:
    """An opaque lacquer of these shares by mass, the rest of 1 white: Kubelka-Munk, then the surface."""
    parts = {**shares, WHITE_NAME: 1 - sum(shares.values())}
    k, s = np.zeros(wavelengths.shape), np.zeros(wavelengths.shape)
    for name, share in parts.items():
        own_k, own_s = k_and_s(name, wavelengths)
        k, s = k + share * own_k, s + share * own_s
    inner = s / (k + s + np.sqrt(k * (k + 2 * s)))
    return under_surface(inner)
