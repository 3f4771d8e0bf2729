"""Published tables as text files, each with its source in its header, and how they are read."""

from __future__ import annotations

import functools
from importlib import resources

import numpy as np

from screenproof.spectra._arrays import Array, frozen


@functools.cache
def read_table(name: str) -> tuple[tuple[str, ...], Array]:
    """Column names and values (rows, columns) of the table ``name`` (a file of this folder, no suffix)."""
    text = resources.files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    columns = tuple(lines[0].split(","))
    values = [[float(cell) if cell else np.nan for cell in line.split(",")] for line in lines[1:]]
    return columns, frozen(values)
