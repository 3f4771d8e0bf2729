"""One thing held against another: samples against approved colours, and the two of a pair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screenproof.appearance import de76, de2000, xyz_to_lab
from screenproof.jobs.records import triple
from screenproof.jobs.running import Run
from screenproof.proof import Refusal, Viewing, approve, page_srgb_of_lab, pair_shift, worst
from screenproof.proof.covariance import Spread, pair_shift_spread, pair_spread
from screenproof.proof.fluorescence import Unread
from screenproof.proof.match import seen_xyz
from screenproof.proof.result import ApprovalRecord, PairRecord, PairStart
from screenproof.questions.approve.answer import judged_approvals

if TYPE_CHECKING:
    from screenproof.jobs.job import PairEntry
    from screenproof.jobs.schema import ApprovalTable
    from screenproof.proof import Judged, PairShift
    from screenproof.proof.judging import Judge, Names
    from screenproof.spectra import Samples


def approval_records(run: Run) -> tuple[ApprovalRecord, ...]:
    """Samples against approved colours: the approvals that have both. The others are for presses and recipes."""
    found = []
    for table in run.job.approvals:
        if table.display is not None and table.code is not None and table.sample is not None:
            red, green, blue = table.code
            found.append(_approval(run, table, table.display, (red, green, blue), table.sample))
    return tuple(found)


def _approval(
    run: Run, table: ApprovalTable, display_name: str, code: tuple[int, int, int], sample: str
) -> ApprovalRecord:
    job = run.job
    g, i = job.find(sample)
    viewing, samples = job.viewings[g], job.groups[g].samples.select([i])
    display = next(display for display in job.displays if display.name == display_name)
    found = approve(samples, display, [code], table.bits, viewing)
    run.keep(found.notes)
    judge = run.judge_by(table.tolerance)
    (judged,) = judged_approvals(judge, samples, [job.name_of(g, i)], found, display, viewing)
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
        verdict=judged if judged.limited else None,
    )


def pair_records(run: Run) -> tuple[PairRecord, ...]:
    """Every pair of the job; where whole groups are paired, one record for each two of a name."""
    return tuple(record for entry in run.job.pairs for record in _entry(run, entry))


def _entry(run: Run, entry: PairEntry) -> list[PairRecord]:
    """The pairs of one table, in the order of the first side."""
    files: dict[tuple[int, int], list[int]] = {}
    for place, ((a, _), (b, _)) in enumerate(entry.sides):
        files.setdefault((a, b), []).append(place)
    records: dict[int, PairRecord] = {}
    for (a, b), places in files.items():
        records |= zip(places, _pairs(run, entry, a, b, places), strict=True)
    return [records[place] for place in range(len(entry.sides))]


def _pairs(run: Run, entry: PairEntry, g: int, h: int, places: list[int]) -> list[PairRecord]:
    """The pairs of one table whose samples come from the same two files."""
    job, table = run.job, entry.table
    sides = [entry.sides[place] for place in places]
    a = job.groups[g].samples.select([i for (_, i), _ in sides])
    b = job.groups[h].samples.select([i for _, (_, i) in sides])
    run.say(f"{table.name}: {len(sides)} pairs" if entry.whole else table.name)
    found = pair_shift(a, b, job.lights[0], run.others, job.observers)
    judge = run.judge_by(table.tolerance)
    names = {
        "a": [job.name_of(g, i) for (_, i), _ in sides],
        "b": [job.name_of(h, i) for _, (_, i) in sides],
    }

    def spread(light: str, observer: str) -> Spread | None:
        return pair_shift_spread(a, b, job.lights[0], run.light(light), run.observer(observer), found.correction)

    moved = judge.pair_shift(found, names, spread)
    unread = _unread(run, g, a).beside(_unread(run, h, b))
    starts, judged = _start(run, entry, judge, a, b, found, names)
    crowds = run.onlooking.pair(a, b)
    refused: tuple[Refusal, ...] = found.refused
    if not run.others:
        refused = (*refused, Refusal("the job has no light but the viewing light"))
    records = []
    for i, ((_, first), (_, second)) in enumerate(sides):
        verdicts = (*judged[i], *unread.judged(i, moved[i]))
        records.append(
            PairRecord(
                name=f"{table.name}: {a.names[i]}" if entry.whole else table.name,
                a=job.name_of(g, first),
                b=job.name_of(h, second),
                from_=starts[i],
                correction=found.correction,
                shift=found.figures(i),
                refused=refused,
                verdicts=verdicts,
                status=worst(verdict.status for verdict in verdicts),
                crowd=crowds[i],
            )
        )
    return records


def _unread(run: Run, group: int, samples: Samples) -> Unread:
    """Which samples of a group fluoresce without a reading that excludes ultraviolet."""
    without = run.job.groups[group].uv_excluded
    told = () if without is None else [name if name in without.names else None for name in samples.names]
    return Unread.of(samples, run.job.lights, told)


def _start(
    run: Run, entry: PairEntry, judge: Judge, a: Samples, b: Samples, found: PairShift, names: Names
) -> tuple[list[tuple[PairStart, ...]], list[list[Judged]]]:
    """How well each pair matches under the viewing light, and the verdict on that for the viewing observer.

    Pairs of which only XYZ or Lab are known have this figure too, and no other.
    """
    light, observer = run.job.lights[0], run.job.observers[0]
    viewing = Viewing(light, observer)
    lab_a, lab_b = (xyz_to_lab(seen_xyz(side, viewing), viewing.white) for side in (a, b))
    starts = [found.start(i) for i in range(len(a))]
    if not found.observers:
        apart = zip(de2000(lab_a, lab_b), de76(lab_a, lab_b), strict=True)
        starts = [(PairStart(light.name, observer.name, float(new), float(old)),) for new, old in apart]

    def spread() -> Spread | None:
        return pair_spread(a, b, light, observer)

    verdicts = judge.rows(
        "pair",
        lab_a,
        lab_b,
        (viewing.white, viewing.conditions()),
        spread,
        (light.name, observer.name),
        names,
    )
    if entry.whole:
        run.wholes.add(judge, entry.table.name, "pairs", None, viewing, b.names, lab_a, lab_b, spread)
    return starts, [[verdict] if verdict.limited else [] for verdict in verdicts]
