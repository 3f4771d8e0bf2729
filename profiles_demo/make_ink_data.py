"""The data files of the ink side of the demo: inks on three stocks, two presses, lacquer pigments, a trial batch.

All of it is invented. Called by make_data.py, which writes these files with its own; the curves are built in
invented_press.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from file_forms import INVENTED, MADE_BY, cgats, csv_spectra, cxf3
from invented_matter import Array, opaque_ink_on, read_by_instrument
from invented_press import (
    PIGMENTS,
    WHITE_NAME,
    chart,
    halftones,
    lacquer,
    mixtures,
    printed,
    stocks,
)

WIDE = np.arange(380.0, 731.0, 10.0)

Noise = Callable[[str], np.random.Generator]

SHEET = 0.008
"""Relative standard deviation of the film weight from patch to patch of a press sheet."""

LETDOWNS = (1.0, 0.4, 0.1, 0.02)
WEIGHING = 0.004
"""Relative standard deviation of a letdown's concentration."""

# Overprints that were measured on each stock, in printing order.
OVERPRINTS: Mapping[str, Sequence[tuple[str, ...]]] = {
    "carton": [
        ("Cyan", "Magenta"),
        ("Cyan", "Yellow"),
        ("Magenta", "Yellow"),
        ("Cyan", "Magenta", "Yellow"),
        ("Yellow", "Harbour teal"),
        ("Harbour teal", "Ember orange"),
    ],
    "kraft": [("Cyan", "Yellow"), ("Harbour teal", "Ember orange")],
    "film": [("Cyan", "Magenta"), ("Cyan", "Yellow"), ("Magenta", "Yellow")],
}
SINGLE = ("Cyan", "Magenta", "Yellow", "Black", "Harbour teal", "Ember orange")

# The first batch of the lid's lacquer as it was written on its label, in grams to 10 kg, and what really went in.
BATCH = {"Rose magenta": 1652.0, "Bramble violet": 557.0, "Lagoon turquoise": 625.0, WHITE_NAME: 7166.0}
REALLY = {"Rose magenta": 0.90, "Bramble violet": 1.04, "Lagoon turquoise": 1.07, WHITE_NAME: 1.01}


def ink_curves(key: str) -> dict[str, Array]:
    """The bare stock, single inks and overprints on one of the three stocks; names tell it where not carton."""
    stock = stocks(WIDE)[key]
    order: list[tuple[str, ...]] = [(), *((ink,) for ink in SINGLE), *OVERPRINTS[key]]
    where = "" if key == "carton" else f" on {key}"
    return {" + ".join(inks) + where if inks else stock.name: printed(stock, WIDE, inks) for inks in order}


def press_readings(key: str, patches: str, generator: np.random.Generator) -> Array:
    """Patches printed and read: the film weight wanders a little over the sheet, then the instrument's noise."""
    tints = np.array([row for _, row in patches]) / 100
    weights = 1 + SHEET * generator.standard_normal(tints.shape)
    curves = halftones(stocks(WIDE)[key], WIDE, tints, weights)
    return np.stack([read_by_instrument(curve, generator) for curve in curves])


def letdown_curves(generator: np.random.Generator) -> tuple[list[str], list[float], Array]:
    """The white and every pigment's masstone and tints: pigment, concentration, reading."""
    names, shares, curves = [WHITE_NAME], [1.0], [lacquer(WIDE, {})]
    for name in PIGMENTS:
        for share in LETDOWNS:
            weighed = share if share == 1.0 else share * (1 + WEIGHING * generator.standard_normal())
            names.append(name)
            shares.append(share)
            curves.append(lacquer(WIDE, {name: weighed}))
    return names, shares, np.stack([read_by_instrument(curve, generator) for curve in curves])


def trial_curve() -> Array:
    """The first batch as it came out."""
    grams = {name: amount * REALLY[name] for name, amount in BATCH.items()}
    total = sum(grams.values())
    return lacquer(WIDE, {name: amount / total for name, amount in grams.items() if name != WHITE_NAME})


