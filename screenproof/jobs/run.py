"""Run a job: what the rooms below calculate, put together as one :class:`~screenproof.proof.result.Result`.

Nothing is calculated here. What is judged, against what:

``match``
    the residual of a sample that the display can show; of one that it cannot only where the tolerance set has
    no limit for the excess, so that one trouble is not counted twice;
``excess``
    the distance of a sample to the nearest colour that the display can show;
``observer_shift``
    a sample against its screen match in every light and for every observer, but for the viewing light and the
    viewing observer, for which ``match`` speaks;
``light_shift``, ``pair_shift``
    in every light but the viewing light, for every observer;
``approval``
    the sample against the approved colour, in the viewing light for the viewing observer;
``reach``, ``recipe``
    see :mod:`.ink_run` and :mod:`.recipe_run`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs.job import Job, SampleGroup
from screenproof.jobs.records import (
    display_record,
    light_record,
    observer_record,
    renamed_notes,
    standard_gamuts,
    triple,
)
from screenproof.proof import (
    Gamut,
    Match,
    PairShift,
    Shift,
    Verdict,
    approve,
    figure,
    gamut,
    judge,
    light_shift,
    match,
    object_patches,
    page_srgb_of_lab,
    pair_shift,
    screen_shift,
    two_curves,
    worst,
)
from screenproof.proof.result import (
    ApprovalRecord,
    Curve,
    OnDisplay,
    PairRecord,
    Refusal,
    Result,
    SampleRecord,
    ViewingRecord,
)

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.schema import ApprovalTable
    from screenproof.proof import ToleranceSet, Viewing
    from screenproof.proof.tolerance import What
    from screenproof.spectra import Array, Light, Samples


@dataclass
class _Run:
    """A job on its way: the tolerance set that judges, and the notes gathered so far."""

    job: Job
    say: Callable[[str], None]
    notes: dict[Note, None] = field(default_factory=dict)

    @property
    def tolerance(self) -> ToleranceSet | None:
        name = self.job.default_tolerance
        return None if name is None else self.job.tolerances[name]

    @property
    def others(self) -> tuple[Light, ...]:
        """Every light but the viewing light."""
        return self.job.lights[1:]

    def keep(self, notes: Sequence[Note]) -> None:
        self.notes |= dict.fromkeys(renamed_notes(notes, self.job))


def run_job(job: Job, progress: Callable[[str], None] | None = None) -> Result:
    """The answer to a whole job. ``progress`` is called with a few words before each step.

    Raises InputError for what only the calculation can find out about the input.
    """
    from screenproof.jobs.ink_run import ink_records
    from screenproof.jobs.ink_sentences import with_ink
    from screenproof.jobs.provenance import cautions, provenance
    from screenproof.jobs.sentences import summary

    run = _Run(job, progress or (lambda words: None))
    viewing = job.viewings[0]
    run.keep(job.notes)
    samples = tuple(record for index in range(len(job.groups)) for record in _group_records(run, index))
    labels = {display.name: display.label for display in job.displays}
    samples = tuple(_judged(sample, labels) for sample in samples)
    approvals = _approvals(run)
    pairs = tuple(_pair(run, index) for index in range(len(job.pairs)))
    printed = ink_records(job, run.say, run.keep)
    run.say("outlining the gamuts")
    displays = tuple(
        display_record(display, table, viewing, job)
        for display, table in zip(job.displays, job.display_tables, strict=True)
    )
    if job.viewing.object_white == "stock" and len(job.groups) > 1:
        first = job.groups[0]
        run.keep([Note("info", f"the displays' outlines are drawn for the stock of {first.group}, {first.stock}")])
    return Result(
        title=job.title,
        note=job.note,
        made=datetime.now(UTC).astimezone().isoformat(timespec="seconds"),
        viewing=ViewingRecord(
            light=viewing.light.name,
            observer=viewing.observer.name,
            basis=viewing.basis,
            adaptation=viewing.adaptation,
            object_white=job.viewing.object_white,
            bits=job.viewing.bits,
            white_xyz=triple(viewing.white),
            surround=viewing.surround,
        ),
        lights=tuple(light_record(light, viewing.observer, job) for light in job.lights),
        observers=tuple(observer_record(observer) for observer in job.observers),
        displays=displays,
        standard_gamuts=standard_gamuts(viewing),
        samples=samples,
        approvals=approvals,
        pairs=pairs,
        summary=with_ink(summary(samples, approvals, pairs, labels, bool(job.tolerances)), printed),
        tolerances=dict(job.tolerances),
        provenance=provenance(job),
        cautions=cautions(job),
        notes=tuple(run.notes),
        stocks=printed.stocks,
        overprints=printed.overprints,
        presses=printed.presses,
        reach=printed.reach,
        recipes=printed.recipes,
    )


def _group_records(run: _Run, index: int) -> list[SampleRecord]:
    """The records of one group's samples, without their status yet."""
    from screenproof.appearance import lab_to_lch, xyz_to_lab, xyz_to_uv

    job, group, viewing = run.job, run.job.groups[index], run.job.viewings[index]
    samples = group.samples
    run.say(f"{group.group}: {len(samples)} samples")
    xyz = samples.xyz([viewing.light], [viewing.observer])[:, 0, 0]
    lab = xyz_to_lab(xyz, viewing.white)
    lch, uv = lab_to_lch(lab), xyz_to_uv(xyz)
    lights = job.lights if samples.is_spectral else (viewing.light,)
    patches = object_patches(samples, viewing, lights)
    own = light_shift(samples, viewing.light, run.others, job.observers)
    verdicts = _shift_verdicts(run.tolerance, "light_shift", own)
    shown: list[list[OnDisplay]] = [[] for _ in samples.names]
    for display, table in zip(job.displays, job.display_tables, strict=True):
        run.say(f"{group.group} on {table.name}")
        on = _on_display(run, group, viewing, display, table.bits or job.viewing.bits)
        for mine, entry in zip(shown, on, strict=True):
            mine.append(entry)
    run.keep([note for note in samples.notes if note.about not in samples.names])
    return [
        SampleRecord(
            name=job.name_of(index, i),
            group=group.group,
            source=group.source,
            stock=group.stock,
            spectral=samples.is_spectral,
            xyz=triple(xyz[i]),
            lab=triple(lab[i]),
            lch=triple(lch[i]),
            uv=(float(uv[i, 0]), float(uv[i, 1])),
            patch={light.name: triple(patches[i, k]) for k, light in enumerate(lights)},
            reflectance=_curve(group, i),
            light_shift=own.figures(i),
            refused=own.refused if run.others else (),
            verdicts=tuple(verdicts[i]),
            on=tuple(shown[i]),
            notes=renamed_notes([note for note in samples.notes if note.about == name], job),
        )
        for i, name in enumerate(samples.names)
    ]


