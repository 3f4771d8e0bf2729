"""What a person writes of a press on the command line: the limits of its tints; and files that may be written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.errors import bad
from screenproof.questions.ink_names import amounts_of
from screenproof.questions.parsing import amounts, parsed

if TYPE_CHECKING:
    from screenproof.subtractive import Press, TintLimits


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
    said = None if channels is None else parsed(amounts, channels, "--channel-limit")
    given = amounts_of(said, press.channels, "--channel-limit")
    for name, percent in given.items():
        if percent > 100.0:
            raise bad(f"{name}={percent:g}", field="--channel-limit", expected="percent from 0 to 100")
    parts = [given.get(name, 100.0 * own[i]) / 100.0 for i, name in enumerate(press.channels)]
    return TintLimits(press.limits.total if total is None else total / 100.0, tuple(parts))


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
