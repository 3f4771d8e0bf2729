"""Files that answers are written to: refused before anything is calculated, where they could not be."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import bad

if TYPE_CHECKING:
    from matplotlib.figure import Figure

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


def check_suffix(out: Path, forms: Sequence[str], what: str, field: str | None = "out") -> None:
    """InputError, about ``field``, for a file whose suffix is none of the ``forms``."""
    if out.suffix.lower() not in forms:
        raise bad(
            f"{what} is not written as {out.suffix or 'a file without a suffix'}",
            file=out.as_posix(),
            field=field,
            expected=" or ".join(forms),
            mend="name the file so",
        )


def check_answer_file(out: Path, force: bool) -> None:
    """InputError where an answer cannot be written to ``out`` as CSV or JSON."""
    check_suffix(out, ANSWER_FORMS, "an answer")
    refuse_existing(out, (), force)


FIGURE_FORMS = (".png", ".svg")


def check_target(path: Path, force: bool) -> None:
    """InputError, before anything is drawn, when the figure cannot be written there."""
    check_suffix(path, FIGURE_FORMS, "a figure", field="--plot")
    if path.exists() and not force:
        mend = "name another file, or replace it with --force"
        raise bad("the file exists and is not overwritten", file=path.as_posix(), field="--plot", mend=mend)
    if path.is_file() and not _is_picture(path):
        raise bad(
            "the file that is there is no figure, and is not overwritten",
            file=path.as_posix(),
            field="--plot",
            expected="a new file, or a figure to replace",
            mend="name another file",
        )


def _is_picture(path: Path) -> bool:
    """Whether a file is a PNG or SVG picture, by its content: a name alone may be an input's."""
    head = path.read_bytes()[:2000]
    return not head or head.startswith(b"\x89PNG\r\n\x1a\n") or b"<svg" in head


def save_figure(figure: Figure, path: Path, force: bool) -> None:
    """Write a figure beside its place and move it there."""
    from screenproof.formats import write_beside
    from screenproof.report.drawing import figure_bytes

    write_beside(path, figure_bytes(figure, path.suffix), force=force)