def _curve(group: SampleGroup, index: int) -> Curve | None:
    samples = group.samples
    if samples.reflectance is None or samples.grid is None:
        return None
    nm = samples.grid.wavelengths
    return Curve(tuple(float(x) for x in nm), tuple(float(x) for x in samples.reflectance[index]))


def _shift_verdicts(
    tolerance: ToleranceSet | None,
    what: What,
    shift: Shift | PairShift,
    home: tuple[str, str] | None = None,
) -> list[list[Verdict]]:
    """A verdict for every figure of a shift but the ``home`` (light, observer), by sample."""
    judged: list[list[Verdict]] = [[] for _ in range(shift.de00.shape[0])]
    if tolerance is None or tolerance.limit(what) is None or not shift.de00.size:
        return judged
    figures = shift.figure(tolerance)
    for i, own in enumerate(judged):
        for o, observer in enumerate(shift.observers):
            for k, light in enumerate(shift.lights):
                if (light, observer) != home:
                    verdict = judge(tolerance, what, float(figures[i, k, o]), light=light, observer=observer)
                    assert verdict is not None
                    own.append(verdict)
    return judged


def _on_display(run: _Run, group: SampleGroup, viewing: Viewing, display: Display, bits: int) -> list[OnDisplay]:
    """One entry per sample of the group for one display."""
    job, samples = run.job, group.samples
    found = match(samples, display, viewing, bits)
    reach = gamut(samples, display, viewing, matched=found)
    moved = screen_shift(samples, found, display, viewing, job.lights, job.observers)
    run.keep([*found.notes, *moved.notes])
    screen = page_srgb_of_lab(found.shown_lab, viewing)
    home = (viewing.light.name, viewing.observer.name)
    shifts = _shift_verdicts(run.tolerance, "observer_shift", moved, home)
    entries = []
    for i in range(len(samples)):
        verdicts = (*_match_verdicts(run.tolerance, found, viewing, i), *shifts[i])
        entries.append(_entry(found, reach, moved, i, screen, verdicts, samples, display, viewing))
    return entries


