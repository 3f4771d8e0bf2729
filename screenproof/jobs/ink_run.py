"""The ink side of a result: overprint matrices, presses with their gamuts, and what they can print.

What is judged: by the limit ``printable`` of the press's tolerance set (or the approval's own, or the job's),
every approval and the samples that the press names, each by its distance to the nearest colour that the press
prints; 0 where it prints the colour itself. Samples that it does not name are told, and not judged. Recipes
are made in :mod:`.recipe_run`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screenproof.errors import InputError, Note
from screenproof.jobs.ink_side import Place
from screenproof.jobs.records import pair, renamed_notes, triple
from screenproof.jobs.running import decision_of
from screenproof.proof import (
    InkReach,
    ink_reach,
    on_stock_of,
    page_srgb_of_lab,
    press_outlines,
    wanted_of_codes,
    wanted_of_samples,
    worst,
)
from screenproof.proof.covariance import Spread
from screenproof.proof.ink_records import (
    HeldOutRecord,
    OverprintRecord,
    PressRecord,
    ReachRecord,
    RecipeRecord,
    SolidRecord,
    StockRecord,
)
from screenproof.proof.judging import Judge
from screenproof.questions.presses import cells_words, codes_spread, judged_prints, samples_spread

if TYPE_CHECKING:
    from screenproof.jobs.ink_side import JobPress
    from screenproof.jobs.job import Job
    from screenproof.jobs.schema import ApprovalTable
    from screenproof.proof import Judged, Viewing
    from screenproof.spectra import Array

Say = Callable[[str], None]
Keep = Callable[[Sequence[Note]], None]

MOST_SOLIDS = 2
"""Solids of so many channels on each other stand in a press's record."""


@dataclass(frozen=True)
class InkRecords:
    """The fields of a result that the ink side fills."""

    stocks: tuple[StockRecord, ...] = ()
    overprints: tuple[OverprintRecord, ...] = ()
    presses: tuple[PressRecord, ...] = ()
    reach: tuple[ReachRecord, ...] = ()
    recipes: tuple[RecipeRecord, ...] = ()


@dataclass(frozen=True, eq=False)
class Wanted:
    """A colour that is to be printed: its Lab (3,) relative to the viewing light, and where it comes from."""

    kind: str
    name: str
    lab: Array
    viewing: Viewing
    judged_by: str | None
    display: str | None = None
    code: tuple[int, int, int] | None = None
    bits: int | None = None
    place: Place | None = None


def ink_records(job: Job, say: Say, keep: Keep) -> InkRecords:
    """All records of the ink side. ``keep`` takes the notes that belong to the whole job."""
    from screenproof.jobs.overprint_run import overprint_records, stock_records
    from screenproof.jobs.recipe_run import recipe_records

    if not job.ink:
        return InkRecords()
    presses, reach = [], []
    for press in job.ink.presses:
        say(f"press {press.table.name}")
        record, viewing = press_record(job, press)
        presses.append(record)
        if viewing is not None:
            reach += reach_records(job, press, keep)
    return InkRecords(
        stock_records(job),
        overprint_records(job, say),
        tuple(presses),
        tuple(reach),
        recipe_records(job, say, keep),
    )


def press_viewing(job: Job, press: JobPress) -> Viewing:
    """The viewing of the job for prints of a press: with its own stock as white where the job says so."""
    viewing = job.viewings[0]
    if job.viewing.object_white == "stock":
        return on_stock_of(press.press, replace(viewing, object_white=None))
    return viewing


def press_record(job: Job, one: JobPress) -> tuple[PressRecord, Viewing | None]:
    """A press as the result tells it; without colours, and a reason, where it is known for another light."""
    from screenproof.appearance import lab_to_xyz, xyz_to_uv

    press, table = one.press, one.table
    plain = PressRecord(
        name=table.name,
        label=table.label or table.name,
        source=table.file,
        channels=press.channels,
        n=press.n,
        spectral=press.is_spectral,
        light=press.light,
        observer=press.observer,
        limit_total=one.limits.total,
        limit_channels=one.limits.channels,
        black=table.black if has_black(press.channels) else "",
        cells=tuple(cells_words(press)),
        held_out=held_out_record(one),
        notes=renamed_notes(press.notes, job),
    )
    viewing = press_viewing(job, one)
    tints, names = solids(one)
    try:
        lab = press.lab(np.vstack([np.zeros((1, len(press.channels))), tints]), viewing.light, viewing.observer)
    except InputError as error:
        return replace(plain, refused=error.problems[0].what), None
    srgb = page_srgb_of_lab(lab, viewing)
    uv = xyz_to_uv(lab_to_xyz(lab, viewing.white))
    hull, outline = press_outlines(press, viewing, one.limits)
    record = replace(
        plain,
        stock_lab=triple(lab[0]),
        stock_uv=pair(uv[0]),
        stock_srgb=triple(srgb[0]),
        solids=tuple(
            SolidRecord(name, triple(lab[i]), pair(uv[i]), triple(srgb[i]))
            for i, name in enumerate(names, start=1)
        ),
        hull_uv=hull,
        lc_outline=outline,
    )
    return record, viewing


def has_black(channels: Sequence[str]) -> bool:
    """Whether one of the channels is black, of which more or less can be printed."""
    return any(name.lower() in ("k", "black", "key") for name in channels)


def held_out_record(one: JobPress) -> HeldOutRecord | None:
    """How well the press predicts, None where no patch was kept out of its fit."""
    held = one.press.held_out
    if held is None or not held.count:
        return None
    return HeldOutRecord(
        held.mean, held.p95, held.max, held.count, held.how, held.light, held.observer, held.worst
    )


