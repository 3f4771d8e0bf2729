"""The two sides of a match as a page shows them: patches in sRGB, and the two curves that make one colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from screenproof.additive import Display, standard_display
from screenproof.appearance import lab_to_xyz
from screenproof.proof.match import Match
from screenproof.proof.result import TwoCurves
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Grid, Light, Samples, emission_xyz

_STEP = 5.0
_DIGITS = 6


def _of_page(viewing: Viewing) -> Viewing:
    """The viewing for the page's own patches: each side relative to its white, by CAT16."""
    return replace(viewing, basis="white", adaptation="cat16", degree=1.0, display_surround=None, display_la=None)


def page_srgb(xyz: Array, viewing: Viewing) -> Array:
    """sRGB 0..1 (..., 3) that shows reference XYZ (..., 3) on a page, the object's white as the page's white.

    Adapted by CAT16 from the object's white under the viewing light to D65. Colours outside sRGB are clipped
    channel by channel: a page only illustrates, the figures beside it do not come from it.
    """
    view = standard_display("srgb").seen_by()
    drive, _ = view.to_drive(_of_page(viewing).bridge(view).to_display(xyz))
    return np.clip(drive, 0.0, 1.0)


def page_srgb_of_lab(lab: Array, viewing: Viewing) -> Array:
    """As :func:`page_srgb`, from reference Lab (..., 3)."""
    return page_srgb(np.asarray(lab_to_xyz(lab, viewing.white)), viewing)


def object_patches(samples: Samples, viewing: Viewing, lights: Sequence[Light]) -> Array:
    """sRGB 0..1 (n, L, 3) of each object in each light, adapted by CAT16 to the viewing light's white.

    Raises InputError for samples of colorimetry only in any but their own light.
    """
    page = _of_page(viewing)
    seen = samples.xyz(list(lights), [viewing.observer])[:, :, 0]
    columns = [
        page_srgb(page.carry(seen[:, i], light, viewing.observer), viewing) for i, light in enumerate(lights)
    ]
    return np.stack(columns, axis=1)


def two_curves(
    samples: Samples, index: int, matched: Match, display: Display, viewing: Viewing
) -> TwoCurves | None:
    """The light from an object and from the screen that matches it, every 5 nm, in W/(sr m2 nm).

    The object's is its reflectance times the viewing light, scaled to the luminance that the screen has for
    the viewing observer. Both are averaged over 5 nm with triangular weights, so that no narrow line is lost.
    None when the sample has no curve or the display no spectra.
    """
    if not samples.is_spectral or not display.spectral:
        return None
    assert samples.reflectance is not None and samples.grid is not None
    fine = display.spectral_grid
    first = np.ceil(max(samples.grid.start, fine.start) / _STEP) * _STEP
    last = np.floor(min(samples.grid.stop, fine.stop) / _STEP) * _STEP
    nm = np.arange(first, last + _STEP / 2, _STEP)
    drive = matched.code[index] / (2.0**matched.bits - 1.0)
    screen = display.spectrum(drive)[0]
    dense = Grid(first, last, 1.0)
    reflectance = np.interp(dense.wavelengths, samples.grid.wavelengths, samples.reflectance[index])
    reflected = reflectance * viewing.light.at(dense.wavelengths)
    luminance = emission_xyz(screen, fine, viewing.observer)[0, 1]
    own = emission_xyz(reflected, dense, viewing.observer)[0, 1]
    reflected *= luminance / own if own > 0 else 0.0
    return TwoCurves(
        tuple(float(x) for x in nm),
        _averaged(dense.wavelengths, reflected, nm),
        _averaged(fine.wavelengths, screen, nm),
    )


def _averaged(at: Array, values: Array, nm: Array) -> tuple[float, ...]:
    hat = np.maximum(0.0, 1.0 - np.abs(nm[:, None] - at[None, :]) / _STEP)
    mean = hat @ values / hat.sum(axis=1)
    return tuple(float(f"{value:.{_DIGITS}g}") for value in mean)
