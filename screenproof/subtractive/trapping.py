"""Trapping: how much of an ink stays where it is printed on other inks instead of on the bare stock.

Printed wet on wet, the second ink is often thinner on the first than on the stock. The trapping factor of an
overprint multiplies the film weight of its uppermost ink: 1 takes as much as the stock does, 0 takes nothing. The
definition by film weight (absorbance) is the spectral form of the density formula of Preucil 1953 (TAGA Proc. 5,
102-110; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from screenproof.errors import bad


@dataclass(frozen=True)
class Trapping:
    """Trapping factors: for inks in the order in which they are printed, the factor of the last of them.

    ``Trapping({("cyan", "yellow"): 0.85})`` says that yellow on cyan has 0.85 of its weight on the stock.
    Overprints that are not named have 1. Raises InputError for a factor below 0 or a single ink.
    """

    factors: Mapping[tuple[str, ...], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for names, factor in self.factors.items():
            what = f"trapping of {' + '.join(names)}"
            if len(names) < 2:
                raise bad("one ink alone has nothing to be trapped on", field=what, expected="two inks or more")
            if not (np.isfinite(factor) and factor >= 0.0):
                raise bad(f"a factor of {factor:g}", field=what, expected="a number, 0 or above, usually 0.5 to 1")
        object.__setattr__(self, "factors", MappingProxyType(dict(self.factors)))

    def factor(self, names: tuple[str, ...]) -> float:
        """The factor of the last of ``names``, printed in that order: 1 where none is known."""
        return float(self.factors.get(names, 1.0))

    def with_factor(self, names: tuple[str, ...], factor: float) -> Trapping:
        """The same with one factor more, or changed."""
        return Trapping({**self.factors, names: factor})


NO_TRAPPING = Trapping()
