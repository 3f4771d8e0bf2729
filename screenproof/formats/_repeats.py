"""Repeated readings of one sample: averaged, and their spread turned into what is known of one reading.

The variance of one reading is pooled over the file, for its samples are read by one instrument and few are read
often: s^2 = sum over readings of (x - mean)^2 / (readings - samples), band by band where there are enough, else
over all bands together. A sample with ten readings or more has its own. With f = readings - samples the standard
deviation is widened by the root of f / (f - 2), as JCGM 101:2008 (6.4.9) has it for a variance that is itself told
from few readings; for f below 3 no such factor exists and that of 3 is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.errors import InputError, Note
from screenproof.formats._doubt import ENOUGH, RepeatSpread, RowDoubt
from screenproof.formats._names import some
from screenproof.formats._text import Problems
from screenproof.spectra import Array, Grid, light, observer, tristimulus, white_point

APART_DE00 = 5.0
"""Readings of one sample that differ by more are those of two samples, or a slip. Common practice, no source."""

_APART_REFLECTANCE = 0.05
"""The like for curves too short for a colour."""

_OWN = 10
_BY_BAND = 20
_WINDOW_NM = 100.0


@dataclass(frozen=True, eq=False)
class Readers:
    """Which rows are readings of which sample, the line of each, and its column where samples are columns."""

    names: Sequence[str]
    groups: Sequence[Sequence[int]]
    lines: Sequence[int]
    columns: Sequence[int] | None = None

    @classmethod
    def single(cls, names: Sequence[str]) -> Readers:
        """One reading of each, in a file without lines."""
        return cls(names, [[i] for i in range(len(names))], [0] * len(names))

    @property
    def repeated(self) -> list[int]:
        """The samples with more than one row."""
        return [i for i, group in enumerate(self.groups) if len(group) > 1]

    @property
    def row_names(self) -> list[str]:
        """The sample's name for each row."""
        found = [""] * len(self.lines)
        for name, group in zip(self.names, self.groups, strict=True):
            for row in group:
                found[row] = name
        return found

    def line(self, row: int) -> int | None:
        """The line of a row, None in a file without."""
        return self.lines[row] or None

    def places(self, rows: Sequence[int]) -> str:
        """Where some rows stand: 'lines 3, 5' or 'columns 2, 3'."""
        kind, where = ("line", self.lines) if self.columns is None else ("column", self.columns)
        return f"{kind}{'s' if len(rows) > 1 else ''} {some(where[row] for row in rows)}"


@dataclass(frozen=True, eq=False)
class Averaged:
    """The means of repeated readings and their spread. Arrays have one row per sample."""

    reflectance: Array | None
    xyz: Array | None
    device: Array | None
    rows: RowDoubt
    spread: RepeatSpread | None


def average(
    readers: Readers,
    grid: Grid | None,
    reflectance: Array | None,
    xyz: Array | None,
    device: Array | None,
    rows: RowDoubt,
    standard: tuple[str, str] | None,
    stated_readings: int | None,
    problems: Problems,
    notes: list[Note],
) -> Averaged:
    """Rows to samples. ``standard``: light and observer of the XYZ.

    Readings of one sample that are too far apart, or have unlike device values, are problems; what was averaged is
    said in ``notes``.
    """
    if not readers.repeated:
        told = RowDoubt(rows.repeatability, _filled(rows, stated_readings))
        return Averaged(reflectance, xyz, device, told, None)
    own = 1 if stated_readings is None else stated_readings
    filled = _filled(rows, stated_readings)
    weights = np.full(len(readers.lines), float(own)) if filled is None else filled
    _check(readers, grid, reflectance, xyz, device, standard, problems)
    if problems:
        return Averaged(reflectance, xyz, device, rows, None)
    group: NDArray[np.intp] = np.empty(len(readers.lines), dtype=np.intp)
    for i, members in enumerate(readers.groups):
        group[list(members)] = i
    total = np.asarray(np.bincount(group, weights), dtype=np.float64)

    def mean(values: Array) -> Array:
        found = np.zeros((len(total), values.shape[1]))
        np.add.at(found, group, values * weights[:, None])
        return found / total[:, None]

    first = [members[0] for members in readers.groups]
    repeatability = rows.repeatability
    if repeatability is not None:
        repeatability = np.sqrt(mean(repeatability[:, None] ** 2)[:, 0])
    values = reflectance if reflectance is not None else _lab(xyz, standard)
    spread = _spread(values - mean(values)[group], weights, group, grid)
    notes.append(_note(readers, spread, reflectance is not None, problems.file))
    merged = RowDoubt(repeatability, total)
    return Averaged(
        None if reflectance is None else mean(reflectance),
        None if xyz is None else mean(xyz),
        None if device is None else device[first],
        merged,
        spread,
    )


def _filled(rows: RowDoubt, stated: int | None) -> Array | None:
    """Readings of each row, where a column says any: an empty cell is the file's own number."""
    if rows.readings is None:
        return None
    return np.where(np.isfinite(rows.readings), rows.readings, 1.0 if stated is None else float(stated))


def _lab(xyz: Array | None, standard: tuple[str, str] | None) -> Array:
    from screenproof.appearance import xyz_to_lab

    assert xyz is not None and standard is not None  # a file without curves has colours
    return xyz_to_lab(xyz, white_point(light(standard[0]), observer(standard[1])))


