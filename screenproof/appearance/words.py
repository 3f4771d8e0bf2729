"""What a colour and a difference are called: hue names, and "lighter, greener, stronger".

The words for a direction are those of a colour passer: a hue difference is named after the next of the four
unique hues on that side, so that the same step is "yellower" on a red and "redder" on a yellow. Common practice,
no source; the unique hue angles are those of CIECAM16 (Li et al. 2017), taken for CIELAB, where they serve well
enough to choose a word by. The names and borders of :data:`HUES` are our own choice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.appearance.cam16 import UNIQUE_HUES
from screenproof.appearance.difference import de2000_terms
from screenproof.appearance.spaces import hue_angle
from screenproof.spectra import Array
from screenproof.spectra.cielab import triplets

HUES = (
    (0.0, "red"),
    (45.0, "orange"),
    (75.0, "yellow"),
    (105.0, "yellow-green"),
    (130.0, "green"),
    (175.0, "blue-green"),
    (225.0, "blue"),
    (290.0, "violet"),
    (320.0, "purple"),
    (345.0, "red"),
)
"""CIELAB hue angle in degrees at which each name begins."""

NEUTRAL = 5.0
"""C* up to which a colour counts as neutral: its hue is then no sure thing."""

_AT_HUE = 20.0  # degrees from a unique hue within which its own word would say nothing: a red is not "redder"
_SHARE = 0.3  # a term is named if it is at least this part of the greatest
_LEAST = 0.05  # CIEDE2000 units: below this nothing is named, for it would be printed as 0.0
SAME = "the same"

_TOWARDS = ("redder", "yellower", "greener", "bluer")
_STARTS = np.array([start for start, _ in HUES])
_NAMES = np.array([name for _, name in HUES])


def hue_names(lab: ArrayLike) -> NDArray[np.str_]:
    """Names of hues, as :func:`hue_name` gives them. lab: (..., 3); returns (...)."""
    lab = triplets(lab, "lab")
    names = _NAMES[np.searchsorted(_STARTS, hue_angle(lab[..., 1], lab[..., 2]), side="right") - 1]
    greys = np.select([lab[..., 0] >= 90.0, lab[..., 0] <= 20.0], ["white", "black"], "grey")
    return np.asarray(np.where(np.hypot(lab[..., 1], lab[..., 2]) <= NEUTRAL, greys, names), dtype=np.str_)


def hue_name(lab: ArrayLike) -> str:
    """The name of the hue of one CIELAB colour, or white, grey or black for a neutral. lab: (3,).

    >>> hue_name([50.0, 60.0, 30.0]), hue_name([95.0, 0.0, -2.0])
    ('red', 'white')
    """
    return str(hue_names(lab).item())


def _hue_words(lab_ref: Array, increasing: NDArray[np.bool_]) -> NDArray[np.str_]:
    """The word for a hue difference from a reference: the next unique hue on the side to which it goes."""
    h = hue_angle(lab_ref[..., 1], lab_ref[..., 2])[..., np.newaxis]
    unique = UNIQUE_HUES[:4]
    way = np.where(increasing[..., np.newaxis], (unique - h) % 360.0, (h - unique) % 360.0)
    # A hue that is all but reached does not count: the next one does.
    way = np.where(way < _AT_HUE, way + 360.0, way)
    return np.asarray(np.array(_TOWARDS)[way.argmin(axis=-1)], dtype=np.str_)


def difference_words_many(lab_ref: ArrayLike, lab: ArrayLike) -> NDArray[np.str_]:
    """Words for differences, as :func:`difference_words` gives them. (..., 3), broadcast; returns (...)."""
    ref, lab = np.broadcast_arrays(triplets(lab_ref, "lab_ref"), triplets(lab, "lab"))
    terms = de2000_terms(ref, lab)
    neutral = np.minimum(np.hypot(ref[..., 1], ref[..., 2]), np.hypot(lab[..., 1], lab[..., 2])) <= NEUTRAL
    step = lab - ref
    # On a neutral, chroma and hue say little: there the two opponent axes speak.
    second = np.where(neutral, step[..., 1], terms[..., 1])
    third = np.where(neutral, step[..., 2], terms[..., 2])
    sizes = np.stack([terms[..., 0], second, third], axis=-1)
    words = np.stack(
        [
            np.where(sizes[..., 0] > 0.0, "lighter", "darker"),
            np.where(
                neutral,
                np.where(second > 0.0, "redder", "greener"),
                np.where(second > 0.0, "stronger", "weaker"),
            ),
            np.where(
                neutral,
                np.where(third > 0.0, "yellower", "bluer"),
                _hue_words(ref, terms[..., 2] > 0.0),
            ),
        ],
        axis=-1,
    ).astype(object)
    sizes = np.abs(sizes)
    named = sizes >= np.maximum(_SHARE * sizes.max(axis=-1, keepdims=True), _LEAST)
    order = np.argsort(-sizes, axis=-1, kind="stable")
    words, named = (np.take_along_axis(part, order, axis=-1) for part in (words, named))
    out = np.full(ref.shape[:-1], SAME, dtype=object)
    for index in np.ndindex(out.shape):
        chosen = words[index][named[index]]
        if chosen.size:
            out[index] = ", ".join(chosen)
    return out.astype(np.str_)


def difference_words(lab_ref: ArrayLike, lab: ArrayLike) -> str:
    """In words, how a colour differs from a reference: the greatest part first, small parts left out.

    lab_ref, lab: (3,) CIELAB relative to one white. Lighter or darker; stronger or weaker (more or less chroma);
    redder, yellower, greener or bluer (hue). For a neutral, the last three are taken from a* and b*. Parts are
    weighed as CIEDE2000 does. 'the same' where nothing reaches 0.05.

    >>> difference_words([50.0, 50.0, 25.0], [52.0, 50.0, 30.0])
    'yellower, lighter'
    """
    return str(difference_words_many(lab_ref, lab).item())
