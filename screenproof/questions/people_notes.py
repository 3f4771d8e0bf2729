"""What is odd about a population as it was asked for: too few people, or a cost beyond the limit of a match."""

from __future__ import annotations

from screenproof.errors import Note

FEW = 40
"""With fewer people, those beyond the 95th percentile are one or two."""


def people_notes(count: int, aim: str, cost: float, match_limit: float | None) -> tuple[Note, ...]:
    """Notes on ``count`` people, and on a ``cost`` [CIEDE2000] of drive values made for them.

    aim: 'observer' or 'population'. match_limit: what a match may be off by for the viewing observer, or None.
    """
    notes = []
    if count < FEW:
        notes.append(
            Note(
                "odd",
                f"{count} people are few: their 95th percentile is what one or two of them see, and changes with "
                "the seed",
                about="population",
                mend="ask for 200",
            )
        )
    if aim == "population" and match_limit is not None and cost >= match_limit:
        notes.append(
            Note(
                "odd",
                f"the cost of {cost:g} is not below the limit of a match, {match_limit:g}: drive values made for "
                "people may fail it for the viewing observer",
                about="population",
                mend="lower the cost, or raise the limit",
            )
        )
    return tuple(notes)
