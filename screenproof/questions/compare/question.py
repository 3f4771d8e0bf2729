"""What is asked of a comparison."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from screenproof.errors import Problem
from screenproof.questions.form import LightLike, ObserverLike, SamplesLike, ask, group
from screenproof.questions.groups import DoubtOptions
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.compare.answer import Comparison
    from screenproof.questions.opening import Open

LIMITS = ("limit", "mean", "p95", "worst")


class AskCompare(Question):
    """How far one set of colours is from another, in one light: a print from its target, a lot from its standard.

    Partners go by their names, else by their order. Each pair has its CIEDE2000, dL*, da*, db*, dC*, dH* (the
    second minus the first) and words; the whole set its mean, 95th percentile and largest. Readings that were not
    taken alike (M0 against M1, other backings, 45:0 against a sphere) are refused, unless --unlike says by how
    much such readings may differ: it then goes into the doubt.
    """

    name = "compare"
    short = "How far a print is from its target."
    example = "screenproof compare target.csv print.cxf --light D50 --limit 2.0 --mean 1.0"
    doing = "comparing"

    a: SamplesLike = ask("The target: CSV, CGATS, CxF3 or JSON.", positional=True, metavar="TARGET")
    b: SamplesLike = ask("What is held against it.", positional=True, metavar="PRINT")
    light: LightLike | None = ask(
        "The light; unless given that of samples with Lab or XYZ alone, else D50.", default=None, metavar="LIGHT"
    )
    observer: ObserverLike | None = ask(
        "The observer; unless given that of samples with Lab or XYZ alone, else cie1931.",
        default=None,
        metavar="NAME",
    )
    metric: Literal["de00", "deab", "cmc", "cam16ucs"] = ask(
        "The difference that the limits are in.", default="de00"
    )
    limit: float | None = ask("Most that each may differ.", default=None, metavar="DE", at_least=0)
    mean: float | None = ask("Most that the mean of all may be.", default=None, metavar="DE", at_least=0)
    p95: float | None = ask("Most that the 95th percentile may be.", default=None, metavar="DE", at_least=0)
    worst: float | None = ask("Most that the largest may be.", default=None, metavar="DE", at_least=0)
    tolerance: str | None = ask(
        "Limits by name in their place: see 'screenproof tolerances'.", default=None, metavar="NAME"
    )
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    unlike: float | None = ask(
        "By how much readings that were taken unlike may differ.", default=None, metavar="DE00", above=0
    )
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Limits twice over, limits that can never decide, and options that have nothing to act on."""
        given = [name for name in LIMITS if getattr(self, name) is not None]
        if self.tolerance is not None:
            beside = [*given, *(["metric"] if self.given("metric") else [])]
            yield from (
                Problem("the set by name has its own", field=name, mend="leave out this one, or {tolerance}")
                for name in beside
            )
            given = ["tolerance"]
        for name in ("mean", "p95"):
            own = getattr(self, name)
            if own is not None and self.worst is not None and own > self.worst:
                what = f"{own:g} is above the limit of the largest, {self.worst:g}, and can never decide"
                yield Problem(what, field=name, mend="lower it, or raise {worst}")
        yield from self.doubt.idle(self.limit if not given else 0.0, screen=False)

    def ask(self, open: Open) -> Comparison:
        """The difference of every pair."""
        from screenproof.questions.compare.answer import comparison

        return comparison(self, open)
