"""The starter job: a folder with a job file and invented samples, which runs at once.

The samples are made here, from a few absorption bands each, so that the whole invention can be read: a thick
enough layer with absorption K and scattering S has K/S = (1 - R)^2 / 2R (Kubelka and Munk 1931), K/S of an
ink is taken to add to that of the stock, and R = 1 + K/S - sqrt((K/S)^2 + 2 K/S). Nobody measured them.
"""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import numpy as np

from screenproof.errors import InputError, bad
from screenproof.spectra import Array

JOB, COLOURS = "job.toml", "colours.csv"

# Absorption bands of each invented ink on the sheet: centre [nm], width [nm], strength in K/S.
# The strengths of the mixed slate are solved so that it matches the other under D50 for the 2 degree observer.
INKS: dict[str, tuple[tuple[float, float, float], ...]] = {
    "Stock": (),
    "Lantern red": ((440, 75, 6.0), (530, 48, 9.0)),
    "Marigold": ((430, 62, 7.0), (490, 26, 1.8), (540, 30, 0.25)),
    "Moss": ((425, 60, 4.5), (665, 75, 5.0), (560, 60, 0.9)),
    "Sea teal": ((655, 72, 9.0), (590, 44, 1.9), (410, 45, 0.9)),
    "Night blue": ((590, 72, 9.0), (670, 70, 6.5), (500, 34, 2.2), (400, 30, 0.5)),
    "Plum": ((545, 55, 5.0), (625, 38, 1.1), (430, 40, 0.6)),
    "Slate": ((550, 2000, 1.55),),
    "Slate, mixed": ((440, 40, 2.362), (545, 30, 2.440), (610, 30, 2.440)),
}

HEADER = """\
# Invented colours of an invented bookmark: made from absorption bands, measured by nobody.
# unit: fraction
# geometry: 45:0
# filter: M1
# backing: white
"""


def wavelengths() -> Array:
    """380 to 730 nm in steps of 10 nm, as a hand-held instrument gives them."""
    return np.arange(380.0, 731.0, 10.0)


def reflectance(bands: tuple[tuple[float, float, float], ...]) -> Array:
    """Reflectance factor (36,) of an invented ink with these bands on the invented sheet."""
    nm = wavelengths()
    # A warm white sheet: a little darker at the violet end, a little lighter at the red.
    sheet = 0.86 - 0.10 * np.exp(-(((nm - 380.0) / 28.0) ** 2)) + 0.02 * (nm - 550.0) / 180.0
    ratio = (1.0 - sheet) ** 2 / (2.0 * sheet)
    for centre, width, strength in bands:
        ratio = ratio + strength * np.exp(-(((nm - centre) / width) ** 2))
    return np.asarray(1.0 + ratio - np.sqrt(ratio**2 + 2.0 * ratio))


def colours_csv() -> str:
    """The invented samples as CSV, one row each, wavelengths [nm] as columns."""
    lines = [HEADER + ",".join(["name", *(f"{nm:g}" for nm in wavelengths())])]
    for name, bands in INKS.items():
        shown = f'"{name}"' if "," in name else name
        lines.append(",".join([shown, *(f"{value:.4f}" for value in reflectance(bands))]))
    return "\n".join(lines) + "\n"


def new_job(folder: str | Path) -> tuple[Path, ...]:
    """Write the starter job into a new (or empty) folder; the paths written, the job file first.

    Raises InputError when the folder holds anything already or cannot be made.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise bad("this is a file, not a folder", file=folder.as_posix(), mend="name a new folder")
    if folder.exists() and any(folder.iterdir()):
        raise bad(
            "the folder is not empty",
            file=folder.as_posix(),
            expected="a new or empty folder, so that nothing of yours is touched",
            mend="name a new folder",
        )
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        job = files("screenproof.jobs") / "starter_files" / JOB
        (folder / JOB).write_text(job.read_text(encoding="utf-8"), encoding="utf-8")
        (folder / COLOURS).write_text(colours_csv(), encoding="utf-8")
    except OSError as error:
        if made:
            shutil.rmtree(folder, ignore_errors=True)
        raise _unwritable(folder, error) from None
    return folder / JOB, folder / COLOURS


def _unwritable(folder: Path, error: OSError) -> InputError:
    return bad(
        f"the folder cannot be made: {error.strerror or error}",
        file=folder.as_posix(),
        expected="a place that you may write to",
        mend="name another folder",
    )
