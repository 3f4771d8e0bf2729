"""Makes every data file of the demo. All of it is invented: brand, objects, lamps, displays, readings.

    python profiles_demo/make_data.py              writes profiles_demo/data/
    python profiles_demo/make_data.py --into DIR   writes DIR/ instead

The noise is seeded, so a second run gives the same bytes. Needs numpy, scipy and colour-science. The curves
are built by invented_matter.py and invented_light.py, the files are written by file_forms.py. The files of
the ink side come from make_ink_data.py and invented_press.py, those of a client who sees it differently from
make_eye_data.py.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
from file_forms import cgats, csv_lab, csv_readings, csv_spectra, cxf3, icc_matrix_profile, spdx
from invented_light import (
    LM_PER_W,
    balanced,
    camera_curves,
    cmfs_1931,
    dot_primaries,
    lcd_primaries,
    shown,
    source,
    white_led,
)
from invented_matter import (
    Array,
    carton,
    cloth,
    ink_on,
    kraft,
    label_paper,
    opaque_ink_on,
    paint,
    read_by_instrument,
    wood,
)
from make_eye_data import eye_files
from make_ink_data import ink_files

SEED = 20261005
FINE = np.arange(380.0, 781.0)
WIDE = np.arange(380.0, 731.0, 10.0)
SHORT = np.arange(400.0, 701.0, 10.0)

Curves = dict[str, Array]
TEAL_SPOT: Mapping[str, float] = {"turquoise": 0.35, "violet": 0.05, "black": 0.20}


def xyz_under(light: str, reflectance: Array, wavelengths: Array) -> Array:
    """XYZ of one curve by plain sums at 1 nm (spline between bands); good enough to design a pair with."""
    from scipy.interpolate import CubicSpline

    curve = CubicSpline(wavelengths, reflectance)(np.clip(FINE, wavelengths[0], wavelengths[-1]))
    weights = source(light, FINE)[:, None] * cmfs_1931(FINE)
    out: Array = 100 * curve @ weights / weights[:, 1].sum()
    return out


def amounts_to_match(
    target: Array,
    light: str,
    wavelengths: Array,
    names: tuple[str, str, str],
    make: Callable[[Mapping[str, float]], Array],
) -> dict[str, float]:
    """Amounts of three colorants with which ``make`` gives the XYZ of ``target`` under ``light``: a metamer."""
    from scipy.optimize import least_squares

    aim = xyz_under(light, target, wavelengths)
    found = least_squares(
        lambda x: xyz_under(light, make(dict(zip(names, x, strict=True))), wavelengths) - aim,
        [0.5, 0.2, 0.2],
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
    )
    if np.abs(found.fun).max() > 1e-6 or found.x.min() < 0:
        raise SystemExit(f"no mixture of {names} gives this colour: {found.x}, off by {found.fun}")
    return {name: float(x) for name, x in zip(names, found.x, strict=True)}


def carton_inks() -> Curves:
    """Process solids and spot inks on coated carton; the caddy's teal is made in two ways."""
    nm, stock = WIDE, carton(WIDE)

    def on(amounts: Mapping[str, float]) -> Array:
        return ink_on(stock, nm, amounts)

    teal = on(TEAL_SPOT)
    build = amounts_to_match(teal, "D50", nm, ("cyan", "magenta", "yellow"), on)
    return {
        "Carton, unprinted": stock,
        "Process cyan": on({"cyan": 1}),
        "Process magenta": on({"magenta": 1}),
        "Process yellow": on({"yellow": 1}),
        "Process black": on({"black": 1}),
        "Harbour teal, spot": teal,
        "Harbour teal, process build": on(build),
        "Ember orange, spot": on({"orange": 0.64}),
        "Dusk plum, spot": on({"violet": 1.15, "magenta": 0.25}),
        "Tea leaf green, spot": on({"green": 0.35, "yellow": 0.35, "black": 0.12}),
        "Slate grey, spot": on({"black": 0.33, "ochre": 0.06}),
    }


