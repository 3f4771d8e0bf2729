"""The eye of CIE 170-1:2006 against cone fundamentals and functions of the CIE, as colour-science ships them."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from screenproof.spectra import VISIBLE, observer, physiological_observer
from screenproof.spectra.physiological import MATRIX_2, MATRIX_10, cone_fundamentals, media_density

TABULATED = slice(30, 421)
"""390 to 780 nm of 360 to 830 nm by 1 nm."""


def published_cones(colour, field):
    """L, M, S (391, 3) at 390 to 780 nm by 1 nm: Stockman and Sharpe (2000), CIE 170-1:2006."""
    curves = colour.MSDS_CMFS[f"Stockman & Sharpe {field} Degree Cone Fundamentals"]
    return np.array([curves[nm] for nm in VISIBLE.wavelengths[TABULATED]])


@pytest.mark.parametrize("field", [2, 10])
def test_cones_at_32_years_equal_the_published_ones_within_0_002_of_the_peak(colour, field):
    ours = cone_fundamentals([32.0], field)[0]
    assert np.abs(ours[TABULATED] - published_cones(colour, field)).max() < 0.002
    assert np.all(ours[:30] == 0) and np.all(ours[421:] == 0)


@pytest.mark.parametrize("field", [2, 10])
def test_curves_at_32_years_equal_the_cie_2015_functions_within_0_002_of_their_peak(field):
    ours, cie = physiological_observer(32, field).at_1nm, observer(f"cie2015-{field}").at_1nm
    assert np.all(np.abs(ours - cie).max(axis=0) < 0.002 * cie.max(axis=0))
    assert physiological_observer(field=field).curves is not cie


@pytest.mark.parametrize(("field", "matrix"), [(2, MATRIX_2), (10, MATRIX_10)])
def test_matrices_lead_from_the_published_cones_to_the_published_functions(colour, field, matrix):
    """The matrices are from memory; the tables have seven digits, and their own rounding is up to 2e-6."""
    cie = observer(f"cie2015-{field}").at_1nm[TABULATED]
    assert np.abs(published_cones(colour, field) @ matrix.T - cie).max() < 4e-6


def test_lens_grows_with_age_as_the_cie_says():
    """CIE 170-1:2006: 2 % of D1 a year to 60 years, 6.67 % of it above; 1.7649 at 400 nm for 32 years."""
    ages = np.arange(20.0, 80.5, 0.5)
    density = media_density(ages)
    known = density[:, TABULATED]
    # Above 655 nm the table has no density left that could grow.
    assert np.all(np.diff(known[:, : 655 - 390], axis=0) > 0)
    assert density[ages == 32.0][0, 40] == pytest.approx(1.7649, abs=5e-5)
    young, old, older = (density[ages == age][0, 40] for age in (20.0, 60.0, 80.0))
    assert young == pytest.approx(0.76 * 0.661837 + 1.103063, abs=1e-6)
    assert old == pytest.approx(1.56 * 0.661837 + 1.103063, abs=1e-6)
    assert older == pytest.approx(2.894 * 0.661837 + 1.103063, abs=1e-6)


def test_shifted_cones_go_the_way_of_another_model_of_anomalous_trichromacy(colour):
    """Machado, Oliveira and Fernandes (2009), as colour-science has it, blend the L and M curves instead of
    shifting the pigment, so that 20 nm is the whole way to the other cone. The two agree in which way the cone
    moves, in that the others stay, and in its size within a factor of two."""
    nm = VISIBLE.wavelengths[TABULATED]
    normal = published_cones(colour, 2)
    base = colour.MultiSpectralDistributions(normal, nm)

    def mean_wavelength(curve):
        return float(curve @ nm / curve.sum())

    for cone, (sign, shift) in enumerate([(-1, 6.0), (1, 6.0), (1, 6.0)]):
        amount = np.zeros(3)
        amount[cone] = shift
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = colour.blindness.msds_cmfs_anomalous_trichromacy_Machado2009(base, amount).values
        kind = ("protan", "deutan", "tritan")[cone]
        eye = physiological_observer(**{kind: shift})
        ours = np.linalg.solve(MATRIX_2, eye.at_1nm[TABULATED].T).T
        moved = mean_wavelength(ours[:, cone]) - mean_wavelength(normal[:, cone])
        expected = mean_wavelength(theirs[:, cone]) - mean_wavelength(normal[:, cone])
        assert sign * moved > 0 and 0.5 < moved / expected < 1.0
        others = [i for i in range(3) if i != cone]
        assert np.abs(ours[:, others] - normal[:, others]).max() < 0.002