def _entry(
    found: Match,
    reach: Gamut,
    moved: Shift,
    i: int,
    screen: Array,
    verdicts: tuple[Verdict, ...],
    samples: Samples,
    display: Display,
    viewing: Viewing,
) -> OnDisplay:
    red, green, blue = (int(value) for value in found.code[i])
    return OnDisplay(
        display=display.name,
        drive=triple(found.drive[i]),
        code=(red, green, blue),
        bits=found.bits,
        in_gamut=bool(found.in_gamut[i]),
        excess=float(found.excess[i]),
        direction=reach.direction[i],
        residual=float(found.residual[i]),
        suffices=reach.suffices[i],
        shown_lab=triple(found.shown_lab[i]),
        shown_srgb=triple(screen[i]),
        spectra=two_curves(samples, i, found, display, viewing),
        shift=moved.figures(i),
        refused=moved.refused,
        verdicts=verdicts,
        status=worst(verdict.status for verdict in verdicts),
    )


def _match_verdicts(tolerance: ToleranceSet | None, found: Match, viewing: Viewing, i: int) -> tuple[Verdict, ...]:
    """The verdicts on the match itself: see the module for which of the two is judged."""
    if tolerance is None:
        return ()
    white, conditions = viewing.white, viewing.conditions()
    outside = not bool(found.in_gamut[i])
    matters: list[tuple[What, Array]] = [("excess", found.nearest_lab)]
    if not outside or tolerance.excess is None:
        matters.append(("match", found.shown_lab))
    judged = []
    for what, shown in matters:
        amount = 0.0
        if what == "match" or outside:
            amount = float(figure(tolerance, found.lab[i], shown[i], white, conditions))
        verdict = judge(tolerance, what, amount, light=viewing.light.name, observer=viewing.observer.name)
        if verdict is not None:
            judged.append(verdict)
    return tuple(judged)


def _judged(sample: SampleRecord, labels: dict[str, str]) -> SampleRecord:
    """The sample with the worst of its verdicts as its status, and a sentence that says why."""
    from screenproof.jobs.sentences import sample_reason

    verdicts = [*sample.verdicts, *(verdict for on in sample.on for verdict in on.verdicts)]
    judged = replace(sample, status=worst(verdict.status for verdict in verdicts))
    return replace(judged, reason=sample_reason(judged, labels))


def _approvals(run: _Run) -> tuple[ApprovalRecord, ...]:
    """Samples against approved colours: the approvals that have both. The others are for presses and recipes."""
    found = []
    for table in run.job.approvals:
        if table.display is not None and table.code is not None and table.sample is not None:
            red, green, blue = table.code
            found.append(_approval(run, table, table.display, (red, green, blue), table.sample))
    return tuple(found)


def _approval(
    run: _Run, table: ApprovalTable, display_name: str, code: tuple[int, int, int], sample: str
) -> ApprovalRecord:
    job = run.job
    g, i = job.find(sample)
    viewing = job.viewings[g]
    display = next(display for display in job.displays if display.name == display_name)
    found = approve(job.groups[g].samples.select([i]), display, [code], table.bits, viewing)
    run.keep(found.notes)
    name = table.tolerance or job.default_tolerance
    verdict = None
    if name is not None:
        tolerance = job.tolerances[name]
        amount = float(found.figure(tolerance)[0])
        verdict = judge(tolerance, "approval", amount, light=viewing.light.name, observer=viewing.observer.name)
    return ApprovalRecord(
        name=table.name,
        display=display_name,
        sample=job.name_of(g, i),
        code=code,
        bits=table.bits,
        de00=float(found.de00[0]),
        deab=float(found.deab[0]),
        words=found.words[0],
        approved_lab=triple(found.approved_lab[0]),
        sample_lab=triple(found.sample_lab[0]),
        approved_srgb=triple(page_srgb_of_lab(found.approved_lab, viewing)[0]),
        sample_srgb=triple(page_srgb_of_lab(found.sample_lab, viewing)[0]),
        verdict=verdict,
    )


def _pair(run: _Run, index: int) -> PairRecord:
    job, table = run.job, run.job.pairs[index]
    sides = [job.find(name) for name in (table.a, table.b)]
    a, b = (job.groups[g].samples.select([i]) for g, i in sides)
    found = pair_shift(a, b, job.lights[0], run.others, job.observers)
    verdicts = _shift_verdicts(run.tolerance, "pair_shift", found)[0]
    refused: tuple[Refusal, ...] = found.refused
    if not run.others:
        refused = (*refused, Refusal("the job has no light but the viewing light"))
    return PairRecord(
        name=table.name,
        a=job.name_of(*sides[0]),
        b=job.name_of(*sides[1]),
        from_=found.start(0),
        correction=found.correction,
        shift=found.figures(0),
        refused=refused,
        verdicts=tuple(verdicts),
        status=worst(verdict.status for verdict in verdicts),
    )
