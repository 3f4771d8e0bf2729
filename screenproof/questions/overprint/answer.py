"""Overprints of inks on one stock: every choice of them, in the order of printing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from screenproof.english import listed
from screenproof.errors import Note, bad
from screenproof.proof.doubt_records import DoubtRecord
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.questions.answer import AnswerInRows
from screenproof.questions.groups import DoubtOptions
from screenproof.questions.ink_names import SurfaceSaid, amounts_of, names_in, one_sample, surface_of
from screenproof.questions.overprint.printing import (
    InksOnStock,
    Parts,
    SeenCurve,
    curve_of,
    curves_as_samples,
    inks_of,
    parts_of,
    spectral,
)
from screenproof.questions.telling import called, doubt_lines, doubt_record, status_word
from screenproof.report.plain import hidden, maybe, notes_of, row
from screenproof.report.table import Cell, Column, Table

if TYPE_CHECKING:
    from screenproof.proof.judging import Judge
    from screenproof.questions.opening import Open
    from screenproof.questions.overprint.question import AskOverprint
    from screenproof.spectra import Array, Samples

MOST_INKS = 8
"""Inks on top of each other: more make overprints without number."""


@dataclass(frozen=True, eq=False, repr=False)
class InkSaid:
    """An ink of an overprint: its film weight, and its internal transmittance (w,) at film weight 1."""

    name: str
    film_weight: float
    transmittance: Array


@dataclass(frozen=True)
class TrappingSaid:
    """A trapping factor that was fitted, with the CIEDE2000 of the overprint without it and with it."""

    inks: tuple[str, ...]
    factor: float
    de00_without: float
    de00: float


@dataclass(frozen=True, eq=False, repr=False)
class OverprintAnswer(AnswerInRows):
    """Every overprint of the inks, one row each: XYZ and Lab (n, 3), reflectance (n, w) at ``wavelengths`` [nm].

    measured: the name of the measured overprint, None where there is none; de00 [CIEDE2000] of the predicted one
    from it (NaN without); words: how the predicted one differs. samples: the curves, as they are written.
    """

    schema: ClassVar[str] = "screenproof-overprint/2"

    file: str
    stock: str
    inks: tuple[InkSaid, ...]
    light: str
    observer: str
    surface: SurfaceSaid
    wavelengths: Array
    limit: float | None
    doubt: DoubtRecord | None = maybe()
    names: tuple[str, ...] = row("name", ())
    parts: tuple[Parts, ...] = row("inks", ())
    xyz: Array = row(default=())
    lab: Array = row(default=())
    reflectance: Array = row(default=())
    measured: tuple[str | None, ...] = row(default=())
    measured_lab: tuple[Array | None, ...] = row(default=())
    de00: Array = row(default=())
    words: tuple[str, ...] = row(default=())
    statuses: tuple[str, ...] = row("status", ())
    figures: tuple[tuple[Judged, ...], ...] = row("judged", ())
    trapping: tuple[TrappingSaid, ...] = ()
    notes: tuple[Note, ...] = ()
    samples: Samples | None = hidden()

    def heading(self) -> str:
        """On what, in which light."""
        where = f"light {self.light}, observer {self.observer}, {self.surface.words()}"
        return f"Overprints on {self.stock}: {where}"

    def tables(self) -> tuple[Table, ...]:
        """A row an overprint, single inks first; and what was found of trapping."""
        compared, judged = any(self.measured), self.limit is not None
        columns = [
            Column("overprint", left=True),
            *(Column(head, 2, key=key) for head, key in (("L*", "lab_l"), ("a*", "lab_a"), ("b*", "lab_b"))),
            *([Column("CIEDE2000", 2, key="de00"), Column("predicted is", left=True)] if compared else []),
            *([Column("verdict")] if judged else []),
        ]
        rows: list[list[Cell]] = []
        for i, name in enumerate(self.names):
            own = self.figures[i][0] if self.figures[i] else None
            cells: list[Cell] = [name, *(float(value) for value in self.lab[i])]
            cells += [own, self.words[i] or "-"] if compared else []
            cells += ["-" if own is None else self.statuses[i]] if judged else []
            rows.append(cells)
        legend = "CIEDE2000 from the measured overprint of that name" if compared else ""
        found = [Table.of(columns, rows, legend=legend)]
        if self.trapping:
            heads = [Column("trapping", left=True), *(Column(head, 2) for head in ("factor", "without", "with"))]
            fits: list[list[Cell]] = [
                [" + ".join(fit.inks), fit.factor, fit.de00_without, fit.de00] for fit in self.trapping
            ]
            found.append(Table.of(heads, fits))
        return tuple(found)

    def text(self) -> str:
        """The overprints for a terminal."""
        weighed = [f"{ink.name} {ink.film_weight:g}" for ink in self.inks if ink.film_weight != 1.0]
        lines = [self.heading(), *([f"Film weights: {', '.join(weighed)}"] if weighed else [])]
        for table in self.tables():
            lines += ["", table.text(), *(["", table.legend] if table.legend else [])]
        lines += doubt_lines(self.doubt, zip(self.names, self.figures, strict=True))
        return "\n".join([*lines, *self.ending()])

    def findings(self) -> Iterator[Finding]:
        """Overprints that are not as measured."""
        from screenproof.questions.overprint.findings import findings

        return findings(self)


def overprint_answer(asked: AskOverprint, open: Open) -> OverprintAnswer:
    """Every overprint of the inks, in the order in which they are given, on their stock.

    A sample called 'Cyan + Yellow', in the order of printing, is the measured partner of that overprint;
    ``measured`` names the partner of all inks together. Raises InputError for names that cannot be, and as the
    inks do.
    """
    from screenproof.proof import Viewing
    from screenproof.subtractive.cautions import overprint_caution

    samples = open.read(asked.samples, DoubtOptions())
    surface = surface_of(asked.surface)
    viewing = Viewing(open.light(asked.scene.light), open.observer(asked.scene.observer))
    spectral(samples, "an overprint")
    one_sample(samples, asked.stock, "stock")
    names = names_in(asked.inks, samples.names, "inks")
    if asked.stock in names:
        what = f"{asked.stock!r} is the stock and an ink"
        raise bad(what, field="inks", mend="leave the stock out of {inks}")
    if len(names) > MOST_INKS:
        raise bad(f"{len(names)} inks", field="inks", expected=f"up to {MOST_INKS}")
    film = amounts_of(asked.film, names, "film")
    inks = inks_of(samples, names, asked.stock, surface)
    known = _measured(asked, samples, names)
    on = InksOnStock(curve_of(samples, asked.stock), inks, film, surface, viewing)
    on, fits = (
        on.trapped({p: curve_of(samples, name) for p, name in known.items()}) if asked.fit_trapping else (on, ())
    )
    parts = [one for size in range(1, len(names) + 1) for one in combinations(names, size)]
    made = [on.printed(one) for one in parts]
    there = {p: on.seen(curve_of(samples, name)) for p, name in known.items()}
    apart = {p: there[p].apart(here) for p, here in zip(parts, made, strict=True) if p in there}
    judge = open.judge(asked.limit)
    judged = _judged(judge, on, samples, asked.stock, known, {p: (there[p], made[parts.index(p)]) for p in apart})
    titles = tuple(" + ".join(one) for one in parts)
    file = called(asked.samples)
    return OverprintAnswer(
        file=file,
        stock=asked.stock,
        inks=tuple(InkSaid(ink.name, film.get(ink.name, 1.0), ink.transmittance) for ink in inks),
        light=viewing.light.name,
        observer=viewing.observer.name,
        surface=SurfaceSaid.of(surface),
        wavelengths=on.grid.wavelengths,
        limit=asked.limit,
        doubt=doubt_record(judge, [(file, samples)]),
        names=titles,
        parts=tuple(parts),
        xyz=np.stack([one.xyz for one in made]),
        lab=np.stack([one.lab for one in made]),
        reflectance=np.stack([one.curve for one in made]),
        measured=tuple(known.get(one) for one in parts),
        measured_lab=tuple(there[one].lab if one in there else None for one in parts),
        de00=np.array([apart[one][0] if one in apart else np.nan for one in parts]),
        words=tuple(apart[one][1] if one in apart else "" for one in parts),
        statuses=tuple(status_word(judged.get(one, ())) for one in parts),
        figures=tuple(judged.get(one, ()) for one in parts),
        trapping=tuple(TrappingSaid(fit.inks, fit.factor, fit.de00_without, fit.de00) for fit in fits),
        notes=notes_of(
            *(open.notes, samples.notes),
            *(ink.notes for ink in inks),
            *(fit.notes for fit in fits),
            [overprint_caution()],
        ),
        samples=curves_as_samples(titles, [one.curve for one in made], samples),
    )


def _measured(asked: AskOverprint, samples: Samples, names: Sequence[str]) -> dict[Parts, str]:
    """The measured overprints of the inks in their order, by their inks."""
    found: dict[Parts, str] = {}
    for sample in samples.names:
        parts = parts_of(sample, names)
        places = [names.index(part) for part in parts]
        if len(parts) > 1 and places == sorted(places):
            found[parts] = sample
    if asked.measured is not None:
        one_sample(samples, asked.measured, "measured")
        found[tuple(names)] = asked.measured
    if asked.limit is not None and not found:
        raise bad("nothing is judged: no overprint was measured", field="limit", mend="name one by {measured}")
    if asked.fit_trapping and not found:
        raise bad(
            "no measured overprint to fit the trapping to",
            file=samples.source,
            field="fit_trapping",
            expected=f"a sample called {' + '.join(names[:2])!r}, or {{measured}} NAME",
        )
    return found


def _judged(
    judge: Judge,
    on: InksOnStock,
    samples: Samples,
    stock: str,
    known: Mapping[Parts, str],
    pairs: Mapping[Parts, tuple[SeenCurve, SeenCurve]],
) -> dict[Parts, tuple[Judged, ...]]:
    """Each measured overprint, in ``pairs`` with the predicted one, against the limit, by its inks."""
    from screenproof.questions.overprint.spread import overprint_spread

    if not pairs:
        return {}
    measured = [known[parts] for parts in pairs]
    viewing = on.viewing
    found = judge.rows(
        "pair",
        np.stack([there.lab for there, _ in pairs.values()]),
        np.stack([here.lab for _, here in pairs.values()]),
        (viewing.white, viewing.conditions()),
        lambda: overprint_spread(on, samples, stock, list(pairs), measured),
        (viewing.light.name, viewing.observer.name),
        {"a": measured, "b": [listed([*parts, stock]) for parts in pairs]},
    )
    return {parts: (one,) for parts, one in zip(pairs, found, strict=True)}
