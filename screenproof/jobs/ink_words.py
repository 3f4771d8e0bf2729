"""What a person writes of inks on the command line: names, film weights, coverages, surfaces, codes.

Texts come in as typed and go out as numbers; every mistake names the option and shows a right way to write it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import InputError, Problem, bad, nearest

if TYPE_CHECKING:
    from screenproof.spectra import Samples
    from screenproof.subtractive import Press, Surface, TintLimits


@dataclass(frozen=True)
class SurfaceWords:
    """The surface of a print as the command line has it: k1 and k2, or a refractive index; neither: none."""

    k1: float | None = None
    k2: float | None = None
    index: float | None = None
    specular: str | None = None


def surface_of(words: SurfaceWords) -> Surface:
    """The surface that the options describe; nothing is corrected without one."""
    from screenproof.subtractive import Surface

    if words.index is not None and (words.k1 is not None or words.k2 is not None):
        raise bad("a refractive index and k1 or k2", field="--index", mend="give either of them")
    if words.specular is not None and (words.k1, words.k2, words.index) == (None, None, None):
        raise bad("there is no surface to use it for", field="--specular", mend="add --k1 and --k2, or --index")
    try:
        if words.index is not None:
            return Surface.fresnel(words.index, words.specular or "excluded")  # type: ignore[arg-type]
        if words.k1 is None and words.k2 is None:
            return Surface.NONE
        return Surface(words.k1 or 0.0, words.k2 or 0.0, words.specular or "excluded")  # type: ignore[arg-type]
    except InputError as error:
        options = {"n": "--index", "surface specular": "--specular", "surface k2": "--k2"}
        raise InputError(
            Problem(p.what, None, None, options.get(p.field or "", "--k1"), p.expected, p.mend)
            for p in error.problems
        ) from None


def names_in(text: str, known: Sequence[str], option: str) -> list[str]:
    """Names with commas between them, all of them known; a name with a comma in it is found as well."""
    pieces = [piece.strip() for piece in text.split(",")]
    found: list[str] = []
    problems: list[Problem] = []
    place = 0
    while place < len(pieces):
        end = next(
            (end for end in range(len(pieces), place, -1) if ", ".join(pieces[place:end]) in known), place + 1
        )
        name = ", ".join(pieces[place:end])
        place = end
        if not name:
            continue
        if name in found:
            problems.append(Problem(f"{name} stands twice", field=option, mend="name it once"))
        elif name not in known:
            problems.append(no_sample(name, known, option))
        found.append(name)
    if problems:
        raise InputError(problems)
    if not found:
        raise bad("no name is given", field=option, expected="names with commas between them")
    return found


def no_sample(name: str, known: Sequence[str], option: str, file: str | None = None) -> Problem:
    """The problem of a name that no sample has."""
    near = nearest(name, list(known))
    shown = ", ".join(list(known)[:8]) + (", ..." if len(known) > 8 else "")
    mend = f"did you mean {near!r}?" if near else "name one of the file's samples"
    return Problem(f"no sample is called {name!r}", file, None, option, f"one of {shown}", mend)


def one_sample(samples: Samples, name: str | None, option: str) -> Samples:
    """The named sample alone; without a name the only one there is."""
    if name is None:
        if len(samples) == 1:
            return samples
        shown = ", ".join(samples.names[:8]) + (", ..." if len(samples) > 8 else "")
        raise bad(
            f"{Path(samples.source).name} has {len(samples)} samples",
            field=option,
            expected=f"one of {shown}",
            mend=f"name it by {option}",
        )
    if name not in samples.names:
        raise InputError(no_sample(name, samples.names, option, samples.source or None))
    return samples.select([samples.names.index(name)])


def amounts_of(text: str | None, known: Sequence[str], option: str, what: str = "0.9") -> dict[str, float]:
    """``Cyan=0.9,Yellow=1.1`` as numbers by name. Raises InputError for a name that is not known, or no number."""
    if text is None:
        return {}
    found: dict[str, float] = {}
    problems: list[Problem] = []
    # A name may hold a comma: what stands before an equals sign back to the number before it is the name.
    for name, value in re.findall(r"\s*([^=]+?)\s*=\s*([^,=]*)\s*(?:,|\Z)", text):
        try:
            number = float(value)
        except ValueError:
            problems.append(Problem(f"{value!r} is no number", field=option, expected=f"{name}={what}"))
            continue
        if name not in known:
            near = nearest(name, list(known))
            problems.append(
                Problem(
                    f"nothing here is called {name!r}",
                    field=option,
                    expected=f"one of {', '.join(list(known)[:8])}",
                    mend=f"did you mean {near!r}?" if near else None,
                )
            )
        elif name in found:
            problems.append(Problem(f"{name} stands twice", field=option, mend="name it once"))
        elif not 0.0 <= number < float("inf"):
            problems.append(Problem(f"{name}={value}", field=option, expected="a number, 0 or above"))
        else:
            found[name] = number
    if not found and not problems:
        first = known[0] if known else "NAME"
        problems.append(Problem(f"{text!r} says no amount", field=option, expected=f"{first}={what},..."))
    if problems:
        raise InputError(problems)
    return found


def limits_of(press: Press, total: float | None, channels: str | None) -> TintLimits | None:
    """The limits of --total and --channel-limit in percent, the press's own where they are silent; None for
    both."""
    from screenproof.subtractive import TintLimits

    if total is None and channels is None:
        return None
    most = 100.0 * len(press.channels)
    if total is not None and not 0.0 < total <= most:
        raise bad(
            f"a total coverage of {total:g} %",
            field="--total",
            expected=f"percent, above 0 up to {most:g} for {len(press.channels)} channels",
            mend=f"write 300 for 300 %, not {total:g}" if total <= 0 else None,
        )
    own = press.limits.channels
    given = amounts_of(channels, press.channels, "--channel-limit", "95")
    for name, percent in given.items():
        if percent > 100.0:
            raise bad(f"{name}={percent:g}", field="--channel-limit", expected="percent from 0 to 100")
    parts = [given.get(name, 100.0 * own[i]) / 100.0 for i, name in enumerate(press.channels)]
    return TintLimits(press.limits.total if total is None else total / 100.0, tuple(parts))


def codes_of(texts: Sequence[str]) -> list[list[int]]:
    """``0,128,255`` as three integers, for each text."""
    found, problems = [], []
    for text in texts:
        parts = re.split(r"[,\s/]+", text.strip())
        if len(parts) != 3 or not all(re.fullmatch(r"\d+", part) for part in parts):
            problems.append(
                Problem(f"{text!r} is no code", field="--code", expected="three integers such as 0,128,255")
            )
        else:
            found.append([int(part) for part in parts])
    if problems:
        raise InputError(problems)
    return found


def refuse_existing(out: Path | None, inputs: Sequence[Path], force: bool) -> None:
    """InputError, before anything is calculated, for a file that may not be written."""
    if out is None:
        return
    if out.is_dir():
        raise bad("this is a folder", file=out.as_posix(), field="--out", mend="name a file in it")
    if not out.parent.exists():
        raise bad(
            f"there is no folder {out.parent.as_posix()}", file=out.as_posix(), field="--out", mend="make it"
        )
    if out.exists() and (not force or any(path.exists() and out.samefile(path) for path in inputs)):
        clash = force and any(path.exists() and out.samefile(path) for path in inputs)
        raise bad(
            "this is the input itself" if clash else "the file exists and is not overwritten",
            file=out.as_posix(),
            field="--out",
            mend="name another file" if clash else "name another file, or replace it with --force",
        )
