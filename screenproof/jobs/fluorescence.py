"""Samples with brightener in a job: what their readings with and without ultraviolet tell of other lights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from screenproof.jobs.job import Job, SampleGroup
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.reading import Reading

if TYPE_CHECKING:
    from screenproof.jobs.running import Run
    from screenproof.jobs.schema import LightTable
    from screenproof.proof.brightener import Brightened
    from screenproof.proof.result import BrightenerRecord
    from screenproof.spectra import Light


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
    from screenproof.questions.brightener.answer import uv_known
    from screenproof.spectra.brightener import Assumed

    for index, table in enumerate(tables):
        if table is None or not table.without_uv or table.name not in lights:
            continue
        found = uv_known(replace(lights[table.name], name=table.standard or table.name), Assumed())
        if found is not None:
            place = ("lights", index, "without_uv")
            reading.problem(found.what, place, expected=found.expected, mend=found.mend)


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


def has_readings(job: Job) -> bool:
    """Whether a group of the job was read without ultraviolet."""
    return any(group.uv_excluded is not None for group in job.groups)
