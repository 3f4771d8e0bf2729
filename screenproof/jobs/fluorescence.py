"""Samples with brightener in a job: what their readings with and without ultraviolet tell of other lights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.jobs.job import Job, SampleGroup
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.reading import Reading
from screenproof.jobs.running import Run
from screenproof.proof.brightener_readings import NOTHING
from screenproof.proof.doubt_records import Remedy

if TYPE_CHECKING:
    from screenproof.jobs.schema import LightTable
    from screenproof.proof import ToleranceSet, Verdict, Viewing
    from screenproof.proof.brightener import Brightened
    from screenproof.proof.result import BrightenerLight, BrightenerRecord
    from screenproof.proof.tolerance import Status
    from screenproof.spectra import Light, Samples


def check_readings(reading: Reading, path: KeyPath, group: SampleGroup) -> None:
    """Write down why the readings without ultraviolet, or in a lamp, do not go with those of a group."""
    if group.uv_excluded is None:
        return
    without = group.uv_excluded
    from screenproof.proof.brightener import brightener
    from screenproof.spectra import light, observer

    def tried() -> Brightened:
        return brightener(group.samples, without, group.incandescent, (), observer("cie1931"), light("D50"))

    reading.attempt((*path, "uv_excluded"), tried)


def check_without_uv(reading: Reading, tables: Sequence[LightTable], lights: Mapping[str, Light]) -> None:
    """Write down every light that is stated to have no ultraviolet, though its own spectrum tells what it has."""
    from screenproof.spectra.brightener import Assumed, uv_unknown

    for index, table in enumerate(tables):
        if table is None or not table.without_uv or table.name not in lights:
            continue
        one = replace(lights[table.name], name=table.standard or table.name)
        if not uv_unknown(one, Assumed()):
            reading.problem(
                f"the ultraviolet of {one.name} is known by its own spectrum",
                ("lights", index, "without_uv"),
                expected=f"a light whose spectrum begins above {Assumed().low_nm:g} nm",
                mend="remove it; for a lamp like it without ultraviolet, give the spectrum of the lamp",
            )


def brightener_records(run: Run, index: int) -> list[BrightenerRecord | None]:
    """What brightener does to each sample of a group in the job's other lights; None where it was not read."""
    from screenproof.proof.brightener import brightener, unknowable

    job, group, viewing = run.job, run.job.groups[index], run.job.viewings[index]
    if group.uv_excluded is None:
        run.keep(unknowable(group.samples))
        return [None] * len(group.samples)
    run.say(f"{group.group}: brightener in {len(run.others)} lights")
    found = brightener(
        group.samples,
        group.uv_excluded,
        group.incandescent,
        [as_standard(job, one) for one in run.others],
        viewing.observer,
        viewing.light,
        without_uv=[job.standards.get(name, name) for name in job.without_uv],
    )
    own = {job.standards.get(one.name, one.name): one.name for one in run.others}
    run.keep([replace(note, about=own.get(note.about or "", note.about)) for note in found.notes])
    return [None if record is None else _in_own_words(record, run.others) for record in found.records]


def as_standard(job: Job, one: Light) -> Light:
    """A light of the job under the name that its standard gives it: what a formula says of it goes further than
    its table."""
    return replace(one, name=job.standards.get(one.name, one.name))


def _in_own_words(record: BrightenerRecord, lights: Sequence[Light]) -> BrightenerRecord:
    """The record with the lights under the job's names."""
    named = [
        replace(told, light=one.name, reason=told.reason.replace(told.light, one.name, 1))
        for told, one in zip(record.lights, lights, strict=True)
    ]
    return replace(record, lights=tuple(named))


