"""What one table of a job says of another: an approval's display and sample, a pair's two samples.

A name is only called missing when everything that could have brought it was read; otherwise the mistake that
kept it away has been said already.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from screenproof.jobs import schema
from screenproof.jobs.job import SampleGroup, find_samples
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
        if pair is not None and whole:
            for side in ("a", "b"):
                known_sample(reading, ("pairs", index, side), getattr(pair, side), known_groups)


def _used(approval: str, lists: Mapping[str, list[Any]]) -> bool:
    """Whether a press or a recipe, or a table that could not be read, may be for an approval."""
    recipes = lists["recipes"]
    return bool(lists["presses"]) or any(one is None or one.approval == approval for one in recipes)


def missing(reading: Reading, path: KeyPath, kind: str, name: str, known: list[str]) -> None:
    """Write down a name that the job does not have, with the nearest that it has."""
    near = schema.nearest(name, known)
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
