"""One line of a check before it is judged: what was looked at, its figure, and the limit with where that is from.

Lines are made in the rooms of lights and screens; :mod:`screenproof.proof.checks` holds them against their limits.
"""

from __future__ import annotations

from dataclasses import dataclass

FOUND, MEMORY, PRACTICE, STATED, COMPUTED = (
    "found", "from memory", "common practice, no source", "as asked for", "computed"
)  # fmt: skip
"""How a limit was obtained: read in a public document, recalled, the habit of the trade, or the user's own."""


@dataclass(frozen=True)
class Limit:
    """What a figure may be: from ``low`` to ``high``, both included; None for no bound.

    better_low, better_high: what the source recommends beyond what it asks for. source: document and clause.
    obtained: one of :data:`FOUND`, :data:`MEMORY`, :data:`PRACTICE`, :data:`STATED`, :data:`COMPUTED`.
    """

    low: float | None = None
    high: float | None = None
    better_low: float | None = None
    better_high: float | None = None
    source: str = ""
    obtained: str = PRACTICE


@dataclass(frozen=True)
class CheckLine:
    """One line of a check, not judged yet.

    key, group: short names for scripts. what: in words. figure: in ``unit``; None where nothing could be looked
    at. limit: None where none is at hand. random, fixed: the parts of the figure's standard uncertainty that gets
    smaller with more readings and that does not; None when not known. among: it is the largest of so many.
    words: where it is worst, why it was not checked, what it means. mend: what to do where it is not in order.
    incomplete: what is missing for a pass ('' for nothing). remark: whether the words are worth saying where it
    passes.
    """

    key: str
    group: str
    what: str
    unit: str
    figure: float | None
    limit: Limit | None
    random: float | None = None
    fixed: float | None = None
    among: int = 1
    words: str = ""
    mend: str = ""
    incomplete: str = ""
    remark: bool = False


def not_checked(
    key: str, group: str, what: str, unit: str, limit: Limit | None, why: str, mend: str = ""
) -> CheckLine:
    """A line that could not be looked at, with the reason."""
    return CheckLine(key, group, what, unit, None, limit, words=why, mend=mend)
