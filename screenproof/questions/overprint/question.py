"""What is asked of overprints, and of inks on another stock."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.errors import Problem
from screenproof.questions.curves_out import CurvesOut
from screenproof.questions.form import SamplesLike, ask, group
from screenproof.questions.groups import LIMIT, SeenOptions, SurfaceOptions
from screenproof.questions.parsing import amounts

if TYPE_CHECKING:
    from screenproof.questions.opening import Open
    from screenproof.questions.overprint.answer import OverprintAnswer
    from screenproof.questions.overprint.other_stock import OtherStockAnswer

SAMPLES = "Measured samples: CSV, CGATS, CxF3 or JSON."
STOCK = "The sample that is the bare stock."
FILM = "Film weights; 1 is as it was measured."


class AskOverprint(CurvesOut):
    """What inks give on top of each other, from the curve of each on the stock and that of the stock.

    Each ink is a transparent layer: its internal transmittance multiplies what is below it. Every overprint
    of the inks is given, in the order in which they are given. Exit code 1 when a measured partner is farther
    than --limit.
    """

    name = "overprint"
    short = "Inks on top of each other, from single curves."
    example = 'screenproof overprint inks.cgats --stock "Coated carton" --inks Cyan,Magenta,Yellow --film Cyan=0.9'
    doing = "overprinting"

    samples: SamplesLike = ask(SAMPLES, positional=True, metavar="SAMPLES")
    stock: str = ask(STOCK, metavar="NAME")
    inks: tuple[str, ...] = ask("The inks, in the order of printing.", metavar="A,B,...", commas=True)
    film: dict[str, float] | None = ask(FILM, default=None, metavar="NAME=WEIGHT,...", parse=amounts)
    surface: SurfaceOptions = group(SurfaceOptions)
    measured: str | None = ask(
        "The measured overprint of all these inks; one called 'A + B' is found by itself.",
        default=None,
        metavar="NAME",
    )
    fit_trapping: bool = ask("Find how much of an ink stays on others, where measured.", default=False)
    scene: SeenOptions = group(SeenOptions)
    limit: float | None = ask(LIMIT, default=None, metavar="DE00", at_least=0)

    def ask(self, open: Open) -> OverprintAnswer:
        """Every overprint of the inks."""
        from screenproof.questions.overprint.answer import overprint_answer

        return overprint_answer(self, open)


class AskOtherStock(CurvesOut):
    """The same ink on another stock: coated to kraft, on film, over a white underprint.

    The ink keeps its transmittance, the stock below it changes. It is said where the other stock is too dark,
    the ink not transparent, or its transmittance known from too little light.
    """

    name = "other-stock"
    short = "The same ink on another stock."
    example = (
        'screenproof other-stock inks.cgats --ink "Ember orange" --stock "Coated carton" --onto "Kraft board" '
        "--onto-file kraft.csv"
    )
    doing = "changing the stock"

    samples: SamplesLike = ask(SAMPLES, positional=True, metavar="SAMPLES")
    ink: tuple[str, ...] = ask("The ink, or several.", metavar="NAME,...", commas=True)
    stock: str = ask(STOCK, metavar="NAME")
    onto: str = ask("The sample that is the other stock.", metavar="NAME")
    onto_file: SamplesLike | None = ask(
        "Where the other stock is; the same file unless given.", default=None, metavar="SAMPLES"
    )
    underprint: SamplesLike | None = ask(
        "A white below the ink: it 'over black' and 'over white', and the two cards.",
        default=None,
        metavar="SAMPLES",
    )
    underprint_weight: float | None = ask(
        "Its film weight; 1 unless given.", default=None, metavar="WEIGHT", at_least=0
    )
    film: dict[str, float] | None = ask(FILM, default=None, metavar="NAME=WEIGHT,...", parse=amounts)
    surface: SurfaceOptions = group(SurfaceOptions)
    scene: SeenOptions = group(SeenOptions)

    def faults(self) -> Iterator[Problem]:
        """A weight of nothing."""
        if self.underprint_weight is not None and self.underprint is None:
            mend = "add {underprint} FILE"
            yield Problem("no underprint to weigh", field="underprint_weight", mend=mend)

    def ask(self, open: Open) -> OtherStockAnswer:
        """Each ink on the other stock."""
        from screenproof.questions.overprint.other_stock import other_stock_answer

        return other_stock_answer(self, open)
