"""What is asked of a shift."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Literal

from screenproof.errors import Problem
from screenproof.questions.form import DisplayLike, LightLike, ObserverLike, SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, SAMPLES, DoubtOptions, PeopleOptions
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.opening import Open
    from screenproof.questions.shift.answer import ShiftAnswer

Correction = Literal["multiplicative", "additive", "none"]


def observers_of(value: Any, here: str, problems: list[Problem]) -> tuple[Any, ...]:
    """Observers as they are written: a text with commas, in which an eye such as age=60,field=2 is one, or a
    list."""
    from screenproof.spectra import observer_specs

    parts = [value] if isinstance(value, str) or not isinstance(value, (list, tuple)) else value
    found = [one for part in parts for one in (observer_specs(part) if isinstance(part, str) else [part])]
    if not found:
        such = "names with commas between them, such as cie1931,age=60,field=2"
        problems.append(Problem("no name is given", field=here, expected=such))
    return tuple(found)


class AskShift(Question):
    """How far colours part when the light changes.

    With --against: pairs that match in the first light (CIE special metamerism index, change in illuminant).
    With --display: each sample against its match on that display, which stays as it is. With neither: each
    sample against itself in the first light (colour inconstancy). With --population: what people see of the pairs,
    or of the samples beside the screen, in every light.
    """

    name = "shift"
    short = "How far colours part when the light changes."
    example = "screenproof shift inks.csv --against reprint.cxf --from D65 --to A,FL2,FL11 --limit 2.0"
    doing = "changing the light"
    plots = True

    samples: tuple[SamplesLike, ...] = ask(SAMPLES, positional=True, metavar="SAMPLES")
    against: SamplesLike | None = ask(
        "The partners: a pair shift. By name, else in order.", default=None, metavar="OTHER"
    )
    from_light: LightLike = ask(
        "The first light, the one in which colours are meant to be right.",
        default="D65",
        key="from",
        metavar="LIGHT",
    )
    to: tuple[LightLike, ...] = ask(
        "The other lights, with commas between them; may be given again.",
        default=("A", "FL2", "FL11"),
        metavar="LIGHTS",
        commas=True,
        wanted="names with commas between them, such as A,FL2,FL11",
    )
    observer: tuple[ObserverLike, ...] = ask(
        "Observers with commas between: cie1931,age=60,field=2,age=25.",
        default=("cie1931",),
        metavar="NAMES",
        parse=observers_of,
    )
    display: DisplayLike | None = ask(
        "Against the match on this display: a screen shift.", default=None, metavar="NAME_OR_FILE"
    )
    correction: Correction | None = ask(
        "For pairs that do not quite match: multiplicative (unless given), additive, none.",
        default=None,
        metavar="NAME",
    )
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    people: PeopleOptions = group(PeopleOptions)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Two questions at once, and options that have nothing to act on."""
        if self.against is not None and self.display is not None:
            yield Problem(
                "{against} and {display} are two different questions",
                field="against",
                mend="ask for the pair shift with {against}, or for the screen shift with {display}",
            )
        if self.against is None and self.correction is not None:
            yield Problem(
                "a correction is for pairs that do not match in the first light",
                field="correction",
                mend="add {against} and the file of the partners, or leave it out",
            )
        if self.people.population is not None and self.against is None and self.display is None:
            yield Problem(
                "people are asked about two colours side by side, and one object in two lights is not",
                field="population",
                mend="add {display} for the screen match, or {against} for the partners, or leave it out",
            )
        yield from self.doubt.idle(self.limit, screen=self.display is not None)

    def ask(self, open: Open) -> ShiftAnswer:
        """The shift of every sample, or pair."""
        from screenproof.questions.shift.answer import shift_answer

        return shift_answer(self, open)