def kraft_inks() -> Curves:
    """The same ideas on brown board, where every colour is dull."""
    nm, stock = SHORT, kraft(SHORT)
    return {
        "Kraft, unprinted": stock,
        "Black on kraft": ink_on(stock, nm, {"black": 0.9}),
        "Harbour teal on kraft": ink_on(stock, nm, TEAL_SPOT),
        "Rust on kraft": ink_on(stock, nm, {"red": 0.45, "black": 0.10}),
        "Opaque white on kraft": opaque_ink_on(stock, nm, 1.6),
    }


def label_inks() -> Curves:
    """The band around the caddy: natural paper, a tint and an indigo."""
    nm, stock = SHORT, label_paper(SHORT)
    return {
        "Label paper": stock,
        "Label cream": ink_on(stock, nm, {"ochre": 0.12}),
        "Label indigo": ink_on(stock, nm, {"blue": 0.52, "violet": 0.25, "black": 0.28}),
    }


def caddy_parts() -> Curves:
    """What a photographer has on the table beside the printed board."""
    nm = SHORT
    printed = ink_on(carton(nm), nm, TEAL_SPOT)

    def lacquer(amounts: Mapping[str, float]) -> Array:
        return paint(nm, amounts)

    # The tin was lacquered to match the printed teal under flash light.
    teal = amounts_to_match(printed, "D55", nm, ("blue", "green", "yellow"), lacquer)
    return {
        "Tin lacquer, harbour teal": lacquer(teal),
        "Tin lacquer, ember orange": paint(nm, {"orange": 1.5, "black": 0.01}),
        "Bamboo lid": wood(nm),
        "Ribbon, plum": cloth(nm, {"violet": 2.0, "magenta": 0.9}, lift=0.5),
        "Loose black tea": cloth(nm, {"umber": 5.0, "black": 2.2, "ochre": 1.2}),
        "Loose green tea": cloth(nm, {"green": 1.1, "ochre": 2.0, "umber": 1.1}, lift=0.6),
        "Linen backdrop": cloth(nm, {"ochre": 0.16, "black": 0.03}),
        "Grey card": np.full(nm.shape, 0.18) + 0.00001 * (nm - 550),
    }


def set_paints() -> Curves:
    """Scenic paints of the kitchen set."""
    nm = SHORT
    return {
        "Wall, pale straw": paint(nm, {"ochre": 0.09, "black": 0.004}),
        "Dresser, grey blue": paint(nm, DRESSER),
        "Table, oxide red": paint(nm, {"red": 0.75, "umber": 0.35}),
        "Door, bottle green": paint(nm, {"green": 1.5, "black": 0.35, "yellow": 0.5}),
        "Floor, umber": paint(nm, {"umber": 1.0, "ochre": 0.3}),
        "Ceiling white": paint(nm, {"black": 0.002}),
        # Clear coloured enamel fired on white: more an ink than a paint, and outside the gamut of BT.709.
        "Jug, turquoise enamel": ink_on(np.full(nm.shape, 0.84), nm, {"cyan": 0.62, "green": 0.10}),
    }


DRESSER: Mapping[str, float] = {"turquoise": 0.22, "violet": 0.12, "black": 0.06}


def set_fabrics() -> Curves:
    """Cloth of the set. The curtain was dyed to match the dresser by daylight, with other colorants."""
    nm = SHORT
    dresser = paint(nm, DRESSER)

    def dyed(amounts: Mapping[str, float]) -> Array:
        return cloth(nm, amounts, lift=0.8)

    curtain = amounts_to_match(dresser, "D65", nm, ("blue", "magenta", "yellow"), dyed)
    return {
        "Curtain, grey blue": dyed(curtain),
        "Apron, madder red": cloth(nm, {"red": 2.6, "magenta": 0.5}, lift=0.3),
        "Tablecloth, unbleached": cloth(nm, {"ochre": 0.10}),
        "Cushion, leaf green": cloth(nm, {"green": 1.2, "yellow": 1.4}, lift=0.7),
    }


# A tile maker's list: L*, a*, b* for D65 and the 1931 observer, no spectra. That is all that there is.
SET_TILES = {
    "Tile, milk white": (91.40, -0.62, 3.85),
    "Tile, sea green": (62.15, -20.48, 4.02),
    "Tile, brick": (44.70, 27.35, 22.90),
}


