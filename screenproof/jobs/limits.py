"""The tolerance sets of a job: its own tables, or a TOML file that several jobs share.

A file of sets has one table per set, named after it, and may say which is the ``default``; the job's own
``default`` goes before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, nearest
from screenproof.jobs.positions import Path as KeyPath
from screenproof.jobs.positions import key_lines, line_of, spelled
from screenproof.jobs.reading import Reading
from screenproof.jobs.toml_text import parse_toml, read_text

if TYPE_CHECKING:
    from screenproof.proof.tolerance import ToleranceSet
    from screenproof.spectra import Observer

HERE: KeyPath = ("tolerances",)


def read_tolerance_sets(reading: Reading, raw: object) -> tuple[dict[str, ToleranceSet] | None, str | None]:
    """The tolerance sets by name, and the name of the default set (None when the job has no set).

    The sets are None when they could not be read; what is wrong is written down in ``reading``.
    """
    if not isinstance(raw, dict):
        reading.problem(f"{raw!r} stands here", HERE, mend="write [tolerances.NAME] and limits in it")
        return None, None
    tables = {key: value for key, value in raw.items() if key not in ("file", "default")}
    default: object = raw.get("default")
    if "file" in raw:
        found = _from_file(reading, raw["file"], tables)
        if found is None:
            return None, None
        sets, in_file = found
        default = in_file if default is None else default
    else:
        sets = _sets(reading, tables, reading.file, reading.lines, HERE)
    if sets is None:
        return None, None
    return sets, _default(reading, sets, default)


def check_cameras(
    reading: Reading,
    sets: Mapping[str, ToleranceSet] | None,
    default: str | None,
    observers: Mapping[str, Observer],
) -> None:
    """CAM16-UCS says how an eye sees: a default set in it cannot judge shifts that a camera is to see."""
    chosen = sets.get(default) if sets is not None and default is not None else None
    cameras = [observer.name for observer in observers.values() if observer.kind == "camera"]
    if chosen is None or chosen.metric != "cam16ucs" or not cameras:
        return
    shifts = ("light_shift", "pair_shift", "observer_shift")
    judged = [what for what in shifts if getattr(chosen, what) is not None]
    if judged:
        are = "is a camera" if len(cameras) == 1 else "are cameras"
        reading.problem(
            f"CAM16-UCS says how an eye sees, and {', '.join(cameras)} {are}",
            (*HERE, chosen.name, "metric"),
            expected="de00, deab or cmc for a job with a camera",
            mend=f"judge {', '.join(judged)} by de00, or leave the camera out",
        )


def _from_file(
    reading: Reading, named: object, tables: dict[str, Any]
) -> tuple[dict[str, ToleranceSet] | None, object] | None:
    """The sets of a file and its default; None when the file cannot be used."""
    path: KeyPath = (*HERE, "file")
    if not isinstance(named, str) or not named.strip():
        reading.problem(f"{named!r} is no file name", path, expected="a text in quotes")
        return None
    if tables:
        reading.problem(
            f"a file is named, and the job has sets of its own ({', '.join(tables)})",
            path,
            expected="one or the other",
            mend="move the sets into the file, or remove file",
        )
        return None
    reading.uses(named)
    target = reading.folder / named

    def parsed() -> tuple[dict[str, Any], dict[KeyPath, int]]:
        text = read_text(target)
        return parse_toml(text, target.as_posix()), key_lines(text)

    found = reading.attempt(path, parsed)
    if found is None:
        return None
    raw, lines = found
    default = raw.pop("default", None)
    return _sets(reading, raw, target.as_posix(), lines, ()), default


def _sets(
    reading: Reading, tables: dict[str, Any], file: str, lines: dict[KeyPath, int], prefix: KeyPath
) -> dict[str, ToleranceSet] | None:
    from screenproof.proof.tolerance import read_tolerances

    try:
        return read_tolerances(tables, file=file)
    except InputError as error:
        # The reader names the place in words; the line is that of the same words in the text.
        places = {spelled((*HERE, *path[len(prefix) :])): path for path in lines}
        for problem in error.problems:
            path = places.get(problem.field or "", prefix)
            reading.problems.append(replace(problem, line=line_of(lines, path), field=spelled(path)))
        return None


def _default(reading: Reading, sets: dict[str, ToleranceSet], default: object) -> str | None:
    """The set that judges where nothing else is said."""
    path: KeyPath = (*HERE, "default")
    if default is None:
        if len(sets) > 1:
            reading.problem(
                f"there are {len(sets)} sets and none is the default",
                path,
                expected=f"one of {', '.join(sets)}",
                mend=f'add default = "{next(iter(sets))}"',
            )
        return next(iter(sets), None)
    if not isinstance(default, str) or default not in sets:
        near = nearest(default, list(sets)) if isinstance(default, str) else None
        reading.problem(
            f"there is no tolerance set {default!r}",
            path,
            expected=f"one of {', '.join(sets)}" if sets else "no default, for there is no set",
            mend=f"did you mean {near!r}?" if near else None,
        )
        return None
    return default
