"""Files that the commands of inks may write."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screenproof.errors import bad


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
