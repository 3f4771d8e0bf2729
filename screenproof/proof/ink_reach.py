"""Whether a colour can be printed: of a sample, or of drive values that were approved on a display.

The wanted colour is carried to the object's side by the basis of the viewing (:mod:`.viewing`): what a screen
shows is brought back by the inverse map. There it is asked of the press which tints print it, in CIELAB
relative to the white of the viewing light. What stands in the way of a colour that it cannot print is found by
asking again with the obstacle taken away: the limit on the total coverage, or the stock, in whose place a
perfectly white one is put under the same inks (their transmittance kept, as for an ink on another stock).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.additive import Display
from screenproof.appearance import difference_words, difference_words_many, lab_to_lch, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.proof.gamut import OUTLINE_HUES
from screenproof.proof.match import check_bits, seen_xyz
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Colorimetry, Samples
from screenproof.subtractive.ink_colours import TintBounds
from screenproof.subtractive.ink_gamut import gamut_of_inks, in_the_way
from screenproof.subtractive.press import Press, TintLimits
from screenproof.subtractive.separation import Black, separate

MUCH_NEARER = 0.5
"""The part of the excess that must be left, at the most, without an obstacle for it to count as one."""

JUST_MISSED = 0.5
"""CIEDE2000 below which an excess is too small to be seen: common practice, no source."""

_LIGHTER = 0.3
_STRONGER = 2.0
_SAME_HUE = 30.0
# What in_the_way says and is said here with figures.
_SAID_BETTER = ("the total coverage", "nothing is lighter", "no change of tints")


@dataclass(frozen=True, eq=False)
class InkReach:
    """What a press makes of wanted colours, one row for each.

    lab: (n, 3), wanted, relative to the white of the viewing light. printable: (n,). excess: (n,) CIEDE2000 to
    the nearest colour within the limits, exactly 0 when printable. nearest_lab: (n, 3), tints: (n, c) that
    print it. words: how the nearest differs from the wanted; '' when printable. obstacles: what stands in the
    way. whiter: (n,), the same inks come much nearer on a white stock.
    """

    names: tuple[str, ...]
    press: str
    channels: tuple[str, ...]
    lab: Array
    printable: NDArray[np.bool_]
    excess: Array
    nearest_lab: Array
    tints: Array
    words: tuple[str, ...]
    obstacles: tuple[tuple[str, ...], ...]
    limits: TintLimits
    whiter: NDArray[np.bool_]
    notes: tuple[Note, ...] = ()

    @property
    def coverage(self) -> Array:
        """The sum (n,) of the tints: 3 is 300 percent."""
        return np.asarray(self.tints.sum(axis=1))

    def sentence(self, row: int) -> str:
        """The answer for one colour in a sentence."""
        name = self.names[row]
        if self.printable[row]:
            return f"{name} can be printed on {self.press}: {self.tints_text(row)}."
        words = f" ({self.words[row]})" if self.words[row] else ""
        why = f": {'; '.join(self.obstacles[row])}" if self.obstacles[row] else ""
        if self.excess[row] < JUST_MISSED:
            return f"{name} just misses what {self.press} prints, by {self.excess[row]:.2f} CIEDE2000."
        off = f"the nearest is {self.excess[row]:.1f} CIEDE2000 off{words}"
        return f"{name} cannot be printed on {self.press}, {off}{why}."

    def tints_text(self, row: int) -> str:
        """The tints of one colour in percent: 'C 72 M 0 Y 40 K 5 %'."""
        return tints_words(self.channels, self.tints[row])


def tints_words(channels: Sequence[str], tints: Array) -> str:
    """Tints (c,) in percent: 'C 72 M 0 Y 40 K 5 %'."""
    return " ".join(f"{c} {100.0 * t:.0f}" for c, t in zip(channels, tints, strict=True)) + " %"


def ink_reach(
    press: Press,
    lab: ArrayLike,
    viewing: Viewing,
    names: Sequence[str],
    *,
    called: str = "",
    limits: TintLimits | None = None,
    black: Black = "smooth",
) -> InkReach:
    """Ask of colours ``lab`` (n, 3), relative to the white of the viewing light, whether a press prints them.

    called: the name of the press in words; limits: what was measured when not given; black: the black
    generation. Raises InputError as :func:`screenproof.subtractive.separate.separate` does, and for a press
    that is known by XYZ for another light or observer than those of the viewing.
    """
    wanted = np.atleast_2d(np.asarray(lab, dtype=np.float64))
    under, eye = viewing.light, viewing.observer
    found = separate(press, wanted, under=under, seen_by=eye, limits=limits, black=black)
    missed = np.flatnonzero(~found.printable)
    words = np.full(len(wanted), "", dtype=object)
    obstacles: list[tuple[str, ...]] = [()] * len(wanted)
    nearer = np.zeros(len(wanted), dtype=bool)
    if missed.size:
        words[missed] = difference_words_many(wanted[missed], found.lab[missed])
        stock = press.lab(np.zeros(len(press.channels)), under, eye)[0]
        whiter = _excess_on_white(press, wanted[missed], viewing, limits)
        if whiter is not None:
            nearer[missed] = whiter < MUCH_NEARER * found.de00[missed]
        freer = _excess_without_total(press, wanted[missed], viewing, limits)
        room = TintBounds.of(press, limits)
        for place, row in enumerate(missed):
            obstacles[row] = _obstacles(
                press, wanted[row], found.lab[row], found.tints[row], float(found.de00[row]), stock, room,
                None if whiter is None else float(whiter[place]),
                None if freer is None else float(freer[place]),
            )  # fmt: skip
    return InkReach(
        names=tuple(names),
        press=called or press.name or "this press",
        channels=press.channels,
        lab=wanted,
        printable=found.printable,
        excess=np.where(found.printable, 0.0, found.de00),
        nearest_lab=found.lab,
        tints=found.tints,
        words=tuple(str(one) for one in words),
        obstacles=tuple(obstacles),
        limits=found.limits,
        whiter=nearer,
        notes=found.notes,
    )


def wanted_of_samples(samples: Samples, viewing: Viewing) -> Array:
    """CIELAB (n, 3) of samples, relative to the white of the viewing light."""
    return xyz_to_lab(seen_xyz(samples, viewing), viewing.white)


def wanted_of_codes(
    display: Display, codes: ArrayLike, bits: int, viewing: Viewing
) -> tuple[Array, tuple[Note, ...]]:
    """CIELAB (n, 3) of what codes (n, 3) show, brought to the object's side, and notes on what was assumed.

    Raises InputError for codes that are no integers in 0..2^bits - 1, or another bit depth than 8, 10, 12 or
    16.
    """
    check_bits(bits)
    given = np.atleast_2d(np.asarray(codes, dtype=np.float64))
    top = 2**bits - 1
    if given.shape[1] != 3 or not ((given == np.rint(given)) & (given >= 0) & (given <= top)).all():
        raise bad(
            f"the code {', '.join(f'{value:g}' for value in given.ravel()[:3])}",
            field="code",
            expected=f"three integers from 0 to {top} at {bits} bits",
            mend="correct the code, or set bits to the depth that it was read at",
        )
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    xyz = bridge.to_reference(view.to_xyz(given / top))
    return xyz_to_lab(np.asarray(xyz), viewing.white), (*view.notes, *bridge.notes)


def on_stock_of(press: Press, viewing: Viewing) -> Viewing:
    """The same viewing with the bare stock of the press as the object's white, as one looks at a print on it."""
    stock = press.stock[np.newaxis]
    if press.is_spectral:
        white = Samples(("bare stock",), reflectance=stock, grid=press.grid)
    else:
        white = Samples(("bare stock",), colorimetry=Colorimetry(stock, press.light or "", press.observer or ""))
    return replace(viewing, object_white=white)


