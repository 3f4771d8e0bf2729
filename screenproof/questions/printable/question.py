"""What is asked of a colour that is to be printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.errors import Problem
from screenproof.questions.form import DisplayLike, PressLike, SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, DoubtOptions, SceneOptions, TintOptions
from screenproof.questions.parsing import codes, hex_faults
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.opening import Open
    from screenproof.questions.printable.answer import PrintableAnswer

OF_A_DISPLAY = ("bits", "own_stock", "curve", "luminance", "display_black", "room")
OF_SAMPLES = ("only", "instrument", "readings")


class AskPrintable(Question):
    """Whether a press prints a colour on its stock, how far off the nearest is, and what stands in the way.

    For samples, or for colours that were approved on a display. Exit code 1 when one is farther than --limit.
    """

    name = "printable"
    short = "Can this colour be printed, and if not, why."
    example = (
        "screenproof printable press.json --display office.icc --code 12,140,96 --bits 8 --total 300 --limit 2"
    )
    doing = "asking the press"
    formerly = {"--samples": "samples stand behind the press: printable PRESS SAMPLES"}

    press: PressLike = ask(
        "A press as 'press fit' wrote it, or a characterisation.", positional=True, metavar="PRESS"
    )
    samples: SamplesLike | None = ask(
        "Ask for the samples of a file.", default=None, positional=True, metavar="SAMPLES"
    )
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    display: DisplayLike | None = ask("Ask for colours of this display.", default=None, metavar="NAME_OR_FILE")
    code: tuple[tuple[int, int, int], ...] = ask(
        "A code on it, such as 0,128,255 or #0080ff; may be given again.",
        default=(),
        metavar="R,G,B",
        parse=codes,
    )
    bits: int = ask("Bits per channel of the code: 8, 10, 12 or 16.", default=8, metavar="N")
    tints: TintOptions = group(TintOptions)
    own_stock: bool = ask("The display's white stands for the bare stock of the press.", default=False)
    scene: SceneOptions = group(SceneOptions)
    curve: str | None = ask("Another tone curve for a standard: pq, hlg, bt1886, gamma2.2 ...", default=None)
    luminance: float | None = ask("Luminance of the display's white.", default=None, metavar="CD/M2", above=0)
    display_black: float | None = ask(
        "Luminance of the display's black.", default=None, metavar="CD/M2", at_least=0
    )
    room: float | None = ask("Room light that falls on the screen.", default=None, metavar="LUX")
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """Neither samples nor a display, or both; and what has nothing to act on."""
        if (self.samples is None) == (self.display is None):
            yield Problem(
                "nothing to look for" if self.samples is None else "samples and a display",
                field="samples",
                expected="{samples}, or {display} NAME_OR_FILE with {code} R,G,B",
                mend="give one of the two",
            )
        elif self.display is None:
            if self.code:
                yield Problem("a code, and no display that shows it", field="code", mend="add {display}")
            yield from self._idle(OF_A_DISPLAY, "no display takes part", "{display} and a {code}")
        else:
            if not self.code:
                yield Problem("a display, and no code on it", field="display", mend="add {code} R,G,B")
            yield from self._idle(OF_SAMPLES, "no samples take part", "{samples}")
        yield from hex_faults(self.code, self.bits, "code")
        yield from self.doubt.idle(self.limit, screen=self.display is not None)

    def _idle(self, names: tuple[str, ...], what: str, add: str) -> Iterator[Problem]:
        """Those of the fields that are given, and have nothing to act on."""
        for name in names:
            given = getattr(self.doubt, name) is not None if hasattr(self.doubt, name) else self.given(name)
            if given:
                yield Problem(what, field=name, mend=f"leave it out, or give {add} instead")

    def ask(self, open: Open) -> PrintableAnswer:
        """What the press makes of every colour."""
        from screenproof.questions.printable.answer import printable_answer

        return printable_answer(self, open)
