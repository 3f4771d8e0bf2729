"""Which Yule-Nielsen factor, and how far a band's own coverage is trusted: found from the patches of the fit
alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screenproof.appearance import de2000
from screenproof.errors import Note
from screenproof.spectra import Array
from screenproof.subtractive.halftone import raised, root
from screenproof.subtractive.press_cells import Cells
from screenproof.subtractive.press_chart import Chart
from screenproof.subtractive.press_curves import CoverageCurve, fit_curve, only_channel
from screenproof.subtractive.press_nodes import carried, coverages, mended, overprints

CHOICES_OF_N = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0)
TRUST, TRUST_OF_TINTS = 0.1, 0.25
"""press_curves.fit_curve's trust, without and with a dozen overprinted tints in the fit. Found by trial on
published characterisations: overprinted tints carry by themselves what tells the bands apart."""

CHOICES_OF_SMOOTHING = (0.001, 0.03, 0.3, 3.0)
"""What press_nodes.carried's smoothing is chosen from; the first when there is nothing to choose it by."""

USUAL_N = 2.0
"""Taken when there is no tone between stock and solid to find n from: common practice, no source."""

_ENOUGH = 12
_SAMPLE = 400
_FOLDS = 5


def overprinted(chart: Chart) -> NDArray[np.bool_]:
    """Patches of two inks or more that are not all solid."""
    return np.asarray((chart.inks > 1) & ~chart.solid)


def dealt(chosen: NDArray[np.bool_], folds: int) -> list[NDArray[np.intp]]:
    """The chosen rows dealt into parts of even size, the same on every machine."""
    rows = np.random.default_rng(20654).permutation(np.flatnonzero(chosen))
    return [rows[start::folds] for start in range(min(folds, len(rows)))]


def fitted_curves(chart: Chart, n: float, trust: float) -> tuple[tuple[CoverageCurve, ...], tuple[Note, ...]]:
    """The tone value curves of all channels, and notes on what was assumed."""
    device, roots = chart.patches.device, root(chart.patches.values, n)
    curves: list[CoverageCurve] = []
    notes: list[Note] = []
    for channel, name in enumerate(chart.channels):
        rows = np.flatnonzero(only_channel(device, channel))
        rows = rows[np.argsort(device[rows, channel])]
        labels = tuple(chart.names[row] for row in rows)
        curve, said = fit_curve(device[rows, channel], roots[rows], trust, name, labels, chart.file)
        curves.append(curve)
        notes.extend(said)
        if len(rows) == 2:
            notes.append(
                Note(
                    "assumed",
                    f"{name} has no tones between stock and solid: coverage is taken to rise evenly, "
                    "without dot gain",
                    about=name,
                    file=chart.file,
                    mend="measure a ramp of this channel",
                )
            )
    return tuple(curves), tuple(notes)


@dataclass(frozen=True)
class Choice:
    """n: Yule-Nielsen factor. trust: of press_curves.fit_curve. smoothing: of press_nodes.carried."""

    n: float
    trust: float
    smoothing: float


def choose(chart: Chart, n: float | None = None) -> Choice:
    """What a press is fitted with; ``n`` is found when not given.

    n and the smoothing are those that predict best the overprinted tints that are left out of the fit in turn,
    each by the Neugebauer equation and the errors of it at the others: first the smoothing with a usual n, then n.
    Without a dozen such tints n is that of :func:`n_of_ramps`.
    """
    tints, smoothing = overprinted(chart), CHOICES_OF_SMOOTHING[0]
    if tints.sum() < _ENOUGH:
        return Choice(n_of_ramps(chart) if n is None else n, TRUST, smoothing)
    if tints.sum() > _SAMPLE:
        kept = ~tints
        kept[np.random.default_rng(20654).choice(np.flatnonzero(tints), _SAMPLE, replace=False)] = True
        chart = chart.select(kept)
        tints = overprinted(chart)

    def left_out(factor: float, passing_by: float) -> float:
        return _left_out(chart, tints, Choice(factor, TRUST_OF_TINTS, passing_by))

    smoothing = min(CHOICES_OF_SMOOTHING, key=lambda one: left_out(n or USUAL_N, one))
    if n is None:
        n = min(CHOICES_OF_N, key=lambda one: left_out(one, smoothing))
    return Choice(n, TRUST_OF_TINTS, smoothing)


def _left_out(chart: Chart, tints: NDArray[np.bool_], choice: Choice) -> float:
    """Mean CIEDE2000 on overprinted tints, each predicted without it."""
    n, device, width = choice.n, chart.patches.device, len(chart.channels)
    curves, _ = fitted_curves(chart, n, choice.trust)
    corners = mended(chart.patches, curves, n, *overprints(chart.patches, width)).reshape([2] * width + [-1])
    roots = Cells.of(curves, [np.array([0.0, 1.0])] * width, corners).roots(device)
    errors, places = root(chart.patches.values, n) - roots, coverages(curves, device)
    for part in dealt(tints, _FOLDS):
        rest = np.ones(len(device), dtype=bool)
        rest[part] = False
        roots[part] += carried(places[rest], errors[rest], places[part], choice.smoothing)
    return _apart(chart, raised(roots, n), tints)


def n_of_ramps(chart: Chart) -> float:
    """The Yule-Nielsen factor with which one coverage for all bands comes nearest to each step of the ramps."""
    device = chart.patches.device
    steps = (chart.inks == 1) & ~chart.solid
    if not steps.any():
        return USUAL_N

    def astray(n: float) -> float:
        roots = root(chart.patches.values, n)
        for channel in range(len(chart.channels)):
            rows = only_channel(device, channel)
            stock, solid = (roots[rows & (device[:, channel] == end)][0] for end in (0.0, 1.0))
            span = solid - stock
            share = (roots[rows] - stock) @ span / float(span @ span)
            roots[rows] = stock + share[:, None] * span
        return _apart(chart, raised(roots, n), steps)

    return min(CHOICES_OF_N, key=astray)


def _apart(chart: Chart, predicted: Array, chosen: NDArray[np.bool_]) -> float:
    measured = chart.lab(chart.patches.values[chosen])
    return float(np.mean(de2000(measured, chart.lab(predicted[chosen]))))
