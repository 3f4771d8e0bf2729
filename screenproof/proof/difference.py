"""How far apart two colours are, in each of the figures that a proof gives, and in a tolerance's own metric.

Both colours are reference XYZ (perfect diffuser Y = 100) that an eye adapted to one and the same white sees:
CIELAB, CIEDE2000 (ISO/CIE 11664-6), CIE 1976 and CMC(l:c) relative to that white, CAM16-UCS by CIECAM16 with
it (CIE 248:2022).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from screenproof.appearance import (
    CamConditions,
    cam16_to_ucs,
    de76,
    de2000,
    de_cam16ucs,
    de_cmc,
    lab_to_xyz,
    xyz_to_cam16,
    xyz_to_lab,
)
from screenproof.proof.tolerance import ToleranceSet
from screenproof.spectra import Array


@dataclass(frozen=True, eq=False)
class Differences:
    """CIEDE2000, CIE 1976 and CAM16-UCS differences, arrays of one shape."""

    de00: Array
    deab: Array
    cam16ucs: Array


@dataclass(frozen=True, eq=False)
class LabParts:
    """The parts of a CIELAB difference, arrays (n,), sample minus reference: dL*, da*, db*, dC*ab, dH*ab.

    dH*ab has the sign of the change of hue angle: above 0 anticlockwise (CIE 15:2018, 8.2.1).
    """

    dl: Array
    da: Array
    db: Array
    dc: Array
    dh: Array


def lab_parts(lab_reference: Array, lab: Array) -> LabParts:
    """The parts of the differences between reference Lab (n, 3) and Lab (n, 3).

    dH* = 2 sqrt(C_ref C) sin((h - h_ref) / 2), which is the root of dE*ab^2 - dL*^2 - dC*^2 (CIE 15:2018, 8.2.1).

    >>> lab_parts(np.array([[50.0, 10.0, 0.0]]), np.array([[52.0, 0.0, 10.0]])).dh.round(3).tolist()
    [14.142]
    """
    a, b = (np.atleast_2d(side) for side in (lab_reference, lab))
    chroma = [np.hypot(side[:, 1], side[:, 2]) for side in (a, b)]
    turn = np.arctan2(b[:, 2], b[:, 1]) - np.arctan2(a[:, 2], a[:, 1])
    turn = (turn + np.pi) % (2.0 * np.pi) - np.pi
    return LabParts(
        dl=b[:, 0] - a[:, 0],
        da=b[:, 1] - a[:, 1],
        db=b[:, 2] - a[:, 2],
        dc=chroma[1] - chroma[0],
        dh=2.0 * np.sqrt(chroma[0] * chroma[1]) * np.sin(0.5 * turn),
    )


def to_ucs(xyz: Array, conditions: CamConditions) -> Array:
    """CAM16-UCS J'a'b' (..., 3) of XYZ (..., 3) seen in ``conditions``."""
    cam = xyz_to_cam16(xyz, conditions)
    return np.asarray(cam16_to_ucs(cam.J, cam.M, cam.h))


def compare(xyz_reference: Array, xyz: Array, white: Array, conditions: CamConditions) -> Differences:
    """All three differences between XYZ (..., 3) that broadcast, seen under ``white`` (3,)."""
    lab_reference, lab = xyz_to_lab(xyz_reference, white), xyz_to_lab(xyz, white)
    return Differences(
        np.asarray(de2000(lab_reference, lab)),
        np.asarray(de76(lab_reference, lab)),
        np.asarray(de_cam16ucs(to_ucs(xyz_reference, conditions), to_ucs(xyz, conditions))),
    )


def figure(
    tolerance: ToleranceSet, lab_reference: Array, lab: Array, white: Array, conditions: CamConditions
) -> Array:
    """Differences (...) in the metric of ``tolerance`` between Lab (..., 3) relative to ``white`` (3,).

    ``conditions`` are those of CAM16-UCS, with the same white.
    """
    if tolerance.metric == "de00":
        return np.asarray(de2000(lab_reference, lab, tolerance.kl, tolerance.kc, tolerance.kh))
    if tolerance.metric == "deab":
        return np.asarray(de76(lab_reference, lab))
    if tolerance.metric == "cmc":
        return np.asarray(de_cmc(lab_reference, lab, tolerance.cmc_l, tolerance.cmc_c))
    reference, other = (to_ucs(lab_to_xyz(side, white), conditions) for side in (lab_reference, lab))
    return np.asarray(de_cam16ucs(reference, other))
