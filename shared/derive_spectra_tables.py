"""Write the tables of screenproof/spectra/tables from the data that colour-science ships.

Run it from the top of the project: ``python shared/derive_spectra_tables.py``. The tables are kept in the
package as text so that nobody needs colour-science (about a second to import) to run screenproof; a test
holds them against colour-science, so a slip in either is noticed.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np

warnings.simplefilter("ignore")  # colour-science warns about optional packages that are not needed here
import colour  # noqa: E402

TABLES = Path(__file__).parents[1] / "screenproof" / "spectra" / "tables"

OBSERVERS = {
    "cie_1931_2": (
        "CIE 1931 2 Degree Standard Observer",
        "CIE 1931 colour-matching functions, 2 degrees: ISO/CIE 11664-1:2019, CIE 15:2018 Table T.4, 1 nm",
    ),
    "cie_1964_10": (
        "CIE 1964 10 Degree Standard Observer",
        "CIE 1964 colour-matching functions, 10 degrees: ISO/CIE 11664-1:2019, CIE 15:2018 Table T.5, 1 nm",
    ),
    "cie_2015_2": (
        "CIE 2015 2 Degree Standard Observer",
        "Cone-fundamental-based colour-matching functions, 2 degrees: CIE 170-2:2015, 1 nm",
    ),
    "cie_2015_10": (
        "CIE 2015 10 Degree Standard Observer",
        "Cone-fundamental-based colour-matching functions, 10 degrees: CIE 170-2:2015, 1 nm",
    ),
}

ILLUMINANTS = (
    ["C", "D50", "D55", "D65", "D75"]
    + [f"FL{i}" for i in range(1, 13)]
    + [f"FL3.{i}" for i in range(1, 16)]
    + [f"HP{i}" for i in range(1, 6)]
    + ["LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"]
    + ["ID50", "ID65"]
)


def write(name: str, header: list[str], columns: list[str], rows: np.ndarray) -> None:
    """One table: comment lines, a line of column names, then one line per wavelength."""
    lines = [f"# {line}" for line in header] + [",".join(columns)]
    lines += [",".join("" if np.isnan(cell) else repr(float(cell)) for cell in row) for row in rows]
    (TABLES / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def main() -> None:
    """Write all tables."""
    obtained = f"obtained: as shipped by colour-science {colour.__version__}, no value changed"
    for name, (key, source) in OBSERVERS.items():
        curves = colour.MSDS_CMFS[key]
        rows = np.column_stack([curves.wavelengths, curves.values])
        write(name, [f"source: {source}", obtained], ["nm", "x_bar", "y_bar", "z_bar"], rows)
    nm = np.arange(300.0, 781.0, 5.0)
    columns = [nm]
    for name in ILLUMINANTS:
        power = colour.SDS_ILLUMINANTS[name]
        column = np.full(nm.size, np.nan)
        column[np.searchsorted(nm, power.wavelengths)] = power.values
        columns.append(column)
    write(
        "cie_illuminants",
        [
            "source: CIE illuminants, relative spectral power, 5 nm: ISO/CIE 11664-2:2022, CIE 15:2018",
            "  (C, D, FL, FL3, HP, LED, ID series; an empty cell is outside the published range)",
            obtained,
        ],
        ["nm", *ILLUMINANTS],
        np.column_stack(columns),
    )
    components = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    series = [components[name] for name in ("S0", "S1", "S2")]
    write(
        "cie_daylight_components",
        ["source: components S0, S1, S2 of CIE daylight: CIE 15:2018 Table T.2, 5 nm", obtained],
        ["nm", "S0", "S1", "S2"],
        np.column_stack([series[0].wavelengths, *(component.values for component in series)]),
    )


if __name__ == "__main__":
    main()
