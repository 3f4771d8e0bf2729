"""The text of a TOML file and its tables, with a line for the first mistake in its syntax."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from screenproof.errors import bad
from screenproof.questions.sources import existing_file


def read_text(path: Path) -> str:
    """The text of a TOML file. InputError: a folder, not there, not UTF-8."""
    if path.is_dir():
        near = path / "job.toml"
        mend = f"did you mean {near.as_posix()!r}?" if near.exists() else "name a file in it"
        raise bad("this is a folder, not a file", file=path.as_posix(), mend=mend)
    # A byte order mark is no part of TOML, but editors write it and it does no harm.
    data = existing_file(str(path)).read_bytes().removeprefix(b"\xef\xbb\xbf")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise bad(
            f"this is not UTF-8 text (byte {error.start + 1} is {data[error.start]:#04x})",
            file=path.as_posix(),
            line=data.count(b"\n", 0, error.start) + 1,
            expected="a TOML file in UTF-8",
            mend="save it as UTF-8; or is this one of the job's inputs and not the job?",
        ) from None


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """The tables of a TOML text. InputError with the line of the first mistake."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise bad("tables or lists are nested too deep", file=file, mend="write it flat") from None
    except tomllib.TOMLDecodeError as error:
        what, line = str(error), None
        if " (at line " in what:
            what, place = what.rsplit(" (at line ", 1)
            line = int(place.split(",")[0])
        elif " (at end of document)" in what:
            what = what.replace(" (at end of document)", " at the end of the file")
            line = text.count("\n") + 1
        raise bad(
            f"this is not valid TOML: {what[:1].lower()}{what[1:]}",
            file=file,
            line=line,
            mend="texts stand in quotes, table names in [brackets], and a line holds one key = value",
        ) from None
