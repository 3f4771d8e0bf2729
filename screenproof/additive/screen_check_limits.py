"""What a screen is checked against: limits by name, each with its source and how it was obtained.

iso12646    ISO 12646:2008 with Amd 1:2010, displays for colour proofing. Uniformity and the black's ratio were
            found in public documents; the rest is from memory, and said so.
soft-proof  the same for a screen beside a print in a booth. Of ISO 14861:2015 only the 160 cd/m2 of the white were
            found; its other limits are not at hand and are not made up.
broadcast   a reference monitor: ITU-R BT.709-6, BT.1886 and BT.2035, EBU Tech 3320. Limits are from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from screenproof.errors import bad, did_you_mean
from screenproof.spectra.checks import FOUND, MEMORY, PRACTICE, Limit

_ISO = "ISO 12646:2008"
_AMD = "ISO 12646:2008/Amd 1:2010"


@dataclass(frozen=True)
class ScreenLimits:
    """A named set of limits.

    white: the aim of the white, a light's name. curve: the aim of the tone curve, None when only its exponent is
    limited. exponent_of: the exponent that the aim's curve stands for. limits: by the keys of the rows.
    ``label`` is what a report prints.
    """

    name: str
    label: str
    white: str
    white_source: str
    curve: str | None
    exponent_of: float
    limits: Mapping[str, Limit] = field(default_factory=dict)

    def limit(self, key: str) -> Limit | None:
        """The limit of a row, or None where none is at hand."""
        return self.limits.get(key)


_ANY = {
    "tone_curve": Limit(high=2.0, source="lightness L* of the greys against the aim", obtained=PRACTICE),
    "grey_balance": Limit(high=3.0, source="C*ab of the greys against the screen's white", obtained=PRACTICE),
    "drift": Limit(high=2.0, source="luminance once the screen is warm", obtained=PRACTICE),
    "colour_drift": Limit(high=0.003, source="chromaticity once the screen is warm", obtained=PRACTICE),
    "additivity": Limit(high=2.0, source="primaries added up against white", obtained=PRACTICE),
}

_GRAPHIC = {
    **_ANY,
    "white_luminance": Limit(low=80.0, better_low=120.0, source=f"{_ISO} 4.7", obtained=MEMORY),
    "white_chromaticity": Limit(high=0.005, source=_ISO, obtained=MEMORY),
    "contrast": Limit(low=100.0, source="black at most 1 % of white", obtained=PRACTICE),
    "black_on_off": Limit(high=200.0, source=_ISO, obtained=FOUND),
    "exponent": Limit(low=1.8, high=2.4, source=_ISO, obtained=MEMORY),
    "uniformity_white": Limit(high=10.0, better_high=5.0, source=f"{_ISO} 4.4, Amd 1:2010", obtained=FOUND),
    "uniformity_grey_128": Limit(high=13.0, better_high=6.5, source=_AMD, obtained=FOUND),
    "uniformity_grey_64": Limit(high=15.0, better_high=7.5, source=_AMD, obtained=FOUND),
    "uniformity_colour": Limit(high=0.01, source=_ISO, obtained=FOUND),
}

SCREEN_LIMITS: Mapping[str, ScreenLimits] = MappingProxyType(
    {
        made.name: made
        for made in (
            ScreenLimits(
                "iso12646", "ISO 12646:2008 with Amd 1:2010", "D50", f"{_ISO}, from memory", None, 1.0, _GRAPHIC
            ),
            ScreenLimits(
                "soft-proof",
                "a screen beside a print: ISO 12646:2008, and the white of ISO 14861:2015",
                "D50",
                f"{_ISO}, from memory",
                None,
                1.0,
                {
                    **_GRAPHIC,
                    "white_luminance": Limit(
                        low=144.0, high=176.0, obtained=FOUND,
                        source="ISO 14861:2015: 160 cd/m2; the 10 % either way are common practice, no source",
                    ),
                },
            ),
            ScreenLimits(
                "broadcast",
                "a broadcast reference monitor: BT.709, BT.1886, BT.2035, EBU Tech 3320",
                "D65",
                "ITU-R BT.709-6",
                "bt1886",
                2.4,
                {
                    **_ANY,
                    "white_luminance": Limit(
                        low=90.0, high=110.0, obtained=MEMORY,
                        source="ITU-R BT.2035: 100 cd/m2; the 10 % either way are common practice, no source",
                    ),
                    "white_chromaticity": Limit(high=0.005, source="D65 of ITU-R BT.709-6", obtained=PRACTICE),
                    "black": Limit(high=0.05, source="EBU Tech 3320, grade 1", obtained=MEMORY),
                    "contrast": Limit(low=2000.0, source="EBU Tech 3320, grade 1", obtained=MEMORY),
                    "exponent": Limit(low=2.3, high=2.5, source="EBU Tech 3320, grade 1", obtained=MEMORY),
                },
            ),
        )
    }
)  # fmt: skip
"""The sets by name."""


def screen_limits(name: str) -> ScreenLimits:
    """The set of limits called ``name``, in any case. InputError with the near names for another."""
    key = str(name).strip().lower()
    if key in SCREEN_LIMITS:
        return SCREEN_LIMITS[key]
    raise bad(
        f"no limits for screens are called {name!r}",
        field="against",
        expected=", ".join(SCREEN_LIMITS),
        mend=did_you_mean(key, SCREEN_LIMITS, 0.4),
    )
