"""An output folder that is whole or not there, and that never costs a person a file.

A folder is written beside its place under another name and renamed when it is complete. With it goes a
manifest of what was written, with hashes. An earlier folder is replaced only if it holds nothing but files of
its manifest, unchanged: a note that somebody put there, or a table that somebody corrected, stops the work.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from screenproof.errors import InputError, bad

MANIFEST = ".screenproof.json"
_OF_THE_SYSTEM = {".DS_Store", "Thumbs.db", "desktop.ini"}
"""Files that a desktop puts into any folder that is looked at; no person made them."""


def refuse_foreign(folder: Path) -> None:
    """InputError when ``folder`` cannot be written or replaced without loss. Nothing is changed."""
    if not folder.exists():
        for above in folder.parents:
            if above.is_dir():
                return
            if above.exists():
                raise bad(
                    f"{above.as_posix()} is a file, not a folder", file=folder.as_posix(), mend="name another"
                )
        return
    if not folder.is_dir():
        raise bad("the output folder is a file", file=folder.as_posix(), mend="name another folder")
    foreign = _foreign(folder)
    if foreign:
        shown = ", ".join(foreign[:5]) + (f" and {len(foreign) - 5} more" if len(foreign) > 5 else "")
        raise bad(
            f"the output folder holds files that a run did not write, or that were changed since: {shown}",
            file=folder.as_posix(),
            expected="a new or empty folder, or one from an earlier run",
            mend="move them away, or name another output folder",
        )


def _foreign(folder: Path) -> list[str]:
    """Files that are not in the manifest of ``folder``, or not as they were written."""
    try:
        listed = json.loads((folder / MANIFEST).read_bytes())["files"]
        known = {str(name): str(digest) for name, digest in listed.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        known = {}
    found = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink():
            continue
        if path.name in _OF_THE_SYSTEM or (name == MANIFEST and known):
            continue
        if path.is_symlink() or known.get(name) != _digest(path):
            found.append(name)
    return found


def _digest(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """A new folder to write into; at the end it takes the place of ``folder``, or vanishes when anything failed.

    Raises InputError as :func:`refuse_foreign` does, and when the place cannot be written.
    """
    refuse_foreign(folder)
    # A link keeps pointing where it did: what it points to is replaced.
    place = Path(os.path.realpath(folder))
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=".part", dir=place.parent))
    except OSError as error:
        raise _unwritable(folder, error) from None
    try:
        mask = os.umask(0)
        os.umask(mask)
        beside.chmod(0o777 & ~mask)
        yield beside
        _write_manifest(beside)
        # What a person put there while the run went on counts as well.
        refuse_foreign(folder)
        _exchange(beside, place)
    except InputError:
        raise
    except OSError as error:
        raise _unwritable(folder, error) from None
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _unwritable(folder: Path, error: OSError) -> InputError:
    return bad(
        f"the output folder cannot be written: {error.strerror or error}",
        file=folder.as_posix(),
        expected="a place that you may write to, with room left",
        mend="name another output folder",
    )


def _write_manifest(folder: Path) -> None:
    from screenproof import __version__

    files = {
        path.relative_to(folder).as_posix(): _digest(path) for path in sorted(folder.rglob("*")) if path.is_file()
    }
    text = json.dumps({"written_by": f"screenproof {__version__}", "files": files}, indent=1)
    (folder / MANIFEST).write_text(text + "\n", encoding="utf-8")


def _exchange(new: Path, place: Path) -> None:
    """Rename ``new`` to ``place``. What stood there is kept until then, and comes back if that fails."""
    if not place.exists():
        new.rename(place)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=".old", dir=place.parent))
    place.rename(old / place.name)
    try:
        new.rename(place)
    except OSError:
        (old / place.name).rename(place)
        old.rmdir()
        raise
    shutil.rmtree(old, ignore_errors=True)
