"""What a result holds of real people: a population, and how far the standard observer is to be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Aim = Literal["observer", "population"]

FEW, NEARLY_ALL = 0.05, 0.95
"""A difference is argued about when more than few people and less than nearly all see it above the limit."""


@dataclass(frozen=True)
class AgeRecord:
    """The people of one decade: their ages, how many they are, and the difference that they see."""

    ages: tuple[float, float]
    count: int
    median: float
    p95: float
    share_above: float | None


@dataclass(frozen=True)
class CrowdRecord:
    """The difference that a population sees between two stimuli in one light, in ``metric``.

    median, p95: of the population. standard: what the viewing observer sees. quantiles: at 0, 5, ... 100 % of the
    population. share_above: the share 0..1 for whom it exceeds ``limit``, None without a limit. worst_age: the
    middle of the decade that sees most, in the median. by_age: decade by decade. words: how the object (or the
    second of a pair) looks against the screen (the first) to the tenth who see most.
    aim: whom the drive values were made for; standard_before and p95_before: the figures with the drive values for
    the viewing observer, when they were made for the population.
    """

    light: str
    metric: str
    median: float
    p95: float
    standard: float
    quantiles: tuple[float, ...]
    limit: float | None
    share_above: float | None
    worst_age: float
    by_age: tuple[AgeRecord, ...]
    words: str = ""
    aim: Aim = "observer"
    standard_before: float | None = None
    p95_before: float | None = None


@dataclass(frozen=True)
class CrowdOnDisplay:
    """A display for the whole job: the median over the samples of the median and of the 95th percentile, and the
    largest 95th percentile with its sample. share_above: of all judgements of all people, the share above the
    limit."""

    display: str
    median: float
    p95: float
    largest: float
    largest_sample: str
    share_above: float | None


@dataclass(frozen=True)
class PopulationRecord:
    """The people of a job. ages: lowest and highest; field in degrees; kindest: the display on which the 95th
    percentile is smallest (in the median over the samples), None with fewer than two displays to compare. whites:
    'shared' when object and screen are in view at once, 'own' when each person adapts to the white of each."""

    count: int
    seed: int
    ages: tuple[float, float]
    field: float
    label: str
    source: str
    aim: Aim
    cost: float | None
    displays: tuple[CrowdOnDisplay, ...] = ()
    kindest: str | None = None
    refused: tuple[str, ...] = ()
    whites: str = "shared"


@dataclass(frozen=True)
class TrustRecord:
    """How far the viewing observer is to be trusted on one display.

    trusted: False when the display's primaries are narrow, or of a kind unlike another display's of the job;
    reasons say so. observer: the CIE 2015 functions of the like field. median, largest, sample: what they would
    change: CIEDE2000 for that observer between the samples and their matches in the viewing light.
    """

    display: str
    trusted: bool
    reasons: tuple[str, ...]
    observer: str
    median: float | None
    largest: float | None
    sample: str | None