def office_readings(generator: np.random.Generator) -> str:
    """The office LCD, read with a three-filter colorimeter: XYZ in cd/m2 with 0.25 % repeatability."""
    drive = patch_set_255()
    primaries = balanced(lcd_primaries(FINE), FINE, (0.3120, 0.3275), 160.0)
    black = 0.0009 * primaries.sum(axis=0) + 0.0006 * primaries[2]
    xyz = LM_PER_W * shown(drive, primaries, black, (2.20, 2.22, 2.18)) @ cmfs_1931(FINE)
    common = 1 + 0.0022 * generator.standard_normal((len(drive), 1))
    xyz = xyz * common * (1 + 0.0012 * generator.standard_normal(xyz.shape))
    xyz = np.clip(xyz + 0.0015 * generator.standard_normal(xyz.shape), 0.0005, None)
    header = [
        "kind: readings",
        "display: Office LCD, white-LED backlight, 160 cd/m2",
        "instrument: invented contact colorimeter, dark room",
        "observer: cie1931",
        "device_scale: 255",
        "R, G, B: drive values. X, Y, Z: cd/m2.",
    ]
    return csv_readings(drive, header, ["X", "Y", "Z"], xyz, ".4f")


def wide_readings(generator: np.random.Generator) -> str:
    """The wide-gamut display, read with a spectroradiometer: W/(sr m2 nm) every 4 nm, 0.25 % repeatability."""
    nm = np.arange(380.0, 781.0, 4.0)
    drive = patch_set_255()
    primaries = balanced(dot_primaries(FINE), FINE, (0.3127, 0.3290), 160.0)
    black = 0.00035 * primaries.sum(axis=0) + 0.0004 * primaries[2]
    spectra = shown(drive, primaries, black, (2.20, 2.20, 2.20))[:, ::4]
    spectra = spectra * (1 + 0.0023 * generator.standard_normal((len(drive), 1)))
    spectra = spectra * (1 + 0.0030 * generator.standard_normal(spectra.shape))
    spectra = np.clip(spectra + 2.0e-8 * np.abs(generator.standard_normal(spectra.shape)), 0, None)
    header = [
        "kind: readings",
        "display: Wide-gamut display, quantum dots, 160 cd/m2",
        "instrument: invented spectroradiometer, dark room",
        "device_scale: 255",
        "R, G, B: drive values. The other columns: spectral radiance in W/(sr m2 nm), by wavelength in nm.",
    ]
    return csv_readings(drive, header, [f"{x:.0f}" for x in nm], spectra, ".4e")


def patch_set_255() -> Array:
    """The drive values that both instruments were shown."""
    from invented_light import patch_set

    return patch_set()


def retouch_profile() -> bytes:
    """ICC profile of the photographer's retouching screen: wide primaries, gamma 2.2, 120 cd/m2, D65."""
    xy = np.array([[0.676, 0.322], [0.212, 0.702], [0.150, 0.062]])
    white = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])
    shares = np.stack([xy[:, 0] / xy[:, 1], np.ones(3), (1 - xy.sum(axis=1)) / xy[:, 1]], axis=1)
    primaries = shares * np.linalg.solve(shares.T, white)[:, None]
    curve = np.linspace(0, 1, 256) ** 2.2
    text = "Invented retouching screen"
    return icc_matrix_profile(text, primaries, white, 120.0, np.stack([curve] * 3))


