"""What a population sees of objects in other lights, beside a screen that goes on showing their match."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from screenproof.additive import Display
from screenproof.appearance import xyz_to_lab
from screenproof.errors import bad
from screenproof.proof.crowd import CrowdDifferences
from screenproof.proof.eyes import CIEDE2000, Onlookers, Whites, no_crowd
from screenproof.proof.match import Match
from screenproof.proof.shift import screen_shift
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Light, Population, Samples, weights_for_curves

_PAIRS_AT_ONCE = 500_000


def screen_shift_crowd(
    samples: Samples,
    matched: Match,
    display: Display,
    viewing: Viewing,
    lights: Sequence[Light],
    people: Population,
    *,
    tolerance: ToleranceSet | None = None,
    whites: Whites = "shared",
) -> tuple[CrowdDifferences, ...]:
    """The difference that each person sees between the objects in each light and the codes of ``matched``.

    As :func:`~screenproof.proof.shift.screen_shift` with each person as the observer: the object's colour is
    carried from its light to the viewing light as the basis says, person by person, and the screen's is brought
    back. In the viewing light the figures are those of :func:`~screenproof.proof.crowd.crowd`; ``standard`` is
    what the viewing observer sees. tolerance, whites: see there.

    Raises InputError for samples without curves, displays without spectra, and the basis 'appearance' in another
    light than the viewing light.
    """
    metric = tolerance or CIEDE2000
    refused = no_crowd(samples, display, viewing, whites)
    if refused is not None:
        raise bad(refused.reason, field=display.name)
    onlookers = Onlookers(people, viewing, display, whites)
    shown = matched.code / (2.0**matched.bits - 1.0)
    standard = screen_shift(samples, matched, display, viewing, lights, [viewing.observer]).figure(metric)[..., 0]
    assert samples.reflectance is not None and samples.grid is not None
    top = -(-len(people) // 10)
    step = max(1, _PAIRS_AT_ONCE // len(people))
    found = []
    for k, light in enumerate(lights):
        # Light and carrying are put into one matrix for each person: (w, P, 3).
        table = weights_for_curves(light, people.curves, samples.grid)
        table = np.einsum("wpj,pij->wpi", table, _carried(viewing, light, people))
        figures = np.empty((len(samples), len(people)))
        sides = [np.empty((len(samples), top, 3)) for _ in range(2)]
        for first in range(0, len(samples), step):
            rows = slice(first, first + step)
            objects = np.einsum("nw,wpi->npi", samples.reflectance[rows], table, optimize=True)
            screen = onlookers.screen(shown[rows])
            figures[rows] = onlookers.differences(screen, objects, metric)
            most = np.argpartition(figures[rows], -top, axis=1)[:, -top:]
            for side, xyz in zip(sides, (screen, objects), strict=True):
                some = np.take_along_axis(xyz, most[..., None], axis=1)
                side[rows] = xyz_to_lab(some, onlookers.white[most])
        found.append(CrowdDifferences(light.name, metric, people, figures, standard[:, k], *sides))
    return tuple(found)


def _carried(viewing: Viewing, light: Light, people: Population) -> Array:
    """Matrices (P, 3, 3) from XYZ in ``light`` to XYZ in the viewing light, one for each person."""
    if light is viewing.light:
        return np.broadcast_to(np.eye(3), (len(people), 3, 3))
    matrices = [viewing.seen_by(person).carry_matrix(light, person) for person in people.observers]
    if any(matrix is None for matrix in matrices):
        raise bad(
            f"what people see in {light.name} is not calculated for the basis {viewing.basis!r}",
            field="basis",
            expected="the basis 'white' or 'absolute'",
        )
    return np.stack([matrix for matrix in matrices if matrix is not None])