def ink_files(noise: Noise) -> dict[str, str]:
    """Name and text of every file of the ink side. ``noise`` gives each file its own generator."""
    condition = ["unit: percent", "geometry: 45a:0", "filter: M1", "backing: black", "date: 2026-10-05"]
    keywords = {
        "ORIGINATOR": "invented, profiles_demo/make_data.py",
        "FILE_DESCRIPTOR": "",
        "CREATED": "2026-10-05",
        "INSTRUMENTATION": "invented spectrophotometer",
        "MEASUREMENT_GEOMETRY": "45a:0",
        "FILTER": "M1",
        "SAMPLE_BACKING": "black",
        "KEYWORD": "REFLECTANCE_UNIT",
        "REFLECTANCE_UNIT": "fraction",
    }

    def described(text: str) -> dict[str, str]:
        return {**keywords, "FILE_DESCRIPTOR": f"Brindlemoot tea caddies: {text} (all invented)"}

    def read(file: str, curves: Mapping[str, Array]) -> tuple[list[str], Array]:
        generator = noise(file)
        return list(curves), np.stack([read_by_instrument(curve, generator) for curve in curves.values()])

    def device(patches: str) -> dict[str, list[float]]:
        return {f"CMYK_{ink}": [tints[i] for _, tints in patches] for i, ink in enumerate("CMYK")}

    files: dict[str, str] = {}
    names, values = read("inks_on_carton.cgats", ink_curves("carton"))
    files["inks_on_carton.cgats"] = cgats(names, WIDE, values, described("inks and overprints on coated carton"))
    names, values = read("inks_on_kraft.csv", ink_curves("kraft"))
    header = ["Reflectance factors of inks on kraft board, overprints in printing order", *condition]
    files["inks_on_kraft.csv"] = csv_spectra(names, WIDE, 100 * values, header, digits=2)
    names, values = read("inks_on_film.cxf", ink_curves("film"))
    title = "Brindlemoot tea caddies: inks on white film (all invented)"
    files["inks_on_film.cxf"] = cxf3(names, WIDE, values, title, "black", "White film")

    black, white = np.full(WIDE.shape, 0.034), np.full(WIDE.shape, 0.86) + 0.00004 * (WIDE - 550)
    cards = {
        "Black card": black,
        "White card": white,
        "White underprint over black card": opaque_ink_on(black, WIDE, 1.6),
        "White underprint over white card": opaque_ink_on(white, WIDE, 1.6),
    }
    names, values = read("underprint.csv", cards)
    header = ["Reflectance factors of the white underprint, drawn down over two cards", *condition]
    files["underprint.csv"] = csv_spectra(names, WIDE, 100 * values, header, digits=2)

    full = chart([5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100], (0, 40, 100))
    small = chart([10, 25, 40, 55, 70, 85, 100], (0, 100))
    check = mixtures(120, noise("carton_check mixtures"))
    for file, key, patches, text in (
        ("carton_press.cgats", "carton", full, "press chart in CMYK on coated carton"),
        ("carton_check.cgats", "carton", check, "mixtures on coated carton, kept out of the press chart"),
        ("kraft_press.cgats", "kraft", small, "small press chart in CMYK on kraft board"),
    ):
        values = press_readings(key, patches, noise(file))
        files[file] = cgats([name for name, _ in patches], WIDE, values, described(text), device(patches))

    file = "lacquer_letdowns.csv"
    names, shares, values = letdown_curves(noise(file))
    facts = {name: (pigment.cost, pigment.density) for name, pigment in PIGMENTS.items()} | {
        WHITE_NAME: (5.0, 4.1)
    }
    files[file] = csv_spectra(
        [name if share == 1 else f"{name} {100 * share:g} %" for name, share in zip(names, shares, strict=True)],
        WIDE,
        100 * values,
        [
            "Letdowns of the lid lacquer in white: masstones (concentration 1) and tints, opaque panels",
            "kind: letdowns",
            "medium: paint",
            f"base: {WHITE_NAME}",
            "concentration: fraction",
            "k1: 0.04",
            "k2: 0.60",
            "specular: excluded",
            *condition[:3],
            "A concentration is the share of the pigment in all the colorant. Cost per kg, currency invented.",
        ],
        digits=2,
        columns={
            "pigment": names,
            "concentration": [f"{share:g}" for share in shares],
            "cost": [f"{facts[name][0]:g}" for name in names],
            "density": [f"{facts[name][1]:g}" for name in names],
        },
    )
    names, values = read("lid_trial.csv", {"Lid, first batch": trial_curve()})
    header = [
        "The first batch of the lid's lacquer, opaque panel; lid_batch.csv has what was weighed",
        *condition[:3],
    ]
    files["lid_trial.csv"] = csv_spectra(names, WIDE, 100 * values, header, digits=2)
    lines = [
        f"# {INVENTED}",
        f"# {MADE_BY}",
        "# kind: batch",
        "# The first batch of the lid's lacquer, by its label",
    ]
    lines += ["# unit: g", "component,amount", *(f"{name},{grams:g}" for name, grams in BATCH.items())]
    files["lid_batch.csv"] = "\n".join(lines) + "\n"
    return files
