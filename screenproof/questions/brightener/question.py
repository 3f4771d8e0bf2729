"""What is asked of samples with brightener."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from screenproof.english import listed
from screenproof.errors import Problem
from screenproof.questions.form import LightLike, ObserverLike, SamplesLike, ask
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.brightener.answer import BrightenerAnswer
    from screenproof.questions.opening import Open

SHARE = "a share from 0 to 0.6"


class AskBrightener(Question):
    """How much of each curve is brightener, and what it does in other lights: at least and at most.

    The figures are the CIEDE2000 from the colour as read with M1. They are bounds: how much a brightener gives
    in another light depends on which ultraviolet excites it, and the readings do not say. A light whose
    ultraviolet is not known is refused, unless it is stated to have none. Lamps of ultraviolet can hurt eyes
    and skin: keep to the local rules for optical radiation.
    """

    name = "brightener"
    short = "Samples with brightener in other lights."
    example = "screenproof brightener m1.csv --uv-excluded m2.csv --to D65,A,FL11 --without-uv FL11"
    doing = "changing the ultraviolet"
    plots = True

    samples: SamplesLike = ask("Samples as read in D50 with its ultraviolet.", positional=True, metavar="M1")
    uv_excluded: SamplesLike = ask("The same, read without ultraviolet.", metavar="M2")
    incandescent: SamplesLike | None = ask("The same, read in a lamp like A.", default=None, metavar="M0")
    to: tuple[LightLike, ...] = ask(
        "Lights, with commas between them; may be given again.",
        default=("D65", "A"),
        metavar="LIGHTS",
        commas=True,
        wanted="names with commas between them, such as A,FL2,FL11",
    )
    without_uv: tuple[LightLike, ...] = ask(
        "Those of them that have no power below the first wavelength of their spectrum.",
        default=(),
        metavar="LIGHTS",
        commas=True,
        wanted="some of the lights of {to}",
    )
    observer: ObserverLike = ask(
        "cie1931, cie1964, cie2015-2, cie2015-10, or an eye such as age=60,field=2.",
        default="cie1931",
        metavar="NAME",
    )
    viewing: LightLike = ask("Light to whose white colours are carried.", default="D50", metavar="LIGHT")
    excitation: tuple[float, ...] | None = ask(
        "What excites the brightener; 300,420 unless given.",
        default=None,
        metavar="NM,NM",
        count=2,
        wanted="the least and the greatest wavelength in nm with a comma, such as 320,420",
    )
    near: float | None = ask(
        "Most of the excitation in D50 above 400 nm; 0.3 unless given.",
        default=None,
        metavar="0..0.6",
        at_least=0,
        at_most=0.6,
        wanted=SHARE,
    )
    m1_uv: float | None = ask(
        "How far M1's ultraviolet may be from D50's; 0.15 unless given.",
        default=None,
        metavar="0..0.6",
        at_least=0,
        at_most=0.6,
        wanted=SHARE,
    )
    m0_uv: float | None = ask(
        "How far M0's ultraviolet may be from A's; 0.3 unless given.",
        default=None,
        metavar="0..0.6",
        at_least=0,
        at_most=0.6,
        wanted=SHARE,
    )
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")

    def faults(self) -> Iterator[Problem]:
        """Options that have nothing to act on."""
        if self.m0_uv is not None and self.incandescent is None:
            mend = "add {incandescent} and its file"
            yield Problem("there are no M0 readings to use it for", field="m0_uv", mend=mend)
        asked = _written(self.to)
        stray = [name for name in _written(self.without_uv) if name not in asked]
        if stray:
            yield Problem(
                f"{', '.join(stray)} is stated to have no ultraviolet and is not asked for",
                field="without_uv",
                expected=f"some of the lights of {{to}}: {listed(asked, last='or')}",
                mend="name it in {to} as well, written alike, or leave it out",
            )

    @property
    def dark(self) -> tuple[bool, ...]:
        """For each light of ``to`` whether it is stated to have no ultraviolet."""
        none = _written(self.without_uv)
        return tuple(name in none for name in _written(self.to))

    def ask(self, open: Open) -> BrightenerAnswer:
        """What brightener does to every sample that was read both ways."""
        from screenproof.questions.brightener.answer import brightener_answer

        return brightener_answer(self, open)


def _written(lights: Iterable[Any]) -> list[str]:
    """Lights as they are written: by their names or files."""
    return [str(getattr(light, "name", light)) for light in lights]
