"""Is a light fit to judge colours in: what its spectrum tells against ISO 3664:2009, and how like its aim it is.

Colour temperature, distance from the aim, spectral similarity, illuminance and ultraviolet are calculated here.
Colour rendering and the metamerism of pairs are added by the question, which may ask other libraries.
"""

from __future__ import annotations

import numpy as np

from screenproof.errors import bad
from screenproof.spectra._arrays import Array
from screenproof.spectra.checks import MEMORY, CheckLine, Limit, not_checked
from screenproof.spectra.light import Light
from screenproof.spectra.observer import observer
from screenproof.spectra.temperature import cct_duv
from screenproof.spectra.weights import white_point

_ISO = "ISO 3664:2009"
CHROMATICITY = Limit(high=0.005, source=f"{_ISO} 4.2", obtained=MEMORY)
"""Distance of u'10, v'10 from the aim."""

_LEVEL_FOUND = "level found, range from memory"
LEVELS = {
    "P1": Limit(low=1500.0, high=2500.0, better_low=1750.0, better_high=2250.0,
                source=f"{_ISO} Table 1, P1", obtained=_LEVEL_FOUND),
    "P2": Limit(low=375.0, high=625.0, source=f"{_ISO} Table 1, P2", obtained=_LEVEL_FOUND),
}  # fmt: skip
"""Illuminance in lx: P1 for critical comparison, P2 for practical appraisal. The levels were found in public
pages, the ranges around them are from memory."""

_LEVEL_WORDS = {"P1": "critical comparison", "P2": "practical appraisal"}

LEAST_VISIBLE = 0.01
"""Of a light's power so much must lie between 400 and 700 nm, or it is none to view by. Reasoned, no source: the
ultraviolet and infrared that a lamp gives besides is at most some ten times its visible part."""

FAR_FROM_LOCUS = 0.05
"""Beyond this Duv a correlated temperature says nothing (CIE 15:2018, 9.5)."""

SSI_NM = np.arange(375.0, 676.0)
_BIN_MEANS = np.array([0.5, *[1.0] * 9, 0.5])
_BIN_WEIGHTS = np.array([12, 22, 32, 40, 44, *[45] * 23, 33, 9]) / 45.0
_SMOOTHING = np.array([0.22, 0.56, 0.22])


def similarity(test: Light, reference: Light) -> float:
    """Spectral similarity index of a light to a reference: 100 for the same spectrum, unrounded.

    Both at 1 nm from 375 to 675 nm, straight between their readings and zero past them, in 30 bins of 10 nm made
    relative to their sum; (t - r) / (r + 1/30), weighted at the ends and smoothed; 100 - 32 times the root of the
    sum of squares. It falls below 0 for very unlike lights and is not cut off there. Source: SMPTE ST 2122 and the
    Academy's overview of 2020-09-16 as colour-science implements them; neither document was read.
    """
    bins = []
    for light in (test, reference):
        values = light.at(SSI_NM)
        values = np.where((SSI_NM >= light.grid.start) & (SSI_NM <= light.grid.stop), values, 0.0)
        windows = np.lib.stride_tricks.sliding_window_view(values, _BIN_MEANS.size)[::10]
        sums = windows @ _BIN_MEANS
        bins.append(sums / sums.sum())
    apart = (bins[0] - bins[1]) / (bins[1] + 1.0 / 30.0) * _BIN_WEIGHTS
    return float(100.0 - 32.0 * np.sqrt((np.convolve(apart, _SMOOTHING, "same") ** 2).sum()))


def uv_distance(test: Light, aim: Light, who: str = "cie1964") -> float:
    """Distance of two lights' white in CIE 1976 u', v'; for the 10 degree observer, as ISO 3664 asks."""

    def uv(xyz: Array) -> Array:
        return np.array([4.0 * xyz[0], 9.0 * xyz[1]]) / (xyz @ (1.0, 15.0, 3.0))

    eye = observer(who)
    return float(np.linalg.norm(uv(white_point(test, eye)) - uv(white_point(aim, eye))))


def check_visible(light: Light) -> None:
    """Raises InputError for a light that gives next to nothing from 400 to 700 nm (:data:`LEAST_VISIBLE`)."""
    nm = np.arange(np.ceil(light.grid.start), np.floor(light.grid.stop) + 1.0)
    power = light.at(nm)
    power = power / power.max()
    share = float(power[(nm >= 400.0) & (nm <= 700.0)].sum() / power.sum())
    if share < LEAST_VISIBLE:
        raise bad(
            f"the light gives {100.0 * share:.2g} % of its power from 400 to 700 nm: nothing can be seen by it",
            file=light.source or None,
            field=f"light {light.name!r}",
            expected="the spectrum of a light to view by",
            mend="look whether the wavelengths are in nm and the right column was read",
        )


