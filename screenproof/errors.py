"""What goes wrong with a user's input, said so that it can be mended.

There is one exception family, :class:`InputError`. Its text says which file, which line or field, what is
wrong, what was expected and how to mend it. The command line prints that text and exits with 2; a library
user catches one type and finds the parts in :attr:`InputError.problems`.

What is only odd, assumed or worth a caution does not stop the work: it is a :class:`Note` and travels with
the data into the result.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

NoteKind = Literal["odd", "assumed", "caution", "info"]


def _place(file: str | None, line: int | None, field: str | None) -> str:
    parts = []
    if file is not None:
        parts.append(str(file) if line is None else f"{file}, line {line}")
    elif line is not None:
        parts.append(f"line {line}")
    if field is not None:
        parts.append(field)
    return ", ".join(parts)


@dataclass(frozen=True)
class Problem:
    """One mistake: what is wrong, where it is, what was expected, how to mend it."""

    what: str
    file: str | None = None
    line: int | None = None
    field: str | None = None
    expected: str | None = None
    mend: str | None = None

    def __str__(self) -> str:
        place = _place(self.file, self.line, self.field)
        text = f"{place}: {self.what}" if place else self.what
        if self.expected:
            text += f"\n  expected: {self.expected}"
        if self.mend:
            text += f"\n  to mend it: {self.mend}"
        return text


class InputError(ValueError):
    """A user's input cannot be used as it is. Holds every problem that was found, not only the first."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (
            (problems,) if isinstance(problems, Problem) else tuple(problems)
        )
        super().__init__("\n".join(str(problem) for problem in self.problems))


def bad(
    what: str,
    *,
    file: object = None,
    line: int | None = None,
    field: str | None = None,
    expected: str | None = None,
    mend: str | None = None,
) -> InputError:
    """Make an :class:`InputError` with one problem: ``raise bad("a light of zeros", file=path)``."""
    name = None if file is None else str(file)
    return InputError(Problem(what, name, line, field, expected, mend))


def near_words(word: object, known: Iterable[str], count: int, cutoff: float = 0.55) -> list[str]:
    """Up to ``count`` of the known words, the nearest to a misspelt one first; case does not count.

    cutoff: from 0 (all are near) to 1 (equal words only), the least ratio of difflib.SequenceMatcher. Lower it
    where the words are short or few, raise it where most of what is written is meant to be no such word.
    """
    import difflib  # here, as it is wanted for mistakes only

    lowered: dict[str, str] = {}
    for item in known:
        lowered.setdefault(item.lower(), item)
    found = difflib.get_close_matches(str(word).strip().lower(), lowered, n=count, cutoff=cutoff)
    return [lowered[key] for key in found]


def nearest(word: object, known: Iterable[str], cutoff: float = 0.55) -> str | None:
    """The known word that is nearest to a misspelt one, or None when none is near; see :func:`near_words`."""
    return next(iter(near_words(word, known, 1, cutoff)), None)


def did_you_mean(word: object, known: Iterable[str], cutoff: float = 0.55) -> str | None:
    """How to mend a misspelt word, "did you mean 'x'?", or None when no known word is near.

    >>> did_you_mean("sgrb", ["srgb", "bt709"])
    "did you mean 'srgb'?"
    """
    near = nearest(word, known, cutoff)
    return f"did you mean {near!r}?" if near else None


@dataclass(frozen=True)
class Note:
    """Something a user should know about an input or a result that did not stop the work.

    ``odd`` is implausible data, ``assumed`` a choice that was made for the user, ``caution`` a warning about
    safety, ``info`` anything else.
    """

    kind: NoteKind
    what: str
    about: str | None = None
    file: str | None = None
    line: int | None = None
    mend: str | None = None

    def __str__(self) -> str:
        place = _place(self.file, self.line, self.about)
        text = f"{place}: {self.what}" if place else self.what
        return f"{text} ({self.mend})" if self.mend else text
