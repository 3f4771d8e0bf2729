"""Tolerances by name: limits that standards and the trade use, each with its source and how sure it is.

A preset is a beginning, not a judgement: it fills in a tolerance set, and the keys that stand beside it in the set
go before it. Limits that a standard gives for two prints speak of the pairs of a job (``pair``) or of a set of
patches as a whole (``mean``, ``p95``, ``worst``); no standard that we know says how well a screen must show one
sample, so only the presets of common practice do.

A value that was not seen in print but recalled says 'from memory'. Buy the standard before you sign a contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from screenproof.errors import bad, did_you_mean

_ISO_2_2013 = (
    "ISO 12647-2:2013, deviation of the solids, as a public abstract gives it (R. Chung and others, TAGA 2015, on "
    "the tolerances of ISO 12647-2)"
)
_ISO_2_2004 = "ISO 12647-2:2004, Table 4; the figure 5 is from memory and is given by a public page too"
_ISO_2_RUN = "ISO 12647-2:2004, Table 4, and ISO 12647-2:2013, Table 6: from memory"
_ISO_7 = "ISO 12647-7:2016, Tables 4 and 5: values are from memory; public pages confirm the metric only"
_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Preset:
    """A named set of limits.

    ``values``: the keys of a tolerance set; ``source``: where they come from and how sure that is; ``remarks``:
    what the set does not say.
    """

    name: str
    label: str
    values: Mapping[str, str | float]
    source: str
    remarks: tuple[str, ...] = field(default=())

    @property
    def metric(self) -> str:
        """The colour difference that the limits are in, as a tolerance set names it."""
        return str(self.values.get("metric", "de00"))


_PRESETS = (
    Preset(
        "press-solids",
        "solids of a press against their aims: cyan, magenta, yellow",
        {"metric": "de00", "pair": 3.5},
        _ISO_2_2013,
        ("black is allowed 5.0: preset 'press-black'", "the aim and the print are a pair, under D50"),
    ),
    Preset(
        "press-black",
        "solid black of a press against its aim",
        {"metric": "de00", "pair": 5.0},
        _ISO_2_2013,
    ),
    Preset(
        "press-solids-2004",
        "solids of a press against their aims, by the CIE 1976 difference",
        {"metric": "deab", "pair": 5.0},
        _ISO_2_2004,
        ("for cyan, magenta, yellow and black alike",),
    ),
    Preset(
        "press-run",
        "solids of a run against the sheet that was approved, by the CIE 1976 difference",
        {"metric": "deab", "pair": 4.0},
        _ISO_2_RUN,
        ("yellow is allowed 5: write pair = 5 in a set of its own",),
    ),
    Preset(
        "contract-proof",
        "patches of a control strip on a contract proof against their aims, as a whole",
        {"metric": "de00", "mean": 2.5, "worst": 5.0},
        _ISO_7,
        ("the limits for grey balance and hue are in other differences and are not judged here",),
    ),
    Preset(
        "contract-proof-chart",
        "the whole characterisation chart on a contract proof against its aims",
        {"metric": "de00", "mean": 2.5, "p95": 5.0},
        _ISO_7,
    ),
    Preset(
        "contract-proof-solids",
        "solids of the process colours, and the substrate, on a contract proof",
        {"metric": "de00", "pair": 3.0},
        _ISO_7,
    ),
    Preset(
        "contract-proof-spot",
        "solids of spot colours on a contract proof",
        {"metric": "de00", "pair": 2.5},
        _ISO_7,
    ),
    Preset(
        "brand-colour",
        "a critical brand colour: screen, proof, print and recipe",
        {
            "metric": "de00",
            "match": 1.0,
            "excess": 2.0,
            "pair": 2.0,
            "light_shift": 3.0,
            "pair_shift": 2.0,
            "observer_shift": 3.0,
            "approval": 2.0,
            "printable": 2.0,
            "recipe": 1.0,
        },
        _PRACTICE,
        ("agree on it with the owner of the brand before the job is judged by it",),
    ),
    Preset(
        "dyed-cloth",
        "a dyed shade against its standard, by CMC(2:1)",
        {"metric": "cmc", "l": 2.0, "c": 1.0, "pair": 1.0, "recipe": 1.0, "approval": 1.0},
        f"weights: ISO 105-J03, from memory; the limit of 1: {_PRACTICE}",
    ),
)


def tolerance_presets() -> tuple[Preset, ...]:
    """All presets, those of standards first."""
    return _PRESETS


def tolerance_preset(name: object) -> Preset:
    """The preset called ``name``. Raises InputError with the nearest names for another."""
    for preset in _PRESETS:
        if preset.name == name:
            return preset
    names = [preset.name for preset in _PRESETS]
    plain = str(name).replace("_", "-").replace(" ", "-")
    raise bad(
        f"no preset is called {name!r}",
        field="preset",
        expected="one of " + ", ".join(names),
        mend=did_you_mean(plain, names, 0.5) or "see screenproof tolerances",
    )
