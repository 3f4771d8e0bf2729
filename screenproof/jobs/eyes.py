"""The people of a job: who they are, what they see of its samples, and whom the drive values are made for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from screenproof.errors import Note
from screenproof.jobs.job import Job, People, SampleGroup
from screenproof.jobs.reading import Reading
from screenproof.jobs.schema import PopulationTable
from screenproof.questions.people_notes import people_notes
from screenproof.questions.tables import DEFAULT_COST

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.proof import Match, Viewing
    from screenproof.proof.crowd import Crowd
    from screenproof.proof.eye_records import CrowdOnDisplay, CrowdRecord, PopulationRecord, TrustRecord
    from screenproof.proof.robust import RobustMatch
    from screenproof.proof.tolerance import ToleranceSet
    from screenproof.spectra import Samples


def read_people(
    reading: Reading,
    table: PopulationTable | None,
    tolerances: dict[str, ToleranceSet] | None,
    default: str | None,
) -> People | None:
    """The population that a job asks for, None where it asks for none."""
    if table is None:
        return None
    from screenproof.spectra import population

    reading.say(f"{table.count} people")
    made = reading.attempt(
        ("population",),
        lambda: population(table.count, seed=table.seed, ages=table.ages, field=table.field),
    )
    if made is None:
        return None
    limit = table.limit
    if limit is None and tolerances and default is not None:
        limit = tolerances[default].observer_shift
    match_limit = tolerances[default].match if tolerances and default is not None else None
    cost = DEFAULT_COST if table.cost is None else table.cost
    reading.notes += people_notes(table.count, table.aim, cost, match_limit)
    return People(table, made, limit)


def check_people(
    reading: Reading,
    table: PopulationTable | None,
    groups: Sequence[SampleGroup | None],
    displays: Sequence[Display | None],
    paired: bool,
) -> None:
    """Write down a population of which nothing could be said, or for which no drive values could be made.

    What a person sees on a screen depends on its spectra, and on the object's curve.
    """
    if table is None or None in groups or None in displays:
        return
    curves = any(group is not None and group.samples.is_spectral for group in groups)
    spectra = any(display is not None and display.spectral for display in displays)
    why = "no samples have curves" if not curves else "no display has spectra"
    mend = "measure reflectance curves" if not curves else "give spectral readings, primaries or a technology"
    if table.aim == "population" and not (curves and spectra):
        reading.problem(f"drive values cannot be made for the population: {why}", ("population", "aim"), mend=mend)
    elif not curves or not (spectra or paired):
        more = "" if not curves else ", and there are no pairs"
        reading.problem(
            f"of what these people see nothing can be said: {why}{more}",
            ("population",),
            mend=f"{mend}, or remove [population]",
        )


def _asked(table: PopulationTable) -> tuple[float, float]:
    """The lowest and the highest age that the job asks for."""
    ends = [value for age in table.ages for value in (age[:2] if isinstance(age, list) else [age])]
    return min(ends), max(ends)


@dataclass
class Onlooking:
    """What the people of a job see of its samples on its displays, gathered while the job runs."""

    job: Job
    tolerance: ToleranceSet | None
    keep: Callable[[Sequence[Note]], None]
    crowds: dict[str, list[Crowd]] = field(default_factory=dict)
    matches: dict[str, list[tuple[Samples, Match, Viewing]]] = field(default_factory=dict)
    refused: dict[str, None] = field(default_factory=dict)

    def matched(
        self, samples: Samples, found: Match, display: Display, viewing: Viewing
    ) -> tuple[Match, RobustMatch | None]:
        """The match for whom the job aims at: the one given, or with drive values for the population."""
        people = self.job.people
        if people is None or people.table.aim == "observer":
            return found, None
        from screenproof.proof.robust import robust_match

        cost = DEFAULT_COST if people.table.cost is None else people.table.cost
        robust = robust_match(
            samples,
            found,
            display,
            viewing,
            people.population,
            cost=cost,
            tolerance=self.tolerance,
            whites=people.table.whites,
        )
        if robust.refused is not None:
            self.keep(
                [
                    Note(
                        "info",
                        f"the drive values are those for the viewing observer: {robust.refused.reason}",
                        about=display.label,
                    )
                ]
            )
            return found, None
        return robust.match, robust

    def seen(
        self, group: int, found: Match, robust: RobustMatch | None, display: Display
    ) -> list[CrowdRecord | None]:
        """What the people see of each sample of a group beside its match; None where it cannot be known."""
        job, people = self.job, self.job.people
        samples, viewing = job.groups[group].samples, job.viewings[group]
        names = tuple(job.name_of(group, i) for i in range(len(samples)))
        self.matches.setdefault(display.name, []).append((replace(samples, names=names), found, viewing))
        if people is None:
            return [None] * len(samples)
        from screenproof.proof.crowd import crowd

        made = crowd(
            samples,
            found,
            display,
            viewing,
            people.population,
            tolerance=self.tolerance,
            whites=people.table.whites,
        )
        if made.refused is not None:
            self.refused |= {made.refused.reason: None}
            return [None] * len(samples)
        self.crowds.setdefault(display.name, []).append(replace(made, names=names))
        records = [made.record(i, people.limit) for i in range(len(samples))]
        return list(records if robust is None else robust.records(records))

    def pair(self, a: Samples, b: Samples) -> list[tuple[CrowdRecord, ...]]:
        """What the people see of pairs of objects in every light of the job, pair by pair."""
        people = self.job.people
        if people is None:
            return [()] * len(a)
        from screenproof.proof.crowd import pair_crowd

        viewed_by = self.job.observers[0]
        made = pair_crowd(a, b, self.job.lights, people.population, self.tolerance, viewed_by=viewed_by)
        if made.refused is not None:
            self.refused |= {made.refused.reason: None}
        limit = people.limit
        return [made.records(i, limit) for i in range(len(a))]

    def trust(self) -> tuple[TrustRecord, ...]:
        """How far the viewing observer is to be trusted on each display that has spectra."""
        from screenproof.proof.trust import trust

        people = self.job.people
        whites = "shared" if people is None else people.table.whites
        shown = [(display, self.matches.get(display.name, [])) for display in self.job.displays]
        return trust(shown, self.job.viewings[0], whites=whites)

    def record(self) -> PopulationRecord | None:
        """The people of the job, and which of its displays is kindest to them."""
        people = self.job.people
        if people is None:
            return None
        from screenproof.proof.crowd import kindest
        from screenproof.proof.eye_records import PopulationRecord

        displays = self._displays()
        table, made = people.table, people.population
        return PopulationRecord(
            count=len(made),
            seed=made.seed,
            ages=_asked(table),
            field=made.field,
            label=table.label or made.label,
            source=made.source,
            aim=table.aim,
            cost=(DEFAULT_COST if table.cost is None else table.cost) if table.aim == "population" else None,
            displays=displays,
            kindest=kindest(displays),
            refused=tuple(self.refused),
            whites=table.whites,
        )

    def _displays(self) -> tuple[CrowdOnDisplay, ...]:
        from screenproof.proof.crowd import crowd_on_display

        assert self.job.people is not None
        limit = self.job.people.limit
        found = (
            crowd_on_display(display.name, crowds, [limit] * len(crowds))
            for display in self.job.displays
            if (crowds := self.crowds.get(display.name))
        )
        return tuple(one for one in found if one is not None)
