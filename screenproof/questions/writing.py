"""Files that answers are written to: refused before anything is calculated, where they could not be."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screenproof.errors import bad

ANSWER_FORMS = (".csv", ".json")


def refuse_existing(out: Path, inputs: Sequence[Path], force: bool) -> None:
    """InputError, before anything is calculated, for a file that may not be written."""
    if out.is_dir():
        raise bad("this is a folder", file=out.as_posix(), field="out", mend="name a file in it")
    if not out.parent.exists():
        raise bad(f"there is no folder {out.parent.as_posix()}", file=out.as_posix(), field="out", mend="make it")
    if not out.exists():
        return
    clash = any(path.exists() and out.samefile(path) for path in inputs)
    if not force or clash:
        raise bad(
            "this is the input itself" if force else "the file exists and is not overwritten",
            file=out.as_posix(),
            field="out",
            mend="name another file" if force else "name another file, or replace it with --force",
        )


def check_suffix(out: Path, forms: Sequence[str], what: str) -> None:
    """InputError for a file whose suffix is none of the ``forms``."""
    if out.suffix.lower() not in forms:
        raise bad(
            f"{what} is not written as {out.suffix or 'a file without a suffix'}",
            file=out.as_posix(),
            field="out",
            expected=" or ".join(forms),
            mend="name the file so",
        )


def check_answer_file(out: Path, force: bool) -> None:
    """InputError where an answer cannot be written to ``out`` as CSV or JSON."""
    check_suffix(out, ANSWER_FORMS, "an answer")
    refuse_existing(out, (), force)