def _spread(apart: Array, weights: Array, group: NDArray[np.intp], grid: Grid | None) -> RepeatSpread:
    """From the readings' distances from their means (rows, w): the standard deviation of one reading."""
    squares = weights[:, None] * apart**2
    rows = np.bincount(group)
    freedom = int(len(group) - len(rows))
    pooled = squares.sum(axis=0) / freedom
    by_band = grid is not None and freedom >= _BY_BAND
    amount = np.sqrt(pooled if by_band else pooled.mean()) * _widened(freedom)
    often = np.flatnonzero(rows >= _OWN)
    if often.size or by_band:
        amount = np.broadcast_to(amount, (len(rows), apart.shape[1]) if by_band else (len(rows),)).copy()
        for i in often.tolist():
            own = squares[group == i].sum(axis=0) / (rows[i] - 1)
            own = own if by_band and rows[i] > _BY_BAND else own.mean()
            amount[i] = np.sqrt(own) * _widened(int(rows[i]) - 1)
    reach = None
    if grid is not None and freedom >= ENOUGH:
        reach = _reach(np.sqrt(weights)[:, None] * apart, grid)
    return RepeatSpread(amount if np.ndim(amount) else float(amount), reach, freedom)


def _widened(freedom: int) -> float:
    least = max(freedom, 3)
    return math.sqrt(least / (least - 2))


def _reach(apart: Array, grid: Grid) -> float | None:
    """Over how many nm errors of bands go together, told by what is left of them in the mean of 100 nm.

    A colour is made of bands that wide: what the correlation exp(-|dl|/L) must get right is how much of the error
    of single bands such a mean keeps. L is where it keeps what the readings show.
    """
    from scipy.optimize import brentq

    count = int(_WINDOW_NM / grid.step)
    single = float((apart**2).mean())
    if count < 3 or grid.count < 2 * count or single <= 0.0:
        return None
    sums = np.cumsum(np.pad(apart, ((0, 0), (1, 0))), axis=1)
    kept = float((((sums[:, count:] - sums[:, :-count]) / count) ** 2).mean()) / single
    distance = np.abs(np.subtract.outer(np.arange(count), np.arange(count))) * grid.step

    def excess(log_reach: float) -> float:
        return float(np.exp(-distance / math.exp(log_reach)).mean()) - kept

    low, high = math.log(0.1 * grid.step), math.log(5000.0)
    if excess(low) >= 0.0:
        return 0.0
    return math.exp(high) if excess(high) <= 0.0 else math.exp(float(brentq(excess, low, high)))


def _note(readers: Readers, spread: RepeatSpread, curves: bool, file: str) -> Note:
    samples, rows = readers.repeated, sum(len(readers.groups[i]) for i in readers.repeated)
    size = float(np.sqrt(np.mean(np.square(spread.repeatability))))
    unit = "in reflectance factor" if curves else "in each of L*, a*, b*"
    many = "1 sample was" if len(samples) == 1 else f"{len(samples)} samples were"
    few = spread.freedom < ENOUGH
    return Note(
        "info",
        f"{many} read more than once ({rows} readings): the means are used, and one reading repeats within "
        f"{size:.2g} {unit}" + (", told from few readings" if few else ""),
        file=file,
        line=readers.line(readers.groups[samples[0]][1]),
        mend=f"read samples again until {ENOUGH} readings or more are repeats" if few else None,
    )


def _check(
    readers: Readers,
    grid: Grid | None,
    reflectance: Array | None,
    xyz: Array | None,
    device: Array | None,
    standard: tuple[str, str] | None,
    problems: Problems,
) -> None:
    """Readings of one sample must be alike, and have the same device values."""
    if not readers.repeated:
        return
    rows = [row for i in readers.repeated for row in readers.groups[i]]
    place = {row: k for k, row in enumerate(rows)}
    lamp = "D50" if reflectance is not None or standard is None else standard[0]
    curves, colours = (None if values is None else values[rows] for values in (reflectance, xyz))
    lab = _colours(grid, curves, colours, standard)
    for i in readers.repeated:
        members = list(readers.groups[i])
        listed = f"({readers.places(members)})"
        if device is not None and np.ptp(device[members], axis=0).max() > 1e-6:
            problems.add(
                f"the name {readers.names[i]!r} stands {len(members)} times with different device values {listed}",
                line=readers.line(members[1]),
                expected="readings of one sample, or every name once",
                mend="give each sample its own name",
            )
            continue
        if lab is not None:
            apart = _distances(lab[[place[row] for row in members]])
            unit, bound = f"CIEDE2000 under {lamp}", APART_DE00
        else:
            assert reflectance is not None
            values = reflectance[members]
            apart = np.abs(values[:, None] - values[None]).max(axis=2)
            unit, bound = "in reflectance factor", _APART_REFLECTANCE
        largest = float(apart.max())
        if largest > bound:
            odd = members[int(np.argmax(np.median(apart, axis=1)))]
            mend = "give each sample its own name"
            if len(members) > 2:
                mend += f", or leave out {readers.places([odd])}, which is farthest from the others"
            problems.add(
                f"the name {readers.names[i]!r} stands {len(members)} times with different values {listed}: up to "
                f"{largest:.3g} {unit} apart",
                line=readers.line(odd if len(members) > 2 else members[1]),
                expected=f"readings of one sample, at most {bound:g} {unit} apart",
                mend=mend,
            )


def _colours(
    grid: Grid | None, reflectance: Array | None, xyz: Array | None, standard: tuple[str, str] | None
) -> Array | None:
    """Lab of rows: of curves under D50 for the 1931 observer, of XYZ under their own light; None without."""
    from screenproof.appearance import xyz_to_lab

    if reflectance is None or grid is None:
        return _lab(xyz, standard)
    lamp, eye = light("D50"), observer("cie1931")
    try:
        return xyz_to_lab(tristimulus(reflectance, grid, [lamp], [eye])[:, 0, 0], white_point(lamp, eye))
    except InputError:
        return None  # the wavelengths do not suffice for a colour


def _distances(lab: Array) -> Array:
    from screenproof.appearance import de2000

    return np.asarray(de2000(lab[:, None], lab[None]))
