"""Readings of one set of samples with and without ultraviolet, and in a lamp, brought together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from screenproof.errors import bad
from screenproof.spectra import Array, Samples, light
from screenproof.spectra.brightener import CLEAR_NM, CUT_NM

NOTHING = 0.01
"""M1 and M2 that differ by no more than this reflectance factor show no brightener that counts."""

SWAPPED = -0.02
"""M2 above M1 by more than this where brighteners emit: the readings do not belong together."""


@dataclass(frozen=True, eq=False)
class BrightenerReadings:
    """Readings (n, w) on M1's bands.

    known: (n,) whether M2 has the sample. emission: M1 - M2, 0 or more; where ``edge`` (w,) is true, from 400 to
    420 nm, the most that it may be; below 400 nm none. m2: M2 where it has light to read by, M1 below 400 nm.
    lamp: M0, NaN where there is none; None without M0. samples: those of M1.
    """

    nm: Array
    m1: Array
    m2: Array
    known: np.ndarray
    emission: Array
    edge: np.ndarray
    lamp: Array | None
    samples: Samples

    @classmethod
    def of(cls, m1: Samples, m2: Samples, m0: Samples | None) -> BrightenerReadings:
        _check(m1, "M1")
        _check(m2, "M2")
        shared = [name in m2.names for name in m1.names]
        if not any(shared):
            raise bad(
                "no sample of the readings without ultraviolet (M2) has the name of one with it (M1)",
                file=m2.source or None,
                expected=f"names such as {', '.join(map(repr, m1.names[:3]))}",
                mend="give the readings of one sample the same name in both files",
            )
        assert m1.grid is not None and m1.reflectance is not None
        nm = m1.grid.wavelengths
        cut = _on_bands(m1, m2, "M2")
        day = light("D50").at(nm)
        clear = nm >= CLEAR_NM - 1e-9
        known = np.array(shared)
        emission = np.where(np.isfinite(cut), m1.reflectance - cut, 0.0)
        _check_order(m1, emission, known, nm)
        emission = np.maximum(emission, 0.0)
        first = int(np.argmax(clear))
        edge = (nm >= CUT_NM - 1e-9) & ~clear
        emission[:, ~clear] = 0.0
        emission[:, edge] = emission[:, first, None] * (day[first] / day[edge])
        lamp = None if m0 is None else _on_bands(m1, m0, "M0")
        below = np.where(clear, m1.reflectance - emission, np.where(edge & np.isfinite(cut), cut, m1.reflectance))
        return cls(nm, m1.reflectance, below, known, emission, edge, lamp, m1)


def _check(samples: Samples, filter_name: str) -> None:
    where = samples.source or None
    if not samples.is_spectral:
        raise bad(
            f"the {filter_name} readings are XYZ or Lab, and the brightener shows only in the curves",
            file=where,
            expected="reflectance curves",
            mend="export the spectra from the instrument",
        )
    stated = samples.condition.filter
    if stated is not None and stated != filter_name:
        raise bad(
            f"the file says that it was measured with {stated}, and is used as {filter_name}",
            file=where,
            expected=f"readings with {filter_name}",
            mend="exchange the files, or measure with the condition that is asked for",
        )
    assert samples.reflectance is not None
    finite = np.isfinite(samples.reflectance).all(axis=1)
    if not finite.all():
        raise bad(
            f"a band of {samples.names[int(np.argmin(finite))]!r} has no reading",
            file=where,
            expected="a reading at every band",
            mend="measure it again, or leave the sample out",
        )


def _on_bands(m1: Samples, other: Samples, filter_name: str) -> Array:
    """Readings (n, w) of ``other`` at M1's samples and bands; NaN where it has none."""
    _check(other, filter_name)
    assert m1.grid is not None and other.grid is not None and other.reflectance is not None
    place = (m1.grid.wavelengths - other.grid.start) / other.grid.step
    nearest = np.round(place).astype(np.intp)
    there = (np.abs(place - nearest) < 1e-3) & (nearest >= 0) & (nearest < other.grid.count)
    needed = (m1.grid.wavelengths >= CLEAR_NM - 1e-9) & (m1.grid.wavelengths <= 700.0)
    if not there[needed].all():
        raise bad(
            f"the {filter_name} readings are at {other.grid}, those with M1 at {m1.grid}",
            file=other.source or None,
            expected="the same bands from 420 to 700 nm: nothing is resampled",
            mend="export both with the same bands",
        )
    found = np.full((len(m1), m1.grid.count), np.nan)
    for i, name in enumerate(m1.names):
        if name in other.names:
            found[i, there] = other.reflectance[other.names.index(name), nearest[there]]
    return found


def _check_order(m1: Samples, emission: Array, known: np.ndarray, nm: Array) -> None:
    where_emitted = (nm >= CLEAR_NM) & (nm <= 500.0)
    part = np.where(known[:, None], emission[:, where_emitted], 0.0).mean(axis=1)
    if part.min() < SWAPPED:
        raise bad(
            f"without ultraviolet (M2) {m1.names[int(np.argmin(part))]!r} reads {-part.min():.3f} higher than "
            "with it (M1), in the mean from 420 to 500 nm",
            file=m1.source or None,
            expected="M1 at or above M2: what ultraviolet excites only adds light",
            mend="exchange the files, or look whether both are of the same samples and calibrated alike",
        )
