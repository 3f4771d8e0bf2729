"""Two sets of colours side by side in one light: what differs, in what direction, and whether that is too much."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord, WholeRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import Answer
from screenproof.questions.telling import called, doubt_lines, doubt_record, limit_line
from screenproof.report.plain import maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table, figure_text

if TYPE_CHECKING:
    from screenproof.proof import Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.compare.question import AskCompare
    from screenproof.questions.opening import Open
    from screenproof.spectra import Array, Light, Observer, Samples

STATISTICS = {"mean": "mean", "p95": "95 %", "worst": "largest"}


@dataclass(frozen=True, eq=False, repr=False)
class Comparison(Answer):
    """Two sets of colours, one pair a row: Lab (n, 3) relative to the light's white, b against a.

    de00, deab: the differences; dl, da, db, dc, dh: their parts, b minus a; words: how b looks against a.
    whole: the set's mean, 95th percentile and largest in ``metric``.
    """

    schema: ClassVar[str] = "screenproof-compare/1"
    rows_key: ClassVar[str] = "pairs"

    file: str
    against: str
    light: str
    observer: str
    metric: str
    metric_label: str
    limit: float | None
    tolerance: str | None = maybe()
    unlike: float | None = maybe()
    whole: tuple[Judged, ...] = ()
    worst_name: str = ""
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    partner: tuple[str, ...] = row(default=())
    lab_a: Array = row(default=())
    lab_b: Array = row(default=())
    de00: Array = row(default=())
    deab: Array = row(default=())
    dl: Array = row(default=())
    da: Array = row(default=())
    db: Array = row(default=())
    dc: Array = row(default=())
    dh: Array = row(default=())
    words: tuple[str, ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[Judged, ...] = row("judged", ())
    notes: tuple[Note, ...] = ()

    @property
    def judged(self) -> tuple[Judged, ...]:
        """Every difference against the limit, and the whole set's figures."""
        return (*self.figures, *self.whole)

    @property
    def labels(self) -> tuple[str, ...]:
        """What each pair is called: by both names where they differ."""
        pairs = zip(self.names, self.partner, strict=True)
        return tuple(name if name == other else f"{name} / {other}" for name, other in pairs)

    def heading(self) -> str:
        """What is held against what."""
        return f"{self.against} against {self.file}: light {self.light}, observer {self.observer}"

    def _order(self) -> list[int]:
        return sorted(range(len(self.names)), key=lambda i: (self.statuses[i] != "fail", -self.figures[i].figure))

    def tables(self) -> tuple[Table, ...]:
        """A row a pair, the largest difference first."""
        limited, other = self.limit is not None, self.metric != "de00"
        columns = [
            Column("pair" if self.names != self.partner else "sample", left=True),
            Column("CIEDE2000", 2, key="de00"),
            *([Column(self.metric_label, 2, key=self.metric)] if other else []),
            *(Column(head, 2, key=head.strip("*").lower()) for head in ("dL*", "da*", "db*", "dC*", "dH*")),
            Column("it is", left=True, key="words"),
            *([Column("verdict")] if limited else []),
        ]
        rows: list[list[Cell]] = [
            [
                self.labels[i],
                *([float(self.de00[i])] if other else []),
                self.figures[i],
                *(float(part[i]) for part in (self.dl, self.da, self.db, self.dc, self.dh)),
                self.words[i],
                *([self.statuses[i]] if limited else []),
            ]
            for i in self._order()
        ]
        return (Table.of(columns, rows, legend="d: the second minus the first"),)

    def text(self) -> str:
        """The comparison for a terminal."""
        lines = [self.heading(), self._first_line()]
        (table,) = self.tables()
        lines += ["", table.text(), "", table.legend, "", *self._whole_lines()]
        lines += doubt_lines(self.doubt, [(self.labels[i], [self.figures[i]]) for i in self._order()])
        return "\n".join([*lines, *self.ending()])

    def _first_line(self) -> str:
        if self.limit is None:
            return (
                f"{len(self.names)} pairs, none judged: no limit for each."
                if len(self.names) > 1
                else "Not judged."
            )
        return limit_line("Limit for each", self.limit, self.statuses, self.metric_label)

    def _whole_lines(self) -> list[str]:
        """The whole set's figures, with their limits and verdicts where they have one."""
        parts = []
        for one in self.whole:
            limit = f" (limit {one.limit:g}: {one.status})" if one.limited else ""
            worst = f", {self.worst_name}" if one.what == "worst" else ""
            parts.append(f"{STATISTICS[one.what]} {figure_text(one)}{worst}{limit}")
        return [f"the {len(self.names)} together, {self.metric_label}: {'; '.join(parts)}"]

    def findings(self) -> Iterator[Finding]:
        """What fails or is undecided."""
        from screenproof.questions.compare.findings import findings

        return findings(self)


