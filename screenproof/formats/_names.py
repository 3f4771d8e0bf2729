"""A name for every sample of a file, each once."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from screenproof.errors import Note
from screenproof.formats._text import Problems


def unique_names(
    labels: Sequence[str],
    identifiers: Sequence[str],
    lines: Sequence[int],
    content: Callable[[int], object],
    problems: Problems,
    notes: list[Note],
) -> tuple[list[str], list[int]]:
    """Names of a file's rows, each once, and the indices of the rows that are kept.

    ``labels`` and ``identifiers`` are empty where the file has no such column. The label is the name; without
    labels the identifier is, and without both the row's number. A label that stands twice is joined with the
    identifier where identifiers tell the rows apart, which is said. Else rows whose ``content`` is equal are
    kept once, which is said, and rows that differ are a problem.
    """
    count = len(lines)
    if not labels:
        labels, identifiers = identifiers, []
    if not labels:
        return [str(i + 1) for i in range(count)], list(range(count))
    names = list(labels)
    for i in range(count):
        if not names[i]:
            if identifiers and identifiers[i]:
                names[i] = identifiers[i]
            else:
                problems.add("the sample has no name", line=lines[i], expected="a name", mend="give it one")
    twice = _repeated(names)
    if twice and len(set(identifiers)) == count and all(identifiers):
        for places in twice.values():
            for i in places:
                names[i] = f"{names[i]} ({identifiers[i]})"
        if not _repeated(names):
            notes.append(
                Note(
                    "info",
                    f"{len(twice)} name(s) stand on several rows; their identifier was added to tell them apart",
                    file=problems.file,
                    line=lines[next(iter(twice.values()))[1]],
                )
            )
            return names, list(range(count))
    dropped: set[int] = set()
    for name, places in twice.items():
        listed = ", ".join(str(lines[i]) for i in places[:8]) + (", ..." if len(places) > 8 else "")
        if not name:
            continue
        first = content(places[0])
        if all(content(i) == first for i in places[1:]):
            dropped.update(places[1:])
            notes.append(
                Note(
                    "odd",
                    f"stands {len(places)} times with identical values (lines {listed}); kept once",
                    about=name,
                    file=problems.file,
                    line=lines[places[0]],
                )
            )
        else:
            problems.add(
                f"the name {name!r} stands {len(places)} times with different values (lines {listed})",
                line=lines[places[1]],
                expected="every name once",
                mend="give each sample its own name, or average the repeats",
            )
    kept = [i for i in range(count) if i not in dropped]
    return [names[i] for i in kept], kept


def _repeated(names: Sequence[str]) -> dict[str, list[int]]:
    places: dict[str, list[int]] = {}
    for i, name in enumerate(names):
        places.setdefault(name, []).append(i)
    return {name: where for name, where in places.items() if len(where) > 1}
