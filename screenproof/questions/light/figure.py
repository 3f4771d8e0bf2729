"""The figure of a light that was checked: its spectrum beside its aim's, and its rendering indices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screenproof.proof.judging import Judge
from screenproof.questions.light.rendering import GENERAL_RENDERING, SPECIAL_RENDERING
from screenproof.report.drawing import DASHES, INK, QUIET, new_figure, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.questions.light.answer import LightChecked


def draw(answer: LightChecked) -> Figure:
    """A light's spectrum beside its aim's at equal luminance, and its rendering indices."""
    from screenproof.spectra import emission_xyz, observer

    figure, (spectrum, bars) = new_figure(11.0, 4.2, 2)
    eye = observer("cie1931")
    for index, light in enumerate(answer.compared):
        nm = light.grid.wavelengths
        seen = (nm >= 300) & (nm <= 800)
        level = float(emission_xyz(light.power, light.grid, eye)[0, 1])
        spectrum.plot(nm[seen], light.power[seen] * (1e4 / level), color=INK if index == 0 else QUIET, lw=1.1,
                      ls=DASHES[index], label=light.name if index == 0 else f"{light.name}, the aim")  # fmt: skip
    spectrum.set_ylim(bottom=0.0)
    spectrum.legend(fontsize=7, frameon=False)
    like = answer.row("similarity").figure
    titled(spectrum, f"At equal luminance; SSI {like:.0f}", "wavelength, nm", "relative power")
    _bars(bars, answer)
    return figure


def _bars(axes: Axes, answer: LightChecked) -> None:
    """Ra, then R1 to R14; those below their limit are hatched, and their figures stand over them."""
    special = answer.rendering.special
    values = [answer.rendering.ra, *special]
    names = ["Ra", *(f"R{i + 1}" for i in range(len(special)))]
    floors = [GENERAL_RENDERING.low, *[SPECIAL_RENDERING.low] * 8, *[None] * (len(special) - 8)]
    for i, (value, floor) in enumerate(zip(values, floors, strict=True)):
        low = Judge(None).bound("ri", value, at_least=floor).status == "fail"
        face = "white" if low else ("0.75" if floor else "0.92")
        axes.bar(i, max(value, 0.0), width=0.7, fc=face, ec=INK, lw=0.8, hatch="////" if low else None)
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
        said = f"{value:.{1 if low else 0}f}"
        axes.text(i, max(value, 0.0) + 1.8, said, ha="center", fontsize=6.5, color=INK, bbox=ground, zorder=3)
        if floor is not None:
            axes.plot([i - 0.45, i + 0.45], [floor, floor], color=INK, lw=1.2)
    axes.set_xticks(range(len(names)), names, fontsize=7)
    axes.set_ylim(0.0, 112.0)
    titled(axes, "Colour rendering, CIE 13.3; lines: ISO 3664 (from memory)", "", "index")
