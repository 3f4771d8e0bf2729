"""Camera sensitivities from CSV: the wavelength and three curves."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from screenproof.formats._assemble import grid_of
from screenproof.formats._columns import ascending, read_curves
from screenproof.formats._fields import plain
from screenproof.formats._text import Problems, read_bytes
from screenproof.formats.lights import HUGE, NEEDED_NM
from screenproof.spectra import Array, Observer

_RGB = {"R": 0, "RED": 0, "G": 1, "GREEN": 1, "B": 2, "BLUE": 2}
_BELOW_ZERO = -0.05


def read_camera(path: str | Path) -> Observer:
    """The three sensitivities of a camera as an observer, (w, 3), in the order red, green, blue.

    Columns named R, G, B (or red, green, blue) are found wherever they stand; without names, or with other
    names, the three columns beside the wavelength are taken in their order. The scale is the file's own.
    Raises InputError with every problem of the file.
    """
    file = str(path)
    problems = Problems(file)
    curves = read_curves(read_bytes(path), path, ("camera",), problems)
    values = _three(curves.values, curves.names, problems, curves.lines[0] - 1)
    grid = None
    if ascending(curves.nm, curves.lines, problems):
        grid = grid_of(curves.nm.tolist(), problems, line=curves.lines[0])
    if grid is not None and (grid.start > NEEDED_NM[0] or grid.stop < NEEDED_NM[1]):
        problems.add(
            f"the sensitivities are known only from {grid.start:g} to {grid.stop:g} nm",
            expected=f"at least {NEEDED_NM[0]:g} to {NEEDED_NM[1]:g} nm",
            mend="give the whole visible range",
        )
    if values is not None:
        for channel, name in enumerate(("red", "green", "blue")):
            column = values[:, channel]
            if np.abs(column).max() > HUGE:
                at = int(np.argmax(np.abs(column)))
                problems.add(
                    f"the {name} curve is {column[at]:.4g} at {curves.nm[at]:g} nm",
                    line=curves.lines[at],
                    expected="a sensitivity that a camera can have",
                    mend="check the exponent",
                )
            elif not np.any(column > 0):
                problems.add(
                    f"the {name} curve has no value above zero",
                    expected="a sensitivity above zero somewhere",
                    mend="check the columns",
                )
            elif column.min() < _BELOW_ZERO * column.max():
                at = int(np.argmin(column))
                problems.add(
                    f"the {name} curve is {column[at]:.4g} at {curves.nm[at]:g} nm",
                    line=curves.lines[at],
                    expected="sensitivities of 0 or more",
                    mend="these may be matching functions or a transformed set: give the camera's own curves",
                )
    problems.raise_any()
    assert grid is not None and values is not None
    name = curves.found["name"][0] if "name" in curves.found else Path(path).stem
    label = curves.found.get("label", curves.found.get("title", ("", 0)))[0]
    return Observer(name=name, grid=grid, curves=values, label=label, kind="camera", source=file)


def _three(values: Array, names: list[str] | None, problems: Problems, line: int) -> Array | None:
    if names is not None:
        places: dict[int, int] = {}
        for column, name in enumerate(names):
            channel = _RGB.get(plain(name))
            if channel is not None:
                places.setdefault(channel, column)
        if len(places) == 3:
            return values[:, [places[0], places[1], places[2]]]
    if values.shape[1] != 3:
        problems.add(
            f"{values.shape[1]} column(s) beside the wavelength",
            line=max(line, 1),
            expected="three: the sensitivities of red, green and blue",
            mend="name them R, G, B, and remove or name the others",
        )
        return None
    return values
