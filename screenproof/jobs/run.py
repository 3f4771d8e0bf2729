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

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs.against import approval_records, pair_records
from screenproof.jobs.doubts import doubt_record
from screenproof.jobs.fluorescence import brightener_records
from screenproof.jobs.job import Job, SampleGroup
from screenproof.jobs.records import (
    display_record,
    light_record,
    observer_record,
    renamed_notes,
    standard_gamuts,
    triple,
)
from screenproof.jobs.running import Run
from screenproof.proof import (
    Gamut,
    Judged,
    Match,
    Shift,
    gamut,
    light_shift,
    match,
    object_patches,
    page_srgb_of_lab,
    screen_shift,
    two_curves,
    worst,
)
from screenproof.proof.colours import with_statuses
from screenproof.proof.covariance import excess_spread, light_spread, match_spread
from screenproof.proof.fluorescence import Unread, bounded
from screenproof.proof.result import (
    CrowdRecord,
    Curve,
    OnDisplay,
    Result,
    SampleRecord,
    ViewingRecord,
)

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Viewing
    from screenproof.proof.covariance import Spread
    from screenproof.spectra import Array, Samples


def run_job(job: Job, progress: Callable[[str], None] | None = None) -> Result:
    """The answer to a whole job. ``progress`` is called with a few words before each step.

    Raises InputError for what only the calculation can find out about the input.
    """
    from screenproof.jobs.ink_run import ink_records
    from screenproof.jobs.provenance import cautions, provenance
    from screenproof.report.findings import concluded

    run = Run(job, progress or (lambda words: None))
    viewing = job.viewings[0]
    run.keep(job.notes)
    samples = tuple(record for index in range(len(job.groups)) for record in _group_records(run, index))
    approvals = approval_records(run)
    pairs = pair_records(run)
    printed = ink_records(job, run.say, run.keep)
    run.say("outlining the gamuts")
    displays = tuple(
        display_record(display, table, viewing, job)
        for display, table in zip(job.displays, job.display_tables, strict=True)
    )
    if job.viewing.object_white == "stock" and len(job.groups) > 1:
        first = job.groups[0]
        run.keep([Note("info", f"the displays' outlines are drawn for the stock of {first.group}, {first.stock}")])
    found = Result(
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
        samples=with_statuses(samples, approvals, pairs, printed.reach, printed.recipes),
        approvals=approvals,
        pairs=pairs,
        tolerances=dict(job.tolerances),
        provenance=provenance(job),
        cautions=cautions(job),
        notes=tuple(run.notes),
        stocks=printed.stocks,
        overprints=printed.overprints,
        presses=printed.presses,
        reach=printed.reach,
        recipes=printed.recipes,
        population=run.onlooking.record(),
        trust=run.onlooking.trust(),
        doubt=doubt_record(job),
        wholes=run.wholes.records(),
    )
    return concluded(found)


def _group_records(run: Run, index: int) -> list[SampleRecord]:
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
    names = tuple(job.name_of(index, i) for i in range(len(samples)))

    def spread(light: str, observer: str) -> Spread | None:
        return light_spread(samples, viewing.light, run.light(light), run.observer(observer))

    verdicts = run.judge.shift("light_shift", own, {"sample": names}, spread)
    brightened = brightener_records(run, index)
    unread = Unread.of(samples, job.lights, brightened)
    shown: list[list[OnDisplay]] = [[] for _ in samples.names]
    for display, table in zip(job.displays, job.display_tables, strict=True):
        run.say(f"{group.group} on {table.name}")
        on = _on_display(run, index, display, table.bits or job.viewing.bits, unread)
        for mine, entry in zip(shown, on, strict=True):
            mine.append(entry)
    run.keep([note for note in samples.notes if note.about not in samples.names])
    return [
        SampleRecord(
            name=names[i],
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
            verdicts=unread.judged(i, bounded(verdicts[i], brightened[i], viewing, run.tolerance)),
            on=tuple(shown[i]),
            notes=renamed_notes([note for note in samples.notes if note.about == name], job),
            brightener=brightened[i],
        )
        for i, name in enumerate(samples.names)
    ]


def _curve(group: SampleGroup, index: int) -> Curve | None:
    samples = group.samples
    if samples.reflectance is None or samples.grid is None:
        return None
    nm = samples.grid.wavelengths
    return Curve(tuple(float(x) for x in nm), tuple(float(x) for x in samples.reflectance[index]))


def _on_display(run: Run, index: int, display: Display, bits: int, unread: Unread) -> list[OnDisplay]:
    """One entry per sample of a group for one display."""
    job, samples, viewing = run.job, run.job.groups[index].samples, run.job.viewings[index]
    found = match(samples, display, viewing, bits)
    run.keep(found.notes)
    found, robust = run.onlooking.matched(samples, found, display, viewing)
    reach = gamut(samples, display, viewing, matched=found)
    moved = screen_shift(samples, found, display, viewing, job.lights, job.observers)
    run.keep(moved.notes)
    screen = page_srgb_of_lab(found.shown_lab, viewing)
    home = (viewing.light.name, viewing.observer.name)
    names = tuple(job.name_of(index, i) for i in range(len(samples)))

    def itself() -> Spread | None:
        return match_spread(samples, found, display, viewing)

    def elsewhere(light: str, observer: str) -> Spread | None:
        under, who = run.light(light), run.observer(observer)
        return match_spread(samples, found, display, viewing, light=under, observer=who)

    def outside() -> Spread | None:
        return excess_spread(samples, found, display, viewing)

    read = {"sample": names, "screen": (display.label,) * len(names)}
    matches = run.judge.match(found, viewing, read, outside, itself)
    judged = run.judge.shift("observer_shift", moved, read, elsewhere, home)
    shifts = [unread.judged(i, own) for i, own in enumerate(judged)]
    sides = found.lab, found.shown_lab
    group = job.groups[index].group
    run.wholes.add(run.judge, group, "match", display.name, viewing, names, *sides, itself)
    crowds = run.onlooking.seen(index, found, robust, display)
    return [
        _entry(found, reach, moved, i, screen, (*matches[i], *shifts[i]), crowds[i], samples, display, viewing)
        for i in range(len(samples))
    ]


def _entry(
    found: Match,
    reach: Gamut,
    moved: Shift,
    i: int,
    screen: Array,
    verdicts: tuple[Judged, ...],
    crowd: CrowdRecord | None,
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
        crowd=crowd,
    )
