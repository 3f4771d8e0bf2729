"""How doubt of readings reaches the difference of a predicted overprint from a measured one.

Band by band the internal reflectance of an overprint is s (r1 / s)^a1 (r2 / s)^a2 ..., of the bare stock s, of
each ink alone on it r, and of the amounts a. So d ln R = sum of a d ln r + (1 - sum of a) d ln s. All were read by
the instrument of one file, and its own errors meet in one sum. Trapping factors are taken as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from screenproof.proof.covariance import Part, Spread, curve_part, slopes

if TYPE_CHECKING:
    from screenproof.questions.overprint.printing import InksOnStock, Parts
    from screenproof.spectra import Array, Samples


def overprint_spread(
    on: InksOnStock, samples: Samples, stock: str, parts: Sequence[Parts], measured: Sequence[str]
) -> Spread | None:
    """The spread of n predicted overprints against the ``measured`` samples; None when nothing is known of the
    readings.

    Parts: 'a' the readings of the measured ones, 'b' those of the inks and the stock, 'both' the instrument.
    """
    pairs = [_pair(on, samples, stock, own, name) for own, name in zip(parts, measured, strict=True)]
    known = [one for one in pairs if one is not None]
    return Spread.joined(known) if known else None


def _pair(on: InksOnStock, samples: Samples, stock: str, parts: Parts, measured: str) -> Spread | None:
    read = samples.select([samples.names.index(name) for name in (stock, *parts)])
    other = samples.select([samples.names.index(measured)])
    assert read.reflectance is not None and other.reflectance is not None
    there = curve_part("a", other, -_to_lab(on, other.reflectance[0])[None])
    here = curve_part("b", read, _by_reading(on, read.reflectance, parts))
    if there is None or here is None:
        return None
    modes = there.modes + here.modes.sum(axis=0, keepdims=True)
    nothing, still = np.zeros((1, 3, 3)), np.zeros_like(modes)
    random = here.random.sum(axis=0, keepdims=True)
    fewest = here.readings.min(keepdims=True)
    return Spread(
        (
            Part("a", there.random, still, nothing, there.readings),
            Part("b", random, still, nothing, fewest),
            Part("both", nothing, modes, nothing, there.readings),
        )
    )


def _by_reading(on: InksOnStock, curves: Array, parts: Parts) -> Array:
    """(1 + k, w, 3): how the Lab of an overprint moves with the reading of the stock and of each of k inks."""
    amounts = np.array(on.amounts(parts))
    printed = on.printed(parts).curve
    inside, whole = on.surface.to_internal(curves), on.surface.to_internal(printed)
    shares = np.concatenate([[1.0 - amounts.sum()], amounts])[:, None]
    by_band = shares * (on.surface.slope(whole) * whole) / (on.surface.slope(inside) * inside)
    return np.asarray(by_band[:, :, None] * _to_lab(on, printed))


def _to_lab(on: InksOnStock, curve: Array) -> Array:
    """(w, 3): how Lab moves with a curve (w,)."""
    from screenproof.appearance import xyz_to_lab
    from screenproof.spectra import weights

    viewing = on.viewing
    columns = weights(viewing.light, viewing.observer, on.grid)
    (by_xyz,) = slopes(lambda xyz: xyz_to_lab(xyz, viewing.white), (curve @ columns)[None])
    return np.asarray(columns @ by_xyz)
