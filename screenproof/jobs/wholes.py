"""Sets judged as a whole: the matches of each group on each display, and the pairs of whole groups."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from screenproof.proof import Viewing
    from screenproof.proof.covariance import Spread
    from screenproof.proof.judging import Judge
    from screenproof.proof.result import WholeRecord
    from screenproof.spectra import Array


@dataclass(frozen=True, eq=False)
class _Piece:
    """Some figures of a set: Lab (n, 3) against Lab (n, 3) of the things called ``names``, and their doubt."""

    names: tuple[str, ...]
    reference: Array
    lab: Array
    spread: Spread | None


@dataclass(eq=False)
class _Set:
    judge: Judge
    viewing: Viewing
    pieces: list[_Piece] = field(default_factory=list)

    def spread(self) -> Spread | None:
        """The doubt of all figures in their order; a piece of which nothing is known has none."""
        from screenproof.proof.covariance import Spread

        if all(piece.spread is None for piece in self.pieces):
            return None
        return Spread.joined(
            [Spread.nothing(len(piece.names)) if piece.spread is None else piece.spread for piece in self.pieces]
        )


@dataclass
class Wholes:
    """The sets of a job, gathered while it runs: a group may come from several files."""

    sets: dict[tuple[str, Literal["match", "pairs"], str | None], _Set] = field(default_factory=dict)

    def add(
        self,
        judge: Judge,
        name: str,
        what: Literal["match", "pairs"],
        display: str | None,
        viewing: Viewing,
        names: Sequence[str],
        reference: Array,
        lab: Array,
        spread: Callable[[], Spread | None],
    ) -> None:
        """Figures of a set, if its tolerance set judges wholes."""
        if judge.tolerance is None or not judge.tolerance.judges_wholes:
            return
        one = self.sets.setdefault((name, what, display), _Set(judge, viewing))
        one.pieces.append(_Piece(tuple(names), reference, lab, spread()))

    def records(self) -> tuple[WholeRecord, ...]:
        """Every set judged, in the order in which they came."""
        found = (self._record(*key, one) for key, one in self.sets.items())
        return tuple(record for record in found if record is not None)

    @staticmethod
    def _record(name: str, what: Literal["match", "pairs"], display: str | None, one: _Set) -> WholeRecord | None:
        reference, lab = (
            np.concatenate([getattr(piece, side) for piece in one.pieces]) for side in ("reference", "lab")
        )
        names = [name for piece in one.pieces for name in piece.names]
        viewed = one.viewing.white, one.viewing.conditions()
        return one.judge.whole(name, names, reference, lab, viewed, one.spread(), what=what, display=display)
