"""From a colour to the tints that print it, under limits and with a chosen black generation.

1. A descent by CIEDE2000 from the node of a lattice of tints that is nearest in CIELAB. Most printable colours are
   reached so.
2. What is not reached is tried again from the best nodes of several hues; what is then still not reached is not
   printable, and the best of these is its nearest colour.
3. A printable colour can be printed with more or less black, along a line of tints. Least and most black are the
   ends of that line; smooth lies between them, by lightness. A press with more inks than cyan, magenta, yellow and
   black uses the others only for what these four cannot print, and then, as a press without a black does, with the
   least total of tints.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.errors import Note, bad
from screenproof.spectra import Array, Light, Observer
from screenproof.subtractive.aims import ColourAim, GoalAim, TintAim
from screenproof.subtractive.descent import descend
from screenproof.subtractive.ink_colours import InkColours, TintBounds
from screenproof.subtractive.ink_nodes import InkNodes
from screenproof.subtractive.press import Press, TintLimits

Black = Literal["least", "most", "smooth"]
BLACKS: tuple[Black, ...] = ("least", "most", "smooth")

PRINTABLE = 0.02
"""A colour that the inks come nearer to than this (CIEDE2000) is printable."""

PROCESS = {
    "c": "C",
    "cyan": "C",
    "m": "M",
    "magenta": "M",
    "y": "Y",
    "yellow": "Y",
    "k": "K",
    "black": "K",
    "key": "K",
}
"""Names of channels, in lower case, that are taken for the four process inks."""

_ENOUGH = 1e-6
_WEIGHTS = (
    ((10.0, 8), (1.0, 8), (0.1, 8), (0.01, 8)),
    ((0.1, 40), (0.01, 20)),
    ((100.0, 4), (3.0, 12), (0.3, 12), (0.01, 12)),
)


@dataclass(frozen=True, eq=False)
class Separation:
    """Tints for colours. Arrays have one row per colour.

    tints: (n, c) 0..1. lab: (n, 3) what they print, CIELAB relative to the perfect diffuser. de00: (n,)
    CIEDE2000 to what was wanted. printable: (n,) whether that is below PRINTABLE; if not, the tints print the
    nearest colour.
    """

    channels: tuple[str, ...]
    tints: Array
    lab: Array
    de00: Array
    printable: NDArray[np.bool_]
    limits: TintLimits
    black: Black
    notes: tuple[Note, ...] = ()


def separate(
    press: Press,
    lab: ArrayLike,
    *,
    under: Light | None = None,
    seen_by: Observer | None = None,
    limits: TintLimits | None = None,
    black: Black = "smooth",
    keep_hue: bool = False,
) -> Separation:
    """Tints that print the colours ``lab`` (n, 3), CIELAB relative to the perfect diffuser.

    under, seen_by: light and observer of ``lab``; D50 and the 1931 observer when not given, or those of a press
    that is only known by XYZ. limits: total coverage and channels, what was measured when not given. black: least,
    most, or smooth, which goes from least in the lights to most in the darks. keep_hue: colours farther than 10
    units and more than 60 degrees of hue away are passed over as nearest (CIEDE2000, made for small differences,
    can rate a grey nearest to a strong violet).

    Raises InputError for colours that are no numbers, for limits that do not fit, for another black generation.
    """
    wanted = np.atleast_2d(np.asarray(lab, dtype=np.float64))
    if wanted.ndim != 2 or wanted.shape[1] != 3:
        raise bad(f"colours of shape {wanted.shape}", field="lab", expected="L*, a*, b* for each colour")
    odd = ~np.isfinite(wanted).all(axis=1)
    if odd.any():
        raise bad(f"colour {int(odd.argmax()) + 1} is no number", field="lab", expected="finite L*, a*, b*")
    if black not in BLACKS:
        raise bad(f"a black generation of {black!r}", field="black", expected=", ".join(BLACKS))
    room = TintBounds.of(press, limits)
    colours = InkColours.of(press, under, seen_by, rows=len(wanted))
    process, notes = process_channels(press), []
    if len(process) == 4 and len(press.channels) > 4:
        tints, de = _separated(colours, wanted, room.narrowed(process), process[3], black, keep_hue)
        rest = np.flatnonzero(de > PRINTABLE)
        if rest.size:
            tints[rest], de[rest] = _separated(colours, wanted[rest], room, None, black, keep_hue)
    else:
        key = next((k for k in process if PROCESS[press.channels[k].lower()] == "K"), None)
        if key is None and len(press.channels) > 3:
            notes.append(Note("assumed", "no channel is called K or black: the least total of tints is taken"))
        tints, de = _separated(colours, wanted, room, key, black, keep_hue)
    return Separation(
        channels=press.channels,
        tints=tints,
        lab=colours.lab(tints),
        de00=de,
        printable=de <= PRINTABLE,
        limits=TintLimits(room.total, tuple(room.high.tolist())),
        black=black,
        notes=(*notes, *press.notes_on(tints)),
    )


def process_channels(press: Press) -> list[int]:
    """Where cyan, magenta, yellow and black stand, in that order; those that there are."""
    found = {PROCESS[name.lower()]: place for place, name in enumerate(press.channels) if name.lower() in PROCESS}
    return [found[ink] for ink in "CMYK" if ink in found]


def _separated(
    colours: InkColours, wanted: Array, room: TintBounds, key: int | None, black: Black, keep_hue: bool
) -> tuple[Array, Array]:
    """Tints (n, c) in the room and their CIEDE2000 (n,); key: the channel of black, None for the least total."""
    nodes = InkNodes.of(colours, room)
    tints, de = nearest_tints(colours, wanted, room, nodes, keep_hue)
    free = np.count_nonzero(room.high > 0.0)
    able = np.flatnonzero(de <= PRINTABLE)
    if free > 3 and able.size:
        aim = ColourAim(colours, wanted[able])
        if key is None:
            tints[able] = _preferred(aim, tints[able], room, np.ones(len(room.high)))
        else:
            darkest = float(nodes.lab[:, 0].min())
            lightest = float(nodes.lab[:, 0].max())
            dark = np.clip((lightest - wanted[able, 0]) / max(lightest - darkest, 1e-9), 0.0, 1.0)
            tints[able] = _blackened(aim, tints[able], room, key, black, dark)
        de[able] = np.sqrt(aim.cost(tints[able], np.arange(len(able))))
    return tints, de


def nearest_tints(
    colours: InkColours, wanted: Array, room: TintBounds, nodes: InkNodes, keep_hue: bool = False
) -> tuple[Array, Array]:
    """Tints (n, c) whose colour is nearest to the wanted (n, 3), and its CIEDE2000 (n,)."""
    aim = ColourAim(colours, wanted, keep_hue)
    tints, cost = descend(aim, nodes.nearest(wanted), room, rounds=25, enough=_ENOUGH, gain=1e-4)
    missed = np.flatnonzero(cost > PRINTABLE**2)
    if missed.size:
        owner, starts = nodes.starts(wanted[missed], keep_hue)
        again = ColourAim(colours, wanted[missed][owner], keep_hue)
        ends, costs = descend(again, starts, room, rounds=60, enough=_ENOUGH, gain=1e-6)
        order = np.lexsort((costs, owner))
        first = order[np.unique(owner[order], return_index=True)[1]]
        best = missed[owner[first]]
        better = costs[first] < cost[best]
        tints[best[better]], cost[best[better]] = ends[first][better], costs[first][better]
    return tints, np.sqrt(ColourAim(colours, wanted).cost(tints, np.arange(len(wanted))))


def _preferred(aim: ColourAim, tints: Array, room: TintBounds, share: Array) -> Array:
    """Tints of the same colours with the least sum of ``share`` (c,) of each.

    First the colour may be left a little for the sake of the tints, then less and less: so that the descent can
    follow the bent line of tints of one colour in long steps. A colour that is lost on the way, and one that stops
    before a limit stops it, are tried again in other steps; what is no better than the tints at hand is not taken.
    """
    done = tints.copy()
    left = np.arange(len(tints))
    for weights in _WEIGHTS:
        mine = aim.select(left)
        found = done[left]
        for weight, rounds in weights:
            goal = TintAim(mine, share, room.high, weight)
            found, _ = descend(goal, found, room, rounds=rounds, enough=0.0, gain=1e-5)
        kept = mine.cost(found, np.arange(len(left))) <= PRINTABLE**2
        better = kept & (found @ share <= done[left] @ share)
        done[left[better]] = found[better]
        left = left[~kept | ~room.cornered(done[left])]
        if left.size == 0:
            break
    return done


def _blackened(aim: ColourAim, tints: Array, room: TintBounds, key: int, black: Black, dark: Array) -> Array:
    """Tints of the same colours with the chosen black; dark: (n,) 0 for the lightest colour, 1 for the darkest."""
    share = np.zeros(tints.shape[1])
    share[key] = 1.0
    least = tints if black == "most" else _preferred(aim, tints, room, share)
    most = tints if black == "least" else _preferred(aim, tints, room, -share)
    if black != "smooth":
        return least if black == "least" else most
    # Level at both ends, so that no tone shows where black sets in.
    grown = dark * dark * (3.0 - 2.0 * dark)
    low, high = least[:, key], np.maximum(least[:, key], most[:, key])
    goal = low + grown * (high - low)
    between = room.kept(least, least + grown[:, None] * (most - least))
    for weight, rounds in ((1000.0, 12), (10.0, 8), (1.0, 8)):
        between, _ = descend(GoalAim(aim, key, goal, weight), between, room, rounds=rounds, enough=0.0, gain=1e-5)
    lost = aim.cost(between, np.arange(len(between))) > PRINTABLE**2
    between[lost] = least[lost]
    return between
