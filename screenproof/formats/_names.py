"""A name for every sample of a file, each once: repeats are put together, copies dropped, or told apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

from screenproof.errors import Note
from screenproof.formats._text import Problems


@dataclass(frozen=True)
class Named:
    """Names of samples, each once, and the rows of the file that are readings of each, in the file's order.

    ``rows``: all rows that are used, in the order of the file; ``groups``: for each name, positions in ``rows``.
    """

    names: list[str]
    rows: list[int]
    groups: list[list[int]]

    @property
    def first(self) -> list[int]:
        """The first row of each name."""
        return [self.rows[group[0]] for group in self.groups]


def unique_names(
    labels: Sequence[str],
    identifiers: Sequence[str],
    lines: Sequence[int],
    content: Callable[[int], object],
    problems: Problems,
    notes: list[Note],
    *,
    repeats: bool | None = False,
    places: str = "lines",
) -> Named:
    """Names of a file's rows, each once, and the rows that are readings of each.

    ``labels`` and ``identifiers`` are empty where the file has no such column. The label is the name; without
    labels the identifier is, and without both the row's number. Rows whose ``content`` is equal are kept once,
    which is said. Of a label on several rows that differ:

    ``repeats`` True
        the rows are readings of one sample;
    None
        they are, unless their identifiers tell them apart: then label and identifier are joined, which is said;
    False
        they are joined with their identifiers, or else a problem.

    ``places``: what ``lines`` are: 'lines' or 'columns'.
    """
    count = len(lines)
    if not labels:
        labels, identifiers = identifiers, []
    if not labels:
        return _named([str(i + 1) for i in range(count)])
    names = list(labels)
    for i in range(count):
        if not names[i]:
            if identifiers and identifiers[i]:
                names[i] = identifiers[i]
            else:
                problems.add("the sample has no name", line=lines[i], expected="a name", mend="give it one")
    twice = {name: where for name, where in repeated(names).items() if name}
    if repeats is not True and identifiers:
        twice = _joined(names, twice, identifiers, lines, repeats, problems.file, notes)
    dropped: set[int] = set()
    for name, rows in twice.items():
        listed = some(lines[i] for i in rows)
        at = lines[rows[0]] if places == "lines" else None
        if all(content(i) == content(rows[0]) for i in rows[1:]):
            dropped.update(rows[1:])
            what = f"stands {len(rows)} times with identical values ({places} {listed}); kept once"
            notes.append(Note("odd", what, about=name, file=problems.file, line=at))
        elif repeats is False:
            problems.add(
                f"the name {name!r} stands {len(rows)} times with different values ({places} {listed})",
                line=lines[rows[1]] if places == "lines" else None,
                expected="every name once",
                mend="give each sample its own name, or average the repeats",
            )
            dropped.update(rows[1:])
    named = _named(names, dropped)
    _note_alike(named.names, problems.file, notes)
    return named


def _note_alike(names: Sequence[str], file: str, notes: list[Note]) -> None:
    """Note names that differ only in small and capital letters: often one sample, written in two ways."""
    folded = repeated([name.casefold() for name in names])
    if folded:
        alike = "; ".join(" and ".join(repr(names[i]) for i in where) for where in list(folded.values())[:5])
        more = f"; and {len(folded) - 5} more" if len(folded) > 5 else ""
        notes.append(
            Note(
                "odd",
                f"names that differ only in small and capital letters: {alike}{more}",
                file=file,
                mend="they are taken for different samples; write them alike if they are one",
            )
        )


def repeated(names: Sequence[str]) -> dict[str, list[int]]:
    """The names that stand more than once, with where each stands."""
    places: dict[str, list[int]] = {}
    for i, name in enumerate(names):
        places.setdefault(name, []).append(i)
    return {name: where for name, where in places.items() if len(where) > 1}


def some(lines: Iterable[int]) -> str:
    """The first eight of some lines, listed."""
    listed = [str(line) for line in lines]
    return ", ".join(listed[:8]) + (", ..." if len(listed) > 8 else "")


def _named(names: list[str], dropped: set[int] | frozenset[int] = frozenset()) -> Named:
    rows = [i for i in range(len(names)) if i not in dropped]
    groups: dict[object, list[int]] = {}
    for place, i in enumerate(rows):
        groups.setdefault(names[i] or i, []).append(place)
    return Named([names[rows[group[0]]] for group in groups.values()], rows, list(groups.values()))


def _joined(
    names: list[str],
    twice: dict[str, list[int]],
    identifiers: Sequence[str],
    lines: Sequence[int],
    repeats: bool | None,
    file: str,
    notes: list[Note],
) -> dict[str, list[int]]:
    """Join labels with identifiers in ``names`` where these tell the rows apart; the labels that remain."""
    apart = {
        name: rows
        for name, rows in twice.items()
        if all(identifiers[i] for i in rows) and len({identifiers[i] for i in rows}) == len(rows)
    }
    new = {i: f"{name} ({identifiers[i]})" for name, rows in apart.items() for i in rows}
    others = {name for i, name in enumerate(names) if i not in new}
    if not new or len(set(new.values())) < len(new) or others & set(new.values()):
        return twice
    for i, name in new.items():
        names[i] = name
    mend = "if they are repeated readings of one sample, state '# repeats: yes'" if repeats is None else None
    notes.append(
        Note(
            "info",
            f"{len(apart)} name(s) stand on several rows; their identifier was added to tell them apart",
            file=file,
            line=lines[next(chain.from_iterable(rows[1:] for rows in apart.values()))],
            mend=mend,
        )
    )
    return {name: rows for name, rows in twice.items() if name not in apart}
