"""From readings to a display: the simplest model that explains them, and how well it does.

First the additive model, matrix with tone curves and black, is fitted and judged on patches held out of the fit.
When it misses them by more than repeated readings differ, a table is tried: what the additive model leaves is
interpolated smoothly and read off at a regular lattice. The table is taken only when it tells held-out patches
clearly better, and only from readings with mixtures all over the cube: held-out patches of ramps and greys lie
on the same lines as the others and say nothing of the colours between. Every error that is reported is of patches
that the fit did not see.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

import numpy as np

from screenproof.additive.additive_fit import AdditiveFit, effective_gamma, fit_additive
from screenproof.additive.additivity import (
    AdditivityFailure,
    IndependenceFailure,
    additivity_failure,
    fall_notes,
    independence_failure,
)
from screenproof.additive.display import Display
from screenproof.additive.fit_notes import (
    adding_notes,
    hue_notes,
    silences,
    slips,
    unread_mixtures,
)
from screenproof.additive.models import ColourModel, EmissionModel, MatrixModel
from screenproof.additive.patches import Mask, Patches, patches_of
from screenproof.additive.readings import STANDARD_OBSERVER, Readings
from screenproof.additive.sampled import SampledCurve
from screenproof.additive.table_fit import TableFit, fit_spectra, fit_table, runs_away
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.errors import InputError, Note
from screenproof.spectra import Array

FOLDS = 5
"""The patches are held out in so many parts, each told by a fit to the others."""

# The matrix explains the readings when it misses held-out patches by no more than this share above what repeated
# readings differ by, plus a difference that nobody sees.
_NOISE_FACTOR = 1.25
_UNSEEN_DE00 = 0.1
# The table is taken when its error is below this share of the matrix's, and surely so.
_TABLE_SHARE = 0.8
_SURE = 2.5
ModelKind = Literal["matrix", "table"]


@dataclass(frozen=True)
class DisplayHeldOut:
    """CIEDE2000, relative to the display's white, of patches that the fit did not see."""

    mean: float
    p95: float
    max: float
    count: int
    worst: str


@dataclass(frozen=True, eq=False)
class FitReport:
    """How well a display explains the readings it was fitted to.

    model: 'matrix' (with tone curves) or 'table'. held_out: of the model that was chosen;
    matrix_held_out, table_held_out: of each that was tried. Folds: the patches in ``folds`` random parts, each
    told by a fit to the rest; patches with all drives 0 or 1 are always fitted and never counted.
    repeatability_percent, repeatability_de00: one reading against the patch's mean, from repeats; None without.
    additivity_failure: full primaries against white. channel_independence_failure: ramps against mixtures.
    black: XYZ (3,) in cd/m2 of drive 0 in the model. luminance, contrast: of the model, dark room.
    gammas: exponent nearest to each curve's middle. monotone: whether each ramp rose throughout.
    readings, patches: how many were read, and how many different ones.
    """

    model: ModelKind
    held_out: DisplayHeldOut
    matrix_held_out: DisplayHeldOut
    table_held_out: DisplayHeldOut | None
    folds: int
    repeatability_percent: float | None
    repeatability_de00: float | None
    additivity_failure: AdditivityFailure | None
    channel_independence_failure: IndependenceFailure | None
    black: tuple[float, float, float]
    luminance: float
    contrast: float | None
    gammas: tuple[float, float, float]
    monotone: tuple[bool, bool, bool]
    readings: int
    patches: int
    spectral: bool
    notes: tuple[Note, ...] = field(default=())

    def as_dict(self) -> dict[str, Any]:
        """The report as plain data for JSON; the notes as their sentences."""
        plain = asdict(self)
        plain["notes"] = [str(note) for note in self.notes]
        return plain


Fitted = AdditiveFit | TableFit
Fit = Callable[[Mask], Fitted]


