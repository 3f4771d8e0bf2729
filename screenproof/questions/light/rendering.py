"""The colour rendering of a light, by colour-science.

The colour rendering indices of CIE 13.3 and CIE 224 need the reflectances of their samples and a chain of formulae
that colour-science has and keeps. It is imported here, in the function that asks it, and nowhere else at run time:
it costs a second, and changes how NumPy prints numbers for the whole process, which is put back.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from screenproof.spectra.checks import MEMORY, CheckLine, Limit, not_checked

if TYPE_CHECKING:
    from screenproof.spectra import Light

_ISO = "ISO 3664:2009 4.2.2"
GENERAL_RENDERING = Limit(low=90.0, source=_ISO, obtained=MEMORY)
SPECIAL_RENDERING = Limit(low=80.0, source=_ISO, obtained=MEMORY)


@dataclass(frozen=True)
class Rendering:
    """``ra`` and ``special`` R1 to R14 of CIE 13.3-1995, ``rf`` of CIE 224:2017.

    ``rf`` is None for a light so far from white that CIECAM02, which CIE 224 uses, has no answer.
    """

    ra: float
    special: tuple[float, ...]
    rf: float | None


@contextmanager
def _printing_kept() -> Iterator[None]:
    """NumPy's way of printing, kept from what an import changes."""
    kept = np.get_printoptions()
    try:
        yield
    finally:
        np.set_printoptions(**kept)


def rendering(light: Light) -> Rendering:
    """Ra, R1 to R14 and Rf of a light, by colour-science.

    Straight between its readings, as lamps are, at 1 nm; for Rf, which CIE 224 sums at 1 or 5 nm, a light that is
    read every 5 nm as it is. Wavelengths of 360 to 830 nm count.
    """
    fives = abs(light.grid.step - 5.0) < 1e-9 and light.grid.start % 5.0 == 0.0
    with _printing_kept(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        def spectrum(step: float) -> Any:
            first = max(360.0, np.ceil(light.grid.start / step) * step)
            nm = np.arange(first, min(830.0, light.grid.stop) + 1e-6, step)
            return colour.SpectralDistribution(dict(zip(nm.tolist(), light.at(nm).tolist(), strict=True)))

        cri = colour.colour_rendering_index(spectrum(1.0), additional_data=True)
        fidelity = float(colour.colour_fidelity_index(spectrum(5.0 if fives else 1.0)))  # type: ignore[arg-type]
        special = tuple(float(cri.Q_as[i].Q_a) for i in sorted(cri.Q_as))
        return Rendering(float(cri.Q_a), special, fidelity if np.isfinite(fidelity) else None)


def rendering_lines(found: Rendering) -> list[CheckLine]:
    """Ra and each of R1 to R8 against ISO 3664; R9 to R14 and Rf are told."""
    first = found.special[:8]
    low = int(np.argmin(first))
    mend = "take lamps of a fuller spectrum: this cannot be set or filtered right"
    return [
        CheckLine("ra", "rendering", "colour rendering, general index (CIE 13.3)", "Ra", found.ra,
                GENERAL_RENDERING, mend=mend),
        CheckLine("ri", "rendering", "colour rendering, lowest of R1 to R8", "Ri", first[low], SPECIAL_RENDERING,
                words=f"R{low + 1}", mend=mend),
        _fidelity_line(found.rf),
    ]  # fmt: skip


def _fidelity_line(fidelity: float | None) -> CheckLine:
    named = ("rf", "rendering", "colour fidelity (CIE 224)", "Rf")
    if fidelity is None:
        return not_checked(*named, None, "the light is too far from white for CIECAM02, in which it is reckoned")
    return CheckLine(*named, fidelity, None)
