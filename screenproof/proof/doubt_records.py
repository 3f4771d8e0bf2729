"""What a result holds of doubt: where it comes from, what would cure it, and sets judged as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screenproof.proof.judged import Status


@dataclass(frozen=True)
class DoubtSource:
    """What is known of the readings of one samples file or display, or of how far the model of a press misses.

    kind: 'samples', 'display' or 'press'. name: as the job names it. words: repeatability, agreement and number of
    readings in words, with their units. stated: where this comes from: 'file', 'repeated readings', 'job',
    'class', 'held out' (patches kept out of a fit), or 'unknown' (then nothing is known and its share of the doubt
    is missing).
    """

    kind: Literal["samples", "display", "press"]
    name: str
    words: str
    stated: str


@dataclass(frozen=True)
class DoubtRecord:
    """How verdicts were reached: the risk of a wrong pass (and of a wrong fail), the coverage of the intervals,
    the draws of the Monte Carlo calculation, and the sources."""

    risk: float
    coverage: float
    draws: int
    sources: tuple[DoubtSource, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class WholeFigure:
    """One statistic of a set against its limit, if it has one: ``statistic`` is 'mean', 'p95' or 'worst'."""

    statistic: str
    figure: float
    limit: float | None
    status: Status
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class WholeRecord:
    """A set judged as a whole, in ``metric``: the matches of a group on a display, or the pairs of an entry."""

    name: str
    what: Literal["match", "pairs"]
    display: str | None
    count: int
    metric: str
    figures: tuple[WholeFigure, ...]
    worst_name: str
    status: Status
    tolerance: str = ""


@dataclass(frozen=True)
class BrightenerLight:
    """What is known of a sample with brightener in one light: CIEDE2000 from its colour as measured (M1) under the
    viewing light's white, between ``low`` and ``high``; None with the reason when it cannot be known."""

    light: str
    low: float | None
    high: float | None
    reason: str = ""
    words: str = ""


@dataclass(frozen=True)
class BrightenerRecord:
    """The brightener of one sample: the largest part of the curve that is emission (reflectance factor M1 - M2)
    and its wavelength [nm], the CIEDE2000 between M1 and M2, and what follows in each light."""

    emission: float
    peak_nm: float
    de00: float
    lights: tuple[BrightenerLight, ...] = ()
    words: str = ""
