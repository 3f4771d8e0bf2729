"""The figures of a match: chromaticities with the display's gamut; what people see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screenproof.report.crowd_drawing import draw_crowd
from screenproof.report.drawing import INK, MOST_NAMES, QUIET, locus, new_figure, short_name, titled, triangle

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from screenproof.questions.gamut.answer import GamutAnswer
    from screenproof.questions.match.answer import MatchAnswer


def draw(answer: MatchAnswer) -> Figure:
    """What people see, where that was asked; else the chromaticities."""
    if answer.population is None:
        return draw_chromaticity(answer)
    rows = [(name, [crowd]) for name, crowd in zip(answer.names, answer.crowd, strict=True)]
    what = f"each sample beside {answer.display.label}"
    return draw_crowd(rows, answer.observer, what, answer.population)


def draw_chromaticity(answer: MatchAnswer | GamutAnswer) -> Figure:
    """u'v' with the display's gamut; samples that it cannot show are crosses."""
    figure, (axes,) = new_figure(6.4, 6.2)
    locus(axes)
    triangle(axes, answer.gamut.primaries_uv, answer.gamut.white_uv, answer.display.label)
    for name, (u, v), shown in zip(answer.names, answer.uv, answer.in_gamut, strict=True):
        axes.plot(u, v, "o" if shown else "x", color=INK, ms=5, mfc="none" if shown else INK, mew=1.2)
        if len(answer.names) <= MOST_NAMES:
            words = short_name(name)
            axes.annotate(words, (u, v), xytext=(5, 3), textcoords="offset points", fontsize=6.5, color=QUIET)
    outside = len(answer.names) - int(sum(answer.in_gamut))
    title = (
        f"{answer.display.label}: {outside} of {len(answer.names)} samples (crosses) cannot be shown\n"
        f"light {answer.light}, observer {answer.observer}, basis {answer.basis}"
    )
    titled(axes, title, "u′ (CIE 1976)", "v′")
    return figure
