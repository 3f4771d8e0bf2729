"""Tolerance sets, as a person writes them in TOML, and the verdict of a figure against a limit.

A set names one colour difference and the limits that a job is judged by. A limit that is not given is not
judged. A figure that equals its limit passes. The place for doubt is kept: ``Judged.uncertainty`` is None as
long as no repeatability is carried, and only then can a verdict be told from its figure and limit alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, get_args

from screenproof.errors import InputError, Problem, did_you_mean
from screenproof.proof.judged import Judged, Status, decided, worst
from screenproof.proof.presets import Preset, tolerance_preset

__all__ = [
    "LIMITS",
    "METRICS",
    "METRIC_LABELS",
    "WHOLE_LIMITS",
    "Metric",
    "Judged",
    "Status",
    "ToleranceSet",
    "What",
    "worst",
]

Metric = Literal["de00", "deab", "cmc", "cam16ucs"]
What = Literal[
    "match", "excess", "light_shift", "pair", "pair_shift", "observer_shift", "approval", "printable", "recipe"
]

METRICS: tuple[str, ...] = get_args(Metric)
LIMITS: tuple[str, ...] = get_args(What)
WholeLimit = Literal["mean", "p95", "worst"]
WHOLE_LIMITS: tuple[str, ...] = get_args(WholeLimit)
"""Limits of a set of figures as a whole: their mean, their 95th percentile, the largest."""

RENAMED = {"reach": "printable"}
"""Limits that had another name once."""

METRIC_LABELS: dict[str, str] = {
    "de00": "CIEDE2000",
    "deab": "CIE 1976 L*a*b* difference",
    "cmc": "CMC(l:c)",
    "cam16ucs": "CAM16-UCS",
}

# TOML key -> field of ToleranceSet. The weights of CIEDE2000 (ISO/CIE 11664-6) and of CMC (ISO 105-J03) keep
# the letters that their standards give them.
_WEIGHTS = {"kl": "kl", "kc": "kc", "kh": "kh", "l": "cmc_l", "c": "cmc_c"}
_WEIGHTS_OF = {"de00": ("kl", "kc", "kh"), "cmc": ("l", "c")}


@dataclass(frozen=True)
class ToleranceSet:
    """One metric and the limits in its units; None is a limit that is not judged.

    ``match`` is for what is left after rounding to codes, ``excess`` for the distance to the nearest colour
    that the display can show, ``light_shift`` for one object in two lights, ``pair_shift`` for two objects that
    match under the first light, ``observer_shift`` for an object against its screen match in the other lights
    and for the other observers, ``approval`` for a sample against the colour approved on a screen, ``printable``
    for the distance to the nearest colour that a press can print, ``recipe`` for a recipe against its target
    under the viewing light, ``pair`` for two objects as they are, under the first light. ``mean``, ``p95`` and
    ``worst`` are for a set as a whole: the matches of a group on a display, or the pairs of an entry.
    ``preset`` is the name of the preset that filled in what the set does not say itself, ``source`` where its
    limits come from. ``kl``, ``kc``, ``kh`` weigh CIEDE2000, ``cmc_l`` and ``cmc_c`` are the l and c of
    CMC(l:c).
    """

    name: str
    metric: Metric = "de00"
    match: float | None = None
    excess: float | None = None
    light_shift: float | None = None
    pair_shift: float | None = None
    observer_shift: float | None = None
    approval: float | None = None
    printable: float | None = None
    recipe: float | None = None
    kl: float = 1.0
    kc: float = 1.0
    kh: float = 1.0
    cmc_l: float = 2.0
    cmc_c: float = 1.0
    pair: float | None = None
    mean: float | None = None
    p95: float | None = None
    worst: float | None = None
    preset: str = ""
    source: str = ""

    def limit(self, what: What | WholeLimit) -> float | None:
        """The limit for ``what``, or None when this set does not judge it."""
        value = getattr(self, what)
        return None if value is None else float(value)

    @property
    def judges_wholes(self) -> bool:
        """Whether there is a limit for a set as a whole."""
        return any(getattr(self, key) is not None for key in WHOLE_LIMITS)

    @property
    def metric_label(self) -> str:
        """The metric as a reader knows it, with its weights where they are not 1."""
        label = METRIC_LABELS[self.metric]
        if self.metric == "cmc":
            return f"CMC({self.cmc_l:g}:{self.cmc_c:g})"
        if self.metric == "de00" and (self.kl, self.kc, self.kh) != (1.0, 1.0, 1.0):
            return f"{label}({self.kl:g}:{self.kc:g}:{self.kh:g})"
        return label


def judge(
    tolerance: ToleranceSet,
    what: What,
    figure: float,
    *,
    light: str | None = None,
    observer: str | None = None,
) -> Judged | None:
    """The verdict of ``figure`` (in the metric of ``tolerance``) for ``what``; None when it sets no limit.

    Raises ValueError for a figure that is not finite: what could not be calculated is refused, not judged.
    """
    limit = tolerance.limit(what)
    if limit is None:
        return None
    if not math.isfinite(figure):
        raise ValueError(f"a {what} figure of {figure} cannot be judged")
    status = decided(figure, limit)
    return Judged(what, float(figure), limit, tolerance.metric, status, light, observer, None, tolerance.name)


def read_tolerances(
    table: Mapping[str, object], *, file: str | None = None, field: str = "tolerances"
) -> dict[str, ToleranceSet]:
    """Tolerance sets from a TOML table of tables, by their names.

    Each set has ``metric`` (one of 'de00', 'deab', 'cmc', 'cam16ucs'; 'de00' when left out), any of the limits
    ``match``, ``excess``, ``light_shift``, ``pair``, ``pair_shift``, ``observer_shift``, ``approval``,
    ``printable``, ``recipe``, and ``mean``, ``p95``, ``worst`` of a whole (0 or more) and, where the metric has
    them, its weights ``kl``, ``kc``, ``kh`` or ``l``, ``c``. ``preset`` names a preset (:mod:`.presets`) that
    fills in all that the set does not say. ``file`` and ``field`` say where the table came from.

    Raises InputError with every mistake in the table: an unknown key or preset (with the nearest valid one), a
    limit that is no number or below 0, weights of another metric, a metric that is not the preset's, a limit of a
    whole that another makes idle, a set with no limit at all.
    """
    problems: list[Problem] = []
    sets = {}
    for name, entries in table.items():
        place = f"{field}.{name}"
        if isinstance(entries, Mapping):
            made, found = _read_set(name, entries, file, place)
            problems += found
            if made is not None:
                sets[name] = made
        else:
            expected, mend = "a table with metric and limits", f"write [{place}] and one limit per line"
            problems.append(
                Problem(f"{entries!r} is no tolerance set", file, field=place, expected=expected, mend=mend)
            )
    if problems:
        raise InputError(problems)
    return sets


def _read_set(
    name: str, entries: Mapping[str, object], file: str | None, place: str
) -> tuple[ToleranceSet | None, list[Problem]]:
    problems: list[Problem] = []

    def fault(key: str, what: str, expected: str | None, mend: str | None) -> None:
        problems.append(Problem(what, file, field=f"{place}.{key}", expected=expected, mend=mend))

    preset, own = None, entries
    if "preset" in entries:
        own = {key: value for key, value in entries.items() if key != "preset"}
        try:
            preset = tolerance_preset(entries["preset"])
            entries = {**preset.values, **own}
        except InputError as error:
            problems += [replace(p, file=file, field=f"{place}.preset") for p in error.problems]
            entries = own
    metric = entries.get("metric", "de00")
    if preset is not None and metric != preset.metric and metric in METRICS:
        what = f"the limits of the preset {preset.name!r} are in {METRIC_LABELS[preset.metric]}, not {metric!r}"
        fault("metric", what, f"metric = {preset.metric!r}", "remove the metric, or the preset")
        metric = preset.metric
    if metric not in METRICS:
        mend = did_you_mean(metric, METRICS, 0.4)
        fault("metric", f"unknown metric {metric!r}", "one of " + ", ".join(METRICS), mend)
    valid = ("preset", "metric", *LIMITS, *WHOLE_LIMITS, *_WEIGHTS)
    values: dict[str, float] = {}
    for key, value in entries.items():
        if key == "metric":
            continue
        if key in RENAMED:
            new = RENAMED[key]
            fault(key, f"{key} is called {new} now", f"{new} = {value}", "write the new name")
            continue
        if key not in valid:
            near = did_you_mean(key, valid, 0.4)
            fault(key, f"unknown key {key!r}", "one of " + ", ".join(valid), near or "remove it")
            continue
        number = float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else math.nan
        owner = next((owner for owner, keys in _WEIGHTS_OF.items() if key in keys), None)
        if owner is None and not 0 <= number < math.inf:
            fault(key, f"{value!r} is no limit", "a number, 0 or more", "leave it out if it is not to be judged")
        elif owner is not None and not 0 < number < math.inf:
            fault(key, f"{value!r} is no weight", "a number above 0", "leave it out for the usual weight")
        elif owner is not None and metric in METRICS and metric != owner:
            what = f"{key!r} weighs {METRIC_LABELS[owner]}, but the metric is {metric!r}"
            fault(key, what, None, f"remove it or set metric = {owner!r}")
        else:
            values[_WEIGHTS.get(key, key)] = number
    for key in ("mean", "p95"):
        if key in values and "worst" in values and values[key] > values["worst"]:
            what = f"{key} = {values[key]:g} is above worst = {values['worst']:g} and can never decide"
            fault(key, what, "the smaller limit for it", f"lower {key}, or raise worst")
    if not problems and not any(limit in values for limit in (*LIMITS, *WHOLE_LIMITS)):
        what, expected = "the set has no limit", "at least one of " + ", ".join(LIMITS)
        problems.append(
            Problem(what, file, field=place, expected=expected, mend=f"add a line such as {LIMITS[0]} = 1.0")
        )
    if problems:
        return None, problems
    said = _origin(preset, own)
    return ToleranceSet(name=name, metric=metric, **values, **said), []  # type: ignore[arg-type]


def _origin(preset: Preset | None, own: Mapping[str, object]) -> dict[str, str]:
    """The fields that say where the limits come from."""
    if preset is None:
        return {}
    changed = [f"{key} = {value}" for key, value in own.items() if preset.values.get(key) != value]
    source = preset.source + (f"; set by the job: {', '.join(changed)}" if changed else "")
    return {"preset": preset.name, "source": source}
