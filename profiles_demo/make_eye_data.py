"""The data files of the journey *why does my client see it differently*: a delivery, a screen, a board.

All of it is invented. Called by make_data.py, which writes these files with its own: cartons of a delivery, read
once and read again with a hand-held instrument that hardly repeats; the log of a session at the client's screen,
corner by corner and minute by minute; and boards with and without brightener, read with ultraviolet and without.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from file_forms import INVENTED, MADE_BY, csv_spectra
from invented_light import LM_PER_W, balanced, cmfs_1931, dot_primaries, shown, source
from invented_matter import Array, bell, carton, ink_on, step

WIDE = np.arange(380.0, 731.0, 10.0)
FINE = np.arange(380.0, 781.0)
ULTRAVIOLET = np.arange(300.0, 421.0)

Noise = Callable[[str], np.random.Generator]

# What the press laid down. The proof, make_data.carton_inks, has 0.33 and 0.06; 0.35, 0.05 and 0.20;
# 0.35, 0.35 and 0.12; 0.64.
DELIVERED: Mapping[str, Mapping[str, float]] = {
    "Slate grey, spot": {"black": 0.325, "ochre": 0.06},
    "Harbour teal, spot": {"turquoise": 0.304, "violet": 0.05, "black": 0.20},
    "Tea leaf green, spot": {"green": 0.35, "yellow": 0.35, "black": 0.118},
    "Ember orange, spot": {"orange": 0.66},
}
REPEATABILITY = 0.0035
"""Standard deviation of one reading, in reflectance factor: a hand-held instrument on a board that is not flat."""
REACH = 20.0
"""How far errors of neighbouring bands go together [nm]."""
READINGS = 11
"""How often each carton is read again."""

MINUTES = np.arange(0.0, 61.0, 5.0)
SETTLING = 11.0
"""Time in minutes in which the screen comes nearer to its final luminance by a factor of e."""
PLACES = tuple(f"{row}-{column}" for row in (1, 2, 3) for column in (1, 2, 3))
# Share of the centre's light at the nine places, row by row; the last corner is dim, and its blue more so.
EVENNESS = (0.95, 0.97, 0.95, 0.97, 1.0, 0.97, 0.95, 0.96, 0.80)
CORNER_BLUE = 0.94


def delivered(wavelengths: Array) -> dict[str, Array]:
    """The curves of the cartons that were delivered, as they are."""
    stock = carton(wavelengths)
    return {name: ink_on(stock, wavelengths, amounts) for name, amounts in DELIVERED.items()}


def read_by_hand(curve: Array, generator: np.random.Generator) -> Array:
    """One reading with the hand-held instrument: neighbouring bands err together, as exp(-distance / REACH)."""
    apart = np.abs(WIDE[:, None] - WIDE[None, :])
    error = np.linalg.cholesky(np.exp(-apart / REACH)) @ generator.standard_normal(WIDE.size)
    out: Array = np.clip(curve + REPEATABILITY * error, 0.0005, None)
    return out


def delivery(generator: np.random.Generator, readings: int, text: str) -> str:
    """Every carton read ``readings`` times, in turn, as CSV."""
    curves = delivered(WIDE)
    names = [name for _ in range(readings) for name in curves]
    values = np.stack([read_by_hand(curves[name], generator) for name in names])
    header = [
        f"Reflectance factors of four colours of the delivery, {text}",
        "unit: percent",
        "geometry: 45a:0",
        "filter: M1",
        "backing: black",
        "date: 2026-11-20",
        "instrument: invented hand-held spectrophotometer",
        f"repeatability: {100 * REPEATABILITY:g}",
    ]
    return csv_spectra(names, WIDE, 100 * values, header, digits=2)


def screen_log(generator: np.random.Generator) -> str:
    """A session at the client's screen with a colorimeter: a set at the centre, nine places, an hour from cold.

    The screen takes half an hour to settle, and one corner is dim and yellowish.
    """
    primaries = balanced(dot_primaries(FINE), FINE, (0.3127, 0.3290), 160.0)
    black = 0.0005 * primaries.sum(axis=0)
    rows: list[tuple[Sequence[float], str, str, float]] = []
    centre = [(level, level, level) for level in (0, 16, 32, 48, 64, 96, 128, 160, 192, 224, 255)]
    centre += [(255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 0), (255, 0, 255), (0, 255, 255)]
    centre += 2 * [(255, 255, 255), (128, 128, 128), (0, 0, 0)]
    rows += [(drive, "", "", 1.0) for drive in centre]
    for place, share in zip(PLACES, EVENNESS, strict=True):
        rows += [((level, level, level), place, "", share) for level in (255, 128, 64)]
    rows += [((255, 255, 255), "", f"{at:g}", 1 - 0.16 * np.exp(-at / SETTLING)) for at in MINUTES]
    lines = [
        f"# {INVENTED}",
        f"# {MADE_BY}",
        "# kind: readings",
        "# display: The client's screen, quantum dots",
        "# instrument: invented colorimeter, matched to the screen, dark room",
        "# observer: cie1931",
        "# device_scale: 255",
        "# position: row and column from the top left. minutes: from switching on.",
        "R,G,B,X,Y,Z,position,minutes",
    ]
    for drive, place, at, share in rows:
        own = primaries.copy()
        if place == PLACES[-1]:
            own[2] *= CORNER_BLUE
        light = share * shown(np.array([drive], dtype=float), own, black, (2.20, 2.20, 2.20))
        xyz = (LM_PER_W * light @ cmfs_1931(FINE))[0] * (1 + 0.002 * generator.standard_normal())
        xyz = xyz * (1 + 0.001 * generator.standard_normal(3)) + 0.0008 * generator.standard_normal(3)
        xyz = np.clip(xyz, 0.0005, None)
        lines.append(",".join([*(f"{d:g}" for d in drive), *(f"{v:.4f}" for v in xyz), place, at]))
    return "\n".join(lines) + "\n"


def excited(power: Array, cut: Array | float = 1.0) -> float:
    """How much a light with ``power`` at ULTRAVIOLET excites the brightener, through a filter ``cut``."""
    return float(power @ (bell(ULTRAVIOLET, 370, 52) * cut))


def boards() -> tuple[dict[str, Array], dict[str, Array]]:
    """Curves as M1 and as M2 of two boards: the delivery's, and a whiter one with brightener that the mill offers.

    What a brightener gives is what its light excites, times one band of emission, over the light itself (Donaldson
    1954, from memory). M1 is D50 with its ultraviolet, M2 is D50 behind a filter that opens at 410 nm.
    """
    plain = carton(WIDE)
    # A brightener takes violet away as well as ultraviolet, where it excites.
    clean = plain + 0.01 - 0.05 * step(WIDE, 400, -8)
    day = source("D50", ULTRAVIOLET)
    emission = bell(WIDE, 440, 48) * step(WIDE, 414, 5) / source("D50", WIDE)
    gain = 9.0 / excited(day)
    left = excited(day, step(ULTRAVIOLET, 410, 3))
    m1, m2 = (clean + gain * amount * emission for amount in (excited(day), left))
    names = ("Board of the delivery", "Board offered for the next")
    return dict(zip(names, (plain, m1), strict=True)), dict(zip(names, (plain, m2), strict=True))


def eye_files(noise: Noise) -> dict[str, str]:
    """Name and text of every file of the journey. ``noise`` gives each file its own generator."""
    files = {
        "delivery.csv": delivery(noise("delivery.csv"), 1, "one reading each"),
        "delivery_again.csv": delivery(noise("delivery_again.csv"), READINGS, f"{READINGS} readings each"),
        "client_screen.csv": screen_log(noise("client_screen.csv")),
    }
    for file, mode, curves in zip(("board_m1.csv", "board_m2.csv"), ("M1", "M2"), boards(), strict=True):
        generator = noise(file)
        values = np.stack(list(curves.values()))
        values = values + 0.0003 * generator.standard_normal(values.shape)
        ultraviolet = "with the ultraviolet of D50" if mode == "M1" else "without ultraviolet"
        header = [
            f"Reflectance factors of two unprinted boards, {ultraviolet}",
            "unit: percent",
            "geometry: 45a:0",
            f"filter: {mode}",
            "backing: black",
            "date: 2026-11-20",
            "fluorescent: yes",
        ]
        files[file] = csv_spectra(list(curves), WIDE, 100 * values, header, digits=2)
    return files
