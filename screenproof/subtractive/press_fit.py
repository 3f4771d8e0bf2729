"""A press from its characterisation: the patches of a chart, their tints and what was measured on them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance import de2000
from screenproof.errors import Note, bad
from screenproof.spectra import Array, Samples
from screenproof.subtractive.halftone import checked_n, raised, root
from screenproof.subtractive.press import HeldOut, Press, TintLimits
from screenproof.subtractive.press_cells import Cells
from screenproof.subtractive.press_chart import Chart, averaged, check_complete, read_chart
from screenproof.subtractive.press_choice import Choice, choose, dealt, fitted_curves, overprinted
from screenproof.subtractive.press_grids import SubGrid, find_grids
from screenproof.subtractive.press_nodes import choose_levels, fill, overprints

FOLDS = 10
"""Parts into which the patches are dealt when each is predicted by a press fitted to the others."""

_FEW = 10
_MANY, _FEWER_FOLDS = 2000, 4


def fit_press(
    samples: Samples,
    *,
    fit: ArrayLike | None = None,
    n: float | None = None,
    name: str = "",
    folds: int = FOLDS,
) -> Press:
    """Fit a press to the samples of a characterisation.

    samples: with ``device`` tints of 1 to 8 channels, 0..1, and reflectances (or XYZ for their light and
    observer). fit: which samples (n,) bool to fit on; the others then measure the error. Without it the press
    is fitted on all, and the error is measured by refitting on all but a tenth of the overprinted tints, ten
    times (``folds``; four times from 2,000 patches on). n: Yule-Nielsen factor, at least 1; found when not
    given. Colour differences are CIEDE2000, for spectra under D50 and the 1931 observer.

    n, and how closely patches that stand in no grid are followed, are those that predict overprinted tints best
    which are left out of the fit in turn; only patches of the fit are used. When the fit holds only solids,
    their overprints and ramps, n is the one with which the ramps come nearest to one coverage in all bands.

    Raises InputError, with every problem found: no tints; tints outside 0..1; more than eight channels; no bare
    stock or no solid of a channel, or one that does not show; values that cannot be; a ramp that goes back.
    """
    if folds < 2:
        raise bad(f"{folds} parts to judge the fit by", field="folds", expected="2 or more")
    chart, notes = read_chart(samples)
    chosen = _mask(fit, samples)
    train, doubles = averaged(chart.select(chosen))
    check_complete(train)
    choice = choose(train, None if n is None else checked_n(n))
    press, more = _build(train, choice)
    if chosen.all():
        held_out = _cross_validated(train, press, choice, folds)
    else:
        rest = chart.select(~chosen)
        held_out = _scored(rest, press.predict(rest.patches.device) / press.scale, "patches outside the fit set")
    return replace(
        press,
        held_out=held_out,
        name=name,
        condition=samples.condition,
        source=samples.source,
        notes=(*samples.notes, *notes, *doubles, *more),
    )


def _mask(fit: ArrayLike | None, samples: Samples) -> NDArray[np.bool_]:
    if fit is None:
        return np.ones(len(samples), dtype=bool)
    mask = np.asarray(fit)
    if mask.dtype != np.bool_ or mask.shape != (len(samples),) or not mask.any():
        raise bad(
            f"a fit set of {mask.dtype} and shape {mask.shape}",
            field="fit",
            expected=f"true or false for each of the {len(samples)} samples, some true",
        )
    return mask


def _build(chart: Chart, choice: Choice) -> tuple[Press, tuple[Note, ...]]:
    """The press of averaged patches, and notes on what was assumed."""
    curves, notes = fitted_curves(chart, choice.n, choice.trust)
    grids = find_grids(chart.patches.device, chart.channels)
    base, levels = choose_levels(chart.patches.device, curves, _levels_of(grids, len(curves)), _bands(chart))
    values, support = fill(chart.patches, curves, choice.n, base, levels, choice.smoothing)
    missing = _missing(chart)
    if missing:
        notes += (
            Note(
                "assumed",
                f"{len(missing)} overprints of solids were not measured ({', '.join(missing[:6])}"
                f"{', ...' if len(missing) > 6 else ''}): they are estimated as the product of transmittances",
                file=chart.file,
                mend="print and measure the overprints of the solids",
            ),
        )
    spectral = chart.grid is not None
    device = chart.patches.device
    return (
        Press(
            channels=chart.channels,
            n=choice.n,
            curves=curves,
            levels=tuple(levels),
            nodes=values * (1.0 if spectral else 100.0),
            support=support,
            limits=TintLimits(float(device.sum(axis=1).max()), tuple(device.max(axis=0).tolist())),
            grid=chart.grid,
            light=None if spectral else chart.light,
            observer=None if spectral else chart.observer,
            grids=grids,
            trust=choice.trust,
        ),
        notes,
    )


def _bands(chart: Chart) -> int:
    return int(chart.patches.values.shape[1])


def _levels_of(grids: tuple[SubGrid, ...], width: int) -> list[list[list[float]]]:
    """Levels by channel of the grids, the one over all channels first: 0 and 1 where there is none."""
    wanted = [[list(levels) for levels in grid.levels] for grid in grids]
    if not wanted or any(len(levels) < 2 for levels in wanted[0]):
        wanted.insert(0, [[0.0, 1.0]] * width)
    return wanted


def _missing(chart: Chart) -> list[str]:
    """The overprints of solids that were not measured, by their inks, those of few inks first."""
    width = len(chart.channels)
    measured = overprints(chart.patches, width)[1]
    sets = [
        [name for k, name in enumerate(chart.channels) if inks & (1 << (width - 1 - k))]
        for inks in range(2**width)
    ]
    return [" + ".join(sets[i]) for i in sorted(np.flatnonzero(~measured), key=lambda i: len(sets[i]))]


def _cross_validated(chart: Chart, press: Press, choice: Choice, folds: int) -> HeldOut:
    """Errors of presses fitted without a part of the overprinted tints, on that part; of ramps if there are
    none."""
    open_to_doubt = overprinted(chart)
    what, unknown = "overprinted tints", ""
    if open_to_doubt.sum() < _FEW:
        open_to_doubt, what = ~chart.solid, "tints between stock and solids"
        unknown = "; tints of more than one ink are hardly among them, so the error on those is not known"
    parts = dealt(open_to_doubt, min(folds, _FEWER_FOLDS) if len(chart.names) > _MANY else folds)
    predicted = chart.patches.values.copy()
    for part in parts:
        rest = np.ones(len(chart.names), dtype=bool)
        rest[part] = False
        others = chart.select(rest)
        curves, _ = fitted_curves(others, choice.n, choice.trust)
        base, levels = choose_levels(
            chart.patches.device, curves, _levels_of(press.grids, len(curves)), _bands(chart)
        )
        values, _ = fill(others.patches, curves, choice.n, base, levels, choice.smoothing)
        cells = Cells.of(curves, levels, root(values, choice.n))
        predicted[part] = raised(cells.roots(chart.patches.device[part]), choice.n)
    how = (
        f"the {int(open_to_doubt.sum())} {what} in {len(parts)} parts, each predicted by a press fitted without "
        f"it; the press itself is fitted to all{unknown if len(chart.channels) > 1 else ''}"
    )
    return _scored(chart.select(open_to_doubt), predicted[open_to_doubt], how)


def _scored(chart: Chart, predicted: Array, how: str) -> HeldOut:
    """CIEDE2000 of predicted values (n, w) against those of the chart."""
    count = len(chart.names)
    if count == 0:
        return HeldOut(np.nan, np.nan, np.nan, 0, "no patch could be held out", chart.light, chart.observer)
    apart = np.asarray(de2000(chart.lab(chart.patches.values), chart.lab(predicted)))
    return HeldOut(
        mean=float(apart.mean()),
        p95=float(np.percentile(apart, 95.0)),
        max=float(apart.max()),
        count=count,
        how=how,
        light=chart.light,
        observer=chart.observer,
        patches=chart.names,
        worst=chart.names[int(apart.argmax())],
    )
