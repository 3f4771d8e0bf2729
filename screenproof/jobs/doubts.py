"""What a job knows of the doubt of its readings and of its models, as a result tells it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screenproof.jobs.job import Job
from screenproof.jobs.reading import Reading
from screenproof.proof.doubt_records import DoubtRecord, DoubtSource
from screenproof.questions.presses import press_source
from screenproof.questions.telling import UNKNOWN

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.job import SampleGroup


def _known(groups: Sequence[SampleGroup | None], displays: Sequence[Display | None]) -> bool:
    """Whether anything is known of the doubt of any reading."""
    samples = any(group is not None and group.samples.doubt is not None for group in groups)
    return samples or any(display is not None and display.doubt is not None for display in displays)


def check_doubt(
    reading: Reading, groups: Sequence[SampleGroup | None], displays: Sequence[Display | None], models: bool
) -> None:
    """Write down a ``[doubt]`` that would have no effect: nothing is known of any reading, and nothing is printed
    or mixed. ``models``: whether the job has presses or recipes, whose own misses are in doubt as well."""
    if models or ("doubt",) not in reading.lines or None in groups or None in displays:
        return
    if not _known(groups, displays):
        reading.problem(
            "nothing is known of any reading, so that no verdict is in doubt",
            ("doubt",),
            mend="add instrument = ... to [[samples]] or [[displays]], or remove [doubt]",
        )


def doubt_is_known(job: Job) -> bool:
    """Whether anything is known of the doubt of any reading of a job, or of what its presses and recipes miss."""
    presses = any(one.press.held_out is not None and one.press.held_out.count for one in job.ink.presses)
    return bool(_known(job.groups, job.displays) or presses or job.ink.recipes)


def doubt_record(job: Job) -> DoubtRecord | None:
    """How verdicts were reached and from what; None for a job in which no doubt is known."""
    if not doubt_is_known(job):
        return None
    sources = [*map(_of_samples, job.groups), *(_of_display(one) for one in job.displays if _was_read(one))]
    sources += [press_source(one.press, one.table.label or one.table.name) for one in job.ink.presses]
    silent = [source.name for source in sources if source.stated == "unknown"]
    notes = []
    if silent:
        notes.append(f"nothing is known of {', '.join(silent)}: verdicts look surer there than they are")
    if job.ink.presses:
        notes.append("how far a press misses is in the doubt of whether a colour can be printed on it")
    if job.ink.recipes:
        notes.append("a recipe's own doubt is in the verdict on its colour; of its shifts no doubt is known")
    return DoubtRecord(job.doubt.risk, job.doubt.coverage, job.doubt.draws, tuple(sources), tuple(notes))


def _was_read(display: Display) -> bool:
    """Whether a display is known by readings, its own or those of a profile."""
    return display.kind in ("readings", "profile") or display.doubt is not None


def _of_samples(group: SampleGroup) -> DoubtSource:
    doubt = group.samples.doubt
    if doubt is None:
        return DoubtSource("samples", group.group, UNKNOWN, "unknown")
    return DoubtSource("samples", group.group, doubt.words(), doubt.stated)


def _of_display(display: Display) -> DoubtSource:
    if display.doubt is None:
        return DoubtSource("display", display.label, UNKNOWN, "unknown")
    return DoubtSource("display", display.label, display.doubt.words(), display.doubt.stated)