def fit_display(readings: Readings, name: str, *, seed: int = 0) -> Display:
    """The display that explains some readings, with :attr:`Display.fit` saying how well.

    readings: in any order, drive values 0..1 with XYZ in cd/m2 or spectra; a ramp of each channel, greys and
    mixtures, with a few patches read again; those off the centre of the screen and series over time are left out,
    and that is said. With spectra the display is spectral and any observer sees it.
    name: of the display. seed: of the random parts that are held out.

    Raises InputError, with every problem, when the readings cannot make a display: too few, no white, a channel
    that is never driven or gives no light, drives all the same, XYZ of zeros.
    """
    readings = readings.for_fit()
    patches = patches_of(readings)
    source = readings.source or None
    notes: list[Note] = list(readings.notes)
    everything = np.ones(len(patches), dtype=np.bool_)
    additive = fit_additive(patches, everything)
    smoothing = additive.smoothing
    parts = _parts(patches, seed)

    matrix_errors = _held_out(patches, parts, lambda rows: fit_additive(patches, rows, smoothing))
    matrix_summary = _summary(matrix_errors, patches)
    table_summary = None
    chosen: ModelKind = "matrix"
    errors = matrix_errors
    adding, independence = additivity_failure(patches), independence_failure(patches, smoothing)
    unread = unread_mixtures(patches)
    if _unexplained(matrix_errors, patches) and unread is None:
        table_errors = _held_out(
            patches, parts, lambda rows: fit_table(patches, rows, smoothing, readings.grid, seed)
        )
        table_summary = _summary(table_errors, patches)
        if _clearly_better(table_errors, matrix_errors):
            unread = runs_away(fit_table(patches, everything, smoothing, readings.grid, seed), patches)
            if unread is None:
                chosen, errors = "table", table_errors
    falls, monotone = fall_notes(patches, readings.source)
    notes.extend(falls)
    try:
        model = _model(chosen, patches, readings, additive, everything, seed)
        display = Display(name, readings.display or name, "readings", model, source=readings.source)
    except InputError as error:
        raise InputError(replace(p, file=p.file or source) for p in error.problems) from None
    view = display.seen_by()
    notes.extend(hue_notes(additive.matrix, patches.white, source))
    notes.extend(slips(errors, view.to_xyz(patches.drive), patches, source))
    if chosen == "matrix":
        notes.extend(adding_notes(adding, independence, patches, unread, source))
    notes.extend(silences(patches, source))
    if chosen == "table" and table_summary is not None:
        notes.append(
            Note(
                "info",
                f"the display does not add: a matrix with tone curves misses held-out patches by "
                f"{matrix_summary.mean:.2f} CIEDE2000 (95 % below {matrix_summary.p95:.2f}), a table by "
                f"{table_summary.mean:.2f} ({table_summary.p95:.2f}); the table is used",
                about=name,
                file=source,
            )
        )
    curves: list[SampledCurve] = [curve for curve in additive.curves if isinstance(curve, SampledCurve)]
    known = patches.repeatability
    report = FitReport(
        model=chosen,
        held_out=table_summary if chosen == "table" and table_summary is not None else matrix_summary,
        matrix_held_out=matrix_summary,
        table_held_out=table_summary,
        folds=FOLDS,
        repeatability_percent=None if known is None else known.percent,
        repeatability_de00=None if known is None else known.de00,
        additivity_failure=adding,
        channel_independence_failure=independence,
        black=_triple(view.black),
        luminance=display.luminance,
        contrast=display.contrast,
        gammas=_triple([effective_gamma(curve) for curve in curves]),
        monotone=monotone,
        readings=len(readings),
        patches=len(patches),
        spectral=display.spectral,
        notes=tuple(notes),
    )
    return replace(display, fit=report, notes=tuple(notes))


def _triple(values: Array | list[float]) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _model(
    kind: ModelKind, patches: Patches, readings: Readings, additive: AdditiveFit, rows: Mask, seed: int
) -> ColourModel | EmissionModel:
    """The display's model from all patches."""
    if kind == "table":
        return fit_table(patches, rows, additive.smoothing, readings.grid, seed).model(readings.observer)
    if patches.spectra is not None and readings.grid is not None:
        return fit_spectra(patches, rows, additive).model(additive.curves, readings.grid)
    observer = STANDARD_OBSERVER if readings.spectral else readings.observer
    return MatrixModel(additive.curves, additive.matrix, additive.black, observer)


def _parts(patches: Patches, seed: int) -> list[Mask]:
    """Patches to hold out, in turn: all but those at the corners of the cube, in random parts of equal size."""
    free = np.flatnonzero(~patches.anchors)
    shuffled = np.random.default_rng(seed).permutation(free)
    parts = []
    for fold in range(FOLDS):
        held = np.zeros(len(patches), dtype=np.bool_)
        held[shuffled[fold::FOLDS]] = True
        parts.append(held)
    return parts


def _held_out(patches: Patches, parts: list[Mask], fit: Fit) -> Array:
    """CIEDE2000 (m,) of each patch told by a fit without it; NaN for those that are always fitted."""
    error = np.full(len(patches), np.nan)
    for rows in parts:
        if rows.any():
            told = xyz_to_lab(fit(~rows).to_xyz(patches.drive[rows]), patches.white)
            error[rows] = de2000(told, xyz_to_lab(patches.xyz[rows], patches.white))
    return error


def _summary(error: Array, patches: Patches) -> DisplayHeldOut:
    counted = np.flatnonzero(np.isfinite(error))
    values = error[counted]
    return DisplayHeldOut(
        float(values.mean()),
        float(np.percentile(values, 95)),
        float(values.max()),
        int(values.size),
        patches.names[counted[int(np.argmax(values))]],
    )


def _unexplained(error: Array, patches: Patches) -> bool:
    """Whether the matrix misses held-out patches by more than repeats differ."""
    if patches.repeatability is None:
        return float(np.nanmean(error)) > _UNSEEN_DE00
    return float(np.nanmean(error)) > _NOISE_FACTOR * patches.repeatability.de00 + _UNSEEN_DE00


def _clearly_better(table: Array, matrix: Array) -> bool:
    """Whether the table tells held-out patches better than the matrix: by much, and not by chance."""
    gain = (matrix - table)[np.isfinite(matrix)]
    doubt = float(gain.std(ddof=1)) / np.sqrt(gain.size)
    mean = float(gain.mean())
    return mean > _UNSEEN_DE00 and mean > _SURE * doubt and np.nanmean(table) < _TABLE_SHARE * np.nanmean(matrix)


__all__ = [
    "AdditivityFailure",
    "FitReport",
    "DisplayHeldOut",
    "IndependenceFailure",
    "Readings",
    "fit_display",
]