def make(folder: Path) -> list[Path]:
    """Write every data file into ``folder`` and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)

    def noise(file: str) -> np.random.Generator:
        # Each file has a seed of its own, so that a change to one leaves the others as they are.
        return np.random.default_rng([SEED, *file.encode()])

    def read(file: str, curves: Curves) -> tuple[list[str], Array]:
        generator = noise(file)
        return list(curves), np.stack([read_by_instrument(curve, generator) for curve in curves.values()])

    condition = "45a:0, M1 (ISO 13655), black backing; 380 to 730 nm"
    keywords = {
        "ORIGINATOR": "invented, profiles_demo/make_data.py",
        "FILE_DESCRIPTOR": "Brindlemoot tea caddies: inks on coated carton (all invented)",
        "CREATED": "2026-10-05",
        "INSTRUMENTATION": "invented spectrophotometer",
        "MEASUREMENT_GEOMETRY": "45a:0",
        "FILTER": "M1",
        "SAMPLE_BACKING": "black",
        "KEYWORD": "REFLECTANCE_UNIT",
        "REFLECTANCE_UNIT": "fraction",
        "MEASUREMENT_SOURCE": f"ILLUMINATION_NAME=D50; {condition}",
    }
    files: dict[str, str | bytes] = {}
    names, values = read("carton_inks.cgats", carton_inks())
    files["carton_inks.cgats"] = cgats(names, WIDE, values, keywords)
    names, values = read("kraft_inks.cxf", kraft_inks())
    files["kraft_inks.cxf"] = cxf3(
        names,
        SHORT,
        values,
        "Brindlemoot tea caddies: inks on kraft board (all invented)",
        "black",
        "Kraft, unprinted",
    )
    names, values = read("labels.csv", label_inks())
    files["labels.csv"] = csv_spectra(
        names,
        SHORT,
        100 * values,
        [
            "Reflectance factors of the caddy's labels",
            "unit: percent",
            "geometry: 45a:0",
            "filter: M1",
            "backing: black",
            "date: 2026-10-05",
        ],
        digits=2,
    )
    names, values = read("caddy_parts.csv", caddy_parts())
    files["caddy_parts.csv"] = csv_spectra(
        names,
        SHORT,
        values,
        ["Reflectance factors of objects on the table", "unit: fraction", "geometry: di:8", "filter: M0"],
        digits=4,
    )
    names, values = read("set_paints.csv", set_paints())
    files["set_paints.csv"] = csv_spectra(
        names,
        SHORT,
        values,
        ["Reflectance factors of scenic paints", "unit: fraction", "geometry: 45a:0", "filter: M1"],
        digits=4,
    )
    names, values = read("set_fabrics.csv", set_fabrics())
    files["set_fabrics.csv"] = csv_spectra(
        names,
        SHORT,
        100 * values,
        ["Reflectance factors of cloth", "unit: percent", "geometry: di:8", "filter: M0"],
        digits=2,
        by_row=True,
        corner="wavelength",
    )
    files["set_tiles.csv"] = csv_lab(
        list(SET_TILES),
        np.array(list(SET_TILES.values())),
        ["CIELAB from the tile maker's list", "light: D65", "observer: cie1931"],
    )
    files["office_readings.csv"] = office_readings(noise("office_readings.csv"))
    files["wide_readings.csv"] = wide_readings(noise("wide_readings.csv"))
    files["retouch_screen.icc"] = retouch_profile()

    lamp_nm = np.arange(380.0, 781.0, 5.0)
    shop = white_led(lamp_nm, (452, 26, 0.80), [(520, 90, 0.55), (600, 120, 0.85)])
    panel_nm = np.arange(380.0, 781.0, 2.0)
    panel = white_led(panel_nm, (446, 20, 1.0), [(515, 92, 0.47), (604, 112, 0.50)])
    for file, curve in (("shop_led.csv", shop), ("led_panel.spdx", panel)):
        curve *= 1 + 0.003 * noise(file).standard_normal(curve.shape)
        curve /= curve.max()
    files["shop_led.csv"] = csv_spectra(
        ["power"],
        lamp_nm,
        shop[None, :],
        ["kind: light", "name: shop LED", "label: Shop LED, near 3900 K"],
        digits=5,
        by_row=True,
        corner="wavelength",
    )
    files["led_panel.spdx"] = spdx(panel_nm, panel, "Soft LED panel of the studio, daylight white")
    camera = camera_curves(lamp_nm).T
    files["studio_camera.csv"] = csv_spectra(
        ["R", "G", "B"],
        lamp_nm,
        camera / camera.max(),
        ["kind: camera", "label: Studio camera"],
        digits=5,
        by_row=True,
        corner="wavelength",
    )

    files |= ink_files(noise) | eye_files(noise)

    written = []
    for name, content in files.items():
        path = folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        written.append(path)
    return written


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--into", type=Path, default=Path(__file__).parent / "data", metavar="DIR")
    for path in make(parser.parse_args().into):
        print(path.name, path.stat().st_size)


if __name__ == "__main__":
    main()