def press_outlines(
    press: Press, viewing: Viewing, limits: TintLimits | None = None, hues: Sequence[float] = OUTLINE_HUES
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, tuple[tuple[float, float], ...]], ...]]:
    """What a press prints within its limits, to be drawn beside a display.

    A polygon in CIE 1976 u'v' around it; and for each hue angle [deg] the largest C*ab by L*, in the form of
    :func:`screenproof.proof.gamut.lc_outline`.
    """
    found = gamut_of_inks(press, under=viewing.light, seen_by=viewing.observer, limits=limits)
    hull = tuple((float(u), float(v)) for u, v in found.uv_outline())
    return hull, found.lc_outline(hues)


def _excess_on_white(press: Press, wanted: Array, viewing: Viewing, limits: TintLimits | None) -> Array | None:
    """The excess of the same inks on a perfectly white stock; None for a press that is known by XYZ alone."""
    if not press.is_spectral:
        return None
    white = replace(press, nodes=press.nodes / press.stock)
    return _excess(white, wanted, viewing, limits)


def _excess_without_total(
    press: Press, wanted: Array, viewing: Viewing, limits: TintLimits | None
) -> Array | None:
    """The excess without a limit on the total coverage; None where there is none."""
    given = limits or press.limits
    most = float(sum(given.channels))
    if given.total >= most - 1e-6:
        return None
    free = TintLimits(most, given.channels)
    return separate(press, wanted, under=viewing.light, seen_by=viewing.observer, limits=free, black="least").de00


def _excess(press: Press, wanted: Array, viewing: Viewing, limits: TintLimits | None) -> Array:
    under, eye = viewing.light, viewing.observer
    return np.asarray(separate(press, wanted, under=under, seen_by=eye, limits=limits, black="least").de00)


def _obstacles(
    press: Press,
    wanted: Array,
    nearest: Array,
    tints: Array,
    excess: float,
    stock: Array,
    room: TintBounds,
    on_white: float | None,
    without_total: float | None,
) -> tuple[str, ...]:
    """What stands in the way of one colour, the stock first."""
    found = []
    darker = wanted[0] > stock[0] + _LIGHTER
    if darker:
        found.append(f"the stock is darker than the colour, L* {stock[0]:.0f} against {wanted[0]:.0f}")
    if on_white is not None and on_white < MUCH_NEARER * excess:
        words = difference_words(np.array([100.0, 0.0, 0.0]), stock)
        left = "would reach it" if on_white < JUST_MISSED else f"would come within {on_white:.1f}"
        said = "" if darker else f"the stock is {words} than white, "
        found.append(f"{said}on a white stock these inks {left}")
    full = tints.sum() >= room.total - 1e-4
    if without_total is not None and full and without_total < excess - 0.05:
        found.append(
            f"the total coverage of {100.0 * room.total:.0f} % is reached, without that limit the nearest "
            f"would be {without_total:.1f} off"
        )
    ways = in_the_way(press, tints, wanted, stock, room).split("; ")
    found += [way for way in ways if not way.startswith(_SAID_BETTER)]
    (_, asked, hue), (_, has, own) = lab_to_lch(wanted), lab_to_lch(nearest)
    if asked > has + _STRONGER:
        turned = abs((own - hue + 180.0) % 360.0 - 180.0) >= _SAME_HUE
        where = "at that hue" if turned else "there"
        found.append(f"the inks are not as strong {where}, C* {has:.0f} of {asked:.0f}")
    return tuple(found or ways)