def comparison(asked: AskCompare, open: Open) -> Comparison:
    """Every pair of b against a. Raises InputError for readings that do not compare."""
    from screenproof.appearance import de76, de2000, difference_words_many, xyz_to_lab
    from screenproof.proof import Viewing
    from screenproof.proof.covariance import pair_spread
    from screenproof.proof.difference import lab_parts
    from screenproof.questions.pairing import paired

    first, second = open.read(asked.a, asked.doubt), open.read(asked.b, asked.doubt)
    first = open.samples(first, asked.only)
    if asked.only and all(name in second.names for name in asked.only):
        second = open.samples(second, asked.only)
    a, b, assumed = paired(first, second, "b")
    light, observer = _scene(asked, open, a, b)
    files = called(asked.a), called(asked.b)
    widened = _held_alike(asked, a, b, files)
    viewing = Viewing(light, observer)
    lab_a, lab_b = (xyz_to_lab(side.xyz([light], [observer])[:, 0, 0], viewing.white) for side in (a, b))
    judge = _judge(asked, open)
    viewed, place = (viewing.white, viewing.conditions()), (light.name, observer.name)
    model = asked.unlike if widened else None
    names = {"a": a.names, "b": b.names, "model": ["take both readings alike"] * len(a)}
    judged = judge.rows(
        "pair", lab_a, lab_b, viewed, lambda: pair_spread(a, b, light, observer), place, names, model=model
    )
    whole, worst_name = _whole(judge, a, b, lab_a, lab_b, viewing, model)
    parts = lab_parts(lab_a, lab_b)
    tolerance = judge.tolerance
    return Comparison(
        file=files[0],
        against=files[1],
        light=light.name,
        observer=observer.name,
        metric="de00" if tolerance is None else tolerance.metric,
        metric_label="CIEDE2000" if tolerance is None else tolerance.metric_label,
        limit=None if tolerance is None else tolerance.pair,
        tolerance=asked.tolerance,
        unlike=model,
        whole=whole,
        worst_name=worst_name,
        doubt=doubt_record(judge, [(files[0], a), (files[1], b)]),
        names=a.names,
        partner=b.names,
        lab_a=lab_a,
        lab_b=lab_b,
        de00=np.asarray(de2000(lab_a, lab_b)),
        deab=np.asarray(de76(lab_a, lab_b)),
        dl=parts.dl,
        da=parts.da,
        db=parts.db,
        dc=parts.dc,
        dh=parts.dh,
        words=tuple(str(one) for one in difference_words_many(lab_a, lab_b)),
        statuses=tuple(one.status for one in judged),
        figures=tuple(judged),
        notes=notes_of(open.notes, assumed, widened, first.notes, second.notes),
    )


def _judge(asked: AskCompare, open: Open) -> Judge:
    """The judge by the limits that are given, or by the set that is named."""
    from screenproof.proof import Decision, Judge, ToleranceSet

    rules = Decision() if asked.doubt.risk is None else Decision(asked.doubt.risk)
    if asked.tolerance is not None:
        return Judge(open.tolerance(asked.tolerance), rules)
    limits = ToleranceSet(
        "the limits", asked.metric, pair=asked.limit, mean=asked.mean, p95=asked.p95, worst=asked.worst
    )
    return Judge(limits, rules)


def _whole(
    judge: Judge, a: Samples, b: Samples, lab_a: Array, lab_b: Array, viewing: Viewing, model: float | None
) -> tuple[tuple[Judged, ...], str]:
    """The mean, the 95th percentile and the largest of the set, each against its limit, and the worst pair."""
    from screenproof.proof.covariance import pair_spread, with_model
    from screenproof.proof.difference import figure
    from screenproof.proof.tolerance import WHOLE_LIMITS
    from screenproof.proof.whole import statistics

    assert judge.tolerance is not None
    light, observer = viewing.light, viewing.observer
    viewed = viewing.white, viewing.conditions()
    spread = with_model(pair_spread(a, b, light, observer), lab_a, model)
    record: WholeRecord | None = judge.whole("the set", b.names, lab_a, lab_b, viewed, spread)
    figures = figure(judge.tolerance, lab_a, lab_b, *viewed)
    worst = a.names[int(np.argmax(figures))]
    metric, scene = judge.tolerance.metric, (light.name, observer.name)
    if record is None:
        amounts = zip(WHOLE_LIMITS, statistics(figures).tolist(), strict=True)
        return tuple(Judged(what, one, math.nan, metric, "not judged", *scene) for what, one in amounts), worst
    found = []
    for one in record.figures:
        limit = math.nan if one.limit is None else one.limit
        judged = Judged(one.statistic, one.figure, limit, metric, one.status, *scene)
        found.append(replace(judged, low=one.low, high=one.high, tolerance=record.tolerance))
    return tuple(found), worst


def _scene(asked: AskCompare, open: Open, a: Samples, b: Samples) -> tuple[Light, Observer]:
    """The light and observer: as asked, else those of samples with Lab or XYZ alone, else D50 and cie1931.

    Raises InputError for two sets of Lab or XYZ for unlike lights or observers.
    """
    own = [side.colorimetry for side in (a, b) if not side.is_spectral and side.colorimetry is not None]
    scenes = list(dict.fromkeys((one.light, one.observer) for one in own))
    if len(scenes) > 1:
        said = " against ".join(f"{light}, {observer}" for light, observer in scenes)
        raise bad(
            f"Lab or XYZ for unlike lights or observers: {said}",
            field="b",
            expected="both for one light and observer",
            mend="export both for one, or compare reflectance curves",
        )
    light, observer = scenes[0] if scenes else ("D50", "cie1931")
    return open.light(asked.light or light), open.observer(asked.observer or observer)


def _held_alike(asked: AskCompare, a: Samples, b: Samples, files: tuple[str, str]) -> tuple[Note, ...]:
    """What was read unlike, as a note where it is allowed for. Raises InputError where it is not."""
    from screenproof.spectra.unlike import unlike

    found = unlike(a.condition, b.condition)
    if not found:
        if asked.unlike is not None:
            what = "both were read alike, as far as their files say"
            raise bad(what, field="unlike", mend="leave it out")
        return ()
    said = "; ".join(found)
    if asked.unlike is None:
        raise bad(
            f"{files[0]} and {files[1]} were not read alike: {said}",
            field="b",
            expected="readings with one condition, geometry and backing",
            mend="read both alike, or say by how much such readings may differ with {unlike}",
        )
    what = f"read unlike ({said}): {asked.unlike:g} CIEDE2000 for that is in the doubt"
    return (Note("caution", what, file=files[1]),)
