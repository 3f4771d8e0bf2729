"""What one table of a job says of another: an approval's display and sample, a pair's two samples.

A name is only called missing when everything that could have brought it was read; otherwise the mistake that
kept it away has been said already.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from screenproof.errors import Note, nearest
from screenproof.jobs import schema
from screenproof.jobs.ink_side import Place
from screenproof.jobs.job import PairEntry, SampleGroup, find_samples
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.reading import Reading

if TYPE_CHECKING:
    from screenproof.proof.tolerance import ToleranceSet


def check(
    reading: Reading,
    lists: Mapping[str, list[Any]],
    groups: list[SampleGroup | None],
    tolerances: Mapping[str, ToleranceSet] | None,
) -> None:
    """Write down every name in approvals and pairs that means nothing, or more than one thing."""
    known_groups = tuple(group for group in groups if group is not None)
    whole = len(known_groups) == len(groups)
    if whole:
        _unique(reading, known_groups)
    displays = [table.name for table in lists["displays"] if table is not None]
    for index, approval in enumerate(lists["approvals"]):
        if approval is None:
            continue
        path: KeyPath = ("approvals", index)
        if approval.display is not None and approval.display not in displays and None not in lists["displays"]:
            missing(reading, (*path, "display"), "display", approval.display, displays)
        if whole and approval.sample is not None:
            known_sample(reading, (*path, "sample"), approval.sample, known_groups)
        if (approval.display is None or approval.sample is None) and not _used(approval.name, lists):
            lacks = "sample" if approval.sample is None else "display"
            reading.problem(
                f"there is no {lacks} to hold it against, no press to print it, and no recipe for it",
                path,
                mend=f"add {lacks} = ..., or [[presses]]",
            )
        if approval.tolerance is not None and tolerances is not None and approval.tolerance not in tolerances:
            missing(reading, (*path, "tolerance"), "tolerance set", approval.tolerance, list(tolerances))
    for index, pair in enumerate(lists["pairs"]):
        if pair is None:
            continue
        path = ("pairs", index)
        if pair.tolerance is not None and tolerances is not None and pair.tolerance not in tolerances:
            missing(reading, (*path, "tolerance"), "tolerance set", pair.tolerance, list(tolerances))
        if whole and pair.groups is not None:
            _whole_groups(reading, path, pair, known_groups)
        elif whole:
            for side in ("a", "b"):
                known_sample(reading, (*path, side), getattr(pair, side), known_groups)


def _whole_groups(
    reading: Reading, path: KeyPath, pair: schema.PairTable, groups: tuple[SampleGroup, ...]
) -> None:
    """Two groups that are paired by name must be there, and have a name in common."""
    assert pair.groups is not None
    known = list(dict.fromkeys(group.group for group in groups))
    absent = [side for side, name in zip(("a", "b"), pair.groups, strict=True) if name not in known]
    for side in absent:
        missing(reading, (*path, side), "group", getattr(pair, side)[: -len(schema.ALL)], known)
    if absent:
        return
    first, second = (_members(groups, name) for name in pair.groups)
    if not first.keys() & second.keys():
        shown = [", ".join(repr(name) for name in list(side)[:3]) for side in (first, second)]
        reading.problem(
            f"no sample of {pair.groups[0]!r} has the name of one of {pair.groups[1]!r}",
            path,
            expected="the same names on both sides",
            mend=f"name them alike: there are {shown[0]} here, and {shown[1]} there",
        )


def _members(groups: tuple[SampleGroup, ...], name: str) -> dict[str, Place]:
    """The places of a group's samples by their names; a group may come from several files."""
    return {
        own: (g, i)
        for g, group in enumerate(groups)
        if group.group == name
        for i, own in enumerate(group.samples.names)
    }


def pair_entries(
    reading: Reading, tables: list[schema.PairTable], groups: tuple[SampleGroup, ...]
) -> tuple[PairEntry, ...]:
    """The pairs of a job that was found right; who is left without a partner is noted."""
    entries = []
    for table in tables:
        if table.groups is None:
            (a,), (b,) = find_samples(groups, table.a), find_samples(groups, table.b)
            entries.append(PairEntry(table, ((a, b),)))
            continue
        first, second = (_members(groups, name) for name in table.groups)
        lone = (
            (table.groups[0], [name for name in first if name not in second]),
            (table.groups[1], [name for name in second if name not in first]),
        )
        sides = tuple((first[name], second[name]) for name in first if name in second)
        entries.append(PairEntry(table, sides, tuple(f"{group}/{name}" for group, own in lone for name in own)))
        for group, alone in lone:
            if alone:
                shown = ", ".join(alone[:5]) + (f" and {len(alone) - 5} more" if len(alone) > 5 else "")
                what = f"{group} has samples without a partner: {shown}"
                reading.notes.append(Note("odd", what, about=table.name, mend="name them alike on both sides"))
    return tuple(entries)


def _used(approval: str, lists: Mapping[str, list[Any]]) -> bool:
    """Whether a press or a recipe, or a table that could not be read, may be for an approval."""
    recipes = lists["recipes"]
    return bool(lists["presses"]) or any(one is None or one.approval == approval for one in recipes)


def missing(reading: Reading, path: KeyPath, kind: str, name: str, known: list[str]) -> None:
    """Write down a name that the job does not have, with the nearest that it has."""
    near = nearest(name, known)
    shown = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
    reading.problem(
        f"the job has no {kind} {name!r}",
        path,
        expected=f"one of {shown}" if known else None,
        mend=f"did you mean {near!r}?" if near else f"name one that the job has, or add this {kind}",
    )


def known_sample(reading: Reading, path: KeyPath, name: str, groups: tuple[SampleGroup, ...]) -> None:
    """Write down a sample's name that means none of the job's samples, or several."""
    found = find_samples(groups, name)
    if not found:
        missing(reading, path, "sample", name, [own for group in groups for own in group.samples.names])
    elif len(found) > 1:
        choices = [groups[g].reference(groups[g].samples.names[i]) for g, i in found]
        reading.problem(
            f"{len(found)} samples are called {name!r}",
            path,
            expected=" or ".join(repr(choice) for choice in choices),
            mend="write the group before the name",
        )


def _unique(reading: Reading, groups: tuple[SampleGroup, ...]) -> None:
    """Within a group a name may stand once, also when the group comes from several files."""
    seen: dict[str, int] = {}
    for index, group in enumerate(groups):
        for name in group.samples.names:
            reference = group.reference(name)
            if seen.setdefault(reference, index) != index:
                reading.problem(
                    f"{name!r} of group {group.group!r} is in {groups[seen[reference]].source} too",
                    ("samples", index),
                    mend="give the two files different groups",
                )