def ultraviolet_share(light: Light) -> float | None:
    """Power from 300 to 400 nm in percent of that from 400 to 700 nm; None when the spectrum begins above 350 nm.

    What was not measured below the first reading counts as none.
    """
    if light.grid.start > 350.0:
        return None
    low = np.arange(max(300.0, np.ceil(light.grid.start)), 400.0)
    return float(100.0 * light.at(low).sum() / light.at(np.arange(400.0, 701.0)).sum())


def spectrum_lines(light: Light, aim: Light) -> list[CheckLine]:
    """Temperature, distance from the locus, distance from the aim, and spectral similarity to it."""
    kelvin, duv = cct_duv(light)
    known = abs(duv) <= FAR_FROM_LOCUS
    colour = f"white against {aim.name}, 10 degrees"
    temperature = (
        CheckLine("temperature", "colour", "correlated colour temperature", "K", kelvin, None)
        if known
        else not_checked(
            "temperature", "colour", "correlated colour temperature", "K", None,
            f"the light is too far from the black bodies' locus (Duv {duv:+.3f})",
        )
    )  # fmt: skip
    rows = [
        temperature,
        CheckLine("duv", "colour", "distance from the locus, above 0 greener", "Duv", duv, None),
        CheckLine(
            "chromaticity", "colour", colour, "u'v'", uv_distance(light, aim), CHROMATICITY,
            mend="set or filter the lamps, or change the tubes",
        ),
    ]  # fmt: skip
    words = ""
    if light.grid.start > SSI_NM[0] or light.grid.stop < SSI_NM[-1]:
        words = f"known from {light.grid.start:g} to {light.grid.stop:g} nm, of the 375 to 675 that count"
    rows.append(
        CheckLine(
            "similarity", "spectrum", f"spectral similarity to {aim.name}", "SSI", similarity(light, aim), None,
            words=words,
        )
    )  # fmt: skip
    return rows


def illuminance_line(illuminance: float | None, level: str | None = None) -> CheckLine:
    """The illuminance [lx] against ISO 3664 P1 or P2: the ``level`` that is wanted, else whichever it fits.

    Raises InputError for a level that is neither, and for an illuminance that is not above 0.
    """
    if level is not None and level.upper() not in LEVELS:
        raise bad(f"no level is called {level!r}", field="level", expected="P1 (2000 lx) or P2 (500 lx)")
    wanted = level.upper() if level is not None else None
    what = "illuminance" + (f", {_LEVEL_WORDS[wanted]} ({wanted})" if wanted else ", P1 or P2")
    if illuminance is None:
        return not_checked(
            "illuminance", "illuminance", what, "lx", LEVELS[wanted] if wanted else None,
            "a spectrum does not tell it", "measure it where the sample lies, and give it with --illuminance",
        )  # fmt: skip
    if not 0 < illuminance < float("inf"):
        raise bad(f"an illuminance of {illuminance:g} lx", field="illuminance", expected="lx above 0")
    nearest = wanted or min(LEVELS, key=lambda name: _distance(illuminance, LEVELS[name]))
    words = ""
    if wanted is None:
        fits = _distance(illuminance, LEVELS[nearest]) <= 0.0
        words = f"{_LEVEL_WORDS[nearest]} ({nearest})" if fits else f"neither P1 nor P2; nearest is {nearest}"
    mend = "raise it" if illuminance < (LEVELS[nearest].low or 0.0) else "lower it"
    return CheckLine(
        "illuminance", "illuminance", what, "lx", illuminance, LEVELS[nearest], words=words,
        mend=f"{mend}: more or fewer lamps, or another distance",
    )  # fmt: skip


def _distance(illuminance: float, limit: Limit) -> float:
    """How many times too bright or too dark an illuminance is, as a logarithm; below 0 within the range."""
    low, high = limit.low or 1e-9, limit.high or 1e9
    return float(max(np.log(low / illuminance), np.log(illuminance / high)))


def ultraviolet_lines(light: Light) -> list[CheckLine]:
    """How much ultraviolet the spectrum holds, and why its metamerism index is not at hand."""
    what, unit = "ultraviolet, 300 to 400 nm against 400 to 700 nm", "%"
    share = ultraviolet_share(light)
    held = (
        CheckLine("ultraviolet", "ultraviolet", what, unit, share, None)
        if share is not None
        else not_checked(
            "ultraviolet", "ultraviolet", what, unit, None, f"the spectrum begins at {light.grid.start:g} nm",
            "measure it from 300 nm; without, nothing is known of what brighteners will do in it",
        )
    )  # fmt: skip
    limit = Limit(high=1.5, source=f"{_ISO} 4.2.3", obtained=MEMORY)
    index = not_checked(
        "uv_metamerism", "ultraviolet", "ultraviolet metamerism index", "dE*ab", limit,
        "the fluorescent specimens of ISO/CIE 23603 are not at hand: their tables were not found in public",
    )  # fmt: skip
    return [held, index]