def solids(one: JobPress) -> tuple[Array, list[tuple[str, ...]]]:
    """The tints (m, c) of single solids and overprints of two, as far as the limits allow, with their channels."""
    from itertools import combinations

    most, channels = np.array(one.limits.channels), one.press.channels
    rows, names = [], []
    for size in range(1, MOST_SOLIDS + 1):
        for chosen in combinations(range(len(channels)), size):
            tints = np.zeros(len(channels))
            tints[list(chosen)] = most[list(chosen)]
            if tints.sum() <= one.limits.total + 1e-9 and (tints[list(chosen)] > 0.0).all():
                rows.append(tints)
                names.append(tuple(channels[i] for i in chosen))
    return np.array(rows).reshape(len(rows), len(channels)), names


def reach_records(job: Job, one: JobPress, keep: Keep) -> list[ReachRecord]:
    """Every wanted colour on one press: the approvals first, then the samples."""
    wanted = [*_approved(job, one, keep), *_samples(job, one)]
    if not wanted:
        return []
    viewing = press_viewing(job, one)
    lab = np.stack([want.lab for want in wanted])
    found = ink_reach(
        one.press,
        lab,
        viewing,
        [want.name for want in wanted],
        called=one.table.label or one.table.name,
        limits=one.limits,
        black=one.table.black,
    )
    keep(found.notes)
    return [_reach_record(job, one, found, row, want) for row, want in enumerate(wanted)]


def _approved(job: Job, one: JobPress, keep: Keep) -> list[Wanted]:
    """The approvals: the colour of the code where there is one, else of the sample."""
    found = []
    for table in job.approvals:
        if one.table.approvals is not None and table.name not in one.table.approvals:
            continue
        judged_by = table.tolerance or one.table.tolerance or job.default_tolerance
        if table.display is not None and table.code is not None:
            viewing = press_viewing(job, one)
            lab, notes = approved_lab(job, table, viewing)
            keep(notes)
            red, green, blue = table.code
            code = (red, green, blue)
            found.append(Wanted("approval", table.name, lab, viewing, judged_by, table.display, code, table.bits))
        elif table.sample is not None:
            g, i = job.find(table.sample)
            lab = wanted_of_samples(job.groups[g].samples.select([i]), job.viewings[g])[0]
            found.append(Wanted("approval", table.name, lab, job.viewings[g], judged_by, place=(g, i)))
    return found


def approved_lab(job: Job, table: ApprovalTable, viewing: Viewing) -> tuple[Array, tuple[Note, ...]]:
    """Lab (3,) of an approved code, brought to the object's side."""
    display = next(display for display in job.displays if display.name == table.display)
    assert table.code is not None
    lab, notes = wanted_of_codes(display, [table.code], table.bits, viewing)
    return lab[0], notes


def _samples(job: Job, one: JobPress) -> list[Wanted]:
    """The job's samples; those that the press names are judged."""
    found = []
    for g, group in enumerate(job.groups):
        lab = wanted_of_samples(group.samples, job.viewings[g])
        for i in range(len(group.samples)):
            if one.samples is None or (g, i) in one.samples:
                judged_by = None if one.samples is None else one.table.tolerance or job.default_tolerance
                found.append(Wanted("sample", job.name_of(g, i), lab[i], job.viewings[g], judged_by, place=(g, i)))
    return found


def _reach_record(job: Job, one: JobPress, found: InkReach, row: int, want: Wanted) -> ReachRecord:
    from screenproof.appearance import lab_to_xyz, xyz_to_uv

    viewing = press_viewing(job, one)
    verdict = _verdict(job, one, found, row, want, viewing)
    nearest = found.nearest_lab[row]
    return ReachRecord(
        kind="approval" if want.kind == "approval" else "sample",
        name=want.name,
        press=one.table.name,
        lab=triple(want.lab),
        uv=pair(xyz_to_uv(lab_to_xyz(want.lab, viewing.white))),
        srgb=triple(page_srgb_of_lab(want.lab, viewing)),
        printable=bool(found.printable[row]),
        excess=float(found.excess[row]),
        nearest_lab=triple(nearest),
        nearest_srgb=triple(page_srgb_of_lab(nearest, viewing)),
        tints=tuple(float(tint) for tint in found.tints[row]),
        coverage=float(found.coverage[row]),
        words=found.words[row],
        obstacles=found.obstacles[row],
        sentence=found.sentence(row),
        display=want.display,
        code=want.code,
        bits=want.bits,
        verdict=verdict,
        status=worst([] if verdict is None else [verdict.status]),
        sample=None if want.place is None else job.name_of(*want.place),
        whiter=bool(found.whiter[row]),
    )


def _verdict(job: Job, one: JobPress, found: InkReach, row: int, want: Wanted, viewing: Viewing) -> Judged | None:
    """The distance to the nearest printable colour against the limit, with the doubt of what was read and of what
    the press misses; None where it is not judged."""
    if want.judged_by is None:
        return None
    own = slice(row, row + 1)
    label = next((display.label for display in job.displays if display.name == want.display), "")
    (verdict,) = judged_prints(
        Judge(job.tolerances[want.judged_by], decision_of(job.doubt)),
        one.press,
        found.tints[own],
        found.lab[own],
        found.nearest_lab[own],
        found.printable[own],
        viewing,
        lambda: _spread(job, want),
        {"sample": [want.name], "screen": [label]},
    )
    return verdict if verdict.limited else None


def _spread(job: Job, want: Wanted) -> Spread | None:
    """The doubt of a wanted colour: that of the sample that was read, or of the screen that it was approved on."""
    if want.place is not None:
        g, i = want.place
        return samples_spread(job.groups[g].samples.select([i]), want.viewing)
    assert want.code is not None and want.bits is not None
    display = next(display for display in job.displays if display.name == want.display)
    return codes_spread(display, [want.code], want.bits, want.viewing)
