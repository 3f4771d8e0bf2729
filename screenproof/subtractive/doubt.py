"""How far a recipe may be off because its pigments are known only so well: linear propagation of the fit's errors.

Each component brings the errors of its K and S, independent from band to band (reading noise), and one error of
strength that is the same in all bands (weighing, dispersion). To first order the colour moves by dLab = J e, so
that its covariance is C = J cov(e) J^T; the doubt is the root mean square of the CIEDE2000 that this makes,

    doubt = sqrt(trace(M C))

with M the local quadratic form of CIEDE2000 at the recipe's colour. It does not contain what no fit knows: a
wrong model, another batch of pigment, another way of printing or painting.
"""

from __future__ import annotations

import numpy as np

from screenproof.appearance import xyz_to_lab
from screenproof.spectra import Array
from screenproof.subtractive.mixing import MixingModel
from screenproof.subtractive.target import local_metric


def lab_slopes(curves: Array, weights: Array, white: Array) -> Array:
    """The derivative (m, w, 3) of CIELAB with respect to reflectance, for curves (m, w) and weights (w, 3)."""
    xyz = curves @ weights
    step = 1e-4 * np.maximum(xyz, 1e-3)
    by_xyz = np.empty((*xyz.shape, 3))
    for i in range(3):
        moved = np.zeros_like(xyz)
        moved[:, i] = step[:, i]
        by_xyz[:, i] = (xyz_to_lab(xyz + moved, white) - xyz_to_lab(xyz - moved, white)) / (
            2.0 * step[:, i : i + 1]
        )
    return np.asarray(np.einsum("wx,mxl->mwl", weights, by_xyz))


def doubts(model: MixingModel, shares: Array, weights: Array, white: Array) -> Array:
    """The doubt (m,) of mixtures with shares (m, n), in CIEDE2000 under the light of ``weights`` (w, 3)."""
    k, s = model.ground_k + shares @ model.k, model.ground_s + shares @ model.s
    curves, by_k, by_s = model.slopes(k, s)
    by_lab = lab_slopes(curves, weights, white)
    covariance = np.zeros((len(shares), 3, 3))
    for j, part in enumerate(model.components):
        c = shares[:, j, np.newaxis]
        if not (c > 0.0).any():
            continue
        together = by_k * model.k[j] + by_s * model.s[j]
        moved = np.einsum("mw,mwl->ml", c * together, by_lab) * part.strength_sd
        covariance += moved[:, :, np.newaxis] * moved[:, np.newaxis, :]
        own = part.covariance
        variance = c**2 * (by_k**2 * own[:, 0, 0] + by_s**2 * own[:, 1, 1] + 2.0 * by_k * by_s * own[:, 0, 1])
        covariance += np.einsum("mwi,mw,mwj->mij", by_lab, variance, by_lab)
    metric = local_metric(xyz_to_lab(curves @ weights, white))
    return np.asarray(np.sqrt(np.maximum(np.einsum("mij,mij->m", metric, covariance), 0.0)))
