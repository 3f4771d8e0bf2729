"""Inks, stocks and amounts as a person names them, among the samples of a file; and the surface of a print."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import InputError, Problem, bad, did_you_mean

if TYPE_CHECKING:
    from screenproof.questions.groups import SurfaceOptions
    from screenproof.spectra import Samples
    from screenproof.subtractive import Surface


@dataclass(frozen=True)
class SurfaceSaid:
    """The surface of a print as an answer says it: Saunderson's k1 and k2, 0 where nothing is corrected."""

    k1: float
    k2: float
    specular: str

    @classmethod
    def of(cls, surface: Surface) -> SurfaceSaid:
        """What is said of a surface."""
        return cls(surface.k1, surface.k2, surface.specular)

    def words(self) -> str:
        """'surface k1 0.040, k2 0.400, specular excluded'."""
        if self.k1 == self.k2 == 0:
            return "surface not corrected"
        return f"surface k1 {self.k1:.3f}, k2 {self.k2:.3f}, specular {self.specular}"


def surface_of(asked: SurfaceOptions) -> Surface:
    """The surface that the options describe; nothing is corrected without one."""
    from screenproof.subtractive import Surface

    specular = asked.specular or "excluded"
    try:
        if asked.index is not None:
            return Surface.fresnel(asked.index, specular)  # type: ignore[arg-type]
        if asked.k1 is None and asked.k2 is None:
            return Surface.NONE
        return Surface(asked.k1 or 0.0, asked.k2 or 0.0, specular)  # type: ignore[arg-type]
    except InputError as error:
        fields = {"n": "index", "surface specular": "specular", "surface k2": "k2"}
        raise InputError(
            Problem(p.what, None, None, fields.get(p.field or "", "k1"), p.expected, p.mend)
            for p in error.problems
        ) from None


def names_in(
    said: Sequence[str], known: Sequence[str], field: str, absent: Callable[..., Problem] | None = None
) -> list[str]:
    """The names, all of them known; a name with commas in it may have been parted at them.

    absent: makes the problem of a name that is not known, of name, names and field; :func:`no_sample` unless
    given.
    """
    pieces = [piece.strip() for text in said for piece in text.split(",")]
    found: list[str] = []
    problems: list[Problem] = []
    place = 0
    while place < len(pieces):
        ends = range(len(pieces), place, -1)
        end = next((end for end in ends if ", ".join(pieces[place:end]) in known), place + 1)
        name = ", ".join(pieces[place:end])
        place = end
        if not name:
            continue
        if name in found:
            problems.append(Problem(f"{name} stands twice", field=field, mend="name it once"))
        elif name not in known:
            problems.append((absent or no_sample)(name, known, field))
        found.append(name)
    if problems:
        raise InputError(problems)
    if not found:
        raise bad("no name is given", field=field, expected="names with commas between them")
    return found


def no_sample(name: str, known: Sequence[str], field: str, file: str | None = None) -> Problem:
    """The problem of a name that no sample has."""
    mend = did_you_mean(name, known) or "name one of the file's samples"
    return Problem(f"no sample is called {name!r}", file, None, field, f"one of {_shown(known)}", mend)


def one_sample(samples: Samples, name: str | None, field: str) -> Samples:
    """The named sample alone; without a name the only one there is."""
    if name is None:
        if len(samples) == 1:
            return samples
        raise bad(
            f"{Path(samples.source).name} has {len(samples)} samples",
            field=field,
            expected=f"one of {_shown(samples.names)}",
            mend="name it by " + (f"{{{field}}}" if field.isidentifier() else field),
        )
    if name not in samples.names:
        raise InputError(no_sample(name, samples.names, field, samples.source or None))
    return samples.select([samples.names.index(name)])


def amounts_of(given: Mapping[str, float] | None, known: Sequence[str], field: str) -> dict[str, float]:
    """Amounts by name. Raises InputError for names that are not known."""
    amounts = dict(given or {})
    problems = [
        Problem(
            f"nothing here is called {name!r}",
            field=field,
            expected=f"one of {_shown(known)}",
            mend=did_you_mean(name, known),
        )
        for name in amounts
        if name not in known
    ]
    if problems:
        raise InputError(problems)
    return amounts


def _shown(known: Sequence[str]) -> str:
    return ", ".join(known[:8]) + (", ..." if len(known) > 8 else "")
