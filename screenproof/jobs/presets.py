"""The answer of the command ``tolerances``: the presets of tolerance sets, and what each holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screenproof.errors import InputError, Problem


def tolerances_answer(names: Sequence[str] | None = None) -> dict[str, Any]:
    """Name, words, metric, limits, weights, source and remarks of presets; by default of all.

    Raises InputError with every name that is none.
    """
    from screenproof.proof.presets import tolerance_preset, tolerance_presets
    from screenproof.proof.tolerance import LIMITS, WHOLE_LIMITS, read_tolerances

    presets = []
    problems: list[Problem] = []
    for name in names or [preset.name for preset in tolerance_presets()]:
        try:
            presets.append(tolerance_preset(name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    entries = []
    for preset in presets:
        made = read_tolerances({preset.name: {"preset": preset.name}})[preset.name]
        limits = {key: getattr(made, key) for key in (*LIMITS, *WHOLE_LIMITS) if getattr(made, key) is not None}
        entries.append(
            {
                "name": preset.name,
                "label": preset.label,
                "metric": made.metric,
                "metric_label": made.metric_label,
                "limits": limits,
                "source": preset.source,
                "remarks": list(preset.remarks),
            }
        )
    return {"schema": "screenproof-tolerances/1", "presets": entries}