@dataclass(frozen=True)
class Unread:
    """Which samples fluoresce without a reading that tells what this does in other lights; where they are known.

    samples: one for each. known: names of the lights that are the light of the reading. home: the first light.
    """

    samples: tuple[bool, ...]
    known: frozenset[str]
    home: str

    @classmethod
    def of(cls, samples: Samples, lights: Sequence[Light], told: Sequence[object | None] = ()) -> Unread:
        """Of samples in ``lights``, the first of which is where shifts begin.

        told: what readings without ultraviolet told of each sample, None where there are none.
        """
        from screenproof.proof.brightener import fluoresces

        bright = fluoresces(samples)
        if told:
            bright = tuple(one and record is None for one, record in zip(bright, told, strict=True))
        own = _READ_IN.get(samples.condition.filter or "M1")
        known = frozenset(one.name for one in lights if own is not None and _is_standard(one, own))
        return cls(bright, known, lights[0].name)

    def beside(self, other: Unread) -> Unread:
        """Of pairs: known where both of the two are."""
        either = tuple(a or b for a, b in zip(self.samples, other.samples, strict=True))
        spoilt = [side.known for side in (self, other) if any(side.samples)]
        return Unread(either, frozenset.intersection(*spoilt) if spoilt else self.known, self.home)

    def judged(self, i: int, verdicts: Sequence[Verdict]) -> tuple[Verdict, ...]:
        """The verdicts of one sample, undecided where its colour in the light cannot be known: a fail as well.

        What an object's shift starts from must be known too; what a screen shows is.
        """
        if not self.samples[i]:
            return tuple(verdicts)
        return tuple(
            replace(v, status="undecided", uncertainty=None, low=None, high=None, remedy=Remedy(READ_M2))
            if v.what in _SHIFTS
            and (v.light not in self.known or (v.what != "observer_shift" and self.home not in self.known))
            else v
            for v in verdicts
        )


_READ_IN = {"M0": "A", "M1": "D50"}
_SHIFTS = ("light_shift", "pair_shift", "observer_shift")

READ_M2 = (
    "it fluoresces, and what that does in another light cannot be known from one reading: read it without "
    "ultraviolet (M2) as well, and give both (uv_excluded in a job; the command brightener)"
)


def bounded(
    verdicts: Sequence[Verdict],
    record: BrightenerRecord | None,
    viewing: Viewing,
    tolerance: ToleranceSet | None,
) -> tuple[Verdict, ...]:
    """The verdicts on light shifts of a sample with brightener, decided by what its brightener may do.

    The figure of a curve read in D50 does not hold in another light. Where the least and the most that the shift
    may be are on one side of the limit, that decides; otherwise the verdict is undecided, whatever the curve alone
    says, and its figure is the nearest to the curve's that is possible. Where the doubt of the readings is known,
    both ends are further out by the expanded uncertainty of the curve's figure. The bounds are CIEDE2000 for the
    viewing observer under D50: other verdicts stay as they are.
    """
    if record is None or record.emission <= NOTHING or tolerance is None or not _alike(tolerance, viewing):
        return tuple(verdicts)
    bounds = {light.light: light for light in record.lights}
    return tuple(
        _bounded(verdict, bounds[verdict.light])
        if verdict.light in bounds and verdict.observer == viewing.observer.name
        else verdict
        for verdict in verdicts
    )


def _alike(tolerance: ToleranceSet, viewing: Viewing) -> bool:
    """Whether bounds are in the metric of a tolerance set, and from the light in which M1 was read."""
    plain = tolerance.metric == "de00" and (tolerance.kl, tolerance.kc, tolerance.kh) == (1.0, 1.0, 1.0)
    return plain and _is_standard(viewing.light, "D50")


def _is_standard(one: Light, name: str) -> bool:
    """Whether a light, whatever it is called, is the standard one of that name."""
    from screenproof.spectra import light

    standard = light(name)
    return one.grid == standard.grid and bool(np.allclose(one.power, standard.power))


def _bounded(verdict: Verdict, bound: BrightenerLight) -> Verdict:
    """A verdict on a light shift within its bounds; undecided, with what would tell, where they do not decide."""
    if bound.low is None or bound.high is None:
        mend = f"{bound.light}: measure the light down to 300 nm, or judge the sample in it"
        return replace(verdict, status="undecided", remedy=Remedy(mend))
    # The interval of the M1 curve alone need not hold anything possible: its doubt is taken, not its place.
    doubt = verdict.uncertainty or 0.0
    low, high = max(0.0, bound.low - doubt), bound.high + doubt
    status: Status = "pass" if high <= verdict.limit else "fail" if low > verdict.limit else "undecided"
    mend = (
        "its brightener may do more or less than the readings tell: read it with M0 too, or judge it in this light"
    )
    remedy = Remedy(mend) if status == "undecided" else None
    figure = min(max(verdict.figure, bound.low), bound.high)
    return replace(verdict, figure=figure, status=status, low=low, high=high, remedy=remedy)


def has_readings(job: Job) -> bool:
    """Whether a group of the job was read without ultraviolet."""
    return any(group.uv_excluded is not None for group in job.groups)
