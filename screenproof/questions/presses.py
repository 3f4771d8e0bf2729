"""Presses, as questions and jobs use them: the limits of tints, what is said of a press, how its prints are
judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import bad, did_you_mean
from screenproof.proof.covariance import Spread, object_part, screen_part
from screenproof.proof.doubt_records import DoubtSource
from screenproof.proof.ink_reach import tints_words
from screenproof.proof.viewing import Viewing

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from screenproof.additive import Display
    from screenproof.proof.judged import Judged
    from screenproof.proof.judging import Judge, Names
    from screenproof.proof.tolerance import What
    from screenproof.questions.form import LightLike, ObserverLike
    from screenproof.questions.groups import TintOptions
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array, Samples
    from screenproof.subtractive import Press, TintLimits

UNTRIED = "no patch was kept out of its fit, so that nothing is known of how far it misses"


@dataclass(frozen=True)
class LimitsSaid:
    """The limits that tints kept: of the total (3 is 300 %), and of each channel, 0..1."""

    total: float
    channels: tuple[float, ...]

    @classmethod
    def of(cls, limits: TintLimits) -> LimitsSaid:
        """As an answer says them."""
        return cls(limits.total, limits.channels)

    def words(self, channels: Sequence[str]) -> str:
        """In percent: 'total 300 %, K 95 %'; channels at 100 are left out."""
        parts = [f"total {100.0 * self.total:.0f} %"]
        parts += [
            f"{name} {100.0 * most:.0f} %"
            for name, most in zip(channels, self.channels, strict=True)
            if most < 1.0
        ]
        return ", ".join(parts)


def tint_limits(press: Press, asked: TintOptions) -> TintLimits:
    """The limits that are asked for in percent; where nothing is said, those of the press.

    Raises InputError for a channel that the press has not, and a total that its channels cannot give.
    """
    from screenproof.subtractive import TintLimits

    given = asked.channel_limit or {}
    if asked.total is None and not given:
        return press.limits
    for name in given:
        if name not in press.channels:
            raise bad(
                f"the press has no channel {name!r}",
                field="channel_limit",
                expected=f"of {', '.join(press.channels)}",
                mend=did_you_mean(name, press.channels) or "correct the name of the limit",
            )
    count = len(press.channels)
    if asked.total is not None and asked.total > 100.0 * count:
        raise bad(
            f"a total of {asked.total:g} %",
            field="total",
            expected=f"percent, above 0 up to {100 * count} for {count} channels",
        )
    own = dict(zip(press.channels, press.limits.channels, strict=True))
    channels = tuple(given[name] / 100.0 if name in given else most for name, most in own.items())
    total = press.limits.total if asked.total is None else asked.total / 100.0
    # The channels at their limits give no more than their sum.
    return TintLimits(min(total, sum(channels)) or total, channels)


def viewing_on(press: Press, open: Open, light: LightLike | None, observer: ObserverLike | None) -> Viewing:
    """Light and observer as asked; else those of a press that is known by XYZ, else D50 and the 2 degree
    observer."""
    own = (press.light or "D50", press.observer or "cie1931")
    return Viewing(
        open.light(own[0] if light is None else light), open.observer(own[1] if observer is None else observer)
    )


def cells_words(press: Press) -> list[str]:
    """Where the characterisation holds a full grid, in words: 'C, M, Y, K at 0, 40, 100 %'."""
    return [
        ", ".join(
            f"{channel} at {' '.join(f'{100.0 * level:g}' for level in own)} %"
            for channel, own in zip(grid.channels, grid.levels, strict=True)
        )
        for grid in press.grids
    ]


def misses(press: Press, tints: ArrayLike) -> Array | None:
    """The mean CIEDE2000 (n,) by which a press misses at tints (n, c); None where no patch was kept out of its
    fit.

    It is its mean on the patches held out. Of the share of a tint that stands on overprints nobody measured, where
    those patches say little, it is their largest (a cautious choice of our own, no source).
    """
    held = press.held_out
    if held is None or not held.count:
        return None
    return np.asarray(held.mean + press.doubt(tints) * (held.max - held.mean))


def press_source(press: Press, name: str) -> DoubtSource:
    """What is known of how far a press misses, as a source of doubt."""
    held = press.held_out
    if held is None or not held.count:
        return DoubtSource("press", name, UNTRIED, "unknown")
    words = (
        f"it misses {held.mean:.2f} CIEDE2000 on average, {held.max:.2f} at most, on {held.count} patches that "
        "were kept out of its fit"
    )
    return DoubtSource("press", name, words, "held out")


def advice_to_print(press: Press, tints: Array) -> list[str]:
    """What would tell whether prints of tints (n, c) are right where the press's model cannot: to print them."""
    return [f"print and measure these tints ({tints_words(press.channels, row)})" for row in tints]


def samples_spread(samples: Samples, viewing: Viewing) -> Spread | None:
    """The doubt of the Lab of samples; None where nothing is known of their readings."""
    from screenproof.appearance import xyz_to_lab

    white = viewing.white
    part = object_part(
        "sample", samples, [viewing.light], viewing.observer, lambda xyz: np.asarray(xyz_to_lab(xyz, white))
    )
    return None if part is None else Spread((part,))


def codes_spread(display: Display, codes: ArrayLike, bits: int, viewing: Viewing) -> Spread | None:
    """The doubt of the Lab of what codes (n, 3) show; None where nothing is known of the display's readings."""
    part = screen_part(np.asarray(codes) / (2.0**bits - 1.0), display, viewing)
    return None if part is None else Spread((part,))


def judged_prints(
    judge: Judge,
    press: Press,
    tints: Array,
    wanted: Array,
    printed: Array,
    printable: NDArray[np.bool_],
    viewing: Viewing,
    spread: Callable[[], Spread | None],
    names: Names,
    what: What = "printable",
) -> list[Judged]:
    """How far wanted Lab (n, 3) is from what tints (n, c) print, each against the limit for ``what``.

    The doubt is that of the wanted colours' readings (``spread``, asked for only when something is judged) and of
    what the press misses. What is printable is 0 away, exactly. names: what was read for each row.
    """
    place = viewing.light.name, viewing.observer.name
    found = [judge.plain(what, 0.0, light=place[0], observer=place[1]) for _ in wanted]
    off = np.flatnonzero(~np.asarray(printable)).tolist()
    if not off:
        return found

    def of_these() -> Spread | None:
        whole = spread()
        return None if whole is None else whole.select(off)

    some: dict[str, Sequence[str]] = {part: [own[i] for i in off] for part, own in names.items()}
    some["model"] = advice_to_print(press, tints[off])
    judged = judge.rows(
        what,
        printed[off],
        wanted[off],
        (viewing.white, viewing.conditions()),
        of_these,
        place,
        some,
        model=misses(press, tints[off]),
    )
    for row, one in zip(off, judged, strict=True):
        found[row] = one
    return found
