"""The colours of a job and all that was judged of each: its status is the worst of that, wherever it was
judged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from screenproof.proof.judged import Status, worst

if TYPE_CHECKING:
    from screenproof.proof.ink_records import ReachRecord, RecipeRecord
    from screenproof.proof.result import ApprovalRecord, PairRecord, Result, SampleRecord


@dataclass(frozen=True)
class JudgedColour:
    """A sample, or an approved colour that no sample stands for, and what was judged of it.

    held: the place and status of each: a display, or '' where it holds on every display. A recipe has the status
    of the best that passes, or of the first.
    """

    kind: Literal["sample", "approval"]
    name: str
    held: tuple[tuple[str, Status], ...] = ()

    @property
    def status(self) -> Status:
        """The worst of all that was judged; 'not judged' without any."""
        return worst(status for _, status in self.held)

    def status_on(self, display: str) -> Status:
        """The worst of what was judged on one display and of what holds everywhere."""
        return worst(status for place, status in self.held if place in ("", display))


def judged_colours(result: Result) -> tuple[JudgedColour, ...]:
    """The colours of a result: its samples in their order, then the approved colours that only presses and recipes
    were asked for."""
    return _colours(result.samples, result.approvals, result.pairs, result.reach, result.recipes)


def with_statuses(
    samples: Sequence[SampleRecord],
    approvals: Sequence[ApprovalRecord] = (),
    pairs: Sequence[PairRecord] = (),
    reach: Sequence[ReachRecord] = (),
    recipes: Sequence[RecipeRecord] = (),
) -> tuple[SampleRecord, ...]:
    """The samples, each with the worst of all that was judged of it as its status."""
    found = {one.name: one for one in _colours(samples, approvals, pairs, reach, recipes) if one.kind == "sample"}
    return tuple(replace(sample, status=found[sample.name].status) for sample in samples)


def _colours(
    samples: Sequence[SampleRecord],
    approvals: Sequence[ApprovalRecord],
    pairs: Sequence[PairRecord],
    reach: Sequence[ReachRecord],
    recipes: Sequence[RecipeRecord],
) -> tuple[JudgedColour, ...]:
    held = {sample.name: list(_own(sample)) for sample in samples}
    approved: dict[str, list[tuple[str, Status]]] = {}
    for approval in approvals:
        if approval.verdict is not None and approval.sample in held:
            held[approval.sample].append((approval.display, approval.verdict.status))
    for pair in pairs:
        for name in {pair.a, pair.b} & set(held):
            held[name] += [("", one.status) for one in pair.verdicts]
    asked: list[tuple[str | None, str, Status]] = [(item.sample, item.name, item.status) for item in reach]
    asked += [(item.sample, item.target, item.status) for item in recipes]
    for sample_name, name, status in asked:
        if sample_name is None:
            approved.setdefault(name, []).append(("", status))
        elif sample_name in held:
            held[sample_name].append(("", status))
    return (
        *(JudgedColour("sample", name, tuple(places)) for name, places in held.items()),
        *(JudgedColour("approval", name, tuple(places)) for name, places in approved.items()),
    )


def _own(sample: SampleRecord) -> Iterator[tuple[str, Status]]:
    yield from (("", one.status) for one in sample.verdicts)
    for on in sample.on:
        yield from ((on.display, one.status) for one in on.verdicts)
